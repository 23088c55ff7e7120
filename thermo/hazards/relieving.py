"""What lets pressure and steam out of the tank: relief, cap, bottle, vent, or nothing at all."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.figures import peak_of, tank_steam
from thermo.free_surface import port_gap
from thermo.hazards.context import (
    CAUTION,
    CELSIUS,
    DANGER,
    Context,
    flag,
    level_of,
    when,
)
from thermo.hazards.standing import accelerations
from thermo.headspace import NO_RELIEF, lifts, most_gauge
from thermo.ops import most
from thermo.relief import bore, steam_area, steam_rate
from thermo.results import Flag
from thermo.tank_shape import box_of
from thermo.vehicle import STANDARD_GRAVITY

NEAR_RELIEF = 0.9
"""Share of the relief's setting above which to be careful: common practice."""


def relief_lift_rank(c: Context) -> Any:
    """Return the rank of `relief_lift`. [poly]"""
    tank = c.scenario.tank
    peak = peak_of(c.solved.told.history.tank_pressure)
    if tank.closure == "vented":
        return when(vent_steams(c), DANGER if tank.relief_faces_driver else CAUTION)
    if tank.closure in NO_RELIEF:
        return when(peak > most_gauge(tank), DANGER, CAUTION)
    lifted = lifts(tank, peak)
    if tank.closure == "overflow-bottle":
        pushed = c.solved.told.pressure.pushed_out
        over = pushed > tank.bottle_volume
        rank = when(over | (lifted & (pushed <= 0.0)), CAUTION)
        return when(over, DANGER, rank) if tank.relief_faces_driver else rank
    rank = when(peak >= NEAR_RELIEF * tank.relief_pressure, CAUTION)
    return when(lifted, DANGER, rank) if tank.relief_faces_driver else rank


def vent_steams(c: Context) -> Any:
    """Say whether the water of a vented tank boils. [poly]"""
    return tank_steam(c.solved) > 0.0


def relief_size_rank(c: Context) -> Any:
    """Return the rank of `relief_size`. [poly]"""
    tank = c.scenario.tank
    if tank.closure in NO_RELIEF:
        return DANGER if tank.closure == "sealed" else CAUTION
    needed, boiling = steam_bore(c)
    vented = tank.closure == "vented"
    lifted = vented or lifts(tank, c.cooling.tank_pressure_peak_Pa)
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
        safe, level = most_gauge(tank), level_of(relief_lift_rank(c))
        held = "the pressure stays under that, but nothing lets go if it does not: "
        return flag(
            c,
            "relief-lift",
            level,
            (peak / 1e3, safe / 1e3, "kPa"),
            (
                "tank headspace",
                f"{held if level == 'caution' else ''}a sealed tank that is heated and has no "
                "working relief bursts at its weakest seam, at the driver's feet",
                "fit a relief that discharges away from driver and tyres",
            ),
            row=row,
            inputs=keys,
        )
    if tank.closure == "vented":
        return _vent(c)
    setting = tank.relief_pressure
    needed = c.cooling.headspace_needed_m3
    if math.isinf(needed):
        cure = "no headspace suffices at this temperature: cool the water or raise the setting"
    else:
        cure = (
            f"{_litres_up(needed)} of headspace at sealing instead of "
            f"{(1.0 - tank.fill) * tank.volume * 1e3:.2f} L, or a higher setting that the "
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


def _vent(c: Context) -> Flag:
    """An open vent holds no pressure; where the water boils it throws steam and hot water."""
    history, level = c.solved.told.history, level_of(relief_lift_rank(c))
    why, cure = "a vented tank holds no pressure", "keep the vent open"
    row = int(np.argmax(history.tank_hot))
    if level != "clear":
        why = (
            f"the water boils, and {tank_steam(c.solved):.2f} kg of it leaves as steam: the vent "
            "throws steam and scalding water"
        )
        cure = "more or colder water, a shorter pass"
    return flag(
        c,
        "relief-lift",
        level,
        (math.nan, math.nan, "kPa"),
        ("tank vent", why, f"{cure}; the outlet of the vent away from driver and tyres"),
        row=row,
        inputs=("tank.volume", "tank.start_temperature"),
    )


def _overflow(c: Context, row: int, peak: float) -> Flag:
    """The cap and its bottle: a lift is meant, as long as the bottle takes what is pushed out."""
    tank = c.scenario.tank
    pushed = c.solved.told.pressure.pushed_out
    fits = pushed <= tank.bottle_volume
    near = lifts(tank, peak) and pushed <= 0.0
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
            f"a bottle of at least {_litres_up(pushed)}, or less fill",
        ),
        row=row,
        inputs=("tank.bottle_volume", "tank.fill"),
    )


def _litres_up(volume: float) -> str:
    """Write a volume [m3] in litres, rounded to the side that suffices."""
    return f"{math.ceil(volume * 1e5 - 1e-9) / 100:.2f} L"


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
