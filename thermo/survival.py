"""The hottest air that each limit survives: a scan over air temperature, then closer looks."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermo.ensemble import VariantTable
from thermo.fields import quantity_of
from thermo.flags import RANKS
from thermo.hazards.margins import slack_of
from thermo.scenario import Scenario

AIR = "site.air_temperature"
COOLEST = 273.15
"""Air from which the scan begins, unless cooler air is in the table [K]."""

STEP = 5.0
"""Step of the scan [K]: a limit that is passed and met again within it is not seen."""

INSIDE = 9
"""Points between two of the scan in a closer look."""

ROUNDS = 2
"""Closer looks: the second leaves a twentieth of a kelvin."""

OF_THE_MODEL = ("range", "audit")
"""Hazards that are about the figures, not about the car."""

Days = Sequence[tuple[float, int]]
"""Air temperature [K] of each day, and the column that it belongs to."""


@dataclass(frozen=True, slots=True)
class Reach:
    """How hot the air may be for one limit in one column.

    Attributes
    ----------
    state : {'limit', 'open', 'cold', 'none', 'unsolved'}
        The limit is met at `hottest`; or not in the range looked at; or in cooler air only; or
        passed at every air; or there is no verdict beyond `hottest`, or none at all.
    hottest : float
        [K]; not a number where there is none.
    best_air, best_value, best_limit : float
        Where none holds: the air at which the figure comes nearest to its limit [K], and both
        there in the hazard's unit; not a number where the hazard has no figure.
    reason : str
        Why there is no verdict beyond.
    """

    state: Literal["limit", "open", "cold", "none", "unsolved"]
    hottest: float
    best_air: float = math.nan
    best_value: float = math.nan
    best_limit: float = math.nan
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Survival:
    """The hottest air up to which one hazard stays below a level.

    Attributes
    ----------
    hazard : str
    level : {'caution', 'danger'}
        What it stays clear of.
    reaches : tuple of Reach
        One a column.
    """

    hazard: str
    level: Literal["caution", "danger"]
    reaches: tuple[Reach, ...]


@dataclass(frozen=True, slots=True)
class Points:
    """Days of one column, rising in air temperature.

    Attributes
    ----------
    air : ndarray
        [K].
    ok : ndarray of bool
    ranks, values, limits : dict of str to ndarray
        By hazard.
    status : tuple of str
    """

    air: np.ndarray
    ok: np.ndarray
    ranks: Mapping[str, np.ndarray]
    values: Mapping[str, np.ndarray]
    limits: Mapping[str, np.ndarray]
    status: tuple[str, ...]

    def slack(self, name: str) -> np.ndarray | None:
        """Return what a hazard's figure leaves of its limit; None where it has no figure."""
        if name not in self.values:
            return None
        return np.asarray(slack_of(name, self.values[name], self.limits[name]))


def points_of(table: VariantTable, rows: Sequence[int]) -> Points:
    """Take the days of one column out of a table of variants.

    Parameters
    ----------
    table : VariantTable
        With the margins of the hazards.
    rows : sequence of int
        The days, in any order.

    Returns
    -------
    Points
    """
    air = table.columns[AIR]
    at = np.array(sorted(rows, key=lambda i: float(air[i])), dtype=np.intp)
    return Points(
        air=air[at],
        ok=table.ok[at],
        ranks={name: ranks[at] for name, ranks in table.ranks.items()},
        values={name: values[at] for name, values in table.values.items()},
        limits={name: limits[at] for name, limits in table.limits.items()},
        status=tuple(table.status[int(i)] for i in at),
    )


def scan_airs(airs: Sequence[float]) -> tuple[float, ...]:
    """Return the air temperatures looked at: those of the table, and others around them [K].

    Parameters
    ----------
    airs : sequence of float
        [K].

    Returns
    -------
    tuple of float
        Rising, as far as a scenario may have it hot.
    """
    quantity = quantity_of(Scenario, AIR)
    most = quantity.range_si[1] if quantity is not None else COOLEST
    low = min(COOLEST, *airs)
    scan = [*np.arange(low, most - 1e-9, STEP), most]
    others = [float(a) for a in scan if min(abs(a - b) for b in airs) > 1.0]
    return tuple(sorted({*airs, *others, most}))


