"""The intake: net gain, speed in the duct, choking, heat picked up, and what the fuel feels.

Net gain is judged at the timed speed, since every duct loses at launch; Mach number, choking and
heat at the worst moment of full power.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.figures import moments
from thermo.hazards.context import CLEAR, DANGER, Context, above, below, flag, level_of, when
from thermo.ops import least, most, ops_of, same
from thermo.results import Flag

NO_DUCT = "no duct in the scenario"

UNREFERENCED = ("vented-bowl", "unreferenced-regulator")
"""Fuel systems that do not feel the plenum's pressure."""

FUEL_PRESSURE = {"vented-bowl": 10e3, "unreferenced-regulator": 300e3}
"""Pressure across jet or injector where none is given [Pa]: common practice."""

LEAN_CAUTION, LEAN_DANGER = 2.0, 8.0
"""Share of fuel missing [%] that is a caution and a danger to the engine: common practice."""


def _row(c: Context, seconds: float) -> int:
    """Return the row of full power that is nearest to a time [s]."""
    history = c.solved.told.history
    rows = np.flatnonzero(moments(c.scenario, history).full)
    return int(rows[int(np.argmin(np.abs(history.time[rows] - seconds)))])


def _none(c: Context, name: str, unit: str) -> Flag:
    return flag(c, name, "clear", (math.nan, math.nan, unit), ("intake", NO_DUCT, "nothing"))


def intake_net_rank(c: Context) -> Any:
    """Return the rank of `intake_net`. [poly]"""
    if c.intake is None:
        return CLEAR
    return below(least((c.intake.net_Pa, c.intake.net_dirty_filter_Pa)), 0.0)


def intake_mach_rank(c: Context) -> Any:
    """Return the rank of `intake_mach`. [poly]"""
    return CLEAR if c.intake is None else above(c.intake.duct_mach_max, c.scenario.limits.mach)


def intake_choke_rank(c: Context) -> Any:
    """Return the rank of `intake_choke`. [poly]"""
    return CLEAR if c.intake is None else when(c.intake.choked, DANGER)


def intake_hot_rank(c: Context) -> Any:
    """Return the rank of `intake_hot`. [poly]"""
    return CLEAR if c.intake is None else above(c.intake.heat_rise_K, c.scenario.limits.intake_rise)


def lean_share(c: Context) -> Any:
    """Return the share of fuel missing because its system does not feel the plenum [%]. [poly]"""
    engine = c.scenario.engine
    if c.intake is None or engine.fuel_metering not in UNREFERENCED:
        return 0.0
    pressure = engine.fuel_pressure
    if pressure is None or same(pressure == 0.0):
        pressure = FUEL_PRESSURE[engine.fuel_metering]
    left = most((1.0 - c.intake.net_Pa / pressure, 0.0))
    return 100.0 * (1.0 - ops_of(left).sqrt(left))


def fuel_reference_rank(c: Context) -> Any:
    """Return the rank of `fuel_reference`. [poly]"""
    return above(abs(lean_share(c)), LEAN_CAUTION, LEAN_DANGER)


def intake_net(c: Context) -> Flag:
    """Net gain at the timed speed against still ambient air."""
    duct = c.intake
    if duct is None:
        return _none(c, "intake-net", "Pa")
    even = duct.break_even_speed_m_per_s
    start = (
        f"it begins to help at {even:.0f} m/s"
        if math.isfinite(even)
        else "it helps at no speed looked at"
        if duct.net_Pa < 0.0
        else "it helps at all speeds looked at"
    )
    filters = (
        any(p.kind == "filter" for p in c.scenario.intake.part) if c.scenario.intake else False
    )
    dirty = f"; with a dirty filter {duct.net_dirty_filter_Pa:.0f} Pa" if filters else ""
    return flag(
        c,
        "intake-net",
        level_of(intake_net_rank(c)),
        (duct.net_Pa, 0.0, "Pa"),
        (
            f"plenum at {duct.speed_m_per_s:.0f} m/s",
            f"nose gain {duct.ram_gain_Pa:.0f} Pa less loss {duct.duct_loss_Pa:.0f} Pa; {start} "
            f"(every duct loses at launch){dirty}; over the pass it is least at "
            f"{duct.net_least_speed_m_per_s:.0f} m/s, {duct.net_least_Pa:.0f} Pa, and below zero "
            f"for {100.0 * duct.losing_share:.0f} % of the time",
            "a larger bore, fewer or wider bends, a bell mouth, a larger filter",
        ),
        inputs=("intake.part.0.bore", "intake.copies"),
    )


