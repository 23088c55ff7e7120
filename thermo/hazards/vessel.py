"""The tank as a vessel: relief, hydraulic lock, vacuum, trapped liquid, panels."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.figures import peak_of
from thermo.free_surface import port_gap
from thermo.hazards.context import (
    CAUTION,
    CELSIUS,
    CLEAR,
    DANGER,
    Context,
    above,
    below,
    flag,
    level_of,
    when,
)
from thermo.hazards.standing import accelerations
from thermo.headspace import NO_RELIEF
from thermo.inputs.tank import Tank
from thermo.ops import least, most, plain
from thermo.panel import largest_span, worst_panel_stress
from thermo.relief import bore, steam_area, steam_rate
from thermo.results import Flag
from thermo.tank_shape import box_of
from thermo.trapped import compressibility, trapped_pressure_slope
from thermo.vehicle import STANDARD_GRAVITY

NEAR_RELIEF = 0.9
"""Share of the relief's setting above which to be careful: common practice."""

SAFE_SEALED = 20e3
"""Pressure that a tank without relief may see before it is a danger [Pa]: common practice for
flat-sided tanks."""

LEAST_GAS = 0.02
"""Share of the tank that should stay gas: common practice."""

FREE_TO_EXPAND = ("vented", "overflow-bottle")
"""Closures that give expanding water a way out."""

MOST_VACUUM = -10e3
"""Vacuum below which a flat-sided tank should be looked at [Pa]: common practice."""


def relief_lift_rank(c: Context) -> Any:
    """Return the rank of `relief_lift`. [poly]"""
    tank = c.scenario.tank
    peak = peak_of(c.solved.told.history.tank_pressure)
    if tank.closure == "vented":
        return CLEAR
    if tank.closure in NO_RELIEF:
        return when(peak > safe_sealed(tank), DANGER, CAUTION)
    lifts = peak >= tank.relief_pressure * (1.0 - 1e-9)
    if tank.closure == "overflow-bottle":
        pushed = c.solved.told.pressure.pushed_out
        over = pushed > tank.bottle_volume
        rank = when(over | (lifts & (pushed <= 0.0)), CAUTION)
        return when(over, DANGER, rank) if tank.relief_faces_driver else rank
    rank = when(peak >= NEAR_RELIEF * tank.relief_pressure, CAUTION)
    return when(lifts, DANGER, rank) if tank.relief_faces_driver else rank


def safe_sealed(tank: Tank) -> Any:
    """Return the pressure that a tank without relief may see [Pa]. [poly]

    Parameters
    ----------
    tank : Tank

    Returns
    -------
    float or ndarray
    """
    # A bladder is meant to hold its precharge; what it may add to that is the same.
    return SAFE_SEALED + (tank.precharge if tank.closure == "bladder" else 0.0)


def relief_size_rank(c: Context) -> Any:
    """Return the rank of `relief_size`. [poly]"""
    tank = c.scenario.tank
    if tank.closure in NO_RELIEF:
        return DANGER if tank.closure == "sealed" else CAUTION
    needed, boiling = steam_bore(c)
    lifted = c.cooling.tank_pressure_peak_Pa >= tank.relief_pressure * (1.0 - 1e-9)
    blows = lifted & (c.cooling.tank_peak_degC >= boiling - CELSIUS - 1.0)
    return when(tank.relief_bore < needed, when(blows, DANGER, CAUTION))


def steam_bore(c: Context) -> tuple[Any, Any]:
    """Return the bore that passes the steam of the full heat [m], and its temperature [K]."""
    tank, cold = c.scenario.tank, c.solved.cooling.design.cold
    pressure = c.air.pressure + (0.0 if tank.closure == "vented" else tank.relief_pressure)
    pressure = most((pressure, c.air.pressure + 2e3))
    boiling = cold.saturation_temperature(pressure)
    steam = steam_rate(c.solved.cooling.full_heat, cold.latent_heat(boiling))
    return bore(steam_area(steam, pressure, boiling, c.air.pressure)), boiling


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


def _port_covered(c: Context) -> bool:
    """Whether the relief's port is under water at the hardest acceleration or braking."""
    tank, pull = c.scenario.tank, accelerations(c)
    box = box_of(tank)
    return (
        min(
            float(
                port_gap(
                    tank.fill,
                    box.length,
                    box.height,
                    float(a),
                    STANDARD_GRAVITY,
                    tank.relief_position,
                )
            )
            for a in (np.max(pull), np.min(pull))
        )
        <= 0.0
    )


