"""The tank's headspace: pressure of gas and vapour over water that expands, by kind of closure.

All the water of the cold loop expands into the tank's headspace. Gas and vapour take the
temperature of the hottest cell. The amount of dry gas is kept as p V/T [J/K].
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.ops import Ops, Real, ops_of, within

LIQUID_COMPRESSIBILITY = 4.5e-10
"""Isothermal compressibility of water for the headspace [1/Pa]: 4.4e-10 to 4.9e-10 over 10 to
100 degC (Kell 1975, see :mod:`thermo.trapped`). It matters only when the gas is nearly gone."""


def water_mass(volume: Any, fill: Any, density: Any) -> Any:
    """Mass of water in the tank as filled. [poly]

    Parameters
    ----------
    volume : float or ndarray
        Inside volume [m3].
    fill : float or ndarray
        Share of it that is filled [-].
    density : float or ndarray
        Density of the water then [kg/m3].

    Returns
    -------
    float or ndarray
        Mass [kg].
    """
    return volume * fill * density


def expansion_volume(
    volumes: Sequence[Any], density_at_sealing: Any, densities: Sequence[Any]
) -> Any:
    """Volume by which all the water of the loop has grown since the tank was sealed. [poly]

    Parameters
    ----------
    volumes : sequence of (float or ndarray)
        Volume of each cell of tank, lines and exchanger at sealing [m3].
    density_at_sealing : float or ndarray
        Density of the water then [kg/m3].
    densities : sequence of (float or ndarray)
        Density of each cell now [kg/m3].

    Returns
    -------
    float or ndarray
        Volume taken from the headspace [m3]; negative when the water has shrunk.
    """
    total: Any = 0.0
    for volume, density in zip(volumes, densities, strict=True):
        total = total + volume * (density_at_sealing / density - 1.0)
    return total


def bottle_volume(volume: Any, density_cold: Any, density_hot: Any) -> Any:
    """Volume an overflow bottle must hold when a brim-full loop warms up. [poly]

    Parameters
    ----------
    volume : float or ndarray
        Volume of the loop [m3].
    density_cold, density_hot : float or ndarray
        Density at filling and when hot [kg/m3].

    Returns
    -------
    float or ndarray
        Volume of hot water pushed out, V (rho0/rho - 1) [m3].
    """
    return volume * (density_cold / density_hot - 1.0)


@dataclass(frozen=True, slots=True)
class Headspace:
    """What the tank holds over its water, as far as its past decides it.

    Attributes
    ----------
    gas : float or ndarray
        Dry gas, or the bladder's gas, as p V/T [J/K].
    lost : float or ndarray
        Liquid that has left through relief or cap since sealing [m3].
    """

    gas: Real
    lost: Real = 0.0


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What bounds the headspace from outside.

    Attributes
    ----------
    ambient : float or ndarray
        Ambient pressure [Pa].
    set_pressure : float or ndarray
        Gauge pressure at which the relief or the cap lifts [Pa].
    liquid_volume : float or ndarray
        Water in the tank [m3]; it gives a little once the gas is gone.
    """

    ambient: Real
    set_pressure: Real
    liquid_volume: Real


def sealed_headspace(
    pressure: Any, temperature: Any, gas_volume: Any, vapour_pressure: Any
) -> Headspace:
    """Headspace of a tank at the moment its lid is shut. [poly]

    Parameters
    ----------
    pressure : float or ndarray
        Absolute pressure of the gas when shut [Pa]; a bladder's precharge.
    temperature : float or ndarray
        Temperature of gas and water then [K].
    gas_volume : float or ndarray
        Volume over the water [m3].
    vapour_pressure : float or ndarray
        Vapour pressure of the water then [Pa]; zero for a bladder, whose gas is dry.

    Returns
    -------
    Headspace
        With the dry gas (p - pv) V/T, none when the water boils at that pressure.
    """
    xp = ops_of(pressure, temperature, gas_volume, vapour_pressure)
    return Headspace(xp.maximum(pressure - vapour_pressure, 0.0) * gas_volume / temperature)


