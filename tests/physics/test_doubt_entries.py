"""The table [doubt] as read: what is refused, in words that name file, key, value and remedy."""

import math
from pathlib import Path

import pytest

from thermo.doubt_entries import entries_of
from thermo.errors import ScenarioError
from thermo.fields import quantity_of
from thermo.scenario import Scenario, held_values, placed
from thermo.scenario_io import from_text

BASE = Path(__file__).parents[2] / "scenarios" / "base.toml"
TEXT = BASE.read_text(encoding="utf-8")


def read(key, body, *overrides):
    head, legs = TEXT.split("[[leg]]", 1)
    text = f'{head}[doubt."{key}"]\n{body}\n\n[[leg]]{legs}'
    return from_text(text, "car.toml", overrides).scenario


def test_a_range_is_read_in_si_under_its_full_key():
    scenario = read("leg[pass].distance", 'low = "2 mi"\nhigh = "2.5 mi"\nshape = "uniform"')
    (entry,), problems = entries_of(scenario)
    assert not problems
    assert (entry.key, entry.kind, entry.shape) == ("leg[0].distance", "length", "uniform")
    assert entry.low == pytest.approx(2 * 1609.344)
    assert entry.high == pytest.approx(2.5 * 1609.344)


def test_an_exact_input_has_no_ends():
    (entry,), problems = entries_of(read("exchanger.ua", 'shape = "exact"'))
    assert not problems
    assert math.isnan(entry.low)
    assert math.isnan(entry.high)


@pytest.mark.parametrize(
    ("key", "body", "words"),
    [
        ("engine.heat_shar", "low = 0.6\nhigh = 1.0",
         r'doubt\."engine\.heat_shar": no such input.*Did you mean engine\.heat_share\?'),
        ("engine.heat_share", "low = 0.9\nhigh = 0.8",
         r'given low 0\.9 and high 0\.8; low must lie below high'),
        ("engine.heat_share", "low = 0.6\nhigh = 2.5",
         r"\.high: given 2\.5; a fraction from 0\.2 to 2\.0 is expected"),
        ("exchanger.ua", 'low = "900 W"\nhigh = "1200 W/K"',
         r"\.low: given '900 W'; W measures a power, expected a heat conductance"),
        ("exchanger.ua", 'low = 900\nhigh = "1200 W/K"',
         r"\.low: given 900.*; the unit is missing"),
        ("engine.cylinders", "low = 2\nhigh = 4", "a range is for a quantity"),
        ("tank.closure", "low = 2\nhigh = 4", "a range is for a quantity"),
        ("engine", "low = 2\nhigh = 4", "a range is for a quantity"),
        ("intake.part[9].roughness", 'low = "1 um"\nhigh = "9 um"',
         r"there is no such input in intake\.part\[9\]"),
        ("coolant.thermostat.bleed", "low = 0.01\nhigh = 0.1",
         r"there is no such input in coolant\.thermostat"),
        ("tank..volume", 'low = "30 L"\nhigh = "40 L"', "is not a key such as"),
        ("tank.volume", 'low = "1 L"\nhigh = "40 L"', r"\.low: given '1 L'; with that, tank: "),
        ("tank.volume", 'low = "30 L"', "give low and high, or shape = 'exact'"),
        ("tank.volume", 'shape = "exact"\nlow = "30 L"', "give neither low nor high"),
        ("tank.volume", 'low = "30 L"\nhigh = "40 L"\nshape = "square"', "'uniform'"),
        ("tank.volume", 'low = "30 L"\nhigh = "40 L"\nmode = "35 L"', "no such key"),
    ],
)
def test_what_cannot_be_used_is_refused_in_words(key, body, words):
    with pytest.raises(ScenarioError, match=words) as told:
        read(key, body)
    assert str(told.value).startswith("car.toml:")


def test_each_wrong_entry_is_told_at_once_with_its_line():
    head, legs = TEXT.split("[[leg]]", 1)
    text = (f'{head}[doubt."tank.volumes"]\nlow = "1 L"\nhigh = "2 L"\n'
            f'[doubt."engine.heat_share"]\nlow = 0.9\nhigh = 0.8\n[[leg]]{legs}')
    with pytest.raises(ScenarioError) as told:
        from_text(text, "car.toml")
    first, second = told.value.problems
    lines = text.split("\n")
    assert lines[first.line - 1] == '[doubt."tank.volumes"]'
    assert lines[second.line - 1] == '[doubt."engine.heat_share"]'


def test_an_end_set_from_outside_is_named_as_it_was_given():
    with pytest.raises(ScenarioError, match="given --set doubt") as told:
        read("engine.heat_share", "low = 0.6\nhigh = 0.9", 'doubt."engine.heat_share".low=3')
    assert told.value.problems[0].line is None


def test_one_input_takes_one_range():
    head, legs = TEXT.split("[[leg]]", 1)
    body = 'low = "3000 m"\nhigh = "3400 m"\n'
    text = (f'{head}[doubt."leg[pass].distance"]\n{body}[doubt."leg[0].distance"]\n{body}'
            f"[[leg]]{legs}")
    with pytest.raises(ScenarioError, match=r"leg\[0\]\.distance has a range already"):
        from_text(text, "car.toml")


def test_every_listed_key_is_a_quantity_of_the_scenario(scenario_with):
    scenario = scenario_with("plate")
    keys = held_values(scenario)
    assert "tank.volume" in keys
    assert "loop.return.bore" in keys
    assert "exchanger.plate.width" in keys
    assert all(quantity_of(Scenario, key) and placed(scenario, key) == key for key in keys)
