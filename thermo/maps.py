"""A map: any two inputs against any result, and where the limit lies."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.axes import Axis, now_of
from thermo.digest import digest_of
from thermo.ensemble import VariantTable, Workers, grid, run_variants
from thermo.errors import Problem, ScenarioError
from thermo.hazards.context import LEVELS
from thermo.limit_line import Crossing, Places, Polyline, find_crossings, polylines
from thermo.map_results import Shown, ranks_of, values_of
from thermo.scenario import Scenario

ALONE = 4000
"""Variants up to which one process is done before others are up."""

MOST = 250_000
"""Places that a map may have."""

STANDING = "tank.start_temperature"
"""An input that every scenario has: at its own value it is the scenario as it stands."""


@dataclass(frozen=True, slots=True)
class Map:
    """Two inputs against a result; arrays have a row for each value of `y`.

    Attributes
    ----------
    title, digest : str
        Of the scenario; the digest names its content.
    x, y : Axis
    shown : Shown
    values : ndarray of float
        In the unit of `shown`; not a number where there is none.
    levels : ndarray of int
        Verdict: 0 clear, 1 caution, 2 danger; -1 where there is none.
    binding : tuple of (tuple of str)
        Hazard that decides; empty without a verdict.
    refused : ndarray of bool
        Where the inputs contradict one another, and nothing was solved.
    reasons : tuple of (tuple of str)
        Why there is no verdict; else empty.
    ranks : ndarray of int
        Level of what the line is about: the hazard of `shown`, or the verdict.
    crossings : tuple of Crossing
        Where it changes along each row; along the columns too where an outline was asked for.
    now : tuple of (float or None)
        Both inputs as the scenario has them [SI].
    standing : str
        Verdict of the scenario as it stands.
    """

    title: str
    digest: str
    x: Axis
    y: Axis
    shown: Shown
    values: npt.NDArray[np.float64]
    levels: npt.NDArray[np.int8]
    binding: tuple[tuple[str, ...], ...]
    refused: npt.NDArray[np.bool_]
    reasons: tuple[tuple[str, ...], ...]
    ranks: npt.NDArray[np.int8]
    crossings: tuple[Crossing, ...]
    now: tuple[float | None, float | None]
    standing: str

    @property
    def counts(self) -> dict[str, int]:
        """How many places have each verdict."""
        found = {name: int(np.sum(self.levels == rank)) for rank, name in enumerate(LEVELS)}
        refused = int(np.sum(self.refused))
        return found | {
            "no verdict": int(np.sum(self.levels < 0)) - refused, "refused": refused,
        }

    @property
    def exit_status(self) -> int:
        """Of the scenario as it stands: 0 no danger, 1 danger, 3 not to be trusted."""
        return {"danger": 1, "no verdict": 3}.get(self.standing, 0)

    def lines(self, level: str) -> tuple[Polyline, ...]:
        """Return the limit as lines [SI], of a map with an outline."""
        return polylines(self.crossings, self.x.values, self.y.values, level)

    def verdict(self, row: int, column: int) -> str:
        """Return the verdict of one place in words."""
        level = int(self.levels[row, column])
        if level >= 0:
            return LEVELS[level]
        return "refused" if self.refused[row, column] else "no verdict"


def map_of(
    scenario: Scenario,
    x: Axis,
    y: Axis,
    shown: Shown,
    *,
    outline: bool = False,
    workers: Workers | int | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Map:
    """Solve a map.

    Parameters
    ----------
    scenario : Scenario
    x, y : Axis
        By :func:`thermo.axes.spaced`.
    shown : Shown
        By :func:`thermo.map_results.shown_of`.
    outline : bool, optional
        Whether to find the limit along the columns too, which a picture draws.
    workers : Workers or int, optional
        As in :func:`thermo.ensemble.run_variants`; when not given, other processes are started
        only for maps large enough to be worth it.
    progress, cancelled : callable, optional
        As in :func:`thermo.ensemble.run_variants`; progress is told of the closer looks anew.

    Returns
    -------
    Map

    Raises
    ------
    ScenarioError
        Both axes are one input, the map is too large, or every place is refused.
    StoppedError
        If `cancelled` said so.
    """
    size = _size_of(x, y)
    if workers is None and size <= ALONE:
        workers = 1

    def run(changes: dict[str, Any]) -> VariantTable:
        return run_variants(scenario, changes, workers=workers, progress=progress,
                            cancelled=cancelled, margins=True)

    def look(places: Places) -> VariantTable:
        return run({x.key: [a for a, _ in places], y.key: [b for _, b in places]})

    changes, shape = grid({y.key: y.values, x.key: x.values})
    table = run(changes)
    if bool(table.refused.all()):
        words = table.status[0].removeprefix("no verdict: ")
        raise ScenarioError("map", [Problem("", "", f"every place is refused: {words}")])
    ranks = np.asarray(ranks_of(shown, table), dtype=np.int8).reshape(shape)
    standing = run({STANDING: [scenario.tank.start_temperature]})
    level = int(standing.level[0])
    return Map(
        title=scenario.title,
        digest=digest_of(scenario),
        x=x,
        y=y,
        shown=shown,
        values=np.asarray(values_of(shown, table), dtype=np.float64).reshape(shape),
        levels=table.level.reshape(shape),
        binding=_rows(table.binding_names, shape[1]),
        refused=table.refused.reshape(shape),
        reasons=_rows(
            tuple("" if s == "ok" else s.removeprefix("no verdict: ") for s in table.status),
            shape[1],
        ),
        ranks=ranks,
        crossings=find_crossings(
            x.values, y.values, ranks, shown.hazard, look, columns=outline
        ),
        now=(now_of(scenario, x.key), now_of(scenario, y.key)),
        standing=LEVELS[level] if level >= 0 else "no verdict",
    )


def _size_of(x: Axis, y: Axis) -> int:
    """Return the number of places; refuse two axes of one input, and too many places."""
    size = len(x) * len(y)
    if x.key == y.key:
        raise ScenarioError("map", [Problem(x.key, "", "--x and --y are the same input")])
    if size > MOST:
        raise ScenarioError("map", [Problem("", f"{size} places", f"at most {MOST} are solved")])
    return size


def _rows(values: tuple[str, ...], width: int) -> tuple[tuple[str, ...], ...]:
    return tuple(values[i : i + width] for i in range(0, len(values), width))


def rows_of(found: Map) -> list[list[str]]:
    """Return a map as rows for CSV, one a place, header first.

    Parameters
    ----------
    found : Map

    Returns
    -------
    list of list of str
        Inputs in SI units; empty where there is no number.
    """
    header = [found.x.key, found.y.key, found.shown.name, "verdict", "binding", "reason"]
    rows = [header]
    for j, b in enumerate(found.y.values):
        for i, a in enumerate(found.x.values):
            value = float(found.values[j, i])
            rows.append([
                f"{a:.9g}", f"{b:.9g}", f"{value:.9g}" if math.isfinite(value) else "",
                found.verdict(j, i), found.binding[j][i], found.reasons[j][i],
            ])
    return rows


def to_json(found: Map) -> dict[str, Any]:
    """Return a map in the form of ``soakbox map --json``.

    Parameters
    ----------
    found : Map

    Returns
    -------
    dict
        JSON-ready; inputs in SI units, null where there is no number.
    """

    def axis(one: Axis, now: float | None) -> dict[str, Any]:
        return {"key": one.key, "kind": one.kind, "values_si": list(one.values), "now_si": now}

    def plain(value: float) -> float | None:
        return float(f"{value:.9g}") if math.isfinite(value) else None

    return {
        "schema": 1,
        "scenario": found.title,
        "digest": found.digest,
        "verdict": found.standing,
        "x": axis(found.x, found.now[0]),
        "y": axis(found.y, found.now[1]),
        "show": found.shown.name,
        "unit": found.shown.unit,
        "values": [[plain(float(v)) for v in row] for row in found.values],
        "verdicts": [
            [found.verdict(j, i) for i in range(len(found.x))] for j in range(len(found.y))
        ],
        "binding": [[name or None for name in row] for row in found.binding],
        "reasons": [[why or None for why in row] for row in found.reasons],
        "counts": found.counts,
        "limit": {
            "of": found.shown.hazard or "verdict",
            "crossings": [
                {
                    "y_si": found.y.values[c.line], "x_si": c.at, "level": c.level,
                    "worse": "above" if c.worse_above else "below",
                }
                for c in found.crossings if c.along == "x"
            ],
        },
    }
