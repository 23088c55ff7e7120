"""Where a limit lies on a map: crossings between neighbours, looked at closer, and the line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from thermo.ensemble import VariantTable
from thermo.flags import RANKS
from thermo.hazards.margins import MARGINS, slack_of

INSIDE = 7
"""Points between two neighbours in a closer look."""

ROUNDS = 2
"""Closer looks at most: a crossing that no figure tells lies within 1/64 of a step then."""

LEVELS: tuple[Literal["caution"], Literal["danger"]] = ("caution", "danger")

Places = list[tuple[float, float]]
Polyline = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Crossing:
    """One place where a level begins along a row or a column.

    Attributes
    ----------
    level : {'caution', 'danger'}
    along : {'x', 'y'}
    line : int
        Which row (along x) or column (along y).
    step : int
        Between which value and its next it lies.
    at : float
        Where [SI].
    worse_above : bool
        Whether it is worse above than below.
    """

    level: Literal["caution", "danger"]
    along: Literal["x", "y"]
    line: int
    step: int
    at: float
    worse_above: bool


@dataclass(slots=True)
class _Bracket:
    """A crossing while it is looked for: the good end, the bad end, and their slacks."""

    rank: int
    along: Literal["x", "y"]
    line: int
    step: int
    good: float
    bad: float
    at: float | None = None


def find_crossings(
    xs: Sequence[float],
    ys: Sequence[float],
    ranks: Any,
    hazard: str,
    look: Callable[[Places], VariantTable],
    *,
    columns: bool = False,
) -> tuple[Crossing, ...]:
    """Find every crossing that a map brackets.

    Parameters
    ----------
    xs, ys : sequence of float
        Rising values of both axes [SI].
    ranks : ndarray of int, shape (rows, columns)
        Level of the hazard, or of the verdict; -1 where there is none: no crossing is sought
        beside it.
    hazard : str
        Empty for the verdict.
    look : callable
        Solves more places, with the margins of the hazards.
    columns : bool, optional
        Whether to look along the columns too, as a picture needs.

    Returns
    -------
    tuple of Crossing
        By row, rising; then by column. Two crossings within a step are not seen.
    """
    open_ = [*_brackets("x", xs, ranks), *(_brackets("y", ys, ranks.T) if columns else ())]
    every = list(open_)
    for number in range(ROUNDS):
        if not open_:
            break
        _closer(open_, xs, ys, hazard, look, last=number == ROUNDS - 1)
        open_ = [b for b in open_ if b.at is None]
    return tuple(
        Crossing(
            LEVELS[b.rank - 1], b.along, b.line, b.step, b.good if b.at is None else b.at,
            b.bad > b.good,
        )
        for b in every
    )


def _brackets(along: Literal["x", "y"], values: Sequence[float], ranks: Any) -> list[_Bracket]:
    found: list[_Bracket] = []
    for line, row in enumerate(ranks):
        both = (row[:-1] >= 0) & (row[1:] >= 0)
        for i in np.flatnonzero(both & (row[:-1] != row[1:])).tolist():
            low, high = int(row[i]), int(row[i + 1])
            ends = (values[i], values[i + 1]) if low < high else (values[i + 1], values[i])
            found += [
                _Bracket(rank, along, line, i, *ends)
                for rank in range(min(low, high) + 1, max(low, high) + 1)
            ]
    return found


def _closer(
    open_: list[_Bracket],
    xs: Sequence[float],
    ys: Sequence[float],
    hazard: str,
    look: Callable[[Places], VariantTable],
    *,
    last: bool,
) -> None:
    """Narrow each bracket; give it its place where figures tell it, or at the last look."""
    size = INSIDE + 2
    places: Places = []
    for b in open_:
        for value in np.linspace(b.good, b.bad, size):
            v = float(value)
            places.append((v, ys[b.line]) if b.along == "x" else (xs[b.line], v))
    table = look(places)
    ranks = np.where(table.ok, table.ranks[hazard] if hazard else table.level, -1)
    for number, b in enumerate(open_):
        rows = np.arange(number * size, (number + 1) * size)
        own = ranks[rows]
        # From the good end on, the first point that is as bad; one without a verdict is passed by.
        bad = np.flatnonzero(own >= b.rank)
        good = np.flatnonzero((own >= 0) & (own < b.rank))
        if not len(bad) or not len(good[good < bad[0]]):
            b.at = 0.5 * (b.good + b.bad)
            continue
        first, before = int(bad[0]), int(good[good < bad[0]][-1])
        step = (b.bad - b.good) / (size - 1)
        share = _share(table, int(rows[before]), int(rows[first]), b.rank, hazard)
        b.good, b.bad = b.good + before * step, b.good + first * step
        if share is not None:
            b.at = b.good + share * (b.bad - b.good)
        elif last:
            b.at = 0.5 * (b.good + b.bad)


def _share(table: VariantTable, good: int, bad: int, rank: int, hazard: str) -> float | None:
    """Return how far from the good point the level begins, where figures against limits tell."""
    names = [hazard] if hazard else [n for n in RANKS if table.ranks[n][bad] >= rank]
    shares: list[float] = []
    for name in names:
        if name not in MARGINS:
            return None
        slack = [
            float(slack_of(name, table.values[name][i], table.limits[name][i]))
            for i in (good, bad)
        ]
        if not slack[0] > 0.0 > slack[1]:
            return None
        shares.append(slack[0] / (slack[0] - slack[1]))
    return min(shares) if shares else None


def polylines(
    crossings: Sequence[Crossing], xs: Sequence[float], ys: Sequence[float], level: str
) -> tuple[Polyline, ...]:
    """Join the crossings of a level, found along rows and columns, into lines.

    Parameters
    ----------
    crossings : sequence of Crossing
        With those along the columns.
    xs, ys : sequence of float
        Values of both axes [SI].
    level : {'caution', 'danger'}

    Returns
    -------
    tuple of (tuple of (float, float))
        Marching squares: two crossings on the border of a square of four neighbours are joined,
        four in pairs.
    """
    # The middle of each side of a square, in half steps, names the crossing on it.
    on_side: dict[tuple[int, int], tuple[float, float]] = {}
    for c in crossings:
        if c.level == level:
            x_side = c.along == "x"
            side = (2 * c.step + 1, 2 * c.line) if x_side else (2 * c.line, 2 * c.step + 1)
            on_side[side] = (c.at, ys[c.line]) if x_side else (xs[c.line], c.at)
    links: dict[tuple[int, int], list[tuple[int, int]]] = {side: [] for side in on_side}
    for i in range(len(xs) - 1):
        for j in range(len(ys) - 1):
            a, b = 2 * i + 1, 2 * j + 1
            around = ((a, b - 1), (a - 1, b), (a, b + 1), (a + 1, b))
            there = [side for side in around if side in on_side]
            for one, other in zip(there[::2], there[1::2], strict=False):
                links[one].append(other)
                links[other].append(one)
    return tuple(
        tuple(on_side[side] for side in chain) for chain in _chains(links)
    )


def _chains(
    links: dict[tuple[int, int], list[tuple[int, int]]],
) -> list[list[tuple[int, int]]]:
    """Follow links from end to end, then around what is closed."""
    left = {side: list(ends) for side, ends in links.items() if ends}
    out: list[list[tuple[int, int]]] = []
    while left:
        start = next((s for s, ends in left.items() if len(ends) == 1), next(iter(left)))
        chain = [start]
        while left.get(chain[-1]):
            here = chain[-1]
            there = left[here].pop()
            left[there].remove(here)
            chain.append(there)
        left = {side: ends for side, ends in left.items() if ends}
        out.append(chain)
    return out
