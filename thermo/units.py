"""Quantities as people type them, turned into SI floats, and back.

A text is split into number and unit here; arithmetic, spaces inside a number and unknown
characters are refused, so that nothing is guessed. Unit names come from the table in
:mod:`thermo.unit_table`; only a name that is not there is given to pint, alone, never as part
of an expression. The dimension is then checked against the kind of the field. Whether a
temperature is a point or a difference, and a pressure gauge or absolute, belongs to the field.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any, Literal

from thermo.errors import UnitError
from thermo.quantity_text import (
    QuantityTextError,
    example_of,
    printable,
    quoted,
    show_number,
    show_object,
    split_quantity,
    tidy,
)
from thermo.unit_reader import Sized, read_expression
from thermo.unit_table import (
    ATOMS,
    COUNTERPARTS,
    KINDS,
    OFFSETS,
    ONE,
    OWN_ATOMS,
    OWN_REFUSED,
    OWN_TEXTS,
    REFUSED,
    WORDS,
    Dimension,
    Kind,
)

__all__ = [
    "KINDS", "Kind", "QuantityTextError", "System", "convert", "counterpart", "format_number",
    "format_value", "kind_named", "parse", "printable", "unit_of",
]

System = Literal["si", "us"]
_BASES = ("meter", "kilogram", "second", "kelvin", "ampere", "radian")
_REFERENCE = re.compile(
    r"(?P<base>[A-Za-z0-9]*?(?:psi|Pa|bar|atm|Hg|H2O))"
    r"(?: ?\((?P<letter>[ga])\)|(?P<suffix>[ga])| (?P<word>gauge|absolute|abs))$"
)


def kind_named(name: str) -> Kind:
    """Return the kind called `name`.

    Parameters
    ----------
    name : str
        A key of :data:`KINDS`.

    Returns
    -------
    Kind
        The kind.

    Raises
    ------
    UnitError
        There is no such kind.
    """
    try:
        return KINDS[name]
    except KeyError:
        raise UnitError(f"no kind of quantity is called {printable(name)}") from None


def parse(given: object, kind: str) -> float:
    """Turn what a person gave into a number in the SI unit of `kind`.

    Parameters
    ----------
    given : str, int or float
        Text such as "28 L", "3 1/2 in", "180 degF"; a bare number only where the kind has none.
    kind : str
        A key of :data:`KINDS`.

    Returns
    -------
    float
        The value in the kind's SI unit; a gauge pressure stays gauge.

    Raises
    ------
    QuantityTextError
        The text is not a number with a unit of this kind.
    """
    what = kind_named(kind)
    if isinstance(given, str):
        return _parse_text(given, what)
    if isinstance(given, bool) or not isinstance(given, (int, float)):
        raise QuantityTextError(
            show_object(given), f"expected {what.label}, {example_of(what)}"
        )
    if not what.is_bare:
        shown = show_number(given)
        raise QuantityTextError(
            shown, f"the unit is missing: {what.label} is text with a unit, {example_of(what)}"
        )
    try:
        value = float(given)
    except OverflowError:
        value = math.inf
    if not math.isfinite(value):
        raise QuantityTextError(show_number(given), "expected a finite number")
    return value


def convert(si: float, kind: str, unit: str) -> float:
    """Express an SI value of `kind` in `unit`.

    Parameters
    ----------
    si : float
        Value in the kind's SI unit.
    kind : str
        A key of :data:`KINDS`.
    unit : str
        Any unit text accepted in a field of that kind.

    Returns
    -------
    float
        Value in `unit`.

    Raises
    ------
    QuantityTextError
        The unit is unknown or of another dimension.
    """
    scale, zero = _scale(tidy(unit), kind_named(kind))
    return (si - zero) / scale


def format_value(
    si: float, kind: str, system: System = "si", digits: int = 4, unit: str | None = None
) -> str:
    """Write an SI value of `kind` as text that :func:`parse` reads back.

    Parameters
    ----------
    si : float
        Value in the kind's SI unit.
    kind : str
        A key of :data:`KINDS`.
    system : {"si", "us"}
        Which display unit of the kind to use.
    digits : int
        Significant digits, at least 1.
    unit : str or None
        A unit of that kind to use instead of the display unit.

    Returns
    -------
    str
        Number and unit, or the number alone where the kind has no unit.
    """
    what = kind_named(kind)
    shown = unit if unit is not None else (
        what.si_display if system == "si" else what.us_display
    )
    return f"{format_number(convert(si, kind, shown), digits)} {shown}".rstrip()


def format_number(value: float, digits: int = 4) -> str:
    """Write a number to so many significant digits, without an exponent where that reads well.

    Parameters
    ----------
    value : float
        Any float; one that is not finite is written as "nan" or "inf".
    digits : int
        Significant digits, at least 1.

    Returns
    -------
    str
        Decimal text; no digit left of the point is dropped below ten million.
    """
    if value == 0.0 or not math.isfinite(value):
        return f"{value + 0.0:g}" if value else "0"
    rounded = float(f"{value:.{digits - 1}e}")
    exponent = math.floor(math.log10(abs(rounded)))
    if not -5 <= exponent < 7:
        return f"{rounded:.{digits}g}"
    text = f"{rounded:.{max(digits - 1 - exponent, 0)}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def unit_of(text: str, kind: str) -> str:
    """Return the unit part of a quantity text as it was typed.

    Parameters
    ----------
    text : str
        A text that :func:`parse` accepts.
    kind : str
        A key of :data:`KINDS`.

    Returns
    -------
    str
        The unit, with single spaces; empty for a bare number.
    """
    return split_quantity(text, kind_named(kind))[1]


def counterpart(unit: str, kind: str) -> str:
    """Return the US unit that stands beside a metric `unit` of like size.

    Parameters
    ----------
    unit : str
        A unit accepted in a field of that kind.
    kind : str
        A key of :data:`KINDS`.

    Returns
    -------
    str
        A unit of the same kind; the kind's own US display unit when none is nearer.
    """
    what = kind_named(kind)
    if unit == what.si_display or what.reference in ("gauge", "absolute") or what.is_point:
        return what.us_display
    return COUNTERPARTS.get(unit, what.us_display)


def _parse_text(text: str, what: Kind) -> float:
    number, unit = split_quantity(text, what)
    if not unit and what.si_unit:
        raise QuantityTextError(
            quoted(text), f"the unit is missing: {example_of(what)}"
        )
    try:
        scale, zero = _scale(unit, what)
    except QuantityTextError as error:
        raise QuantityTextError(quoted(text), error.allowed) from None
    value = number * scale + zero
    if not math.isfinite(value):
        raise QuantityTextError(quoted(text), "expected a finite number")
    if what.is_point and value < 0.0:
        raise QuantityTextError(quoted(text), "this lies below absolute zero")
    return value


@lru_cache(maxsize=1024)
def _scale(unit: str, what: Kind) -> tuple[float, float]:
    """Return (size of `unit` in the kind's SI unit, its zero in that SI unit)."""
    if not what.si_unit:
        if not unit:
            return 1.0, 0.0
        if unit == "%" and what.name == "fraction":
            return 0.01, 0.0
        raise _unit_error(unit, f"{what.label} has no unit: {example_of(what)}")
    text = _without_reference(unit, what)
    text = OWN_TEXTS.get(what.name, {}).get(text, text)
    for pattern, replacement in WORDS:
        text = re.sub(pattern, replacement, text)
    text = text.strip()
    if what.is_point:
        if text not in OFFSETS:
            raise _unit_error(unit, f"expected a temperature scale, {example_of(what)}")
        return ATOMS[text][0], OFFSETS[text]
    if what.name == "temperature_difference":
        text = re.sub(r"^(?:delta[ _]?|Δ ?)", "", text)
    try:
        factor, dimension = read_expression(text, lambda name: _lookup(name, what))
    except QuantityTextError as error:
        raise _unit_error(unit, error.allowed) from None
    except UnitError as error:
        raise _unit_error(unit, f"{error}; {example_of(what)}") from None
    own_factor, own_dimension = _si_of(what)
    if dimension != own_dimension:
        raise _unit_error(unit, _dimension_hint(unit, dimension, what))
    return factor / own_factor, 0.0


def _without_reference(unit: str, what: Kind) -> str:
    """Strip "gauge" or "absolute" from a pressure unit; refuse the one the field is not."""
    match = _REFERENCE.fullmatch(unit)
    if match is None:
        return unit
    mark = match["letter"] or match["suffix"] or match["word"][0]
    stated = "gauge" if mark == "g" else "absolute"
    if what.reference == stated:
        return match["base"]
    if what.reference == "difference" or not what.reference:
        reason = f"{what.label} is neither gauge nor absolute"
    elif stated == "gauge":
        reason = "this is an absolute pressure: add the pressure of the air to a gauge reading"
    else:
        reason = "this is a gauge pressure: take the pressure of the air off an absolute one"
    raise _unit_error(unit, f"{reason}; {example_of(what)}")


def _lookup(name: str, what: Kind) -> Sized:
    """Return factor and dimension of one unit name in a field of this kind."""
    own = OWN_ATOMS.get(what.name, {}).get(name)
    if own is not None:
        return own
    reason = OWN_REFUSED.get(what.name, {}).get(name) or REFUSED.get(name)
    if reason:
        raise _unit_error(name, reason)
    found = ATOMS.get(name) or _from_pint(name)
    if found is None:
        raise _unit_error(name, _unknown_hint(name, what))
    return found


@lru_cache(maxsize=64)
def _si_of(what: Kind) -> Sized:
    """Return factor and dimension of the kind's own SI unit (a turn counts 2 pi radians)."""
    return read_expression(what.si_unit, lambda name: _lookup(name, what))


@lru_cache(maxsize=1)
def _registry() -> Any:
    """Return pint's UnitRegistry, made on the first unit name that the table does not hold."""
    import pint

    return pint.UnitRegistry()


@lru_cache(maxsize=1024)
def _from_pint(name: str) -> Sized | None:
    """Return factor and dimension of a single unit name that pint knows, else None.

    Names without dimension, temperature scales and units outside the six bases are not units
    that a field here can hold.
    """
    from pint.errors import PintError

    if name == "dimensionless":
        return None
    try:
        factor, base = _registry().get_base_units(name)
    except PintError:  # unknown, or a scale with an offset behind a prefix, such as kdegF
        return None
    powers = {str(key): float(power) for key, power in base._units.items()}
    m, kg, s, kelvin, ampere, rad = (powers.pop(key, 0.0) for key in _BASES)
    dimension = (int(m), int(kg), int(s), int(kelvin), int(ampere), int(rad))
    if powers or dimension != (m, kg, s, kelvin, ampere, rad):
        return None
    if dimension in (ONE, ATOMS["K"][1]):
        return None
    return float(factor), dimension


def _unit_error(unit: str, reason: str) -> QuantityTextError:
    return QuantityTextError(quoted(unit), reason)


def _unknown_hint(name: str, what: Kind) -> str:
    """Say that a unit name is unknown, with a name that differs only in capitals if any."""
    return f"unit {printable(name)} is not known;{_case_hint(name)} {example_of(what)}"


def _case_hint(name: str) -> str:
    near = [known for known in ATOMS if known.casefold() == name.casefold() and known != name]
    return f" capitals matter, did you mean {near[0]}?" if near else ""


def _dimension_hint(unit: str, dimension: Dimension, what: Kind) -> str:
    """Say what the unit measures instead of what the field holds."""
    held = next(
        (k.label for k in KINDS.values() if k.si_unit and _si_of(k)[1] == dimension), ""
    )
    measured = f"{printable(unit)} measures {held}" if held else "the unit does not fit"
    return f"{measured}, expected {what.label};{_case_hint(unit)} {example_of(what)}"
