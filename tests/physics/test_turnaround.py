"""Turnaround: each answer put back sits on its limit; more swap never needs more ice."""

import math
from itertools import pairwise
from pathlib import Path

import pytest

from thermo.answer_scan import OUT_OF_RANGE
from thermo.scenario_io import read_scenario
from thermo.trial import FAR, Trials
from thermo.turnaround import (
    Turnaround,
    _mix,
    later_slacks,
    serviced,
    to_json,
    turnaround,
    with_second_pass,
)
from tui.text_sizes import turnaround_text

SCENARIOS = Path(__file__).parents[2] / "scenarios"


@pytest.fixture(scope="module")
def second_pass():
    return read_scenario(SCENARIOS / "second_pass.toml").scenario


@pytest.fixture(scope="module")
def plan(second_pass):
    return turnaround(second_pass)


def slack(scenario, service):
    return min(later_slacks(scenario, Trials().solve(scenario), service).values())


def test_a_wait_that_never_brings_the_peak_under_where_check_warns_is_no_answer(second_pass, plan):
    # At the relief's setting itself 6 h would do; `check` warns from nine tenths of it on.
    answer = next(a for a in plan.answers if a.name == "wait")
    assert answer.value is None
    assert answer.binding == "nine tenths of the relief's setting"
    assert "For the boil margin alone" in answer.note
    alone = serviced(second_pass, plan.service, swap=0.0, ice=0.0)
    longest = serviced(alone, plan.service, wait=6 * 3600.0)
    assert slack(longest, plan.service) == pytest.approx(answer.best, abs=1e-6)


@pytest.mark.parametrize("name", ["swap", "ice"])
def test_each_answer_put_back_sits_on_its_limit(second_pass, plan, name):
    answer = next(a for a in plan.answers if a.name == name)
    alone = serviced(second_pass, plan.service, swap=0.0, ice=0.0)
    back = serviced(alone, plan.service, **{name: answer.value})
    # within 0.1 K, or 10 Pa, which is 0.01 of the weighted slack
    tolerance = 0.1 if "margin" in answer.binding else 0.01
    assert abs(slack(back, plan.service)) < tolerance
    # and short of it the limit is broken
    less = serviced(alone, plan.service, **{name: 0.9 * answer.value})
    assert slack(less, plan.service) < 0.0


def test_settings_read_back_give_the_answer(second_pass, plan):
    answer = next(a for a in plan.answers if a.name == "ice")
    overrides = tuple(f"{key}={text}" for key, text in answer.settings)
    back = read_scenario(SCENARIOS / "second_pass.toml", overrides).scenario
    assert back.leg[plan.service].swap_fraction == 0.0
    assert back.leg[plan.service].ice_mass >= answer.value
    assert back.leg[plan.service].ice_mass == pytest.approx(answer.value, rel=2e-5)
    assert abs(slack(back, plan.service)) < 0.1


def test_more_water_swapped_never_needs_more_ice(plan):
    ice = [m.ice for m in plan.mixes]
    assert all(b <= a + 1e-6 for a, b in pairwise(ice))
    assert ice[0] == pytest.approx(next(a for a in plan.answers if a.name == "ice").value, rel=1e-4)


def test_a_scenario_with_one_pass_gets_the_same_pass_again():
    base = read_scenario(SCENARIOS / "base.toml").scenario
    event, service, made_up = with_second_pass(base)
    assert made_up
    assert event.leg[service].kind == "service"
    assert event.leg[service + 1 :] == base.leg
    assert turnaround(base).margin_as_planned > 10.0


def test_none_in_range_says_why():
    hot = read_scenario(SCENARIOS / "hot_day.toml").scenario
    found = turnaround(hot)
    wait = next(a for a in found.answers if a.name == "wait")
    # the air is hotter than the margin allows: no wait cools the tank enough
    assert wait.value is None
    assert "missed by" in wait.note


def test_a_mix_that_the_model_does_not_follow_has_no_margin(second_pass):
    out = {OUT_OF_RANGE: FAR}
    mix = _mix(lambda _: out, second_pass, 3, 0.5, [0.0, 1.0])
    assert mix.ice is None
    assert math.isnan(mix.margin)
    plan = Turnaround(False, 3, math.nan, (), (mix,))
    told = turnaround_text("two passes", plan, "us")
    assert "none fits             -  " in told
    assert "as it stands: not reached." in told
    assert to_json("two passes", plan)["mixes"][0]["boil_margin_K"] is None
