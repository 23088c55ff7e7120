"""Channels of a log: what a column may be, how its header is read, and its unit."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from thermo.errors import Problem
from thermo.quantity_text import QuantityTextError, printable, quoted
from thermo.scenario_problems import nearest
from thermo.units import parse


@dataclass(frozen=True, slots=True)
class Channel:
    """What a column of a log may be.

    Attributes
    ----------
    name : str
    kind : str
        Kind of quantity, a key of :data:`thermo.units.KINDS`.
    means : str
        What is measured, in words.
    known_as : tuple of str
        Headers that loggers use, in small letters without spaces or signs.
    unit : str
        Taken where the header names none; empty when it must be named.
    """

    name: str
    kind: str
    means: str
    known_as: tuple[str, ...]
    unit: str = ""


_CHANNELS = (
    Channel("time", "time", "time", (
        "time", "t", "timestamp", "elapsed", "elapsedtime", "seconds", "logtime", "clock",
        "datetime", "zeit", "uhrzeit"), "s"),
    Channel("coolant_out", "temperature", "coolant leaving the engine", (
        "coolantout", "coolant", "ect", "clt", "coolanttemp", "coolanttemperature",
        "enginecoolanttemp", "enginecoolanttemperature", "watertemp", "watertemperature",
        "engineout", "coolantengineout")),
    Channel("coolant_in", "temperature", "coolant returning to the engine", (
        "coolantin", "enginein", "coolantreturn", "coolantenginein")),
    Channel("tank_out", "temperature", "water drawn from the tank", (
        "tankout", "tankoutlet", "tanksupply", "coldsupply")),
    Channel("tank_in", "temperature", "water coming back to the tank", (
        "tankin", "tankinlet", "tankreturn")),
    Channel("tank_mid", "temperature", "water in the middle of the tank", (
        "tankmid", "tank", "tanktemp", "tanktemperature", "tankmiddle", "tankmean", "tankwater")),
    Channel("speed", "speed", "speed of the car", (
        "speed", "vehiclespeed", "vss", "carspeed", "gpsspeed", "groundspeed", "wheelspeed")),
    Channel("rpm", "rotational_speed", "engine speed", (
        "rpm", "enginespeed", "enginerpm", "revs"), "rpm"),
    Channel("throttle", "fraction", "throttle", (
        "throttle", "tps", "throttleposition", "pedal"), "%"),
    Channel("plenum", "pressure_absolute", "pressure in the plenum or manifold", (
        "plenum", "map", "manifold", "manifoldpressure", "manifoldabsolutepressure",
        "plenumpressure", "airbox", "airboxpressure")),
    Channel("air", "temperature", "outside air in the shade", (
        "air", "airtemp", "airtemperature", "ambient", "ambienttemp", "ambienttemperature",
        "oat", "outsideair")),
)
CHANNELS = {channel.name: channel for channel in _CHANNELS}
"""Every channel by name."""

WATERS = ("coolant_out", "coolant_in", "tank_out", "tank_in", "tank_mid")
"""Channels of liquid temperature."""

SPELLINGS = {
    "°c": "degC", "c": "degC", "degc": "degC", "deg c": "degC", "celsius": "degC", "ºc": "degC",
    "°f": "degF", "f": "degF", "degf": "degF", "deg f": "degF", "fahrenheit": "degF",
    "ºf": "degF", "k": "K", "kelvin": "K",
    "km/h": "km/h", "kmh": "km/h", "kph": "km/h", "km per h": "km/h", "mph": "mph", "mi/h": "mph",
    "m/s": "m/s", "mps": "m/s", "m per s": "m/s", "ft/s": "ft/s", "kt": "knot", "kn": "knot",
    "knots": "knot",
    "s": "s", "sec": "s", "secs": "s", "seconds": "s", "second": "s", "ms": "ms", "msec": "ms",
    "min": "min", "h": "h",
    "rpm": "rpm", "1/min": "rpm", "r/min": "rpm", "u/min": "rpm", "krpm": "krpm",
    "%": "%", "pct": "%", "percent": "%", "pa": "Pa", "hpa": "hPa", "kpa": "kPa", "mbar": "mbar",
    "bar": "bar", "psi": "psi", "psia": "psia", "psig": "psig", "kpaa": "kPa abs",
    "kpag": "kPa gauge", "kpa abs": "kPa abs", "kpa gauge": "kPa gauge", "inhg": "inHg",
    "kpa(a)": "kPa abs", "kpa(g)": "kPa gauge", "bara": "bar abs", "barg": "bar gauge",
}
"""Units as loggers spell them, in small letters, and as they are read here."""

NO_COLUMN = "-"
"""Stands for a column where no column of the file is a channel, whatever a header says."""

_BRACKET = re.compile(r"^(?P<name>.*?)\s*[\[({<](?P<unit>[^\[\]{}<>]*)[\])}>]\s*$")


@dataclass(frozen=True, slots=True)
class Choice:
    """A column that has been given a channel.

    Attributes
    ----------
    channel : str
    header : str
        As written in the file.
    place : int
        Column, from 0.
    unit : str
        As it is read; empty where it was not named.
    scale, zero : float
        SI value is number times `scale` plus `zero`.
    gauge : bool
        Whether a pressure is over ambient.
    assumed : bool
        Whether the unit is the channel's usual one because none was named.
    """

    channel: str
    header: str
    place: int
    unit: str
    scale: float
    zero: float
    gauge: bool = False
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class Mapped:
    """A column that is to be taken for a channel.

    Attributes
    ----------
    channel : str
    place : int
        Column, from 0.
    header, unit : str
    """

    channel: str
    place: int
    header: str
    unit: str

    @property
    def text(self) -> str:
        """As :func:`read_mapping` reads it, the column by its header."""
        return f"{self.channel}={self.header}:{self.unit}"


def split_header(header: str) -> tuple[str, str]:
    """Return the name and the unit of a header; the unit is empty where none is named.

    Parameters
    ----------
    header : str
        Such as ``ECT (degF)``, ``Speed [km/h]``, ``tank_out_degC`` or ``rpm``.

    Returns
    -------
    tuple of (str, str)
    """
    text = header.strip().strip('"').strip()
    found = _BRACKET.match(text)
    if found is not None:
        return found["name"].strip(), found["unit"].strip()
    parts = re.split(r"[_\s]+", text)
    for count in (3, 2, 1):
        unit = " ".join(parts[-count:])
        if len(parts) > count and unit.casefold() in SPELLINGS and not _known(text):
            return " ".join(parts[:-count]), unit
    return text, ""


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]", "", name.casefold())


def guess(header: str) -> str:
    """Return the channel that a header names, with its unit or without; empty when none."""
    return _known(header) or _known(split_header(header)[0])


def _known(name: str) -> str:
    """Return the channel that a name stands for, empty when none."""
    plain = _plain(name)
    return next((c.name for c in _CHANNELS if plain == _plain(c.name) or plain in c.known_as), "")


def measure(unit: str, channel: str) -> tuple[str, float, float, bool]:
    """Return a unit as it is read, its scale and zero to SI, and whether it is gauge.

    Parameters
    ----------
    unit : str
        As spelt in a header.
    channel : str

    Returns
    -------
    tuple of (str, float, float, bool)

    Raises
    ------
    QuantityTextError
        The unit is not known or measures something else.
    """
    spelt = re.sub(r"^[\[({](.*)[\])}]$", r"\1", unit.strip())
    text = SPELLINGS.get(spelt.casefold(), spelt)
    kind, gauge = CHANNELS[channel].kind, False
    try:
        one = parse(f"1000 {text}", kind)
    except QuantityTextError:
        if kind != "pressure_absolute":
            raise
        kind, gauge = "pressure_gauge", True
        one = parse(f"1000 {text}", kind)
    two = parse(f"2000 {text}", kind)
    scale = (two - one) / 1000.0
    return text, scale, one - 1000.0 * scale, gauge


def read_mapping(texts: Sequence[str]) -> tuple[dict[str, tuple[str, str]], list[Problem]]:
    """Read CHANNEL=COLUMN or CHANNEL=COLUMN:UNIT texts.

    Parameters
    ----------
    texts : sequence of str
        Such as ``coolant_out=ECT:degF``, ``tank_in=#4:degC``, a column by its number, or
        ``air=-``, no column at all.

    Returns
    -------
    tuple of (dict, list of Problem)
        Column and unit by channel; the unit is empty where none is named.
    """
    chosen: dict[str, tuple[str, str]] = {}
    problems: list[Problem] = []
    for text in texts:
        given = f"--column {printable(text, 120)}"
        channel, equals, column = (part.strip() for part in text.partition("="))
        if not equals or not column:
            problems.append(Problem("", given, "CHANNEL=COLUMN:UNIT is expected, such as "
                                    "coolant_out=ECT:degF, or CHANNEL=- for no column"))
        elif channel not in CHANNELS:
            problems.append(Problem(
                "", given, f"channels are {', '.join(CHANNELS)}",
                suggestion=nearest(channel, tuple(CHANNELS)),
            ))
        elif channel in chosen:
            problems.append(Problem("", given, f"{channel} is mapped twice"))
        else:
            name, colon, unit = column.rpartition(":")
            chosen[channel] = (name.strip(), unit.strip()) if colon else (column, "")
    return chosen, problems


def choose(
    headers: Sequence[str],
    units: Sequence[str],
    mapping: Mapping[str, tuple[str, str]],
    line: int,
) -> tuple[list[Choice], list[Problem]]:
    """Give columns their channels, by mapping first and by name else.

    Parameters
    ----------
    headers : sequence of str
    units : sequence of str
        Of a row of units beneath the headers; empty texts where there is none.
    mapping : mapping of str to (str, str)
        From :func:`read_mapping`.
    line : int
        Of the headers, for messages.

    Returns
    -------
    tuple of (list of Choice, list of Problem)
    """
    problems: list[Problem] = []
    places: dict[str, list[int]] = {}
    stated: dict[int, str] = {}
    for channel, (column, unit) in mapping.items():
        if column == NO_COLUMN:
            continue
        found = _find(headers, column)
        if len(found) != 1:
            words = "no column has this header" if not found else "several columns have this header"
            problems.append(Problem(
                channel, quoted(column), f"{words}; there are {_listed(headers)}", line,
                nearest(column, tuple(printable(split_header(h)[0]) for h in headers)),
            ))
            continue
        places[channel] = found
        stated[found[0]] = unit
    taken = {p for found in places.values() for p in found}
    for place, header in enumerate(headers):
        known = "" if place in taken else guess(header)
        if known and known not in mapping:
            places.setdefault(known, []).append(place)
    choices: list[Choice] = []
    for channel, found in places.items():
        if len(found) > 1:
            both = " and ".join(quoted(headers[p].strip()) for p in found)
            problems.append(Problem(
                channel, both, f"one column is expected: choose with --column {channel}=...", line
            ))
            continue
        place = found[0]
        unit = stated.get(place) or split_header(headers[place])[1] or units[place].strip()
        choice = _measured(channel, headers[place].strip(), place, unit, line)
        if isinstance(choice, Problem):
            problems.append(choice)
        else:
            choices.append(choice)
    return choices, problems


def _measured(channel: str, header: str, place: int, unit: str, line: int) -> Choice | Problem:
    usual = CHANNELS[channel].unit
    if not (unit or usual):
        return Problem(
            channel, quoted(header), "the unit is missing: write it into the header, or give "
            f"--column {channel}={printable(header)}:UNIT", line,
        )
    try:
        text, scale, zero, gauge = measure(unit or usual, channel)
    except QuantityTextError as error:
        return Problem(channel, quoted(header), f"unit {quoted(unit)}: {error.allowed}", line)
    return Choice(channel, header, place, text, scale, zero, gauge, assumed=not unit)


def _find(headers: Sequence[str], column: str) -> list[int]:
    """Return the columns that a text names: by number, whole header, or name without unit."""
    if re.fullmatch(r"#\d+", column):
        place = int(column[1:]) - 1
        return [place] if 0 <= place < len(headers) else []
    exact = [i for i, h in enumerate(headers) if h.strip() == column]
    if exact:
        return exact
    wanted = _plain(column)
    whole = [i for i, h in enumerate(headers) if _plain(h) == wanted]
    return whole or [i for i, h in enumerate(headers) if _plain(split_header(h)[0]) == wanted]


def _listed(headers: Sequence[str]) -> str:
    named = [printable(h.strip(), 40) for h in headers if h.strip()]
    return ", ".join(named[:20]) + (", ..." if len(named) > 20 else "")
