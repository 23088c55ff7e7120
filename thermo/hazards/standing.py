"""The water as it stands in the car: over the pick-up when pulled about, and frozen overnight."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermo.free_surface import pickup_cover
from thermo.gas import FloatArray
from thermo.hazards.context import (
    CAUTION,
    CELSIUS,
    Context,
    below,
    flag,
    level_of,
    when,
    worst,
)
from thermo.ops import least, most, plain
from thermo.results import Flag
from thermo.tank_shape import box_of
from thermo.vehicle import STANDARD_GRAVITY

LEAST_COVER = 0.02
"""Depth of water that the tank's outlet wants over it [m]: common practice."""

FREEZE_MARGIN = 3.0
"""Air over the freezing point below which to drain [K]: common practice."""


def accelerations(c: Context) -> FloatArray:
    """Return the car's acceleration at each row of the history [m/s2], zero across legs. [poly]"""
    history = c.solved.told.history
    out = np.zeros(history.speed.shape)
    step = np.diff(history.time, axis=0)
    one_leg = (history.leg[1:] == history.leg[:-1]).reshape(-1, *(1 for _ in out.shape[1:]))
    good = one_leg & (step > 1e-6)
    out[:-1] = np.where(good, np.diff(history.speed, axis=0) / np.where(good, step, 1.0), 0.0)
    return out


def outlet_cover(c: Context, acceleration: Any) -> Any:
    """Return the water over the outlet at an acceleration [m/s2], in [m]. [poly]"""
    tank, box = c.scenario.tank, box_of(c.scenario.tank)
    return pickup_cover(
        tank.fill, box.length, box.height, acceleration, STANDARD_GRAVITY, tank.outlet
    )


def pumped_accelerations(c: Context) -> FloatArray:
    """Return the car's acceleration while the tank pump runs [m/s2], zero while it does not."""
    return np.where(c.solved.told.history.cold_flow > 0.0, accelerations(c), 0.0)


def _blocks(c: Context) -> Any:
    """Say whether pieces of ice may block the outlet. [poly]"""
    ice = most((c.scenario.tank.ice_mass, *(leg.ice_mass for leg in c.scenario.leg)))
    return (ice > 0.0) & (not c.scenario.tank.strainer)


def pick_up_rank(c: Context) -> Any:
    """Return the rank of `pick_up`. [poly]"""
    pull = pumped_accelerations(c)
    depth = least(outlet_cover(c, plain(end(pull, axis=0))) for end in (np.max, np.min))
    rank = below(depth, LEAST_COVER)
    return worst(rank, when(_blocks(c), CAUTION))


def freeze_rank(c: Context) -> Any:
    """Return the rank of `freeze`. [poly]"""
    design = c.solved.cooling.design
    point = max(design.cold.freezing_point, design.hot.freezing_point)
    return below(c.air.temperature - point, FREEZE_MARGIN)


def pick_up(c: Context) -> Flag:
    """Water left over the pick-up when the car accelerates or the parachute pulls."""
    tank, pull = c.scenario.tank, pumped_accelerations(c)
    depths = {
        row: float(outlet_cover(c, float(pull[row])))
        for row in (int(np.argmax(pull)), int(np.argmin(pull)))
    }
    row = min(depths, key=lambda r: depths[r])
    depth = depths[row]
    why = "water piles up at one end of the tank and the pump draws air where it is shallow"
    cure = "outlet at the rear for acceleration, a sump or baffles, more fill"
    if _blocks(c):
        why = "pieces of ice block an outlet without a strainer"
        cure = "fit a strainer of ten times the outlet's area"
    return flag(
        c,
        "pick-up",
        level_of(pick_up_rank(c)),
        (depth * 1e3, LEAST_COVER * 1e3, "mm"),
        (f"tank outlet, {tank.outlet}", why, cure),
        row=row,
        inputs=("tank.outlet", "tank.fill", "tank.strainer"),
    )


def freeze(c: Context) -> Flag:
    """Freezing of what stays in tank, lines or jacket."""
    design = c.solved.cooling.design
    points = {
        "tank, lines and exchanger": design.cold.freezing_point,
        "engine jacket": design.hot.freezing_point,
    }
    place = max(points, key=lambda k: points[k])
    air = c.air.temperature
    drains = ", ".join(c.scenario.loop.drains) or "none named in loop.drains"
    return flag(
        c,
        "freeze",
        level_of(freeze_rank(c)),
        (air - CELSIUS, points[place] - CELSIUS + FREEZE_MARGIN, "degC"),
        (
            place,
            "water left to freeze splits tank, lines and exchanger, and the leak shows only "
            f"when it thaws; drains: {drains}",
            "drain it overnight, or use glycol",
        ),
        inputs=("tank.glycol_fraction", "coolant.glycol_fraction", "site.air_temperature"),
    )
