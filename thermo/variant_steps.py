"""Time steps that all variants share, chosen before they are solved.

An array of variants must march in common steps. Were they chosen by the worst variant of a block,
a variant's figures would hang on its neighbours. So a few variants, those at the ends of what
varies, are solved first as single events, and their steps are merged; each variant then says by
itself whether these steps were fine enough for it.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from thermo.cooling import build_cooling
from thermo.cooling_run import march_cooling
from thermo.driving import Driving, drive_or_refuse
from thermo.errors import SoakboxError
from thermo.loop_run import TEMPERATURE_TOLERANCE
from thermo.ops import MixedError
from thermo.plan import GRID
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.site_air import site_air
from thermo.variants import Floats, Indices, VariantSet

Grids = list[list[float]]
"""Normalised times, 0 to 1, of the steps of each piece of an event."""

GRID_TOLERANCE = 3.0 * TEMPERATURE_TOLERANCE
"""Error allowed a step of the events that the steps are taken from [K]."""

MOST_PILOTS = 16
"""Variants solved beforehand, at most, beside the scenario itself."""


def pilots(variants: VariantSet, rows: Indices) -> Indices:
    """Return the variants whose steps a group shares.

    Parameters
    ----------
    variants : VariantSet
    rows : ndarray of int
        The group: every variant of it, so that the choice hangs on nothing else.

    Returns
    -------
    ndarray of int
        The middle variant, the stiffest ones and those at the ends of each input.
    """
    chosen: list[int] = [int(rows[len(rows) // 2])]
    chosen += [int(rows[i]) for i in _stiffest(variants, rows)]
    for values in variants.columns.values():
        if len(chosen) < MOST_PILOTS:
            chosen += [int(rows[np.argmin(values[rows])]), int(rows[np.argmax(values[rows])])]
    return np.array(list(dict.fromkeys(chosen)))


def common(found: Sequence[Grids | None]) -> Grids | None:
    """Return steps everywhere as fine as the finest of some events'.

    Parameters
    ----------
    found : sequence of (list of list of float or None)
        Steps of the events, in the order of :func:`pilots`.

    Returns
    -------
    list of list of float or None
        None when none of the events could be followed to its end: the variants of a block then
        share steps by the worst of them. An event cut into other pieces than the first one is
        left out.
    """
    known = [steps for steps in found if steps is not None]
    if not known:
        return None
    alike = [steps for steps in known if len(steps) == len(known[0])]
    return [merged([np.asarray(g) for g in piece]) for piece in zip(*alike, strict=True)]


def _stiffest(variants: VariantSet, rows: Indices) -> list[int]:
    """Return which of some variants have the fastest metal, jacket, lines and tank cell."""
    try:
        scenario = variants.at(rows)
        with np.errstate(all="ignore"):
            cooling = build_cooling(scenario, site_air(scenario))
    except (SoakboxError, MixedError):
        return []
    design, start = cooling.design, scenario.coolant.start_temperature
    jacket = cooling.jacket_mass * design.hot.specific_heat(start)
    flow = cooling.cold_flow.flow
    rates = (
        design.metal_conductance * (1.0 / design.metal_capacity + 1.0 / jacket),
        flow / design.supply_mass,
        flow / design.return_mass,
        flow * design.tank_cells / cooling.active_mass,
        cooling.full_hot_flow / jacket,
    )
    return [int(np.argmax(rate)) for rate in rates if np.ndim(rate)]


def steps_of(scenario: Scenario, driven: tuple[Air, Driving] | None) -> Grids | None:
    """Return the steps of one event, or None where it does not reach its end.

    Parameters
    ----------
    scenario : Scenario
    driven : tuple of (Air, Driving), optional
        The event as driven, when that is known.

    Returns
    -------
    list of list of float or None
    """
    try:
        if driven is None:
            air = site_air(scenario)
            driven = (air, drive_or_refuse(scenario, air))
        _, _, run = march_cooling(scenario, *driven, tolerance=GRID_TOLERANCE)
    except SoakboxError:
        return None
    if run.stopped:
        return None
    geared = scenario.engine.curve is not None
    return [
        _on_nodes(piece.x) if geared and scenario.leg[piece.leg].engine_state == "full" else piece.x
        for piece in run.pieces
    ]


def _on_nodes(x: list[float]) -> list[float]:
    """Return steps that end on the points of the drive's tables.

    A gear change makes heat jump from one of these points to the next, at a moment of each
    variant's own. Steps that do not cross a point are exact across the jump.
    """
    steps, spacing = np.diff(x), 1.0 / (GRID - 1)
    parts = max(int(np.ceil(spacing / float(np.median(steps)) - 1e-9)), 1)
    nodes = np.linspace(0.0, 1.0, (GRID - 1) * parts + 1)
    coarse = steps >= spacing / parts
    first = int(np.argmax(coarse)) if bool(coarse.any()) else 0
    begins = [v for v in x[:first] if v < 0.1]
    kept = nodes[nodes > (begins[-1] if begins else -1.0) + 0.1 * spacing / parts]
    return [*begins, *kept.tolist()] if begins else nodes.tolist()


def merged(grids: list[Floats]) -> list[float]:
    """Return a grid that is everywhere as fine as the finest of some.

    Parameters
    ----------
    grids : list of ndarray
        Each rising from 0 to 1.

    Returns
    -------
    list of float
    """
    edges = np.unique(np.concatenate(grids))
    middle = 0.5 * (edges[1:] + edges[:-1])
    finest = np.full(len(middle), np.inf)
    for grid in grids:
        place = np.searchsorted(grid, middle) - 1
        finest = np.minimum(finest, np.diff(grid)[place])
    passed = np.concatenate([[0.0], np.cumsum(np.diff(edges) / finest)])
    count = int(np.ceil(passed[-1] - 1e-9))
    out = np.interp(np.linspace(0.0, passed[-1], count + 1), passed, edges)
    out[0], out[-1] = 0.0, 1.0
    return [float(v) for v in out]


def halved(grids: Grids | None, times: int) -> Grids | None:
    """Return grids with every step halved a number of times.

    Parameters
    ----------
    grids : list of list of float or None
    times : int

    Returns
    -------
    list of list of float or None
    """
    if grids is None:
        return None
    parts = 2**times
    shares = np.arange(parts) / parts
    out = []
    for grid in grids:
        x = np.asarray(grid)
        finer = (x[:-1, None] + np.diff(x)[:, None] * shares).ravel()
        out.append([*finer.tolist(), float(x[-1])])
    return out
