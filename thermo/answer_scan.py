"""The scan and bracket that find a size at which every limit just holds."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import cache, partial

from thermo.answers import Answer, Better, bare_unit, settings_of, unit_told
from thermo.roots import CLOSE, Crossing, crossings, held_side
from thermo.units import convert, format_number

CLOSER = 6
"""Rounds in which the surroundings of the best point are looked at more closely."""

JUMP = 0.05
"""Slack at a size found above which the limit was not approached but met by a step."""

OUT_OF_RANGE = "the range over which the model holds"
"""What is missed, as a limit's name, where the model does not reach or the input is refused."""

Slacks = Callable[[float], dict[str, float]]
"""From a size to what it leaves of each limit, weighted; below zero the limit is broken."""


def tightest(slacks: dict[str, float]) -> tuple[str, float]:
    """Return the limit with the least slack, and that slack."""
    name = min(slacks, key=lambda k: slacks[k])
    return name, slacks[name]


def points_with(points: Sequence[float], now: float | None) -> list[float]:
    """Return the points of a scan, and what the scenario has where it lies between them."""
    inside = now is not None and points[0] < now < points[-1]
    return sorted({*points, now}) if inside and now is not None else list(points)


def scan_answer(
    slacks: Slacks,
    points: Sequence[float],
    *,
    name: str,
    title: str,
    kind: str,
    key: str,
    better: Better,
    now: float | None,
    group: str,
    alone: Slacks | None = None,
) -> Answer:
    """Seek the least, or the most, size at which every limit holds.

    Parameters
    ----------
    slacks : callable
        The slack of every limit at a size.
    points : sequence of float
        Rising sizes of the scan.
    name, title, kind, key, group : str
        Of the answer.
    better : {'more', 'less'}
        Whether more is safer: the answer is then the least that holds, else the most.
    now : float or None
        What the scenario has.
    alone : callable, optional
        The slacks by which the first limit alone is sought where not all can be met; those of
        the scan when not given.

    Returns
    -------
    Answer
        With every crossing that the scan brackets. Where all points hold, the end of the range
        is named; where none does, the best attainable, and the size that meets the first limit
        alone when there is one.
    """
    points = points_with(points, now)
    slacks = cache(slacks)
    tables = [slacks(x) for x in points]
    found = [tightest(t) for t in tables]
    if all(s < 0.0 for _, s in found):
        points, tables = _closer(slacks, points, tables)
        found = [tightest(t) for t in tables]
    slack = [s for _, s in found]
    make = partial(
        Answer, name=name, title=title, group=group, kind=kind, key=key, now=now, better=better
    )
    if all(s >= 0.0 for s in slack):
        edge, (limit, _) = (points[0], found[0]) if better == "more" else (points[-1], found[-1])
        return make(
            value=edge,
            binding="",
            put=settings_of(key, edge, kind, better),
            holds=((-math.inf, math.inf),),
            note=f"no limit binds {'down' if better == 'more' else 'up'} to here; "
            f"{limit} comes nearest",
        )
    if all(s < 0.0 for s in slack):
        limit, best, note = _nearest(points, found, kind)
        note += _alone(alone or slacks, None if alone else tables, points, better, kind)
        return make(value=None, binding=limit, best=best, note=note)
    all_at = _zeros(points, slack, lambda x: tightest(slacks(x))[1])
    holds = _spans(all_at, slack)
    value = _pick(holds, points, better, now)
    open_end = value in (points[0], points[-1]) and value not in {c.at for c in all_at}
    limit, left = tightest(slacks(value))
    note = f"no limit binds beyond; {limit} comes nearest" if open_end else ""
    if not open_end and left > JUMP:
        limit, note = _jump(slacks, value, better, left)
    return make(
        value=value,
        binding="" if open_end else limit,
        note=note,
        crossings=tuple(c.at for c in all_at),
        holds=holds,
        put=settings_of(key, value, kind, better),
    )


def _nearest(
    points: Sequence[float], found: Sequence[tuple[str, float]], kind: str
) -> tuple[str, float, str]:
    """Return the limit that is missed where none holds, its best slack, and that in words."""
    best = max(range(len(points)), key=lambda i: found[i][1])
    limit, slack = found[best]
    return limit, slack, (
        f"none from {_told(points[0], kind)} to {_told(points[-1], kind)}: "
        f"with all limits weighed together the nearest, where {limit} is missed by "
        f"{_missed(-slack, limit)}, is {_told(points[best], kind)}"
    )


