"""The build sheet: every size, each with the limit that binds it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, partial
from typing import Any, Literal

import numpy as np

from thermo.answers import OUT_OF_RANGE, Answer, Setting, Sheet, scan_answer
from thermo.cooling import peak_power
from thermo.errors import SoakboxError
from thermo.event import Solved
from thermo.figures import equalised, moments
from thermo.inputs.event import Leg
from thermo.inputs.loops import Exchanger
from thermo.inputs.tank import LEAST_WIDTH, MOST_WIDTH
from thermo.results import EventResult
from thermo.scenario import Scenario, with_value
from thermo.sizing_intake import intake_answers
from thermo.stock import STOCK, StockTube
from thermo.trial import (
    CAREFUL,
    COOLANT_FLOW,
    ENGINE_RISE,
    LOST_PUMP,
    MISSED,
    RETURN_BOILS,
    SUCTION,
    Trials,
    least_of,
)
from thermo.units import format_number

SCAN = 7
"""Points of the scan before bracketing: crossings closer together than its step are missed."""

HOTTEST_DAY = 333.15
"""Hottest air looked at [K]: the upper end of what a scenario may state."""

RUN_ON_LIMIT = 600.0
"""Longest run-on looked at [s]."""


@dataclass(frozen=True, slots=True)
class Search:
    """How one size is sought.

    Attributes
    ----------
    name, title, kind, key : str
        Of the answer; `key` empty where no single input holds it.
    better : {'more', 'less'}
        Whether more of it is safer; the answer is the least, or the most, that holds.
    now : float or None
        What the scenario has.
    """

    name: str
    title: str
    kind: str
    key: str
    better: Literal["more", "less"]
    now: float | None
    group: str = "cooling"


def _pass_number(scenario: Scenario) -> int:
    return next(i for i, leg in enumerate(scenario.leg) if leg.kind == "full-power")


def _geometric(low: float, high: float) -> list[float]:
    return [float(x) for x in np.geomspace(low, high, SCAN)]


def _linear(low: float, high: float) -> list[float]:
    return [float(x) for x in np.linspace(low, high, SCAN)]


def _one(
    trials: Trials,
    search: Search,
    points: list[float],
    variant: Callable[[float], Scenario],
    keep: frozenset[str] = frozenset(),
) -> Answer:
    """Seek one size by the tightest of all limits, for the worst way in which the tank may mix."""

    variant = cache(variant)  # one scenario a size: drive and duct are found once for all mixings
    known: dict[tuple[str, float], dict[str, float]] = {}

    def left(x: float, mixing: str) -> dict[str, float]:
        if (mixing, x) not in known:
            known[mixing, x] = trials.slacks_mixed(variant(x), mixing, keep)
        return known[mixing, x]

    def worst(x: float) -> dict[str, float]:
        return least_of([left(x, m) for m in trials.mixings])

    def sought(slacks: Callable[[float], dict[str, float]]) -> Answer:
        return scan_answer(
            slacks,
            points,
            name=search.name,
            title=search.title,
            kind=search.kind,
            key=search.key,
            better=search.better,
            now=search.now,
            group=search.group,
            alone=partial(left, mixing=trials.boils) if trials.boils != trials.lead else None,
        )

    def through(x: float, mixing: str) -> dict[str, float]:
        # Where one way of mixing is known to fail there is no need to ask another.
        failed = (known[m, x] for m in trials.mixings if (m, x) in known)
        return next((t for t in failed if min(t.values()) < 0.0), None) or left(x, mixing)

    answer = sought(partial(through, mixing=trials.lead))
    for _ in trials.mixings[1:]:
        if answer.value is None or min(worst(answer.value).values()) >= -MISSED:
            break
        at = answer.value
        way = min(trials.mixings, key=lambda m: min(left(at, m).values()))
        answer = sought(partial(through, mixing=way))
    if answer.value is not None and min(worst(answer.value).values()) < -MISSED:
        answer = sought(worst)
    if answer.binding == OUT_OF_RANGE:
        words = f"what lies beyond is refused: {trials.why}"
        answer = replace(answer, note="; ".join(w for w in (answer.note, words) if w))
    return answer


def _told_by_ua(table: Exchanger) -> bool:
    """Whether ``exchanger.ua`` can be set: nothing else describes the exchanger."""
    described = table.rated is not None or table.double_pipe is not None or table.plate is not None
    return not described and table.ua_scale == 1.0


def tank_range(scenario: Scenario) -> tuple[float, float]:
    """Return the volumes looked at [m3]; a box of given sides keeps a width that is accepted."""
    tank = scenario.tank
    low, high = tank.volume / 8, tank.volume * 8
    if tank.length is not None and tank.height is not None:
        side = tank.length * tank.height
        low, high = max(low, 1.001 * LEAST_WIDTH * side), min(high, 0.999 * MOST_WIDTH * side)
    return low, high


def cooling_answers(scenario: Scenario, trials: Trials) -> list[Answer]:
    """Return the sizes of tank, run, exchanger, flow, line, fill and ice."""
    tank, loop = scenario.tank, scenario.loop
    number = _pass_number(scenario)
    leg = scenario.leg[number]
    by = "distance" if leg.distance is not None else "duration"
    length = float(leg.distance or leg.duration or 1.0)
    ua = _conductance_now(scenario, trials)
    flow = _flow_now(scenario, trials)

    def fitted(x: float) -> Scenario:
        table = Exchanger.model_construct(
            **{
                **{n: getattr(scenario.exchanger, n) for n in Exchanger.model_fields},
                "ua": x,
                "ua_scale": 1.0,
                "rated": None,
                "double_pipe": None,
                "plate": None,
            }
        )
        return scenario.model_copy(update={"exchanger": table})

    def flowing(x: float) -> Scenario:
        return scenario.model_copy(
            update={"loop": loop.model_copy(update={"flow": x, "pump": None})}
        )

    answers = [
        _one(
            trials,
            Search("tank-volume", "smallest tank", "volume", "tank.volume", "more", tank.volume),
            _geometric(*tank_range(scenario)),
            lambda x: with_value(scenario, "tank.volume", x),
        ),
        _one(
            trials,
            Search(
                f"run-{by}",
                f"longest pass, by {by}",
                "length" if by == "distance" else "time",
                f"leg[{number}].{by}",
                "less",
                length,
            ),
            _geometric(max(length / 5, leg.timed_to or 0.0), length * 5),
            lambda x: with_value(scenario, f"leg.{number}.{by}", x),
        ),
        _one(
            trials,
            Search(
                "exchanger-ua",
                "least exchanger conductance",
                "conductance",
                "exchanger.ua" if _told_by_ua(scenario.exchanger) else "",
                "more",
                ua,
            ),
            _geometric(ua / 12, ua * 6),
            fitted,
        ),
        _one(
            trials,
            Search("tank-flow", "least tank flow", "volume_flow", "loop.flow", "more", flow),
            _geometric(flow / 6, flow * 4),
            flowing,
        ),
    ]
    if loop.pump is not None and loop.flow is None:
        answers.append(_line_bore(scenario, trials))
    answers.append(_coolant_flow(scenario, trials))
    answers.append(_fill(scenario, trials))
    if tank.glycol == "none":
        answers.append(_ice(scenario, trials))
    answers.append(_run_on(scenario, trials))
    answers.append(_idle(scenario, trials))
    return answers


def _conductance_now(scenario: Scenario, trials: Trials) -> float:
    try:
        history = trials.solve(scenario).told.history
    except SoakboxError:
        return 28e-3 * float(peak_power(scenario.engine))
    return max(float(history.ua[int(np.argmax(history.exchanger_heat))]), 1.0)


def _flow_now(scenario: Scenario, trials: Trials) -> float:
    try:
        flow = float(trials.solve(scenario).cooling.cold_flow.flow)
    except SoakboxError:
        flow = 0.0
    return max(flow, 1e-5)


def _line_bore(scenario: Scenario, trials: Trials) -> Answer:
    """Smallest bore of both tank lines, the pump's curve setting the flow."""
    loop = scenario.loop

    def bored(x: float) -> Scenario:
        lines = {
            "supply": loop.supply.model_copy(update={"bore": x}),
            "return_": loop.return_.model_copy(update={"bore": x}),
        }
        return scenario.model_copy(update={"loop": loop.model_copy(update=lines)})

    now = loop.supply.bore
    return _one(
        trials,
        Search(
            "line-bore",
            "smallest bore of both lines",
            "length",
            "loop.supply.bore, loop.return.bore",
            "more",
            now,
        ),
        _geometric(max(now / 4, 0.006), now * 2.5),
        bored,
    )


