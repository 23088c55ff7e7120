"""A leg as it was driven: its points, the same on a uniform time grid, and timed stretches."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.errors import RangeError
from thermo.ops import Real, within

Array = npt.NDArray[np.float64]

_TINY = 1e-12


@dataclass(frozen=True, slots=True)
class Trace:
    """A leg as it was driven, at the integrator's own points.

    Attributes
    ----------
    time, speed, distance, power : ndarray
        Time [s], car speed [m/s], distance from the start of the leg [m] and brake power [W];
        shape (points,) for one run, (points, variants) for an ensemble. From the point where
        a car stops, under power it could not keep moving: time and distance are held, speed and
        power are zero. A coast of given duration keeps counting time while at rest.
    reached : bool or ndarray of bool
        Whether the end asked for (distance, duration under way, or speed) was reached.
    stopped_at : float or ndarray
        Distance at which the car came to rest [m]; NaN where it did not.
    """

    time: Array
    speed: Array
    distance: Array
    power: Array
    reached: bool | npt.NDArray[np.bool_]
    stopped_at: Real

    @property
    def top_speed(self) -> Any:
        """Highest speed of the leg [m/s]; it may come before the end when power falls away."""
        return self.speed.max(axis=0)

    @property
    def duration(self) -> Any:
        """Time the leg took [s]."""
        return self.time[-1]


def interpolate(at: Any, x: Array, *values: Array) -> Any:
    """Return values between rising points, linear, each variant with points of its own.

    Parameters
    ----------
    at : float or ndarray
        Where; its first axis may be one of several places, its last that of the variants.
    x : ndarray
        Points that do not fall, shape (points,) or (points, variants).
    *values : ndarray
        Values at the points, of the same shape.

    Returns
    -------
    float or ndarray, or tuple of them
        One for each of `values`; held before the first and past the last point.
    """
    if x.ndim == 1:
        found = tuple(np.interp(at, x, v) for v in values)
        return found if len(found) > 1 else found[0]
    count, variants = x.shape
    even = _even_places(at, x)
    if even is not None:
        left, f = even
        found = tuple(v[left] + f * (v[left + 1] - v[left]) for v in values)
        return found if len(found) > 1 else found[0]
    wanted = np.atleast_2d(np.broadcast_to(at, (*np.shape(at)[:-1], variants)))
    first, span = x[0], np.maximum(x[-1] - x[0], _TINY)
    share = np.clip((wanted - first) / span, 0.0, 1.0)
    # one search for all variants: each has its own stretch of the number line
    offset = 2.0 * np.arange(variants)
    keys = ((x - first) / span + offset).T.ravel()
    place = np.searchsorted(keys, (share + offset).T.ravel(), side="right")
    left = place.reshape(variants, len(wanted)).T - 1 - count * np.arange(variants)
    left = np.clip(left, 0, count - 2)
    place = left * variants + np.arange(variants)
    begins, ends = np.take(x, place), np.take(x, place + variants)
    f = np.clip((first + share * span - begins) / np.maximum(ends - begins, _TINY), 0.0, 1.0)
    shape = np.shape(at) if np.ndim(at) > 1 else (variants,)

    def between(v: Array) -> Array:
        low = np.take(v, place)
        return np.asarray(low + f * (np.take(v, place + variants) - low)).reshape(shape)

    found = tuple(between(v) for v in values)
    return found if len(found) > 1 else found[0]


def _even_places(at: Any, x: Array) -> tuple[Any, Any] | None:
    """Return where evenly spaced places fall among evenly spaced points, the same for each variant.

    None where either is not even from end to end, and each variant must be looked up by itself.
    """
    if np.ndim(at) < 2 or len(at) < 2:
        return None
    for rows in (at, x):
        even = np.linspace(0.0, 1.0, len(rows))[:, None] * rows[-1]
        if bool(np.any(np.abs(rows - even) > 1e-12 * rows[-1])):
            return None
    if bool(np.any(np.abs(at[-1] - x[-1]) > 1e-12 * x[-1])):
        return None
    place = np.linspace(0.0, float(len(x) - 1), len(at))
    left = np.minimum(place.astype(np.intp), len(x) - 2)
    return left, (place - left)[:, None]


def resample(trace: Trace, points: int) -> Trace:
    """Bring a trace onto a uniform grid of time, as the loop solver reads it.

    Parameters
    ----------
    trace : Trace
        A leg; one run or an ensemble.
    points : int
        Points of the new grid, both ends included; 2 or more.

    Returns
    -------
    Trace
        The same leg with time = duration * i/(points - 1) for each variant. Speed and power are
        linear between the integrator's points (exact for constant acceleration; within 0.05 m/s
        on a smooth pass of 240 steps), distance is a cubic Hermite spline with the speeds as
        slopes (within 0.05 m).

    Raises
    ------
    RangeError
        If fewer than two points are asked for.
    """
    if points < 2:
        raise RangeError("points of the time grid", points, 2, float("inf"))
    single = trace.time.ndim == 1
    old = trace.time[:, None] if single else trace.time
    count, variants = old.shape
    total = np.maximum(old[-1], _TINY)
    share = np.linspace(0.0, 1.0, points)
    # one search for all variants: each has its own stretch of the number line
    offset = 2.0 * np.arange(variants)
    keys = (old / total + offset).T.ravel()
    wanted = (share[:, None] + offset).T.ravel()
    place = np.searchsorted(keys, wanted, side="right").reshape(variants, points).T - 1
    left = np.clip(place - count * np.arange(variants), 0, count - 2)
    column = np.broadcast_to(np.arange(variants), left.shape)
    time = share[:, None] * total
    step = np.maximum(old[left + 1, column] - old[left, column], _TINY)
    f = np.clip((time - old[left, column]) / step, 0.0, 1.0)

    def ends(values: Array) -> tuple[Array, Array]:
        table = values[:, None] if single else values
        return table[left, column], table[left + 1, column]

    v0, v1 = ends(trace.speed)
    x0, x1 = ends(trace.distance)
    p0, p1 = ends(trace.power)
    rise = f * f * (3.0 - 2.0 * f)
    distance = x0 + (x1 - x0) * rise + step * f * (1.0 - f) * ((1.0 - f) * v0 - f * v1)
    made = (time, v0 + f * (v1 - v0), distance, p0 + f * (p1 - p0))
    time, speed, distance, power = (a[:, 0] if single else a for a in made)
    return Trace(time, speed, distance, power, trace.reached, trace.stopped_at)


def time_at_distance(trace: Trace, distance: Any) -> Any:
    """Time at which a distance along the leg is passed.

    Parameters
    ----------
    trace : Trace
        A leg.
    distance : float or ndarray
        Distance from its start [m].

    Returns
    -------
    float or ndarray
        Time [s]; NaN where the car did not get there. V^2 is taken as linear in distance
        between the integrator's points.
    """
    single = trace.time.ndim == 1 and np.ndim(distance) == 0
    time, speed, along = (
        a[:, None] if a.ndim == 1 else a for a in (trace.time, trace.speed, trace.distance)
    )
    if np.ndim(distance) and time.shape[1] == 1:
        time, speed, along = (
            np.broadcast_to(a, (len(a), len(distance))) for a in (time, speed, along)
        )
    column = np.arange(time.shape[1])
    left = np.clip((along <= distance).sum(axis=0) - 1, 0, len(time) - 2)
    x0, x1 = along[left, column], along[left + 1, column]
    v0, v1 = speed[left, column], speed[left + 1, column]
    t0, t1 = time[left, column], time[left + 1, column]
    f = (distance - x0) / np.maximum(x1 - x0, _TINY)
    here = np.sqrt(np.maximum(v0 * v0 + f * (v1 * v1 - v0 * v0), 0.0))
    part = f * (v0 + v1) / np.maximum(v0 + here, _TINY)
    slack = 1e-9 * np.maximum(along[-1], 1.0)
    passed = np.where((f >= 0.0) & (distance <= along[-1] + slack), t0 + part * (t1 - t0), np.nan)
    return float(passed[0]) if single else passed


def stretch_speed(trace: Trace, start: Any, end: Any) -> Any:
    """Average speed over a timed stretch of the course.

    Parameters
    ----------
    trace : Trace
        A driven leg.
    start, end : float or ndarray
        Distances of the two lines from the start of the leg [m]; start < end.

    Returns
    -------
    float or ndarray
        (end - start)/(time between the lines) [m/s]; NaN where the car did not reach `end`.

    Raises
    ------
    RangeError
        If `end` is not beyond `start`.
    """
    within("end of the timed stretch", end, start, float("inf"), "m", open_low=True)
    return (end - start) / (time_at_distance(trace, end) - time_at_distance(trace, start))