def survivals(
    scans: Sequence[Points], look: Callable[[Days], VariantTable]
) -> tuple[Survival, ...]:
    """Find the hottest air for every hazard and level.

    Parameters
    ----------
    scans : sequence of Points
        One a column.
    look : callable
        Solves more days.

    Returns
    -------
    tuple of Survival
        In the order of the hazards. A danger is left out where the scan holds none.
    """
    wanted: list[tuple[str, int]] = []
    for name in RANKS:
        if name in OF_THE_MODEL:
            continue
        wanted.append((name, 1))
        if any((scan.ranks[name][scan.ok] == 2).any() for scan in scans):
            wanted.append((name, 2))
    found: dict[tuple[str, int, int], Reach] = {}
    open_: dict[tuple[str, int, int], tuple[float, float]] = {}
    for name, rank in wanted:
        for column, scan in enumerate(scans):
            key = (name, rank, column)
            reach, bracket = _reach(scan, name, rank)
            found[key] = reach
            if bracket is not None:
                open_[key] = bracket
    for _ in range(ROUNDS):
        open_ = _closer(open_, found, look)
    return tuple(
        Survival(
            name,
            "caution" if rank == 1 else "danger",
            tuple(found[name, rank, column] for column in range(len(scans))),
        )
        for name, rank in wanted
    )


def _reach(scan: Points, name: str, rank: int) -> tuple[Reach, tuple[float, float] | None]:
    """Return how hot the air may be on a scan, and between which two points the limit lies."""
    good = scan.ok & (scan.ranks[name] < rank)
    solved = np.flatnonzero(scan.ok)
    if not len(solved):
        return Reach("unsolved", math.nan, reason=scan.status[0]), None
    if not good.any():
        return _none(scan, name), None
    top = int(np.flatnonzero(good)[-1])
    hottest = float(scan.air[top])
    if top == len(good) - 1:
        return Reach("open" if good[scan.ok].all() else "cold", hottest), None
    if not scan.ok[top + 1]:
        return Reach("unsolved", hottest, reason=scan.status[top + 1]), None
    return Reach("limit", hottest), (hottest, float(scan.air[top + 1]))


def _none(scan: Points, name: str) -> Reach:
    slack = scan.slack(name)
    if slack is None or not np.isfinite(slack[scan.ok]).any():
        return Reach("none", math.nan)
    best = int(np.nanargmax(np.where(scan.ok, slack, np.nan)))
    value, limit = scan.values[name][best], scan.limits[name][best]
    return Reach("none", math.nan, float(scan.air[best]), float(value), float(limit))


def _closer(
    open_: dict[tuple[str, int, int], tuple[float, float]],
    found: dict[tuple[str, int, int], Reach],
    look: Callable[[Days], VariantTable],
) -> dict[tuple[str, int, int], tuple[float, float]]:
    """Look closer at each place where a limit is met; return those still to be looked at."""
    places = sorted({(key[2], *bracket) for key, bracket in open_.items()})
    if not places:
        return {}
    airs = [np.linspace(low, high, INSIDE + 2) for _, low, high in places]
    table = look([
        (float(a), place[0]) for place, a in zip(places, airs, strict=True) for a in a
    ])
    size = INSIDE + 2
    points = {
        place: points_of(table, range(i * size, (i + 1) * size)) for i, place in enumerate(places)
    }
    left: dict[tuple[str, int, int], tuple[float, float]] = {}
    for key, bracket in open_.items():
        name, rank, column = key
        near = points[column, *bracket]
        reach, inner = _reach(near, name, rank)
        found[key] = reach
        if inner is None:
            continue
        top = int(np.searchsorted(near.air, inner[0]))
        slack = near.slack(name)
        # A figure that rests at its limit (a share of nothing) tells nothing in between.
        if slack is not None and slack[top] > 0.0 > slack[top + 1]:
            share = float(slack[top] / (slack[top] - slack[top + 1]))
            found[key] = Reach("limit", inner[0] + share * (inner[1] - inner[0]))
        else:
            left[key] = inner
    return left
