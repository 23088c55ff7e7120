"""What a scenario takes for granted: every default it leaves standing, and how much that matters.

Each default with a usual range is put to either end of it, all others left as they are, and the
event is solved anew: the change of the binding margin tells which of them to measure first.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from thermo.doubt_ranges import ranges_of
from thermo.ensemble import VariantTable, run_variants
from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.fields import Quantity, quantity_of
from thermo.inputs.air import Part
from thermo.results import FLOORS, EventResult
from thermo.scenario import Scenario
from thermo.site_air import DEFAULT_HUMIDITY

PROGRAM = "default of the program"
"""Source of a default that nothing more is known of."""

LEVELS = ("clear", "caution", "danger")

WEAKER: dict[str, Estimate] = {
    "site.relative_humidity": Estimate(
        DEFAULT_HUMIDITY, 0.05, 0.6, "", f"{COMMON_PRACTICE} for a dry lake"
    ),
    "intake.bonnet_excess": Estimate(15.0, 10.0, 30.0, "K", COMMON_PRACTICE),
    "tank.active_fraction": Estimate(0.85, 0.6, 1.0, "", COMMON_PRACTICE),
}
"""Usual figure and range of defaults that are not among the guesses of
:mod:`thermo.doubt_ranges`."""

PARTS: dict[str, tuple[str, ...]] = {
    "roughness": ("tube", "box-tube", "contraction", "expansion", "box-to-round"),
    "angle": ("bend", "mitre", "wye", "tee"),
    "drop": ("filter",),
    "dirty_factor": ("filter",),
}
"""Kinds of duct part that a key of a part has a say in, where not all."""


def _no_say(s: Scenario) -> set[str]:
    """Return inputs that decide nothing in a scenario, since others are given in their place."""
    e, x = s.engine, s.exchanger
    unused: set[str] = set()
    if e.heat_power is not None or e.fuel_heat_share is not None:
        unused.add("engine.heat_share")
    if e.metal_heat_capacity is not None:
        unused.add("engine.metal_mass")
    if x.rated is not None or x.double_pipe is not None or x.plate is not None:
        unused.add("exchanger.ua")
    if s.coolant.pump is not None:
        unused.add("coolant.flow")
    if s.loop.pump is not None:
        unused.add("loop.flow")
    if s.loop.pump is None and s.coolant.pump is None:
        unused.add("loop.voltage")
    if s.site.dew_point is not None:
        unused.add("site.relative_humidity")
    if (s.tank.mixing or "mixed") != "adverse":
        unused.add("tank.active_fraction")
    if not any(leg.engine_state == "idle" for leg in s.leg):
        unused.add("engine.idle_heat")
    return unused


@dataclass(frozen=True, slots=True)
class Assumption:
    """One default that stands because the file does not set it.

    Attributes
    ----------
    key : str
        Dotted key.
    help : str
        What it is, in words.
    kind : str
        Kind of quantity; empty for a choice.
    value : float or str
        What is taken [SI], or the choice.
    low, high : float
        Usual range [SI]; NaN where none is known.
    allowed : str
        What the key accepts at all.
    source : str
        What the default rests on.
    at_low, at_high : float
        What is left of the binding limit at either end, in the unit of the binding hazard; NaN
        where it was not varied or has no verdict.
    levels : tuple of str
        Verdict at the low and at the high end; empty where it was not varied.
    """

    key: str
    help: str
    kind: str
    value: float | str
    low: float
    high: float
    allowed: str
    source: str
    at_low: float = math.nan
    at_high: float = math.nan
    levels: tuple[str, ...] = ()

    @property
    def moves(self) -> float:
        """How far the binding margin moves over the range; NaN where it was not varied."""
        return abs(self.at_high - self.at_low)


@dataclass(frozen=True, slots=True)
class Audit:
    """All assumptions of a scenario, those that matter most first.

    Attributes
    ----------
    binding, unit : str
        The hazard whose margin is looked at, and its unit.
    margin : float
        What is left of its limit as the scenario stands.
    assumptions : tuple of Assumption
    """

    binding: str
    unit: str
    margin: float
    assumptions: tuple[Assumption, ...]


def _tables(scenario: Scenario) -> list[tuple[str, BaseModel]]:
    """Return every table of a scenario with the beginning of its keys; lists by their place."""
    found: list[tuple[str, BaseModel]] = []

    def add(start: str, table: BaseModel) -> None:
        found.append((start, table))
        for name, info in type(table).model_fields.items():
            held = getattr(table, name)
            key = f"{start}{info.alias or name}"
            if isinstance(held, BaseModel):
                add(f"{key}.", held)
            elif isinstance(held, tuple):
                for i, one in enumerate(held):
                    if isinstance(one, BaseModel):
                        add(f"{key}[{i}].", one)

    add("", scenario)
    return found


def left_open(scenario: Scenario) -> list[Assumption]:
    """Return every default that the file leaves standing, in the order of the tables.

    Parameters
    ----------
    scenario : Scenario
        As read from a file.

    Returns
    -------
    list of Assumption
        None of them varied.
    """
    unused = _no_say(scenario)
    usual = _usual(scenario)
    out: list[Assumption] = []
    for start, table in _tables(scenario):
        for name, info in type(table).model_fields.items():
            key = f"{start}{info.alias or name}"
            if name in table.model_fields_set or key in unused or _idle_part(table, name):
                continue
            made = _assumption(key, getattr(table, name), info, usual.get(key))
            if made is not None:
                out.append(made)
    return out


def _idle_part(table: BaseModel, name: str) -> bool:
    """Say whether a key of a duct part has no say in a part of that kind."""
    return isinstance(table, Part) and table.kind not in PARTS.get(name, (table.kind,))


Usual = tuple[float, float, float, str]
"""What is taken, the low and the high end [SI], and what they rest on."""


def _usual(scenario: Scenario) -> dict[str, Usual]:
    """Return the usual figures by key: the ranges of doubt, and the weaker ones."""
    found = {key: (e.value, e.low, e.high, e.basis) for key, e in WEAKER.items()}
    for r in ranges_of(scenario):
        found |= dict.fromkeys(r.keys, (r.value, r.low, r.high, r.source))
    return found


def _assumption(
    key: str, value: Any, info: FieldInfo, usual: Usual | None
) -> Assumption | None:
    """Return a default as an assumption; None where nothing is taken for it."""
    quantity = quantity_of(Scenario, key)
    if isinstance(value, bool):
        return Assumption(key, info.description or "", "", "true" if value else "false",
                          math.nan, math.nan, "true or false", PROGRAM)
    if quantity is not None and isinstance(value, float | int | type(None)):
        return _of_quantity(key, value, quantity, usual)
    if isinstance(value, str) and value:
        return Assumption(key, info.description or "", "", value, math.nan, math.nan, "", PROGRAM)
    return None


def _of_quantity(
    key: str, value: float | None, quantity: Quantity, usual: Usual | None
) -> Assumption | None:
    low = high = math.nan
    source = quantity.basis or PROGRAM
    taken = math.nan if value is None else float(value)
    if usual is not None:
        figure, low, high, source = usual
        taken = figure if value is None else taken
        low, high = min(low, taken), max(high, taken)
    if math.isnan(taken):
        return None
    return Assumption(key, quantity.help, quantity.kind, taken, low, high, quantity.allowed, source)


def _margins(table: VariantTable, name: str) -> Any:
    """Return what each variant leaves of a hazard's limit, below zero when it is broken."""
    sign = 1.0 if name in FLOORS else -1.0
    return sign * (table.values[name] - table.limits[name])


