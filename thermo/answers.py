"""An answer of the build sheet, and the scan and bracket that find it."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, partial
from typing import Literal

from thermo.roots import CLOSE, Crossing, crossings, held_side
from thermo.units import System, convert, format_number, kind_named

CLOSER = 6
"""Rounds in which the surroundings of the best point are looked at more closely."""

SET_DIGITS = 5
"""Digits of a size as it is put into the scenario, the last one rounded to the safe side."""

JUMP = 0.05
"""Slack at a size found above which the limit was not approached but met by a step."""

OUT_OF_RANGE = "the range over which the model holds"
"""What is missed, as a limit's name, where the model does not reach or the input is refused."""

Better = Literal["more", "less"]
"""Whether more of a size is safer, or less."""

Slacks = Callable[[float], dict[str, float]]
"""From a size to what it leaves of each limit, weighted; below zero the limit is broken."""


def tightest(slacks: dict[str, float]) -> tuple[str, float]:
    """Return the limit with the least slack, and that slack."""
    name = min(slacks, key=lambda k: slacks[k])
    return name, slacks[name]


def safer(value: float, digits: int, better: Better) -> float:
    """Return a number with so many digits, rounded to the safe side.

    Parameters
    ----------
    value : float
    digits : int
        Significant digits.
    better : {'more', 'less'}
        'more' rounds up, 'less' down.

    Returns
    -------
    float
        A value that has no more digits already, within rounding, stays as it is.
    """
    if value == 0.0 or not math.isfinite(value):
        return value
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits)
    count = value / step
    near = round(count)
    if abs(count - near) > 1e-6:
        near = math.ceil(count) if better == "more" else math.floor(count)
    return near * step


@dataclass(frozen=True, slots=True)
class Setting:
    """One input that puts a size into the scenario.

    Attributes
    ----------
    key : str
        Dotted key.
    value : float
        [SI].
    kind : str
        Kind of quantity.
    better : {'more', 'less'}
        To which side it may be rounded.
    """

    key: str
    value: float
    kind: str
    better: Better

    def text(self, system: System = "si") -> str:
        """Return the value as text that a scenario accepts, rounded to the safe side.

        Parameters
        ----------
        system : {'si', 'us'}

        Returns
        -------
        str
        """
        return setting_text(self.value, self.kind, self.better, system)


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
    put : tuple of Setting
        Inputs that put the size into the scenario, for ``--set``.
    crossings : tuple of float
        Every size at which the tightest limit is just met [SI].
    holds : tuple of (float, float)
        Ranges in which every limit holds, rising [SI]; infinite towards an end of the range
        looked at at which they still hold.
    better : {'more', 'less'}
        Whether more of it is safer; the figure may be rounded to that side.
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
    put: tuple[Setting, ...] = ()
    crossings: tuple[float, ...] = ()
    holds: tuple[tuple[float, float], ...] = ()
    better: Better = "more"
    best: float | None = None

    @property
    def settings(self) -> tuple[tuple[str, str], ...]:
        """Dotted keys and texts in SI units that put the size into the scenario."""
        return tuple((s.key, s.text()) for s in self.put)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The build sheet.

    Attributes
    ----------
    margin : float
        Boil and after-boil margin that the sizes keep [K].
    answers : tuple of Answer
    mixing : str
        Where the scenario does not choose ``tank.mixing``: the way of mixing that leaves least
        in the plan as it stands. Sizes hold for every way.
    not_kept : tuple of str
        Hazards up in the plan as it stands that no size aims to clear.
    """

    margin: float
    answers: tuple[Answer, ...]
    mixing: str = ""
    not_kept: tuple[str, ...] = ()


def setting_text(
    value: float, kind: str, better: Better | None = None, system: System = "si"
) -> str:
    """Return an SI value as text that a scenario accepts.

    Parameters
    ----------
    value : float
        [SI].
    kind : str
    better : {'more', 'less'}, optional
        The side to which it is rounded to ``SET_DIGITS`` digits; as it is when not given.
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    what = kind_named(kind)
    unit = what.si_display if system == "si" else what.us_display
    bare = unit in ("", "%")
    shown = value if bare else convert(value, kind, unit)
    if better is not None:
        shown = safer(shown, SET_DIGITS, better)
    number = f"{shown:.8g}"
    return number if bare else f"{number} {_bare(unit)}"


def settings_of(keys: str, value: float, kind: str, better: Better) -> tuple[Setting, ...]:
    """Return the settings that put one value behind keys given as a list with commas.

    Parameters
    ----------
    keys : str
    value : float
        [SI].
    kind : str
    better : {'more', 'less'}
        To which side it may be rounded.

    Returns
    -------
    tuple of Setting
    """
    return tuple(Setting(k.strip(), value, kind, better) for k in keys.split(",") if k.strip())


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
        best = max(range(len(points)), key=lambda i: slack[i])
        limit = found[best][0]
        note = (
            f"none from {_told(points[0], kind)} to {_told(points[-1], kind)}: "
            f"with all limits weighed together the nearest, where {limit} is missed by "
            f"{_missed(-slack[best], limit)}, is {_told(points[best], kind)}"
        )
        return make(
            value=None,
            binding=limit,
            best=slack[best],
            note=note + _alone(alone or slacks, None if alone else tables, points, better, kind),
        )
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


def _bare(unit: str) -> str:
    return unit.replace(" gauge", "").replace(" abs", "")


def _told(value: float, kind: str) -> str:
    """Return a figure for a sentence, in SI display units."""
    unit = kind_named(kind).si_display
    shown = convert(value, kind, unit) if unit else value
    return f"{format_number(shown, 4)} {_bare(unit)}".rstrip()


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
