"""Plain words for what the engine names shortly, and short figures for tight places."""

from __future__ import annotations

import math
from dataclasses import dataclass

from thermo.units import System, convert

MARKS = {"danger": "XX", "caution": "!", "clear": "ok"}
"""Shape that tells a level without colour."""


@dataclass(frozen=True, slots=True)
class Words:
    """How a hazard is told.

    Attributes
    ----------
    title : str
        What its figure is, for a list.
    tag : str
        What happens, in two or three words, for the picture.
    place : {'tank', 'line', 'exchanger', 'engine', 'duct', 'model'}
        Where in the picture it belongs.
    """

    title: str
    tag: str
    place: str


HAZARDS: dict[str, Words] = {
    "coolant-boil": Words("margin to boiling", "near boiling", "engine"),
    "leaking-cap": Words("margin to boiling with a leaking cap", "boils if cap leaks", "engine"),
    "after-boil": Words("margin to boiling after the pumps stop", "boils after stop", "engine"),
    "flow-lost": Words("time to boiling if the pump stops", "boils after pump stop", "engine"),
    "too-cold": Words("warmth at full throttle", "too cold", "engine"),
    "tank-scald": Words("tank water that scalds", "tank scalds", "tank"),
    "line-scald": Words("line past the driver that scalds", "line scalds", "line"),
    "coolant-flash": Words("coolant turning to steam if let out", "steam if opened", "engine"),
    "touch": Words("bare metal hot to touch", "hot to touch", "tank"),
    "relief-lift": Words("tank pressure", "relief lifts", "tank"),
    "relief-size": Words("bore of the tank's relief", "relief too small", "tank"),
    "hydraulic-lock": Words("gas left above the tank's water", "no gas left", "tank"),
    "vacuum": Words("tank pressure after cooling down", "pulled in cold", "tank"),
    "trapped-liquid": Words("water shut between two valves", "trapped water", "line"),
    "panel-stress": Words("stress in the tank's largest panel", "panel too weak", "tank"),
    "pick-up": Words("water over the tank's outlet", "outlet starves", "tank"),
    "freeze": Words("air against freezing", "can freeze", "tank"),
    "cavitation": Words("suction of the tank pump", "pump sucks vapour", "line"),
    "air-lock": Words("water speed that carries air along", "air in line", "line"),
    "low-flow": Words("rise of the tank water in the exchanger", "too little flow", "exchanger"),
    "catalogue-flow": Words("flow of the tank pump", "flow is a guess", "line"),
    "intake-net": Words("net gain of the duct", "duct may cost power", "duct"),
    "intake-mach": Words("Mach number in the duct", "air too fast", "duct"),
    "intake-choke": Words("air flow against choking", "duct chokes", "duct"),
    "intake-hot": Words("air warmed by the duct", "air warmed", "duct"),
    "fuel-reference": Words("fuel missing under the duct's pressure", "mixture off", "duct"),
    "range": Words("figures outside the model's range", "rough figures", "model"),
    "audit": Words("energy that the account misses", "account open", "model"),
}
"""Every hazard of the engine in a builder's words."""

FALLBACK = "model"


def words_of(name: str) -> Words:
    """Return the words of a hazard; its own name where none are known.

    Parameters
    ----------
    name : str
        Name of a flag.

    Returns
    -------
    Words
    """
    return HAZARDS.get(name) or Words(name, name, FALLBACK)


def _number(value: float, decimals: int) -> str:
    text = f"{value:.{decimals}f}"
    return text.lstrip("-") if float(text) == 0.0 else text


def degrees(kelvin: float, system: System, ascii_only: bool = False, decimals: int = 0) -> str:
    """Return a temperature [K] as short text: ``65 °C``, ``149 °F``, ``65 C`` in ASCII."""
    letter = "F" if system == "us" else "C"
    number = _number(convert(kelvin, "temperature", f"deg{letter}"), decimals)
    return f"{number} {letter}" if ascii_only else f"{number} °{letter}"


def difference(kelvin: float, system: System, ascii_only: bool = False) -> str:
    """Return a temperature difference [K] as short text: ``8.5 K``, ``-10 K``, ``15 °F``."""
    if not math.isfinite(kelvin):
        return "none"
    value = kelvin * 1.8 if system == "us" else kelvin
    unit = "K" if system == "si" else "F" if ascii_only else "°F"
    return f"{_number(value, 1 if abs(value) < 9.95 else 0)} {unit}"


def gauge(pascal: float, system: System) -> str:
    """Return a gauge pressure [Pa] as short text: ``43.8 kPa``, ``6.4 psi``."""
    unit = "psi" if system == "us" else "kPa"
    value = convert(pascal, "pressure_gauge", unit)
    return f"{_number(value, 1 if abs(value) < 99.95 else 0)} {unit}"


def over_air(pascal: float, system: System) -> str:
    """Return a pressure over still air [Pa] with its sign: ``+2.78``; in kPa, or psi."""
    unit, decimals = ("psi", 3) if system == "us" else ("kPa", 2)
    text = f"{convert(pascal, 'pressure_difference', unit):+.{decimals}f}"
    return text.replace("-", "+") if float(text) == 0.0 else text


def over_air_unit(system: System) -> str:
    """Return the unit of :func:`over_air`."""
    return "psi" if system == "us" else "kPa"


def power(watt: float, system: System) -> str:
    """Return a power or heat flow [W] as short text: ``105 kW``, ``141 hp``."""
    unit = "hp" if system == "us" else "kW"
    value = convert(watt, "power", unit)
    return f"{_number(value, 1 if 0.05 <= abs(value) < 9.95 else 0)} {unit}"


def speed(metres: float, system: System) -> str:
    """Return a speed [m/s] as short text: ``84.1 m/s``, ``188 mph``."""
    if system == "us":
        return f"{_number(convert(metres, 'speed', 'mph'), 0)} mph"
    return f"{_number(metres, 1)} m/s"


def mass(kilograms: float, system: System) -> str:
    """Return a mass [kg] as short text: ``2.1 kg``, ``4.6 lb``."""
    unit = "lb" if system == "us" else "kg"
    return f"{_number(convert(kilograms, 'mass', unit), 1)} {unit}"


def flow(cubic_metres: float, system: System) -> str:
    """Return a volume flow [m3/s] as short text: ``38 L/min``, ``10.0 gpm``."""
    if system == "us":
        return f"{_number(convert(cubic_metres, 'volume_flow', 'gpm'), 1)} gpm"
    return f"{_number(cubic_metres * 60e3, 0)} L/min"


def seconds(value: float) -> str:
    """Return a time [s] as short text: ``62.4 s``, ``2724 s``."""
    return f"{_number(value, 1 if abs(value) < 999.95 else 0)} s"


def percent(share: float) -> str:
    """Return a share as short text: ``69 %``; one decimal below ten."""
    value = 100.0 * share
    return f"{_number(value, 0 if abs(value) >= 9.95 else 1)} %"
