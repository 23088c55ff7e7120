"""The coast-down after a pass, over time or over speed."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np

from thermo.course import DRIVE_STEPS, TINY, check_positive, gather, march_time
from thermo.errors import RangeError
from thermo.ops import Ops, Real, ops_of
from thermo.trace import Trace
from thermo.vehicle import (
    Vehicle,
    resistance_law,
)


def coast(
    vehicle: Vehicle,
    density: Real,
    wind: Real,
    start_speed: Real,
    *,
    duration: Real | None = None,
    until_speed: Real | None = None,
    parachute_area: Real = 0.0,
    steps: int = DRIVE_STEPS,
) -> Trace:
    """Coast down without power, for a time or to a speed. [poly]

    Parameters
    ----------
    vehicle : Vehicle
        The car.
    density, wind : float or ndarray
        Air density [kg/m3]; head wind [m/s].
    start_speed : float or ndarray
        Speed at the start [m/s].
    duration : float or ndarray, optional
        Length of the leg [s]; a car that comes to rest before is held there.
    until_speed : float or ndarray, optional
        Speed at which the leg ends [m/s], zero or more. Give this or `duration`.
    parachute_area : float or ndarray
        Drag area of the parachute [m2].
    steps : int
        Steps of the integration.

    Returns
    -------
    Trace
        Power is zero throughout. ``reached`` is False where the car would never slow to
        `until_speed` (downhill or tail wind); its trace ends where it stops slowing.

    Raises
    ------
    RangeError
        If the duration is not above zero or the end speed is negative.
    ValueError
        If not exactly one of `duration` and `until_speed` is given.
    """
    if (duration is None) == (until_speed is None):
        raise ValueError("a coast-down ends by duration or by speed: give exactly one of them")
    end: Any = duration if duration is not None else until_speed
    xp = ops_of(density, wind, end, start_speed, parachute_area, *vehicle.fields())
    mass = vehicle.effective_mass
    zero = 0.0 * (density + wind + end + start_speed + parachute_area + sum(vehicle.fields()))

    hold = resistance_law(vehicle, density, wind, parachute_area)

    def loss_at(v: Any) -> Any:
        return hold(v) / mass

    if duration is None:
        low = float(np.min(end))
        if low < 0.0:
            raise RangeError("speed at the end of the coast-down", low, 0.0, math.inf, "m/s")
        return _coast_to(loss_at, end, start_speed, zero, steps, xp)
    check_positive("duration of the coast-down", end, "s")
    rows, _, stopped_at = march_time(
        lambda v: (-loss_at(v), zero), end, start_speed, zero, steps, xp
    )
    return gather(rows, zero == 0.0, stopped_at, np.shape(zero))


def _coast_to(
    loss_at: Callable[[Any], Any], end: Any, start_speed: Any, zero: Any, steps: int, xp: Ops
) -> Trace:
    """Coast down to a speed, by Simpson's rule in speed: dt = dV/a, dx = V dV/a."""
    v, x, t = start_speed + zero, zero, zero
    dv = xp.maximum(start_speed - end, 0.0) / steps + zero
    slows = v >= 0.0
    loss = loss_at(v)
    rows = [(t, v, x, zero)]
    for _ in range(steps):
        v1 = xp.maximum(v - dv, 0.0)
        middle, loss1 = loss_at(0.5 * (v + v1)), loss_at(v1)
        least = xp.minimum(xp.minimum(loss, middle), loss1)
        slows = slows & ((least > 0.0) | (dv == 0.0))
        a, b, c = (xp.maximum(value, TINY) for value in (loss, middle, loss1))
        t = xp.where(slows, t + dv / 6.0 * (1.0 / a + 4.0 / b + 1.0 / c), t)
        x = xp.where(slows, x + dv / 6.0 * (v / a + 2.0 * (v + v1) / b + v1 / c), x)
        v = xp.where(slows, v1, v)
        loss = loss1
        rows.append((t, v, x, zero))
    at_rest = slows & (v <= 1e-9 * (1.0 + start_speed))
    return gather(rows, slows, xp.where(at_rest, x, math.nan), np.shape(zero))
