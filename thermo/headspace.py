"""Tank pressure and gas space over an event, through every opening and sealing of the lid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo import ice
from thermo.cooling import Cooling
from thermo.gas import FloatArray
from thermo.inputs.tank import Tank
from thermo.loop import LINE_CELLS
from thermo.site import Air
from thermo.tank import (
    Headspace,
    Surroundings,
    gas_pressure,
    headspace_needed,
    pressure_history,
    sealed_headspace,
)

NO_RELIEF = ("sealed", "bladder")
"""Closures without a working relief."""

USUAL_RELIEF = 35e3
"""Limit at which the headspace of a tank without relief is sized [Pa]: common practice."""


@dataclass(frozen=True, slots=True)
class Water:
    """Where the cold loop's water is, row by row.

    Attributes
    ----------
    tank_mass : ndarray, shape (rows,)
        Active water [kg].
    tank : ndarray, shape (rows, cells)
        Temperature of the tank's cells [K].
    dead : ndarray, shape (rows,)
        Temperature of the water that takes no part [K].
    lines : ndarray, shape (rows, 6)
        Temperature of the line cells [K].
    ice : ndarray, shape (rows,)
        [kg].
    """

    tank_mass: FloatArray
    tank: FloatArray
    dead: FloatArray
    lines: FloatArray
    ice: FloatArray


@dataclass(frozen=True, slots=True)
class TankPressure:
    """Pressure and gas space over the event.

    Attributes
    ----------
    gauge : ndarray
        [Pa].
    gas_volume : ndarray
        Gas space had none of the liquid left [m3]; zero or below is hydraulic lock.
    headspace_needed : float
        Headspace at sealing that keeps the peak at the set pressure [m3]; infinite when none
        suffices.
    vacuum : float
        Least gauge pressure of the event, and after cooling to the air's temperature [Pa]; zero
        or negative.
    expansion : float
        Largest growth of the water since sealing [m3].
    shut_peak : float
        Highest gauge pressure had the closure stayed shut [Pa].
    pushed_out : float
        Liquid that has left through relief or cap [m3].
    """

    gauge: FloatArray
    gas_volume: FloatArray
    headspace_needed: float
    vacuum: float
    expansion: float
    shut_peak: float
    pushed_out: float


def _volumes(cooling: Cooling, water: Water) -> tuple[FloatArray, FloatArray]:
    """Return water volume in the tank, and growth of the lines' water, row by row [m3]."""
    rho = cooling.design.cold.density
    cells = water.tank.shape[1]
    tank = (water.tank_mass[:, None] / cells / rho(water.tank)).sum(axis=1)
    tank = tank + cooling.dead_mass / rho(water.dead) + water.ice / ice.DENSITY
    design = cooling.design
    masses = np.array([design.supply_mass] * LINE_CELLS + [design.return_mass] * LINE_CELLS)
    cold = float(rho(cooling.sealing_temperature))
    lines = (masses * (1.0 / rho(water.lines) - 1.0 / cold)).sum(axis=1)
    return tank, lines


def tank_pressure(tank: Tank, air: Air, cooling: Cooling, water: Water, seals: Any) -> TankPressure:
    """Follow the headspace through an event.

    Parameters
    ----------
    tank : Tank
    air : Air
    cooling : Cooling
    water : Water
    seals : ndarray of int
        How often the lid has been opened before each row.

    Returns
    -------
    TankPressure
        Expansion counts all the water of the cold loop; gas and vapour take the hottest cell.
    """
    liquid = cooling.design.cold
    in_tank, in_lines = _volumes(cooling, water)
    hottest = water.tank.max(axis=1)
    room = tank.volume - in_tank - in_lines
    vapour = liquid.saturation_pressure(hottest)
    ambient = air.pressure
    limit = tank.relief_pressure if tank.closure not in NO_RELIEF else float("inf")
    around = Surroundings(ambient, limit, float(in_tank[0]))
    seal_at = cooling.sealing_temperature
    first = ambient if tank.sealing_pressure is None else tank.sealing_pressure
    gauge = np.empty(len(room))
    state = Headspace(0.0)
    shut = pushed = 0.0
    for seal in range(int(seals[-1]) + 1):
        rows = np.flatnonzero(seals == seal)
        if len(rows) == 0:
            continue
        t0, gas = (
            (seal_at, (1.0 - tank.fill) * tank.volume)
            if seal == 0
            else (float(hottest[rows[0]]), float(room[rows[0]]))
        )
        pressure = first if seal == 0 else ambient
        state = _seal(tank, liquid, pressure, ambient, t0, max(gas, 0.0))
        shut = max(
            shut,
            float(np.max(gas_pressure(state.gas, room[rows], hottest[rows], vapour[rows], around)))
            - ambient,
        )
        found, state = pressure_history(
            tank.closure,
            state,
            room[rows].tolist(),
            hottest[rows].tolist(),
            vapour[rows].tolist(),
            around,
        )
        gauge[rows] = np.asarray(found) - ambient
        pushed += float(state.lost)
    growth = float(np.max(room[0] - room)) + ((1.0 - tank.fill) * tank.volume - float(room[0]))
    peak = int(np.argmax(hottest))
    bound = ambient + (tank.relief_pressure if tank.closure not in NO_RELIEF else USUAL_RELIEF)
    needed = (
        0.0
        if tank.closure == "vented"
        else float(
            headspace_needed(
                max(growth, 0.0),
                bound,
                (first, seal_at, float(liquid.saturation_pressure(seal_at))),
                float(hottest[peak]),
                float(vapour[peak]),
            )
        )
    )
    cold = _cooled(tank, air, cooling, state, water, float(in_tank[-1]))
    least = min(cold, float(np.min(gauge)), 0.0)
    return TankPressure(gauge, room, needed, least, growth, shut, pushed)


def _seal(
    tank: Tank, liquid: Any, pressure: float, ambient: float, temperature: float, gas: float
) -> Headspace:
    if tank.closure == "bladder":
        made = sealed_headspace(ambient + tank.precharge, temperature, gas, 0.0)
    else:
        made = sealed_headspace(
            pressure, temperature, gas, float(liquid.saturation_pressure(temperature))
        )
    return Headspace(float(made.gas), float(made.lost))


def _cooled(
    tank: Tank, air: Air, cooling: Cooling, state: Headspace, water: Water, in_tank: float
) -> float:
    """Gauge pressure after all the water has cooled to the air's temperature [Pa]."""
    liquid = cooling.design.cold
    t = max(air.temperature, float(liquid.t_low) + 0.5)
    cold = Water(
        water.tank_mass[-1:],
        np.full_like(water.tank[-1:], t),
        np.full(1, t),
        np.full_like(water.lines[-1:], t),
        water.ice[-1:],
    )
    tank_volume, lines = _volumes(cooling, cold)
    room = tank.volume - float(tank_volume[0]) - float(lines[0])
    around = Surroundings(air.pressure, float("inf"), in_tank)
    found, _ = pressure_history(
        tank.closure, state, [room], [t], [float(liquid.saturation_pressure(t))], around
    )
    return float(found[0]) - air.pressure
