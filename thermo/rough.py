"""Where a run leaves the range of what its figures rest on, and which figures that makes rough."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from thermo.conductance import GivenUA, ScaledUA
from thermo.gas import FloatArray
from thermo.hazards.context import Context
from thermo.ops import each, ops_of, pick
from thermo.results import CoolingFigures

DENSITY_RANGE = (263.15, 323.15)
"""Air temperatures over which the density is held to 0.02 % [K]."""

POWER_RANGE = (0.93, 1.07)
"""Power ratios for which the correction of SAE J1349 is meant."""

_TEMPERATURES = tuple(
    name
    for name in CoolingFigures.__dataclass_fields__
    if name.startswith(("coolant_", "tank_peak", "tank_end", "return_line", "boil_margin",
                        "after_boil", "shut_off", "leaking", "flow_lost", "tank_pressure"))
    and name != "coolant_flow_m3_per_s"
)
_DUCT = ("duct_loss_Pa", "net_Pa", "net_dirty_filter_Pa", "recovery", "air_flow_kg_per_s",
         "duct_mach_max", "break_even_speed_m_per_s", "power_ratio")

AFFECTED: dict[str, tuple[str, ...]] = {
    "exchanger": (
        "cooling.ua_at_peak_W_per_K", "cooling.ntu_at_peak", "cooling.effectiveness_at_peak",
        "cooling.coolant_peak_degC", "cooling.boil_margin_K",
    ),
    "boiling": tuple(f"cooling.{name}" for name in _TEMPERATURES),
    "glycol": ("cooling.coolant_peak_degC", "cooling.boil_margin_K"),
    "tank flow": ("cooling.tank_flow_m3_per_s",),
    "coolant flow": ("cooling.coolant_flow_m3_per_s",),
    "duct": tuple(f"intake.{name}" for name in _DUCT),
    "correction": ("site.j1349_factor",),
    "air": ("site.density_kg_per_m3", "site.density_altitude_m"),
    "ram power": ("intake.power_ratio", "intake.power_ratio_to_bonnet_inlet"),
}
"""Figures that each kind of doubt makes rough, by their names in the JSON."""


@dataclass(frozen=True, slots=True)
class RangeDoubt:
    """One range that a run leaves.

    Attributes
    ----------
    area : str
        A name in `AFFECTED`.
    words : str
        What is outside what.
    row : int or None
        Row of the history from which on; None when not tied to a moment.
    soft : bool
        Whether the figure goes on holding nearly, as told in the words.
    """

    area: str
    words: str
    row: int | None = None
    soft: bool = False


def at_peak(c: Context) -> tuple[Any, Any, Any, Any]:
    """Return hot flow [kg/s] and inlet [K], cold flow and inlet, at the largest heat. [poly]

    Parameters
    ----------
    c : Context

    Returns
    -------
    tuple of (float or ndarray)
    """
    history, design = c.solved.told.history, c.solved.cooling.design
    row = np.argmax(history.exchanger_heat, axis=0)
    coolant, drawn = pick(history.coolant, row), pick(history.tank_out, row)
    m_hot = pick(history.hot_flow, row) * design.hot.density(coolant)
    m_cold = pick(history.cold_flow, row) * design.cold.density(drawn)
    return m_hot, coolant, m_cold, pick(history.exchanger_in, row)


def film_cautions(c: Context) -> Any:
    """Return how many films of the exchanger are outside the range of their relations. [poly]"""
    design = c.solved.cooling.design
    model: Any = design.conductance
    if isinstance(model, ScaledUA):  # a scale moves no flow in or out of a relation's range
        model = model.model
    if isinstance(model, GivenUA):
        return 0.0
    names = [n for n in model.__dataclass_fields__ if isinstance(getattr(model, n), np.ndarray)]

    def count(m_hot: float, t_hot: float, m_cold: float, t_cold: float, *own: float) -> float:
        one = replace(model, **dict(zip(names, own, strict=True))) if names else model
        return float(len(one.cautions(m_hot, design.hot, t_hot, m_cold, design.cold, t_cold)))

    return each(count, *at_peak(c), *(getattr(model, n) for n in names))


def over_boiling(c: Context) -> FloatArray:
    """Return how far the return line is over boiling at the tank's pressure [K]. [poly]"""
    history, cold = c.solved.told.history, c.solved.cooling.design.cold
    pressure = c.air.pressure + history.tank_pressure
    return np.asarray(history.tank_in - cold.saturation_temperature(pressure.clip(5e3, 1.0e6)))


