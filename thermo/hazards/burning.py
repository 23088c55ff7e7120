"""What burns: hot water that would reach the driver, and hot bare metal near hands."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.burns import contact_time, scald_time
from thermo.figures import peak_of
from thermo.gas import FloatArray
from thermo.hazards.context import (
    CAUTION,
    CELSIUS,
    CLEAR,
    DANGER,
    Context,
    above,
    flag,
    level_of,
    when,
    worst,
)
from thermo.ops import most
from thermo.results import Flag

DRIVER_LINES = ("none", "sleeve")
"""Line barriers that leave the line in the cockpit."""


def _scald_rank(peak: Any, limit: Any, barrier: str) -> Any:
    """Return the rank of water of a peak temperature behind a barrier. [poly]"""
    return when(peak > limit, DANGER if barrier == "none" else CAUTION)


def tank_scald_rank(c: Context) -> Any:
    """Return the rank of `tank_scald`. [poly]"""
    peak = peak_of(c.solved.told.history.tank_hot)
    return _scald_rank(peak, c.scenario.limits.scald, c.scenario.tank.barrier)


def driver_lines(c: Context) -> dict[str, tuple[str, FloatArray]]:
    """Return barrier and hottest water of each line, by name."""
    history, loop = c.solved.told.history, c.scenario.loop
    return {
        "supply line": (loop.supply.barrier, history.exchanger_in),
        "return line": (loop.return_.barrier, history.tank_in),
    }


def line_scald_rank(c: Context) -> Any:
    """Return the rank of `line_scald`. [poly]"""
    limit = c.scenario.limits.scald
    return worst(CLEAR, *(
        _scald_rank(peak_of(values), limit, barrier)
        for barrier, values in driver_lines(c).values()
        if barrier in DRIVER_LINES
    ))


def bare_metal(c: Context) -> dict[str, FloatArray]:
    """Return the temperature of bare metal that hands meet, by name."""
    bare = {k: values for k, (barrier, values) in driver_lines(c).items() if barrier == "none"}
    return {"tank wall": c.solved.told.history.tank_hot} | bare


def touch_rank(c: Context) -> Any:
    """Return the rank of `touch`. [poly]"""
    peak = most(peak_of(values) for values in bare_metal(c).values())
    return above(peak, c.scenario.limits.touch)


def tank_scald(c: Context) -> Flag:
    """Temperature of the tank's water, against the time to a full-thickness burn."""
    history, limit = c.solved.told.history, c.scenario.limits.scald
    row = c.peak(history.tank_hot)
    peak = float(history.tank_hot[row])
    barrier = c.scenario.tank.barrier
    behind, cure = (
        (
            "there is no barrier between it and the driver",
            "a sealed bulkhead with no joint, filler or relief on the driver's side; more or "
            "colder water",
        )
        if barrier == "none"
        else (
            "only the sealed bulkhead keeps it from the driver",
            "more or colder water; see that the bulkhead is sealed, with no joint, filler or "
            "relief on the driver's side",
        )
    )
    return flag(
        c,
        "tank-scald",
        level_of(tank_scald_rank(c)),
        (peak - CELSIUS, limit - CELSIUS, "degC"),
        (
            "tank at the driver's feet",
            f"water this hot burns through the skin in {scald_time(peak)} (US CPSC 5098, adults), "
            f"and {behind}",
            cure,
        ),
        row=row,
        inputs=("tank.barrier", "tank.volume", "tank.start_temperature"),
    )


def line_scald(c: Context) -> Flag:
    """Hottest water in the lines that pass the driver; outside the cockpit none is too hot."""
    limit, lines = c.scenario.limits.scald, driver_lines(c)
    inside = {k: v for k, v in lines.items() if v[0] in DRIVER_LINES}
    named = inside or lines
    rank = {"none": 2, "sleeve": 1, "outside": 0}
    place = max(
        named,
        key=lambda k: (
            rank[named[k][0]] if float(np.max(named[k][1])) > limit else -1,
            float(np.max(named[k][1])),
        ),
    )
    barrier, values = named[place]
    row = c.peak(values)
    peak = float(values[row])
    kept = {
        "none": "nothing keeps it from the driver if the line parts",
        "sleeve": "only the sleeve keeps it from the driver if the line parts",
        "outside": "it runs outside the cockpit",
    }[barrier]
    return flag(
        c,
        "line-scald",
        level_of(line_scald_rank(c)),
        (peak - CELSIUS, limit - CELSIUS if inside else math.nan, "degC"),
        (
            f"{place} past the driver{'' if inside else ', outside the cockpit'}",
            f"water this hot burns through the skin in {scald_time(peak)} (US CPSC 5098, adults); "
            f"{kept}",
            "route the lines outside the cockpit, or sleeve them so that a leak drains "
            "overboard, with no joint beside the driver",
        ),
        row=row,
        inputs=("loop.return.barrier", "loop.supply.barrier", "loop.flow"),
    )


def touch(c: Context) -> Flag:
    """Hottest bare metal that hands meet: tank wall and line ends."""
    limit, candidates = c.scenario.limits.touch, bare_metal(c)
    place = max(candidates, key=lambda k: float(np.max(candidates[k])))
    row = c.peak(candidates[place])
    peak = float(candidates[place][row])
    return flag(
        c,
        "touch",
        level_of(touch_rank(c)),
        (peak - CELSIUS, limit - CELSIUS, "degC"),
        (
            place,
            f"metal this hot burns a hand that holds it for {contact_time(peak)} (ASTM C1057); "
            "driver and crew reach for it in a hurry",
            "cover it, or keep hands off until it has cooled",
        ),
        row=row,
        inputs=("tank.volume", "limits.touch"),
    )
