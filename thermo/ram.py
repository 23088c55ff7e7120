"""The air that meets the opening: ram pressure and temperature from the car's speed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermo.errors import RangeError
from thermo.gas import (
    Gas,
    speed_of_sound,
    stagnation_pressure_ratio,
    stagnation_temperature_ratio,
)
from thermo.ops import Real


@dataclass(frozen=True, slots=True)
class RamState:
    """Air at the opening, for each car speed.

    Attributes
    ----------
    air_speed : float or ndarray
        Car speed plus head wind [m/s].
    mach : float or ndarray
        Mach number of the air that meets the car [-].
    ambient_pressure : float or ndarray
        Static pressure of the still air [Pa].
    stagnation_pressure : float or ndarray
        Isentropic stagnation pressure of the free stream [Pa].
    stagnation_temperature : float or ndarray
        Stagnation temperature [K].
    delivered_pressure : float or ndarray
        Stagnation pressure that the opening hands to the duct [Pa].
    """

    air_speed: Real
    mach: Real
    ambient_pressure: Real
    stagnation_pressure: Real
    stagnation_temperature: Real
    delivered_pressure: Real

    @property
    def ram(self) -> Real:
        """Full ram, free-stream stagnation less static pressure [Pa]."""
        return self.stagnation_pressure - self.ambient_pressure

    @property
    def gain(self) -> Real:
        """Ram at the opening, delivered less static pressure [Pa]."""
        return self.delivered_pressure - self.ambient_pressure


def ram_state(
    speed: Real,
    head_wind: Real,
    pressure: Real,
    temperature: Real,
    gas: Gas,
    recovery: Real = 1.0,
    pressure_coefficient: Real = 1.0,
) -> RamState:
    """Return the state of the air at the opening.

    Parameters
    ----------
    speed : float or ndarray
        Car speed over the ground, 0 or more [m/s].
    head_wind : float or ndarray
        Wind against the car; negative with the wind behind [m/s].
    pressure : float or ndarray
        Ambient static pressure [Pa].
    temperature : float or ndarray
        Ambient static temperature [K].
    gas : Gas
        Moist air at that place.
    recovery : float or ndarray, optional
        Share of the stagnation rise that survives the nose ahead of the opening, above 0 and up
        to 1 [-].
    pressure_coefficient : float or ndarray, optional
        Local pressure coefficient of the opening, -3 to 1: 1 at the stagnation point, 0 on a
        flank, negative in a suction region [-].

    Returns
    -------
    RamState
        Pressures and temperature. The opening delivers
        p + Cp recovery (p0 - p); a negative coefficient subtracts. Where the air speed is below
        zero the nose is the lee side: the opening then sees the still air, with no gain and the
        ambient temperature.

    Raises
    ------
    RangeError
        Speed below zero, recovery or coefficient out of range, or Mach number of 1 or more.

    Notes
    -----
    NACA Report 1135 (1953), eq. 43 and 44. Scaling the rise by the coefficient and the recovery
    is common practice; the coefficient is that of slow flow.
    """
    _within("car speed", speed, 0.0, np.inf, "m/s")
    _within("inlet recovery", recovery, 0.0, 1.0)
    _within("pressure coefficient of the opening", pressure_coefficient, -3.0, 1.0)
    air_speed = speed + head_wind
    forward = np.maximum(air_speed, 0.0)
    mach = forward / speed_of_sound(temperature, gas.gas_constant, gas.gamma)
    _within("Mach number of the car", mach, 0.0, np.nextafter(1.0, 0.0))
    stagnation = pressure * stagnation_pressure_ratio(mach, gas.gamma)
    return RamState(
        air_speed=air_speed,
        mach=mach,
        ambient_pressure=pressure,
        stagnation_pressure=stagnation,
        stagnation_temperature=temperature * stagnation_temperature_ratio(mach, gas.gamma),
        delivered_pressure=pressure + pressure_coefficient * recovery * (stagnation - pressure),
    )


def momentum_drag(mass_flow: Real, air_speed: Real) -> Real:
    """Return the momentum drag of the captured air, m V.

    Parameters
    ----------
    mass_flow : float or ndarray
        Air taken in [kg/s].
    air_speed : float or ndarray
        Car speed plus head wind [m/s].

    Returns
    -------
    float or ndarray
        Drag [N]. Any inlet pays it: it is shown and not subtracted.

    Notes
    -----
    Momentum balance on the captured stream tube; the exhaust's thrust is not credited.
    """
    return mass_flow * air_speed


def _within(name: str, value: Real, low: float, high: float, unit: str = "") -> None:
    """Raise RangeError with the first entry of `value` [in `unit`] outside low to high."""
    entries = np.atleast_1d(np.asarray(value, dtype=np.float64))
    bad = ~((entries >= low) & (entries <= high))
    if np.any(bad):
        error = RangeError(name, float(entries[bad][0]), low, high, unit)
        error.where = bad if isinstance(value, np.ndarray) else None
        raise error
