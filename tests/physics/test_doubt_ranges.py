"""Default ranges: one place of truth, the scenario's value in them, and what is no guess."""

import dataclasses
import math

import pytest

from tests.conftest import SCENARIOS
from thermo import cooling, engine, vehicle
from thermo.doubt_ranges import GUESSES, ranges_of
from thermo.errors import ScenarioError
from thermo.fields import quantity_of
from thermo.inputs.air import Intake, Part
from thermo.inputs.event import DoubtRange
from thermo.inputs.loops import Loop
from thermo.inputs.place import Car
from thermo.inputs.power import Engine
from thermo.scenario import Scenario, with_value

SHIPPED = sorted(path.stem for path in SCENARIOS.glob("*.toml"))


def by_key(scenario):
    return {r.key: r for r in ranges_of(scenario)}


def doubting(scenario, **ranges):
    table = {key.replace("__", "."): value for key, value in ranges.items()}
    return scenario.model_copy(update={"doubt": table})


@pytest.mark.parametrize("name", SHIPPED)
def test_every_default_holds_the_scenarios_value_and_says_what_it_rests_on(scenario_with, name):
    scenario = scenario_with(name).model_copy(update={"doubt": {}})
    found = ranges_of(scenario)
    assert {"engine.metal_excess", "car.rolling_resistance"} <= {r.key for r in found}
    for r in found:
        assert r.low < r.high
        assert r.low <= r.value <= r.high
        assert r.mode == r.value
        assert r.bounds[0] <= r.low
        assert r.high <= r.bounds[1]
        assert r.source
        assert r.shape == "triangular"


def test_a_default_is_practices_range_as_it_stands(scenario_with):
    found = by_key(scenario_with("base"))
    assert (found["engine.heat_share"].low, found["engine.heat_share"].high) == (0.60, 1.05)
    power = 55e3
    ua = found["exchanger.ua"]
    assert ua.low == pytest.approx(15e-3 * power)
    assert ua.high == pytest.approx(45e-3 * power)
    metal = found["engine.metal_heat_capacity"]
    assert metal.low == pytest.approx(0.2e-3 * power * 900.0)
    assert metal.high == pytest.approx(0.8e-3 * power * 900.0)


def test_outside_practice_the_range_lies_about_the_value_in_proportion(scenario_with):
    scenario = with_value(scenario_with("base"), "engine.heat_share", 1.6)
    r = by_key(scenario)["engine.heat_share"]
    assert r.low == pytest.approx(1.6 * 0.60 / 0.80)
    assert r.high == 2.0  # 1.6 x 1.05/0.80 = 2.1 is more than the input may be
    assert "in proportion" in r.note
    assert "allowed range" in r.note


def test_an_input_that_is_not_given_is_likeliest_as_it_is_taken(scenario_with):
    scenario = with_value(scenario_with("base"), "exchanger.ua", None)
    assert by_key(scenario)["exchanger.ua"].value == pytest.approx(28e-3 * 55e3)


def test_what_was_measured_is_no_guess(scenario_with):
    base = scenario_with("base")
    assert "loop.flow" not in by_key(base)
    guessed = with_value(base, "loop.flow_measured", False)
    r = by_key(guessed)["loop.flow"]
    assert (r.low, r.high) == (pytest.approx(20 / 60e3), pytest.approx(80 / 60e3))
    exact = doubting(guessed, loop__flow=DoubtRange(shape="exact"))
    assert by_key(exact)["loop.flow"].shape == "exact"


def test_what_has_no_say_is_not_in_doubt(scenario_with):
    plate = by_key(scenario_with("plate"))
    assert "exchanger.ua" not in plate  # by its plates
    assert "loop.flow" not in plate  # by its pump: the volts are in doubt
    assert "loop.voltage" in plate
    assert "engine.oil_share" not in by_key(scenario_with("base"))  # set to none


def test_what_a_fitted_scale_covers_is_no_guess(scenario_with):
    """A pass that told conductance or duct losses has told their inputs together."""
    base = scenario_with("base")
    assert "exchanger.ua" not in by_key(with_value(base, "exchanger.ua_scale", 0.9))
    fitted = by_key(doubting(base, intake__loss_scale=DoubtRange(low=0.9, high=1.2)))
    assert not any(key.startswith("intake.part") for key in fitted)
    assert "exchanger.ua" in fitted


def test_tubes_of_one_roughness_are_as_rough_as_each_other(scenario_with):
    found = [r for r in ranges_of(scenario_with("frame_tubes")) if "roughness" in r.key]
    assert [r.keys for r in found] == [
        ("intake.part[0].roughness", "intake.part[3].roughness"), ("intake.part[6].roughness",)]


def test_a_given_range_takes_the_place_of_the_default(scenario_with):
    scenario = doubting(scenario_with("base"), engine__heat_share=DoubtRange(low=0.7, high=0.8))
    r = by_key(scenario)["engine.heat_share"]
    assert (r.low, r.high, r.mode, r.source) == (0.7, 0.8, 0.75, "[doubt]")


def test_a_value_outside_its_given_range_is_said(scenario_with):
    scenario = doubting(scenario_with("base"), engine__heat_share=DoubtRange(low=0.8, high=0.9))
    r = by_key(scenario)["engine.heat_share"]
    assert "outside its range" in r.note
    assert r.mode == pytest.approx(0.85)


def test_a_range_built_in_code_is_checked_too(scenario_with):
    scenario = doubting(scenario_with("base"), tank__volumes=DoubtRange(low=1, high=2))
    with pytest.raises(ScenarioError, match=r"Did you mean tank\.volume"):
        ranges_of(scenario)


def test_defaults_of_the_tables_are_the_estimates_own():
    """A figure stands in one table for people and in one estimate; they must be the same."""
    shown = {
        "engine.heat_share": engine.COOLANT_HEAT_SHARE.value,
        "engine.volumetric_efficiency": Engine.model_fields["volumetric_efficiency"].default,
        "engine.oil_share": Engine.model_fields["oil_share"].default,
        "engine.idle_heat": Engine.model_fields["idle_heat"].default,
        "engine.metal_excess": Engine.model_fields["metal_excess"].default,
        "engine.still_conductance": Engine.model_fields["still_conductance"].default,
        "car.rolling_resistance": Car.model_fields["rolling_resistance"].default,
        "car.wheel_slip": Car.model_fields["wheel_slip"].default,
        "loop.voltage": Loop.model_fields["voltage"].default,
        "intake.recovery": Intake.model_fields["recovery"].default,
    }
    estimates = {g.key: g.estimate for g in GUESSES}
    assert {key: estimates[key].value for key in shown} == shown
    assert Part.model_fields["drop"].default == 300.0
    assert vehicle.ROLLING_RESISTANCE.high == 0.06


def test_every_guess_names_a_quantity_and_its_figures_are_in_order():
    for guess in GUESSES:
        assert quantity_of(Scenario, guess.key) is not None
        e = guess.estimate
        assert e.low < e.value < e.high or (e.low < e.value <= e.high and math.isclose(e.high, 1.0))
        assert dataclasses.is_dataclass(e)
    assert cooling.COLD_FLOW.value == pytest.approx(40 / 60e3)
