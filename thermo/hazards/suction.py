"""Water drawn from the tank and carried down its lines: cavitation, high points, air."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from thermo.air_clearing import air_clearing
from thermo.circuit import segment_drop
from thermo.figures import peak_of
from thermo.hazards.context import (
    CAUTION,
    CLEAR,
    DANGER,
    Context,
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
from thermo.scenario import Scenario
from thermo.site import Air

if TYPE_CHECKING:
    from thermo.cooling_run import Solved

SUCTION_MARGIN = 1.3
"""Suction head available over required below which to be careful: common practice."""

LEAST_SPARE = 5e3
"""Pressure over boiling that a high point of the lines should keep [Pa]: common practice."""


def high_point(scenario: Scenario, air: Air, solved: Solved, density: Any) -> tuple[str, Any]:
    """Return the line whose high point comes nearest to boiling, and what it has left. [poly]

    The static head alone is counted, from the ambient pressure on the tank's water; the hottest
    water of the return line is taken.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    solved : Solved
    density : float or ndarray
        Of the water [kg/m3].

    Returns
    -------
    tuple of (str, float or ndarray)
        Name of the line, and absolute pressure less vapour pressure at its high point [Pa].
    """
    cold = solved.cooling.design.cold
    vapour = cold.saturation_pressure(peak_of(solved.told.history.tank_in))
    lines = {"supply line": scenario.loop.supply, "return line": scenario.loop.return_}
    left = {
        name: air.pressure - density * 9.80665 * most((line.high_point, 0.0)) - vapour
        for name, line in lines.items()
    }
    place = min(left, key=lambda name: float(np.min(left[name])))
    return place, least(left.values())


def suction_of(scenario: Scenario, air: Air, solved: Solved) -> tuple[Any, Any]:
    """Return suction head available at the hottest water drawn, and that water. [poly]

    The pump sits at the end of the supply line; the tank's own pressure is not counted on.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    solved : Solved

    Returns
    -------
    tuple of (float or ndarray)
        [m] and [K].
    """
    loop, cold = scenario.loop, solved.cooling.design.cold
    t = peak_of(solved.told.history.tank_out)
    rho, flow = cold.density(t), solved.cooling.cold_flow.flow_at(t)
    line = segment_of(loop.supply, "supply line")
    loss = segment_drop(line, flow, rho, cold.viscosity(t))
    below_surface = 0.0 if loop.pump is None else loop.pump.below_surface
    vapour = cold.saturation_pressure(t)
    return npsh_available(air.pressure, vapour, rho, below_surface, loss), t


def suction(c: Context) -> tuple[Any, Any]:
    """Return suction head available at the hottest water drawn [m], and that water [K]. [poly]"""
    return suction_of(c.scenario, c.air, c.solved)


def _spare(c: Context, t: Any) -> tuple[str, Any]:
    """Return the line with the least pressure to spare at its high point, and that [Pa]."""
    return high_point(c.scenario, c.air, c.solved, c.solved.cooling.design.cold.density(t))


def cavitation_rank(c: Context) -> Any:
    """Return the rank of `cavitation`. [poly]"""
    pump = c.scenario.loop.pump
    if pump is None or c.scenario.loop.flow is not None:
        return CLEAR
    available, t = suction(c)
    short = when(available <= 0.0, DANGER, CAUTION)
    wanted = SUCTION_MARGIN * pump.npsh_required
    rank = when(available < pump.npsh_required, short, below(available, wanted))
    return worst(rank, below(_spare(c, t)[1], LEAST_SPARE))


def air_lock_rank(c: Context) -> Any:
    """Return the rank of `air_lock`. [poly]"""
    if c.scenario.loop.bleed:
        return CLEAR
    flow = c.solved.cooling.cold_flow
    checks = air_clearing(flow.circuit, flow.flow)
    return worst(CLEAR, *(when(k.velocity < k.needed, CAUTION) for k in checks))


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
