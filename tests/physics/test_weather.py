"""The hot-weather table against single events, and the hottest air put back."""

import numpy as np
import pytest

from thermo.digest import digest_of
from thermo.ensemble import StoppedError
from thermo.errors import ScenarioError
from thermo.event import solve
from thermo.results import FLOORS
from thermo.scenario import with_value
from thermo.scenario_io import from_text
from thermo.survival import AIR
from thermo.weather import MOST_AIRS, SHORTEST, TANK, air_axis, queue_axis, tank_axis, weather_table
from thermo.weather_export import rows_of, to_json

KELVIN = 0.05
"""What a variant may be off the single solver."""


@pytest.fixture(scope="module")
def hot(scenario_with):
    scenario = scenario_with("hot_day")
    return weather_table(
        scenario, airs=air_axis("20degC:45degC:5"), columns=tank_axis("15degC:35degC:5"))


def single(scenario, cell, key):
    return solve(with_value(with_value(scenario, AIR, cell.air), key.replace("[", ".").replace(
        "]", ""), cell.column))


def agrees(cell, result):
    binding = result.binding
    # A verdict or a binding limit may differ only where a limit is as good as met.
    close = any(
        abs(flag.value - flag.limit) < 0.1 for flag in result.flags if np.isfinite(flag.limit)
    )
    assert cell.boil_margin == pytest.approx(result.cooling.boil_margin_K, abs=KELVIN)
    assert cell.after_boil_margin == pytest.approx(result.cooling.after_boil_margin_K, abs=KELVIN)
    if not close:
        assert (cell.verdict, cell.binding) == (result.verdict, binding.name)
    if cell.binding == binding.name and np.isfinite(binding.value):
        assert cell.value == pytest.approx(binding.value, abs=KELVIN, rel=2e-3)
        assert cell.unit == binding.unit


def test_cells_are_single_events(hot, scenario_with):
    scenario = scenario_with("hot_day")
    rng = np.random.default_rng(11)
    cells = [cell for row in hot.cells for cell in row]
    for i in rng.choice(len(cells), 6, replace=False):
        agrees(cells[i], single(scenario, cells[i], TANK))


@pytest.mark.parametrize("name", ["base", "cold_paddock"])
def test_cells_of_other_scenarios(scenario_with, name):
    scenario = scenario_with(name)
    table = weather_table(
        scenario, airs=air_axis("25degC:45degC:10"), columns=tank_axis("18degC:34degC:8"))
    for cell in (table.cells[0][2], table.cells[2][1], table.cells[1][0]):
        agrees(cell, single(scenario, cell, TANK))


def test_a_queue_of_no_time_and_of_some(scenario_with):
    scenario = scenario_with("ice")
    table = weather_table(
        scenario, airs=air_axis("25degC:35degC:10"),
        columns=queue_axis(scenario, "0min:20min:10"))
    assert table.columns.key == "leg[0].duration"
    assert table.columns.values == pytest.approx((SHORTEST, 600.0, 1200.0))
    assert "'on the line', leg[0]" in table.queue
    for cell in (table.cells[0][0], table.cells[1][2]):
        agrees(cell, single(scenario, cell, "leg.0.duration"))


def test_the_scenario_as_it_stands(hot, scenario_with, solve_with):
    scenario = scenario_with("hot_day")
    assert hot.planned.air == pytest.approx(scenario.site.air_temperature)
    agrees(hot.planned, solve_with("hot_day"))


def test_the_hottest_air_put_back_sits_on_the_limit(hot, scenario_with):
    # the tank starts with the air, 4 K below it
    scenario = scenario_with("hot_day")
    bound = [s for s in hot.survivals if s.reaches[-1].state == "limit"]
    assert len(bound) >= 5
    order = {"clear": 0, "caution": 1, "danger": 2}
    for survival in bound:
        levels, figures = [], []
        for more in (-0.1, 0.0, 0.1):
            air = survival.reaches[-1].hottest + more
            day = with_value(with_value(scenario, AIR, air), TANK, air + hot.offset)
            flag = next(f for f in solve(day).flags if f.name == survival.hazard)
            levels.append(order[flag.level])
            figures.append((flag.value, flag.limit))
        wanted = order[survival.level]
        assert levels[0] < wanted <= levels[2], survival.hazard
        value, limit = figures[1]
        if survival.level == "caution" and survival.hazard not in ("relief-lift",):
            assert value == pytest.approx(limit, abs=0.1), survival.hazard


