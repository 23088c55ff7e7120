"""Between two passes: least water to swap, least ice, shortest wait, and mixes of the first two."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from thermo.answer_scan import OUT_OF_RANGE, scan_answer, tightest
from thermo.answers import Answer, Setting
from thermo.cooling_run import Solved, leaves_range
from thermo.errors import SoakboxError
from thermo.figures import equalised, moments
from thermo.ice import DENSITY
from thermo.inputs.event import Leg
from thermo.scenario import Scenario
from thermo.trial import BOIL, FAR, KELVIN, MOST_ICE, PASCAL, Trials, shut_limit

SERVICE = 900.0
"""Length of the service put between two passes when the scenario has none [s]."""

LONGEST_WAIT = 6 * 3600.0
"""Longest wait looked at [s]."""

SWAPS = (0.0, 0.25, 0.5, 0.75, 1.0)
"""Shares of water swapped for which the least ice is sought."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Least ice beside a share of water swapped.

    Attributes
    ----------
    swap : float
        Share swapped.
    ice : float or None
        Least ice [kg]; None where no amount that fits is enough.
    limit : str
        The limit that binds, or is missed.
    margin : float
        Boil margin of the second pass then [K]; not a number where the model does not follow it.
    """

    swap: float
    ice: float | None
    limit: str
    margin: float


@dataclass(frozen=True, slots=True)
class Turnaround:
    """What to do between two passes.

    Attributes
    ----------
    made_up : bool
        Whether the second pass was added: the scenario has only one.
    service : int
        Position of the service leg.
    margin_as_planned : float
        Boil margin of the second pass with the service as it stands [K]; not a number where the
        event ends before it.
    answers : tuple of Answer
        Least swap, least ice, shortest wait, each by itself.
    mixes : tuple of Mix
        The trade between water and ice.
    """

    made_up: bool
    service: int
    margin_as_planned: float
    answers: tuple[Answer, ...]
    mixes: tuple[Mix, ...]


def with_second_pass(scenario: Scenario) -> tuple[Scenario, int, bool]:
    """Return an event of two passes, where its service stands, and whether it was made up.

    Parameters
    ----------
    scenario : Scenario
        One with two passes and a service between them is taken as it is; otherwise the pass and
        what follows it are repeated behind a service of 15 minutes.

    Returns
    -------
    tuple of (Scenario, int, bool)
    """
    legs = scenario.leg
    passes = [i for i, leg in enumerate(legs) if leg.kind == "full-power"]
    if len(passes) > 1:
        between = [i for i in range(passes[0] + 1, passes[1]) if legs[i].kind == "service"]
        if between:
            return scenario, between[0], False
        where = passes[1]
        service = _service()
        return (
            scenario.model_copy(update={"leg": (*legs[:where], service, *legs[where:])}),
            where,
            False,
        )
    again = legs[passes[0] :]
    return scenario.model_copy(update={"leg": (*legs, _service(), *again)}), len(legs), True


def _service() -> Leg:
    return Leg.model_construct(
        **{
            **{n: f.get_default() for n, f in Leg.model_fields.items() if n != "kind"},
            "kind": "service",
            "name": "turnaround",
            "duration": SERVICE,
        }
    )


def serviced(
    scenario: Scenario,
    service: int,
    *,
    swap: float | None = None,
    ice: float | None = None,
    wait: float | None = None,
) -> Scenario:
    """Return an event with its service changed.

    Parameters
    ----------
    scenario : Scenario
    service : int
        Position of the service leg.
    swap, ice, wait : float, optional
        Share swapped, ice [kg] and duration [s]; what is not given stays.

    Returns
    -------
    Scenario
    """
    given = {"swap_fraction": swap, "ice_mass": ice, "duration": wait}
    leg = scenario.leg[service].model_copy(update={k: v for k, v in given.items() if v is not None})
    return scenario.model_copy(
        update={"leg": (*scenario.leg[:service], leg, *scenario.leg[service + 1 :])}
    )


def later_slacks(scenario: Scenario, solved: Solved, service: int) -> dict[str, float]:
    """Return what the event leaves of each limit after its service, weighted.

    Parameters
    ----------
    scenario : Scenario
    solved : Solved
    service : int
        Position of the service leg.

    Returns
    -------
    dict of str to float
        As in :func:`thermo.trial.slacks_of`, but the first pass does not count.
    """
    history, tank = solved.told.history, scenario.tank
    wanted = scenario.limits.caution_margin
    when = moments(scenario, history)
    later = history.leg > service
    if not bool(later.any()):
        return {OUT_OF_RANGE: FAR}
    working = when.working & later
    margin = history.boil_temperature - history.coolant - scenario.limits.hot_spot_allowance
    shared = history.boil_temperature - equalised(solved.cooling.design, history)
    stops = [i for i in when.stops if later[i]]
    out = {BOIL: KELVIN * (float(np.min(margin[working])) - wanted)}
    if stops:
        out["after-boil margin"] = KELVIN * (min(float(shared[i]) for i in stops) - wanted)
    if tank.closure not in ("vented", "overflow-bottle"):
        limit, setting = shut_limit(tank)
        peak = float(np.max(history.tank_pressure[later]))
        out[limit] = PASCAL * (setting - peak)
    if tank.barrier == "none":
        peak = float(np.max(history.tank_hot[later]))
        out["scald limit, tank"] = KELVIN * (scenario.limits.scald - peak)
    return out


def turnaround(scenario: Scenario) -> Turnaround:
    """Find what makes a second pass hold.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Turnaround
        Each answer by itself keeps the margins of the build sheet in everything after the
        service.

    Raises
    ------
    SoakboxError
        If the event cannot be solved as it stands.
    """
    event, service, made_up = with_second_pass(scenario)
    trials = Trials()

    def slacks(one: Scenario) -> dict[str, float]:
        try:
            solved = trials.solve(one)
        except SoakboxError:
            return {OUT_OF_RANGE: FAR}
        if leaves_range(solved):
            return {OUT_OF_RANGE: FAR}
        return later_slacks(one, solved, service)

    plain = serviced(event, service, swap=0.0, ice=0.0)
    now = event.leg[service]
    ices = _ices(event)
    key = f"leg[{service}]"
    answers = [
        _answer(
            lambda x: slacks(serviced(plain, service, swap=x)),
            [float(x) for x in np.linspace(0.0, 1.0, 7)],
            (
                "swap",
                "least water to swap, no ice",
                "fraction",
                f"{key}.swap_fraction",
                now.swap_fraction,
            ),
        ),
        *(
            []
            if event.tank.glycol != "none"
            else [
                _answer(
                    lambda x: slacks(serviced(plain, service, ice=x)),
                    ices,
                    ("ice", "least ice, no water swapped", "mass", f"{key}.ice_mass", now.ice_mass),
                )
            ]
        ),
        _answer(
            lambda x: slacks(serviced(plain, service, wait=x)),
            [float(x) for x in np.geomspace(60.0, LONGEST_WAIT, 7)],
            ("wait", "shortest wait, nothing swapped", "time", f"{key}.duration", now.duration),
        ),
    ]
    answers = [_settled(a, service, made_up) for a in answers]
    planned = trials.solve(event)
    margin = later_slacks(event, planned, service).get(BOIL, math.nan)
    mixes = (
        ()
        if event.tank.glycol != "none"
        else tuple(_mix(slacks, serviced(plain, service, swap=s), service, s, ices) for s in SWAPS)
    )
    return Turnaround(
        made_up, service, margin + scenario.limits.caution_margin, tuple(answers), mixes
    )


def _settled(answer: Answer, service: int, made_up: bool) -> Answer:
    """Return an answer with every setting it stands on; none where the service is made up."""
    if made_up or answer.value is None:
        return replace(answer, put=())
    zero = (
        Setting(f"leg[{service}].swap_fraction", 0.0, "fraction", "more"),
        Setting(f"leg[{service}].ice_mass", 0.0, "mass", "more"),
    )
    own = {s.key for s in answer.put}
    return replace(answer, put=(*(s for s in zero if s.key not in own), *answer.put))


def _ices(scenario: Scenario) -> list[float]:
    most = 0.9 * MOST_ICE * scenario.tank.fill * scenario.tank.volume * DENSITY
    return [float(x) for x in np.linspace(0.0, most, 7)]


def _answer(
    slacks: Callable[[float], dict[str, float]],
    points: list[float],
    told: tuple[str, str, str, str, float | None],
) -> Answer:
    name, title, kind, key, now = told
    return scan_answer(
        slacks,
        points,
        name=name,
        title=title,
        kind=kind,
        key=key,
        better="more",
        now=now,
        group="turnaround",
    )


def _mix(
    slacks: Callable[[Scenario], dict[str, float]],
    event: Scenario,
    service: int,
    swap: float,
    ices: list[float],
) -> Mix:
    """Return the least ice beside one share of water swapped."""
    answer = _answer(
        lambda x: slacks(serviced(event, service, ice=x)),
        ices,
        ("ice", "", "mass", f"leg[{service}].ice_mass", None),
    )
    at = slacks(serviced(event, service, ice=ices[-1] if answer.value is None else answer.value))
    margin = at.get(BOIL, math.nan) + event.limits.caution_margin
    limit = answer.binding or tightest(at)[0]
    return Mix(swap, answer.value, limit, margin)


def to_json(title: str, plan: Turnaround) -> dict[str, Any]:
    """Return the plan in the form of ``soakbox turnaround --json``.

    Parameters
    ----------
    title : str
    plan : Turnaround

    Returns
    -------
    dict
        JSON-ready; masses in kg, times in s.
    """
    return {
        "schema": 1,
        "scenario": title,
        "second_pass_added": plan.made_up,
        "service_leg": plan.service,
        "boil_margin_as_planned_K": _number(plan.margin_as_planned),
        "answers": [
            {
                "name": a.name,
                "value_si": a.value,
                "binding": a.binding,
                "note": a.note,
                "set": [f"{k}={text}" for k, text in a.settings],
            }
            for a in plan.answers
        ],
        "mixes": [
            {
                "swap_fraction": m.swap,
                "ice_kg": m.ice,
                "binding": m.limit,
                "boil_margin_K": _number(m.margin),
            }
            for m in plan.mixes
        ],
    }


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value
