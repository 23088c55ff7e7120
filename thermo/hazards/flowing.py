"""Flow in the loops: cavitation, air, too little flow, and flow that is only a catalogue's."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.air_clearing import air_clearing
from thermo.circuit import segment_drop
from thermo.figures import moments, peak_of
from thermo.gas import FloatArray
from thermo.hazards.context import (
    CAUTION,
    CLEAR,
    DANGER,
    Context,
    above,
    below,
    flag,
    level_of,
    when,
    worst,
)
from thermo.hydraulics import npsh_available
from thermo.loop_flow import segment_of
from thermo.ops import least, most
from thermo.results import Flag

MOST_RISE = 40.0
"""Rise of the tank water in one go through the exchanger above which flow is too small [K]:
common practice."""


LEAST_SPARE = 5e3
"""Pressure over boiling that a high point of the lines should keep [Pa]: common practice."""


def _high_point(c: Context, density: Any, vapour: Any) -> tuple[str, Any]:
    """Return the line whose high point comes nearest to boiling, and what it has left [Pa].

    The static head alone is counted, from the ambient pressure on the tank's water; the hottest
    water of the return line is taken.
    """
    lines = {"supply line": c.scenario.loop.supply, "return line": c.scenario.loop.return_}
    left = {
        name: c.air.pressure - density * 9.80665 * most((line.high_point, 0.0)) - vapour
        for name, line in lines.items()
    }
    place = min(left, key=lambda name: float(np.min(left[name])))
    return place, least(left.values())


def suction(c: Context) -> tuple[Any, Any]:
    """Return suction head available at the hottest water drawn [m], and that water [K]. [poly]

    The pump sits at the end of the supply line; the tank's own pressure is not counted on.
    """
    loop, cold = c.scenario.loop, c.solved.cooling.design.cold
    t = peak_of(c.solved.told.history.tank_out)
    rho, flow = cold.density(t), c.solved.cooling.cold_flow.flow_at(t)
    line = segment_of(loop.supply, "supply line")
    loss = segment_drop(line, flow, rho, cold.viscosity(t))
    below_surface = 0.0 if loop.pump is None else loop.pump.below_surface
    vapour = cold.saturation_pressure(t)
    return npsh_available(c.air.pressure, vapour, rho, below_surface, loss), t


def _spare(c: Context, t: Any) -> tuple[str, Any]:
    """Return the line with the least pressure to spare at its high point, and that [Pa]."""
    cold = c.solved.cooling.design.cold
    hottest = peak_of(c.solved.told.history.tank_in)
    return _high_point(c, cold.density(t), cold.saturation_pressure(hottest))


def cavitation_rank(c: Context) -> Any:
    """Return the rank of `cavitation`. [poly]"""
    pump = c.scenario.loop.pump
    if pump is None or c.scenario.loop.flow is not None:
        return CLEAR
    available, t = suction(c)
    short = when(available <= 0.0, DANGER, CAUTION)
    rank = when(available < pump.npsh_required, short, below(available, 1.3 * pump.npsh_required))
    return worst(rank, below(_spare(c, t)[1], LEAST_SPARE))


def air_lock_rank(c: Context) -> Any:
    """Return the rank of `air_lock`. [poly]"""
    if c.scenario.loop.bleed:
        return CLEAR
    flow = c.solved.cooling.cold_flow
    checks = air_clearing(flow.circuit, flow.flow)
    return worst(CLEAR, *(when(k.velocity < k.needed, CAUTION) for k in checks))


def low_flow_rank(c: Context) -> Any:
    """Return the rank of `low_flow`. [poly]"""
    return when(stands(c).any(axis=0), DANGER, above(peak_of(rises(c)), MOST_RISE))


def stands(c: Context) -> Any:
    """Return the rows of full power in which a loop stands still."""
    history = c.solved.told.history
    still = (history.cold_flow <= 0.0) | (history.hot_flow <= 0.0)
    return _full(c) & still


def _full(c: Context) -> Any:
    history = c.solved.told.history
    full = moments(c.scenario, history).full
    return full.reshape(-1, *(1 for _ in history.cold_flow.shape[1:]))


def rises(c: Context) -> FloatArray:
    """Return the rise of the tank water in one go through the exchanger, at full power [K]."""
    history = c.solved.told.history
    rise = history.tank_in - history.exchanger_in
    return np.where(_full(c) & (history.cold_flow > 0.0), rise, 0.0)


def catalogue_flow_rank(c: Context) -> Any:
    """Return the rank of `catalogue_flow`. [poly]"""
    guessed, ends = _doubtful_flows(c)
    rank: Any = CAUTION if guessed else CLEAR
    return worst(rank, *(when(off, CAUTION) for _, off in ends))


def _doubtful_flows(c: Context) -> tuple[list[str], list[tuple[str, Any]]]:
    """Return flows that are figures alone, and each pumped loop with whether it works off the
    ends of its pump's curve."""
    loop, coolant, cooling = c.scenario.loop, c.scenario.coolant, c.solved.cooling
    guessed = []
    if not cooling.cold_flow.from_curve and not loop.flow_measured:
        guessed.append("loop.flow")
    if not cooling.hot_flow.from_curve and not coolant.flow_measured:
        guessed.append("coolant.flow")
    pumped = (("tank", cooling.cold_flow), ("coolant", cooling.hot_flow))
    return guessed, [(name, flow.off_curve) for name, flow in pumped if flow.from_curve]