def relief_lift(c: Context) -> Flag:
    """Tank pressure against the relief's setting, or against having none."""
    tank, history = c.scenario.tank, c.solved.told.history
    row = c.peak(history.tank_pressure)
    peak = float(history.tank_pressure[row])
    keys = ("tank.fill", "tank.relief_pressure", "tank.volume")
    if tank.closure == "overflow-bottle":
        return _overflow(c, row, peak)
    if tank.closure in NO_RELIEF:
        safe = safe_sealed(tank)
        return flag(
            c,
            "relief-lift",
            level_of(relief_lift_rank(c)),
            (peak / 1e3, safe / 1e3, "kPa"),
            (
                "tank headspace",
                "a sealed tank that is heated and has no working relief bursts at "
                "its weakest seam, at the driver's feet",
                "fit a relief that discharges away from driver and tyres",
            ),
            row=row,
            inputs=keys,
        )
    if tank.closure == "vented":
        return flag(
            c,
            "relief-lift",
            "clear",
            (0.0, 0.0, "kPa"),
            (
                "tank vent",
                "a vented tank holds no pressure",
                "keep the vent open and its outlet away from driver and tyres",
            ),
            row=row,
            inputs=keys,
        )
    setting = tank.relief_pressure
    needed = c.cooling.headspace_needed_m3
    if math.isinf(needed):
        cure = "no headspace suffices at this temperature: cool the water or raise the setting"
    else:
        cure = (
            f"{needed * 1e3:.1f} L of headspace at sealing instead of "
            f"{(1.0 - tank.fill) * tank.volume * 1e3:.1f} L, or a higher setting that the "
            "panels hold"
        )
    covered = _port_covered(c)
    port = (
        "; in this event its port is under water when the car accelerates or brakes hardest, "
        "and it would pass water, slowly"
        if covered
        else ""
    )
    return flag(
        c,
        "relief-lift",
        level_of(relief_lift_rank(c)),
        (peak / 1e3, setting / 1e3, "kPa"),
        (
            "tank headspace",
            "a relief that lifts throws hot water or steam; its discharge must "
            f"point away from driver and tyres{port}",
            cure,
        ),
        row=row,
        inputs=keys,
    )


def _overflow(c: Context, row: int, peak: float) -> Flag:
    """The cap and its bottle: a lift is meant, as long as the bottle takes what is pushed out."""
    tank = c.scenario.tank
    pushed = c.solved.told.pressure.pushed_out
    fits = pushed <= tank.bottle_volume
    near = peak >= tank.relief_pressure * (1.0 - 1e-9) and pushed <= 0.0
    why = (
        f"the cap pushes {pushed * 1e3:.2f} L into the bottle, which has room for "
        f"{tank.bottle_volume * 1e3:.2f} L"
    )
    if not fits:
        why += "; the rest goes overboard, hot"
    elif near:
        why = "the cap lifts and lets gas go; the tank then pulls the bottle's water back"
    return flag(
        c,
        "relief-lift",
        level_of(relief_lift_rank(c)),
        (peak / 1e3, tank.relief_pressure / 1e3, "kPa"),
        (
            "cap and overflow bottle",
            why,
            f"a bottle of at least {pushed * 1e3:.2f} L, or less fill",
        ),
        row=row,
        inputs=("tank.bottle_volume", "tank.fill"),
    )


def relief_size(c: Context) -> Flag:
    """Bore that passes the steam which the full heat could make, against the bore fitted."""
    tank = c.scenario.tank
    if tank.closure in NO_RELIEF:
        return flag(
            c,
            "relief-size",
            level_of(relief_size_rank(c)),
            (math.nan, math.nan, "mm"),
            ("tank relief", "there is no relief to size", "fit one"),
            inputs=("tank.closure",),
        )
    needed = float(steam_bore(c)[0])
    what, seat = ("vent", "a vent") if tank.closure == "vented" else ("relief", "a seat")
    return flag(
        c,
        "relief-size",
        level_of(relief_size_rank(c)),
        (tank.relief_bore * 1e3, needed * 1e3, "mm"),
        (
            f"tank {what}",
            f"the {what} must pass the steam that the full heat of the engine could "
            "make (sharp-edged orifice, discharge 0.62), or pressure goes on rising past it",
            f"{seat} of at least {math.ceil(needed * 1e4) / 10:.1f} mm bore",
        ),
        inputs=("tank.relief_bore",),
    )


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
    return flag(
        c,
        "panel-stress",
        level_of(panel_stress_rank(c)),
        (stress / 1e6, allowed / 1e6, "MPa"),
        (
            f"largest panel, {long * 1e3:.0f} x {short * 1e3:.0f} mm",
            f"at {peak / 1e3:.0f} kPa the plate bends beyond what metal beside a weld bears (Roark "
            "table 11.4); a first check, no certification. Proof-test with water, never with air",
            f"panels of at most {span[0] * 1e3:.0f} x {span[1] * 1e3:.0f} mm between stays or "
            "baffles welded in, thicker plate, a lower relief setting",
        ),
        inputs=("tank.panel_short", "tank.wall_thickness", "tank.relief_pressure"),
    )
