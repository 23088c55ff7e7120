"""Maps against single events, and the limit line against a bracket by single events."""

import numpy as np
import pytest

from thermo.axes import spaced
from thermo.drawing import FORMATS, field_picture
from thermo.ensemble import StoppedError
from thermo.errors import ScenarioError
from thermo.event import solve
from thermo.limit_line import Crossing, polylines
from thermo.map_results import known_results, shown_of, values_of
from thermo.maps import map_of, rows_of, to_json
from thermo.results import to_json as event_json
from thermo.scenario import with_value
from tui.text_map import map_field

KELVIN = 0.05
LEVELS = {"clear": 0, "caution": 1, "danger": 2}


def mapped(scenario, x, y, show, **more):
    return map_of(scenario, spaced(scenario, x, "--x"), spaced(scenario, y, "--y"),
                  shown_of(show), **more)


def changed(scenario, found, column, row):
    return with_value(with_value(scenario, found.x.key, column), found.y.key, row)


@pytest.fixture(scope="module")
def boil(scenario_with):
    return mapped(scenario_with("hot_day"), "tank.volume=30 L:70 L:9",
                  "exchanger.ua=2000 W/K:6000 W/K:5", "boil_margin_K", outline=True)


@pytest.fixture(scope="module")
def verdicts(scenario_with):
    return mapped(scenario_with("base"), "tank.fill=0.6:0.99:9",
                  "tank.start_temperature=10 degC:25 degC:4", "verdict")


def test_places_are_single_events(boil, scenario_with):
    scenario = scenario_with("hot_day")
    rng = np.random.default_rng(4)
    for place in rng.choice(boil.values.size, 5, replace=False):
        j, i = divmod(int(place), len(boil.x))
        result = solve(changed(scenario, boil, boil.x.values[i], boil.y.values[j]))
        assert boil.values[j, i] == pytest.approx(result.cooling.boil_margin_K, abs=KELVIN)
        assert boil.verdict(j, i) == result.verdict
        assert boil.binding[j][i] == result.binding.name


def bracketed(level_at, low, high, rank):
    """Halve a bracket on single events until a 250th of it is left."""
    below = level_at(low) >= rank
    assert below != (level_at(high) >= rank)
    for _ in range(8):
        middle = 0.5 * (low + high)
        if (level_at(middle) >= rank) == below:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def hold(found, scenario, crossing, level_of, share):
    steps = found.x.values[crossing.step : crossing.step + 2]
    row = found.y.values[crossing.line]
    at = bracketed(lambda x: level_of(solve(changed(scenario, found, x, row))), *steps,
                   LEVELS[crossing.level])
    assert crossing.at == pytest.approx(at, abs=share * (steps[1] - steps[0]))


def test_the_line_of_a_hazard_is_where_single_events_change(boil, scenario_with):
    def level_of(result):
        return LEVELS[next(f.level for f in result.flags if f.name == "coolant-boil")]

    along = [c for c in boil.crossings if c.along == "x"]
    assert {c.level for c in along} == {"caution", "danger"}
    for crossing in (along[0], along[-1]):
        # a figure against its limit is interpolated; without one the place is within 1/64
        hold(boil, scenario_with("hot_day"), crossing, level_of, 0.02)


def test_the_line_of_the_verdict_is_where_single_events_change(verdicts, scenario_with):
    rows = {c.line for c in verdicts.crossings}
    assert len(rows) >= 2
    twice = [c for c in verdicts.crossings if c.line == 2]
    assert len(twice) == 2, "too little gas expands too little, too much water leaves none"
    assert [c.worse_above for c in twice] == [False, True]
    for crossing in twice:
        hold(verdicts, scenario_with("base"), crossing, lambda r: LEVELS[r.verdict], 0.02)


@pytest.mark.parametrize("show", [
    "tank_peak_degC", "intake.net_Pa", "coolant-boil", "tank-scald.slack", "relief-lift.level",
    "pass_time_s", "intake.duct_mach_max"])
def test_any_result_is_that_of_the_single_event(scenario_with, show):
    scenario = scenario_with("hot_day")
    found = mapped(scenario, "site.air_temperature=25 degC:40 degC:2",
                   "car.mass=600 kg:700 kg:2", show)
    result = solve(changed(scenario, found, found.x.values[1], found.y.values[0]))
    told = event_json(result)
    got = found.values[0, 1]
    name, _, end = show.partition(".")
    flag = next((f for f in result.flags if f.name == name), None)
    if flag is None:
        table, key = ("intake", end) if end else ("cooling", name)
        want = told[table][key]
    elif end == "level":
        want = LEVELS[flag.level]
    elif end == "slack":
        want = flag.limit - flag.value
    else:
        want = flag.value
    assert got == pytest.approx(want, abs=KELVIN, rel=2e-3)


def test_every_name_told_can_be_shown(scenario_with):
    from thermo.ensemble import run_variants

    scenario = scenario_with("base")
    table = run_variants(scenario, {"tank.volume": [0.038]}, workers=1, margins=True)
    for name in known_results():
        shown = shown_of(name)
        assert shown.name in (name, name.removesuffix(".value"))
        assert values_of(shown, table).shape == (1,)


