"""Passes in a log, and the moment in it at which an event begins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from thermo.log_csv import Floats, Log

SHARE = {"speed": 0.5, "throttle": 0.7, "rpm": 0.7}
"""Share of the highest reading above which the car is held to make its pass, by channel."""

SHORTEST = 5.0
"""Shortest pass [s]."""

BRIDGED = 4.0
"""Longest lapse within a pass, such as a gear change or a spinning wheel [s]."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass in a log.

    Attributes
    ----------
    number : int
        From 1.
    start, end : float
        When the deciding channel rose above its threshold and fell below it [s].
    lines : tuple of int
        First and last line.
    by : str
        Channel it was found by; empty where a whole recording is taken for one.
    threshold : float
        Of that channel [SI].
    """

    number: int
    start: float
    end: float
    lines: tuple[int, int]
    by: str
    threshold: float


def find_passes(log: Log) -> tuple[Pass, ...]:
    """Find the passes in a log by speed, throttle or engine speed.

    Parameters
    ----------
    log : Log

    Returns
    -------
    tuple of Pass
        Without any of these channels each recording is taken for one pass.
    """
    for name, share in SHARE.items():
        values = log.values.get(name)
        if values is None or not bool(np.any(np.isfinite(values))):
            continue
        threshold = share * float(np.nanquantile(values, 0.995))
        found = _runs(log, values, threshold)
        if found:
            return tuple(
                Pass(i + 1, float(log.time[a]), float(log.time[b]), log.lines(slice(a, b + 1)),
                     name, threshold) for i, (a, b) in enumerate(found))
    ends = [*log.sections[1:], len(log.time)]
    return tuple(
        Pass(i + 1, float(log.time[a]), float(log.time[b - 1]), log.lines(slice(a, b)), "", 0.0)
        for i, (a, b) in enumerate(zip(log.sections, ends, strict=True)))


def _runs(log: Log, values: Floats, threshold: float) -> list[tuple[int, int]]:
    """Return first and last row of each stretch above a threshold."""
    rows = np.flatnonzero(np.isfinite(values))
    high = rows[values[rows] > threshold]
    if not len(high):
        return []
    cuts = np.flatnonzero(np.diff(log.time[high]) > BRIDGED)
    parts = np.split(high, cuts + 1)
    return [(int(p[0]), int(p[-1])) for p in parts
            if log.time[p[-1]] - log.time[p[0]] >= SHORTEST]


def align(
    log: Log, found: Pass, model_time: Floats, model: Mapping[str, Floats], pass_start: float
) -> float:
    """Return the moment of the log at which the event begins.

    Parameters
    ----------
    log : Log
    found : Pass
        The event's first pass.
    model_time : ndarray
        [s], rising from the event's start.
    model : mapping of str to ndarray
        What the scenario says of each channel, by the same times.
    pass_start : float
        When the first pass begins in the event [s].

    Returns
    -------
    float
        [s] of the log; the fit makes it exact.
    """
    if found.by == "speed":
        above = np.flatnonzero(
            (model["speed"] > found.threshold) & (model_time >= pass_start))
        edge = float(model_time[above[0]]) if len(above) else pass_start
        return found.start - edge
    if found.by:
        return found.start - pass_start
    return _by_temperatures(log, found, model_time, model)


def _by_temperatures(
    log: Log, found: Pass, model_time: Floats, model: Mapping[str, Floats]
) -> float:
    """Return the shift at which the temperatures of log and model rise and fall together."""
    span = float(model_time[-1])
    grid = np.arange(0.0, span, max(span / 400.0, 0.2))
    low, high = found.start - 0.5 * span, found.end - 0.3 * span
    shifts = np.linspace(low, max(high, low + 1.0), 300)
    names = [n for n in log.values if n in model and n not in ("speed", "plenum")]
    best, at = -np.inf, found.start
    for shift in shifts:
        score = 0.0
        for name in names:
            known = np.isfinite(log.values[name])
            clock = log.time[known] - shift
            inside = (grid >= clock[0]) & (grid <= clock[-1])
            if np.count_nonzero(inside) < 0.3 * len(grid):
                score = -np.inf
                break
            seen = np.interp(grid[inside], clock, log.values[name][known])
            told = np.interp(grid[inside], model_time, model[name])
            seen, told = seen - seen.mean(), told - told.mean()
            # Log and model share the size of the rise, not its level.
            score -= float(np.mean((seen - told) ** 2)) / (float(np.mean(told**2)) + 1.0)
        if score > best:
            best, at = score, float(shift)
    return at
