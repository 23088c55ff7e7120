"""Words and figures in the user's units, for 80 columns: what every text is put together from."""

from __future__ import annotations

import math
import re
import textwrap

from thermo.answers import SMALL, Better, safer
from thermo.results import Flag
from thermo.units import System, convert, format_number, kind_named

WIDTH = 78
MARKS = {"danger": "XX", "caution": "! ", "clear": "ok"}
CAUTIONS = (
    "Pressurised hot water can kill. These figures are estimates: the event's rule book, the "
    "technical inspector, local codes and licensed practice govern. Proof-test vessels with "
    "water, never with air."
)
_FLAG_US = {
    "mm": ("in", 1.0 / 25.4),
    "m/s": ("ft/s", 1.0 / 0.3048),
    "bar/K": ("psi per F deg", 14.50377 / 1.8),
}
"""US unit and scale of the flags' units that have no kind of quantity here."""

FLAG_KINDS: dict[str, tuple[str, float, float]] = {
    "K": ("temperature_difference", 1.0, 0.0),
    "degC": ("temperature", 1.0, 273.15),
    "kPa": ("pressure_gauge", 1e3, 0.0),
    "Pa": ("pressure_difference", 1.0, 0.0),
    "m": ("length", 1.0, 0.0),
    "L/min": ("volume_flow", 1.0 / 60e3, 0.0),
    "kg/s": ("mass_flow", 1.0, 0.0),
    "MPa": ("stress", 1e6, 0.0),
    "s": ("time", 1.0, 0.0),
}
"""Kind of quantity, scale to SI and offset behind the unit of a flag."""


NOTHING = {
    "pressure_gauge": 0.5,
    "pressure_difference": 0.005,
    "temperature_difference": 5e-4,
    "time": 0.005,
    "mass": 5e-6,
    "length": 5e-7,
    "volume": 5e-9,
}
"""What is told as zero, in SI: less than anyone could measure, left over from rounding."""

_IN_WORDS: dict[str, tuple[str, float, float]] = {
    "kPa": ("psi", 1.0 / 6.894757, 0.0),
    "Pa": ("psi", 1.0 / 6894.757, 0.0),
    "MPa": ("ksi", 1.0 / 6.894757, 0.0),
    "L/min": ("gpm", 1.0 / 3.785412, 0.0),
    "L": ("gal", 1.0 / 3.785412, 0.0),
    "mm": ("in", 1.0 / 25.4, 0.0),
    "m": ("ft", 1.0 / 0.3048, 0.0),
    "kJ": ("BTU", 1.0 / 1.055056, 0.0),
    "kW": ("hp", 1.0 / 0.7456999, 0.0),
    "W/K": ("BTU/(h degF)", 3.412142 / 1.8, 0.0),
    "degC": ("degF", 1.8, 32.0),
    "K": ("F deg", 1.8, 0.0),
    "m/s": ("mph", 1.0 / 0.44704, 0.0),
    "kg": ("lb", 1.0 / 0.45359237, 0.0),
    "bar/K": ("psi per F deg", 14.50377 / 1.8, 0.0),
    "bar a kelvin": ("psi per F deg", 14.50377 / 1.8, 0.0),
    "km": ("miles", 1.0 / 1.609344, 0.0),
    "L/min a kW": ("gpm a hp", 0.7456999 / 3.785412, 0.0),
    "W/K a kW": ("BTU/(h degF) a hp", 3.412142 / 1.8 * 0.7456999, 0.0),
    "kg a kW": ("lb a hp", 0.7456999 / 0.45359237, 0.0),
    "kg/s": ("lb/s", 1.0 / 0.45359237, 0.0),
}
"""Unit in US words, scale and offset, for figures that stand inside a sentence."""

_UNITS = "|".join(re.escape(unit) for unit in sorted(_IN_WORDS, key=len, reverse=True))
_NUMBER = r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?"
_FIGURE = re.compile(rf"(?<![\w.])(?P<number>{_NUMBER}) (?P<unit>{_UNITS})(?![\w/])")
_DASHED = re.compile(rf"(?<![\w.])(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?) ({_UNITS})(?![\w/])")
_PAIR = re.compile(rf"(?<![\w.])({_NUMBER}) (x|to) ({_NUMBER}) ({_UNITS})(?![\w/])")


