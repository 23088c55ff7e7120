"""Peaks and margins of the cooling side, from its history."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from thermo.course import stretch_speed
from thermo.driving import Driving
from thermo.gas import FloatArray
from thermo.loop import LegDrive, LoopDesign
from thermo.loop_run import totals
from thermo.results import CoolingFigures, History
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.tank import centre_of_mass_shift

if TYPE_CHECKING:
    from thermo.event import Solved

BOILS = 1e-3
"""Coolant this close to saturation counts as boiling [K]: the solver holds it just there."""

FLOWING = 1e-9
"""Coolant flow above which the loop counts as flowing [m3/s]."""

Mask = npt.NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Moments:
    """Which rows of a history are what.

    Attributes
    ----------
    full : ndarray of bool
        Rows of the full-power legs; the last row where the event ended before any of them.
    working : ndarray of bool
        Rows in which the engine heats or the coolant flows: where engine-out temperature is
        what the gauge would read.
    finishes : tuple of int
        Last row of each full-power leg.
    stops : tuple of int
        Rows at which the coolant flow stops after a full-power leg; the last row when it never
        does.
    """

    full: Mask
    working: Mask
    finishes: tuple[int, ...]
    stops: tuple[int, ...]


def moments(scenario: Scenario, history: History) -> Moments:
    """Find the rows that matter.

    Parameters
    ----------
    scenario : Scenario
    history : History

    Returns
    -------
    Moments
    """
    kinds = np.array([leg.kind == "full-power" for leg in scenario.leg])
    full = kinds[history.leg]
    if not bool(full.any()):
        full[-1] = True
    flowing = history.hot_flow > FLOWING
    working = flowing | (history.heat_to_metal > 0.0) | full
    last = len(full) - 1
    finishes = [
        i
        for i in range(last + 1)
        if full[i] and (i == last or history.leg[i + 1] != history.leg[i])
    ]
    stops: list[int] = []
    for finish in finishes:
        after = np.flatnonzero(~flowing[finish + 1 :])
        stop = finish + 1 + int(after[0]) if len(after) else last
        if stop not in stops:
            stops.append(stop)
    # A pump that stops under power is a stop at once.
    failed = np.flatnonzero(full & ~flowing)
    if len(failed) and int(failed[0]) not in stops:
        stops.append(int(failed[0]))
    return Moments(full, working, tuple(finishes), tuple(stops))


def equalised(design: LoopDesign, history: History) -> FloatArray:
    """Return the temperature that metal and jacket would share if the flow stopped [K].

    Parameters
    ----------
    design : LoopDesign
    history : History

    Returns
    -------
    ndarray
        One entry a row; heat lost to the air meanwhile is neglected, which errs hot.
    """
    jacket = history.jacket_mass * design.hot.specific_heat(history.coolant)
    metal = design.metal_capacity
    return np.asarray((metal * history.metal + jacket * history.coolant) / (metal + jacket))


def seconds_to_boil(design: LoopDesign, history: History, rows: Mask) -> FloatArray:
    """Return the time from a stopped coolant pump to boiling, with the heat kept on [s].

    Parameters
    ----------
    design : LoopDesign
    history : History
    rows : ndarray of bool
        Rows to look at.

    Returns
    -------
    ndarray
        One entry a chosen row; infinite where the heat never gets there within an hour.

    Notes
    -----
    Metal and jacket as two capacities with conductance G, heat Q into the metal:
    x = Tm - Tj relaxes to Q/(Cm lambda), lambda = G (1/Cm + 1/Cj), and Tj rises by
    (G/Cj) times the integral of x. The conductance with flow is used, which errs early.
    """
    cj = history.jacket_mass[rows] * design.hot.specific_heat(history.coolant[rows])
    cm = design.metal_capacity
    g = design.metal_conductance
    rate = g * (1.0 / cm + 1.0 / cj)
    heat = history.heat_to_metal[rows]
    first = history.metal[rows] - history.coolant[rows]
    final = heat / (cm * rate)
    needed = np.maximum(history.boil_temperature[rows] - history.coolant[rows], 0.0)

    def rise(t: Any) -> Any:
        return g / cj * (final * t - (first - final) * np.expm1(-rate * t) / rate)

    low, high = np.zeros(len(cj)), np.full(len(cj), 3600.0)
    never = rise(high) < needed
    for _ in range(50):
        middle = 0.5 * (low + high)
        reached = rise(middle) >= needed
        high, low = np.where(reached, middle, high), np.where(reached, low, middle)
    return np.where(never, np.inf, np.where(needed > 0.0, high, 0.0))


def boil_margin(scenario: Scenario, history: History, rows: Mask) -> float:
    """Return the least boil margin over some rows, hot-spot allowance taken off [K]."""
    margin = history.boil_temperature - history.coolant - scenario.limits.hot_spot_allowance
    return float(np.min(margin[rows])) if bool(rows.any()) else math.inf


def after_boil_margin(scenario: Scenario, solved: Solved) -> float:
    """Return the least margin of saturation over the equalised temperature at flow stops [K]."""
    history, design = solved.told.history, solved.cooling.design
    when = moments(scenario, history)
    shared = equalised(design, history)
    return float(min((design.boil_temperature - shared[i] for i in when.stops), default=math.inf))


def _first_pass(scenario: Scenario) -> int:
    return next(i for i, leg in enumerate(scenario.leg) if leg.kind == "full-power")


def _shift(scenario: Scenario, water: float) -> float:
    """Shift of the car's centre of mass by the tank's water and ice [m], to the rear positive."""
    car, tank = scenario.car, scenario.tank
    centre = 0.55 * car.length if car.centre_of_mass is None else car.centre_of_mass
    carried = water + tank.ice_mass
    return centre_of_mass_shift(max(car.mass - carried, 1.0), centre, carried, tank.position)


def _timed(scenario: Scenario, driving: Driving) -> float:
    number = _first_pass(scenario)
    leg, trace = scenario.leg[number], driving.legs[number].trace
    if trace is None or leg.timed_from is None or leg.timed_to is None:
        return math.nan
    return float(stretch_speed(trace, leg.timed_from, leg.timed_to))


def cooling_figures(
    scenario: Scenario, air: Air, driving: Driving, solved: Solved, others: Mapping[str, Solved]
) -> CoolingFigures:
    """Gather the cooling figures.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    driving : Driving
    solved : Solved
    others : mapping of str to Solved
        The same event for each kind of tank mixing, when the user has not chosen one.

    Returns
    -------
    CoolingFigures
    """
    history, design, cooling = solved.told.history, solved.cooling.design, solved.cooling
    when = moments(scenario, history)
    shared = equalised(design, history)
    finish = when.finishes[0] if when.finishes else len(history.time) - 1
    at_peak = int(np.argmax(history.exchanger_heat))
    boils = np.flatnonzero(history.coolant >= history.boil_temperature - BOILS)
    leak = design.hot.saturation_temperature(air.pressure + scenario.coolant.leaking_cap_pressure)
    leaking = (
        float(leak)
        - float(np.max(history.coolant[when.working]))
        - (scenario.limits.hot_spot_allowance)
    )
    lost = seconds_to_boil(design, history, when.full)
    first = driving.legs[_first_pass(scenario)]
    pressure = solved.told.pressure
    kelvin = 273.15
    return CoolingFigures(
        coolant_peak_degC=float(np.max(history.coolant)) - kelvin,
        coolant_end_of_pass_degC=float(history.coolant[finish]) - kelvin,
        coolant_least_full_power_degC=float(np.min(history.coolant[when.full])) - kelvin,
        tank_peak_degC=float(np.max(history.tank_hot)) - kelvin,
        tank_end_degC=float(history.tank_mean[-1]) - kelvin,
        tank_end_of_pass_degC=float(history.tank_mean[finish]) - kelvin,
        return_line_peak_degC=float(np.max(history.tank_in)) - kelvin,
        boil_temperature_degC=float(design.boil_temperature) - kelvin,
        boil_margin_K=boil_margin(scenario, history, when.working),
        boil_margin_by_mixing_K={
            m: boil_margin(scenario, s.told.history, moments(scenario, s.told.history).working)
            for m, s in sorted(others.items())
        },
        after_boil_margin_K=after_boil_margin(scenario, solved),
        shut_off_at_finish_margin_K=float(
            min((design.boil_temperature - shared[i] for i in when.finishes), default=math.inf)
        ),
        leaking_cap_margin_K=leaking,
        flow_lost_boil_s=float(np.min(lost)) if len(lost) else math.inf,
        heat_total_J=sum(_metal_heat(p.drive) for p in solved.plan),
        effectiveness_at_peak=float(history.effectiveness[at_peak]),
        ntu_at_peak=float(history.ntu[at_peak]),
        ua_at_peak_W_per_K=float(history.ua[at_peak]),
        tank_flow_m3_per_s=float(cooling.cold_flow.flow_at(float(history.tank_out[at_peak]))),
        coolant_flow_m3_per_s=float(history.hot_flow[at_peak]),
        tank_pressure_peak_Pa=float(np.max(history.tank_pressure)),
        tank_pressure_end_of_pass_Pa=float(history.tank_pressure[finish]),
        tank_vacuum_Pa=pressure.vacuum,
        headspace_needed_m3=pressure.headspace_needed,
        steam_lost_kg=float(history.jacket_mass[0] - history.jacket_mass[-1] + _tank_steam(solved)),
        tank_water_kg=float(history.tank_mass[0]) + cooling.dead_mass,
        centre_of_mass_shift_m=_shift(scenario, float(history.tank_mass[0]) + cooling.dead_mass),
        ice_left_kg=float(history.ice[-1]),
        boils_at_s=float(history.time[boils[0]]) if len(boils) else math.nan,
        pass_time_s=first.duration,
        pass_top_speed_m_per_s=math.nan if first.trace is None else float(first.trace.top_speed),
        timed_speed_m_per_s=_timed(scenario, driving),
    )


def _metal_heat(drive: LegDrive) -> float:
    """Heat into the metal over a piece [J]."""
    table = np.asarray(drive.metal_heat, dtype=np.float64)
    return float(np.trapezoid(table)) * float(drive.duration) / (len(table) - 1)


def _tank_steam(solved: Solved) -> float:
    return float(totals(solved.run)["tank_steam"])
