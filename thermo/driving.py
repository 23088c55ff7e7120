"""The car on its legs: speed, brake power and air over time, with ram fed back into power."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling import air_fuel_ratio, peak_power, specific_consumption
from thermo.course import Trace, coast, drive_distance, drive_time
from thermo.delivered import Delivered, blend, tall
from thermo.engine import ConstantPower, Gearbox, GearedPower, PowerCurve, site_factor
from thermo.errors import RangeError, about
from thermo.gas import FloatArray
from thermo.inputs.event import Leg
from thermo.intake import IntakeModel
from thermo.intake_build import build_intake
from thermo.ops import least, most, plain, same
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.stepping import table_lookup
from thermo.trace import interpolate, time_at_distance
from thermo.vehicle import Vehicle

SPEEDS = 49
"""Speeds at which the intake is solved; between them power is interpolated."""

COAST_STEPS = 80
"""Steps of a coast-down, which is smooth: speed and distance within 1e-5 of those by
1,000 steps."""

LOWEST_TOP = 60.0
"""Least upper end of the table of speeds [m/s]."""


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


@dataclass(frozen=True, slots=True)
class Driving:
    """The whole event as driven.

    Attributes
    ----------
    legs : tuple of Drive
        One a leg of the event.
    vehicle : Vehicle
    intake : IntakeModel or None
    table : Delivered or None
        The intake against speed, the wall at its temperature of the moment.
    wall_temperature : float, ndarray or None
        Of the duct at the end of the first pass [K].
    turns : callable
        Engine speed [rev/s] at a car speed [m/s].
    full_turns : float or ndarray
        Engine speed at which a crank-driven pump gives its full flow [rev/s].
    limiter : float or ndarray
        Engine speed at which the rev limiter acts [rev/s]; infinite without a power curve.
    full_power : tuple of bool
        Which legs are at full power.
    problems : tuple of (str, str, ndarray of bool or None)
        Key of each leg that cannot be driven as asked, why in words, and of an array of variants
        those that cannot.
    walls : ndarray or None
        Temperature of the duct wall in the first pass, by the speeds of the table [K].
    """

    legs: tuple[Drive, ...]
    vehicle: Vehicle
    intake: IntakeModel | None
    table: Delivered | None
    wall_temperature: Any
    turns: Callable[[Any], Any]
    full_turns: Any
    limiter: Any
    full_power: tuple[bool, ...]
    problems: tuple[Refusal, ...]
    walls: FloatArray | None = None

    def wall_at(self, speeds: FloatArray) -> FloatArray | None:
        """Return the temperature of the duct wall in the first pass [K]. [poly]

        Parameters
        ----------
        speeds : ndarray, shape (n,) or (n, variants)
            Of the car [m/s].

        Returns
        -------
        ndarray or None
            None where the duct is taken to be as warm as the air.
        """
        if self.walls is None or self.table is None:
            return None
        if speeds.ndim < self.walls.ndim:
            speeds = np.repeat(speeds[:, np.newaxis], self.walls.shape[1], axis=1)
        return np.asarray(_interpolant(self.table.speed, self.walls)(speeds))


def vehicle_of(scenario: Scenario) -> Vehicle:
    """Return the car of a scenario as a point mass."""
    car = scenario.car
    fast = car.rolling_resistance_at_100mps
    term = 0.0 if fast is None else (fast - car.rolling_resistance) / 1e4
    return Vehicle(
        mass=car.mass,
        drag_area=car.drag_area,
        rolling_resistance=car.rolling_resistance,
        driven_mass=0.6 * car.mass if car.driven_mass is None else car.driven_mass,
        grip=car.grip,
        rotating_factor=car.rotating_factor,
        rolling_speed_term=term,
        driveline_efficiency=car.driveline_efficiency,
        slip=car.wheel_slip,
        grade=car.grade,
    )


def engine_model(scenario: Scenario, air: Air) -> tuple[Callable[[Any], Any], Callable[[Any], Any]]:
    """Return brake power at this site without ram [W] and engine speed [rev/s], by car speed.

    Parameters
    ----------
    scenario : Scenario
    air : Air

    Returns
    -------
    tuple of callable

    Raises
    ------
    RangeError
        If the shift speed lies outside the power curve.
    """
    engine, car = scenario.engine, scenario.car
    factor = site_factor(engine.power_basis, air.j1349_factor)
    model: ConstantPower | GearedPower
    points = engine.curve
    if points is None:
        model = ConstantPower(peak_power(engine), engine.rated_speed)
    else:
        curve = PowerCurve(tuple(n for n, _ in points), tuple(t for _, t in points))
        limit = _limiter(scenario)
        model = GearedPower(
            curve,
            Gearbox(
                engine.gears,
                engine.final_drive,
                0.3 if car.rolling_radius is None else car.rolling_radius,
                limit,
                car.wheel_slip,
            ),
        )
    return (lambda v: factor * model.at(v)), model.turns_at


def _highest_speed(scenario: Scenario, air: Air) -> Any:
    """Upper end of the speed table [m/s]: no car goes faster than drag allows with 1.5 of power."""
    drag = 0.5 * air.density * scenario.car.drag_area
    free = (1.5 * peak_power(scenario.engine) / drag) ** (1.0 / 3.0)
    wind = scenario.site.head_wind
    top = most((free + most((-wind, 0.0)), LOWEST_TOP))
    return least((top, 0.85 * air.speed_of_sound - most((wind, 0.0))))


def _interpolant(speeds: FloatArray, values: FloatArray) -> Callable[[Any], Any]:
    """Return the function of car speed [m/s] that a table on a uniform grid from zero holds."""
    top, last = plain(speeds[-1]), len(speeds) - 1
    if not isinstance(top, np.ndarray) and values.ndim == 1:
        table = [float(v) for v in values]

        def at(v: Any) -> Any:
            if isinstance(v, np.ndarray):
                return np.interp(v, speeds, values)
            # In this order a speed that is no number, of a run gone wrong, is looked up at 0.
            return table_lookup(table, min(max(0.0, v / top), 1.0))

        return at
    column = np.arange(values.shape[1])

    def at_each(v: Any) -> Any:
        place = np.minimum(np.maximum(v / top, 0.0), 1.0) * last
        left = np.minimum(place.astype(np.intp), last - 1)
        w = place - left
        return values[left, column] * (1.0 - w) + values[left + 1, column] * w

    return at_each


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


def _drive_all(
    scenario: Scenario, power: Callable[[Any], Any], vehicle: Vehicle, air: Air
) -> tuple[tuple[Drive, ...], tuple[Refusal, ...]]:
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


def _walls(
    model: IntakeModel, start: Any, legs: tuple[Drive, ...], hot: Delivered, scenario: Scenario
) -> tuple[FloatArray, Any]:
    """Return the wall's temperature by speed in the first pass, and at its end [K]."""
    lead = start - hot.ram.stagnation_temperature
    rate = np.where(lead == 0.0, 0.0, hot.heat / np.where(lead == 0.0, 1.0, lead))
    number = scenario.first_pass
    trace = legs[number].trace
    if trace is None:
        return start + np.zeros(hot.speed.shape), start
    entering = _interpolant(hot.speed, np.asarray(hot.ram.stagnation_temperature))
    pulling = _interpolant(hot.speed, np.asarray(rate))
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


