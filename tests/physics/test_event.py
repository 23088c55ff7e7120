"""Whole events: peaks move with the day as closed forms say; failures, waits and services."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest

from thermo.cooling_run import march_cooling, solve_cooling
from thermo.errors import ScenarioError
from thermo.event import solve
from thermo.history import loop_history
from thermo.lasting import Lasting
from thermo.results import to_json

PASS = '[[leg]]\nkind = "full-power"\nname = "pass"\ndistance = "3200 m"\nstart_speed = "13 m/s"\n'
COAST = '[[leg]]\nkind = "coast"\nduration = "45 s"\n'
SOAK = '[[leg]]\nkind = "soak"\nduration = "5 min"\n'
CP = 4180.0
"""Specific heat of water near 30 degC [J/kg K]."""


def queue(minutes):
    return f'[[leg]]\nkind = "queue"\nduration = "{minutes} min"\n'


def service(**keys):
    lines = "".join(f"{k} = {v}\n" for k, v in keys.items())
    return f'[[leg]]\nkind = "service"\nduration = "10 min"\n{lines}'


def test_tank_rise_is_heat_over_heat_capacity(solve_with):
    # Base has no losses: what the coolant side does not keep has gone into tank and lines.
    result = solve_with("base")
    h = result.history
    jacket = 4e-3 * 974.8 * 4195.0
    kept = 22e3 * (h.metal[-1] - h.metal[0]) + jacket * (h.coolant[-1] - h.coolant[0])
    lines = 2 * 3.67 * math.pi / 4 * 0.025**2 * 998.0
    rise = (result.cooling.heat_total_J - kept) / ((result.cooling.tank_water_kg + lines) * CP)
    # The lines end a little warmer than the tank, which is left out: 1 %.
    assert result.cooling.tank_end_degC - 18.0 == pytest.approx(rise, rel=0.02)


def test_exchanger_difference_is_heat_over_effectiveness_and_flow(solve_with):
    # At the end of the pass the coolant barely moves: Q = eps Cmin (Th - Tc).
    h = solve_with("hot_day").history
    row = int(np.flatnonzero(h.leg == 0)[-1])
    c_min = 38e-3 / 60 * 985.0 * 4180.0
    assert h.coolant[row] - h.exchanger_in[row] == pytest.approx(
        h.exchanger_heat[row] / (h.effectiveness[row] * c_min), rel=0.01)
    ntu = 3600.0 / c_min
    cr = c_min / (120e-3 / 60 * 1000.0 * 3830.0)
    ratio = math.exp(-ntu * (1.0 - cr))
    eps = (1.0 - ratio) / (1.0 - cr * ratio)
    assert h.effectiveness[row] == pytest.approx(eps, rel=0.01)


@pytest.mark.parametrize("name", ["base", "hot_day"])
def test_a_hotter_day_moves_both_peaks_with_the_tank(solve_with, name):
    # Losses are nil: with air and tank start moved by d the tank's peak moves by d less what the
    # coolant side keeps; the coolant at the finish moves by less than d, since it starts as it was.
    plain = solve_with(name)
    start = {"base": 18.0, "hot_day": 34.0}[name]
    air = {"base": 20.0, "hot_day": 38.0}[name]
    shift = 43.0 - air
    hot = solve_with(name, "site.air_temperature=43 degC",
                     f"tank.start_temperature={start + shift} degC")
    tank = hot.cooling.tank_peak_degC - plain.cooling.tank_peak_degC
    coolant = hot.cooling.coolant_end_of_pass_degC - plain.cooling.coolant_end_of_pass_degC
    # Share of the tank's extra heat that stays in metal and jacket: their heat over all of it.
    held = {"base": 22e3 + 16.3e3, "hot_day": 40e3 + 26.5e3}[name]
    whole = plain.cooling.tank_water_kg * CP
    assert shift * (1.0 - 1.1 * held / whole) <= tank <= shift
    assert 0.5 * shift < coolant <= 1.02 * shift
    assert hot.cooling.boil_margin_K <= plain.cooling.boil_margin_K + 1e-6
    assert hot.cooling.tank_pressure_peak_Pa >= plain.cooling.tank_pressure_peak_Pa


def test_thin_air_of_a_hot_day_makes_the_car_faster(solve_with):
    # Power held by the scenario: less drag, shorter pass, so a little less heat.
    plain, hot = solve_with("base"), solve_with("base", "site.air_temperature=43 degC")
    assert hot.cooling.pass_top_speed_m_per_s > plain.cooling.pass_top_speed_m_per_s
    assert hot.cooling.pass_time_s < plain.cooling.pass_time_s


def test_tank_pump_failing_stops_the_exchanger(solve_with, flag_of):
    result = solve_with("base", "leg[0].tank_pump_fails_at=30 s")
    h = result.history
    after = h.time > 30.001
    assert np.all(h.exchanger_heat[after] == 0.0)
    assert np.all(h.cold_flow[after] == 0.0)
    # metal and jacket alone take the heat from there on
    finish = int(np.flatnonzero(h.leg == 0)[-1])
    at_30 = int(np.flatnonzero(h.time >= 30.0)[0])
    stored = 22e3 * (h.metal[finish] - h.metal[at_30]) + 4e-3 * 974.8 * 4200.0 * (
        h.coolant[finish] - h.coolant[at_30])
    assert stored == pytest.approx(41.25e3 * (h.time[finish] - 30.0), rel=0.01)
    low = flag_of(result, "low-flow")
    assert (low.level, low.leg) == ("danger", "pass")
    assert low.at_s == pytest.approx(30.0, abs=0.1)


def test_coolant_pump_failing_leaves_the_tank_cold(solve_with, flag_of):
    result = solve_with("base", "leg[0].coolant_pump_fails_at=30 s")
    assert result.cooling.tank_peak_degC < solve_with("base").cooling.tank_end_of_pass_degC
    assert flag_of(result, "low-flow").level == "danger"
    assert flag_of(result, "after-boil").level in ("caution", "danger")
    h = result.history
    assert np.all(h.hot_flow[h.time > 30.001] == 0.0)


def test_a_failed_pump_stays_failed(solve_with):
    result = solve_with("base", legs=PASS + 'tank_pump_fails_at = "30 s"\n' + COAST + PASS)
    h = result.history
    assert np.all(h.cold_flow[h.leg >= 1] == 0.0)


def test_sun_in_a_queue_warms_the_tank_by_its_heat(solve_with):
    sunny = solve_with("base", "tank.sun_heat=150 W", legs=queue(30) + PASS + COAST)
    shade = solve_with("base", "tank.sun_heat=0 W", legs=queue(30) + PASS + COAST)
    h, s = sunny.history, shade.history
    last = int(np.flatnonzero(h.leg == 0)[-1])
    rise = 150.0 * 1800.0 / (sunny.cooling.tank_water_kg * CP)
    assert h.tank_mean[last] - h.tank_mean[0] == pytest.approx(rise, rel=0.01)
    assert s.tank_mean[int(np.flatnonzero(s.leg == 0)[-1])] == pytest.approx(291.15, abs=0.01)
    assert sunny.audit.heat_in_J - shade.audit.heat_in_J == pytest.approx(150.0 * 1800.0, rel=1e-6)


def test_tank_loses_heat_to_the_air_exponentially(solve_with):
    loss = ("tank.air_conductance=40 W/K", "tank.start_temperature=50 degC", "tank.sun_heat=0 W")
    result = solve_with("base", *loss, legs=queue(60) + PASS + COAST)
    h = result.history
    last = int(np.flatnonzero(h.leg == 0)[-1])
    decay = math.exp(-40.0 * 3600.0 / (result.cooling.tank_water_kg * CP))
    assert h.tank_mean[last] - 293.15 == pytest.approx(30.0 * decay, rel=0.01)
    assert result.audit.to_air_J > 0.0


def test_warm_up_heats_by_idle_heat(solve_with):
    # 2.5 kW a litre for 60 s into metal, jacket, tank and lines: no losses in base.
    warm = '[[leg]]\nkind = "warm-up"\nduration = "60 s"\n'
    result = solve_with("base", legs=warm + PASS + COAST)
    plain = solve_with("base", legs=PASS + COAST)
    assert result.audit.heat_in_J - plain.audit.heat_in_J == pytest.approx(150e3, rel=1e-6)


def test_swap_mixes_the_tank(solve_with):
    swap = service(swap_fraction=0.8, swap_temperature='"15 degC"')
    result = solve_with("base", legs=PASS + COAST + swap)
    h = result.history
    before = float(h.tank_mean[int(np.flatnonzero(h.leg == 1)[-1])])
    after = float(h.tank_mean[int(np.flatnonzero(h.leg == 2)[0])])
    assert after == pytest.approx(before + 0.8 * (288.15 - before), abs=0.02)
    drained = 0.8 * result.cooling.tank_water_kg * CP * (288.15 - before)
    assert result.audit.added_J == pytest.approx(drained, rel=0.01)


def test_ice_takes_its_latent_heat(solve_with):
    result = solve_with("base", legs=PASS + COAST + service(ice_mass='"3 kg"') + SOAK)
    plain = solve_with("base", legs=PASS + COAST + service() + SOAK)
    warm = plain.cooling.tank_end_degC
    mass = result.cooling.tank_water_kg
    # 3 kg of warm water out, 3 kg of ice at -5 degC in: 333.6 and 2.1 x 5 kJ/kg
    end = ((mass - 3.0) * CP * warm - 3.0 * (333.6e3 + 2.1e3 * 5.0)) / (mass * CP)
    assert result.cooling.ice_left_kg == pytest.approx(0.0, abs=0.01)
    assert result.cooling.tank_end_degC == pytest.approx(end, abs=0.3)


def test_a_second_pass_starts_where_the_first_left_the_tank(solve_with):
    result = solve_with("hot_day", legs=2 * (
        '[[leg]]\nkind = "full-power"\ndistance = "6440 m"\nstart_speed = "15 m/s"\n' + COAST))
    first = solve_with("hot_day")
    assert result.cooling.boil_margin_K < first.cooling.boil_margin_K - 15.0
    assert result.verdict == "danger"


def test_two_services_with_more_ice_than_the_tank_holds_are_refused(scenario_with, solve_with):
    from thermo.errors import SoakboxError

    ice = service(ice_mass='"20 kg"')
    with pytest.raises(SoakboxError, match="ice"):
        solve_with("base", legs=PASS + COAST + ice + ice + PASS)


def test_coast_to_a_speed_above_the_present_one_takes_no_time_or_is_refused(solve_with):
    from thermo.errors import SoakboxError

    legs = PASS + '[[leg]]\nkind = "coast"\nuntil_speed = "100 m/s"\n'
    with pytest.raises(SoakboxError, match="coast"):
        solve_with("base", legs=legs)


def test_full_power_with_the_engine_off_is_refused(scenario_with):
    from thermo.errors import SoakboxError

    legs = '[[leg]]\nkind = "full-power"\nengine = "off"\nduration = "30 s"\n' + COAST
    with pytest.raises(SoakboxError, match="engine"):
        scenario_with("base", legs=legs)


def test_jacket_boiled_dry_before_the_pass_is_told(solve_with):
    idle = '[[leg]]\nkind = "warm-up"\ncoolant_pump = false\nduration = "1 h"\n'
    result = solve_with("base", "engine.idle_heat=10 kW/L", legs=idle + PASS + COAST)
    assert result.verdict == "danger"
    assert any("boiled dry" in note for note in result.notes)


def test_ice_at_the_end_of_its_stated_range(solve_with):
    result = solve_with("base", "tank.ice_mass=2 kg", "tank.ice_temperature=-39 degC")
    assert result.verdict != "no verdict"


def test_ice_account_closes_as_well_as_that_of_water(solve_with):
    for mass in (1, 2, 5):
        result = solve_with("base", f"tank.ice_mass={mass} kg", "tank.strainer=true")
        assert abs(result.audit.residual_fraction) < 1e-4


def test_balanced_flows_join_the_neighbours(solve_with):
    """At equal heat capacity rates the effectiveness is NTU/(1 + NTU), with no jump beside it."""
    peaks = [solve_with("base", f"loop.flow={flow} L/min").cooling.tank_end_of_pass_degC
             for flow in (54.2, 54.22, 54.24, 54.26)]
    steps = np.diff(peaks)
    assert np.all(np.abs(np.diff(steps)) < 2e-3)
    result = solve_with("base", "loop.flow=54.1 L/min")
    k = int(np.argmax(result.history.exchanger_heat))
    ntu = float(result.history.ntu[k])
    assert result.history.effectiveness[k] == pytest.approx(ntu / (1.0 + ntu), rel=0.01)


def test_no_conductance_is_no_cooling(solve_with, flag_of):
    result = solve_with("base", "exchanger.ua=0 W/K")
    assert np.all(result.history.exchanger_heat == 0.0)
    assert result.cooling.tank_peak_degC == pytest.approx(18.0, abs=0.1)
    assert result.verdict == "danger"
    assert result.cooling.coolant_peak_degC == pytest.approx(116.35, abs=0.1)
    assert result.cooling.steam_lost_kg > 0.1


CHANGES = [
    (), ("tank.volume=30 L",), ("tank.volume=30 L", "exchanger.ua=2000 W/K"),
    ("car.mass=900 kg",), ("site.air_temperature=41 degC", "tank.volume=30 L"), (),
]
"""One after the other, of what stays the same in the drive and of what does not."""


def test_what_lasts_from_one_event_to_the_next_changes_no_figure(scenario_with, solve_with):
    lasting = Lasting()
    for changes in CHANGES:
        result = solve(scenario_with("hot_day", *changes), lasting=lasting)
        assert to_json(result) == to_json(solve_with("hot_day", *changes))


def test_drive_and_duct_last_until_what_decides_them_changes(scenario_with):
    lasting = Lasting()
    drives = [lasting.of(scenario_with("hot_day", *c))[1] for c in CHANGES]
    same = [a is b for a, b in pairwise(drives)]
    assert same == [True, True, False, False, False]


def test_a_drive_that_is_refused_leaves_nothing_behind(scenario_with):
    lasting = Lasting()
    legs = PASS + '[[leg]]\nkind = "coast"\nuntil_speed = "100 m/s"\n'
    with pytest.raises(ScenarioError, match="coast"):
        solve(scenario_with("hot_day", legs=legs), lasting=lasting)
    assert solve(scenario_with("hot_day"), lasting=lasting).verdict == "caution"


def test_the_history_of_the_loop_alone_is_that_of_the_whole(scenario_with):
    scenario = scenario_with("hot_day")
    air, driving, _ = Lasting().of(scenario)
    loop = loop_history(*march_cooling(scenario, air, driving))
    whole = solve_cooling(scenario, air, driving).told.history
    for name in ("time", "leg", "coolant", "tank_hot", "heat_to_metal", "boil_temperature", "ice"):
        assert np.array_equal(getattr(loop, name), getattr(whole, name)), name
    assert np.isnan(loop.tank_pressure).all()
    assert np.isfinite(whole.tank_pressure).all()


def test_inputs_that_change_nothing_and_racing_water_are_told(solve_with):
    told = solve_with("second_pass").notes
    assert any(n.startswith("engine.boost_ratio: not used") for n in told)
    told = solve_with("second_pass", "intake.demand=displacement").notes
    assert not any("boost_ratio" in n for n in told)
    plain = solve_with("base").notes
    assert not any("boost_ratio" in n or ".bore: the water" in n for n in plain)
    narrow = solve_with("base", "loop.supply.bore=8 mm", "loop.flow=100 L/min").notes
    (line,) = [n for n in narrow if n.startswith("loop.supply.bore: the water")]
    speed = 0.1 / 60.0 / (math.pi / 4.0 * 0.008**2)  # continuity, as any handbook has it
    assert f"{speed:.1f} m/s" in line


def test_a_car_lighter_than_its_water_is_told(solve_with):
    heavy = "tank.volume=600 L"
    box = ("tank.length=1.5 m", "tank.height=0.5 m")
    notes = solve_with("base", heavy, *box).notes
    assert any("car.mass: 430 kg is to hold all water" in n and "510 kg" in n for n in notes)
    assert not any(n.startswith("car.mass") for n in solve_with("base").notes)
