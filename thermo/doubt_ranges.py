"""The range of every input in doubt: from ``[doubt]``, or as practice has it where it is a guess.

A default range is that of common practice, as it stands: 0.60 to 1.05 for the heat share whatever
the scenario holds, 15 to 45 W/K a kW for the exchanger. The scenario's own value is taken as the
likeliest in it. Where that value lies outside, the range is put about it in proportion: as far
below and above as practice lies about its usual figure.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from thermo import cooling, cooling_exchanger, engine, friction, intake, vehicle
from thermo.doubt_entries import Entry, Shape, entries_of
from thermo.engine import METALS
from thermo.engine_table import peak_power
from thermo.errors import ScenarioError
from thermo.estimate import Estimate
from thermo.fields import quantity_of
from thermo.keys import path_of
from thermo.scenario import Scenario

FROM_FILE = "[doubt]"
"""Source of a range that the scenario gives."""

TUBES = ("tube", "box-tube")
"""Parts of a duct whose friction is by the roughness of the wall."""


@dataclass(frozen=True, slots=True)
class Range:
    """What an uncertain input may be.

    Attributes
    ----------
    keys : tuple of str
        Dotted keys of the inputs that it sets, all to the same value.
    kind : str
        Kind of quantity.
    value : float
        As the scenario has it, or as it is taken where not given [SI]; not a number where
        nothing is known of it.
    low, high : float
        Its ends, or its 5th and 95th percentiles where the shape is normal [SI]; not a number
        where it is exact.
    mode : float
        The likeliest, of a triangular one [SI].
    shape : {'triangular', 'uniform', 'normal', 'exact'}
    bounds : tuple of float
        What the input may be at all [SI]; a normal one is cut off there.
    source : str
        ``[doubt]``, or what the default rests on.
    note : str
        What a reader must know of it.
    """

    keys: tuple[str, ...]
    kind: str
    value: float
    low: float
    high: float
    mode: float
    shape: Shape
    bounds: tuple[float, float]
    source: str
    note: str = ""

    @property
    def key(self) -> str:
        """The first of the inputs, by which the range is named."""
        return self.keys[0]


@dataclass(frozen=True, slots=True)
class Guess:
    """An input that is a guess until it is measured.

    Attributes
    ----------
    key : str
        Dotted key.
    estimate : Estimate
        Usual figure and range, over `per`.
    applies : callable
        From a scenario to whether the input has a say in it, and is a guess.
    per : callable
        From a scenario to what the figures are multiplied by.
    unit : str
        What the figures are over, in words.
    """

    key: str
    estimate: Estimate
    applies: Callable[[Scenario], bool]
    per: Callable[[Scenario], float] = lambda _: 1.0
    unit: str = ""


def _power(s: Scenario) -> float:
    return float(peak_power(s.engine))



def _metal_power(s: Scenario) -> float:
    return _power(s) * METALS[s.engine.metal]


def _by_share(s: Scenario) -> bool:
    return s.engine.heat_power is None and s.engine.fuel_heat_share is None


def _by_ua(s: Scenario) -> bool:
    e = s.exchanger
    fitted = e.ua_scale != 1.0 or "exchanger.ua_scale" in s.doubt
    return e.rated is None and e.double_pipe is None and e.plate is None and not fitted


def _idles(s: Scenario) -> bool:
    return any(leg.engine_state == "idle" for leg in s.leg)


def _guessed_flow(given: float | None, pump: Any, measured: bool) -> bool:
    """Return whether a flow is stated, or taken, without having been measured."""
    return not measured and (given is not None or pump is None)


def _volts_decide(s: Scenario) -> bool:
    pumped = (s.coolant.flow is None and s.coolant.pump is not None) or (
        s.loop.flow is None and s.loop.pump is not None
    )
    return pumped and not (s.coolant.flow_measured and s.loop.flow_measured)


def _duct(s: Scenario) -> bool:
    return s.intake is not None


GUESSES: tuple[Guess, ...] = (
    Guess("engine.heat_share", engine.COOLANT_HEAT_SHARE, _by_share),
    Guess(
        "engine.fuel_heat_share",
        engine.FUEL_HEAT_SHARE,
        lambda s: s.engine.fuel_heat_share is not None,
    ),
    Guess(
        "engine.heat_power",
        engine.COOLANT_HEAT_SHARE,
        lambda s: s.engine.heat_power is not None,
        _power,
        "for this brake power",
    ),
    Guess("engine.oil_share", engine.OIL_HEAT_SHARE, lambda s: s.engine.oil_share > 0.0),
    Guess("engine.idle_heat", engine.IDLE_HEAT, _idles),
    Guess(
        "engine.metal_heat_capacity",
        engine.WETTED_METAL,
        lambda s: s.engine.metal_heat_capacity is not None,
        _metal_power,
        "for this brake power and metal",
    ),
    Guess(
        "engine.metal_mass",
        engine.WETTED_METAL,
        lambda s: s.engine.metal_heat_capacity is None,
        _power,
        "for this brake power",
    ),
    Guess("engine.metal_excess", engine.METAL_EXCESS, lambda _: True),
    Guess("engine.still_conductance", engine.STILL_FACTOR, lambda _: True),
    Guess("exchanger.ua", cooling_exchanger.UA_PER_POWER, _by_ua, _power, "for this brake power"),
    Guess(
        "coolant.flow",
        cooling.HOT_FLOW_PER_POWER,
        lambda s: _guessed_flow(s.coolant.flow, s.coolant.pump, s.coolant.flow_measured),
        _power,
        "for this brake power",
    ),
    Guess(
        "loop.flow",
        cooling.COLD_FLOW,
        lambda s: _guessed_flow(s.loop.flow, s.loop.pump, s.loop.flow_measured),
    ),
    Guess("loop.voltage", cooling.VOLTAGE, _volts_decide),
    Guess("car.rolling_resistance", vehicle.ROLLING_RESISTANCE, lambda _: True),
    Guess("car.wheel_slip", vehicle.WHEEL_SLIP, lambda s: s.car.wheel_slip > 0.0),
    Guess("engine.volumetric_efficiency", engine.VOLUMETRIC_EFFICIENCY, _duct),
    Guess("intake.recovery", intake.RECOVERY, _duct),
)
"""Inputs that are guesses until they are measured, but for the parts of the duct."""


def ranges_of(scenario: Scenario) -> tuple[Range, ...]:
    """Return the range of every input in doubt: those that the scenario gives, then the guesses.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    tuple of Range
        Those of ``[doubt]`` first, exact ones with them.

    Raises
    ------
    ScenarioError
        Naming each entry of ``[doubt]`` that cannot be used.
    """
    entries, problems = entries_of(scenario)
    if problems:
        raise ScenarioError("scenario", [problem for _, problem in problems])
    given = [_from_entry(scenario, entry) for entry in entries]
    named = {entry.key for entry in entries}
    guessed = [
        _from_estimate(scenario, (g.key,), g.estimate, g.per(scenario), g.unit)
        for g in GUESSES
        if g.key not in named and g.applies(scenario)
    ]
    return (*given, *guessed, *_of_parts(scenario, named))


def _from_entry(scenario: Scenario, entry: Entry) -> Range:
    value = _value_at(scenario, entry.key)
    low, high, note = entry.low, entry.high, ""
    if math.isnan(value):
        value = _usual(scenario, entry.key)
    mode = value
    if entry.shape != "exact" and not low <= value <= high:
        mode = 0.5 * (low + high)
        if not math.isnan(value):
            note = "the scenario's own value lies outside its range"
            if entry.shape == "triangular":
                note += "; the middle is taken as the likeliest"
    return Range(
        (entry.key,), entry.kind, value, low, high, mode, entry.shape, entry.bounds, FROM_FILE, note
    )


def _from_estimate(
    scenario: Scenario, keys: tuple[str, ...], estimate: Estimate, per: float = 1.0, unit: str = ""
) -> Range:
    """Return the default range of an input, or of several that are alike."""
    quantity = quantity_of(Scenario, keys[0])
    if quantity is None:
        raise KeyError(keys[0])
    given = _value_at(scenario, keys[0])
    value = estimate.value * per if math.isnan(given) else given
    low, high, note = estimate.low * per, estimate.high * per, ""
    if not low <= value <= high:
        low, high = value * estimate.low / estimate.value, value * estimate.high / estimate.value
        note = "practice's range in proportion about the scenario's value, which lies outside it"
    bounds = quantity.range_si
    if low < bounds[0] or high > bounds[1]:
        low, high = max(low, bounds[0]), min(high, bounds[1])
        note = (f"{note}; " if note else "") + "ends where the input's allowed range does"
    source = f"{estimate.basis}, {unit}" if unit else estimate.basis
    return Range(keys, quantity.kind, value, low, high, value, "triangular", bounds, source, note)


def _of_parts(scenario: Scenario, named: set[str]) -> list[Range]:
    """Return the ranges of the duct's parts; tubes of one roughness are as rough as each other."""
    alike: dict[tuple[str, float], list[str]] = {}
    estimates: dict[str, Estimate] = {
        "roughness": friction.TUBE_ROUGHNESS,
        "friction": friction.FLEXIBLE_DUCT_FRICTION,
        "drop": intake.FILTER_DROP,
    }
    duct = scenario.intake
    if duct is None or duct.loss_scale != 1.0 or "intake.loss_scale" in scenario.doubt:
        return []  # no duct, or what its parts lose was fitted to a pass
    for i, part in enumerate(duct.part):
        name = {"flexible": "friction", "filter": "drop"}.get(part.kind, "")
        if part.kind in TUBES and part.friction is None:
            name = "roughness"
        key = f"intake.part[{i}].{name}"
        if not name or key in named:
            continue
        value = getattr(part, name)
        if value != 0.0:
            alike.setdefault((name, estimates[name].value if value is None else value), []).append(
                key
            )
    return [
        _from_estimate(scenario, tuple(keys), estimates[name]) for (name, _), keys in alike.items()
    ]


def _usual(scenario: Scenario, key: str) -> float:
    """Return what is taken for an input that is not given, where that is known."""
    for guess in GUESSES:
        if guess.key == key:
            return guess.estimate.value * guess.per(scenario)
    return math.nan


def _value_at(scenario: Scenario, key: str) -> float:
    """Return a single quantity of a scenario [SI]; not a number where it is not given."""
    here: Any = scenario
    for part in path_of(key):
        name = {"return": "return_"}.get(str(part), str(part))
        here = here[part] if isinstance(part, int) else getattr(here, name)
    return math.nan if here is None else float(here)
