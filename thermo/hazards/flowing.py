"""Too little flow in the loops, and flow that is only a catalogue's."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

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
from thermo.ops import plain
from thermo.results import Flag
from thermo.scenario import Scenario
from thermo.units import format_number

if TYPE_CHECKING:
    from thermo.cooling_run import Solved

MOST_RISE = 40.0
"""Rise of the tank water in one go through the exchanger above which flow is too small [K]:
common practice."""

MOST_ENGINE_RISE = 20.0
"""Rise of the coolant in one go through the engine above which its flow is too small [K]: common
practice; parts of the head then run far hotter than the gauge at engine out reads."""

LEAST_COOLANT = 0.6
"""Coolant flow over brake power at full power below which it is too small [L/min a kW]: common
practice is 0.6 to 1.8."""


@dataclass(frozen=True, slots=True)
class FlowChecks:
    """What tells of too little flow at full power, at its worst; of variants, each by itself.

    Attributes
    ----------
    stands : ndarray of bool
        Rows of full power in which a loop stands still.
    tank_rise : ndarray
        Rise of the tank water through the exchanger by row [K]; zero outside full power.
    engine_rise : ndarray
        Rise of the coolant through the engine by row [K]; zero outside full power.
    per_power : ndarray
        Coolant flow over brake power by row [L/min a kW]; infinite outside full power.
    """

    stands: Any
    tank_rise: FloatArray
    engine_rise: FloatArray
    per_power: FloatArray

    @classmethod
    def of(cls, scenario: Scenario, solved: Solved) -> FlowChecks:
        """Look at a solved event. [poly]

        Parameters
        ----------
        scenario : Scenario
        solved : Solved

        Returns
        -------
        FlowChecks
            The rise through the engine is that of the heat its metal gives to the coolant.
        """
        history, design = solved.told.history, solved.cooling.design
        full = moments(scenario, history).full
        full = full.reshape(-1, *(1 for _ in history.cold_flow.shape[1:]))
        cold, hot = history.cold_flow, history.hot_flow
        rise = np.where(full & (cold > 0.0), history.tank_in - history.exchanger_in, 0.0)
        carried = hot * design.hot.density(history.coolant)
        carried = carried * design.hot.specific_heat(history.coolant)
        heat = design.metal_conductance * (history.metal - history.coolant)
        flows = full & (hot > 0.0)
        engine = np.where(flows, heat / np.where(flows, carried, 1.0), 0.0)
        works = flows & (history.brake_power > 0.0)
        share = hot * 60e6 / np.where(works, history.brake_power, 1.0)
        return cls(
            full & ((cold <= 0.0) | (hot <= 0.0)), rise, engine, np.where(works, share, np.inf)
        )


def _flows(c: Context) -> FlowChecks:
    return FlowChecks.of(c.scenario, c.solved)


def low_flow_rank(c: Context) -> Any:
    """Return the rank of `low_flow`. [poly]"""
    seen = _flows(c)
    slow = worst(
        above(peak_of(seen.tank_rise), MOST_RISE),
        above(peak_of(seen.engine_rise), MOST_ENGINE_RISE),
        below(np.min(seen.per_power, axis=0), LEAST_COOLANT * (1.0 - 1e-9)),
    )
    return when(seen.stands.any(axis=0), DANGER, slow)


def _engine_tells(seen: FlowChecks) -> Any:
    """Say whether the coolant, not the tank water, is nearer to flowing too little. [poly]"""
    by_rise = peak_of(seen.engine_rise) / MOST_ENGINE_RISE > peak_of(seen.tank_rise) / MOST_RISE
    return by_rise | (np.min(seen.per_power, axis=0) < LEAST_COOLANT * (1.0 - 1e-9))


def rise_and_limit(c: Context) -> tuple[Any, Any]:
    """Return the rise that tells of too little flow, and its limit [K]. [poly]

    Parameters
    ----------
    c : Context

    Returns
    -------
    tuple of (float or ndarray)
        Of the coolant through the engine, or of the tank water through the exchanger.
    """
    seen = _flows(c)
    tells = _engine_tells(seen)
    rise = np.where(tells, peak_of(seen.engine_rise), peak_of(seen.tank_rise))
    return plain(rise), plain(np.where(tells, MOST_ENGINE_RISE, MOST_RISE))


def stands(c: Context) -> Any:
    """Return the rows of full power in which a loop stands still."""
    return _flows(c).stands


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


def low_flow(c: Context) -> Flag:
    """Rise of tank water and of coolant, and coolant flow over power; no flow under power."""
    seen = _flows(c)
    if bool(seen.stands.any()):
        return flag(
            c,
            "low-flow",
            level_of(low_flow_rank(c)),
            (0.0, math.nan, "L/min"),
            (
                "a loop stands still under power",
                "without flow no heat reaches the tank",
                "check the pumps' legs, fuses and wiring",
            ),
            row=int(np.flatnonzero(seen.stands)[0]),
            inputs=("loop.flow", "coolant.flow"),
        )
    if not bool(_engine_tells(seen)):
        row = c.peak(seen.tank_rise)
        return flag(
            c,
            "low-flow",
            level_of(low_flow_rank(c)),
            (float(seen.tank_rise[row]), MOST_RISE, "K"),
            (
                "tank water through the exchanger",
                "a large rise means that the tank loop, not the "
                "exchanger, limits the heat: a little less flow then costs a lot",
                "a larger pump or bore in the tank loop",
            ),
            row=row,
            inputs=("loop.flow", "loop.supply.bore"),
        )
    return _low_coolant(c, seen)


def _low_coolant(c: Context, seen: FlowChecks) -> Flag:
    """Coolant flow that is small for the engine: by its rise, or by the rule of thumb."""
    row = c.peak(seen.engine_rise)
    history = c.solved.told.history
    flow = float(history.hot_flow[row]) * 60e3
    wanted = LEAST_COOLANT * float(history.brake_power[row]) / 1e3
    figures = (float(seen.engine_rise[row]), MOST_ENGINE_RISE, "K")
    return flag(
        c,
        "low-flow",
        level_of(low_flow_rank(c)),
        figures,
        (
            "coolant through the engine",
            f"the coolant gains {float(seen.engine_rise[row]):.1f} K in one go at {flow:.0f} "
            f"L/min; common practice is at most {MOST_ENGINE_RISE:.0f} K, and at least "
            f"{wanted:.0f} L/min for this power ({LEAST_COOLANT:g} to 1.8 L/min a kW). With less "
            "the last cylinder boils while the gauge still reads well",
            "a larger coolant pump, wider hoses, less restriction, or more volts",
        ),
        row=row,
        inputs=("coolant.flow", "coolant.line.bore"),
    )


def catalogue_flow(c: Context) -> Flag:
    """Whether each flow comes from a curve on its line, or was measured."""
    guessed, pumped = _doubtful_flows(c)
    ends = [name for name, off in pumped if off]
    if ends:
        why = f"the {' and '.join(ends)} pump works off the ends of its curve"
    elif guessed:
        cooling = c.solved.cooling
        flows = {"loop.flow": cooling.cold_flow.flow, "coolant.flow": cooling.hot_flow.flow}
        told = " and ".join(f"{n}, {format_number(flows[n] * 60e3, 4)} L/min" for n in guessed)
        why = (
            f"{told}: a figure without curve or measurement; what is installed is often half of "
            "the catalogue's"
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
