"""The car as a point mass, and the forces on it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.ops import Ops, Real

STANDARD_GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2] (ISO 80000-3)."""

SPEED_FLOOR = 0.05
"""Least speed [m/s] at which power is turned into thrust; below it thrust is held."""


@dataclass(frozen=True, slots=True)
class Vehicle:
    """What the equation of motion needs to know of the car.

    Every number may be an array with one entry a variant.

    Attributes
    ----------
    mass : float or ndarray
        Mass with driver, fuel and water [kg].
    drag_area : float or ndarray
        Drag coefficient times frontal area [m2].
    rolling_resistance : float or ndarray
        Rolling resistance coefficient at rest [-].
    driven_mass : float or ndarray
        Part of the mass that rests on the driven axle [kg].
    grip : float or ndarray
        Friction coefficient of the driven tyres on the course [-].
    rotating_factor : float or ndarray
        Effective mass over mass, for the inertia of what rotates [-]; 1 or more.
    rolling_speed_term : float or ndarray
        Coefficient c2 in Crr = c0 + c2 V^2 [s2/m2].
    downforce_area : float or ndarray
        Downforce coefficient times area, all of it on the driven axle [m2].
    driveline_efficiency : float or ndarray
        Power at the wheels over brake power [-].
    slip : float or ndarray
        Tyre surface speed over car speed, less one [-].
    grade : float or ndarray
        Rise over run, positive uphill [-]; the small-angle form holds below 0.1.
    gravity : float or ndarray
        Acceleration of gravity [m/s2].
    """

    mass: Real
    drag_area: Real
    rolling_resistance: Real
    driven_mass: Real
    grip: Real
    rotating_factor: Real = 1.0
    rolling_speed_term: Real = 0.0
    downforce_area: Real = 0.0
    driveline_efficiency: Real = 1.0
    slip: Real = 0.0
    grade: Real = 0.0
    gravity: Real = STANDARD_GRAVITY

    @property
    def effective_mass(self) -> Any:
        """Mass that the net force accelerates [kg]."""
        return self.mass * self.rotating_factor

    def fields(self) -> tuple[Real, ...]:
        """Return all numbers of the vehicle.

        Returns
        -------
        tuple of (float or ndarray)
            In the order of the attributes, in their units.
        """
        return tuple(getattr(self, name) for name in self.__slots__)


def resistance(
    vehicle: Vehicle, speed: Any, density: Any, wind: Any, extra_drag_area: Any = 0.0
) -> Any:
    """Force against the motion: drag, rolling resistance and grade. [poly]

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    speed : float or ndarray
        Car speed over ground [m/s].
    density : float or ndarray
        Air density [kg/m3].
    wind : float or ndarray
        Head wind [m/s]; negative from behind.
    extra_drag_area : float or ndarray
        Drag area added, such as a parachute's [m2].

    Returns
    -------
    float or ndarray
        Force [N]; may be negative downhill or with a strong tail wind.

    Notes
    -----
    D = 1/2 rho CdA (V + W)|V + W|; R = (c0 + c2 V^2)(m g + downforce); G = m g grade.
    Textbook longitudinal dynamics, e.g. Gillespie, Fundamentals of Vehicle Dynamics, ch. 4
    (from memory).
    """
    return resistance_law(vehicle, density, wind, extra_drag_area)(speed)


def resistance_law(
    vehicle: Vehicle, density: Any, wind: Any, extra_drag_area: Any = 0.0
) -> Callable[[Any], Any]:
    """Return :func:`resistance` as a function of speed alone, with all else worked out. [poly]

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    density, wind, extra_drag_area : float or ndarray
        As there [kg/m3], [m/s], [m2].

    Returns
    -------
    callable
        From car speed [m/s] to force [N].
    """
    weight = vehicle.mass * vehicle.gravity
    drag = 0.5 * density * (vehicle.drag_area + extra_drag_area)
    still = weight * (vehicle.rolling_resistance + vehicle.grade)
    rise = weight * vehicle.rolling_speed_term
    press = 0.5 * density * vehicle.downforce_area

    def force(speed: Any) -> Any:
        air = speed + wind
        return drag * (air * abs(air)) + rise * (speed * speed) + still

    def pressed(speed: Any) -> Any:
        air = speed + wind
        rolling = vehicle.rolling_resistance + vehicle.rolling_speed_term * speed * speed
        return force(speed) + rolling * (press * (air * air))

    return force if _none(vehicle.downforce_area) else pressed