def test_where_no_air_holds_the_best_is_told(hot, scenario_with):
    scald = next(s for s in hot.survivals if s.hazard == "tank-scald")
    reach = scald.reaches[0]
    assert reach.state == "none"
    day = with_value(with_value(scenario_with("hot_day"), AIR, reach.best_air), TANK, 288.15)
    flag = next(f for f in solve(day).flags if f.name == "tank-scald")
    assert flag.level != "clear"
    assert reach.best_value == pytest.approx(flag.value, abs=KELVIN)
    assert reach.best_limit == pytest.approx(flag.limit)
    assert (reach.best_value < reach.best_limit) == ("tank-scald" in FLOORS)


def test_limits_of_cold_air_are_not_called_open(hot):
    freeze = next(s for s in hot.survivals if s.hazard == "freeze")
    assert {r.state for r in freeze.reaches[:-1]} == {"cold"}


def test_air_below_the_dew_point_is_refused_and_no_limit(scenario_with):
    scenario = scenario_with(
        "base", edits=[("relative_humidity = 0.0", 'dew_point = "19 degC"')])
    table = weather_table(
        scenario, airs=air_axis("10degC:30degC:10"), columns=tank_axis("15degC:20degC:5"))
    assert [row[0].verdict for row in table.cells] == ["refused", "clear", "clear"]
    assert "dew_point must not exceed air_temperature" in table.cells[0][0].reason
    assert table.counts["refused"] == 2
    boil = next(s for s in table.survivals if s.hazard == "coolant-boil")
    assert boil.reaches[0].state == "open"
    assert any("dew point stays 19.0 degC" in words for words in table.assumed)


def test_a_day_that_the_liquid_does_not_survive_is_no_verdict(scenario_with):
    table = weather_table(
        scenario_with("cold_paddock"), airs=air_axis("0degC:10degC:10"),
        columns=tank_axis("-20degC:10degC:30"))
    assert table.cells[0][0].verdict == "no verdict"
    assert all(s.reaches[0].state == "unsolved" for s in table.survivals)
    rows = rows_of(table)
    assert len(rows) == 5
    assert rows[1][2] == "no verdict"
    assert rows[1][4] == ""


def test_what_is_refused(scenario_with):
    scenario = scenario_with("base")
    with pytest.raises(ScenarioError, match="no leg of kind 'queue' before its first pass"):
        queue_axis(scenario, "0min:10min:5")
    with pytest.raises(ScenarioError, match="a temperature from -30 degC to 60 degC"):
        air_axis("20degC:70degC:5")
    with pytest.raises(ScenarioError, match="the unit is missing"):
        air_axis("20:40degC:5")
    with pytest.raises(ScenarioError, match="number above 0, in degC"):
        air_axis("20degC:40degC:0")
    with pytest.raises(ScenarioError, match="must not be below the first"):
        air_axis("40degC:20degC:5")
    with pytest.raises(ScenarioError, match=f"a page holds at most {MOST_AIRS}"):
        weather_table(scenario, airs=air_axis("20degC:40degC:1"),
                      columns=tank_axis("15degC:35degC:5"))


def test_it_can_be_stopped(scenario_with):
    with pytest.raises(StoppedError):
        weather_table(scenario_with("base"), airs=air_axis("20degC:30degC:5"),
                      columns=tank_axis("15degC:35degC:5"), cancelled=lambda: True)


def test_json_has_every_cell(hot):
    told = to_json(hot)
    assert len(told["cells"]) == 30
    assert told["cells"][0]["air_temperature_degC"] == pytest.approx(20.0)
    assert told["cells"][0]["tank_start_degC"] == pytest.approx(15.0)
    assert sum(told["counts"].values()) == 30
    boil = next(h for h in told["hottest_air"] if h["limit"] == "coolant-boil")
    assert len(boil["columns"]) == 5
    assert boil["tank_with_the_air"]["state"] == "limit"


def test_the_digest_is_of_the_content(scenario_with):
    text = scenario_with("base")
    other = scenario_with("base", "tank.volume=39 L")
    same = scenario_with("base", edits=[('volume = "38 L"', 'volume = "38000 cm^3" # alike')])
    assert digest_of(text) == digest_of(same)
    assert digest_of(text) != digest_of(other)
    assert len(digest_of(text)) == 12


def test_the_digest_does_not_hang_on_layout():
    from pathlib import Path

    path = Path(__file__).resolve().parents[2] / "scenarios" / "base.toml"
    text = path.read_text(encoding="utf-8")
    assert digest_of(from_text(text).scenario) == digest_of(
        from_text("# a comment\n" + text.replace("0.85", "0.850")).scenario)
