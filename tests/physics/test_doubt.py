"""The whole assessment against closed forms of the engine's own limits, and its bookkeeping."""

import json
import math

import numpy as np
import pytest
from scipy import stats
from scipy.optimize import brentq

from thermo.doubt import assess, steps_of, to_json
from thermo.doubt_ranges import ranges_of
from thermo.ensemble import HAZARDS, StoppedError, Workers
from thermo.errors import RangeError, ScenarioError
from thermo.event import solve
from thermo.inputs.event import DoubtRange
from thermo.scenario import with_value

SAMPLES = 1024


def only(scenario, **ranges):
    """A scenario in which nothing but the named inputs is in doubt."""
    named = {key.replace("__", "."): value for key, value in ranges.items()}
    bare = scenario.model_copy(update={"doubt": {}})
    exact = {key: DoubtRange(shape="exact") for r in ranges_of(bare) for key in r.keys}
    return bare.model_copy(update={"doubt": {**exact, **named}})


def limit_of(found, name):
    return next(x for x in found.limits if x.name == name)


def close(chance, want):
    """Whether a closed form lies within 2.2 half-widths: missed by chance once in 5,000 seeds."""
    return abs(chance.least - want) <= 2.2 * 0.5 * (chance.high - chance.low)


def test_the_chance_is_the_inputs_distribution_at_the_crossing_of_the_single_solver(scenario_with):
    """One input, a margin that falls with it: the chance is 1 - F at the bracketed crossing."""
    hot = scenario_with("hot_day")
    at = brentq(
        lambda x: solve(with_value(hot, "engine.heat_share", x)).cooling.boil_margin_K, 0.6, 1.05,
        xtol=1e-5)
    low, high, mode = 0.6, 1.05, 0.75
    beyond = (high - at) ** 2 / ((high - low) * (high - mode))
    assert 0.05 < beyond < 0.6
    found = assess(only(hot, engine__heat_share=DoubtRange(low=low, high=high)), samples=SAMPLES,
                   workers=1)
    danger = limit_of(found, "coolant-boil").danger
    assert close(danger, beyond)
    assert danger.least == pytest.approx(beyond, abs=0.01)
    assert limit_of(found, "coolant-boil").drivers[0].correlation == pytest.approx(1.0, abs=1e-3)


def test_the_chance_that_a_sum_of_two_normals_uses_up_the_margin(scenario_with):
    """Margin less hot-spot allowance less caution margin: a sum of two normals, closed form."""
    hot = scenario_with("hot_day")
    spare = solve(with_value(hot, "limits.hot_spot_allowance", 0.0)).cooling.boil_margin_K
    one, two = (9.0, 2.0), (spare - 11.0, 1.5)
    z = 1.6448536269514722

    def normal(middle, spread):
        return DoubtRange(low=f"{middle - z * spread!r} K", high=f"{middle + z * spread!r} K",
                          shape="normal")

    found = assess(only(hot, limits__hot_spot_allowance=normal(*one),
                        limits__caution_margin=normal(*two)), samples=SAMPLES, workers=1)
    want = 1.0 - stats.norm.cdf((spare - one[0] - two[0]) / math.hypot(one[1], two[1]))
    assert 0.1 < want < 0.3
    assert close(limit_of(found, "coolant-boil").caution, want)
    margin = next(s for s in found.spreads if s.name == "boil_margin_K")
    assert margin.planned == pytest.approx(spare - hot.limits.hot_spot_allowance)
    assert margin.values == pytest.approx(
        [spare - one[0] - z * one[1], spare - one[0], spare - one[0] + z * one[1]], abs=0.15)


