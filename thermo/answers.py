"""An answer of the build sheet, and the scan and bracket that find it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from thermo.roots import crossings
from thermo.units import convert, format_number, kind_named

CLOSER = 6
"""Rounds in which the surroundings of the best point are looked at more closely."""

Slacks = Callable[[float], dict[str, float]]
"""From a size to what it leaves of each limit, weighted; below zero the limit is broken."""


def tightest(slacks: dict[str, float]) -> tuple[str, float]:
    """Return the limit with the least slack, and that slack."""
    name = min(slacks, key=lambda k: slacks[k])
    return name, slacks[name]


@dataclass(frozen=True, slots=True)
class Answer:
    """One size.

    Attributes
    ----------
    name, title, group, kind : str
        `kind` is the kind of quantity, for units.
    key : str
        Dotted key of the input that holds it; empty where there is none.
    value : float or None
        The size [SI]; None where none in range meets the limits.
    now : float or None
        What the scenario has [SI].
    binding : str
        The limit that binds it.
    note : str
        What else a reader must know.
    settings : tuple of (str, str)
        Dotted keys and texts that put the size into the scenario, for ``--set``.
    crossings : tuple of float
        Every size at which the tightest limit is just met [SI].
    best : float or None
        Best attainable slack where there is no answer.
    """

    name: str
    title: str
    group: str
    kind: str
    key: str
    value: float | None
    now: float | None
    binding: str
    note: str = ""
    settings: tuple[tuple[str, str], ...] = ()
    crossings: tuple[float, ...] = ()
    best: float | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """The build sheet.

    Attributes
    ----------
    margin : float
        Boil and after-boil margin that the sizes keep [K].
    answers : tuple of Answer
    """

    margin: float
    answers: tuple[Answer, ...]


def setting_text(value: float, kind: str) -> str:
    """Return an SI value as text that a scenario accepts, with digits enough to come back."""
    unit = kind_named(kind).si_display
    if unit in ("", "%"):
        return f"{value:.8g}"
    return f"{convert(value, kind, unit):.8g} {_display(kind)}"


def settings_of(keys: str, value: float, kind: str) -> tuple[tuple[str, str], ...]:
    """Return the settings that put one value behind keys given as a list with commas."""
    return tuple((k.strip(), setting_text(value, kind)) for k in keys.split(",") if k.strip())


def scan_answer(
    slacks: Slacks,
    points: Sequence[float],
    *,
    name: str,
    title: str,
    kind: str,
    key: str,
    better: Literal["more", "less"],
    now: float | None,
    group: str,
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

    Returns
    -------
    Answer
        With every crossing that the scan brackets. Where all points hold, the end of the range
        is named; where none does, the best attainable, and the size that meets the first limit
        alone when there is one.
    """
    if now is not None and points[0] < now < points[-1]:
        points = sorted({*points, now})
    tables = [slacks(x) for x in points]
    found = [tightest(t) for t in tables]
    if all(s < 0.0 for _, s in found):
        points, tables = _closer(slacks, points, tables)
        found = [tightest(t) for t in tables]
    slack = [s for _, s in found]
    make = partial(Answer, name=name, title=title, group=group, kind=kind, key=key, now=now)
    if all(s >= 0.0 for s in slack):
        edge, (limit, _) = (points[0], found[0]) if better == "more" else (points[-1], found[-1])
        return make(
            value=edge,
            binding="",
            settings=settings_of(key, edge, kind),
            note=f"no limit binds {'down' if better == 'more' else 'up'} to here; "
            f"{limit} comes nearest",
        )
    if all(s < 0.0 for s in slack):
        best = max(range(len(points)), key=lambda i: slack[i])
        limit = found[best][0]
        note = (
            f"none from {setting_text(points[0], kind)} to {setting_text(points[-1], kind)}: "
            f"with all limits weighed together the nearest, where {limit} is missed by "
            f"{format_number(-slack[best], 3)} {limit_unit(limit)}, is "
            f"{format_number(_shown(points[best], kind), 3)} {_display(kind)}".rstrip()
        )
        return make(
            value=None,
            binding=limit,
            best=slack[best],
            note=note + _alone(slacks, tables, points, better, kind),
        )
    all_at = _zeros(points, slack, lambda x: tightest(slacks(x))[1])
    value = _pick(all_at, points, slack, better)
    limit = tightest(slacks(value))[0]
    others = [x for x in all_at if x != value]
    note = (
        ""
        if not others
        else ("the limits are also just met at " + ", ".join(setting_text(x, kind) for x in others))
    )
    return make(
        value=value,
        binding=limit,
        note=note,
        crossings=all_at,
        settings=settings_of(key, value, kind),
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


def _zeros(
    points: Sequence[float], slack: Sequence[float], at: Callable[[float], float]
) -> tuple[float, ...]:
    return tuple(c.at for c in crossings(points, slack, at, tolerance=1e-7) if c.direction != 0)


def _alone(
    slacks: Slacks,
    tables: Sequence[dict[str, float]],
    points: Sequence[float],
    better: Literal["more", "less"],
    kind: str,
) -> str:
    """Say which size meets the first limit alone, where not all can be met."""
    first = next(iter(tables[0]))
    slack = [t.get(first, -1e3) for t in tables]
    if all(s < 0.0 for s in slack) or all(s >= 0.0 for s in slack):
        return ""
    zeros = _zeros(points, slack, lambda x: slacks(x).get(first, -1e3))
    value = _pick(zeros, points, slack, better)
    return (
        f". For the {first} alone: {format_number(_shown(value, kind), 4)} "
        f"{_display(kind)}".rstrip()
    )


def _display(kind: str) -> str:
    return kind_named(kind).si_display.replace(" gauge", "").replace(" abs", "")


def _shown(value: float, kind: str) -> float:
    unit = kind_named(kind).si_display
    return convert(value, kind, unit) if unit else value


def _pick(
    at: tuple[float, ...], points: Sequence[float], slack: Sequence[float], better: str
) -> float:
    """Return the crossing that bounds the good region: its lower, or its upper end."""
    good = [x for x, s in zip(points, slack, strict=True) if s >= 0.0]
    if better == "more":
        below = [x for x in at if x <= good[0]]
        return max(below) if below else points[0]
    over = [x for x in at if x >= good[-1]]
    return min(over) if over else points[-1]


def limit_unit(limit: str) -> str:
    """Return the unit in which the slack of a limit, by its name in words, is told."""
    if "margin" in limit or "scald" in limit or "boiling" in limit:
        return "K"
    return "%" if "gas" in limit or "room" in limit else "kPa"
