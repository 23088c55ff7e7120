"""Flow in the loops: cavitation, air, too little flow, and flow that is only a catalogue's."""

from __future__ import annotations

import math

import numpy as np

from thermo.air_clearing import air_clearing
from thermo.circuit import segment_drop
from thermo.figures import moments
from thermo.hazards.context import Context, above, below, flag
from thermo.hydraulics import npsh_available
from thermo.loop_flow import segment_of
from thermo.results import Flag

MOST_RISE = 40.0
"""Rise of the tank water in one go through the exchanger above which flow is too small [K]:
common practice."""


LEAST_SPARE = 5e3
"""Pressure over boiling that a high point of the lines should keep [Pa]: common practice."""


def _high_point(c: Context, density: float, vapour: float) -> tuple[str, float]:
    """Return the line whose high point comes nearest to boiling, and what it has left [Pa].

    The static head alone is counted, from the ambient pressure on the tank's water; the hottest
    water of the return line is taken.
    """
    lines = {"supply line": c.scenario.loop.supply, "return line": c.scenario.loop.return_}
    left = {
        name: c.air.pressure - density * 9.80665 * max(line.high_point, 0.0) - vapour
        for name, line in lines.items()
    }
    place = min(left, key=lambda name: left[name])
    return place, left[place]


def cavitation(c: Context) -> Flag:
    """Net positive suction head of the tank pump, available against required."""
    history, cooling = c.solved.told.history, c.solved.cooling
    row = c.peak(history.tank_out)
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
    cold = cooling.design.cold
    t = float(history.tank_out[row])
    rho = float(cold.density(t))
    flow = float(cooling.cold_flow.flow_at(t))
    loss = float(
        segment_drop(segment_of(loop.supply, "supply line"), flow, rho, float(cold.viscosity(t)))
    )
    # The pump sits at the end of the supply line; the tank's own pressure is not counted on.
    available = float(
        npsh_available(
            c.air.pressure,
            float(cold.saturation_pressure(t)),
            rho,
            pump.below_surface,
            loss,
        )
    )
    wanted = pump.npsh_required
    level = below(available, 1.3 * wanted, wanted)
    level = "caution" if level == "danger" and available > 0.0 else level
    place, spare = _high_point(
        c, rho, float(cold.saturation_pressure(float(history.tank_in.max())))
    )
    if spare < LEAST_SPARE:
        level = "caution" if level == "clear" else level
        high = f"; the high point of the {place} is only {spare / 1e3:.0f} kPa from boiling"
    else:
        high = ""
    return flag(
        c,
        "cavitation",
        level,
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
    checks = [k for k in air_clearing(flow.circuit, flow.flow) if not k.cleared]
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
    worst = max(checks, key=lambda k: k.needed - k.velocity)
    level = below(worst.velocity, 0.0 if bleed else worst.needed, -math.inf)
    return flag(
        c,
        "air-lock",
        level,
        (worst.velocity, worst.needed, "m/s"),
        (
            worst.name,
            "water slower than this leaves air standing in a falling line, and the flow "
            "is less than reckoned" + ("; the high points can be bled" if bleed else ""),
            "bleed every high point before the pass, a smaller bore, or more flow",
        ),
        inputs=("loop.bleed", "loop.return.bore", "loop.flow"),
    )


def low_flow(c: Context) -> Flag:
    """Rise of the tank water in one go through the exchanger; no flow at all under power."""
    history = c.solved.told.history
    full = moments(c.scenario, history).full
    cold_heat = history.tank_in - history.exchanger_in
    rise = np.where(full & (history.cold_flow > 0.0), cold_heat, 0.0)
    stopped = full & ((history.cold_flow <= 0.0) | (history.hot_flow <= 0.0))
    row = int(np.flatnonzero(stopped)[0]) if bool(stopped.any()) else c.peak(rise)
    if bool(stopped.any()):
        return flag(
            c,
            "low-flow",
            "danger",
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
        above(value, MOST_RISE),
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
    loop, coolant, cooling = c.scenario.loop, c.scenario.coolant, c.solved.cooling
    guessed = []
    if not cooling.cold_flow.from_curve and not loop.flow_measured:
        guessed.append("loop.flow")
    if not cooling.hot_flow.from_curve and not coolant.flow_measured:
        guessed.append("coolant.flow")
    ends = [
        n
        for n, f in (("tank", cooling.cold_flow), ("coolant", cooling.hot_flow))
        if f.from_curve and f.condition not in ("on the curve", "given")
    ]
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
        "caution" if guessed or ends else "clear",
        (cooling.cold_flow.flow * 60e3, math.nan, "L/min"),
        (
            "pumps",
            why,
            "give the pump's curve and the line, or measure the flow in the car with "
            "bucket and watch and set flow_measured",
        ),
        inputs=("loop.flow", "coolant.flow"),
    )
