"""The tank as a vessel: hydraulic lock, vacuum, trapped liquid, panels."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.hazards.context import (
    CLEAR,
    DANGER,
    Context,
    above,
    below,
    flag,
    level_of,
    when,
)
from thermo.headspace import NO_RELIEF
from thermo.ops import least, most, plain
from thermo.panel import largest_span, worst_panel_stress
from thermo.results import Flag
from thermo.tank_shape import box_of
from thermo.trapped import compressibility, trapped_pressure_slope
from thermo.units import format_number

LEAST_GAS = 0.02
"""Share of the tank that should stay gas: common practice."""

FREE_TO_EXPAND = ("vented", "overflow-bottle")
"""Closures that give expanding water a way out."""

MOST_VACUUM = -10e3
"""Vacuum below which a flat-sided tank should be looked at [Pa]: common practice."""


def hydraulic_lock_rank(c: Context) -> Any:
    """Return the rank of `hydraulic_lock`. [poly]"""
    tank = c.scenario.tank
    if tank.closure in FREE_TO_EXPAND:
        return CLEAR
    share = gas_share(c)
    rank = below(share, LEAST_GAS)
    return when(share <= 0.0, DANGER, rank) if tank.closure in NO_RELIEF else rank


def gas_share(c: Context) -> Any:
    """Return the least gas space over the tank's volume [-]. [poly]"""
    least_gas = plain(np.min(c.solved.told.history.gas_volume, axis=0))
    return least_gas / c.scenario.tank.volume


def vacuum_rank(c: Context) -> Any:
    """Return the rank of `vacuum`. [poly]"""
    return below(c.cooling.tank_vacuum_Pa, MOST_VACUUM)


def trapped_liquid_rank(c: Context) -> Any:
    """Return the rank of `trapped_liquid`. [poly]"""
    return DANGER if _shut_lines(c) else CLEAR


def _shut_lines(c: Context) -> list[str]:
    loop = c.scenario.loop
    lines = (("supply line", loop.supply), ("return line", loop.return_))
    return [name for name, line in lines if line.shut_both_ends]


def panel_load(c: Context) -> Any:
    """Return the pressure that the largest panel is checked with [Pa]. [poly]"""
    tank = c.scenario.tank
    peak = most((c.cooling.tank_pressure_peak_Pa, -c.cooling.tank_vacuum_Pa))
    if tank.closure not in (*NO_RELIEF, "vented"):
        peak = most((peak, tank.relief_pressure))
    return least((peak, 1e9))


def panel_stress_rank(c: Context) -> Any:
    """Return the rank of `panel_stress`. [poly]"""
    tank = c.scenario.tank
    stress = worst_panel_stress(panel_load(c), *box_of(tank).panel, tank.wall_thickness)
    return above(stress, tank.welded_yield / c.scenario.limits.yield_safety, tank.welded_yield)


def hydraulic_lock(c: Context) -> Flag:
    """Gas space left when the water has expanded."""
    tank, history = c.scenario.tank, c.solved.told.history
    row = int(np.argmin(history.gas_volume))
    share = gas_share(c)
    if tank.closure in FREE_TO_EXPAND:
        return flag(
            c,
            "hydraulic-lock",
            "clear",
            (math.nan, math.nan, "%"),
            ("tank", "expansion has a way out, so the water cannot lock", "keep that way open"),
            row=row,
            inputs=("tank.fill", "tank.closure"),
        )
    return flag(
        c,
        "hydraulic-lock",
        level_of(hydraulic_lock_rank(c)),
        (100.0 * share, 100.0 * LEAST_GAS, "%"),
        (
            "tank headspace",
            "a tank full of water has no spring: pressure then rises 5 to 14 bar a "
            "kelvin where nothing gives, and liquid leaves a relief slowly",
            "fill less, so that expansion leaves gas",
        ),
        row=row,
        inputs=("tank.fill", "tank.closure"),
    )


def vacuum(c: Context) -> Flag:
    """Pressure after the tank has cooled to the air."""
    value = c.cooling.tank_vacuum_Pa
    return flag(
        c,
        "vacuum",
        level_of(vacuum_rank(c)),
        (value / 1e3, MOST_VACUUM / 1e3, "kPa"),
        (
            "tank, when cooled or iced",
            "a tank that was sealed hot, iced, or whose relief lifted, pulls in its flat sides "
            "when it cools",
            "open the lid before it is cold, or fit a vacuum break",
        ),
        row=int(np.argmin(c.solved.told.history.tank_pressure)),
        inputs=("tank.sealing_temperature", "tank.relief_pressure"),
    )


def trapped_liquid(c: Context) -> Flag:
    """Pressure rise a kelvin of liquid shut between two valves."""
    shut, cold = _shut_lines(c), c.solved.cooling.design.cold
    t = c.scenario.tank.start_temperature
    slope = (
        float(
            trapped_pressure_slope(float(cold.expansion_coefficient(t)), float(compressibility(t)))
        )
        / 1e5
    )
    where = " and ".join(shut) if shut else "no line can be shut at both ends"
    return flag(
        c,
        "trapped-liquid",
        level_of(trapped_liquid_rank(c)),
        (slope if shut else 0.0, 0.0, "bar/K"),
        (
            where,
            "liquid shut between two valves or dry-break couplings and then warmed, by the sun "
            "or a hot engine, bursts the line",
            "one thermal relief, or no second shut-off",
        ),
        inputs=("loop.supply.shut_both_ends", "loop.return.shut_both_ends"),
    )


def panel_stress(c: Context) -> Flag:
    """Bending stress of the largest flat panel at relief setting, peak or vacuum."""
    tank = c.scenario.tank
    long, short = box_of(tank).panel
    peak = float(panel_load(c))
    stress = float(worst_panel_stress(peak, long, short, tank.wall_thickness))
    allowed = tank.welded_yield / c.scenario.limits.yield_safety
    side = largest_span(max(peak, 1.0), tank.wall_thickness, allowed, short / long)
    span = (side * long / short, side)
    lower = "" if tank.closure in (*NO_RELIEF, "vented") else ", a lower relief setting"
    return flag(
        c,
        "panel-stress",
        level_of(panel_stress_rank(c)),
        (stress / 1e6, allowed / 1e6, "MPa"),
        (
            f"largest panel, {long * 1e3:.0f} x {short * 1e3:.0f} mm",
            f"at {format_number(peak / 1e3, 4)} kPa the plate bends beyond what metal beside a "
            "weld bears (Roark table 11.4); a first check, no certification. Proof-test with "
            "water, never with air",
            f"panels of at most {math.floor(span[0] * 1e3)} x {math.floor(span[1] * 1e3)} mm "
            f"between stays or baffles welded in, thicker plate{lower}",
        ),
        inputs=("tank.panel_short", "tank.wall_thickness", "tank.relief_pressure"),
    )