def gas_pressure(
    gas: Any, gas_volume: Any, temperature: Any, vapour_pressure: Any, around: Surroundings
) -> Any:
    """Pressure of gas and vapour shut in over liquid that gives a little. [poly]

    Parameters
    ----------
    gas : float or ndarray
        Dry gas as p V/T [J/K].
    gas_volume : float or ndarray
        Volume left for it by liquid at ambient pressure [m3]; negative when the liquid would
        need more than the vessel has.
    temperature : float or ndarray
        Temperature of gas and vapour [K].
    vapour_pressure : float or ndarray
        Vapour pressure at that temperature [Pa].
    around : Surroundings
        Ambient pressure and the volume of the liquid.

    Returns
    -------
    float or ndarray
        Absolute pressure [Pa]: (p - pv)(V + kappa V_l (p - pa)) = (gas) T. With gas left this
        is the ideal gas law plus vapour pressure; without, the liquid against rigid walls.
    """
    xp = ops_of(gas, gas_volume, temperature, vapour_pressure, around.ambient)
    give = LIQUID_COMPRESSIBILITY * around.liquid_volume
    room = gas_volume + give * (vapour_pressure - around.ambient)
    charge = gas * temperature
    root = xp.sqrt(room * room + 4.0 * give * charge)
    # the stable form of the quadratic's positive root on each side of zero
    open_ = 2.0 * charge / xp.maximum(room + root, 1e-30)
    shut = (root - room) / (2.0 * xp.maximum(give, 1e-30))
    return vapour_pressure + xp.where(room > 0.0, open_, shut)


_Step = tuple[Any, Headspace]


def _sealed(
    state: Headspace, room: Any, warm: Any, vapour: Any, around: Surroundings, xp: Ops
) -> _Step:
    return gas_pressure(state.gas, room, warm, vapour, around), state


def _relieved(
    state: Headspace, room: Any, warm: Any, vapour: Any, around: Surroundings, xp: Ops
) -> _Step:
    limit = around.ambient + around.set_pressure
    left = room + state.lost
    shut = gas_pressure(state.gas, left, warm, vapour, around)
    lifts = shut > limit
    # At the set pressure the liquid gives a little: what is left to the gas, or over its room.
    space = left + LIQUID_COMPRESSIBILITY * around.liquid_volume * (limit - around.ambient)
    kept = xp.maximum(limit - vapour, 0.0) * xp.maximum(space, 0.0) / warm
    gas = xp.where(lifts, xp.minimum(state.gas, kept), state.gas)
    lost = state.lost + xp.where(lifts, xp.maximum(-space, 0.0), 0.0)
    return xp.minimum(shut, limit), Headspace(gas, lost)


def _bottled(
    state: Headspace, room: Any, warm: Any, vapour: Any, around: Surroundings, xp: Ops
) -> _Step:
    pressure, after = _relieved(state, room, warm, vapour, around, xp)
    left = xp.maximum(room + after.lost, 0.0)
    draws = pressure < around.ambient
    gas = xp.where(draws, xp.maximum(around.ambient - vapour, 0.0) * left / warm, after.gas)
    return xp.maximum(pressure, around.ambient), Headspace(gas, after.lost)


def _vented(
    state: Headspace, room: Any, warm: Any, vapour: Any, around: Surroundings, xp: Ops
) -> _Step:
    return around.ambient + 0.0 * (room + warm), state


def _bladder(
    state: Headspace, room: Any, warm: Any, vapour: Any, around: Surroundings, xp: Ops
) -> _Step:
    return xp.maximum(gas_pressure(state.gas, room, warm, 0.0, around), vapour), state


CLOSURES: dict[
    str, Callable[[Headspace, Any, Any, Any, Surroundings, Ops], _Step]
] = {
    "sealed-relief": _relieved,
    "sealed": _sealed,
    "overflow-bottle": _bottled,
    "vented": _vented,
    "bladder": _bladder,
}
"""What each kind of closure makes of the headspace, by name."""


