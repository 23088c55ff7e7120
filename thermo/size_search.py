"""How one size of the build sheet is sought: by the tightest limit, however the tank mixes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, partial
from typing import Literal

import numpy as np

from thermo.answer_scan import OUT_OF_RANGE, scan_answer
from thermo.answers import Answer
from thermo.scenario import Scenario
from thermo.trial import MISSED, Trials, least_of

SCAN = 7
"""Points of the scan before bracketing: crossings closer together than its step are missed."""


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


def geometric(low: float, high: float) -> list[float]:
    """Return the points of a scan, each as many times the one before."""
    return [float(x) for x in np.geomspace(low, high, SCAN)]


def linear(low: float, high: float) -> list[float]:
    """Return the points of a scan, as far apart one as the other."""
    return [float(x) for x in np.linspace(low, high, SCAN)]


def seek(
    trials: Trials,
    search: Search,
    points: list[float],
    variant: Callable[[float], Scenario],
    keep: frozenset[str] = frozenset(),
) -> Answer:
    """Seek one size by the tightest of all limits, for the worst way in which the tank may mix.

    Parameters
    ----------
    trials : Trials
        Settled on the plan.
    search : Search
    points : list of float
        Rising sizes of the scan [SI].
    variant : callable
        From a size to the scenario that has it.
    keep : frozenset of str
        Limits to keep though the plan breaks them.

    Returns
    -------
    Answer
    """

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
