"""The plan of an event: pieces without a step in heat or flow, each with its drive."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from thermo.cooling import Cooling, ice_charge
from thermo.driving import Driving
from thermo.driving_legs import Drive
from thermo.engine_table import peak_power
from thermo.gas import FloatArray
from thermo.inputs.event import PUMPS_ON, Leg
from thermo.loop_design import LegDrive
from thermo.loop_service import Service
from thermo.ops import most, same
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.trace import interpolate

GRID = 121
"""Points of a driven leg's power and flow; between them both are linear in time."""


@dataclass(frozen=True, slots=True)
class PlanPiece:
    """One piece of a leg.

    Attributes
    ----------
    leg : int
        Position in the event.
    begin, end : float or ndarray
        Within the leg [s].
    speed, brake_power : ndarray
        On a uniform grid over the piece [m/s], [W]; the grid is the first axis.
    drive : LegDrive
    """

    leg: int
    begin: Any
    end: Any
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
    """Cut an event into pieces. [poly]

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
        if same((leg.swap_fraction > 0.0) | (leg.ice_mass > 0.0)):
            plan.append((number, _service(scenario, leg, air)))
        for begin, end in _cuts(leg, drive.duration):
            pumps.tank_failed |= _failed(leg.tank_pump_fails_at, begin)
            pumps.coolant_failed |= _failed(leg.coolant_pump_fails_at, begin)
            plan.append(_piece(scenario, cooling, driving, number, (begin, end), pumps))
    return plan


def _failed(moment: Any, begin: Any) -> bool:
    return moment is not None and same(begin >= moment - 1e-9)


def _cuts(leg: Leg, duration: Any) -> list[tuple[Any, Any]]:
    marks: list[Any] = []
    for m in (leg.tank_pump_fails_at, leg.coolant_pump_fails_at):
        if m is None or not same((m > 1e-6) & (m < duration - 1e-6)):
            continue
        if not marks:
            marks = [m]
        elif not same(m == marks[0]):
            marks = [marks[0], m] if same(marks[0] < m) else [m, marks[0]]
    return list(pairwise([0.0, *marks, duration]))


def _service(scenario: Scenario, leg: Leg, air: Air) -> Service:
    temperature = air.temperature if leg.swap_temperature is None else leg.swap_temperature
    return Service(
        leg.swap_fraction, temperature, ice_charge(scenario, leg.ice_mass), leg.ice_mass, leg.reseal
    )


def _motion(drive: Drive, begin: Any, end: Any) -> tuple[FloatArray, FloatArray]:
    """Return speed and brake power on the grid of a piece."""
    if drive.trace is None:
        return np.zeros(2), np.zeros(2)
    trace = drive.trace
    spread = 0.0 * trace.time[0] + 0.0 * begin
    t = np.linspace(begin + spread, end + spread, GRID)
    time, speed, power = np.broadcast_arrays(trace.time, trace.speed, trace.power)
    if t.ndim > time.ndim:
        time, speed, power = (
            np.broadcast_to(v[:, np.newaxis], (len(v), t.shape[1])) for v in (time, speed, power)
        )
    found: tuple[FloatArray, FloatArray] = interpolate(t, time, speed, power)
    return found


def _piece(
    scenario: Scenario,
    cooling: Cooling,
    driving: Driving,
    number: int,
    span: tuple[Any, Any],
    pumps: _Pumps,
) -> PlanPiece:
    leg, drive = scenario.leg[number], driving.legs[number]
    speed, power = _motion(drive, *span)
    crank = scenario.coolant.drive == "crank"
    tank_on, coolant_on = _pumps_run(leg, crank)
    tank_on = tank_on and not pumps.tank_failed
    coolant_on = coolant_on and not pumps.coolant_failed
    heat, oil, charge = _heats(scenario, cooling, leg, power)
    hot: list[Any] = [0.0] * len(speed)
    if coolant_on:
        shares = _crank_share(scenario, driving, leg, speed)
        hot = _times(cooling.full_hot_flow, shares)
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
            metal_heat=heat,
            oil_heat=oil,
            charge_heat=charge,
            hot_flow=hot,
            cold_flow=cold,
            cold_pump_power=cooling.cold_flow.power if tank_on else 0.0,
            hot_pump_power=cooling.hot_flow.power if coolant_on and not crank else 0.0,
            sun=scenario.tank.sun_heat if sunny else 0.0,
            ice=None,
        ),
    )


def _rows(values: FloatArray) -> list[Any]:
    """Return a table's rows: floats for one event, arrays for variants."""
    return values.tolist() if values.ndim == 1 else list(values)


def _times(factor: Any, rows: list[Any]) -> list[Any]:
    """Return a table times a factor: one object throughout where it does not change."""
    if not isinstance(factor, np.ndarray) and factor == 0.0:
        return [0.0] * len(rows)
    if all(row is rows[0] for row in rows):
        return [factor * rows[0]] * len(rows)
    return [factor * row for row in rows]


def _heats(
    scenario: Scenario, cooling: Cooling, leg: Leg, power: FloatArray
) -> tuple[list[Any], list[Any], list[Any]]:
    """Return heat into metal, oil and charge cooler on the grid [W]."""
    engine = scenario.engine
    still: list[Any] = [0.0] * len(power)
    if leg.engine_state == "full":
        rows = _rows(power)
        charge = engine.charge_cooler_heat / peak_power(engine)
        return (
            [cooling.heat.at(p) for p in rows],
            _times(engine.oil_share, rows),
            _times(charge, rows),
        )
    if leg.engine_state == "idle":
        idle = engine.idle_heat * engine.displacement
        share = engine.oil_share * peak_power(engine) / most((cooling.full_heat, 1.0))
        return [idle] * len(power), [share * idle] * len(power), still
    return still, still, still


def _crank_share(scenario: Scenario, driving: Driving, leg: Leg, speed: FloatArray) -> list[Any]:
    """Return the coolant flow over that at full power: 1 for an electric pump."""
    if scenario.coolant.drive != "crank":
        return [1.0] * len(speed)
    if leg.engine_state == "idle":
        return [scenario.coolant.idle_flow_share] * len(speed)
    return [driving.turns(v) / driving.full_turns for v in _rows(speed)]


def _pumps_run(leg: Leg, crank_driven: bool) -> tuple[bool, bool]:
    """Say whether the tank pump and the coolant pump run in a leg.

    Parameters
    ----------
    leg : Leg
    crank_driven : bool
        Whether the coolant pump turns with the engine.

    Returns
    -------
    tuple of bool
    """
    tank = PUMPS_ON[leg.kind] if leg.tank_pump is None else leg.tank_pump
    coolant: Any = PUMPS_ON[leg.kind] if leg.coolant_pump is None else leg.coolant_pump
    if crank_driven:
        coolant = leg.engine_state != "off"
    return tank, bool(coolant)