def _coolant_flow(scenario: Scenario, trials: Trials) -> Answer:
    """Least flow of coolant through the engine."""
    coolant = scenario.coolant
    try:
        now = float(trials.solve(scenario).cooling.full_hot_flow)
    except SoakboxError:
        now = 0.0
    per_power = float(peak_power(scenario.engine)) / 1e3 / 60e3

    def flowing(x: float) -> Scenario:
        return scenario.model_copy(
            update={"coolant": coolant.model_copy(update={"flow": x, "pump": None})}
        )

    return _one(
        trials,
        Search(
            "coolant-flow", "least coolant flow", "volume_flow", "coolant.flow", "more",
            now if now > 0.0 else None,
        ),
        _geometric(0.2 * per_power, max(4.0 * per_power, 1.5 * now)),
        flowing,
        frozenset((COOLANT_FLOW, ENGINE_RISE)),
    )


def _fill(scenario: Scenario, trials: Trials) -> Answer:
    """Range of fill that holds: more water cools, less gas bursts."""
    return _one(
        trials,
        Search("tank-fill", "highest fill", "fraction", "tank.fill", "less", scenario.tank.fill),
        [float(x) for x in np.linspace(0.35, 0.99, SCAN + 2)],
        lambda x: with_value(scenario, "tank.fill", x),
    )


