"""From the integrated loop to a history: one row an output step, as arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling import Cooling
from thermo.gas import FloatArray
from thermo.headspace import TankPressure, Water, tank_pressure
from thermo.loop import (
    CELLS,
    ICE,
    JACKET,
    JACKET_MASS,
    LINE_CELLS,
    METAL,
    OIL,
    TANK_MASS,
    WAX,
    exchange,
)
from thermo.loop_run import LoopRun, Piece, dense
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


def _piece_rows(cooling: Cooling, plan: PlanPiece, piece: Piece) -> dict[str, Any]:
    """Return the columns of one piece."""
    design = cooling.design
    single = np.ndim(piece.states[-1][METAL]) == 0
    x, y = dense(piece, BETWEEN if single else BETWEEN_SHARED)
    shape = (len(x), *y.shape[2:])
    along = x.reshape(-1, *(1 for _ in shape[1:]))
    hot_t, cold_t = design.hot.temperature, design.cold.temperature
    n, t0 = design.tank_cells, CELLS + 2 * LINE_CELLS
    jacket = np.minimum(hot_t(y[:, JACKET]), design.boil_temperature)
    tank = cold_t(y[:, t0 : t0 + n])
    lines = cold_t(y[:, CELLS:t0])
    out = cold_t(y[:, t0 + n - 1] + design.short_circuit * (y[:, t0 - 1] - y[:, t0 + n - 1]))
    supply = lines[:, LINE_CELLS - 1]
    hot_flow = _grid(piece.drive.hot_flow, x)
    if hot_flow.ndim < len(shape):
        hot_flow = np.broadcast_to(hot_flow[:, None], shape)
    cold_flow = np.broadcast_to(np.asarray(piece.drive.cold_flow(out), dtype=np.float64), shape)
    done = exchange(design, jacket, y[:, WAX], supply, out, hot_flow, cold_flow)

    def wide(values: Any) -> FloatArray:
        values = np.asarray(values, dtype=np.float64)
        if 0 < values.ndim < len(shape) and len(values) == len(x) != shape[-1]:
            values = values[:, None]
        return np.broadcast_to(values, shape)

    dead = np.broadcast_to(np.asarray(cold_t(piece.dead_enthalpy)), shape)
    active = y[:, TANK_MASS]
    mean = (active * tank.mean(axis=1) + cooling.dead_mass * dead) / (active + cooling.dead_mass)
    return {
        "time": piece.start + along * piece.drive.duration + np.zeros(shape),
        "leg": np.full(x.shape, piece.leg),
        "seal": np.full(x.shape, piece.seal),
        "speed": wide(_grid(plan.speed, x)),
        "brake_power": wide(_grid(plan.brake_power, x)),
        "heat_to_metal": wide(_grid(piece.drive.metal_heat, x)),
        "exchanger_heat": wide(done.heat),
        "coolant": jacket,
        "metal": y[:, METAL],
        "oil": y[:, OIL],
        "tank_out": out,
        "tank_mean": mean,
        "tank_hot": tank.max(axis=1),
        "tank_cold": tank.min(axis=1),
        "exchanger_in": supply,
        "tank_in": lines[:, -1],
        "effectiveness": wide(done.effectiveness),
        "ntu": wide(done.ntu),
        "ua": wide(done.ua),
        "hot_flow": hot_flow,
        "cold_flow": cold_flow,
        "jacket_mass": y[:, JACKET_MASS],
        "tank_mass": active,
        "ice": y[:, ICE],
        "cells": tank,
        "lines": lines,
        "dead": dead,
    }


def tell(
    scenario: Scenario, air: Air, cooling: Cooling, plan: list[PlanPiece], run: LoopRun
) -> Told:
    """Return the history of a run.

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
    parts = [_piece_rows(cooling, p, q) for p, q in zip(plan, run.pieces, strict=False)]
    rows: dict[str, Any] = {k: np.concatenate([p[k] for p in parts]) for k in parts[0]}
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
    return Told(history, pressure, water, _heat_in(run))


def _heat_in(run: LoopRun) -> Any:
    total: Any = 0.0
    for piece in run.pieces:
        drive, reached = piece.drive, piece.x[-1]
        for table in (drive.metal_heat, drive.oil_heat, drive.charge_heat):
            x = np.linspace(0.0, 1.0, len(table))
            if reached < 1.0:
                x = np.append(x[x < reached], reached)
            total = total + np.trapezoid(_grid(table, x), x, axis=0) * drive.duration
        total = total + drive.sun * drive.duration * reached
    return plain(total)
