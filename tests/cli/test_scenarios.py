"""Every shipped scenario, and the starter, gives the verdict that its text promises."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from thermo.event import solve
from thermo.results import EventResult, Flag
from thermo.scenario_io import from_text, read_scenario
from thermo.sizing_intake import intake_answers
from thermo.starter import STARTER
from thermo.trial import Trials

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"

VERDICTS: dict[str, tuple[str, set[str], set[str]]] = {
    # file: verdict, flags that must be up, flags that must be clear
    "base": ("clear", set(), {"coolant-boil", "tank-scald", "intake-net", "relief-lift"}),
    "hot_day": (
        "caution",
        {"coolant-boil", "leaking-cap", "tank-scald", "line-scald", "relief-lift", "touch"},
        {"after-boil", "hydraulic-lock", "intake-net", "range"},
    ),
    "overreach": (
        "danger",
        {
            "coolant-boil",
            "tank-scald",
            "line-scald",
            "relief-lift",
            "relief-size",
            "hydraulic-lock",
            "panel-stress",
            "intake-net",
            "flow-lost",
            "range",
        },
        {"audit", "too-cold"},
    ),
    "long_course": (
        "caution",
        {"tank-scald", "leaking-cap"},
        {"coolant-boil", "after-boil", "line-scald", "catalogue-flow", "intake-net", "too-cold"},
    ),
    "second_pass": (
        "caution",
        {"tank-scald", "line-scald"},
        {"coolant-boil", "after-boil", "too-cold", "vacuum", "panel-stress", "range"},
    ),
    "ice": ("clear", set(), {"pick-up", "tank-scald", "line-scald", "vacuum", "coolant-boil"}),
    "cold_paddock": (
        "caution",
        {"tank-scald", "line-scald"},
        {"freeze", "too-cold", "coolant-boil", "catalogue-flow", "vacuum"},
    ),
    "frame_tubes": (
        "caution",
        {"tank-scald", "line-scald", "leaking-cap", "intake-hot"},
        {"intake-net", "intake-mach", "coolant-boil", "catalogue-flow"},
    ),
    "thin_duct": (
        "caution",
        {"intake-net"},
        {"coolant-boil", "tank-scald", "line-scald", "relief-lift", "intake-choke"},
    ),
    "plate": (
        "caution",
        {"tank-scald"},
        {"coolant-boil", "line-scald", "catalogue-flow", "cavitation", "hydraulic-lock"},
    ),
}


@cache
def solved(name: str, *overrides: str) -> EventResult:
    """Solve a shipped scenario with overrides."""
    return solve(read_scenario(SCENARIOS / f"{name}.toml", overrides).scenario)


def flag(result: EventResult, name: str) -> Flag:
    return next(f for f in result.flags if f.name == name)


def up(result: EventResult) -> set[str]:
    return {f.name for f in result.flags if f.level != "clear"}


def finish(result: EventResult, leg: int) -> int:
    """Return the last row of a leg."""
    return int(np.flatnonzero(result.history.leg == leg)[-1])


def test_every_file_is_in_the_table() -> None:
    assert {p.stem for p in SCENARIOS.glob("*.toml")} == set(VERDICTS)


@pytest.mark.parametrize("name", VERDICTS)
def test_verdict_and_flags(name: str) -> None:
    verdict, wanted, clear = VERDICTS[name]
    result = solved(name)
    assert result.verdict == verdict, up(result)
    assert result.untrusted == ()
    assert wanted <= up(result)
    assert not clear & up(result)


@pytest.mark.parametrize("name", VERDICTS)
def test_energy_account_closes(name: str) -> None:
    assert abs(solved(name).audit.residual_fraction) < 1e-3


@pytest.mark.parametrize("name", VERDICTS)
def test_title_and_text(name: str) -> None:
    scenario = read_scenario(SCENARIOS / f"{name}.toml").scenario
    assert scenario.title
    assert scenario.shows.endswith(".")
    assert scenario.shows.count(". ") <= 1  # one or two sentences


def test_titles_differ() -> None:
    titles = [read_scenario(p).scenario.title for p in SCENARIOS.glob("*.toml")]
    assert len(set(titles)) == len(titles)


# What each text says ------------------------------------------------------------------------


def test_long_course_without_the_idling_engine_soaks() -> None:
    off = solved("long_course", "leg[1].engine=off", "leg[2].engine=off")
    assert flag(off, "after-boil").level == "caution"
    assert (
        off.cooling.after_boil_margin_K < solved("long_course").cooling.after_boil_margin_K - 15.0
    )


def test_long_course_thermostat_is_needed_and_dangerous_when_stuck() -> None:
    held = solved("long_course")
    assert held.cooling.coolant_least_full_power_degC > 70.0
    stuck = solved("long_course", "coolant.thermostat.stuck=shut", "coolant.thermostat.bleed=0.02")
    assert flag(stuck, "coolant-boil").level == "danger"


def test_long_course_wind_ram_and_basis_change_the_speed() -> None:
    speed = solved("long_course").cooling.timed_speed_m_per_s
    top = solved("long_course").cooling.pass_top_speed_m_per_s
    assert 0.9 * top < speed < top
    assert solved("long_course", "site.head_wind=0 mph").cooling.timed_speed_m_per_s > speed + 1.0
    assert (
        solved("long_course", "engine.ram_to_power=false").cooling.timed_speed_m_per_s < speed - 1.0
    )
    assert (
        solved("long_course", "engine.power_basis=site").cooling.timed_speed_m_per_s > speed + 3.0
    )
    # The same air by station pressure: 30.08 inHg at 4310 ft is 25.66 inHg there.
    again = read_scenario(SCENARIOS / "long_course.toml").text.replace(
        'altimeter = "30.08 inHg"', 'pressure = "25.66 inHg"'
    )
    assert solve(from_text(again).scenario).cooling.timed_speed_m_per_s == pytest.approx(
        speed, abs=0.1
    )


def test_second_pass_holds_with_the_swap_and_boils_without() -> None:
    result = solved("second_pass")
    first, second = finish(result, 0), finish(result, 6)
    coolant = result.history.coolant
    assert coolant[second] - coolant[first] < 10.0
    dry = solved("second_pass", "leg[swap].swap_fraction=0")
    assert dry.verdict == "danger"
    assert dry.binding.name == "coolant-boil"
    assert dry.binding.leg in ("return run", "slow down again")
    assert dry.cooling.boil_margin_K < result.cooling.boil_margin_K - 15.0
    # More swapped is never worse.
    more = solved("second_pass", "leg[swap].swap_fraction=1")
    assert more.cooling.boil_margin_K > result.cooling.boil_margin_K


def test_ice_keeps_the_tank_from_scalding() -> None:
    result = solved("ice")
    history = result.history
    assert 0.2 < history.ice[finish(result, 1)] < history.ice[0] - 1.0
    bare = solved("ice", "tank.ice_mass=0 kg")
    assert bare.verdict == "caution"
    assert {"tank-scald", "line-scald"} <= up(bare)
    assert bare.cooling.tank_peak_degC > result.cooling.tank_peak_degC + 10.0
    # A block melts more slowly than cubes.
    block = read_scenario(SCENARIOS / "ice.toml").text.replace('ice_size = "1.1 in"\n', "")
    melted = solve(from_text(block, overrides=("tank.ice_form=block",)).scenario)
    assert melted.history.ice[finish(melted, 1)] > history.ice[finish(result, 1)] + 0.5


def test_ice_wants_a_strainer() -> None:
    assert up(solved("ice", "tank.strainer=false")) == {"pick-up"}


def test_cold_paddock_freezes_without_glycol_and_is_cold_without_warm_up() -> None:
    water = solved("cold_paddock", "tank.glycol=none", "tank.glycol_fraction=0")
    assert flag(water, "freeze").level == "caution"
    assert "tank" in flag(water, "freeze").where
    short = solved("cold_paddock", "leg[0].duration=3 min")
    assert flag(short, "too-cold").level == "caution"
    assert flag(short, "too-cold").leg == "pass"
    # The tank pump is off in the warm-up: with it on, the heat goes into the tank.
    running = solved("cold_paddock", "leg[0].tank_pump=true")
    assert flag(running, "too-cold").value < flag(solved("cold_paddock"), "too-cold").value - 10.0


def test_frame_tubes_share_the_flow_at_equal_loss() -> None:
    duct = solved("frame_tubes").intake
    assert duct is not None
    ends = {s.path: s for s in duct.stations if s.name == "plenum" and s.path != "plenum"}
    assert set(ends) == {"left sill", "right sill", "backbone"}
    pressures = [s.stagnation_pressure for s in ends.values()]
    assert max(pressures) - min(pressures) < 1.0
    fast = {s.path: s.mach for s in duct.stations if s.name == "opening"}
    assert fast["left sill"] == pytest.approx(fast["right sill"], rel=1e-6)
    assert fast["backbone"] < fast["left sill"]


def test_frame_tubes_heat_the_air_and_cool_down() -> None:
    hot = solved("frame_tubes").intake
    assert hot is not None
    assert 1.0 < hot.heat_rise_timed_K < 0.7 * hot.heat_rise_K < 10.0
    text = read_scenario(SCENARIOS / "frame_tubes.toml").text
    shaded = re.sub(r"(?m)^wall_temperature.*\n", "", text)
    cool = solve(from_text(shaded).scenario).intake
    assert cool is not None
    assert cool.heat_rise_K == pytest.approx(0.0, abs=1e-9)
    assert cool.power_ratio > hot.power_ratio


def test_thin_duct_is_cured_by_the_bore_that_the_build_sheet_names() -> None:
    result = solved("thin_duct")
    assert result.intake is not None
    assert result.intake.net_Pa < -1000.0
    assert result.intake.power_ratio < 0.98
    scenario = read_scenario(SCENARIOS / "thin_duct.toml").scenario
    answers = intake_answers(scenario, Trials(), result)
    answer = next(a for a in answers if a.name == "duct-size")
    assert answer.value is not None
    assert answer.value > 0.055
    cured = solved("thin_duct", *(f"{key}={text}" for key, text in answer.settings))
    assert cured.intake is not None
    assert cured.intake.recovery == pytest.approx(scenario.limits.ram_share, abs=0.02)
    assert cured.verdict == "clear"


def test_plate_flows_come_from_the_curves() -> None:
    result = solved("plate")
    flow = result.cooling.tank_flow_m3_per_s
    assert flow < 52.0 / 60e3  # what the pump moves against nothing
    weak = solved("plate", "loop.voltage=11 V").cooling
    assert weak.tank_flow_m3_per_s < 0.93 * flow
    assert weak.coolant_flow_m3_per_s < 0.93 * result.cooling.coolant_flow_m3_per_s
    assert weak.ua_at_peak_W_per_K < result.cooling.ua_at_peak_W_per_K


def test_plate_pulses_cost_ram_and_a_large_plenum_gives_it_back() -> None:
    small, large = solved("plate").intake, solved("plate", "intake.plenum_volume=8 L").intake
    assert small is not None
    assert large is not None
    assert 1.15 < small.pulsation_factor < 1.30
    assert large.pulsation_factor < 1.02
    assert large.net_Pa > small.net_Pa + 150.0
    even = solved("plate", "engine.cylinders=4").intake
    assert even is not None
    assert even.pulsation_factor < small.pulsation_factor - 0.1


# The starter --------------------------------------------------------------------------------

SWITCH = re.compile(r"^#(?=[\w\[])")


def switched(text: str) -> list[str]:
    """Return the starter with each block of switched-off inputs switched on, one at a time."""
    lines = text.splitlines()
    blocks: list[list[int]] = []
    for number, line in enumerate(lines):
        if SWITCH.match(line):
            if blocks and blocks[-1][-1] == number - 1:
                blocks[-1].append(number)
            else:
                blocks.append([number])
    return [
        "\n".join(line[1:] if number in block else line for number, line in enumerate(lines))
        for block in blocks
    ]


def test_starter_works_as_it_stands() -> None:
    result = solve(from_text(STARTER, "starter").scenario)
    assert result.verdict == "caution"
    assert up(result) == {"tank-scald", "line-scald", "catalogue-flow"}
    assert abs(result.audit.residual_fraction) < 1e-3
    assert result.intake is not None
    assert result.intake.net_Pa > 0.0


def test_starter_shows_every_table() -> None:
    for table in (
        "site",
        "car",
        "engine",
        "coolant",
        "exchanger",
        "tank",
        "loop",
        "intake",
        "limits",
    ):
        assert f"\n[{table}]" in STARTER
    assert STARTER.startswith("schema = 1\n")
    assert max(len(line) for line in STARTER.splitlines()) <= 100


@pytest.mark.parametrize("text", switched(STARTER))
def test_what_the_starter_leaves_off_can_be_switched_on(text: str) -> None:
    result = solve(from_text(text, "starter").scenario)
    assert result.untrusted == ()
