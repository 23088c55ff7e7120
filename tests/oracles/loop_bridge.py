"""Gives the engine the same loop that :mod:`tests.oracles.loop_reference` describes.

A number of the description may be an array over variants; `variant` then picks one of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any

import numpy as np

from tests.oracles.loop_reference import Loop, Stretch
from thermo.conductance import GivenUA
from thermo.liquids import liquid
from thermo.loop_design import NEVER, IceCharge, LegDrive, LoopDesign, Thermostat
from thermo.loop_run import LoopRun, run_loop
from thermo.loop_service import Service
from thermo.loop_state import CELLS, JACKET, METAL, OIL, start_state


def design(loop: Loop, conductance: Any = None) -> LoopDesign:
    """The engine's design of a loop; `conductance` is given where `loop.ua` is a function."""
    thermostat = None
    if loop.thermostat is not None:
        thermostat = Thermostat(*loop.thermostat, stuck_shut=False)
    return LoopDesign(
        hot=liquid("ethylene", loop.ethylene) if loop.ethylene else liquid(),
        cold=liquid(),
        conductance=GivenUA(loop.ua) if conductance is None else conductance,
        arrangement=loop.arrangement,
        shells=1,
        metal_capacity=loop.metal_capacity,
        metal_conductance=loop.metal_conductance,
        still_share=loop.still_share,
        full_flow=loop.full_flow,
        engine_air=loop.engine_air,
        oil_capacity=loop.oil_capacity,
        oil_cooler=loop.oil_cooler,
        oil_air=loop.oil_air,
        boil_temperature=loop.boil,
        tank_boil_temperature=loop.tank_boil if loop.tank_boil < 1e3 else NEVER,
        supply_mass=loop.supply_mass,
        return_mass=loop.return_mass,
        supply_air=loop.supply_air,
        return_air=loop.return_air,
        tank_air=loop.tank_air,
        tank_cells=loop.cells,
        wall_capacity=loop.wall if np.any(loop.wall) else None,
        short_circuit=loop.short,
        thermostat=thermostat,
        air_temperature=loop.air,
    )


def drive(piece: Stretch) -> LegDrive:
    """The engine's drive of a piece."""
    return LegDrive(
        piece.duration,
        piece.metal_heat,
        piece.oil_heat,
        piece.charge_heat,
        piece.hot_flow,
        piece.cold_flow,
        piece.cold_pump,
        piece.hot_pump,
        piece.sun,
        None,
    )


def run(
    loop: Loop, pieces: Sequence[Stretch | Service], conductance: Any = None, dead_mass: float = 0.0
) -> LoopRun:
    """Run the engine's loop."""
    ice = (
        None
        if loop.ice is None
        else IceCharge(loop.ice.mass, loop.ice.area, loop.ice.film, loop.ice.heat)
    )
    made = design(loop, conductance)
    state = start_state(
        made,
        coolant=loop.coolant_start,
        metal=loop.metal_start,
        oil=loop.oil_start,
        tank=loop.tank_start,
        jacket_mass=loop.coolant_mass,
        tank_mass=loop.tank_mass,
        ice=0.0 if loop.ice is None else loop.ice.mass,
    )
    plan = [(i, drive(p) if isinstance(p, Stretch) else p) for i, p in enumerate(pieces)]
    return run_loop(made, state, ice, dead_mass, plan)


def temperatures(made: LoopDesign, y: Sequence[Any]) -> np.ndarray:
    """Metal, coolant, oil and every cell of lines and tank [K]."""
    hot, cold = made.hot.temperature, made.cold.temperature
    return np.array([y[METAL], hot(y[JACKET]), y[OIL]] + [cold(h) for h in y[CELLS:]])


def variant(thing: Any, number: int) -> Any:
    """One variant of a description whose numbers are arrays."""
    if isinstance(thing, np.ndarray):
        return float(thing[number])
    if isinstance(thing, tuple):
        return tuple(variant(part, number) for part in thing)
    if is_dataclass(thing) and not isinstance(thing, type):
        return replace(
            thing, **{f.name: variant(getattr(thing, f.name), number) for f in fields(thing)}
        )
    return thing