def _closer(
    slacks: Slacks, points: Sequence[float], tables: list[dict[str, float]]
) -> tuple[list[float], list[dict[str, float]]]:
    """Add points about the best one, by thirds, so that a narrow good window is not missed."""
    xs, found = list(points), list(tables)
    for _ in range(CLOSER):
        best = max(range(len(xs)), key=lambda i: tightest(found[i])[1])
        if tightest(found[best])[1] >= 0.0:
            break
        for end in (best - 1, best + 1):
            if 0 <= end < len(xs):
                x = 0.5 * (xs[best] + xs[end])
                xs.append(x)
                found.append(slacks(x))
        order = sorted(range(len(xs)), key=lambda i: xs[i])
        xs, found = [xs[i] for i in order], [found[i] for i in order]
    return xs, found


def _jump(slacks: Slacks, value: float, better: Better, left: float) -> tuple[str, str]:
    """Return which limit breaks just beyond a size that holds with room to spare, and that."""
    step = 4.0 * CLOSE * abs(value)
    limit, beyond = tightest(slacks(value - step if better == "more" else value + step))
    if beyond >= -JUMP:
        return limit, ""
    missed = "" if limit == OUT_OF_RANGE else f": there it is missed by {_missed(-beyond, limit)}"
    side = "less" if better == "more" else "more"
    return limit, f"the limit is met by a step: the least bit {side} breaks it{missed}"


def _zeros(
    points: Sequence[float], slack: Sequence[float], at: Callable[[float], float]
) -> tuple[Crossing, ...]:
    return tuple(c for c in crossings(points, slack, at, 1e-7, held_side) if c.direction != 0)


def _spans(at: Sequence[Crossing], slack: Sequence[float]) -> tuple[tuple[float, float], ...]:
    """Return the ranges in which the limits hold, from the crossings of the tightest slack."""
    low = -math.inf if slack[0] >= 0.0 else math.nan
    out: list[tuple[float, float]] = []
    for crossing in at:
        if crossing.direction > 0:
            low = crossing.at
        elif not math.isnan(low):
            out.append((low, crossing.at))
            low = math.nan
    if not math.isnan(low):
        out.append((low, math.inf))
    return tuple(out)


def _alone(
    slacks: Slacks,
    tables: Sequence[dict[str, float]] | None,
    points: Sequence[float],
    better: Better,
    kind: str,
) -> str:
    """Say which size meets the first limit alone, where not all can be met."""
    if tables is None:
        tables = [slacks(x) for x in points]
    first = next(iter(tables[0]))
    slack = [t.get(first, -1e3) for t in tables]
    if all(s < 0.0 for s in slack) or all(s >= 0.0 for s in slack):
        return ""
    zeros = _zeros(points, slack, lambda x: slacks(x).get(first, -1e3))
    value = _pick(_spans(zeros, slack), points, better, None)
    return f". For the {first} alone: {_told(value, kind)}"


def _told(value: float, kind: str) -> str:
    """Return a figure for a sentence, in SI display units."""
    unit = unit_told(value, kind)
    shown = convert(value, kind, unit) if unit else value
    return f"{format_number(shown, 4)} {bare_unit(unit)}".rstrip()


def _pick(
    holds: Sequence[tuple[float, float]],
    points: Sequence[float],
    better: Better,
    now: float | None,
) -> float:
    """Return the end of the range that holds: of that of the present plan, else of the safest.

    The safest is the one beyond which, towards the safe side, nothing fails any more.
    """
    present = [h for h in holds if now is not None and h[0] <= now <= h[1]]
    low, high = present[0] if present else holds[-1 if better == "more" else 0]
    return max(low, points[0]) if better == "more" else min(high, points[-1])


UNITS: dict[str, str] = {
    "margin": "K", "scald": "K", "boiling in": "K", "boiling of": "K", "rise": "K",
    "gas left": "%", "room": "%", "suction": "m", "time": "s", "flow over power": "L/min a kW",
}
"""Unit of a limit's slack, by a word in its name; kPa of all others."""


def limit_unit(limit: str) -> str:
    """Return the unit in which the slack of a limit, by its name in words, is told."""
    return next((unit for word, unit in UNITS.items() if word in limit), "kPa")


def _missed(amount: float, limit: str) -> str:
    return f"{format_number(amount, 3)} {limit_unit(limit)}"