def intake_mach(c: Context) -> Flag:
    """Mach number in the duct."""
    duct = c.intake
    if duct is None:
        return _none(c, "intake-mach", "")
    limit = c.scenario.limits.mach
    return flag(
        c,
        "intake-mach",
        level_of(intake_mach_rank(c)),
        (duct.duct_mach_max, limit, ""),
        (
            f"narrowest part of the duct, at {duct.duct_mach_max_speed_m_per_s:.0f} m/s",
            "loss grows with the square of the air's speed, and faster near choking; at the timed "
            f"speed of {duct.speed_m_per_s:.0f} m/s it is {duct.duct_mach_timed:.3g}",
            "a larger bore",
        ),
        row=_row(c, duct.duct_mach_max_at_s),
        inputs=("intake.part.0.bore", "intake.copies"),
    )


def intake_choke(c: Context) -> Flag:
    """Whether the duct passes the air that the engine asks for."""
    duct = c.intake
    if duct is None:
        return _none(c, "intake-choke", "kg/s")
    return flag(
        c,
        "intake-choke",
        level_of(intake_choke_rank(c)),
        (duct.air_flow_at_mach_max_kg_per_s, duct.choke_flow_at_mach_max_kg_per_s, "kg/s"),
        (
            f"narrowest part of the duct, at {duct.duct_mach_max_speed_m_per_s:.0f} m/s",
            "a choked duct passes no more air whatever the engine asks: power stops there"
            if duct.choked
            else "the most that the ducts pass before they choke stands beside the flow",
            "a larger bore",
        ),
        row=_row(c, duct.duct_mach_max_at_s),
        inputs=("intake.part.0.bore", "intake.copies"),
    )


def intake_hot(c: Context) -> Flag:
    """Heat that the air picks up in the duct."""
    duct = c.intake
    if duct is None:
        return _none(c, "intake-hot", "K")
    limit = c.scenario.limits.intake_rise
    return flag(
        c,
        "intake-hot",
        level_of(intake_hot_rank(c)),
        (duct.heat_rise_K, limit, "K"),
        (
            f"duct wall, at {duct.heat_rise_speed_m_per_s:.0f} m/s",
            "warm air is thin air: each 3 K cost about half a per cent of power; at the timed "
            f"speed it is {duct.heat_rise_timed_K:.3g} K",
            "shade the duct, keep it from hot lines, lag it",
        ),
        row=_row(c, duct.heat_rise_at_s),
        inputs=("intake.wall_temperature",),
    )


def fuel_reference(c: Context) -> Flag:
    """Fuel missing because its system does not feel the plenum's pressure."""
    duct = c.intake
    if duct is None:
        return _none(c, "fuel-reference", "%")
    engine = c.scenario.engine
    if engine.fuel_metering not in UNREFERENCED:
        return flag(
            c,
            "fuel-reference",
            "clear",
            (0.0, LEAN_CAUTION, "%"),
            ("fuel system", f"{engine.fuel_metering}: it follows the plenum's pressure", "nothing"),
            inputs=("engine.fuel_metering",),
        )
    lean = lean_share(c)
    return flag(
        c,
        "fuel-reference",
        level_of(fuel_reference_rank(c)),
        (lean, LEAN_CAUTION, "%"),
        (
            "fuel system",
            f"{engine.fuel_metering}: the plenum moves by {duct.net_Pa:.0f} Pa and the "
            "fuel system does not feel it, so the mixture goes lean (rich where negative) with the "
            "root of the pressure left",
            "reference bowl or regulator to the plenum",
        ),
        inputs=("engine.fuel_metering", "engine.fuel_pressure"),
    )
