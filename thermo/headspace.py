"""Tank pressure and gas space over an event, through every opening and sealing of the lid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo import ice
from thermo.cooling import Cooling
from thermo.gas import FloatArray
from thermo.inputs.tank import Tank
from thermo.loop_state import LINE_CELLS
from thermo.ops import least, most, ops_of, plain
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

SAFE_SEALED = 20e3
"""Pressure that a tank without relief may see before it is a danger [Pa]: common practice for
flat-sided tanks."""


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
    headspace_needed : float or ndarray
        Headspace at sealing that keeps the peak at the set pressure [m3]; infinite when none
        suffices.
    vacuum : float or ndarray
        Least gauge pressure of the event, and after cooling to the air's temperature [Pa]; zero
        or negative.
    expansion : float or ndarray
        Largest growth of the water since sealing [m3].
    shut_peak : float or ndarray
        Highest gauge pressure had the closure stayed shut [Pa].
    pushed_out : float or ndarray
        Liquid that has left through relief or cap [m3].
    """

    gauge: FloatArray
    gas_volume: FloatArray
    headspace_needed: Any
    vacuum: Any
    expansion: Any
    shut_peak: Any
    pushed_out: Any


def water_volumes(cooling: Cooling, water: Water) -> tuple[FloatArray, FloatArray]:
    """Return water volume in the tank, and growth of the lines' water, row by row [m3].

    Parameters
    ----------
    cooling : Cooling
    water : Water

    Returns
    -------
    tuple of ndarray
        Ice counts into the tank's volume; the lines' growth is from sealing.
    """
    rho = cooling.design.cold.density
    cells = water.tank.shape[1]
    tank = (water.tank_mass[:, None] / cells / rho(water.tank)).sum(axis=1)
    tank = tank + cooling.dead_mass / rho(water.dead) + water.ice / ice.DENSITY
    design = cooling.design
    cold = rho(cooling.sealing_temperature)
    growth = 1.0 / rho(water.lines) - 1.0 / cold
    lines = design.supply_mass * growth[:, :LINE_CELLS].sum(axis=1)
    lines = lines + design.return_mass * growth[:, LINE_CELLS:].sum(axis=1)
    return tank, lines