def _ice(scenario: Scenario, trials: Trials) -> Answer:
    """Least ice in the tank at the start, in place of as much water."""
    tank = scenario.tank
    most = 0.8 * tank.fill * tank.volume * 916.7
    return _one(
        trials,
        Search(
            "ice-mass", "least ice at the start", "mass", "tank.ice_mass", "more", tank.ice_mass
        ),
        _linear(0.0, most),
        lambda x: with_value(scenario, "tank.ice_mass", x),
    )


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
    number = _pass_number(scenario)

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
    return _one(
        trials,
        Search("idle-time", "longest idle before the pass", "time", "", "less", None),
        points,
        idling,
    )


def day_answers(scenario: Scenario, trials: Trials) -> list[Answer]:
    """Return the hottest air and the hottest tank start that the plan survives."""
    tank, air = scenario.tank, scenario.site.air_temperature
    warmest = 368.15

    def started(x: float) -> Scenario:
        return with_value(scenario, "tank.start_temperature", x)

    low = max(tank.start_temperature - 25.0, 274.15)
    offset = tank.start_temperature - air

    # Humidity follows the air as it is given: a relative humidity stays, and a dew point stays,
    # so that air cooler than that is no day at all and is not looked at.
    dew = scenario.site.dew_point
    damp = 0.0 if dew is None else dew + 0.01

    def day(x: float) -> Scenario:
        warm = with_value(scenario, "site.air_temperature", x)
        return started_from(warm, x + offset)

    def started_from(one: Scenario, x: float) -> Scenario:
        return with_value(one, "tank.start_temperature", x)

    hottest = _one(
        trials,
        Search(
            "hottest-air",
            "hottest air, tank water with it",
            "temperature",
            "site.air_temperature",
            "less",
            air,
            "day",
        ),
        _linear(max(air - 25.0, 274.15 - min(offset, 0.0), 253.15, damp), HOTTEST_DAY),
        day,
    )
    if hottest.value is not None:
        both = Setting("tank.start_temperature", hottest.value + offset, "temperature", "less")
        hottest = replace(
            hottest,
            put=(*hottest.put, both),
            note=(
                f"the tank starts {format_number(abs(offset), 3)} K "
                f"{'below' if offset < 0.0 else 'above'} the air, as now; the "
                f"{'relative humidity' if dew is None else 'dew point'} stays; {hottest.note}"
                .rstrip("; ")
            ),
        )
    return [
        hottest,
        _one(
            trials,
            Search(
                "hottest-tank-start",
                "hottest tank start",
                "temperature",
                "tank.start_temperature",
                "less",
                tank.start_temperature,
                "day",
            ),
            _linear(low, warmest),
            started,
        ),
    ]


