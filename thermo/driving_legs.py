"""How the car moves in each leg, one after the other, and which leg it cannot cover."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.coasting import coast
from thermo.course import drive_distance, drive_time
from thermo.inputs.event import Leg
from thermo.ops import plain, same
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.trace import Trace, interpolate, time_at_distance
from thermo.vehicle import Vehicle

COAST_STEPS = 80
"""Steps of a coast-down, which is smooth: speed and distance within 1e-5 of those by
1,000 steps."""


@dataclass(frozen=True, slots=True)
class Drive:
    """How the car moves in one leg.

    Attributes
    ----------
    trace : Trace or None
        None in a leg at rest.
    duration : float or ndarray
        [s].
    """

    trace: Trace | None
    duration: Any


Refusal = tuple[str, str, Any]
"""Key of a leg, why it cannot be driven as asked, and of an array of variants which."""


def drive_all(
    scenario: Scenario, power: Callable[[Any], Any], vehicle: Vehicle, air: Air
) -> tuple[tuple[Drive, ...], tuple[Refusal, ...]]:
    """Drive every leg, each from the speed at which the one before ends. [poly]

    Parameters
    ----------
    scenario : Scenario
    power : callable
        Brake power [W] at a car speed [m/s].
    vehicle : Vehicle
    air : Air

    Returns
    -------
    tuple of (tuple of Drive, tuple of Refusal)
        One a leg, and why legs cannot be driven as asked.
    """
    legs: list[Drive] = []
    problems: list[Refusal] = []
    speed: Any = 0.0
    for number, leg in enumerate(scenario.leg):
        drive = _leg(leg, power, vehicle, air, scenario.site.head_wind, speed)
        legs.append(drive)
        speed = 0.0 if drive.trace is None else plain(drive.trace.speed[-1])
        words, which = _problem(leg, drive)
        if words:
            problems.append((f"leg[{number}]", f"{leg.label}: {words}", which))
    return tuple(legs), tuple(problems)


def _leg(
    leg: Leg, power: Callable[[Any], Any], vehicle: Vehicle, air: Air, wind: Any, speed: Any
) -> Drive:
    """Drive one leg from a starting speed."""
    start = speed if leg.start_speed is None else leg.start_speed
    if leg.kind == "full-power":
        share = leg.power_share
        if leg.distance is not None:
            trace = drive_distance(
                lambda v: share * power(v), vehicle, air.density, wind, leg.distance, start
            )
        else:
            trace = drive_time(
                lambda v: share * power(v),
                vehicle,
                air.density,
                wind,
                _seconds(leg),
                start,
            )
        return Drive(trace, plain(trace.duration))
    if leg.kind == "coast":
        return _coast(leg, vehicle, air, wind, start)
    if leg.kind == "pushed" and leg.until_speed is not None:
        return _pushed(_seconds(leg), start, leg.until_speed)
    return Drive(None, _seconds(leg))


def _seconds(leg: Leg) -> Any:
    return 0.0 if leg.duration is None else leg.duration


def _pushed(duration: Any, start: Any, end: Any) -> Drive:
    """Return a push at even acceleration."""
    gain = (end - start) / duration
    time = np.linspace(0.0, duration + 0.0 * gain, 41)
    distance = start * time + 0.5 * gain * time * time
    return Drive(
        Trace(time, start + gain * time, distance, np.zeros(time.shape), True, math.nan), duration
    )


def _coast(leg: Leg, vehicle: Vehicle, air: Air, wind: Any, start: Any) -> Drive:
    if leg.duration is not None or leg.until_speed is not None:
        trace = coast(
            vehicle,
            air.density,
            wind,
            start,
            duration=leg.duration,
            until_speed=leg.until_speed,
            parachute_area=leg.parachute_area,
            steps=COAST_STEPS,
        )
        return Drive(trace, plain(trace.duration))
    whole = coast(
        vehicle, air.density, wind, start, until_speed=0.0, parachute_area=leg.parachute_area
    )
    goal = 0.0 if leg.distance is None else leg.distance
    if not same(whole.reached) or same(whole.distance[-1] <= goal):
        return Drive(whole, plain(whole.duration))
    end = plain(interpolate(goal, whole.distance, whole.time))
    trace = coast(
        vehicle, air.density, wind, start, duration=end, parachute_area=leg.parachute_area
    )
    return Drive(trace, end)


def _problem(leg: Leg, drive: Drive) -> tuple[str, Any]:
    """Why a leg cannot be driven as asked, empty when it can, and which variants cannot."""
    if drive.trace is None:
        return "", None
    still = np.asarray(drive.duration <= 0.0)
    bad = np.asarray(~np.asarray(drive.trace.reached) | still)
    if not bool(bad.any()):
        return _untimed(leg, drive.trace)
    which = bad if bad.ndim else None
    if leg.kind == "coast":
        if bool(still.any()):
            words = "the car is no faster than until_speed when it begins"
            return words, np.broadcast_to(still, bad.shape) if bad.ndim else None
        return "the car never slows to until_speed", which
    stopped = np.broadcast_to(drive.trace.stopped_at, bad.shape)[bad]
    where = "; it stops after {:.0f} m" if len(stopped) == 1 and np.isfinite(stopped[0]) else ""
    return (
        "the car never covers the leg: grip or power is less than its resistance"
        + where.format(*stopped[:1]),
        which,
    )


def _untimed(leg: Leg, trace: Trace) -> tuple[str, Any]:
    """Why a full-power leg cannot be timed as asked, empty when it can, and of which variants."""
    if leg.kind != "full-power" or leg.timed_to is None:
        return "", None
    short = np.isnan(np.asarray(time_at_distance(trace, leg.timed_to)))
    if not bool(short.any()):
        return "", None
    end = "" if trace.distance.ndim > 1 else f", {float(trace.distance[-1]):.0f} m"
    return f"timed_to lies beyond the end of the leg{end}", short if short.ndim else None
