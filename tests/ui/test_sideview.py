"""The side view: what it shows at every size, in both unit systems, and that nothing is cut."""

from __future__ import annotations

import math
import os
import time
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.cells import cell_len

from thermo.event import solve
from thermo.flags import HAZARDS as ENGINE_HAZARDS
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.scenario_io import read_scenario
from thermo.units import System
from tui.callouts import laid_out, packed
from tui.canvas import ASCII, ROLES, Canvas, Line, text_of, width_of
from tui.sideframe import LEAST_HEIGHT, LEAST_WIDTH
from tui.sidemoment import moment_of
from tui.sideparts import duct_row
from tui.sideview import side_view
from tui.tags import Tag, stages, tags_at
from tui.words import HAZARDS, degrees, difference, gauge, over_air, percent, power, speed

FOLDER = Path(__file__).parents[2] / "scenarios"
GOLDENS = Path(__file__).parent / "goldens"
NAMES = sorted(p.stem for p in FOLDER.glob("*.toml"))
SIZES = ((78, 9), (78, 10), (138, 14))
SYSTEMS: tuple[System, ...] = ("si", "us")


@cache
def event(name: str, *overrides: str) -> tuple[EventResult, Scenario]:
    scenario = read_scenario(FOLDER / f"{name}.toml", overrides).scenario
    return solve(scenario), scenario