def headspace_pressure(
    closure: str,
    state: Headspace,
    gas_volume: Any,
    temperature: Any,
    vapour_pressure: Any,
    around: Surroundings,
) -> tuple[Any, Headspace]:
    """Pressure in the tank now, and what is left in it for later. [poly]

    Parameters
    ----------
    closure : str
        A name in ``CLOSURES``.
    state : Headspace
        Gas left, and liquid lost so far.
    gas_volume : float or ndarray
        Volume over the water had none been lost: at sealing, less the expansion [m3].
    temperature : float or ndarray
        Of the hottest cell [K].
    vapour_pressure : float or ndarray
        Of the water at that temperature [Pa].
    around : Surroundings
        Ambient pressure, set pressure, liquid.

    Returns
    -------
    tuple of (float or ndarray, Headspace)
        Absolute pressure [Pa] and the headspace after.

    Raises
    ------
    KeyError
        If the closure is not in ``CLOSURES``.

    Notes
    -----
    With relief or cap the pressure stops at ambient plus set pressure: gas leaves first, liquid
    when no gas is left; whether the opening passes enough is for :mod:`thermo.relief`. A cap
    with a bottle draws back when cooling, so it holds no vacuum; a sealed tank that lost gas
    does. The bladder's gas is dry; water whose vapour pressure exceeds it boils and pushes back.
    """
    xp = ops_of(
        state.gas, state.lost, gas_volume, temperature, around.ambient, around.set_pressure,
        around.liquid_volume,
    )
    return CLOSURES[closure](state, gas_volume, temperature, vapour_pressure, around, xp)


def pressure_history(
    closure: str,
    state: Headspace,
    gas_volumes: Any,
    temperatures: Any,
    vapour_pressures: Any,
    around: Surroundings,
) -> tuple[Any, Headspace]:
    """Pressure over an event, gas once lost staying lost. [poly]

    Parameters
    ----------
    closure : str
        A name in ``CLOSURES``.
    state : Headspace
        At the start.
    gas_volumes, temperatures, vapour_pressures : ndarray or sequence
        As in `headspace_pressure`, one entry a moment along the first axis [m3, K, Pa].
    around : Surroundings
        Ambient pressure, set pressure, liquid.

    Returns
    -------
    tuple of (ndarray, Headspace)
        Absolute pressure at each moment [Pa] and the headspace after the last.
    """
    pressures = []
    for room, warm, vapour in zip(gas_volumes, temperatures, vapour_pressures, strict=True):
        pressure, state = headspace_pressure(closure, state, room, warm, vapour, around)
        pressures.append(pressure)
    return np.array(pressures), state


def headspace_needed(
    expansion: Any,
    limit: Any,
    sealing: tuple[Any, Any, Any],
    temperature: Any,
    vapour_pressure: Any,
) -> Any:
    """Headspace at sealing that keeps the pressure at a limit when hot. [poly]

    Parameters
    ----------
    expansion : float or ndarray
        Growth of all the water of the loop [m3].
    limit : float or ndarray
        Absolute pressure not to exceed [Pa].
    sealing : tuple of (float or ndarray)
        Pressure [Pa], temperature [K] and vapour pressure [Pa] when the lid is shut.
    temperature, vapour_pressure : float or ndarray
        Of the hottest cell when hot [K], [Pa].

    Returns
    -------
    float or ndarray
        Volume [m3]; infinite when no headspace suffices, because even an endless one reaches
        (pa - pv0) T/T0 + pv > limit.

    Notes
    -----
    (limit - pv)(V - dV) = (ps - pv0)(T/T0) V solved for V.
    """
    xp = ops_of(expansion, limit, temperature, vapour_pressure, *sealing)
    pressure, start, vapour_then = sealing
    allowed = limit - vapour_pressure
    endless = (pressure - vapour_then) * temperature / start
    spare = allowed - endless
    volume = allowed * xp.maximum(expansion, 0.0) / xp.maximum(spare, 1e-9)
    return xp.where(spare > 0.0, volume, math.inf)


def centre_of_mass_shift(
    car_mass: Any, car_centre: Any, water: Any, tank_centre: Any
) -> Any:
    """Shift of the car's centre of mass when the tank is filled. [poly]

    Parameters
    ----------
    car_mass : float or ndarray
        Car without the water [kg].
    car_centre : float or ndarray
        Its centre of mass, behind the nose [m].
    water : float or ndarray
        Mass of water [kg].
    tank_centre : float or ndarray
        Middle of the tank, behind the nose [m].

    Returns
    -------
    float or ndarray
        Shift [m], positive to the rear.

    Raises
    ------
    RangeError
        If there is no mass.
    """
    total = car_mass + water
    within("mass of car and water", total, 0.0, math.inf, "kg", open_low=True)
    return water * (tank_centre - car_centre) / total
