"""The form of a hand calculation: symbols with units, steps, and the working of one figure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from thermo.units import format_number, kind_named
from thermo.workings.notation import evaluate, names_in, sides

INPUT_DIGITS = (8, 11, 15)
"""Significant digits of the numbers put in: as few as bring the answer out."""

ANSWER_DIGITS = 6
"""Most significant digits of an answer."""

ENOUGH = 4
"""Digits of the answer for which no more digits of the numbers put in are wanted."""

READ = "as it stands in the scenario"
"""Source of a figure that is taken from the file."""

SOLVER = "read from the integrated event"
"""Source of a figure that the solver found."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A number with its name, unit and meaning.

    Attributes
    ----------
    name : str
        As in the equations.
    value : float
        In `unit`; NaN where there is none.
    unit : str
        SI unit, without prefix, so that equations need no factors.
    meaning : str
        In words.
    kind : str
        Kind of quantity, for telling it in other units too; empty where there is none.
    """

    name: str
    value: float
    unit: str
    meaning: str
    kind: str = ""


def of(name: str, value: Any, kind: str, meaning: str) -> Symbol:
    """Return a symbol of a kind of quantity that scenarios know, in its SI unit."""
    return Symbol(name, float(value), kind_named(kind).si_unit, meaning, kind)


def pure(name: str, value: Any, meaning: str, unit: str = "") -> Symbol:
    """Return a symbol without kind: a pure number, or one of some other unit."""
    return Symbol(name, float(value), unit, meaning)


def celsius(name: str, kelvin: Any, meaning: str) -> Symbol:
    """Return a symbol in degrees Celsius from a temperature [K]."""
    return Symbol(name, float(kelvin) - 273.15, "degC", meaning)


@dataclass(frozen=True, slots=True)
class Step:
    """One step of a working.

    Attributes
    ----------
    title : str
        What it finds, in words.
    equation : str
        In plain notation that a calculator or :mod:`thermo.workings.notation` can follow; empty
        where the answer is read from a table, the scenario or the solver.
    symbols : tuple of Symbol
        Numbers put in.
    result : Symbol
        The answer, as the engine's own function gave it.
    source : str
        Where the equation, table or figure comes from.
    range : str
        Over which it holds; empty where it is a definition.
    note : str
        What else a reader must know.
    input_digits, digits : int
        Significant digits of the numbers put in, and of the answer: as many as the equation
        gives back from the numbers as printed. No digits: the answer is zero within rounding.
    agrees : bool
        Whether the equation gives the answer back at all; where not, the note says so.
    """

    title: str
    equation: str
    symbols: tuple[Symbol, ...]
    result: Symbol
    source: str
    range: str = ""
    note: str = ""
    input_digits: int = INPUT_DIGITS[0]
    digits: int = ANSWER_DIGITS
    agrees: bool = True


def shown(value: float, digits: int) -> str:
    """Return a number as a working prints it: ``none`` for NaN, ``endless`` for infinity.

    With no digits at all it is zero within rounding.
    """
    if math.isnan(value):
        return "none"
    if math.isinf(value):
        return "endless" if value > 0.0 else "-endless"
    return format_number(value, digits) if digits > 0 else "0"


ROUNDING = 1e-8
"""An answer this small against the numbers of its unit that it is the difference of is zero
within rounding."""


def _is_rounding(symbols: Sequence[Symbol], result: Symbol) -> bool:
    """Say whether an answer is what rounding leaves of a difference of equal numbers."""
    alike = [abs(s.value) for s in symbols if s.unit == result.unit]
    return abs(result.value) <= max(ROUNDING * max(alike, default=0.0), 1e-13)


def returned_digits(
    equation: str, symbols: Sequence[Symbol], result: float, inputs: int
) -> int:
    """Return how many digits of a result an equation gives back from rounded numbers.

    Parameters
    ----------
    equation : str
    symbols : sequence of Symbol
    result : float
        As computed by the engine.
    inputs : int
        Significant digits of the numbers put in.

    Returns
    -------
    int
        At most `ANSWER_DIGITS`; zero when not even the first digit agrees.
    """
    rounded = {s.name: float(f"{s.value:.{inputs - 1}e}") for s in symbols}
    got = evaluate(equation, rounded)
    if got == result:
        return ANSWER_DIGITS
    scale = max(abs(got), abs(result))
    for digits in range(ANSWER_DIGITS, 0, -1):
        last = 10.0 ** (math.floor(math.log10(scale)) - digits + 1)
        if abs(got - float(f"{result:.{digits - 1}e}")) <= last:
            return digits
    return 0


def step(
    title: str,
    equation: str,
    symbols: Sequence[Symbol],
    result: Symbol,
    source: str,
    valid: str = "",
    note: str = "",
) -> Step:
    """Make a step; see :class:`Step`.

    Raises
    ------
    ValueError
        If the equation is for another symbol than the result, or lacks a number.
    """
    left, _ = sides(equation)
    missing = names_in(equation) - {s.name for s in symbols}
    if left != result.name or missing:
        raise ValueError(f"{equation}: for {result.name}, without {sorted(missing)}")
    inputs = INPUT_DIGITS[0]
    digits = ANSWER_DIGITS
    if math.isfinite(result.value) and all(math.isfinite(s.value) for s in symbols):
        for inputs in INPUT_DIGITS:
            digits = returned_digits(equation, symbols, result.value, inputs)
            if digits >= ENOUGH:
                break
    agrees = digits >= ENOUGH
    if not agrees and _is_rounding(symbols, result):
        digits, agrees = 0, True
    if not agrees:
        digits = ANSWER_DIGITS
        note = f"{note} The equation as printed does not come to this answer.".lstrip()
    made = (title, equation, tuple(symbols), result, source, valid, note)
    return Step(*made, inputs, digits, agrees)


def read(
    title: str,
    result: Symbol,
    source: str,
    symbols: Sequence[Symbol] = (),
    valid: str = "",
    note: str = "",
) -> Step:
    """Make a step without equation: from a table, the scenario or the solver."""
    return Step(title, "", tuple(symbols), result, source, valid, note)


def by_hand(
    title: str,
    equation: str,
    symbols: Sequence[Symbol],
    result: tuple[str, str, str],
    source: str,
    valid: str = "",
    note: str = "",
) -> Step:
    """Make a step of a hand estimate: the answer is what the equation comes to.

    Parameters
    ----------
    title, equation, symbols, source, valid, note
        As of :func:`step`.
    result : tuple of str
        Name, kind of quantity and meaning; the kind ``degC`` is a temperature in Celsius, an
        empty one a pure number.
    """
    name, kind, meaning = result
    value = evaluate(equation, {s.name: s.value for s in symbols})
    made = (
        of(name, value, kind, meaning)
        if kind not in ("", "degC")
        else pure(name, value, meaning, kind)
    )
    return step(title, equation, symbols, made, source, valid, note)


def in_celsius(kelvin: Symbol, name: str, meaning: str) -> Step:
    """Return the step from Kelvin to Celsius."""
    return step(
        "in degrees Celsius",
        f"{name} = {kelvin.name} - 273.15",
        [kelvin],
        celsius(name, kelvin.value, meaning),
        "definition",
    )


@dataclass(frozen=True, slots=True)
class Working:
    """How one figure comes about.

    Attributes
    ----------
    name : str
        As in the JSON of ``check`` or ``size``, such as ``cooling.boil_margin_K``.
    title : str
        In words.
    steps : tuple of Step
        The chain to the figure, and what follows from it.
    computed : Symbol
        The figure as ``check`` or ``size`` tells it.
    hand : tuple of Step
        A hand estimate beside it; empty where the chain is a hand calculation already.
    difference : str
        Why the estimate and the figure differ; empty without an estimate.
    cautions : tuple of str
        Where the run leaves the range of what this figure rests on.
    """

    name: str
    title: str
    steps: tuple[Step, ...]
    computed: Symbol
    hand: tuple[Step, ...] = ()
    difference: str = ""
    cautions: tuple[str, ...] = ()

    @property
    def hand_estimate(self) -> Symbol | None:
        """What the hand estimate comes to, or None without one."""
        return self.hand[-1].result if self.hand else None
