"""Gives the engine the same loop that :mod:`tests.oracles.loop_reference` describes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from tests.oracles.loop_reference import Loop, Stretch
from thermo.conductance import GivenUA
from thermo.liquids import Liquid, liquid
from thermo.loop import (
    CELLS, ICE, JACKET, JACKET_MASS, LINE_CELLS, METAL, OIL, TANK_MASS, IceCharge, LegDrive,
    LoopDesign, Thermostat,
)
from thermo.loop_run import LoopRun, run_loop, start_state


def coolant(loop: Loop) -> Liquid:
    return liquid("ethylene", loop.ethylene) if loop.ethylene else liquid()


def design(loop: Loop, conductance: Any = None) -> LoopDesign:
    thermostat = None
    if loop.thermostat is not None:
        thermostat = Thermostat(*loop.thermostat, stuck_shut=False)
    return LoopDesign(
        hot=coolant(loop), cold=liquid(),
        conductance=conductance or GivenUA(loop.ua), arrangement=loop.arrangement, shells=1,
        metal_capacity=loop.metal_capacity, metal_conductance=loop.metal_conductance,
        still_share=loop.still_share, full_flow=loop.full_flow, engine_air=loop.engine_air,
        oil_capacity=loop.oil_capacity, oil_cooler=loop.oil_cooler, boil_temperature=loop.boil,
        tank_boil_temperature=loop.tank_boil if loop.tank_boil < 1e3 else float("inf"),
        supply_mass=loop.supply_mass, return_mass=loop.return_mass,
        supply_air=loop.supply_air, return_air=loop.return_air, tank_air=loop.tank_air,
        tank_cells=loop.cells, wall_capacity=loop.wall or None, short_circuit=loop.short,
        thermostat=thermostat, air_temperature=loop.air)


def drive(piece: Stretch) -> LegDrive:
    return LegDrive(
        piece.duration, piece.metal_heat, piece.oil_heat, piece.charge_heat, piece.hot_flow,
        piece.cold_flow, piece.cold_pump, piece.hot_pump, piece.sun, None)


def run(loop: Loop, pieces: Sequence[Stretch], conductance: Any = None) -> LoopRun:
    ice = None if loop.ice is None else IceCharge(
        loop.ice.mass, loop.ice.area, loop.ice.film, loop.ice.heat)
    d = design(loop, conductance)
    state = start_state(
        d, coolant=loop.coolant_start, metal=loop.metal_start, oil=loop.oil_start,
        tank=loop.tank_start, jacket_mass=loop.coolant_mass, tank_mass=loop.tank_mass,
        ice=0.0 if loop.ice is None else loop.ice.mass)
    return run_loop(d, state, ice, 0.0, [(i, drive(p)) for i, p in enumerate(pieces)])


def temperatures(d: LoopDesign, y: Sequence[Any]) -> np.ndarray:
    """Metal, coolant, oil and every cell of lines and tank [K]."""
    hot, cold = d.hot.temperature, d.cold.temperature
    return np.array([y[METAL], hot(y[JACKET]), y[OIL]] + [cold(h) for h in y[CELLS:]])


__all__ = ["ICE", "JACKET_MASS", "LINE_CELLS", "TANK_MASS", "design", "drive", "run",
           "temperatures"]
