"""Peaks and margins of the cooling side, from its history."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from thermo.boil_times import Mask, soonest_boil
from thermo.driving import Driving
from thermo.gas import FloatArray
from thermo.loop_design import LegDrive, LoopDesign
from thermo.loop_run import totals
from thermo.ops import MixedError, least, most, ops_of, pick, plain
from thermo.results import CoolingFigures, History
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.tank import centre_of_mass_shift
from thermo.trace import stretch_speed

if TYPE_CHECKING:
    from thermo.cooling_run import Solved

BOILS = 1e-3
"""Coolant this close to saturation counts as boiling [K]: the solver holds it just there."""

FLOWING = 1e-9
"""Coolant flow above which the loop counts as flowing [m3/s]."""


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

    Notes
    -----
    Of variants the rows are the same for all: what decides them, legs, pumps and whether there
    is any flow or heat, must not differ among those of one array.
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
    flowing = _alike(history.hot_flow > FLOWING)
    working = flowing | _alike(history.heat_to_metal > 0.0) | full
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


def _alike(rows: Mask) -> Mask:
    """Return which rows of a history are so, the same for every variant."""
    if rows.ndim == 1:
        return rows
    differs = (rows != rows[:, :1]).any(axis=0)
    if bool(differs.any()):
        raise MixedError(differs)
    return np.asarray(rows[:, 0])


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


def boil_margin(scenario: Scenario, history: History, rows: Mask) -> Any:
    """Return the least boil margin over some rows, hot-spot allowance taken off [K]. [poly]"""
    if not bool(rows.any()):
        return math.inf
    margin = history.boil_temperature[rows] - history.coolant[rows]
    return plain(np.min(margin, axis=0)) - scenario.limits.hot_spot_allowance


def leaking_cap_margin(scenario: Scenario, air: Air, solved: Solved, rows: Mask) -> Any:
    """Return the least boil margin over some rows with a cap that leaks [K]. [poly]"""
    hot = solved.cooling.design.hot
    leak = hot.saturation_temperature(air.pressure + scenario.coolant.leaking_cap_pressure)
    peak = plain(np.max(solved.told.history.coolant[rows], axis=0))
    return leak - peak - scenario.limits.hot_spot_allowance


def stop_margin(solved: Solved, rows: Sequence[int]) -> Any:
    """Return the least margin of saturation over the equalised temperature at rows [K]. [poly]"""
    if not rows:
        return math.inf
    history, design = solved.told.history, solved.cooling.design
    shared = equalised(design, history)
    return least(plain(design.boil_temperature - shared[i]) for i in rows)


def after_boil_margin(scenario: Scenario, solved: Solved) -> Any:
    """Return the least margin of saturation over the equalised temperature at flow stops [K]."""
    return stop_margin(solved, moments(scenario, solved.told.history).stops)


def coolant_steam(solved: Solved) -> Any:
    """Return the steam that left the coolant over the event [kg]. [poly]"""
    # From what was put in: coolant that starts beyond saturation flashes at once.
    return plain(solved.cooling.jacket_mass - solved.told.history.jacket_mass[-1])


def tank_steam(solved: Solved) -> Any:
    """Return the steam that left the tank over the event [kg]. [poly]"""
    return plain(totals(solved.run)["tank_steam"])


def steam_lost(solved: Solved) -> Any:
    """Return the steam that left coolant and tank over the event [kg]. [poly]"""
    return coolant_steam(solved) + tank_steam(solved)


def heat_total(solved: Solved) -> Any:
    """Return the heat into the metal over the event, by the plan [J]. [poly]"""
    return sum(metal_heat(p.drive) for p in solved.plan)


def peak_of(values: FloatArray) -> Any:
    """Return the largest of a column of a history; one a variant."""
    return plain(np.max(values, axis=0))


def _boils_at(history: History) -> Any:
    """Return when the coolant first boils [s], NaN when it never does."""
    boils = history.coolant >= history.boil_temperature - BOILS
    first = pick(history.time, np.argmax(boils, axis=0))
    ever = boils.any(axis=0)
    return ops_of(ever).where(ever, first, math.nan)


def _shift(scenario: Scenario, water: Any) -> Any:
    """Shift of the car's centre of mass by the tank's water and ice [m], to the rear positive."""
    car, tank = scenario.car, scenario.tank
    centre = 0.55 * car.length if car.centre_of_mass is None else car.centre_of_mass
    carried = water + tank.ice_mass
    return centre_of_mass_shift(most((car.mass - carried, 1.0)), centre, carried, tank.position)


def timed_stretch(scenario: Scenario, driving: Driving) -> Any:
    """Return the average speed over the timed stretch of the first pass [m/s], NaN without."""
    number = scenario.first_pass
    leg, trace = scenario.leg[number], driving.legs[number].trace
    if trace is None or leg.timed_from is None or leg.timed_to is None:
        return math.nan
    return plain(stretch_speed(trace, leg.timed_from, leg.timed_to))


def pass_of(scenario: Scenario, driving: Driving) -> tuple[Any, Any]:
    """Return time [s] and top speed [m/s] of the first full-power leg. [poly]"""
    first = driving.legs[scenario.first_pass]
    top = math.nan if first.trace is None else plain(first.trace.top_speed)
    return first.duration, top


def cooling_figures(
    scenario: Scenario, air: Air, driving: Driving, solved: Solved, others: Mapping[str, History]
) -> CoolingFigures:
    """Gather the cooling figures. [poly]

    Parameters
    ----------
    scenario : Scenario
    air : Air
    driving : Driving
    solved : Solved
    others : mapping of str to History
        Of the same event for each kind of tank mixing, when the user has not chosen one.

    Returns
    -------
    CoolingFigures
        Of variants every number is an array with one entry each.
    """
    history, design, cooling = solved.told.history, solved.cooling.design, solved.cooling
    when = moments(scenario, history)
    finish = when.finishes[0] if when.finishes else len(history.time) - 1
    at_peak = np.argmax(history.exchanger_heat, axis=0)
    pass_time, top_speed = pass_of(scenario, driving)
    pressure = solved.told.pressure
    water = pick(history.tank_mass, 0) + cooling.dead_mass
    kelvin = 273.15
    return CoolingFigures(
        coolant_peak_degC=peak_of(history.coolant) - kelvin,
        coolant_end_of_pass_degC=pick(history.coolant, finish) - kelvin,
        coolant_least_full_power_degC=plain(np.min(history.coolant[when.full], axis=0)) - kelvin,
        tank_peak_degC=peak_of(history.tank_hot) - kelvin,
        tank_end_degC=pick(history.tank_mean, -1) - kelvin,
        tank_end_of_pass_degC=pick(history.tank_mean, finish) - kelvin,
        return_line_peak_degC=peak_of(history.tank_in) - kelvin,
        boil_temperature_degC=plain(design.boil_temperature - kelvin),
        boil_margin_K=boil_margin(scenario, history, when.working),
        boil_margin_by_mixing_K={
            m: boil_margin(scenario, h, moments(scenario, h).working)
            for m, h in sorted(others.items())
        },
        after_boil_margin_K=after_boil_margin(scenario, solved),
        shut_off_at_finish_margin_K=stop_margin(solved, when.finishes),
        leaking_cap_margin_K=leaking_cap_margin(scenario, air, solved, when.working),
        flow_lost_boil_s=soonest_boil(design, history, when.full),
        heat_total_J=heat_total(solved),
        effectiveness_at_peak=pick(history.effectiveness, at_peak),
        ntu_at_peak=pick(history.ntu, at_peak),
        ua_at_peak_W_per_K=pick(history.ua, at_peak),
        tank_flow_m3_per_s=plain(cooling.cold_flow.flow_at(pick(history.tank_out, at_peak))),
        coolant_flow_m3_per_s=pick(history.hot_flow, at_peak),
        tank_pressure_peak_Pa=peak_of(history.tank_pressure),
        tank_pressure_end_of_pass_Pa=pick(history.tank_pressure, finish),
        tank_vacuum_Pa=pressure.vacuum,
        headspace_needed_m3=pressure.headspace_needed,
        steam_lost_kg=steam_lost(solved),
        tank_water_kg=water,
        centre_of_mass_shift_m=_shift(scenario, water),
        ice_left_kg=pick(history.ice, -1),
        boils_at_s=_boils_at(history),
        pass_time_s=pass_time,
        pass_top_speed_m_per_s=top_speed,
        timed_speed_m_per_s=timed_stretch(scenario, driving),
    )


def metal_heat(drive: LegDrive) -> Any:
    """Return the heat into the metal over a piece, by the trapezoid rule on its grid [J]. [poly]

    Parameters
    ----------
    drive : LegDrive

    Returns
    -------
    float or ndarray
    """
    table = drive.metal_heat
    inner: Any = sum(table[1:-1])
    return (inner + 0.5 * (table[0] + table[-1])) * drive.duration / (len(table) - 1)