def rows_of(result: EventResult, scenario: Scenario) -> tuple[int, ...]:
    """Start, middle and finish of the first pass, and the end of the event."""
    leg = next(i for i, one in enumerate(scenario.leg) if one.kind == "full-power")
    rows = np.flatnonzero(result.history.leg == leg)
    return int(rows[0]), int(rows[len(rows) // 2]), int(rows[-1]), len(result.history.time) - 1


def row_at(result: EventResult, time_s: float) -> int:
    return int(np.argmin(np.abs(result.history.time - time_s)))


def text(lines: list[Line]) -> str:
    return text_of(lines)


def role_of(lines: list[Line], words: str) -> str:
    return next(role for line in lines for part, role in line if words in part)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("system", SYSTEMS)
@pytest.mark.parametrize("ascii_only", [False, True])
def test_it_fits_and_is_made_of_known_roles(
    name: str, size: tuple[int, int], system: System, ascii_only: bool
) -> None:
    result, scenario = event(name)
    for row in rows_of(result, scenario):
        lines = side_view(result, scenario, row, *size, system=system, ascii_only=ascii_only)
        assert len(lines) <= size[1]
        assert all(width_of(line) <= size[0] for line in lines)
        assert all(cell_len(part) == len(part) for line in lines for part, _ in line)
        assert {role for line in lines for _, role in line} <= set(ROLES)
        assert text(lines).isascii() or not ascii_only


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_every_figure_is_there_whole(name: str, size: tuple[int, int], system: System) -> None:
    result, scenario = event(name)
    for row in rows_of(result, scenario):
        m = moment_of(result, scenario, row)
        told = text(side_view(result, scenario, row, *size, system=system))
        for figure in (
            speed(m.speed, system),
            degrees(m.tank, system),
            gauge(m.pressure, system),
            f"return {degrees(m.return_, system)}",
            f"supply {degrees(m.supply, system)}",
            power(m.heat, system),
            degrees(m.coolant_out, system),
            difference(m.margin, system),
            degrees(m.boils, system),
            "no gas" if m.gas_share <= 0.0 else f"gas {percent(m.gas_share)}",
        ):
            assert figure in told
        if not (m.coolant_still or m.tank_still):
            assert degrees(m.coolant_in, system) in told
            assert percent(m.effectiveness) in told
        if result.intake is not None:
            gain = result.intake.stations[0].stagnation_pressure
            gain -= result.site.station_pressure_Pa
            assert over_air(gain, system) in told
            assert f"net {over_air(result.intake.net_Pa, system)}" in told


def test_coolant_coming_back_has_given_up_the_exchangers_heat() -> None:
    result, scenario = event("hot_day")
    m = moment_of(result, scenario, rows_of(result, scenario)[2])
    # 30 % ethylene glycol by volume near 100 degC: about 1000 kg/m3 and 3.8 kJ/(kg K).
    assert m.coolant_out - m.coolant_in == pytest.approx(m.heat / (m.hot_flow * 3.8e6), rel=0.03)


def test_the_moment_names_leg_time_and_speed() -> None:
    result, scenario = event("hot_day")
    for row, words in ((0, "pass (leg 1 of 3)"), (len(result.history.time) - 1, "leg 3 of 3")):
        first = text(side_view(result, scenario, row, 78, 10)).splitlines()[0]
        assert words in first
        assert f"{result.history.time[row]:.1f} s of 433 s" in first


def test_dangers_are_all_named_at_every_size() -> None:
    result, scenario = event("overreach")
    dangers = [f.name for f in result.flags if f.level == "danger" and f.name in HAZARDS]
    words = {
        "coolant-boil": "boils",
        "tank-scald": "tank scalds",
        "line-scald": "line scalds",
        "relief-lift": "tank may burst",
        "relief-size": "no relief fitted",
        "hydraulic-lock": "no gas left",
        "panel-stress": "panel too weak",
    }
    assert sorted(dangers) == sorted(words)
    for size in SIZES:
        for row in rows_of(result, scenario):
            told = text(side_view(result, scenario, row, *size))
            for name in dangers:
                assert f"XX {words[name]}" in told


def test_hazards_mark_the_part_where_they_are() -> None:
    result, scenario = event("overreach")
    finish = rows_of(result, scenario)[2]
    lines = side_view(result, scenario, finish, 138, 14)
    rows = text(lines).splitlines()
    tank = [r.split("│")[1] for r in rows if r.count("│") == 6]
    assert any("XX 76 °C" in part for part in tank)
    assert any("XX no gas" in part for part in tank)
    assert "XX return 111 °C" in text(lines)
    assert role_of(lines, "return 111 °C") == "danger"
    engine = [r.split("│")[-2] for r in rows if r.count("│") == 6]
    assert any("XX boil margin -10 K" in part for part in engine)
    callouts = rows[1:4]
    assert any(r.index("XX tank scalds") < 69 for r in callouts if "XX tank scalds" in r)
    assert any(r.index("XX boils") >= 69 for r in callouts if "XX boils" in r)


def test_a_hazard_to_come_is_dim_and_says_when() -> None:
    result, scenario = event("overreach")
    lines = side_view(result, scenario, 0, 138, 14)
    boils = result.cooling.boils_at_s
    assert f"XX boils at {boils:.0f} s" in text(lines)
    assert role_of(lines, "XX boils at") == "dim"
    later = side_view(result, scenario, row_at(result, boils + 1.0), 138, 14)
    assert role_of(later, "XX boils") == "danger"
    assert "XX boils at" not in text(later)


def test_near_boiling_comes_before_boiling() -> None:
    result, scenario = event("overreach")
    margin = result.history.boil_temperature - result.history.coolant
    margin -= scenario.limits.hot_spot_allowance
    row = int(np.argmax(margin < 5.0))
    assert 0.0 < margin[row] < 5.0
    names = [t.text for t in tags_at(result, scenario, row) if t.name == "coolant-boil"]
    assert names[0].startswith("XX boils at ")
    assert names[1] == "! near boiling"


def test_the_relief_lifts_at_the_tank_when_its_setting_is_reached() -> None:
    result, scenario = event("hot_day")
    flag = next(f for f in result.flags if f.name == "relief-lift")
    row = row_at(result, flag.at_s)
    tag = next(t for t in tags_at(result, scenario, row) if t.name == "relief-lift")
    assert (tag.text, tag.active, tag.place) == ("! relief lifts", True, "tank")
    before = row_at(result, flag.at_s - 15.0)
    told = [t.text for t in tags_at(result, scenario, before) if t.name == "relief-lift"]
    assert any(t.startswith("! relief lifts at ") for t in told)


def test_a_vented_tank_boils_at_the_tank_while_it_is_hottest() -> None:
    result, scenario = event("base", "tank.closure=vented", "tank.volume=6 L",
                             "tank.start_temperature=60 degC", "engine.heat_share=1.05")
    flag = next(f for f in result.flags if f.name == "relief-lift")
    told = {t.name: t for t in tags_at(result, scenario, row_at(result, flag.at_s))}
    assert (told["relief-lift"].text, told["relief-lift"].active) == ("! tank boils", True)
    assert told["relief-size"].text == "XX vent too small"
    assert not any(t.active for t in tags_at(result, scenario, 0) if t.name == "relief-lift")


def test_a_line_outside_the_cockpit_is_not_marked() -> None:
    sleeved, _ = event("hot_day")
    keys = ("loop.supply.barrier=outside", "loop.return.barrier=outside")
    outside, scenario = event("hot_day", *keys)
    row = rows_of(outside, scenario)[2]
    assert "! return" in text(side_view(sleeved, event("hot_day")[1], row, 78, 10))
    assert "! return" not in text(side_view(outside, scenario, row, 78, 10))


def test_a_stage_never_outranks_its_flag() -> None:
    for name in NAMES:
        result, scenario = event(name)
        for flag in (f for f in result.flags if f.level == "caution"):
            assert all(s.level == "caution" for s in stages(flag, result, scenario))


def test_every_hazard_of_the_engine_has_words() -> None:
    result, _ = event("base")
    assert len(ENGINE_HAZARDS) == len(result.flags)
    assert {f.name for f in result.flags} == set(HAZARDS)


@pytest.mark.parametrize("size", SIZES)
def test_without_a_duct_the_row_says_so(size: tuple[int, int]) -> None:
    result, scenario = event("base")
    bare = scenario.model_copy(update={"intake": None})
    told = text(side_view(solve(bare), bare, 0, *size))
    assert "no duct: the engine breathes still air" in told
    assert "over still air" not in told
    assert result.intake is not None


def test_a_choked_duct_has_no_pressures() -> None:
    keys = ("intake.copies=1", "intake.part[1].width=30 mm", "intake.part[1].height=30 mm")
    result, scenario = event("overreach", *keys)
    assert result.intake is not None
    assert result.intake.choked
    told = text(side_view(result, scenario, 0, 78, 10))
    assert "XX duct chokes at" in told


def test_names_along_the_duct_give_way_before_pressures() -> None:
    result, _ = event("hot_day")
    wide, tight, narrow = ("".join(t for t, _ in duct_row(result, "si", w)) for w in (120, 75, 50))
    assert "frame tube +3.51" in wide
    assert "tube +3.51" in tight
    assert "frame tube" not in tight
    assert "tube" not in narrow
    for figure in ("+4.14", "+3.94", "+3.51", "+3.18", "net +2.78 kPa"):
        assert figure in wide
        assert figure in tight
        assert figure in narrow
    least = "".join(t for t, _ in duct_row(result, "si", 26))
    assert "+4.14" in least
    assert "net +2.78 kPa" in least


def test_the_duct_at_this_speed_is_told_only_under_full_power() -> None:
    result, scenario = event("hot_day")
    start, _, finish, end = rows_of(result, scenario)
    heads = [text(side_view(result, scenario, r, 78, 10)).splitlines()[0] for r in (start, finish)]
    assert "duct now -1.29 kPa" in heads[0]
    assert "duct now +2.78 kPa" in heads[1]
    assert "duct now" not in text(side_view(result, scenario, end, 78, 10))


def test_the_level_follows_fill_and_expansion() -> None:
    full, some = event("hot_day"), event("hot_day", "tank.fill=0.4")
    lines = [text(side_view(r, s, 0, 138, 14)) for r, s in (full, some)]
    assert lines[0].count("█") > 1.8 * lines[1].count("█")
    result, scenario = full
    rows = (0, len(result.history.time) - 1)
    shares = [moment_of(result, scenario, row).gas_share for row in rows]
    assert shares[1] < shares[0] == pytest.approx(0.1, abs=0.005)


def test_still_water_has_no_arrows() -> None:
    result, scenario = event("hot_day")
    _, _, finish, end = rows_of(result, scenario)
    moving, still = (text(side_view(result, scenario, r, 78, 10)) for r in (finish, end))
    assert moving.count("◄") == moving.count("━►") == 2
    assert "◄" not in still
    assert "━" not in still
    assert "still" in still
    assert "no flow" in still


def test_ice_left_is_told_until_it_is_gone() -> None:
    result, scenario = event("ice")
    told = [text(side_view(result, scenario, r, 78, 9)) for r in rows_of(result, scenario)]
    left = [moment_of(result, scenario, r).ice for r in rows_of(result, scenario)]
    for words, ice in zip(told, left, strict=True):
        assert (f"ice {ice:.1f} kg" if ice > 0.005 else "ice gone") in words
    assert left[0] > left[2] > left[3] == 0.0
    assert "ice" not in text(side_view(*event("base"), 0, 78, 9))


def test_a_small_pane_lists_dangers_and_figures_whole() -> None:
    result, scenario = event("overreach")
    finish = rows_of(result, scenario)[2]
    m = moment_of(result, scenario, finish)
    lines = side_view(result, scenario, finish, 50, 12)
    told = text(lines)
    assert all(width_of(line) <= 50 for line in lines)
    assert told.startswith("XX boils  XX tank scalds")
    for figure in (degrees(m.tank, "si"), degrees(m.coolant_out, "si"), power(m.heat, "si")):
        assert figure in told
    assert "│" not in told


@given(width=st.integers(12, 170), height=st.integers(1, 24), row=st.integers(0, 300))
@settings(max_examples=60)
def test_any_size_is_kept(width: int, height: int, row: int) -> None:
    result, scenario = event("overreach")
    lines = side_view(result, scenario, row, width, height)
    assert len(lines) <= height
    assert all(width_of(line) <= width for line in lines)
    if width >= LEAST_WIDTH and height >= LEAST_HEIGHT:
        assert "EXCHANGER" in text(lines)


def test_names_of_the_user_cannot_break_the_picture() -> None:
    result, scenario = event("hot_day", "leg[0].name=北 run", "intake.part[1].name=管 tube")
    lines = side_view(result, scenario, 0, 138, 14)
    assert all(cell_len(part) == len(part) for line in lines for part, _ in line)
    assert "? run" in text(lines)
    assert "? tube" in text(lines)
    long = event("hot_day", f"leg[0].name={'x' * 60}")
    first = text(side_view(*long, 0, 78, 10)).splitlines()[0]
    assert "0.0 s of 433 s" in first
    assert "..." in first


def test_a_row_that_is_not_there_is_refused() -> None:
    result, scenario = event("base")
    with pytest.raises(IndexError, match="is not one of the"):
        side_view(result, scenario, len(result.history.time), 78, 10)


def test_what_does_not_fit_on_the_canvas_is_refused_not_cut() -> None:
    canvas = Canvas(10, 2)
    with pytest.raises(IndexError, match="does not fit"):
        canvas.put(0, 5, "123456")
    canvas.put(1, 5, "12345", "figure")
    assert canvas.lines() == [[], [("     ", "plain"), ("12345", "figure")]]


def test_ascii_stands_one_for_one() -> None:
    assert all(isinstance(v, str) and len(v) == 1 and v.isascii() for v in ASCII.values())


def _tag(words: str, place: str = "tank") -> Tag:
    return Tag("x", "caution", place, words, True)


def test_callouts_keep_the_pressing_ones_and_cut_none() -> None:
    tags = [_tag("! one two"), _tag("! three"), _tag("! four", "engine"), _tag("! five six seven")]
    pieces, left = laid_out(tags, 30, 1)
    told = [part for _, _, line in pieces for part, _ in line]
    assert [t.text for t in left] == ["! five six seven"]
    assert all(t.text in told for t in tags[:3])
    assert packed(tags, 8, 4) is None
    assert laid_out(tags, 30, 0) == ([], tags)


GOLDEN = (
    ("hot_day", "finish", 78, 10, "si", False),
    ("overreach", "start", 138, 14, "si", False),
    ("ice", "finish", 78, 9, "us", True),
    ("long_course", "end", 78, 10, "us", False),
)


@pytest.mark.parametrize(("name", "when", "width", "height", "system", "ascii_only"), GOLDEN)
def test_the_picture_as_it_was_looked_at(
    name: str, when: str, width: int, height: int, system: System, ascii_only: bool
) -> None:
    result, scenario = event(name)
    row = rows_of(result, scenario)[("start", "", "finish", "end").index(when)]
    told = text(
        side_view(result, scenario, row, width, height, system=system, ascii_only=ascii_only)
    )
    path = GOLDENS / f"{name}-{when}-{width}x{height}-{system}{'-ascii' if ascii_only else ''}.txt"
    if os.environ.get("UPDATE_GOLDENS"):
        path.write_text(told + "\n", encoding="utf-8")
    assert told + "\n" == path.read_text(encoding="utf-8")


@pytest.mark.parametrize("size", SIZES)
def test_it_is_quick_enough_to_follow_the_mouse(size: tuple[int, int]) -> None:
    result, scenario = event("second_pass")
    least = math.inf
    for row in range(0, 200, 20):
        start = time.perf_counter()
        side_view(result, scenario, row, *size)
        least = min(least, time.perf_counter() - start)
    assert least < 0.005