def cavitation(c: Context) -> Flag:
    """Net positive suction head of the tank pump, available against required."""
    row = c.peak(c.solved.told.history.tank_out)
    loop, pump = c.scenario.loop, c.scenario.loop.pump
    keys = ("loop.pump.below_surface", "loop.supply.bore", "tank.volume")
    if pump is None or loop.flow is not None:
        return flag(
            c,
            "cavitation",
            "clear",
            (math.nan, math.nan, "m"),
            ("tank pump", "no pump curve is given, so suction was not checked", "give loop.pump"),
            row=row,
            inputs=("loop.pump",),
        )
    available, t = suction(c)
    wanted = pump.npsh_required
    place, spare = _spare(c, t)
    if spare < LEAST_SPARE:
        high = f"; the high point of the {place} is only {spare / 1e3:.0f} kPa from boiling"
    else:
        high = ""
    return flag(
        c,
        "cavitation",
        level_of(cavitation_rank(c)),
        (available, wanted, "m"),
        (
            "tank pump inlet",
            "a pump without suction head runs on vapour and the flow collapses; "
            f"the tank's pressure is not counted on (margin 1.3 is common practice){high}",
            "pump lower and nearer the tank, larger supply line, cooler water",
        ),
        row=row,
        inputs=keys,
    )


def air_lock(c: Context) -> Flag:
    """Water speed against what clears air from falling lines."""
    flow = c.solved.cooling.cold_flow
    checks = [k for k in air_clearing(flow.circuit, flow.flow) if k.velocity < k.needed]
    bleed = c.scenario.loop.bleed
    if not checks:
        speeds = [s.velocity for s in flow.segments] or [0.0]
        return flag(
            c,
            "air-lock",
            "clear",
            (min(speeds), 0.0, "m/s"),
            ("tank loop", "the water is fast enough to carry air along", "nothing"),
            inputs=("loop.flow",),
        )
    slowest = max(checks, key=lambda k: float(k.needed - k.velocity))
    return flag(
        c,
        "air-lock",
        level_of(air_lock_rank(c)),
        (slowest.velocity, slowest.needed, "m/s"),
        (
            slowest.name,
            "water slower than this leaves air standing in a falling line, and the flow "
            "is less than reckoned" + ("; the high points can be bled" if bleed else ""),
            "bleed every high point before the pass, a smaller bore, or more flow",
        ),
        inputs=("loop.bleed", "loop.return.bore", "loop.flow"),
    )


def low_flow(c: Context) -> Flag:
    """Rise of the tank water in one go through the exchanger; no flow at all under power."""
    rise, stopped = rises(c), stands(c)
    row = int(np.flatnonzero(stopped)[0]) if bool(stopped.any()) else c.peak(rise)
    if bool(stopped.any()):
        return flag(
            c,
            "low-flow",
            level_of(low_flow_rank(c)),
            (0.0, 0.0, "L/min"),
            (
                "a loop stands still under power",
                "without flow no heat reaches the tank",
                "check the pumps' legs, fuses and wiring",
            ),
            row=row,
            inputs=("loop.flow", "coolant.flow"),
        )
    value = float(rise[row])
    return flag(
        c,
        "low-flow",
        level_of(low_flow_rank(c)),
        (value, MOST_RISE, "K"),
        (
            "tank water through the exchanger",
            "a large rise means that the tank loop, not the "
            "exchanger, limits the heat: a little less flow then costs a lot",
            "a larger pump or bore in the tank loop",
        ),
        row=row,
        inputs=("loop.flow", "loop.supply.bore"),
    )


def catalogue_flow(c: Context) -> Flag:
    """Whether each flow comes from a curve on its line, or was measured."""
    guessed, pumped = _doubtful_flows(c)
    ends = [name for name, off in pumped if off]
    if ends:
        why = f"the {' and '.join(ends)} pump works off the ends of its curve"
    elif guessed:
        why = (
            f"{' and '.join(guessed)}: a figure without curve or measurement; what is "
            "installed is often half of the catalogue's"
        )
    else:
        why = "both flows come from a pump curve or a measurement"
    return flag(
        c,
        "catalogue-flow",
        level_of(catalogue_flow_rank(c)),
        (c.solved.cooling.cold_flow.flow * 60e3, math.nan, "L/min"),
        (
            "pumps",
            why,
            "give the pump's curve and the line, or measure the flow in the car with "
            "bucket and watch and set flow_measured",
        ),
        inputs=("loop.flow", "coolant.flow"),
    )