def assumptions_of(
    scenario: Scenario,
    result: EventResult,
    progress: Callable[[int, int], None] | None = None,
) -> Audit:
    """Return every default that a scenario leaves standing, those that matter most first.

    Parameters
    ----------
    scenario : Scenario
        As read from a file: what the file sets is known to it.
    result : EventResult
        The event as it stands.
    progress : callable, optional
        As of :func:`thermo.ensemble.run_variants`.

    Returns
    -------
    Audit
        Defaults with a usual range are put to either end of it, one at a time; the others are
        listed after them and were not varied.
    """
    found = left_open(scenario)
    varied = [a for a in found if math.isfinite(a.low) and a.high > a.low]
    name = result.binding.name
    sign = 1.0 if name in FLOORS else -1.0
    now = sign * (result.binding.value - result.binding.limit)
    if varied:
        told = _solved(scenario, varied, name, progress)
        found = [told.get(a.key, a) for a in found]
    ranked = sorted(found, key=lambda a: -a.moves if math.isfinite(a.moves) else 1.0)
    return Audit(name, result.binding.unit, now, tuple(ranked))


def _solved(
    scenario: Scenario, varied: list[Assumption], name: str,
    progress: Callable[[int, int], None] | None,
) -> Mapping[str, Assumption]:
    """Return assumptions by key, with what each end of their ranges leaves of the binding limit."""
    count = 2 * len(varied)
    changes = {a.key: np.full(count, float(a.value)) for a in varied}
    for i, a in enumerate(varied):
        changes[a.key][2 * i : 2 * i + 2] = a.low, a.high
    # So few variants are solved before other processes have started.
    table = run_variants(scenario, changes, workers=1, margins=True, progress=progress)
    left = _margins(table, name)
    out = {}
    for i, a in enumerate(varied):
        ends = [2 * i, 2 * i + 1]
        levels = tuple("no verdict" if table.level[k] < 0 else LEVELS[table.level[k]] for k in ends)
        at = [float(left[k]) if table.level[k] >= 0 else math.nan for k in ends]
        out[a.key] = replace(a, at_low=at[0], at_high=at[1], levels=levels)
    return out


def to_data(audit: Audit) -> dict[str, Any]:
    """Return an audit in the form of ``soakbox working FILE assumptions --json``.

    Parameters
    ----------
    audit : Audit

    Returns
    -------
    dict
        SI; what was not varied, or has no verdict, is null.
    """

    def plain(x: float | str) -> float | str | None:
        return x if isinstance(x, str) or math.isfinite(x) else None

    return {
        "schema": 1,
        "binding": audit.binding,
        "unit": audit.unit,
        "margin": plain(audit.margin),
        "assumptions": [
            {
                "key": a.key, "help": a.help, "kind": a.kind, "value": plain(a.value),
                "low": plain(a.low), "high": plain(a.high), "allowed": a.allowed,
                "source": a.source, "at_low": plain(a.at_low), "at_high": plain(a.at_high),
                "moves": plain(a.moves), "levels": list(a.levels),
            }
            for a in audit.assumptions
        ],
    }


__all__ = ["Assumption", "Audit", "assumptions_of", "left_open", "to_data"]
