"""The duct at the timed speed: gain, loss, net, stations, break-even; and its worst in the pass."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from thermo.air_demand import power_ratio
from thermo.delivered import Delivered
from thermo.driving import Driving
from thermo.duct import MarchResult, largest_flow
from thermo.intake import IntakeModel
from thermo.intake_pass import pass_air
from thermo.ops import ops_of, plain
from thermo.ram import momentum_drag
from thermo.results import IntakeFigures, Station
from thermo.roots import crossings
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.trace import stretch_speed

SCAN_LOWEST = 1.0
"""Least speed of the scan for break-even [m/s]: at launch every duct is negative."""


def timed_speed(scenario: Scenario, driving: Driving) -> Any:
    """Return the speed at which the duct is judged [m/s].

    Parameters
    ----------
    scenario : Scenario
    driving : Driving

    Returns
    -------
    float or ndarray
        Average over the timed stretch of the first full-power leg, or its top speed.
    """
    number = scenario.first_pass
    leg, trace = scenario.leg[number], driving.legs[number].trace
    if trace is None:
        return 0.0
    if leg.timed_from is not None and leg.timed_to is not None:
        return plain(stretch_speed(trace, leg.timed_from, leg.timed_to))
    return plain(trace.top_speed)


def _stations(marched: tuple[tuple[str, MarchResult], ...]) -> tuple[Station, ...]:
    out: list[Station] = []
    for path, result in marched:
        static, velocity = result.pressure[:, 0], result.velocity[:, 0]
        p0 = result.stagnation_pressure[:, 0]
        for i, name in enumerate(result.names):
            if path == "plenum" and i == 0:
                continue
            out.append(
                Station(
                    name=name,
                    path=path,
                    stagnation_pressure=float(p0[i]),
                    static_pressure=float(static[i]),
                    stagnation_temperature=float(result.stagnation_temperature[i, 0]),
                    mach=float(result.mach[i, 0]),
                    speed=float(velocity[i]),
                    loss=float(p0[i - 1] - p0[i]) if i else 0.0,
                )
            )
    return tuple(out)


def _choke_flow(model: IntakeModel, speed: float) -> float:
    """Largest flow that all ducts together pass at a speed [kg/s], equal losses aside."""
    v = np.array([speed])
    supply = model.supply(model.ram(v), model.loss_factor(v), None)
    return float(sum(largest_flow(p, supply)[0] for p in model.ducts))


def zero_speeds(model: IntakeModel, table: Delivered) -> tuple[float, ...]:
    """Return every speed at which the net gain is zero, rising [m/s].

    Parameters
    ----------
    model : IntakeModel
    table : Delivered
        The scan.

    Returns
    -------
    tuple of float
    """
    chosen = table.speed >= SCAN_LOWEST
    speeds = table.speed[chosen]
    net = np.where(table.choked[chosen], np.nan, table.net[chosen])
    found = crossings(speeds, net, lambda v: float(model.solve([v]).net[0]), 1e-7)
    return tuple(c.at for c in found if c.direction != 0)


def timed_air(model: IntakeModel, speed: Any, wall: Any) -> tuple[Delivered, Delivered]:
    """Return what the intake delivers at the timed speed, its filter clean and dirty. [poly]

    Parameters
    ----------
    model : IntakeModel
    speed : float or ndarray
        [m/s].
    wall : float, ndarray or None
        Temperature of the duct wall [K].

    Returns
    -------
    tuple of Delivered
        Each of one speed.
    """
    return model.solve([speed], wall), model.dirty().solve([speed], wall)


def intake_figures(scenario: Scenario, air: Air, driving: Driving) -> IntakeFigures | None:
    """Gather the intake figures.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    driving : Driving

    Returns
    -------
    IntakeFigures or None
        None without a duct. The break-even speed is the highest zero of the net gain: above it
        the duct helps; NaN when there is none in the scan.
    """
    model, table = driving.intake, driving.table
    brief = timed_figures(scenario, air, driving)
    if model is None or table is None or brief is None:
        return None
    speed, wall = brief.speed_m_per_s, driving.wall_temperature
    marched = () if brief.choked_timed else model.stations(speed, brief.air_flow_kg_per_s, wall)
    zeros = zero_speeds(model, table)
    return replace(
        brief,
        break_even_speed_m_per_s=zeros[-1] if zeros else math.nan,
        crossings_m_per_s=zeros,
        choke_flow_kg_per_s=_choke_flow(model, speed),
        choke_flow_at_mach_max_kg_per_s=_choke_flow(model, brief.duct_mach_max_speed_m_per_s),
        stations=_stations(marched),
        speeds_m_per_s=tuple(float(v) for v in table.speed),
        net_against_speed_Pa=tuple(float(p) for p in table.net),
    )


def timed_figures(scenario: Scenario, air: Air, driving: Driving) -> IntakeFigures | None:
    """Gather the intake figures at the timed speed and at the worst moments of the pass. [poly]

    Parameters
    ----------
    scenario : Scenario
    air : Air
    driving : Driving

    Returns
    -------
    IntakeFigures or None
        None without a duct. Without stations, zeros of the net gain, or the flow that chokes.
    """
    model, worst = driving.intake, pass_air(driving)
    if model is None or worst is None:
        return None
    speed = timed_speed(scenario, driving)
    at, dirty = timed_air(model, speed, driving.wall_temperature)
    flow, net = plain(at.flow[0]), plain(at.net[0])
    gain = plain(np.asarray(at.ram.ram)[0])
    density = plain(at.pressure[0]) / (air.gas_constant * plain(at.temperature[0]))
    still = air.pressure / (air.gas_constant * air.temperature)
    bonnet = air.temperature + model.table.bonnet_excess
    usual = power_ratio(air.pressure, bonnet, air.pressure, air.temperature)
    ratio, xp = plain(at.power_ratio[0]), ops_of(gain)
    return IntakeFigures(
        speed_m_per_s=speed,
        ram_gain_Pa=gain,
        duct_loss_Pa=gain - net,
        net_Pa=net,
        net_dirty_filter_Pa=plain(dirty.net[0]),
        recovery=xp.where(gain > 0.0, net / xp.maximum(gain, 1e-300), math.nan),
        air_flow_kg_per_s=flow,
        duct_mach_max=worst.mach.value,
        duct_mach_max_speed_m_per_s=worst.mach.speed,
        duct_mach_max_at_s=worst.mach.time,
        duct_mach_timed=plain(np.where(at.choked, 1.0, at.mach)[0]),
        air_flow_at_mach_max_kg_per_s=worst.mach.flow,
        density_ratio=density / still,
        power_ratio=ratio,
        power_ratio_to_bonnet_inlet=ratio / usual,
        break_even_speed_m_per_s=math.nan,
        crossings_m_per_s=(),
        heat_rise_K=worst.heat_rise.value,
        heat_rise_speed_m_per_s=worst.heat_rise.speed,
        heat_rise_at_s=worst.heat_rise.time,
        heat_rise_timed_K=plain(
            (at.temperature - np.asarray(at.ram.stagnation_temperature))[0]
        ),
        net_least_Pa=worst.net.value,
        net_least_speed_m_per_s=worst.net.speed,
        net_least_at_s=worst.net.time,
        losing_share=worst.losing,
        momentum_drag_N=plain(momentum_drag(flow, speed + scenario.site.head_wind)),
        pulsation_factor=plain(at.pulsation[0]),
        choked=worst.choked,
        choked_timed=at.choked[0] if at.choked.ndim > 1 else bool(at.choked[0]),
        choke_flow_kg_per_s=math.nan,
        choke_flow_at_mach_max_kg_per_s=math.nan,
        stations=(),
        speeds_m_per_s=(),
        net_against_speed_Pa=(),
    )
