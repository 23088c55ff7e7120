"""What burns: hot water that would reach the driver, and hot bare metal near hands."""

from __future__ import annotations

import numpy as np

from thermo.burns import contact_time, scald_time
from thermo.gas import FloatArray
from thermo.hazards.context import CELSIUS, Context, above, flag
from thermo.results import Flag, Level

DRIVER_LINES = ("none", "sleeve")
"""Line barriers that leave the line in the cockpit."""


def _level(hot: bool, barrier: str) -> Level:
    if not hot:
        return "clear"
    return "danger" if barrier == "none" else "caution"


def tank_scald(c: Context) -> Flag:
    """Temperature of the tank's water, against the time to a full-thickness burn."""
    history, limit = c.solved.told.history, c.scenario.limits.scald
    row = c.peak(history.tank_hot)
    peak = float(history.tank_hot[row])
    barrier = c.scenario.tank.barrier
    behind = (
        "there is no barrier between it and the driver"
        if barrier == "none"
        else "only the sealed bulkhead keeps it from the driver"
    )
    return flag(
        c,
        "tank-scald",
        _level(peak > limit, barrier),
        (peak - CELSIUS, limit - CELSIUS, "degC"),
        (
            "tank at the driver's feet",
            f"water this hot burns through the skin in {scald_time(peak)} (US CPSC 5098, adults), "
            f"and {behind}",
            "a sealed bulkhead with no joint, filler or relief on the driver's "
            "side; more or colder water",
        ),
        row=row,
        inputs=("tank.barrier", "tank.volume", "tank.start_temperature"),
    )


def line_scald(c: Context) -> Flag:
    """Hottest water in the lines that pass the driver."""
    history, limit = c.solved.told.history, c.scenario.limits.scald
    lines = {
        "supply line": (c.scenario.loop.supply.barrier, history.exchanger_in),
        "return line": (c.scenario.loop.return_.barrier, history.tank_in),
    }
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
    level: Level = "clear" if not inside else _level(peak > limit, barrier)
    kept = {
        "none": "nothing keeps it from the driver if the line parts",
        "sleeve": "only the sleeve keeps it from the driver if the line parts",
        "outside": "it runs outside the cockpit",
    }[barrier]
    return flag(
        c,
        "line-scald",
        level,
        (peak - CELSIUS, limit - CELSIUS, "degC"),
        (
            f"{place} past the driver",
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
    history, limit = c.solved.told.history, c.scenario.limits.touch
    candidates: dict[str, FloatArray] = {"tank wall": history.tank_hot} | {
        name: values
        for name, line, values in (
            ("supply line", c.scenario.loop.supply, history.exchanger_in),
            ("return line", c.scenario.loop.return_, history.tank_in),
        )
        if line.barrier == "none"
    }
    place = max(candidates, key=lambda k: float(np.max(candidates[k])))
    row = c.peak(candidates[place])
    peak = float(candidates[place][row])
    return flag(
        c,
        "touch",
        above(peak, limit),
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
