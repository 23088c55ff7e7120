"""The car on its legs: speed, brake power and air over time, with ram fed back into power."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.delivered import Delivered, blend, tall
from thermo.driving_legs import Drive, Refusal, drive_all
from thermo.duct_wall import cooling_wall
from thermo.engine import ConstantPower, Gearbox, GearedPower, PowerCurve, site_factor
from thermo.engine_table import air_fuel_ratio, peak_power, specific_consumption
from thermo.errors import Problem, RangeError, ScenarioError, about
from thermo.gas import FloatArray
from thermo.intake import IntakeModel
from thermo.intake_build import build_intake
from thermo.ops import least, most
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.speed_table import interpolant
from thermo.vehicle import Vehicle

SPEEDS = 49
"""Speeds at which the intake is solved; between them power is interpolated."""

LOWEST_TOP = 60.0
"""Least upper end of the table of speeds [m/s]."""


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
        return np.asarray(interpolant(self.table.speed, self.walls)(speeds))


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
        legs, problems = drive_all(scenario, base, vehicle, air)
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
        legs, _ = drive_all(scenario, _powered(base, hot), vehicle, air)
        walls, end = cooling_wall(model, wall, legs, hot, scenario)
        still = tall(np.asarray(table.ram.stagnation_temperature), walls)
        lead = wall - still
        table = blend(table, hot, np.asarray((walls - still) / np.where(lead == 0.0, 1.0, lead)))
    legs, problems = drive_all(scenario, _powered(base, table), vehicle, air)
    return driven(legs, problems, model, table, end, walls)


def drive_or_refuse(scenario: Scenario, air: Air) -> Driving:
    """Drive the event; refuse it when a leg cannot be driven as asked.

    Parameters
    ----------
    scenario : Scenario
    air : Air

    Returns
    -------
    Driving

    Raises
    ------
    ScenarioError
        Naming each leg that the car cannot cover.
    """
    driving = drive_event(scenario, air)
    if driving.problems:
        problems = [Problem(key, "", words) for key, words, _ in driving.problems]
        error = ScenarioError(scenario.title or "scenario", problems)
        masks = [which for _, _, which in driving.problems if which is not None]
        error.where = np.logical_or.reduce(masks) if masks else None
        raise error
    return driving


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
    ratio = interpolant(table.speed, table.power_ratio)
    return lambda v: base(v) * ratio(v)
