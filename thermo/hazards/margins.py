"""Figure and limit of each hazard, for one event or an array of variants.

A flag tells them with words, place and moment, of one event; a map or a table of variants needs
the two numbers alone. A test holds the two together, for every scenario that ships.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from thermo.figures import peak_of
from thermo.flash import flash_to_ambient
from thermo.hazards.boiling import throttle_opens
from thermo.hazards.breathing import LEAN_CAUTION, lean_share
from thermo.hazards.burning import DRIVER_LINES, bare_metal, driver_lines
from thermo.hazards.context import CELSIUS, Context
from thermo.hazards.flowing import rise_and_limit, stands
from thermo.hazards.relieving import steam_bore
from thermo.hazards.standing import FREEZE_MARGIN, LEAST_COVER, outlet_cover, pumped_accelerations
from thermo.hazards.suction import suction
from thermo.hazards.vessel import FREE_TO_EXPAND, LEAST_GAS, MOST_VACUUM, gas_share, panel_load
from thermo.headspace import NO_RELIEF, most_gauge
from thermo.ops import least, most, ops_of, pick, plain
from thermo.panel import worst_panel_stress
from thermo.results import FLOORS
from thermo.tank_shape import box_of

Pair = tuple[Any, Any]

NONE: Pair = (math.nan, math.nan)

AUDIT_PERCENT = 0.5
"""Residual of the energy account above which no verdict is given [%]."""


def _coolant_boil(c: Context) -> Pair:
    return c.cooling.boil_margin_K, c.scenario.limits.caution_margin


def _leaking_cap(c: Context) -> Pair:
    return c.cooling.leaking_cap_margin_K, 0.0


def _after_boil(c: Context) -> Pair:
    return c.cooling.after_boil_margin_K, c.scenario.limits.caution_margin


def _flow_lost(c: Context) -> Pair:
    return c.cooling.flow_lost_boil_s, c.scenario.limits.alarm_time


def _too_cold(c: Context) -> Pair:
    history, limits = c.solved.told.history, c.scenario.limits
    left: Any = math.inf
    value: Any = math.nan
    limit: Any = math.nan
    for i in throttle_opens(c):
        for values, least_wanted in (
            (history.coolant, limits.coolant_minimum), (history.oil, limits.oil_minimum),
        ):
            here = pick(values, i)
            nearer = here - least_wanted < left
            xp = ops_of(nearer)
            left = xp.where(nearer, here - least_wanted, left)
            value = xp.where(nearer, here - CELSIUS, value)
            limit = xp.where(nearer, least_wanted - CELSIUS, limit)
    return value, limit


def _coolant_flash(c: Context) -> Pair:
    hot, peak = c.solved.cooling.design.hot, peak_of(c.solved.told.history.coolant)
    return 100.0 * flash_to_ambient(hot, peak, c.air.pressure), 0.0


def _tank_scald(c: Context) -> Pair:
    peak = peak_of(c.solved.told.history.tank_hot)
    return peak - CELSIUS, c.scenario.limits.scald - CELSIUS


def _line_scald(c: Context) -> Pair:
    """Return the line that comes first: hot and bare, then hot and sleeved, then the hottest.

    Lines that all run outside the cockpit have no limit.
    """
    limit, lines = c.scenario.limits.scald, driver_lines(c)
    inside = {k: v for k, v in lines.items() if v[0] in DRIVER_LINES}
    order = {"none": 2e6, "sleeve": 1e6, "outside": 0.0}
    key: Any = -math.inf
    value: Any = math.nan
    for barrier, values in (inside or lines).values():
        peak = peak_of(values)
        own = ops_of(peak).where(peak > limit, order[barrier], -1e6) + peak
        first = own > key
        xp = ops_of(first)
        key, value = xp.where(first, own, key), xp.where(first, peak, value)
    return value - CELSIUS, limit - CELSIUS if inside else math.nan


def _touch(c: Context) -> Pair:
    peak = most(peak_of(values) for values in bare_metal(c).values())
    return peak - CELSIUS, c.scenario.limits.touch - CELSIUS


def _relief_lift(c: Context) -> Pair:
    tank = c.scenario.tank
    if tank.closure == "vented":
        return NONE
    return peak_of(c.solved.told.history.tank_pressure) / 1e3, most_gauge(tank) / 1e3


def _relief_size(c: Context) -> Pair:
    tank = c.scenario.tank
    if tank.closure in NO_RELIEF:
        return NONE
    return tank.relief_bore * 1e3, steam_bore(c)[0] * 1e3


def _hydraulic_lock(c: Context) -> Pair:
    if c.scenario.tank.closure in FREE_TO_EXPAND:
        return NONE
    return 100.0 * gas_share(c), 100.0 * LEAST_GAS


def _vacuum(c: Context) -> Pair:
    return c.cooling.tank_vacuum_Pa / 1e3, MOST_VACUUM / 1e3


def _panel_stress(c: Context) -> Pair:
    tank = c.scenario.tank
    stress = worst_panel_stress(panel_load(c), *box_of(tank).panel, tank.wall_thickness)
    return stress / 1e6, tank.welded_yield / c.scenario.limits.yield_safety / 1e6


def _pick_up(c: Context) -> Pair:
    pull = pumped_accelerations(c)
    ends = (pull.max(axis=0), pull.min(axis=0))
    return 1e3 * least(outlet_cover(c, plain(end)) for end in ends), 1e3 * LEAST_COVER


def _freeze(c: Context) -> Pair:
    design = c.solved.cooling.design
    point = max(design.cold.freezing_point, design.hot.freezing_point)
    return c.air.temperature - CELSIUS, point - CELSIUS + FREEZE_MARGIN


def _cavitation(c: Context) -> Pair:
    pump = c.scenario.loop.pump
    if pump is None or c.scenario.loop.flow is not None:
        return NONE
    return suction(c)[0], pump.npsh_required


def _low_flow(c: Context) -> Pair:
    """Return the rise; not a number where a loop stands still, which has no rise."""
    (rise, limit), still = rise_and_limit(c), stands(c).any(axis=0)
    return ops_of(rise).where(still, math.nan, rise), limit


def _catalogue_flow(c: Context) -> Pair:
    return c.solved.cooling.cold_flow.flow * 60e3, math.nan


def _intake_net(c: Context) -> Pair:
    return NONE if c.intake is None else (c.intake.net_Pa, 0.0)


def _intake_mach(c: Context) -> Pair:
    return NONE if c.intake is None else (c.intake.duct_mach_max, c.scenario.limits.mach)


def _intake_hot(c: Context) -> Pair:
    return NONE if c.intake is None else (c.intake.heat_rise_K, c.scenario.limits.intake_rise)


def _fuel_reference(c: Context) -> Pair:
    return NONE if c.intake is None else (lean_share(c), LEAN_CAUTION)


def _audit(c: Context) -> Pair:
    return 100.0 * c.audit.residual_fraction, AUDIT_PERCENT


MARGINS: dict[str, tuple[str, Callable[[Context], Pair]]] = {
    "coolant-boil": ("K", _coolant_boil),
    "leaking-cap": ("K", _leaking_cap),
    "after-boil": ("K", _after_boil),
    "flow-lost": ("s", _flow_lost),
    "too-cold": ("degC", _too_cold),
    "tank-scald": ("degC", _tank_scald),
    "line-scald": ("degC", _line_scald),
    "coolant-flash": ("%", _coolant_flash),
    "touch": ("degC", _touch),
    "relief-lift": ("kPa", _relief_lift),
    "relief-size": ("mm", _relief_size),
    "hydraulic-lock": ("%", _hydraulic_lock),
    "vacuum": ("kPa", _vacuum),
    "panel-stress": ("MPa", _panel_stress),
    "pick-up": ("mm", _pick_up),
    "freeze": ("degC", _freeze),
    "cavitation": ("m", _cavitation),
    "low-flow": ("K", _low_flow),
    "catalogue-flow": ("L/min", _catalogue_flow),
    "intake-net": ("Pa", _intake_net),
    "intake-mach": ("", _intake_mach),
    "intake-hot": ("K", _intake_hot),
    "fuel-reference": ("%", _fuel_reference),
    "audit": ("%", _audit),
}
"""Unit, and the function that returns figure and limit in it, by hazard. Those that are not here
(trapped-liquid, air-lock, intake-choke, range) have no figure that an array of variants shares."""


def figures_and_limits(c: Context) -> dict[str, Pair]:
    """Return figure and limit of every hazard that has them, in the flag's unit. [poly]

    Parameters
    ----------
    c : Context

    Returns
    -------
    dict of str to (float or ndarray, float or ndarray)
        By hazard; not a number where there is none.
    """
    return {name: function(c) for name, (_, function) in MARGINS.items()}


def slack_of(name: str, value: Any, limit: Any) -> Any:
    """Return what a figure leaves of its limit; below zero the limit is passed. [poly]

    Parameters
    ----------
    name : str
        Of the hazard: it says whether the limit is a least or a most.
    value, limit : float or ndarray
        In the flag's unit.

    Returns
    -------
    float or ndarray
        In the flag's unit; of a temperature in kelvins.
    """
    if name == "fuel-reference":
        return limit - abs(value)
    return value - limit if name in FLOORS else limit - value
