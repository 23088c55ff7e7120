"""The plan of an event: pieces without a step in heat or flow, each with its drive."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from thermo.cooling import Cooling, ice_charge, peak_power, pumps_run
from thermo.driving import Drive, Driving
from thermo.gas import FloatArray
from thermo.inputs.event import Leg
from thermo.loop import LegDrive
from thermo.loop_run import Service
from thermo.scenario import Scenario
from thermo.site import Air

GRID = 121
"""Points of a driven leg's power and flow; between them both are linear in time."""


@dataclass(frozen=True, slots=True)
class PlanPiece:
    """One piece of a leg.

    Attributes
    ----------
    leg : int
        Position in the event.
    begin, end : float
        Within the leg [s].
    speed, brake_power : ndarray
        On a uniform grid over the piece [m/s], [W].
    drive : LegDrive
    """

    leg: int
    begin: float
    end: float
    speed: FloatArray
    brake_power: FloatArray
    drive: LegDrive


@dataclass(slots=True)
class _Pumps:
    tank_failed: bool = False
    coolant_failed: bool = False


def make_plan(
    scenario: Scenario, air: Air, cooling: Cooling, driving: Driving
) -> list[PlanPiece | tuple[int, Service]]:
    """Cut an event into pieces.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    cooling : Cooling
    driving : Driving

    Returns
    -------
    list
        Pieces in order; a service stands before the wait of its leg as (leg, Service).
    """
    plan: list[PlanPiece | tuple[int, Service]] = []
    pumps = _Pumps()
    for number, (leg, drive) in enumerate(zip(scenario.leg, driving.legs, strict=True)):
        if leg.swap_fraction > 0.0 or leg.ice_mass > 0.0:
            plan.append((number, _service(scenario, leg, air)))
        for begin, end in _cuts(leg, drive.duration):
            pumps.tank_failed |= _failed(leg.tank_pump_fails_at, begin)
            pumps.coolant_failed |= _failed(leg.coolant_pump_fails_at, begin)
            plan.append(_piece(scenario, cooling, driving, number, (begin, end), pumps))
    return plan


def _failed(moment: float | None, begin: float) -> bool:
    return moment is not None and begin >= moment - 1e-9


def _cuts(leg: Leg, duration: float) -> list[tuple[float, float]]:
    marks = {
        m
        for m in (leg.tank_pump_fails_at, leg.coolant_pump_fails_at)
        if m is not None and 1e-6 < m < duration - 1e-6
    }
    edges = [0.0, *sorted(marks), duration]
    return list(pairwise(edges))


def _service(scenario: Scenario, leg: Leg, air: Air) -> Service:
    temperature = air.temperature if leg.swap_temperature is None else leg.swap_temperature
    return Service(
        leg.swap_fraction, temperature, ice_charge(scenario, leg.ice_mass), leg.ice_mass, leg.reseal
    )


def _motion(drive: Drive, begin: float, end: float) -> tuple[FloatArray, FloatArray]:
    """Return speed and brake power on the grid of a piece."""
    if drive.trace is None:
        return np.zeros(2), np.zeros(2)
    t = np.linspace(begin, end, GRID)
    trace = drive.trace
    return np.interp(t, trace.time, trace.speed), np.interp(t, trace.time, trace.power)


def _piece(
    scenario: Scenario,
    cooling: Cooling,
    driving: Driving,
    number: int,
    span: tuple[float, float],
    pumps: _Pumps,
) -> PlanPiece:
    leg, drive = scenario.leg[number], driving.legs[number]
    speed, power = _motion(drive, *span)
    crank = scenario.coolant.drive == "crank"
    tank_on, coolant_on = pumps_run(leg, crank)
    tank_on = tank_on and not pumps.tank_failed
    coolant_on = coolant_on and not pumps.coolant_failed
    heat, oil, charge = _heats(scenario, cooling, leg, power)
    hot = np.zeros(len(speed))
    if coolant_on:
        hot = cooling.full_hot_flow * _crank_share(scenario, driving, leg, speed)
    cold: Callable[[Any], Any] = cooling.cold_flow.flow_at if tank_on else (lambda _t: 0.0)
    sunny = leg.kind == "queue" if leg.sun is None else leg.sun
    return PlanPiece(
        number,
        span[0],
        span[1],
        speed,
        power,
        LegDrive(
            duration=span[1] - span[0],
            metal_heat=heat.tolist(),
            oil_heat=oil.tolist(),
            charge_heat=charge.tolist(),
            hot_flow=hot.tolist(),
            cold_flow=cold,
            cold_pump_power=cooling.cold_flow.power if tank_on else 0.0,
            hot_pump_power=cooling.hot_flow.power if coolant_on and not crank else 0.0,
            sun=scenario.tank.sun_heat if sunny else 0.0,
            ice=None,
        ),
    )


def _heats(
    scenario: Scenario, cooling: Cooling, leg: Leg, power: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return heat into metal, oil and charge cooler on the grid [W]."""
    engine = scenario.engine
    still = np.zeros(len(power))
    if leg.engine_state == "full":
        return (
            np.asarray(cooling.heat.at(power)),
            engine.oil_share * power,
            engine.charge_cooler_heat * power / peak_power(engine),
        )
    if leg.engine_state == "idle":
        idle = still + engine.idle_heat * engine.displacement
        share = engine.oil_share * peak_power(engine) / max(cooling.full_heat, 1.0)
        return idle, share * idle, still
    return still, still, still


def _crank_share(scenario: Scenario, driving: Driving, leg: Leg, speed: FloatArray) -> FloatArray:
    """Return the coolant flow over that at full power: 1 for an electric pump."""
    if scenario.coolant.drive != "crank":
        return np.ones(len(speed))
    if leg.engine_state == "idle":
        return np.full(len(speed), scenario.coolant.idle_flow_share)
    turns = np.asarray(driving.turns(speed), dtype=np.float64) + 0.0 * speed
    return turns / driving.full_turns
