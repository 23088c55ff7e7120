"""What a scenario says each channel of a log would read, over the time of the event."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling_run import march_cooling
from thermo.driving import Driving, drive_or_refuse
from thermo.history import loop_history
from thermo.results import History
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.site_air import site_air
from thermo.variants import Floats

STEP = 0.25
"""Spacing of the traces [s]."""

TOLERANCE = 0.01
"""Error allowed a step [K]: a tenth of what the best probes tell."""

CRAWL = 1.0
"""Speed below which sensors of speed show nothing but noise, and none of it below zero [m/s]:
common practice."""


@dataclass(frozen=True, slots=True)
class Drive:
    """An event as driven, for scenarios that move alike.

    Attributes
    ----------
    air : Air
    driving : Driving
    starts : tuple of float
        When each leg begins, and the end [s].
    """

    air: Air
    driving: Driving
    starts: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Traces:
    """Channels over the event.

    Attributes
    ----------
    time : ndarray
        Even steps of `STEP` from the event's start [s].
    columns : dict of str to ndarray
        By channel [SI]; not a number where the model says nothing of it.
    grids : list of list of float
        Steps of the integration, for neighbours that must differ smoothly.
    """

    time: Floats
    columns: dict[str, Floats]
    grids: list[list[float]]


def drive(scenario: Scenario) -> Drive:
    """Drive the event of a scenario.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Drive

    Raises
    ------
    SoakboxError
        As :func:`thermo.event.solve`.
    """
    air = site_air(scenario)
    driving = drive_or_refuse(scenario, air)
    ends = np.cumsum([float(leg.duration) for leg in driving.legs])
    return Drive(air, driving, (0.0, *(float(e) for e in ends)))


def pass_starts(scenario: Scenario, driven: Drive) -> tuple[float, ...]:
    """Return when each full-power leg begins [s]."""
    return tuple(t for leg, t in zip(scenario.leg, driven.starts[:-1], strict=True)
                 if leg.kind == "full-power")


def trimmed(scenario: Scenario, driven: Drive, last: float) -> Scenario:
    """Return the scenario without the legs that begin after a moment [s] of the event."""
    passes = [i for i, leg in enumerate(scenario.leg) if leg.kind == "full-power"]
    keep = max(sum(t < last for t in driven.starts[:-1]), passes[0] + 1)
    return scenario.model_copy(update={"leg": scenario.leg[:keep]})


def traces(
    scenario: Scenario, driven: Drive | None = None, grids: list[list[float]] | None = None
) -> Traces:
    """Solve an event for what a logger would see with perfect instruments.

    Parameters
    ----------
    scenario : Scenario
    driven : Drive, optional
        The event as driven, when nothing that moves the car has changed.
    grids : list of list of float, optional
        Steps to follow.

    Returns
    -------
    Traces

    Raises
    ------
    SoakboxError
        As :func:`thermo.event.solve`.
    """
    if driven is None:
        driven = drive(scenario)
    cooling, pieces, run = march_cooling(
        scenario, driven.air, driven.driving, grids=grids, tolerance=TOLERANCE
    )
    history = loop_history(cooling, pieces, run)
    time = np.arange(0.0, float(history.time[-1]) + 1e-9, STEP)
    flow = history.hot_flow * cooling.design.hot.density(history.coolant)
    carried = flow * cooling.design.hot.specific_heat(history.coolant)
    moving = carried > 1.0
    back = history.coolant - np.where(moving, history.exchanger_heat, 0.0) / np.where(
        moving, carried, 1.0)
    columns = {
        "coolant_out": _at(time, history, history.coolant),
        "coolant_in": _at(time, history, np.where(moving, back, np.nan)),
        "tank_out": _at(time, history, history.tank_out),
        "tank_in": _at(time, history, history.tank_in),
        "tank_mid": _at(time, history, history.tank_mean),
        "speed": _speed(driven, time),
    }
    if driven.driving.table is not None:
        columns["plenum"] = _plenum(scenario, driven, time, columns["speed"])
    return Traces(time, columns, [list(p.x) for p in run.pieces])


def _at(time: Floats, history: History, values: Any) -> Floats:
    return np.asarray(np.interp(time, history.time, values), dtype=np.float64)


def _speed(driven: Drive, time: Floats) -> Floats:
    """Return the speed of the car under way [m/s], not a number where it stands or crawls.

    From the points of the drive and not from rows of the history, which are seconds apart while
    temperatures change slowly: chords across those are 0.03 m/s from a coast-down, as much as the
    mean of some fifty readings is worth.
    """
    from scipy.interpolate import PchipInterpolator

    out = np.full(len(time), np.nan)
    for leg, begin, end in zip(
        driven.driving.legs, driven.starts[:-1], driven.starts[1:], strict=False
    ):
        inside = (time >= begin) & (time < end)
        if leg.trace is None or not inside.any():
            continue
        at = np.asarray(leg.trace.time, dtype=np.float64)
        rising = np.concatenate([[True], np.diff(at) > 0.0])
        out[inside] = PchipInterpolator(at[rising], leg.trace.speed[rising])(time[inside] - begin)
    return np.where(out >= CRAWL, out, np.nan)


def _plenum(scenario: Scenario, driven: Drive, time: Floats, speed: Floats) -> Floats:
    """Return the plenum's pressure under full power [Pa], absolute."""
    table = driven.driving.table
    if table is None:
        return np.full(len(time), np.nan)
    full = np.zeros(len(time), dtype=np.bool_)
    for leg, begin, end in zip(
        scenario.leg, driven.starts[:-1], driven.starts[1:], strict=False
    ):
        if leg.kind == "full-power":
            full |= (time >= begin) & (time < end)
    return np.where(full, np.interp(speed, table.speed, table.pressure), np.nan)


def lagged(values: Floats, lag: float) -> Floats:
    """Return what a first-order sensor shows of a trace on even steps of `STEP`.

    Parameters
    ----------
    values : ndarray
        Linear between its points.
    lag : float
        Time constant, above 0 [s].

    Returns
    -------
    ndarray
        Settled at the start. Exact: y1 = a y0 + b0 x0 + b1 x1 with a = exp(-h/lag),
        b1 = 1 - (1 - a) lag/h, b0 = 1 - a - b1.
    """
    from scipy.signal import lfilter

    a = float(np.exp(-STEP / lag))
    b1 = 1.0 - (1.0 - a) * lag / STEP
    b0 = 1.0 - a - b1
    known = np.isfinite(values)
    if not bool(known.all()):
        out = np.full(len(values), np.nan)
        last = int(np.flatnonzero(~known)[0])
        if last > 1:
            out[:last] = lagged(values[:last], lag)
        return out
    first = float(values[0])
    rest, _ = lfilter([b1, b0], [1.0, -a], values[1:], zi=[b0 * first + a * first])
    return np.concatenate([values[:1], rest])
