"""The wall of a duct that starts warmer than the air, as it cools along the first pass."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermo.delivered import Delivered
from thermo.driving_legs import Drive
from thermo.gas import FloatArray
from thermo.intake import IntakeModel
from thermo.ops import plain
from thermo.scenario import Scenario
from thermo.speed_table import interpolant


def cooling_wall(
    model: IntakeModel, start: Any, legs: tuple[Drive, ...], hot: Delivered, scenario: Scenario
) -> tuple[FloatArray, Any]:
    """Return the wall's temperature by speed in the first pass, and at its end [K]. [poly]

    Parameters
    ----------
    model : IntakeModel
    start : float or ndarray
        Its temperature at the start of the pass [K].
    legs : tuple of Drive
    hot : Delivered
        The intake with the wall held at `start`.
    scenario : Scenario

    Returns
    -------
    tuple of (ndarray, float or ndarray)
        The first by the speeds of `hot`.
    """
    lead = start - hot.ram.stagnation_temperature
    rate = np.where(lead == 0.0, 0.0, hot.heat / np.where(lead == 0.0, 1.0, lead))
    trace = legs[scenario.first_pass].trace
    if trace is None:
        return start + np.zeros(hot.speed.shape), start
    entering = interpolant(hot.speed, np.asarray(hot.ram.stagnation_temperature))
    pulling = interpolant(hot.speed, np.asarray(rate))
    last = len(hot.speed) - 1
    wall = start
    variants = hot.speed.shape[1:] or trace.time.shape[1:]
    seen = np.full((len(hot.speed), *variants), np.nan)
    for i in range(1, len(trace.time)):
        air_in, step = entering(trace.speed[i]), trace.time[i] - trace.time[i - 1]
        pull = pulling(trace.speed[i]) / model.wall_capacity
        wall = air_in + (wall - air_in) * np.exp(-pull * step)
        above = np.ceil(trace.speed[i] / hot.speed[-1] * last - 1e-9)
        k = np.minimum(np.maximum(above, 0.0), last).astype(np.intp)
        if seen.ndim == 1:
            seen[k] = wall
        else:
            seen[k, np.arange(seen.shape[1])] = wall
    if seen.ndim == 1:
        return _filled(seen, start), plain(wall)
    begins = np.broadcast_to(start, seen.shape[1:])
    return np.stack([_filled(s, b) for s, b in zip(seen.T, begins, strict=True)], axis=1), wall


def _filled(seen: FloatArray, start: Any) -> FloatArray:
    """Return a column whose unknown entries are linear between known ones."""
    known = np.flatnonzero(np.isfinite(seen))
    if len(known) == 0:
        return np.full(seen.shape, start)
    return np.interp(np.arange(len(seen)), known, seen[known])
