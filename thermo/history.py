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
from thermo.plan import PlanPiece
from thermo.results import History
from thermo.scenario import Scenario
from thermo.site import Air

BETWEEN = 2
"""Rows put between two integration steps, by the cubic through states and slopes."""


@dataclass(frozen=True, slots=True)
class Told:
    """A history with what belongs to it.

    Attributes
    ----------
    history : History
    pressure : TankPressure
    water : Water
    heat_in : float
        Heat into metal, oil, return line and tank by the plan [J], by the trapezoid rule on the
        plan's own grid: independent of the integration.
    """

    history: History
    pressure: TankPressure
    water: Water
    heat_in: float


def _grid(values: Any, x: FloatArray) -> FloatArray:
    table = np.asarray(values, dtype=np.float64)
    return np.interp(x, np.linspace(0.0, 1.0, len(table)), table)


def _piece_rows(cooling: Cooling, plan: PlanPiece, piece: Piece) -> dict[str, Any]:
    """Return the columns of one piece."""
    design = cooling.design
    x, y = dense(piece, BETWEEN)
    hot_t, cold_t = design.hot.temperature, design.cold.temperature
    n, t0 = design.tank_cells, CELLS + 2 * LINE_CELLS
    jacket = np.minimum(hot_t(y[:, JACKET]), design.boil_temperature)
    tank = cold_t(y[:, t0 : t0 + n])
    lines = cold_t(y[:, CELLS:t0])
    out = cold_t(y[:, t0 + n - 1] + design.short_circuit * (y[:, t0 - 1] - y[:, t0 + n - 1]))
    supply = lines[:, LINE_CELLS - 1]
    hot_flow = _grid(piece.drive.hot_flow, x)
    cold_flow = np.broadcast_to(np.asarray(piece.drive.cold_flow(out), dtype=np.float64), x.shape)
    done = exchange(design, jacket, y[:, WAX], supply, out, hot_flow, cold_flow)

    def wide(values: Any) -> FloatArray:
        return np.broadcast_to(np.asarray(values, dtype=np.float64), x.shape)

    dead = np.full(x.shape, float(cold_t(piece.dead_enthalpy)))
    active = y[:, TANK_MASS]
    mean = (active * tank.mean(axis=1) + cooling.dead_mass * dead) / (active + cooling.dead_mass)
    return {
        "time": piece.start + x * piece.drive.duration,
        "leg": np.full(x.shape, piece.leg),
        "seal": np.full(x.shape, piece.seal),
        "speed": _grid(plan.speed, x),
        "brake_power": _grid(plan.brake_power, x),
        "heat_to_metal": _grid(piece.drive.metal_heat, x),
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
        boil_temperature=np.full(len(rows["time"]), cooling.design.boil_temperature),
    )
    return Told(history, pressure, water, _heat_in(run))


def _heat_in(run: LoopRun) -> float:
    total = 0.0
    for piece in run.pieces:
        drive, reached = piece.drive, piece.x[-1]
        for table in (drive.metal_heat, drive.oil_heat, drive.charge_heat):
            values = np.asarray(table, dtype=np.float64)
            x = np.linspace(0.0, 1.0, len(values))
            if reached < 1.0:
                values = np.append(values[x < reached], np.interp(reached, x, values))
                x = np.append(x[x < reached], reached)
            total += float(np.trapezoid(values, x)) * float(drive.duration)
        total += float(drive.sun) * float(drive.duration) * reached
    return total
