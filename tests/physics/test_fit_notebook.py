"""The notebook fit against the heat that an event really had."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from thermo.errors import ScenarioError
from thermo.event import solve
from thermo.fit_next import outlook, samples
from thermo.fit_notebook import Notebook, fit_notebook
from thermo.fit_scenario import fitted_text
from thermo.scenario import Scenario, with_value
from thermo.scenario_io import read_scenario

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
RUN_ON = 400.0


def scenario(name: str = "base") -> Scenario:
    return read_scenario(SCENARIOS / f"{name}.toml").scenario


def driven(truth: Scenario) -> Notebook:
    """What a crew with perfect instruments would write down after a long run-on."""
    legs = (truth.leg[0], with_value(truth, "leg.1.duration", RUN_ON).leg[1])
    result = solve(truth.model_copy(update={"leg": legs}))
    h, cooling = result.history, result.cooling
    return Notebook(
        float(h.tank_out[0]), float(h.tank_out[-1]), float(h.coolant[0]), float(h.coolant[-1]),
        cooling.pass_time_s, RUN_ON,
    )


@pytest.mark.parametrize("share", [0.6, 0.75, 1.05])
def test_share_of_the_event_is_found(share: float) -> None:
    truth = with_value(scenario(), "engine.heat_share", share)
    found = fit_notebook(scenario(), driven(truth))
    # 1 % is what the run-on leaves in metal and lines.
    assert found.share == pytest.approx(share, rel=0.01)
    assert found.share_before == 0.75
    assert sum(t.heat for t in found.terms) == pytest.approx(found.heat)


def test_losses_to_the_air_are_in_the_balance() -> None:
    base = with_value(with_value(scenario(), "tank.air_conductance", 20.0),
                      "engine.air_conductance", 30.0)
    book = driven(base)
    with_loss = fit_notebook(base, book).share
    without = fit_notebook(scenario(), book).share
    assert abs(with_loss - 0.75) < abs(without - 0.75)
    assert with_loss == pytest.approx(0.75, rel=0.05)  # mean temperatures stand for the course


def test_interval_holds_the_truth_with_wrong_readings_and_masses() -> None:
    """Readings, fill, metal and watch wrong by their stated errors: 95 % of intervals hold."""
    rng = np.random.default_rng(6)
    inside, trials = 0, 200
    base = scenario()
    clean = driven(base)
    capacity = base.engine.metal_heat_capacity
    assert capacity is not None
    for _ in range(trials):
        r = rng.standard_normal(7)
        book = replace(
            clean, tank_before=clean.tank_before + r[0], tank_after=clean.tank_after + r[1],
            coolant_before=clean.coolant_before + r[2], coolant_after=clean.coolant_after + r[3],
            pass_time=clean.pass_time + r[4])
        believed = with_value(base, "tank.fill", base.tank.fill * (1.0 + 0.02 * r[5]))
        believed = with_value(believed, "engine.metal_heat_capacity", capacity * (1 + 0.25 * r[6]))
        found = fit_notebook(believed, book)
        inside += abs(found.share - 0.75) < 1.96 * found.share_error
    assert 0.90 * trials <= inside <= trials - 1


def test_duct_by_the_plenum() -> None:
    base = scenario()
    truth = with_value(base, "intake.loss_scale", 1.5)
    result = solve(truth)
    assert result.intake is not None
    plenum = result.site.station_pressure_Pa + result.intake.net_Pa
    book = replace(driven(base), plenum=plenum)
    found = fit_notebook(base, book)
    scale = found.fitted[1]
    assert scale.key == "intake.loss_scale"
    # The timed speed is a little below the top speed at which the plenum is read.
    assert scale.value == pytest.approx(1.5, rel=0.12)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"tank_after": 285.0}, "more than tank-before"),
        ({"tank_after": 372.0}, "a heat share of"),
        ({"coolant_before": 640.0}, "is expected of this liquid"),
        ({"pass_time": 0.2}, "1 s to 2 h"),
        ({"plenum": 3e3}, "was it read as gauge"),
        ({"reading_error": 50.0}, "0.01 K to 10 K"),
    ],
)
def test_readings_that_cannot_be_are_refused(change: dict[str, float], words: str) -> None:
    good = Notebook(291.15, 315.0, 348.15, 320.0, 60.0)
    fit_notebook(scenario(), good)
    with pytest.raises(ScenarioError, match=words):
        fit_notebook(scenario(), replace(good, **change))


def test_heat_power_and_fuel_share_keep_their_own_key() -> None:
    base = scenario()
    book = driven(base)
    by_power = with_value(with_value(base, "engine.heat_share", None), "engine.heat_power", 30e3)
    one = fit_notebook(by_power, book).fitted[0]
    assert one.key == "engine.heat_power"
    assert one.value == pytest.approx(0.75 * 55e3, rel=0.01)


def test_fitted_text_keeps_comments_and_reads_back() -> None:
    loaded = read_scenario(SCENARIOS / "base.toml")
    found = fit_notebook(loaded.scenario, driven(loaded.scenario))
    after = fitted_text(loaded, found.fitted, ["hash 123"])
    assert after.text.startswith("# hash 123\n")
    assert "# bucket and watch, in the car" in after.text
    assert after.scenario.engine.heat_share == pytest.approx(found.fitted[0].value, rel=1e-4)
    doubt = after.scenario.doubt["engine.heat_share"]
    assert doubt.shape == "normal"
    assert float(doubt.low) == pytest.approx(found.fitted[0].low90, rel=1e-4)


def test_next_pass_spreads_as_the_share_does() -> None:
    base = scenario()
    changes = samples(("engine.heat_share",), np.array([0.9]), np.array([[0.05**2]]),
                      lambda u: u, ((0.2, 2.0),), count=60)
    assert np.std(changes["engine.heat_share"]) == pytest.approx(0.05, rel=0.1)
    told = outlook("next", base, with_value(base, "engine.heat_share", 0.9), changes)
    margin = told.rows[0]
    at = solve(with_value(base, "engine.heat_share", 0.9)).cooling.boil_margin_K
    assert margin.middle == pytest.approx(at, abs=0.3)
    assert margin.low < margin.middle < margin.high
    assert told.failed == 0.0
