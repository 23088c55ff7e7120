"""From the integrated loop to a history: one row an output step, as arrays."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling import Cooling
from thermo.gas import FloatArray
from thermo.headspace import TankPressure, Water, tank_pressure
from thermo.loop import exchange
from thermo.loop_dense import dense_run
from thermo.loop_run import LoopRun, Piece
from thermo.loop_state import (
    CELLS,
    ICE,
    JACKET,
    JACKET_MASS,
    LINE_CELLS,
    METAL,
    OIL,
    TANK_MASS,
    WAX,
)
from thermo.ops import plain
from thermo.plan import PlanPiece
from thermo.results import History
from thermo.scenario import Scenario
from thermo.site import Air

BETWEEN = 2
BETWEEN_SHARED = 1
"""Rows put between two integration steps, by the cubic through states and slopes: of one event,
and of variants, whose shared steps are the shorter."""


@dataclass(frozen=True, slots=True)
class Told:
    """A history with what belongs to it.

    Attributes
    ----------
    history : History
    pressure : TankPressure
    water : Water
    heat_in : float or ndarray
        Heat into metal, oil, return line and tank by the plan [J], by the trapezoid rule on the
        plan's own grid: independent of the integration.
    """

    history: History
    pressure: TankPressure
    water: Water
    heat_in: Any


def _grid(values: Any, x: FloatArray) -> FloatArray:
    """Return a table on a uniform grid at normalised times; variants are its last axis."""
    shape = np.broadcast_shapes(*(np.shape(v) for v in values))
    if not shape:
        table = np.asarray(values, dtype=np.float64)
        return np.interp(x, np.linspace(0.0, 1.0, len(table)), table)
    table = np.stack([np.broadcast_to(np.asarray(v, dtype=np.float64), shape) for v in values])
    place = x * (len(table) - 1)
    left = np.minimum(place.astype(np.intp), len(table) - 2)
    w = (place - left).reshape(-1, *(1 for _ in shape))
    return np.asarray(table[left] * (1.0 - w) + table[left + 1] * w)


def _joined(parts: list[FloatArray], shape: tuple[int, ...]) -> FloatArray:
    """Return columns of pieces as one; a column that all variants share is not copied for each."""
    if len(shape) > 1 and any(p.ndim > 1 for p in parts):
        wide = [p if p.ndim > 1 else np.broadcast_to(p[:, None], (len(p), shape[1])) for p in parts]
        return np.concatenate(wide)
    column = np.concatenate(parts)
    return column if len(shape) == 1 else np.broadcast_to(column[:, None], shape)


def _cold_flows(
    pieces: list[Piece], times: list[FloatArray], out: FloatArray
) -> FloatArray:
    """Return the tank-loop flow row by row, with water of the temperatures drawn [m3/s]."""
    parts, begin = [], 0
    for piece, x in zip(pieces, times, strict=True):
        drawn = out[begin : begin + len(x)]
        flow = np.asarray(piece.drive.cold_flow(drawn), dtype=np.float64)
        alike = flow.ndim == 0
        parts.append(np.full(len(x), flow) if alike else np.broadcast_to(flow, drawn.shape))
        begin += len(x)
    return _joined(parts, out.shape)


# The last step of a run that leaves its range, which has no verdict, may land far outside.
@np.errstate(over="ignore", invalid="ignore")
def _columns_of(cooling: Cooling, plans: list[PlanPiece], pieces: list[Piece]) -> dict[str, Any]:
    """Return the columns of a run."""
    design = cooling.design
    single = np.ndim(pieces[-1].states[-1][METAL]) == 0
    times, y = dense_run(pieces, BETWEEN if single else BETWEEN_SHARED)
    shape = y.shape[1:]
    sizes = [len(x) for x in times]
    hot_t, cold_t = design.hot.temperature, design.cold.temperature
    n, t0 = design.tank_cells, CELLS + 2 * LINE_CELLS
    jacket = np.minimum(hot_t(y[JACKET]), design.boil_temperature)
    tank, lines = cold_t(y[t0 : t0 + n]), cold_t(y[CELLS:t0])
    out = cold_t(y[t0 + n - 1] + design.short_circuit * (y[t0 - 1] - y[t0 + n - 1]))
    supply = lines[LINE_CELLS - 1]

    def told(tables: list[Any]) -> FloatArray:
        return _joined([_grid(v, x) for v, x in zip(tables, times, strict=True)], shape)

    def marked(values: list[Any]) -> FloatArray:
        return np.concatenate([np.full(m, v) for v, m in zip(values, sizes, strict=True)])

    hot_flow = told([q.drive.hot_flow for q in pieces])
    cold_flow = _cold_flows(pieces, times, out)
    done = exchange(design, jacket, y[WAX], supply, out, hot_flow, cold_flow)
    dead = _joined(
        [np.broadcast_to(cold_t(q.dead_enthalpy), (m, *shape[1:]))
         for q, m in zip(pieces, sizes, strict=True)], shape,
    )
    active, hottest = y[TANK_MASS], tank.max(axis=0)
    mean = (active * tank.mean(axis=0) + cooling.dead_mass * dead) / (active + cooling.dead_mass)
    return {
        "time": _joined([
            q.start + x.reshape(-1, *(1 for _ in shape[1:])) * q.drive.duration
            + np.zeros((len(x), *shape[1:])) for q, x in zip(pieces, times, strict=True)
        ], shape),
        "leg": marked([q.leg for q in pieces]),
        "seal": marked([q.seal for q in pieces]),
        "speed": told([p.speed for p in plans]),
        "brake_power": told([p.brake_power for p in plans]),
        "heat_to_metal": told([q.drive.metal_heat for q in pieces]),
        "exchanger_heat": np.broadcast_to(done.heat, shape),
        "coolant": jacket,
        "metal": y[METAL],
        "oil": y[OIL],
        "tank_out": out,
        "tank_mean": mean,
        "tank_hot": hottest,
        "tank_cold": hottest if n == 1 else tank.min(axis=0),
        "exchanger_in": supply,
        "tank_in": lines[-1],
        "effectiveness": np.broadcast_to(done.effectiveness, shape),
        "ntu": np.broadcast_to(done.ntu, shape),
        "ua": np.broadcast_to(done.ua, shape),
        "hot_flow": hot_flow,
        "cold_flow": cold_flow,
        "jacket_mass": y[JACKET_MASS],
        "tank_mass": active,
        "ice": y[ICE],
        "cells": np.moveaxis(tank, 0, 1),
        "lines": np.moveaxis(lines, 0, 1),
        "dead": dead,
    }


def tell(
    scenario: Scenario, air: Air, cooling: Cooling, plan: list[PlanPiece], run: LoopRun
) -> Told:
    """Return the history of a run. [poly]

    Parameters
    ----------
    scenario : Scenario
    air : Air
    cooling : Cooling
    plan : list of PlanPiece
        The pieces of the plan, services left out.
    run : LoopRun

    Returns
    -------
    Told
    """
    rows = _columns_of(cooling, plan[: len(run.pieces)], run.pieces)
    water = Water(
        rows["tank_mass"], rows.pop("cells"), rows.pop("dead"), rows.pop("lines"), rows["ice"]
    )
    pressure = tank_pressure(scenario.tank, air, cooling, water, rows.pop("seal"))
    history = History(
        **rows,
        tank_pressure=pressure.gauge,
        gas_volume=pressure.gas_volume,
        boil_temperature=np.broadcast_to(
            np.asarray(cooling.design.boil_temperature), rows["time"].shape
        ),
    )
    return Told(history, pressure, water, plain(sum(heat_in_parts(run).values())))


def loop_history(cooling: Cooling, plan: list[PlanPiece], run: LoopRun) -> History:
    """Return the history of a run without what the headspace does. [poly]

    Parameters
    ----------
    cooling : Cooling
    plan : list of PlanPiece
        The pieces of the plan, services left out.
    run : LoopRun

    Returns
    -------
    History
        Pressure and volume of the headspace are not worked out: NaN.
    """
    rows = _columns_of(cooling, plan[: len(run.pieces)], run.pieces)
    for name in ("cells", "dead", "lines", "seal"):
        del rows[name]
    nothing = np.broadcast_to(np.float64(math.nan), rows["time"].shape)
    boils = np.broadcast_to(np.asarray(cooling.design.boil_temperature), rows["time"].shape)
    return History(**rows, tank_pressure=nothing, gas_volume=nothing, boil_temperature=boils)


def heat_in_parts(run: LoopRun) -> dict[str, Any]:
    """Return the heat into metal, oil and return line, and of the sun, by the plan [J]. [poly]

    Parameters
    ----------
    run : LoopRun

    Returns
    -------
    dict of str to (float or ndarray)
        ``metal``, ``oil``, ``charge`` and ``sun``, over the time that the run lasted.
    """
    parts: dict[str, Any] = dict.fromkeys(("metal", "oil", "charge", "sun"), 0.0)
    for piece in run.pieces:
        drive, reached = piece.drive, piece.x[-1]
        for name, table in (
            ("metal", drive.metal_heat), ("oil", drive.oil_heat), ("charge", drive.charge_heat),
        ):
            x = np.linspace(0.0, 1.0, len(table))
            if reached < 1.0:
                x = np.append(x[x < reached], reached)
            parts[name] = parts[name] + np.trapezoid(_grid(table, x), x, axis=0) * drive.duration
        parts["sun"] = parts["sun"] + drive.sun * drive.duration * reached
    return parts