def build_sheet(
    scenario: Scenario,
    result: EventResult,
    stock: tuple[StockTube, ...] = STOCK,
    *,
    trials: Trials | None = None,
    progress: Callable[[int, int], object] | None = None,
) -> Sheet:
    """Find every size for one event.

    Parameters
    ----------
    scenario : Scenario
    result : EventResult
        The event as it stands.
    stock : tuple of StockTube
        Tubes that the duct may be made of.
    trials : Trials, optional
        Variants that are known already.
    progress : callable, optional
        Is told how many of the groups of questions are answered, and of how many.

    Returns
    -------
    Sheet
        One answer a question, each with the limit that binds it or why there is none.
    """
    trials = Trials() if trials is None else trials
    trials.settle(scenario)
    asked: list[Callable[[], list[Answer]]] = [
        partial(cooling_answers, scenario, trials),
        partial(day_answers, scenario, trials),
    ]
    if scenario.intake is not None:
        asked.append(partial(intake_answers, scenario, trials, result, stock))
    answers: list[Answer] = []
    for number, questions in enumerate(asked):
        if progress is not None:
            progress(number, len(asked))
        answers.extend(questions())
    mixing = trials.lead if len(trials.mixings) > 1 else ""
    return Sheet(scenario.limits.caution_margin, tuple(answers), mixing, _not_kept(result, trials))


KEPT = frozenset({
    "coolant-boil", "after-boil", "relief-lift", "hydraulic-lock", "intake-mach", "intake-choke",
    "audit",
})
"""Hazards that sizes keep clear of whatever the plan does now."""


def _not_kept(result: EventResult, trials: Trials) -> tuple[str, ...]:
    """Return the hazards that are up in the plan as it stands and that no size aims to clear."""
    up = [f.name for f in result.flags if f.level != "clear" and f.name not in KEPT]
    hidden = {LOST_PUMP: "flow-lost", SUCTION: "cavitation", RETURN_BOILS: "range"}
    more = [hidden[name] for name in CAREFUL if name in trials.unkept and name in hidden]
    return tuple(dict.fromkeys((*up, *more)))


def sheet_to_json(result: EventResult, sheet: Sheet) -> dict[str, Any]:
    """Return the build sheet in the form of ``soakbox size --json``.

    Parameters
    ----------
    result : EventResult
    sheet : Sheet

    Returns
    -------
    dict
        JSON-ready; values are SI, null where there is none.
    """

    def plain(x: float | None) -> float | None:
        return None if x is None or not math.isfinite(x) else x

    return {
        "schema": 1,
        "scenario": result.title,
        "verdict": result.verdict,
        "margin_K": sheet.margin,
        "worst_mixing": sheet.mixing or None,
        "not_kept": list(sheet.not_kept),
        "sizes": [
            {
                "name": a.name,
                "title": a.title,
                "group": a.group,
                "kind": a.kind,
                "key": a.key,
                "value_si": plain(a.value),
                "now_si": plain(a.now),
                "binding": a.binding,
                "note": a.note,
                "set": [f"{k}={text}" for k, text in a.settings],
                "crossings_si": [plain(x) for x in a.crossings],
                "holds_si": [[plain(low), plain(high)] for low, high in a.holds],
                "best": plain(a.best),
            }
            for a in sheet.answers
        ],
    }
