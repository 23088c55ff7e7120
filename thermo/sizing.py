"""The build sheet: every size, each with the limit that binds it."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

from thermo.answers import Answer, Sheet
from thermo.headspace import NO_RELIEF
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.sizing_cooling import cooling_answers
from thermo.sizing_day import day_answers
from thermo.sizing_intake import intake_answers
from thermo.sizing_times import time_answers
from thermo.stock import STOCK, StockTube
from thermo.trial import CAREFUL, LOST_PUMP, RETURN_BOILS, SUCTION, Trials, shut_limit

KEPT = frozenset({
    "coolant-boil", "after-boil", "relief-lift", "hydraulic-lock", "intake-mach", "intake-choke",
    "audit",
})
"""Hazards that sizes keep clear of whatever the plan does now."""


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
        partial(time_answers, scenario, trials),
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
    return Sheet(
        scenario.limits.caution_margin,
        tuple(answers),
        mixing,
        _not_kept(result, trials),
        _pressure_kept(scenario),
    )


def _pressure_kept(scenario: Scenario) -> str:
    """Return under what the tank's pressure is kept, in words."""
    tank = scenario.tank
    if tank.closure in ("vented", "overflow-bottle"):
        return ""
    name, limit = shut_limit(tank)
    if tank.closure in NO_RELIEF:
        return f"the {float(limit) / 1e3:.3g} kPa that one without relief may see"
    return name


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
