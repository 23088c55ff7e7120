"""The car on its course under power.

A point mass on a straight course. The pass is integrated over distance in kinetic-energy form, or
over time, with a fixed number of Runge-Kutta steps, so that one formula serves a single run
(floats) and an ensemble (arrays with one entry a variant). The coast-down is in
:mod:`thermo.coasting`.

Wheel power is limited by grip. Heat follows the engine, not the wheels: the brake power in a
trace is what the engine makes at that speed, even while the tyres slip.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from thermo.errors import InfeasibleError, RangeError
from thermo.ops import FLOATS, Ops, Real, ops_of
from thermo.trace import Trace
from thermo.vehicle import (
    SPEED_FLOOR,
    Vehicle,
    resistance,
    resistance_law,
    thrust,
    thrust_law,
)

DRIVE_STEPS = 240
"""Steps of a driven pass. Measured against 4,000 steps in ``tests/physics/test_course.py``:
time and top speed within 0.02 % for a smooth power curve, 0.1 % across gear changes."""

LONGEST_STEP = 2.0
"""Longest step over time [s]. A leg of hours takes more than `DRIVE_STEPS` steps: with a few long
ones a car that slows within seconds would be followed through nonsense."""

PowerAt = Callable[[Any], Any]
"""Brake power [W] at a car speed [m/s]; works on floats and on arrays."""

TINY = 1e-12
"""What stands for zero in a divisor."""


def check_positive(name: str, value: Any, unit: str) -> None:
    """Refuse a value, or one of an array, that is not above zero."""
    low = float(np.min(value))
    if not low > 0.0:
        raise RangeError(name, low, 0.0, math.inf, unit)


def gather(
    rows: list[tuple[Any, Any, Any, Any]], reached: Any, stopped_at: Any, shape: tuple[int, ...]
) -> Trace:
    """Stack the rows (time, speed, distance, power) of an integration into a trace."""
    if shape == ():
        single = np.array(rows, dtype=np.float64).T
        return Trace(
            single[0], single[1], single[2], single[3], bool(reached), float(stopped_at)
        )
    time, speed, distance, power = (
        np.stack([np.broadcast_to(np.asarray(row[k], dtype=np.float64), shape) for row in rows])
        for k in range(4)
    )
    return Trace(time, speed, distance, power, np.asarray(reached), np.asarray(stopped_at))


def _pull(
    power_at: PowerAt, vehicle: Vehicle, density: Any, wind: Any, xp: Ops
) -> Callable[[Any], tuple[Any, Any]]:
    """Return the function speed -> (acceleration under full power, brake power)."""
    mass = vehicle.effective_mass
    push, hold = thrust_law(vehicle, density, wind, xp), resistance_law(vehicle, density, wind)

    def pull(v: Any) -> tuple[Any, Any]:
        power = power_at(xp.maximum(v, SPEED_FLOOR))
        return (push(v, power) - hold(v)) / mass, power

    return pull


def drive_distance(
    power_at: PowerAt,
    vehicle: Vehicle,
    density: Real,
    wind: Real,
    distance: Real,
    start_speed: Real,
    steps: int = DRIVE_STEPS,
) -> Trace:
    """Drive a given distance at full power. [poly]

    Parameters
    ----------
    power_at : callable
        Brake power [W] at a car speed [m/s].
    vehicle : Vehicle
        The car.
    density : float or ndarray
        Air density [kg/m3].
    wind : float or ndarray
        Head wind [m/s].
    distance : float or ndarray
        Length of the leg [m]; above zero.
    start_speed : float or ndarray
        Speed at its start, such as that of a push [m/s]; zero from rest.
    steps : int
        Steps of the integration; the default's error is stated at ``DRIVE_STEPS``.

    Returns
    -------
    Trace
        Points equally spaced in the square root of distance. Where the car could not keep
        moving, ``reached`` is False and ``stopped_at`` says where.

    Raises
    ------
    RangeError
        If the distance is not above zero.

    Notes
    -----
    d(V^2)/dx = 2 F/m_eff with x = L u^2, by the classical Runge-Kutta method in u: regular for a
    start from rest. Time of a step from 2 dx/(V0 + V1), exact for constant acceleration, with
    one Richardson extrapolation over the step's middle.
    """
    check_positive("length of the driven leg", distance, "m")
    first = power_at(start_speed)
    xp = ops_of(density, wind, distance, start_speed, first, *vehicle.fields())
    pull = _pull(power_at, vehicle, density, wind, xp)
    zero = 0.0 * (first + density + wind + distance + start_speed + sum(vehicle.fields()))
    shape = np.shape(zero)
    h = 1.0 / steps
    w = start_speed * start_speed + zero
    x, t, stopped_at = zero, zero, zero + math.nan
    moving = w >= 0.0
    gain, power = pull(xp.sqrt(w))
    rows = [(t, xp.sqrt(w), x, power)]
    for i in range(steps):
        u = i * h
        w1 = _next_square(pull, distance, (u, h), w, gain, xp)
        dx = distance * ((u + h) ** 2 - u * u)
        goes_on = moving & (w1 > 0.0)
        stops = moving & (w1 <= 0.0)
        # a car that stops in this step loses its V^2 evenly over distance
        dx = xp.where(stops, dx * w / xp.maximum(w - w1, TINY), dx)
        w1 = xp.where(goes_on, w1, 0.0)
        v0, v1 = xp.sqrt(w), xp.sqrt(w1)
        gain1, power1 = pull(v1)
        middle = xp.sqrt(xp.maximum(0.5 * (w + w1) + 0.25 * dx * (gain - gain1), 0.0))
        coarse = 2.0 * dx / xp.maximum(v0 + v1, TINY)
        fine = dx / xp.maximum(v0 + middle, TINY) + dx / xp.maximum(middle + v1, TINY)
        dt = xp.where(goes_on, fine + (fine - coarse) / 3.0, coarse)
        t = xp.where(moving, t + dt, t)
        x = xp.where(moving, x + dx, x)
        stopped_at = xp.where(stops, x, stopped_at)
        moving, w, gain = goes_on, w1, gain1
        rows.append((t, v1, x, xp.where(moving, power1, 0.0)))
    return gather(rows, moving, stopped_at, shape)


def _next_square(
    pull: Callable[[Any], tuple[Any, Any]], distance: Any, step: tuple[float, float], w: Any,
    gain: Any, xp: Ops,
) -> Any:
    """Return the square of the speed after a step of u, from `w` and the acceleration there."""
    u, h = step
    lever0, lever1, lever2 = (4.0 * distance * s for s in (u, u + 0.5 * h, u + h))
    k1 = lever0 * gain
    k2 = lever1 * pull(xp.sqrt(xp.maximum(w + 0.5 * h * k1, 0.0)))[0]
    k3 = lever1 * pull(xp.sqrt(xp.maximum(w + 0.5 * h * k2, 0.0)))[0]
    k4 = lever2 * pull(xp.sqrt(xp.maximum(w + h * k3, 0.0)))[0]
    return w + (h / 6.0) * (k1 + 2.0 * (k2 + k3) + k4)


def march_time(
    pull: Callable[[Any], tuple[Any, Any]],
    duration: Any,
    start_speed: Any,
    zero: Any,
    steps: int,
    xp: Ops,
) -> tuple[list[tuple[Any, Any, Any, Any]], Any, Any]:
    """Integrate speed and distance over time; a car that comes to rest is held there."""
    h = duration / steps
    # Each variant is followed in steps of its own, whichever others share its array.
    parts = xp.maximum(-(-h // LONGEST_STEP) + zero, 1.0)
    h = h / parts
    v, x, t, stopped_at = start_speed + zero, zero, zero, zero + math.nan
    moving, dx = v >= 0.0, zero
    gain, power = pull(v)
    rows = [(t, v, x, power)]
    most, settled = int(np.max(parts)), False
    for i in range(steps):
        for part in range(most):
            if settled:  # every step is as the last
                x = x + dx
                continue
            due = moving & (part < parts)
            if not xp.any_(due):
                break
            a1 = gain
            a2 = pull(xp.maximum(v + 0.5 * h * a1, 0.0))[0]
            a3 = pull(xp.maximum(v + 0.5 * h * a2, 0.0))[0]
            a4 = pull(xp.maximum(v + h * a3, 0.0))[0]
            v1 = v + (h / 6.0) * (a1 + 2.0 * (a2 + a3) + a4)
            dx = h * v + (h * h / 6.0) * (a1 + a2 + a3)
            goes_on = due & (v1 > 0.0)
            stops = due & (v1 <= 0.0)
            mean_loss = xp.maximum((v - v1) / h, TINY)
            dx = xp.where(stops, xp.minimum(0.5 * v * v / mean_loss, v * h), dx)
            settled = xp is FLOATS and goes_on and v1 == v
            v = xp.where(goes_on, v1, xp.where(due, 0.0, v))
            x = xp.where(due, x + dx, x)
            stopped_at = xp.where(stops, x, stopped_at)
            moving = goes_on | (moving & (part >= parts))
            gain, power = pull(v)
        t = zero + (i + 1) * (duration / steps)
        rows.append((t, v, x, xp.where(moving, power, 0.0)))
    return rows, moving, stopped_at


def drive_time(
    power_at: PowerAt,
    vehicle: Vehicle,
    density: Real,
    wind: Real,
    duration: Real,
    start_speed: Real,
    steps: int = DRIVE_STEPS,
) -> Trace:
    """Drive for a given time at full power. [poly]

    Parameters
    ----------
    power_at : callable
        Brake power [W] at a car speed [m/s].
    vehicle : Vehicle
        The car.
    density, wind : float or ndarray
        Air density [kg/m3]; head wind [m/s].
    duration : float or ndarray
        Length of the leg [s]; above zero.
    start_speed : float or ndarray
        Speed at its start [m/s].
    steps : int
        Steps of the integration.

    Returns
    -------
    Trace
        Points equally spaced in time; ``reached`` is False where the car came to rest.

    Raises
    ------
    RangeError
        If the duration is not above zero.

    Notes
    -----
    m_eff dV/dt = F, classical Runge-Kutta method; dx/dt = V with the same stages.
    """
    check_positive("duration of the driven leg", duration, "s")
    first = power_at(start_speed)
    xp = ops_of(density, wind, duration, start_speed, first, *vehicle.fields())
    pull = _pull(power_at, vehicle, density, wind, xp)
    zero = 0.0 * (first + density + wind + duration + start_speed + sum(vehicle.fields()))
    rows, moving, stopped_at = march_time(pull, duration, start_speed, zero, steps, xp)
    return gather(rows, moving, stopped_at, np.shape(zero))


def terminal_speed(
    power_at: PowerAt,
    vehicle: Vehicle,
    density: Real,
    wind: Real,
    start_speed: float = 1.0,
    highest: float = 400.0,
) -> Any:
    """Speed at which thrust has fallen to the resistance, on a course without end. [poly]

    Parameters
    ----------
    power_at : callable
        Brake power [W] at a car speed [m/s].
    vehicle : Vehicle
        The car.
    density, wind : float or ndarray
        Air density [kg/m3]; head wind [m/s].
    start_speed, highest : float
        The first balance above `start_speed` and below `highest` is sought [m/s].

    Returns
    -------
    float or ndarray
        Speed [m/s], to 1e-9 of the search range; `start_speed` where the car does not
        accelerate from it.

    Raises
    ------
    InfeasibleError
        If thrust still exceeds the resistance at `highest`.

    Notes
    -----
    Upward scan in 200 steps for the first loss of net force, then bisection.
    """
    xp = ops_of(density, wind, power_at(start_speed), *vehicle.fields())

    def net(v: Any) -> Any:
        power = power_at(v)
        return thrust(vehicle, v, power, density, wind, xp) - resistance(vehicle, v, density, wind)

    step = (highest - start_speed) / 200.0
    low = start_speed + 0.0 * net(start_speed)
    climbing = net(low) > 0.0
    below, above = low, low
    for i in range(200):
        v = low + (i + 1) * step
        still = climbing & (net(v) > 0.0)
        above = xp.where(climbing, v, above)
        below = xp.where(still, v, below)
        climbing = still
    if xp.any_(climbing):
        raise InfeasibleError("no terminal speed below the highest speed searched", highest)
    for _ in range(40):
        middle = 0.5 * (below + above)
        gains = net(middle) > 0.0
        below, above = xp.where(gains, middle, below), xp.where(gains, above, middle)
    return 0.5 * (below + above)
