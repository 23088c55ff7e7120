"""The duct over the whole of full power: its worst moments, and when a rev limiter held power.

A geared car that runs into its rev limiter asks for less air at the timed speed than it did on
the way there, so that the timed speed alone would hide the worst.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from thermo.delivered import Delivered
from thermo.driving import Driving
from thermo.gas import FloatArray
from thermo.ops import pick
from thermo.scenario import Scenario

PLACES = 24
"""Moments of each pass at which the duct is solved: of as many stretches, each with an equal
number of the trace's points, the one at which the engine asks for most air. The moment of the
largest draw of the whole pass is therefore always among them."""

HELD = 1.0 + 1e-6
"""Engine speed over the limiter's from which the limiter is said to hold power."""


@dataclass(frozen=True, slots=True)
class Worst:
    """One figure of the duct at its worst in the pass.

    Attributes
    ----------
    value : float or ndarray
    speed : float or ndarray
        Of the car there [m/s].
    time : float or ndarray
        From the start of the event [s].
    flow : float or ndarray
        Air then [kg/s].
    """

    value: Any
    speed: Any
    time: Any
    flow: Any


@dataclass(frozen=True, slots=True)
class PassAir:
    """The duct at its worst moments of full power.

    Attributes
    ----------
    mach : Worst
        Largest Mach number in the duct; 1 where it chokes.
    heat_rise : Worst
        Most warmth picked up from the duct's wall [K].
    net : Worst
        Least net gain [Pa].
    choked : bool or ndarray of bool
        Whether it chokes at any moment looked at.
    losing : float or ndarray
        Share of the time at full power in which the net gain is below zero, or the duct chokes
        [-].
    """

    mach: Worst
    heat_rise: Worst
    net: Worst
    choked: Any
    losing: Any


def _moments(driving: Driving) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Return speeds [m/s], times from the event's start [s] and the time each stands for [s].

    One row a moment, of variants one column each; None where the car is never under power.
    """
    model = driving.intake
    if model is None:
        return None
    rows: list[tuple[Any, Any, Any]] = []
    clock: Any = 0.0
    for drive, full in zip(driving.legs, driving.full_power, strict=True):
        trace = drive.trace
        if full and trace is not None:
            speed, time = model.widened(trace.speed), model.widened(trace.time)
            draw = model.still_flow(speed)
            edges = np.linspace(0, len(time) - 1, PLACES + 1).astype(np.intp)
            for first, last in pairwise(edges):
                row = first + np.argmax(draw[first : last + 1], axis=0)
                rows.append((pick(speed, row), clock + pick(time, row), time[last] - time[first]))
        clock = clock + drive.duration
    if not rows:
        return None
    speeds, times, spans = (np.stack(np.broadcast_arrays(*column)) for column in zip(
        *rows, strict=True))
    return speeds, times, spans


def _worst(value: Any, row: Any, at: Delivered, times: Any) -> Worst:
    return Worst(pick(value, row), pick(at.speed, row), pick(_like(times, at.flow), row),
                 pick(at.flow, row))


def _like(values: Any, other: FloatArray) -> FloatArray:
    """Return values by moment with one column a variant where `other` has them."""
    tall = values[:, np.newaxis] if values.ndim < other.ndim else values
    return np.asarray(np.broadcast_to(tall, other.shape))


def pass_air(driving: Driving) -> PassAir | None:
    """Find the duct's worst moments of all full-power legs. [poly]

    Parameters
    ----------
    driving : Driving

    Returns
    -------
    PassAir or None
        None without a duct. The wall has the temperature it has in the first pass at the speed
        of the moment.
    """
    found = _moments(driving)
    if found is None or driving.intake is None:
        return None
    speeds, times, spans = found
    at = driving.intake.solve(speeds, driving.wall_at(speeds))
    mach = np.where(at.choked, 1.0, at.mach)
    entering = np.asarray(at.ram.stagnation_temperature)
    rise = np.where(at.choked, 0.0, at.temperature - entering)
    spans = _like(spans, at.net)
    lost = np.where((at.net < 0.0) | at.choked, spans, 0.0)
    losing = np.sum(lost, axis=0) / np.sum(spans, axis=0)
    return PassAir(
        mach=_worst(mach, np.argmax(mach, axis=0), at, times),
        heat_rise=_worst(rise, np.argmax(rise, axis=0), at, times),
        net=_worst(at.net, np.argmin(at.net, axis=0), at, times),
        choked=at.choked.any(axis=0) if at.choked.ndim > 1 else bool(at.choked.any()),
        losing=losing if np.ndim(losing) else float(losing),
    )


def held_by_limiter(scenario: Scenario, driving: Driving) -> tuple[str, ...]:
    """Say in which full-power legs the rev limiter took power away, and from when on.

    Parameters
    ----------
    scenario : Scenario
    driving : Driving
        Of one event.

    Returns
    -------
    tuple of str
        One a leg in which it did; empty for an engine of constant power.
    """
    limit = driving.limiter
    out: list[str] = []
    clock = 0.0
    for leg, drive in zip(scenario.leg, driving.legs, strict=True):
        if leg.kind == "full-power" and drive.trace is not None and math.isfinite(limit):
            over = np.flatnonzero(driving.turns(drive.trace.speed) > HELD * limit)
            if len(over):
                i = int(over[0])
                out.append(
                    f"{leg.label}: from {clock + float(drive.trace.time[i]):.0f} s "
                    f"({float(drive.trace.speed[i]):.0f} m/s) on the rev limiter holds the engine "
                    f"at {60.0 * limit:.0f} rpm and takes power away; duct and heat are judged "
                    "over the whole pass, not at the timed speed alone. See engine.final_drive, "
                    "engine.gears and engine.shift_speed"
                )
        clock += drive.duration
    return tuple(out)


__all__ = ["PassAir", "Worst", "held_by_limiter", "pass_air"]