@pytest.mark.long
def test_variants_that_fail_are_counted_and_bound_the_chance(scenario_with):
    """Driven mass beyond mass is refused: a corner of the square, 50^2/2 of 100 x 250, 5 %."""
    scenario = only(scenario_with("hot_day"),
                    car__mass=DoubtRange(low="450 kg", high="700 kg", shape="uniform"),
                    car__driven_mass=DoubtRange(low="400 kg", high="500 kg", shape="uniform"))
    found = assess(scenario, samples=256, workers=1, chance=0.04)
    assert found.failed / found.samples == pytest.approx(0.05, abs=0.008)  # 11 or 12 of 256 fall
    assert sum(found.failures.values()) == found.failed
    assert all("driven_mass" in words for words in found.failures)
    for chance in (found.any_danger, *(x.danger for x in found.limits)):
        assert chance.most - chance.least == pytest.approx(found.failed / found.samples)
    assert found.any_danger.least == 0.0
    assert found.exit_status == 3  # it may be more than 4 %, and nobody can tell
    accepted = assess(scenario, samples=256, workers=1, chance=0.1)
    assert accepted.exit_status == 0


@pytest.fixture(scope="module")
def two():
    with Workers(2) as workers:
        yield workers


def test_one_seed_gives_one_answer_on_any_number_of_cores(scenario_with, two):
    hot = scenario_with("hot_day")
    alone = assess(hot, samples=512, seed=3, workers=1)
    assert to_json(alone) == to_json(assess(hot, samples=512, seed=3, workers=two))
    assert to_json(alone) != to_json(assess(hot, samples=512, seed=4, workers=two))


def test_levels_are_counted_as_variants_have_them(scenario_with):
    found = assess(scenario_with("hot_day"), samples=256, workers=1)
    assert [x.name for x in found.limits] == list(HAZARDS)
    worst = max(x.danger.least for x in found.limits)
    assert worst <= found.any_danger.least <= sum(x.danger.least for x in found.limits)
    assert all(x.danger.least <= x.caution.least for x in found.limits)
    assert found.any_danger.least <= found.any_caution.least


@pytest.mark.long
def test_json_holds_numbers_that_every_reader_accepts(scenario_with):
    found = assess(scenario_with("thin_duct"), samples=256, workers=1, chance=0.02)
    told = json.loads(json.dumps(to_json(found), allow_nan=False))
    assert told["samples"] == 256
    assert told["chosen_chance"] == 0.02
    assert len(told["limits"]) == len(HAZARDS)
    assert told["failed"] == sum(told["failures"].values())
    keys = {key for one in told["inputs"] for key in one["keys"]}
    assert {"engine.heat_share", "intake.part[1].friction"} <= keys


def test_an_input_that_cannot_be_an_array_is_stood_for_by_a_few_values(scenario_with, monkeypatch):
    monkeypatch.setattr("thermo.doubt.MOST_GROUPS", 4)
    scenario = only(scenario_with("hot_day"),
                    coolant__glycol_fraction=DoubtRange(low=0.25, high=0.35, shape="uniform"),
                    engine__heat_share=DoubtRange(low=0.7, high=0.8))
    open_ = [r for r in ranges_of(scenario) if r.shape != "exact"]
    assert steps_of(scenario, open_) == {"coolant.glycol_fraction": 4}
    found = assess(scenario, samples=256, workers=1)
    assert found.failed == 0
    assert any("equally likely values" in note for note in found.notes)


def test_progress_is_told_and_a_wish_to_stop_is_heard(scenario_with):
    hot, told = scenario_with("hot_day"), []
    assess(hot, samples=256, workers=1, progress=lambda done, whole: told.append((done, whole)))
    assert told[-1] == (256, 256)
    with pytest.raises(StoppedError, match="no longer wanted"):
        assess(hot, samples=256, workers=1, cancelled=lambda: True)


def test_what_cannot_be_assessed_is_refused(scenario_with):
    hot = scenario_with("hot_day")
    with pytest.raises(ScenarioError, match="no input is left in doubt"):
        assess(only(hot), workers=1)
    with pytest.raises(RangeError, match="number of samples"):
        assess(hot, samples=10, workers=1)


def test_samples_asked_for_are_told_beside_those_taken(scenario_with):
    found = assess(only(scenario_with("base"),
                        engine__heat_share=DoubtRange(low=0.7, high=0.8)), samples=300, workers=1)
    assert (found.asked, found.samples) == (300, 512)
    assert np.isfinite(found.any_danger.high)
