"""Defaults left standing: which, in which order, and what they do to the binding margin."""

from __future__ import annotations

import json
import math
from functools import cache
from pathlib import Path

import pytest

from thermo.assumptions import Assumption, Audit, assumptions_of, left_open, to_data
from thermo.event import solve
from thermo.scenario import Scenario, with_value
from thermo.scenario_io import read_scenario
from tui.text_assumptions import assumptions_text

ROOT = Path(__file__).parents[2]


@cache
def scenario(name: str, *overrides: str) -> Scenario:
    return read_scenario(ROOT / "scenarios" / f"{name}.toml", overrides).scenario


@cache
def audit(name: str, *overrides: str) -> Audit:
    one = scenario(name, *overrides)
    return assumptions_of(one, solve(one))


def named(scene: Scenario) -> dict[str, Assumption]:
    return {a.key: a for a in left_open(scene)}


def test_a_default_is_listed_until_the_file_sets_it():
    key = "engine.still_conductance"
    assert named(scenario("long_course"))[key].value == 0.25
    assert key not in named(scenario("long_course", f"{key}=0.25"))
    text = (ROOT / "scenarios" / "long_course.toml").read_text(encoding="utf-8")
    assert "heat_share" in text
    assert "engine.heat_share" not in named(scenario("long_course"))


def test_what_decides_nothing_is_not_listed():
    found = named(scenario("plate"))  # geometry and pump curves are given
    assert "exchanger.ua" not in found
    assert "loop.flow" not in found
    assert "tank.active_fraction" not in found


def test_every_assumption_has_a_source_and_the_strongest_stand_first():
    found = audit("long_course").assumptions
    assert len({a.key for a in found}) == len(found)
    assert all(a.source for a in found)
    moves = [a.moves for a in found if a.levels]
    assert moves == sorted(moves, reverse=True)
    assert len(moves) >= 4
    assert moves[0] > 1.0
    assert all(not a.levels for a in found[len(moves):])


@pytest.mark.parametrize("name", ["long_course", "second_pass"])
def test_the_effect_is_that_of_the_event_solved_alone(name):
    found = audit(name)
    for a in [a for a in found.assumptions if a.levels][:2]:
        for end, told, level in ((a.low, a.at_low, a.levels[0]), (a.high, a.at_high, a.levels[1])):
            alone = solve(with_value(scenario(name), a.key, end))
            flag = next(f for f in alone.flags if f.name == found.binding)
            assert abs(told) == pytest.approx(abs(flag.value - flag.limit), abs=0.05)
            assert level == alone.verdict


def test_the_margin_as_it_stands_lies_between_the_ends():
    found = audit("long_course")
    first = found.assumptions[0]
    low, high = sorted((first.at_low, first.at_high))
    assert low - 0.05 <= found.margin <= high + 0.05
    assert math.isfinite(found.margin)


@pytest.mark.parametrize("system", ["si", "us"])
def test_the_text_fits_in_either_system(system):
    text = assumptions_text(audit("long_course"), "a title", system)
    assert max(map(len, text.splitlines())) <= 80
    assert "engine.still_conductance = 25 % (10 % to 50 %): moves it by" in text
    assert "can kill" in text
    assert "25-1.7" not in text  # "25-44 mm" holds two figures
    assert (" mm" in text) is (system == "si")


def test_json_of_the_audit_is_plain():
    got = json.loads(json.dumps(to_data(audit("long_course")), allow_nan=False))
    assert got["binding"] == "leaking-cap"
    assert got["assumptions"][0]["levels"]
    assert got["assumptions"][-1]["moves"] is None


def test_the_command_lists_them(capsys, monkeypatch):
    import sys

    from tui.cli import run

    monkeypatch.setattr("thermo.assumptions.assumptions_of", lambda *_: audit("long_course"))
    file = str(ROOT / "scenarios" / "long_course.toml")
    for option, begins in (("--units=us", "Whimbrel"), ("--json", "{")):
        monkeypatch.setattr(sys, "argv", ["soakbox", "working", file, "assumptions", option])
        with pytest.raises(SystemExit) as end:
            run()
        assert end.value.code == 0
        assert capsys.readouterr().out.startswith(begins)
