"""The tank and the duct that hold a chosen chance: put back they do, and a smaller one does not."""

import pytest

from thermo.doubt import assess
from thermo.doubt_ranges import ranges_of
from thermo.doubt_sampling import draw
from thermo.doubt_sizes import Search, _any, _duct, _seek, _tank, sizes_that_hold
from thermo.inputs.event import DoubtRange
from thermo.scenario import with_value

SAMPLES, CHANCE = 256, 0.1


def search_for(scenario, chance=CHANCE):
    open_ = [r for r in ranges_of(scenario) if r.shape != "exact"]
    return Search(scenario, open_, draw(open_, SAMPLES, 0), chance, workers=1)


def chance_at(search, size, at):
    return float(_any(search.crossings(size, [at], SAMPLES)[0], ()).mean())


@pytest.fixture(scope="module")
def held(scenario_with):
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("thermo.doubt_sizes.POINTS", 5)
        return sizes_that_hold(search_for(scenario_with("hot_day")))


def put_back(scenario_with, answer):
    return scenario_with("hot_day", *(f"{key}={text}" for key, text in answer.settings))


def test_the_tank_put_back_holds_the_chance_and_a_smaller_one_does_not(scenario_with, held):
    tank = held[0]
    again = put_back(scenario_with, tank)
    found = assess(again, samples=SAMPLES, workers=1, chance=None)
    boil = next(x for x in found.limits if x.name == "coolant-boil").danger.least
    assert tank.binding == "coolant-boil"
    assert 0.8 * CHANCE <= boil <= CHANCE
    assert f"{100 * boil:.3g} %" in tank.note
    smaller = assess(with_value(again, "tank.volume", 0.95 * again.tank.volume), samples=SAMPLES,
                     workers=1)
    assert next(x for x in smaller.limits if x.name == "coolant-boil").danger.least > boil


def test_the_duct_put_back_holds_the_chance_and_a_smaller_one_does_not(scenario_with, held):
    duct = held[1]
    search = search_for(put_back(scenario_with, duct))
    size = _duct(search)
    assert size.now == pytest.approx(duct.value)
    share = chance_at(search, size, size.now)
    assert 0.8 * CHANCE <= share <= CHANCE
    assert chance_at(search, size, 0.97 * size.now) > CHANCE


def test_the_range_of_a_size_in_doubt_moves_along_with_it(scenario_with):
    hot = scenario_with("hot_day")
    doubt = {**hot.doubt, "tank.volume": DoubtRange(low="45 L", high="47 L")}
    search = search_for(hot.model_copy(update={"doubt": doubt}))
    size = _tank(search)
    settings = {s.key: s.text() for s in size.settings(2.0 * hot.tank.volume)}
    assert settings == {"tank.volume": "92 L", 'doubt."tank.volume".low': "90 L",
                        'doubt."tank.volume".high': "94 L"}
    columns = search._columns(size, 2.0 * hot.tank.volume, SAMPLES)
    assert columns["tank.volume"] == pytest.approx(2.0 * search.draws.columns["tank.volume"])


def test_none_in_range_is_said_with_the_best_attainable(scenario_with, monkeypatch):
    monkeypatch.setattr("thermo.doubt_sizes.POINTS", 3)
    search = search_for(scenario_with("overreach"), 0.01)
    answer = _seek(search, _tank(search))
    assert answer.value is None
    assert answer.best > 0.01
    assert answer.binding == "coolant-boil"
    assert "None from" in answer.note
    assert "line-scald" in answer.note  # a danger at every size: left out, and said

