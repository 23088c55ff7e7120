"""The fit of a log against an independent generator, and what is called out before it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.oracles.log_generator import Course, Sensors, Truth, measure, run, write
from thermo.errors import ScenarioError
from thermo.event import OvertakenError
from thermo.fit import default_names, fit
from thermo.fit_data import despiked, on_the_day
from thermo.fit_parameters import parameters_of
from thermo.fit_traces import STEP, lagged
from thermo.log_checks import blocking, check_log
from thermo.log_csv import Log, read_log
from thermo.log_passes import find_passes
from thermo.log_preview import lay, predictions
from thermo.scenario import Scenario
from thermo.scenario_io import read_scenario

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
TRUTH = Truth(heat_share=0.88, ua=900.0, metal_capacity=17e3, drag_area=0.19)
ALL = ("coolant_out", "coolant_in", "tank_out", "tank_in", "speed")


@pytest.fixture(scope="module")
def base() -> Scenario:
    return read_scenario(SCENARIOS / "base.toml").scenario


@pytest.fixture(scope="module")
def course() -> Course:
    return run(TRUTH)


def logged(folder: Path, course: Course, seed: int = 1, change=None, **sensors) -> Log:
    made = Sensors(**{"channels": ALL, "tail": 150.0, **sensors})
    clock, columns = measure(course, made, np.random.default_rng(seed))
    if change is not None:
        change(columns)
    return read_log(write(folder / "log.csv", clock, columns))


def test_four_parameters_are_recovered_within_their_intervals(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    log = logged(tmp_path, course, bias={"coolant_out": 0.8, "tank_out": -0.6},
                 drift={"tank_in": 0.4}, dropouts=0.03, spikes=0.004, uneven=0.5)
    assert not blocking(check_log(log, base), ())
    found = fit(base, log, ("heat", "ua", "metal", "drag"))
    truth = {"engine.heat_share": 0.88, "exchanger.ua": 900.0,
             "engine.metal_heat_capacity": 17e3, "car.drag_area": 0.19}
    for one in found.fitted:
        # Half an interval of grace: one seed, four parameters, 95 % each.
        grace = 0.25 * (one.high95 - one.low95)
        assert one.low95 - grace <= truth[one.key] <= one.high95 + grace
        assert abs(one.value / truth[one.key] - 1.0) < 0.03
    lags = [n.value for n in found.nuisances if n.title == "lag"]
    assert lags == pytest.approx([2.0] * 4, abs=0.5)
    assert not found.words
    assert not found.poor
    assert all(after < 0.5 for _, after in found.misfit.values())
    assert {p.channel for p in found.previews} == set(ALL)


def test_what_one_tank_probe_cannot_tell_is_said(
    base: Scenario, tmp_path: Path
) -> None:
    car = replace(TRUTH, drag_area=0.17)
    log = logged(tmp_path, run(car), channels=("tank_out", "throttle"), tail=10.0)
    found = fit(base, log, ("heat", "metal", "excess"))
    said = " ".join(found.words)
    assert "says little about metal in contact with coolant" in said
    assert "says little about metal over coolant" in said
    for one, true in zip(found.fitted, (0.88, 17e3, 35.0), strict=True):
        assert one.low95 < true < one.high95


def test_parameter_without_a_say_keeps_its_range(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    log = logged(tmp_path, course, channels=("speed",))
    found = fit(base, log, ("drag", "excess"))
    assert found.told[1] > 0.95
    assert "says little about metal over coolant" in " ".join(found.words)
    assert found.fitted[0].value == pytest.approx(0.19, rel=0.02)


@pytest.mark.parametrize(
    ("change", "tags"),
    [
        (lambda c: c["tank_out"].__setitem__(slice(150, None), 25.0), {"stuck:tank_out"}),
        (lambda c: c.update(tank_in=c["tank_out"], tank_out=c["tank_in"]), {"swapped:tank_out"}),
        (lambda c: c.update(coolant_out=c["tank_out"], tank_out=c["coolant_out"]),
         {"swapped:coolant_out"}),
        (lambda c: c.update(tank_in=1.8 * c["tank_in"] + 32), {"unit:tank_in"}),
        (lambda c: c.update(coolant_out=1.8 * c["coolant_out"] + 32), {"unit:coolant_out"}),
        (lambda c: c.update(speed=c["speed"] / 1.609), {"unit:speed"}),
    ],
)
def test_what_must_not_be_fitted_is_called_out(
    base: Scenario, course: Course, tmp_path: Path, change, tags: set[str]
) -> None:
    stopping = blocking(check_log(logged(tmp_path, course, change=change), base), ())
    assert tags <= {f.tag for f in stopping}
    assert all(f.lines[0] >= 2 and f.lines[1] > f.lines[0] for f in stopping)
    assert not blocking(stopping, [f.tag for f in stopping])


@pytest.mark.parametrize(
    ("change", "tag"),
    [
        (lambda c: c.update(tank_in=c["tank_out"], tank_out=c["tank_in"]), "swapped:tank_out"),
        (lambda c: c.update(tank_in=1.8 * c["tank_in"] + 32), "unit:tank_in"),
        (lambda c: c.update(speed=c["speed"] / 1.609), "unit:speed"),
    ],
)
def test_columns_taken_as_a_call_out_says_are_no_longer_called_out(
    base: Scenario, course: Course, tmp_path: Path, change, tag: str
) -> None:
    log = logged(tmp_path, course, change=change)
    said = next(f for f in check_log(log, base) if f.tag == tag)
    assert said.mend
    for texts in ([m.text for m in said.mend],
                  [f"{m.channel}=#{m.place + 1}:{m.unit}" for m in said.mend]):
        assert not blocking(check_log(read_log(tmp_path / "log.csv", texts), base), ())


def test_what_is_left_out_has_no_say_anywhere(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    log = logged(tmp_path, course)
    hot = replace(log, values={**log.values, "air": np.full(len(log.time), 330.0),
                               "speed": np.full(len(log.time), 40.0)})
    rest = hot.without(("air", "speed"))
    assert on_the_day(base, rest) == base
    assert find_passes(rest)[0].by != "speed"
    assert "drag" not in default_names(base, rest)
    assert "drag" in default_names(base, hot)


def test_a_log_lies_over_what_the_scenario_says_before_the_fit(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    log = logged(tmp_path, course)
    before = {p.channel: p for p in predictions(lay(base, log))}
    found = {p.channel: p for p in fit(base, log, ("drag",)).previews}
    assert set(before) == set(found) == set(ALL)
    for name, one in before.items():
        inside = np.isfinite(one.before) & (one.time > 30.0)
        apart = one.before - np.interp(one.time, found[name].time, found[name].before)
        # The fit's own trace has the probe's usual lag in it, and the start as logged.
        assert float(np.sqrt(np.mean(apart[inside] ** 2))) < 3.0, name


def test_coolant_labelled_as_tank_is_called_out(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    log = logged(tmp_path, course, channels=("tank_out", "speed"),
                 change=lambda c: c.update(tank_out=course_of(course, c)))
    found = {f.tag: f for f in blocking(check_log(log, base), ())}
    # By its level it could also be a tank in Fahrenheit: both are said.
    assert "coolant leaving the engine" in found["mislabelled:tank_out"].why


def course_of(course: Course, columns: dict[str, np.ndarray]) -> np.ndarray:
    clock = np.arange(len(columns["tank_out"])) / 5.0 - 12.0
    return np.interp(clock, course.time, course.columns["coolant_out"])


def test_clean_logs_of_many_cars_are_not_called_out(base: Scenario, tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    for seed in range(6):
        car = replace(
            TRUTH, heat_share=rng.uniform(0.62, 1.0), ua=rng.uniform(850, 1500),
            metal_capacity=rng.uniform(11e3, 38e3), coolant_start=rng.uniform(68, 84),
            tank_start=rng.uniform(12, 30), drag_area=rng.uniform(0.14, 0.21))
        log = logged(tmp_path, run(car), seed)
        assert not blocking(check_log(log, base), ()), car


def test_spikes_and_gaps_are_named_and_do_not_stop(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    def holed(columns: dict[str, np.ndarray]) -> None:
        columns["tank_in"][200:260] = np.nan

    found = check_log(logged(tmp_path, course, spikes=0.01, change=holed), base)
    assert {"spikes:tank_out", "gap:tank_in"} <= {f.tag for f in found}
    assert not blocking(found, ())


def test_two_passes_in_one_file_are_found_and_chosen(
    base: Scenario, tmp_path: Path
) -> None:
    sensors = Sensors(channels=ALL, tail=100.0)
    rng = np.random.default_rng(2)
    clock, first = measure(run(Truth(heat_share=0.88)), sensors, rng)
    _, second = measure(run(Truth(heat_share=0.88, tank_start=24.0)), sensors, rng)
    both = {n: np.concatenate([first[n], second[n]]) for n in ALL}
    log = read_log(write(tmp_path / "two.csv", np.concatenate([clock, clock + 700.0]), both))
    passes = find_passes(log)
    assert [p.number for p in passes] == [1, 2]
    assert passes[1].start - passes[0].start == pytest.approx(700.0, abs=0.5)
    with pytest.raises(ScenarioError, match="passes 1 to 2"):
        fit(base, log, ("heat",), passes=(3,))
    found = fit(base, log, ("heat",), passes=(2,))
    tank = next(n for n in found.nuisances if n.title == "tank at the start")
    assert tank.value - 273.15 == pytest.approx(24.0, abs=1.5)


def test_event_without_speed_or_throttle_is_found_by_its_temperatures(
    base: Scenario, course: Course, tmp_path: Path
) -> None:
    log = logged(tmp_path, course, channels=("coolant_out", "tank_out"), lead=60.0)
    found = fit(base, log, ("heat",))
    begins = next(n for n in found.nuisances if n.kind == "time" and not n.channel)
    assert begins.value == pytest.approx(60.0, abs=3.0)


def test_names_and_cancelling(base: Scenario, course: Course, tmp_path: Path) -> None:
    log = logged(tmp_path, course)
    assert default_names(base, log) == ("heat", "ua", "metal", "drag")
    with pytest.raises(ScenarioError, match="Did you mean metal"):
        parameters_of(base, ("metall",))
    with pytest.raises(ScenarioError, match="named twice"):
        parameters_of(base, ("heat", "heat"))
    with pytest.raises(OvertakenError):
        fit(base, log, ("heat",), cancelled=lambda: True)


def test_lag_is_the_exact_first_order_response() -> None:
    """To a ramp: x(t) = t gives y = t - lag (1 - exp(-t/lag))."""
    t = np.arange(0.0, 20.0, STEP)
    assert lagged(t, 3.0) == pytest.approx(t - 3.0 * (1.0 - np.exp(-t / 3.0)), abs=1e-9)


def test_despiking_takes_spikes_and_leaves_steps() -> None:
    x = np.sin(np.arange(200) / 20.0) * 10.0
    x[100:] += 6.0
    bad = x.copy()
    bad[[30, 120, 121]] += 50.0
    clean, spikes = despiked(bad, 4.0)
    assert list(np.flatnonzero(spikes)) == [30, 120, 121]
    assert np.nanmax(np.abs(clean - x)) == 0.0