@pytest.mark.parametrize(("show", "words"), [
    ("boil_margin", "Did you mean boil_margin_K"), ("nonsense", "no such result"),
    ("air-lock", "air-lock.level is shown"), ("coolant-boil.slak", "coolant-boil.slack"),
    ("intake.break_even_speed_m_per_s", "none that is worked out for maps")])
def test_unknown_results_are_refused(show, words):
    with pytest.raises(ScenarioError, match=words):
        shown_of(show)


@pytest.mark.parametrize(("x", "y", "words"), [
    ("tank.volum=30 L:70 L:9", "tank.fill=0.5:0.9:3", "Did you mean tank.volume"),
    ("tank.fill=0.5:0.9:3", "tank.fill=0.5:0.9:3", "the same input"),
    ("tank.fill=0.5:0.9:1", "tank.volume=30 L:70 L:9", "whole number from 2"),
    ("tank.fill=0.9:0.5:3", "tank.volume=30 L:70 L:9", "must be above the first"),
    ("tank.fill=0.5:0.9", "tank.volume=30 L:70 L:9", "LO:HI:N"),
    ("tank.fill", "tank.volume=30 L:70 L:9", "KEY=LO:HI:N"),
    ("tank.fill=0.5:0.9:900", "tank.volume=30 L:70 L:900", "at most 250000")])
def test_what_is_refused(scenario_with, x, y, words):
    with pytest.raises(ScenarioError, match=words):
        mapped(scenario_with("base"), x, y, "verdict")


def test_a_map_of_nothing_but_contradictions_is_refused(scenario_with):
    with pytest.raises(ScenarioError, match="every place is refused: exchanger"):
        mapped(scenario_with("plate"), "exchanger.ua=2000 W/K:6000 W/K:3",
               "tank.fill=0.5:0.9:3", "verdict")


def test_places_that_fail_are_counted_and_told(scenario_with):
    found = mapped(scenario_with("ice"), "tank.ice_mass=0 kg:30 kg:7",
                   "tank.volume=10 L:20 L:3", "boil_margin_K")
    assert found.counts["refused"] > 0
    assert sum(found.counts.values()) == 21
    where = np.argwhere(found.refused)[0]
    assert found.verdict(*where) == "refused"
    assert "does not fit" in found.reasons[where[0]][where[1]]
    assert np.isnan(found.values[found.refused]).all()
    rows = rows_of(found)
    assert len(rows) == 22
    assert sum(row[3] == "refused" for row in rows) == found.counts["refused"]


def test_it_can_be_stopped(scenario_with):
    with pytest.raises(StoppedError):
        mapped(scenario_with("base"), "tank.fill=0.5:0.9:3", "tank.volume=30 L:70 L:3",
               "verdict", cancelled=lambda: True)


def test_json_has_the_limit_as_numbers(boil):
    told = to_json(boil)
    assert len(told["values"]) == 5
    assert len(told["values"][0]) == 9
    assert told["limit"]["of"] == "coolant-boil"
    assert all(c["worse"] == "below" for c in told["limit"]["crossings"])
    assert told["x"]["now_si"] == pytest.approx(0.046)


def test_the_outline_follows_a_known_curve():
    # crossings of a circle with the lines of a grid, joined: one closed line around
    axis = np.linspace(-1.0, 1.0, 21)
    crossings = []
    for along in ("x", "y"):
        for line, other in enumerate(axis):
            for step in range(20):
                ends = [np.hypot(axis[k], other) - 0.63 for k in (step, step + 1)]
                if ends[0] * ends[1] < 0.0:
                    at = float(np.copysign(np.sqrt(0.63**2 - other**2), axis[step]))
                    crossings.append(Crossing("danger", along, line, step, at, True))
    (line,) = polylines(crossings, axis, axis, "danger")
    points = np.array(line)
    assert points[0] == pytest.approx(points[-1])
    assert np.hypot(*points.T) == pytest.approx(0.63)
    assert len(points) == len(crossings) + 1
    around = np.hypot(*np.diff(points, axis=0).T).sum()
    assert around == pytest.approx(2.0 * np.pi * 0.63, rel=0.01)
    assert polylines(crossings, axis, axis, "caution") == ()


@pytest.mark.parametrize("form", FORMATS)
def test_pictures_are_files_of_their_kind_and_the_same_again(boil, form):
    first, second = (field_picture(map_field(boil, "si"), form) for _ in range(2))
    assert first == second
    head = {"svg": b"<?xml", "png": b"\x89PNG", "pdf": b"%PDF"}[form]
    assert first.startswith(head)


def test_the_picture_names_its_lines_and_units(boil):
    field = map_field(boil, "us")
    assert field.x_label == "tank.volume, gal"
    assert {line.label for line in field.lines if line.parts} == {
        "coolant-boil: caution", "coolant-boil: danger"}
    assert field.mark == pytest.approx((46.0 / 3.785412, 3600.0 / 0.527527), rel=1e-4)
    assert field.values == pytest.approx(1.8 * boil.values)
