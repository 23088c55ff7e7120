"""Times of the build sheet: least run-on of the pumps, longest idle before the pass."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np

from thermo.answers import Answer
from thermo.cooling_run import Solved
from thermo.errors import SoakboxError
from thermo.figures import equalised, moments
from thermo.inputs.event import Leg
from thermo.scenario import Scenario
from thermo.size_search import SCAN, Search, seek
from thermo.trial import Trials

RUN_ON_LIMIT = 600.0
"""Longest run-on looked at [s]."""


def time_answers(scenario: Scenario, trials: Trials) -> list[Answer]:
    """Return how long both pumps must run after the finish, and how long may be idled before.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials
        Settled on the scenario.

    Returns
    -------
    list of Answer
    """
    return [_run_on(scenario, trials), _idle(scenario, trials)]


def _run_on(scenario: Scenario, trials: Trials) -> Answer:
    """Least time both pumps must run after the finish."""
    number = _hottest_pass(scenario, trials)
    tail = Leg.model_construct(
        **{
            **{n: f.get_default() for n, f in Leg.model_fields.items() if n != "kind"},
            "kind": "soak",
            "name": "run-on",
            "duration": RUN_ON_LIMIT,
            "tank_pump": True,
            "coolant_pump": True,
            # A pump on the crank turns only with the engine: it has to idle.
            "engine": "idle" if scenario.coolant.drive == "crank" else None,
        }
    )
    variant = scenario.model_copy(update={"leg": (*scenario.leg[: number + 1], tail)})
    make = partial(
        Answer,
        name="run-on",
        title="least run-on of both pumps",
        kind="time",
        key="",
        group="cooling",
        now=None,
    )
    found: list[Answer] = []
    for mixing in trials.mixings or ("",):
        try:
            solved = trials.solve(variant, mixing)
        except SoakboxError as error:
            return make(value=None, binding="", note=f"not found: {error}")
        found.append(_run_on_of(scenario, variant, solved, make))
        if found[-1].value is None:
            return found[-1]
    return max(found, key=lambda a: a.value or 0.0)


def _hottest_pass(scenario: Scenario, trials: Trials) -> int:
    """Return the full-power leg at whose finish a stop would be hottest."""
    passes = [i for i, leg in enumerate(scenario.leg) if leg.kind == "full-power"]
    try:
        solved = trials.solve(scenario)
    except SoakboxError:
        return passes[0]
    history = solved.told.history
    shared = equalised(solved.cooling.design, history)
    finishes = moments(scenario, history).finishes
    if not finishes:
        return passes[0]
    return int(history.leg[max(finishes, key=lambda i: float(shared[i]))])


def _run_on_of(
    scenario: Scenario, variant: Scenario, solved: Solved, make: Callable[..., Answer]
) -> Answer:
    """Return the least run-on of one way of mixing."""
    history = solved.told.history
    finish = moments(variant, history).finishes[-1]
    margin = history.boil_temperature - equalised(solved.cooling.design, history)
    wanted = scenario.limits.caution_margin
    good = np.flatnonzero(margin[finish:] >= wanted)
    if len(good) == 0:
        return make(
            value=None,
            binding="after-boil margin",
            best=float(margin.max()),
            note=f"none within {RUN_ON_LIMIT:.0f} s: the tank itself is too hot; best "
            f"margin {float(margin[finish:].max()):.1f} K",
        )
    i = finish + int(good[0])
    if i == finish:
        return make(
            value=0.0,
            binding="",
            note=f"none needed: stopped at the finish the margin is {float(margin[finish]):.1f} K",
        )
    share = (wanted - margin[i - 1]) / (margin[i] - margin[i - 1])
    time = history.time[i - 1] + share * (history.time[i] - history.time[i - 1])
    note = (
        ""
        if scenario.coolant.drive == "electric"
        else "the coolant pump is crank-driven: the engine idles meanwhile, and its heat is counted"
    )
    return make(value=float(time - history.time[finish]), binding="after-boil margin", note=note)


def _idle(scenario: Scenario, trials: Trials) -> Answer:
    """Longest idling with both pumps on just before the pass."""
    number = scenario.first_pass

    def idling(x: float) -> Scenario:
        leg = Leg.model_construct(
            **{
                **{n: f.get_default() for n, f in Leg.model_fields.items() if n != "kind"},
                "kind": "warm-up",
                "name": "idle before the pass",
                "duration": x,
            }
        )
        legs = (*scenario.leg[:number], leg, *scenario.leg[number:])
        return scenario.model_copy(update={"leg": legs})

    points = [1.0, *(float(x) for x in np.geomspace(60.0, 3600.0, SCAN - 1))]
    return seek(
        trials,
        Search("idle-time", "longest idle before the pass", "time", "", "less", None),
        points,
        idling,
    )
