"""What the screen shows of a result: words, rows, the moment, charts and comparisons."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.curves import net_against_size, tank_against_run
from thermo.event import solve
from thermo.results import RANK, EventResult
from thermo.scenario import Scenario
from thermo.scenario_io import read_scenario
from thermo.trial import Trials
from thermo.units import System, convert
from tui.charts import thinned
from tui.comparing import flattened, input_label
from tui.present import (
    Chart,
    compare,
    duct_chart,
    figure_rows,
    hazard_rows,
    heat_chart,
    leg_marks,
    moment_at,
    net_size_chart,
    net_speed_chart,
    step_moment,
    tank_chart,
    tank_run_chart,
    temperature_chart,
    timeline,
    verdict_line,
)

FOLDER = Path(__file__).parents[2] / "scenarios"
NAMES = sorted(p.stem for p in FOLDER.glob("*.toml"))
SYSTEMS: tuple[System, ...] = ("si", "us")


@cache
def event(name: str, *overrides: str) -> tuple[EventResult, Scenario]:
    scenario = read_scenario(FOLDER / f"{name}.toml", overrides).scenario
    return solve(scenario), scenario


def test_the_verdict_says_word_limit_gap_and_moment() -> None:
    result, _ = event("hot_day")
    line = verdict_line(result)
    assert (line.mark, line.word, line.name) == ("!", "CAUTION", "coolant-boil")
    short = 10.0 - result.cooling.boil_margin_K
    assert line.limit.startswith("margin to boiling 8.5")
    assert line.limit.endswith("at least 10 K wanted")
    assert line.gap == f"{short:.3g} K short"
    assert line.when == "at 90 s (coast)"
    assert line.text.startswith("! CAUTION: margin to boiling")
    assert line.row is not None
    assert result.history.time[line.row] == pytest.approx(result.binding.at_s)


def test_why_a_hazard_matters_is_told_in_the_units_of_the_figures() -> None:
    result, _ = event("ice")
    why = {row.name: row.why for row in hazard_rows(result, "us")}["too-cold"]
    assert "degF" in why
    assert "degC" not in why


def test_a_bladder_may_hold_its_precharge_before_it_bursts() -> None:
    # 20 kPa over the precharge of 62 kPa: common practice for flat-sided tanks
    result, scenario = event("base", "tank.closure=bladder", "tank.precharge=9 psi")
    limits = {limit.name: limit.y for limit in tank_chart(result, scenario, "si", 60).limits}
    assert limits["most for a tank without relief"] == pytest.approx(20.0 + 62.0528, abs=0.01)


def test_the_verdict_in_us_units() -> None:
    line = verdict_line(event("hot_day")[0], "us")
    assert "at least 18 " in line.limit
    assert " K" not in line.text


def test_a_clear_verdict_says_what_is_to_spare() -> None:
    line = verdict_line(event("base")[0])
    assert (line.mark, line.word) == ("ok", "CLEAR")
    assert line.gap.endswith("to spare")


def test_a_change_is_told_with_what_was_before() -> None:
    before, after = event("hot_day")[0], event("hot_day", "tank.volume=60 L")[0]
    line = verdict_line(after, "si", before)
    was = f"{before.cooling.tank_peak_degC:.2f}".rstrip("0")
    now = f"{after.cooling.tank_peak_degC:.2f}".rstrip("0")
    assert f"tank, hottest {now} degC, was {was} degC" in line.changes
    assert "margin to boiling with a leaking cap binds, was margin to boiling" in line.changes
    assert verdict_line(before, "si", before).changes == ()


def test_a_change_of_verdict_comes_first() -> None:
    line = verdict_line(event("overreach")[0], "si", event("base")[0])
    assert line.changes[0] == "DANGER, was CLEAR"


def test_figures_that_cannot_be_trusted_have_no_verdict() -> None:
    result = replace(
        event("base")[0], verdict="no verdict", untrusted=("the account does not close",)
    )
    line = verdict_line(result)
    assert (line.mark, line.word) == ("??", "NO VERDICT")
    assert "cannot be trusted: the account does not close" in line.text


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_hazards_are_told_whole_and_worst_first(name: str, system: System) -> None:
    result, _ = event(name)
    rows = hazard_rows(result, system)
    assert len(rows) == len(result.flags)
    ranks = [RANK[r.level] for r in rows]
    assert ranks == sorted(ranks, reverse=True)
    flags = {f.name: f for f in result.flags}
    for row in rows:
        flag = flags[row.name]
        assert row.mark == {"danger": "XX", "caution": "!", "clear": "ok"}[row.level]
        assert row.title != row.name
        if row.limit:
            assert row.limit.startswith("at least " if flag.is_floor else "at most ")
            assert row.figure == f"{row.value}, {row.limit} wanted" or not row.value
        if math.isnan(flag.at_s):
            assert (row.row, row.when) == (None, "")
        else:
            assert row.row is not None
            assert result.history.time[row.row] == pytest.approx(flag.at_s, abs=1e-6)
            assert result.legs[int(result.history.leg[row.row])][0] == flag.leg
        if flag.level == "danger" and row.gap:
            assert row.gap.endswith(("short", "over"))


def test_by_how_much_a_temperature_is_over_is_a_difference() -> None:
    rows = {r.name: r for r in hazard_rows(event("overreach")[0])}
    over = event("overreach")[0].cooling.tank_peak_degC - 49.0
    assert rows["tank-scald"].gap == f"{over:.3g} K over"
    us = {r.name: r for r in hazard_rows(event("overreach")[0], "us")}
    assert us["tank-scald"].gap.startswith(f"{1.8 * over:.3g} ")
    assert "gauge" not in rows["relief-lift"].gap


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_every_figure_has_a_label_a_value_and_its_own_name(name: str, system: System) -> None:
    rows = figure_rows(event(name)[0], system)
    assert len({r.name for r in rows}) == len(rows)
    assert len({r.label for r in rows}) == len(rows)
    assert all(r.label and r.value for r in rows)
    assert all(r.change == "" for r in rows)


def test_figures_name_only_what_changed() -> None:
    before, after = event("hot_day")[0], event("hot_day", "tank.volume=60 L")[0]
    rows = {r.name: r for r in figure_rows(after, "si", before)}
    assert rows["water"].change == f"was {before.cooling.tank_water_kg:.3g} kg"
    assert rows["nose_gain"].change == ""
    assert rows["tank_peak"].si == pytest.approx(after.cooling.tank_peak_degC + 273.15)


def test_without_a_duct_no_figures_of_one() -> None:
    bare = event("base")[1].model_copy(update={"intake": None})
    result = solve(bare)
    assert {r.group for r in figure_rows(result)} == {"event", "cooling", "tank", "day"}
    assert duct_chart(result) is None
    assert net_speed_chart(result) is None


def test_the_moment_is_the_nearest_row() -> None:
    result, _ = event("hot_day")
    times = result.history.time
    assert moment_at(result, -5.0) == 0
    assert times[moment_at(result, 1e6)] == times[-1]
    for row in (0, 40, 200):
        assert times[moment_at(result, float(times[row]))] == times[row]


def test_a_step_always_moves_in_time_and_stops_at_the_ends() -> None:
    result, _ = event("second_pass")
    times = result.history.time
    row, seen = 0, [0.0]
    while True:
        after = step_moment(result, row, 1)
        if after == row:
            break
        assert times[after] > times[row]
        row = after
        seen.append(float(times[row]))
    assert times[row] == times[-1]
    assert len(seen) == len(np.unique(times))
    assert times[step_moment(result, row, -1)] == seen[-2]
    assert step_moment(result, 0, -1) == 0
    assert times[step_moment(result, 5, 10_000)] == times[-1]


def test_legs_begin_where_the_history_says() -> None:
    result, scenario = event("second_pass")
    marks = leg_marks(result)
    assert [m.label for m in marks] == [leg.label for leg in scenario.leg]
    for number, mark in enumerate(marks):
        assert mark.row is not None
        assert result.history.leg[mark.row] == number
        assert result.history.time[mark.row] == pytest.approx(mark.start)
        assert mark.end > mark.start


@pytest.mark.parametrize("width", [40, 78, 138])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_the_time_line_points_at_the_moment(width: int, ascii_only: bool) -> None:
    result, _ = event("hot_day")
    point = "^" if ascii_only else "▲"
    for row in (0, 100, 200, len(result.history.time) - 1):
        axis, beneath = timeline(result, row, width, ascii_only=ascii_only)
        assert len(axis) == len(beneath) == width
        assert beneath.index(point) == round(
            float(result.history.time[row]) / result.legs[-1][2] * (width - 1)
        )
        assert f"{result.history.time[row]:.1f} s" in beneath
        assert " soak " in axis
        assert axis.isascii() or not ascii_only


def charts(name: str, system: System, width: int) -> list[Chart]:
    result, scenario = event(name)
    found = [
        temperature_chart(result, scenario, system, width),
        heat_chart(result, system, width),
        tank_chart(result, scenario, system, width),
        duct_chart(result, system),
        net_speed_chart(result, system, width),
    ]
    return [c for c in found if c is not None]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", SYSTEMS)
def test_charts_are_thin_whole_and_named(name: str, system: System) -> None:
    for width in (30, 78):
        found = charts(name, system, width)
        assert [c.name for c in found] == ["temperatures", "heat", "tank", "duct", "net-speed"]
        for chart in found:
            assert chart.title
            assert chart.x_label
            assert chart.y_label
            for series in chart.series:
                assert 2 <= len(series.xs) == len(series.ys) <= 4 * width + 2
                assert list(series.xs) == sorted(series.xs)
                assert all(math.isfinite(y) for y in series.ys)
            assert all(math.isfinite(limit.y) for limit in chart.limits)


def test_temperatures_have_their_limits_and_margins_as_numbers() -> None:
    result, scenario = event("hot_day")
    chart = temperature_chart(result, scenario)
    limits = {limit.name: limit.y for limit in chart.limits}
    assert limits["scalds"] == pytest.approx(49.0)
    assert limits["hot to touch"] == pytest.approx(60.0)
    assert limits["coolant boils"] == pytest.approx(result.cooling.boil_temperature_degC)
    wanted = limits["coolant boils"] - limits["coolant, caution"]
    assert wanted == pytest.approx(20.0)
    assert chart.least[0].si == pytest.approx(result.cooling.boil_margin_K)
    assert chart.margins.startswith("boil margin 8.5 K at 90 s; tank 27 K over scalding at ")
    assert chart.marks[0] == ("pass", 0.0)
    hottest = max(chart.series[0].ys)
    assert hottest == pytest.approx(result.cooling.coolant_peak_degC)
    us = temperature_chart(result, scenario, "us")
    assert us.y_label == "temperature [degF]"
    assert max(us.series[0].ys) == pytest.approx(32.0 + 1.8 * hottest)


def test_heat_reaches_what_the_history_holds() -> None:
    result, _ = event("hot_day")
    chart = heat_chart(result)
    assert max(chart.series[0].ys) == pytest.approx(130.0)
    most = float(result.history.exchanger_heat.max())
    assert max(chart.series[2].ys) == pytest.approx(most / 1e3)
    assert chart.least[0].si == pytest.approx(most)


def test_the_tanks_chart_has_pressure_gas_and_both_limits() -> None:
    result, scenario = event("hot_day")
    chart = tank_chart(result, scenario)
    assert {limit.name: limit.y for limit in chart.limits} == pytest.approx(
        {"relief lifts": 70.0, "least gas wanted, %": 2.0}
    )
    assert chart.top is None
    assert max(chart.series[0].ys) == pytest.approx(result.cooling.tank_pressure_peak_Pa / 1e3)
    assert min(chart.series[1].ys) == pytest.approx(
        100.0 * result.history.gas_volume.min() / scenario.tank.volume
    )
    assert chart.least[1].si == pytest.approx(result.history.gas_volume.min() / 0.046)


def test_a_pressure_far_beyond_its_limit_is_cut_off_at_the_top_and_said() -> None:
    result, scenario = event("overreach")
    chart = tank_chart(result, scenario)
    assert chart.top == pytest.approx(100.0)
    peak = result.cooling.tank_pressure_peak_Pa / 1e3
    assert f"to {peak:.0f} kPa" in chart.note
    assert max(chart.series[0].ys) == pytest.approx(peak)


def test_pressure_along_the_duct_falls_to_the_net_gain() -> None:
    result, _ = event("hot_day")
    chart, duct = duct_chart(result), result.intake
    assert chart is not None
    assert duct is not None
    stagnation, static = chart.series
    assert stagnation.ys[-1] == pytest.approx(duct.net_Pa / 1e3)
    assert all(a >= b - 1e-9 for a, b in zip(stagnation.ys, stagnation.ys[1:], strict=False))
    assert all(s <= t + 1e-9 for s, t in zip(static.ys, stagnation.ys, strict=True))
    assert [n for n, _ in chart.marks] == [s.name for s in duct.stations]
    assert chart.limits[0].y == 0.0
    us = duct_chart(result, "us")
    assert us is not None
    assert us.series[0].ys[0] == pytest.approx(stagnation.ys[0] / 6.894757, rel=1e-6)


def test_parallel_ducts_have_a_line_each() -> None:
    chart = duct_chart(event("frame_tubes")[0])
    assert chart is not None
    names = [s.name for s in chart.series]
    assert len(names) == len(set(names)) == 6
    assert "stagnation, backbone" in names


def test_net_gain_against_speed_marks_where_it_begins_to_help() -> None:
    result, _ = event("hot_day")
    chart, duct = net_speed_chart(result), result.intake
    assert chart is not None
    assert duct is not None
    marks = dict(chart.marks)
    at = f"no gain, {duct.break_even_speed_m_per_s:.1f} m/s"
    assert marks[at] == pytest.approx(duct.break_even_speed_m_per_s)
    series = chart.series[0]
    assert np.interp(marks[at], series.xs, series.ys) == pytest.approx(0.0, abs=0.02)


def test_net_gain_against_size_passes_through_what_is_there() -> None:
    result, scenario = event("hot_day")
    curve = net_against_size(scenario, Trials())
    assert curve is not None
    assert result.intake is not None
    chart = net_size_chart(curve)
    assert chart.least[0].si == pytest.approx(result.intake.net_Pa, abs=0.5)
    assert chart.marks == (("now", pytest.approx(52.0)),)
    assert chart.x_label == "width [mm]"
    limits = {limit.name: limit.y for limit in chart.limits}
    assert limits["least wanted"] == pytest.approx(0.5 * limits["gain of the nose"])
    assert chart.note == ""
    us = net_size_chart(curve, "us")
    assert us.marks[0][1] == pytest.approx(52.0 / 25.4)


def test_sizes_that_choke_are_left_out_and_said() -> None:
    curve = net_against_size(event("overreach")[1], Trials(), (0.4, 0.6, 0.8, 1.0))
    assert curve is not None
    chart = net_size_chart(curve)
    assert len(chart.series[0].xs) == 2
    assert chart.note == f"it chokes up to {0.6 * 46.0:.3g} mm"


def test_the_smallest_tank_against_the_run() -> None:
    scenario = event("hot_day")[1]
    curve = tank_against_run(scenario, Trials(), (0.5, 1.0))
    chart = tank_run_chart(curve)
    assert chart.series[0].xs == pytest.approx((3220.0, 6440.0))
    assert chart.series[0].ys == pytest.approx([v * 1e3 for v in curve.volumes])
    assert chart.limits[0].y == pytest.approx(46.0)
    assert chart.least[0].si == pytest.approx(0.046 - curve.volumes[1])
    us = tank_run_chart(curve, "us")
    assert us.x_label == "run [mi]"
    assert us.series[0].xs[1] == pytest.approx(convert(6440.0, "length", "mi"))


def test_a_run_that_no_tank_meets_has_no_point() -> None:
    chart = tank_run_chart(tank_against_run(event("overreach")[1], Trials(), (1.0,)))
    assert chart.series[0].xs == ()
    assert chart.note == "where no tank is shown none meets: pressure with no relief"


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=2, max_size=900),
    st.integers(2, 60),
)
def test_thinning_keeps_ends_peaks_and_order(values: list[float], columns: int) -> None:
    ys = np.asarray(values)
    xs = np.arange(len(ys), dtype=np.float64)
    kept = thinned(xs, ys, columns)
    assert kept == sorted(set(kept))
    assert (kept[0], kept[-1]) == (0, len(ys) - 1)
    assert len(kept) <= 4 * columns + 2
    assert ys[kept].max() == ys.max()
    assert ys[kept].min() == ys.min()


def test_a_comparison_tells_only_what_differs_after_the_verdicts() -> None:
    (one, a), (two, b) = event("hot_day"), event("hot_day", "tank.volume=60 L")
    found = compare((one, two), (a, b))
    assert found.labels == (one.title, two.title)
    assert [r.key for r in found.rows[:3]] == ["verdict", "binding", "binding-value"]
    assert all(len(set(r.values)) > 1 for r in found.rows[3:])
    inputs = [r for r in found.rows if r.group == "input"]
    assert [(r.key, r.label, r.values) for r in inputs] == [
        ("tank.volume", "Tank: volume", ("46 L", "60 L"))
    ]
    keys = {r.key for r in found.rows if r.group == "figure"}
    assert "tank_peak" in keys
    assert "nose_gain" not in keys
    assert {r.key for r in found.rows if r.group == "hazard"} >= {"coolant-boil", "relief-lift"}


def test_a_scenario_against_itself_has_no_differences() -> None:
    result, scenario = event("base")
    found = compare((result, result), (scenario, scenario))
    assert {r.group for r in found.rows} == {"verdict"}


def test_legs_that_one_has_not_are_told_as_given() -> None:
    (one, a), (two, b) = event("hot_day"), event("ice")
    rows = {r.key: r for r in compare((one, two), (a, b)).rows}
    assert rows["leg[3].kind"].values == ("-", "soak")
    assert "leg[3].power_share" not in rows
    assert rows["ice"].values[0] == "-"


def test_results_and_scenarios_must_pair() -> None:
    result, scenario = event("base")
    with pytest.raises(ValueError, match="2 results for 1 scenarios"):
        compare((result, result), (scenario,))


@pytest.mark.parametrize("name", NAMES)
def test_every_input_has_text_and_words(name: str) -> None:
    flat = flattened(event(name)[1])
    assert "tank.volume" in flat
    assert "schema" not in flat
    assert all(found.text for found in flat.values())
    assert all(input_label(key) for key in flat)


def test_inputs_in_us_units_and_lists_as_text() -> None:
    flat = flattened(event("long_course")[1], "us")
    assert flat["tank.volume"].text == "26 gal"
    assert flat["loop.supply.fittings"].text == "entrance, bend-90, bend-90, ball-valve"
    assert flat["engine.gears"].text == "2.65, 1.74, 1.28, 1"
    assert flat["site.dew_point"].given
    assert not flat["car.grade"].given
    assert input_label("intake.part[0].to_bore") == "Intake, part 1: bore after the change"