def localised(words: str, system: System) -> str:
    """Return a sentence with its figures in the user's system."""
    if system == "si":
        return words

    def changed(match: re.Match[str]) -> str:
        unit, scale, offset = _IN_WORDS[match["unit"]]
        return f"{format_number(float(match['number']) * scale + offset, 3)} {unit}"

    # "305 x 254 mm" holds two figures: each gets its unit before either is converted.
    apart = _PAIR.sub(r"\1 \4 \2 \3 \4", _DASHED.sub(r"\1 \3 to \2 \3", words))
    return _FIGURE.sub(changed, apart)


def amount(
    value: float, kind: str, system: System, digits: int = 3, better: Better | None = None
) -> str:
    """Return an SI value as text in the user's system; 'none' for NaN, 'endless' for infinity.

    Parameters
    ----------
    value : float
        [SI].
    kind : str
    system : {'si', 'us'}
    digits : int
        Significant digits.
    better : {'more', 'less'}, optional
        The safe side, to which the figure as shown is rounded; to the nearest when not given.

    Returns
    -------
    str
    """
    if math.isnan(value):
        return "none"
    if math.isinf(value):
        return "endless"
    if abs(value) < NOTHING.get(kind, 0.0):
        value = 0.0
    what = kind_named(kind)
    unit = what.us_display if system == "us" else what.si_display
    if kind == "length" and abs(value) < SMALL:
        unit = "in" if system == "us" else "mm"
    if kind == "temperature_difference" and system == "us":
        shown, unit = 1.8 * value, "F deg"
    else:
        shown = convert(value, kind, unit)
        if kind == "temperature" and abs(shown) < NOTHING["temperature_difference"]:
            shown = 0.0  # water and ice, a hair beside the melting point
    if better is not None:
        shown = safer(shown, digits, better)
    return f"{format_number(shown, digits)} {unit}".rstrip()


def flag_amount(value: float, unit: str, system: System, digits: int = 3) -> str:
    """Return a flag's figure as text in the user's system."""
    if math.isnan(value):
        return "-"
    if unit in FLAG_KINDS and math.isfinite(value):
        kind, scale, offset = FLAG_KINDS[unit]
        return amount(value * scale + offset, kind, system, digits)
    if unit in _FLAG_US and system == "us":
        unit, scale = _FLAG_US[unit]
        value *= scale
    if abs(value) < 1e-9:
        value = 0.0
    number = "endless" if math.isinf(value) else format_number(value, digits)
    return f"{number} {unit}".strip()


def wrap(text: str, indent: int = 0) -> str:
    """Return text wrapped to the width, lines after the first indented."""
    return textwrap.fill(
        text, WIDTH, subsequent_indent=" " * indent, break_long_words=False, break_on_hyphens=False
    )


def against_limit(flag: Flag, system: System) -> str:
    """Return figure and limit; the figure alone where there is no limit."""
    if math.isnan(flag.value) and math.isnan(flag.limit):
        return "no figure"
    if math.isnan(flag.limit):
        return flag_amount(flag.value, flag.unit, system)
    sense = "at least" if flag.is_floor else "at most"
    return (
        f"{flag_amount(flag.value, flag.unit, system)}, {sense} "
        f"{flag_amount(flag.limit, flag.unit, system)} wanted"
    )


def moment_words(flag: Flag) -> str:
    """Return when a hazard is at its worst; nothing where it has no moment."""
    if math.isnan(flag.at_s):
        return ""
    return f" at {flag.at_s:.0f} s ({flag.leg})"


def row(label: str, value: str, words: str = "") -> str:
    """Return one figure as a row: what it is, how much, what it means."""
    return wrap(f"  {label:<25}{value:>16}  {words}".rstrip(), 45)


def celsius(value: float, system: System) -> str:
    """Return a temperature given in degrees Celsius as text in the user's system."""
    return amount(value + 273.15, "temperature", system, 4)