def drive_event(scenario: Scenario, air: Air) -> Driving:
    """Drive every leg of an event. [poly]

    Parameters
    ----------
    scenario : Scenario
    air : Air

    Returns
    -------
    Driving
        Power follows what the intake delivers at each speed. A duct wall that starts warmer
        than the air cools along the first pass; its state by speed is found from a first drive
        with the wall held and then used for the drive that counts.

    Raises
    ------
    RangeError
        If a part of the scenario is impossible.
    """
    vehicle = vehicle_of(scenario)
    _hold_back(scenario, vehicle, air)
    with about("engine"):
        base, turns = engine_model(scenario, air)

    def driven(
        legs: tuple[Drive, ...],
        problems: tuple[Refusal, ...],
        model: IntakeModel | None = None,
        table: Delivered | None = None,
        end: Any = None,
        walls: FloatArray | None = None,
    ) -> Driving:
        full = tuple(leg.kind == "full-power" for leg in scenario.leg)
        return Driving(legs, vehicle, model, table, end, turns, _full_turns(scenario),
                       _limiter(scenario), full, problems, walls)

    if scenario.intake is None:
        legs, problems = _drive_all(scenario, base, vehicle, air)
        return driven(legs, problems)
    engine = scenario.engine
    model = build_intake(
        scenario.intake,
        engine,
        air,
        scenario.site.head_wind,
        (base, turns),
        (specific_consumption(engine), air_fuel_ratio(engine)),
    )
    speeds = np.linspace(0.0, _highest_speed(scenario, air), SPEEDS)
    wall = scenario.intake.wall_temperature
    with about("intake"):
        table = model.solve(speeds)
    end: Any = None
    walls: FloatArray | None = None
    if wall is not None:
        hot = model.solve(speeds, wall)
        legs, _ = _drive_all(scenario, _powered(base, hot), vehicle, air)
        walls, end = _walls(model, wall, legs, hot, scenario)
        still = tall(np.asarray(table.ram.stagnation_temperature), walls)
        lead = wall - still
        table = blend(table, hot, np.asarray((walls - still) / np.where(lead == 0.0, 1.0, lead)))
    legs, problems = _drive_all(scenario, _powered(base, table), vehicle, air)
    return driven(legs, problems, model, table, end, walls)


def _hold_back(scenario: Scenario, vehicle: Vehicle, air: Air) -> None:
    """Refuse a rolling resistance that falls so fast with speed that the car runs away."""
    fast = scenario.car.rolling_resistance_at_100mps
    if fast is None:
        return
    drag = 0.5 * air.density * vehicle.drag_area
    low = vehicle.rolling_resistance - 1e4 * drag / (vehicle.mass * vehicle.gravity)
    away = np.asarray(fast < low)
    if away.any():
        i = int(np.argmax(away))
        given, least_ = (float(np.broadcast_to(v, away.shape).flat[i]) for v in (fast, low))
        with about("car.rolling_resistance_at_100mps"):
            error = RangeError(
                "rolling resistance at 100 m/s, below which the car would be held back ever less "
                "the faster it is", given, least_, math.inf
            )
            error.where = away if away.ndim else None
            raise error


def _limiter(scenario: Scenario) -> Any:
    """Return the engine speed at which the rev limiter acts [rev/s]."""
    engine = scenario.engine
    if engine.curve is None:
        return math.inf
    return engine.curve[-1][0] if engine.shift_speed is None else engine.shift_speed


def _full_turns(scenario: Scenario) -> Any:
    engine = scenario.engine
    if engine.curve is None:
        return engine.rated_speed
    return max(engine.curve, key=lambda point: point[0] * point[1])[0]


def _powered(base: Callable[[Any], Any], table: Delivered) -> Callable[[Any], Any]:
    if bool(np.all(table.power_ratio == 1.0)):
        return base
    ratio = _interpolant(table.speed, table.power_ratio)
    return lambda v: base(v) * ratio(v)