def duct_doubts(c: Context) -> Any:
    """Return how many things make the duct's figures rough. [poly]"""
    if c.driving.intake is None:
        return 0.0
    doubts: Any = c.driving.intake.jump_count
    if c.intake is not None and c.driving.table is not None:
        agreed = c.driving.table.converged.all(axis=0)
        doubts = doubts + ops_of(agreed).where(agreed, 0.0, 1.0)
    return doubts


def _cooling_doubts(c: Context) -> list[RangeDoubt]:
    history, design = c.solved.told.history, c.solved.cooling.design
    m_hot, t_hot, m_cold, t_cold = at_peak(c)
    films = design.conductance.cautions(m_hot, design.hot, t_hot, m_cold, design.cold, t_cold)
    found = [RangeDoubt("exchanger", words) for words in films]
    if math.isfinite(c.cooling.boils_at_s):
        found.append(
            RangeDoubt(
                "boiling",
                f"effectiveness-NTU does not hold from {c.cooling.boils_at_s:.0f} s on, when "
                "the coolant first boils",
                int(np.searchsorted(history.time, c.cooling.boils_at_s)),
            )
        )
    hot = np.flatnonzero(over_boiling(c) > 0.0)
    if len(hot):
        found.append(
            RangeDoubt(
                "boiling",
                f"the return line passes boiling from {c.time_at(int(hot[0])):.0f} s on at the "
                "tank's pressure: effectiveness-NTU does not hold there",
                int(hot[0]),
            )
        )
    if float(history.coolant.max()) > design.hot.t_tabled and design.hot.glycol != "none":
        found.append(
            RangeDoubt(
                "glycol",
                "glycol properties are continued past 100 degC (density 0.4 %, specific heat "
                "1.5 % at 135 degC)",
                soft=not found,
            )
        )
    return found


def range_doubts(c: Context) -> list[RangeDoubt]:
    """Return what the flag ``range`` tells of.

    Parameters
    ----------
    c : Context

    Returns
    -------
    list of RangeDoubt
    """
    found = _cooling_doubts(c)
    if c.driving.intake is not None:
        found += [RangeDoubt("duct", words) for words in c.driving.intake.jumps]
        table = c.driving.table
        if c.intake is not None and table is not None and not bool(table.converged.all()):
            words = "duct and engine, or the duct's paths, did not agree on a flow at every speed"
            found.append(RangeDoubt("duct", words))
    return found


def _told_elsewhere(c: Context) -> list[RangeDoubt]:
    """Return ranges left that other flags and notes tell of, or that move no verdict."""
    found = []
    if c.air.j1349_note:
        found.append(RangeDoubt("correction", f"SAE J1349: {c.air.j1349_note}"))
    if not DENSITY_RANGE[0] <= c.air.temperature <= DENSITY_RANGE[1]:
        found.append(
            RangeDoubt("air", "air density is held to 0.02 % from -10 to 50 degC only")
        )
    ratio = 1.0 if c.intake is None else c.intake.power_ratio
    if not POWER_RANGE[0] <= ratio <= POWER_RANGE[1]:
        found.append(
            RangeDoubt("ram power", f"SAE J1349 is meant for power ratios of {POWER_RANGE[0]:g} to "
                       f"{POWER_RANGE[1]:g}")
        )
    for name, flow in (
        ("tank flow", c.solved.cooling.cold_flow), ("coolant flow", c.solved.cooling.hot_flow),
    ):
        if bool(flow.off_curve):
            found.append(RangeDoubt(name, "the pump works off the ends of its curve"))
        found += [
            RangeDoubt(name, f"{s.name}: Re {s.reynolds:.0f} is between laminar and turbulent, "
                       "where the friction factor is a bridge")
            for s in flow.segments
            if s.regime == "transition"
        ]
    return found


def rough_figures(c: Context) -> dict[str, tuple[str, ...]]:
    """Return why figures are rough, by their names in the JSON.

    Parameters
    ----------
    c : Context

    Returns
    -------
    dict of str to tuple of str
        Only figures that some range left makes rough, such as ``cooling.boil_margin_K``.
    """
    out: dict[str, tuple[str, ...]] = {}
    for doubt in (*range_doubts(c), *_told_elsewhere(c)):
        for name in AFFECTED[doubt.area]:
            out[name] = (*out.get(name, ()), doubt.words)
    return out
