"""The duct over the whole of full power, not at the timed speed alone."""

import numpy as np
import pytest

from thermo.driving import drive_event
from thermo.ensemble import run_variants
from thermo.errors import ScenarioError
from thermo.event import solve
from thermo.intake_pass import held_by_limiter, pass_air
from thermo.scenario import with_value
from thermo.site_air import site_air

NARROW = ("intake.part[0].bore=1.45 in", "intake.part[1].bore=1.45 in",
          "intake.part[2].bore=1.45 in", "intake.part[2].to_bore=2 in")


@pytest.fixture
def limited(scenario_with):
    """A short final drive: the car ends on its rev limiter."""
    return scenario_with("long_course", "engine.final_drive=2.7", *NARROW)


def flag_of(result, name):
    return next(f for f in result.flags if f.name == name)


def test_a_car_on_its_rev_limiter_is_judged_by_the_worst_of_its_pass(limited):
    # Before, the flag read the timed speed alone: under 0.3, and clear.
    result = solve(limited)
    duct = result.intake
    assert duct.duct_mach_timed < 0.3 < duct.duct_mach_max
    assert duct.duct_mach_max_speed_m_per_s < duct.speed_m_per_s
    flag = flag_of(result, "intake-mach")
    assert (flag.level, flag.leg) == ("caution", "pass")
    assert flag.at_s == pytest.approx(duct.duct_mach_max_at_s, abs=1.0)
    assert f"{duct.duct_mach_timed:.3g}" in flag.why
    assert any("rev limiter" in note for note in result.notes)


def test_the_worst_moments_are_those_of_the_duct_solved_at_every_point(limited):
    driving = drive_event(limited, site_air(limited))
    worst = pass_air(driving)
    trace = driving.legs[0].trace
    every = driving.intake.solve(trace.speed)
    assert worst.mach.value == pytest.approx(every.mach.max(), rel=2e-3)
    assert worst.net.value == pytest.approx(every.net.min(), rel=0.02)
    seconds = np.gradient(trace.time)
    share = seconds[every.net < 0.0].sum() / seconds.sum()
    assert worst.losing == pytest.approx(share, abs=1.5 / 24.0)


def test_choking_at_any_moment_of_the_pass_is_a_danger(scenario_with):
    tight = [setting.replace("1.45", "0.90").replace("=2 in", "=1.2 in") for setting in NARROW]
    result = solve(scenario_with("long_course", "engine.final_drive=3.7", *tight))
    assert result.intake.choked
    assert not result.intake.choked_timed
    assert flag_of(result, "intake-choke").level == "danger"
    assert result.intake.duct_mach_max == 1.0


def test_a_sun_soaked_wall_is_judged_where_it_warms_the_air_most(scenario_with):
    result = solve(scenario_with("frame_tubes"))
    duct = result.intake
    assert duct.heat_rise_K > duct.heat_rise_timed_K > 0.0
    assert duct.heat_rise_speed_m_per_s < duct.speed_m_per_s
    assert flag_of(result, "intake-hot").value == duct.heat_rise_K


def test_no_limiter_without_a_curve_and_none_that_is_not_reached(scenario_with):
    for name in ("base", "long_course"):
        scenario = scenario_with(name)
        driving = drive_event(scenario, site_air(scenario))
        assert held_by_limiter(scenario, driving) == ()


def test_variants_of_the_pass_agree_with_the_single_solver(limited):
    drives = [2.2, 2.5, 2.7]
    table = run_variants(limited, {"engine.final_drive": np.array(drives)})
    for i, value in enumerate(drives):
        one = solve(with_value(limited, "engine.final_drive", value)).intake
        for name in ("duct_mach_max", "duct_mach_timed", "net_least_Pa", "losing_share"):
            assert table.figures[f"intake_{name}"][i] == pytest.approx(getattr(one, name), rel=2e-3)


def test_gears_out_of_order_are_refused(scenario_with):
    with pytest.raises(ScenarioError, match="gears must fall"):
        scenario_with("long_course", "engine.gears=[1.0, 1.28, 2.65]")