def tank_pressure(tank: Tank, air: Air, cooling: Cooling, water: Water, seals: Any) -> TankPressure:
    """Follow the headspace through an event. [poly]

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
    in_tank, in_lines = water_volumes(cooling, water)
    hottest = water.tank.max(axis=1)
    room = tank.volume - in_tank - in_lines
    vapour = liquid.saturation_pressure(hottest)
    ambient = air.pressure
    limit = tank.relief_pressure if tank.closure not in NO_RELIEF else float("inf")
    around = Surroundings(ambient, limit, plain(in_tank[0]))
    seal_at = cooling.sealing_temperature
    first = ambient if tank.sealing_pressure is None else tank.sealing_pressure
    room = room + 0.0 * (ambient + most_gauge(tank) + tank.fill + first + seal_at + tank.precharge)
    gauge = np.empty(room.shape)
    state = Headspace(0.0)
    shut: Any = 0.0
    pushed: Any = 0.0
    for seal in range(int(seals[-1]) + 1):
        rows = np.flatnonzero(seals == seal)
        if len(rows) == 0:
            continue
        begun = (plain(hottest[rows[0]]), plain(room[rows[0]]))
        state = sealed_tank(tank, air, cooling, seal, begun).state
        closed = gas_pressure(state.gas, room[rows], hottest[rows], vapour[rows], around)
        shut = most((shut, plain(np.max(closed, axis=0)) - ambient))
        found, state = pressure_history(
            tank.closure,
            state,
            _rows(room[rows]),
            _rows(hottest[rows]),
            _rows(vapour[rows]),
            around,
        )
        gauge[rows] = np.asarray(found) - ambient
        pushed = pushed + state.lost
    growth = plain(np.max(room[0] - room, axis=0)) + (
        (1.0 - tank.fill) * tank.volume - plain(room[0])
    )
    bound, begun_at = ambient + most_gauge(tank), sealed_tank(tank, air, cooling, 0)
    needed = (
        0.0
        if tank.closure == "vented"
        else headspace_needed(
            most((growth, 0.0)),
            bound,
            (begun_at.pressure, begun_at.temperature, begun_at.vapour),
            plain(np.max(hottest, axis=0)),
            vapour_in_gas(tank, plain(np.max(vapour, axis=0)), bound),
        )
    )
    cold = _cooled(tank, air, cooling, state, water, plain(in_tank[-1]))
    lowest = least((cold, plain(np.min(gauge, axis=0)), 0.0))
    return TankPressure(gauge, room, needed, lowest, growth, shut, pushed)


def most_gauge(tank: Tank) -> Any:
    """Return the gauge pressure that the tank is not to exceed [Pa]. [poly]

    Parameters
    ----------
    tank : Tank

    Returns
    -------
    float or ndarray
        At which relief or cap lifts; of a tank that has neither, what such a one may see.
    """
    if tank.closure not in NO_RELIEF:
        return tank.relief_pressure
    # A bladder is meant to hold its precharge; what it may add to that is the same.
    return SAFE_SEALED + (tank.precharge if tank.closure == "bladder" else 0.0)


def vapour_in_gas(tank: Tank, vapour: Any, bound: Any) -> Any:
    """Return what the hot water's vapour takes of the pressure allowed to the gas. [poly]

    Parameters
    ----------
    tank : Tank
    vapour : float or ndarray
        Vapour pressure of the hottest water [Pa].
    bound : float or ndarray
        Absolute pressure that the tank is not to exceed [Pa].

    Returns
    -------
    float or ndarray
        [Pa]; nothing behind a bladder's skin, unless the water boils at that pressure.
    """
    if tank.closure != "bladder":
        return vapour
    return ops_of(vapour, bound).where(vapour > bound, vapour, 0.0)


def lifts(tank: Tank, gauge: Any) -> Any:
    """Say whether relief or cap lifts at a gauge pressure [Pa]; rounding of its setting aside."""
    return gauge >= tank.relief_pressure * (1.0 - 1e-9)


def _rows(values: FloatArray) -> list[Any]:
    """Return the rows of a column: floats for one event, which are quicker, or arrays."""
    return values.tolist() if values.ndim == 1 else list(values)


@dataclass(frozen=True, slots=True)
class Sealed:
    """A tank at the moment its lid is shut.

    Attributes
    ----------
    pressure, temperature, gas_volume, vapour : float or ndarray
        Absolute pressure [Pa], temperature [K], gas space [m3] and vapour pressure [Pa].
    state : Headspace
    """

    pressure: Any
    temperature: Any
    gas_volume: Any
    vapour: Any
    state: Headspace


def sealed_tank(
    tank: Tank, air: Air, cooling: Cooling, seal: int, first: tuple[Any, Any] = (0.0, 0.0)
) -> Sealed:
    """Return the tank as its lid is shut for the first time, or anew. [poly]

    Parameters
    ----------
    tank : Tank
    air : Air
    cooling : Cooling
    seal : int
        How often the lid has been opened before.
    first : tuple of (float or ndarray)
        When opened before: the hottest water [K] and the gas space [m3] as it is shut.

    Returns
    -------
    Sealed
    """
    temperature, gas = first
    pressure = air.pressure
    if seal == 0:
        temperature, gas = cooling.sealing_temperature, (1.0 - tank.fill) * tank.volume
        pressure = air.pressure if tank.sealing_pressure is None else tank.sealing_pressure
    vapour = cooling.design.cold.saturation_pressure(temperature)
    if tank.closure == "bladder":
        pressure, vapour = air.pressure + tank.precharge, 0.0
    gas = most((gas, 0.0))
    state = sealed_headspace(pressure, temperature, gas, vapour)
    return Sealed(pressure, temperature, gas, vapour, state)


def cooled_room(tank: Tank, air: Air, cooling: Cooling, water: Water) -> tuple[Any, Any]:
    """Return gas space and temperature after all the water has cooled to the air. [poly]

    Parameters
    ----------
    tank : Tank
    air : Air
    cooling : Cooling
    water : Water
        Its last row is what cools.

    Returns
    -------
    tuple of (float or ndarray)
        [m3], [K]; half a kelvin over freezing at the least.
    """
    t = most((air.temperature, cooling.design.cold.t_low + 0.5))
    cold = Water(
        water.tank_mass[-1:],
        0.0 * water.tank[-1:] + t,
        0.0 * water.dead[-1:] + t,
        0.0 * water.lines[-1:] + t,
        water.ice[-1:],
    )
    tank_volume, lines = water_volumes(cooling, cold)
    return tank.volume - plain(tank_volume[0]) - plain(lines[0]), t


def _cooled(
    tank: Tank, air: Air, cooling: Cooling, state: Headspace, water: Water, in_tank: Any
) -> Any:
    """Gauge pressure after all the water has cooled to the air's temperature [Pa]."""
    liquid = cooling.design.cold
    room, t = cooled_room(tank, air, cooling, water)
    around = Surroundings(air.pressure, float("inf"), in_tank)
    found, _ = pressure_history(
        tank.closure, state, [room], [t], [liquid.saturation_pressure(t)], around
    )
    return plain(found[0]) - air.pressure