def _none(value: Any) -> bool:
    return not isinstance(value, np.ndarray) and value == 0.0


def thrust(vehicle: Vehicle, speed: Any, power: Any, density: Any, wind: Any, xp: Ops) -> Any:
    """Force of the driven wheels on the car, limited by grip. [poly]

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    speed : float or ndarray
        Car speed [m/s].
    power : float or ndarray
        Brake power [W].
    density, wind : float or ndarray
        Air density [kg/m3] and head wind [m/s], for the downforce.
    xp : Ops
        Elementary functions for floats or arrays.

    Returns
    -------
    float or ndarray
        Force [N]: min(P eta/((1 + slip) V), mu N).

    Notes
    -----
    Below ``SPEED_FLOOR`` the speed in P/V is held there, so a start from rest is grip-limited.
    """
    return thrust_law(vehicle, density, wind, xp)(speed, power)


def thrust_law(
    vehicle: Vehicle, density: Any, wind: Any, xp: Ops
) -> Callable[[Any, Any], Any]:
    """Return :func:`thrust` as a function of speed and power alone. [poly]

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    density, wind : float or ndarray
        As there [kg/m3], [m/s].
    xp : Ops
        Elementary functions for floats or arrays.

    Returns
    -------
    callable
        From car speed [m/s] and brake power [W] to force [N].
    """
    share = vehicle.driveline_efficiency / (1.0 + vehicle.slip)
    held = vehicle.grip * (vehicle.driven_mass * vehicle.gravity)
    press = vehicle.grip * (0.5 * density * vehicle.downforce_area)

    def force(speed: Any, power: Any) -> Any:
        return xp.minimum(power * share / xp.maximum(speed, SPEED_FLOOR), held)

    def pressed(speed: Any, power: Any) -> Any:
        air = speed + wind
        limit = held + press * (air * air)
        return xp.minimum(power * share / xp.maximum(speed, SPEED_FLOOR), limit)

    return force if _none(vehicle.downforce_area) else pressed


def rolling_from_tyre_pressure(pressure: Real) -> tuple[Real, Real]:
    """Rolling resistance of a car tyre on a hard road from its inflation pressure. [poly]

    Parameters
    ----------
    pressure : float or ndarray
        Gauge pressure of the tyre [Pa]; 1.5 to 5 bar.

    Returns
    -------
    tuple of (float or ndarray)
        Coefficient at rest c0 [-] and speed term c2 [s2/m2] of Crr = c0 + c2 V^2.

    Notes
    -----
    c = 0.005 + (1/p)(0.01 + 0.0095 (v/100)^2) with p in bar and v in km/h: empirical, for car
    tyres on a dry road (engineering reference table of rolling resistance). Speeds above about
    150 km/h are outside its data, and a salt or lake bed adds its own give.
    """
    per_bar = 1e5 / pressure
    return 0.005 + 0.01 * per_bar, 0.0095 * (3.6 / 100.0) ** 2 * per_bar


SURFACES: dict[str, Estimate] = {
    "new asphalt or concrete": Estimate(0.0125, 0.010, 0.015, "", "Carvill, data handbook"),
    "worn asphalt": Estimate(0.020, 0.015, 0.025, "", "Carvill, data handbook"),
    "rolled gravel": Estimate(0.015, 0.010, 0.020, "", "Carvill, data handbook"),
    "hard dry lake bed": Estimate(
        0.025, 0.015, 0.030, "", COMMON_PRACTICE + ", from memory, low confidence"
    ),
    "damp lake bed": Estimate(
        0.045, 0.030, 0.060, "", COMMON_PRACTICE + ", from memory, low confidence"
    ),
    "loose gravel or medium-hard soil": Estimate(0.06, 0.04, 0.08, "", "Carvill, data handbook"),
    "loose sand": Estimate(0.3, 0.2, 0.4, "", "Carvill, data handbook"),
}
"""Rolling resistance coefficient of car tyres by surface."""

ROLLING_RESISTANCE = Estimate(0.025, 0.015, 0.06, "", COMMON_PRACTICE)
"""Default rolling resistance coefficient."""

WHEEL_SLIP = Estimate(0.08, 0.03, 0.15, "", COMMON_PRACTICE)
"""Default slip of the driven tyres at full power on a loose surface."""
