"""Values of an input along one axis of a table or map, as typed: LO:HI:STEP and KEY=LO:HI:N."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from thermo.errors import Problem, ScenarioError, UnitError
from thermo.fields import Quantity, quantity_of
from thermo.keys import key_of, path_of
from thermo.quantity_text import quoted
from thermo.scenario import Scenario, held_values, placed
from thermo.scenario_problems import nearest
from thermo.units import convert, parse, unit_of

MOST_STEPS = 1000
"""Values that an axis may have."""


@dataclass(frozen=True, slots=True)
class Axis:
    """Values of one input.

    Attributes
    ----------
    key : str
        Dotted key, places in lists as numbers.
    kind : str
        Kind of quantity.
    unit : str
        Unit in which the range was typed; empty for a bare number.
    values : tuple of float
        Rising [SI].
    """

    key: str
    kind: str
    unit: str
    values: tuple[float, ...]

    def __len__(self) -> int:
        return len(self.values)


def stepped(text: str, key: str, option: str, nothing: float | None = None) -> Axis:
    """Read ``LO:HI:STEP``, such as ``20degC:45degC:5``.

    Parameters
    ----------
    text : str
        Both ends with their unit; the step is a number in the unit of the first.
    key : str
        The input it is for.
    option : str
        For messages.
    nothing : float, optional
        Value that stands for a typed end of 0 [SI], where the input itself cannot be 0.

    Returns
    -------
    Axis
        From the first end by steps, as far as the second.

    Raises
    ------
    ScenarioError
        Naming option, text and what is allowed.
    """
    quantity = _quantity(key)
    low_text, high_text, step_text = _three(text, option, key, "STEP, such as 20degC:45degC:5")
    unit = _unit(low_text, quantity, option, key)
    low, high = (_end(t, quantity, option, key, nothing) for t in (low_text, high_text))
    step = _number(step_text)
    if not (math.isfinite(step) and step > 0.0):
        raise _refused(option, key, step_text,
                       f"the step is a number above 0, in {unit or 'the unit of the first end'}")
    first, last = (_in_unit(end, quantity.kind, unit) for end in (low, high))
    count = math.floor((last - first) / step * (1.0 + 1e-12) + 1e-9) + 1
    if high < low or not 1 <= count <= MOST_STEPS:
        raise _refused(option, key, text,
                       f"the second end must not be below the first, and at most {MOST_STEPS} "
                       "steps lie between them")
    values = tuple(_from_unit(first + i * step, quantity.kind, unit) for i in range(count))
    if nothing is not None:
        values = tuple(value or nothing for value in values)
    return Axis(key, quantity.kind, unit, values)


def spaced(scenario: Scenario, text: str, option: str) -> Axis:
    """Read ``KEY=LO:HI:N``, such as ``tank.volume=20 L:60 L:40``.

    Parameters
    ----------
    scenario : Scenario
        Whose input it is.
    text : str
        Both ends as an input of the scenario is typed, and how many values.
    option : str
        For messages.

    Returns
    -------
    Axis
        Evenly spaced, both ends among them.

    Raises
    ------
    ScenarioError
        Naming option, text and what is allowed; of an unknown key the nearest known ones.
    """
    key_text, equals, rest = text.partition("=")
    if not equals:
        raise _refused(option, "", text, "KEY=LO:HI:N is expected, such as "
                       "tank.volume='20 L:60 L:40'")
    key = known_key(scenario, key_text.strip(), option)
    quantity = _quantity(key)
    low_text, high_text, count_text = _three(rest, option, key, "N, such as '20 L:60 L:40'")
    unit = _unit(low_text, quantity, option, key)
    low, high = (_end(t, quantity, option, key) for t in (low_text, high_text))
    count = _number(count_text)
    if not (2 <= count <= MOST_STEPS and count == int(count)):
        raise _refused(option, key, count_text,
                       f"how many values: a whole number from 2 to {MOST_STEPS}")
    if not low < high:
        raise _refused(option, key, rest, "the second end must be above the first")
    return Axis(key, quantity.kind, unit,
                tuple(float(v) for v in np.linspace(low, high, int(count))))


def known_key(scenario: Scenario, key: str, option: str) -> str:
    """Return the key of an input that may vary, places in lists as numbers.

    Raises
    ------
    ScenarioError
        With the nearest known key, when there is no such quantity in the scenario.
    """
    found = placed(scenario, key)
    if found is not None:
        return found
    known = tuple(held_values(scenario))
    tails = [k for k in known if k.rpartition(".")[2] == key]
    near = " or ".join(tails[:3]) or nearest(key, known)
    problem = Problem(key if _is_key(key) else "", "" if _is_key(key) else quoted(key),
                      "no input with a value of this name in the scenario", suggestion=near)
    raise ScenarioError(option, [problem])


def now_of(scenario: Scenario, key: str) -> float | None:
    """Return what a scenario has of an input [SI]; None where it is not given."""
    return held_values(scenario).get(key)


def _is_key(key: str) -> bool:
    try:
        return bool(key_of(path_of(key)))
    except ValueError:
        return False


def _quantity(key: str) -> Quantity:
    quantity = quantity_of(Scenario, key)
    if quantity is None:
        raise ScenarioError("axis", [Problem(key, "", "no such quantity")])
    return quantity


def _three(text: str, option: str, key: str, words: str) -> tuple[str, str, str]:
    parts = [part.strip() for part in text.split(":")]
    if len(parts) != 3 or not all(parts):
        raise _refused(option, key, text, f"LO:HI:{words} is expected")
    return parts[0], parts[1], parts[2]


def _end(
    text: str, quantity: Quantity, option: str, key: str, nothing: float | None = None
) -> float:
    try:
        if nothing is not None and parse(text, quantity.kind) == 0.0:
            return 0.0
        return quantity.parse(text)
    except UnitError as error:
        raise _refused(option, key, text, getattr(error, "allowed", str(error))) from None


def _unit(text: str, quantity: Quantity, option: str, key: str) -> str:
    try:
        return unit_of(text, quantity.kind)
    except UnitError as error:
        raise _refused(option, key, text, getattr(error, "allowed", str(error))) from None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _in_unit(si: float, kind: str, unit: str) -> float:
    return convert(si, kind, unit) if unit else si


def _from_unit(value: float, kind: str, unit: str) -> float:
    return parse(f"{value:.12g} {unit}", kind) if unit else value


def _refused(option: str, key: str, given: str, allowed: str) -> ScenarioError:
    return ScenarioError(option, [Problem(key, quoted(given), allowed)])
