"""Sizes against sizes: ends that must agree with the solved event and with the build sheet."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from thermo.answer_scan import scan_answer
from thermo.curves import (
    ICE_FITS,
    RUN_SCALES,
    net_against_size,
    smallest_tank,
    tank_against_run,
)
from thermo.event import solve
from thermo.scenario import Scenario, with_value
from thermo.scenario_io import read_scenario
from thermo.sizing_intake import intake_answers
from thermo.trial import Trials

FOLDER = Path(__file__).parents[2] / "scenarios"


@cache
def scenario(name: str) -> Scenario:
    return read_scenario(FOLDER / f"{name}.toml").scenario


@pytest.mark.parametrize("name", ["base", "hot_day", "long_course", "second_pass"])
def test_the_duct_as_it_is_gives_the_net_gain_of_the_event(name: str) -> None:
    one = scenario(name)
    curve = net_against_size(one, Trials(), (0.8, 1.0, 1.25))
    duct = solve(one).intake
    assert curve is not None
    assert duct is not None
    assert curve.net[1] == pytest.approx(duct.net_Pa, abs=0.5)
    assert curve.speed == duct.speed_m_per_s
    assert curve.gain == pytest.approx(duct.ram_gain_Pa, rel=1e-12)
    assert curve.sizes[1] == curve.now


@pytest.mark.parametrize("name", ["base", "hot_day", "overreach", "ice"])
def test_a_larger_duct_gains_more_and_never_more_than_the_nose(name: str) -> None:
    curve = net_against_size(scenario(name), Trials())
    assert curve is not None
    solved = [x for x in curve.net if math.isfinite(x)]
    assert len(solved) >= 10
    assert all(a < b for a, b in pairwise(solved))
    assert max(solved) < curve.gain


def test_a_duct_that_chokes_has_no_net_gain_and_neither_have_smaller_ones() -> None:
    curve = net_against_size(scenario("overreach"), Trials(), (0.4, 0.5, 1.0))
    assert curve is not None
    assert math.isnan(curve.net[0])
    assert math.isnan(curve.net[1])
    assert curve.mach[:2] == (1.0, 1.0)
    assert math.isfinite(curve.net[2])


def test_the_duct_that_keeps_the_wanted_share_is_the_sheets_smallest() -> None:
    one, trials = scenario("hot_day"), Trials()
    answer = intake_answers(one, trials, solve(one))[0]
    assert answer.value is not None
    assert answer.now is not None
    curve = net_against_size(one, trials, (answer.value / answer.now,))
    assert curve is not None
    assert curve.key == answer.key
    assert curve.net[0] == pytest.approx(curve.wanted, abs=0.05)


def test_no_duct_no_curve() -> None:
    assert net_against_size(with_value(scenario("base"), "intake", None), Trials()) is None


@pytest.mark.parametrize("name", ["base", "hot_day", "second_pass"])
def test_the_tank_for_todays_run_is_the_smallest_that_the_sheets_search_finds(name: str) -> None:
    one, trials = scenario(name), Trials()
    curve = tank_against_run(one, trials, (1.0,))
    now = one.tank.volume
    sheet = scan_answer(
        lambda v: trials.slacks(with_value(one, "tank.volume", v)),
        [now * x for x in (0.2, 0.5, 0.8, 1.0, 1.5, 3.0)],
        name="tank-volume",
        title="smallest tank",
        kind="volume",
        key="tank.volume",
        better="more",
        now=now,
        group="cooling",
    )
    assert curve.volumes[0] == pytest.approx(sheet.value, rel=2e-3)
    assert curve.binding[0] == sheet.binding
    assert curve.run_now == curve.runs[0]


def test_a_longer_run_wants_a_larger_tank() -> None:
    curve = tank_against_run(scenario("hot_day"), Trials())
    assert len(curve.runs) == len(RUN_SCALES)
    assert all(a < b for a, b in pairwise(curve.volumes))
    assert set(curve.binding) <= {"nine tenths of the relief's setting", "boil margin"}
    assert curve.kind == "length"
    assert curve.key == "leg[0].distance"


def test_the_tank_found_keeps_every_limit_and_a_little_less_does_not() -> None:
    one, trials = scenario("hot_day"), Trials()
    volume, limit = smallest_tank(one, trials)
    more = trials.slacks(with_value(one, "tank.volume", volume * 1.01))
    less = trials.slacks(with_value(one, "tank.volume", volume * 0.99))
    assert min(more.values()) > 0.0
    assert less[limit] < 0.0


def test_where_no_tank_helps_the_limit_that_is_missed_is_named() -> None:
    volume, limit = smallest_tank(scenario("overreach"), Trials())
    assert math.isnan(volume)
    assert limit == "pressure with no relief"


def test_a_tank_is_never_smaller_than_its_ice() -> None:
    one = scenario("ice")
    volume, limit = smallest_tank(one, Trials())
    assert limit == ICE_FITS
    assert volume * one.tank.fill * 0.95 * 916.72 == pytest.approx(one.tank.ice_mass)


def test_a_run_by_time_is_varied_by_time() -> None:
    one = with_value(scenario("base"), "leg.0.distance", None)
    one = with_value(one, "leg.0.duration", 40.0)
    curve = tank_against_run(one, Trials(), (0.5, 1.0))
    assert curve.kind == "time"
    assert curve.key == "leg[0].duration"
    assert curve.runs == (20.0, 40.0)
    assert curve.volumes[0] < curve.volumes[1]
