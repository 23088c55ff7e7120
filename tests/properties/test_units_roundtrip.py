"""Quantities over many values: what is written is read back, and no text breaks the reader."""

from __future__ import annotations

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thermo.units import KINDS, QuantityTextError, _from_pint, convert, format_value, parse

_SIZES = st.floats(min_value=1e-6, max_value=1e6)
_SIGNED = st.one_of(_SIZES, _SIZES.map(lambda x: -x), st.just(0.0))
_ALPHABET = "0123456789 .,+-*/^()eE%'\"°µ²³_:LlgalminhKCFpsdP\t\n\x00\x1b\u2009\u202e\ud800"


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize("kind", sorted(KINDS))
@given(value=_SIGNED)
@settings(max_examples=25)
def test_written_is_read_back(kind: str, system: str, value: float) -> None:
    # 17 digits: the text carries the float; only the change of units rounds
    si = abs(value) if KINDS[kind].is_point else value
    text = format_value(si, kind, "us" if system == "us" else "si", digits=17)
    zero = 500.0 if KINDS[kind].is_point else 0.0  # a scale's zero cancels digits near 0 K
    assert parse(text, kind) == pytest.approx(si, rel=1e-12, abs=1e-13 * zero)


@given(value=_SIGNED, digits=st.integers(1, 8))
@settings(max_examples=200)
def test_rounded_to_the_digits_asked_for(value: float, digits: int) -> None:
    shown = parse(format_value(value, "number", digits=digits), "number")
    assert abs(shown - value) <= 0.5001 * 10.0 ** (1 - digits) * abs(value)


@pytest.mark.parametrize("kind", sorted(KINDS))
@given(text=st.one_of(st.text(_ALPHABET, max_size=24), st.text(max_size=100)))
@settings(max_examples=40)
def test_any_text_is_read_or_refused(kind: str, text: str) -> None:
    try:
        value, message = parse(text, kind), ""
    except QuantityTextError as error:
        value, message = 0.0, str(error)
    assert math.isfinite(value)
    assert message.isprintable()


@given(low=st.integers(1, 15), whole=st.integers(0, 40))
@settings(max_examples=50)
def test_fractions_of_an_inch(low: int, whole: int) -> None:
    text = f"{whole} {low}/16 in" if whole else f"{low}/16 in"
    assert parse(text, "length") == pytest.approx((whole + low / 16) * 0.0254, rel=1e-12)


@given(a=_SIZES, b=_SIZES)
@settings(max_examples=50)
def test_reading_keeps_order(a: float, b: float) -> None:
    first, second = (parse(f"{x!r} degF", "temperature") for x in (a, b))
    assert (a < b) <= (first <= second)


def test_difference_of_points_is_a_difference() -> None:
    rise = parse("212 degF", "temperature") - parse("32 degF", "temperature")
    assert rise == pytest.approx(parse("180 degF", "temperature_difference"), rel=1e-12)


def test_gauge_and_absolute_have_one_unit_size() -> None:
    assert convert(1e5, "pressure_gauge", "psi") == convert(1e5, "pressure_absolute", "psi")


def test_every_name_of_the_unit_library_is_read_or_refused() -> None:
    for name in sorted(dir(pint.UnitRegistry())):
        found = _from_pint(name) if name.isidentifier() else None
        assert found is None or (math.isfinite(found[0]) and any(found[1]))
