"""The table ``[doubt]`` as read: each range in SI, and what is wrong with it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermo.errors import Problem
from thermo.fields import Quantity, quantity_in, quantity_of
from thermo.inputs.event import DoubtRange
from thermo.keys import annotation_at, key_of, path_of
from thermo.quantity_text import QuantityTextError, printable, show_object
from thermo.scenario import Scenario, held_values, placed, tables_of, with_value
from thermo.scenario_problems import nearest
from thermo.toml_text import Path

Shape = Literal["triangular", "uniform", "normal", "exact"]


@dataclass(frozen=True, slots=True)
class Entry:
    """One range of ``[doubt]``.

    Attributes
    ----------
    key : str
        Dotted key of the input, places in lists as numbers.
    kind : str
        Kind of quantity.
    low, high : float
        Ends [SI]; not a number where the input is exact.
    shape : {'triangular', 'uniform', 'normal', 'exact'}
    bounds : tuple of float
        Range that the input may have at all [SI].
    """

    key: str
    kind: str
    low: float
    high: float
    shape: Shape
    bounds: tuple[float, float]


def entries_of(scenario: Scenario) -> tuple[tuple[Entry, ...], list[tuple[Path, Problem]]]:
    """Read the table ``[doubt]`` of a scenario.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    tuple of (tuple of Entry, list of (path, Problem))
        The ranges that can be used, and each thing that is wrong with its place in the file.
    """
    entries: dict[str, Entry] = {}
    problems: list[tuple[Path, Problem]] = []
    for written, given in scenario.doubt.items():
        place: Path = ("doubt", written)
        wrong = _wrong_key(scenario, written)
        if wrong is not None:
            problems.append((place, wrong))
            continue
        key = placed(scenario, written)
        quantity = quantity_of(Scenario, written)
        if key is None or quantity is None:
            problems.append((place, _problem(place, "", _absent(written))))
            continue
        if key in entries:
            problems.append((place, _problem(place, "", f"{key} has a range already")))
            continue
        found = _range_of(scenario, key, quantity, given, place)
        if isinstance(found, Entry):
            entries[key] = found
        else:
            problems += found
    return tuple(entries.values()), problems


def _problem(place: Path, given: str, allowed: str, suggestion: str = "") -> Problem:
    return Problem(key_of(place), given, allowed, None, suggestion)


def _wrong_key(scenario: Scenario, written: str) -> Problem | None:
    """Return what is wrong with the name of an input, if anything."""
    place: Path = ("doubt", written)
    try:
        path = path_of(written)
    except ValueError as error:
        return _problem(place, "", printable(str(error), 200))
    annotation = annotation_at(Scenario, path)
    if annotation is None:
        near = nearest(written, tuple(held_values(scenario)))
        return _problem(place, "", "no such input: the dotted key of a quantity is expected", near)
    if quantity_in(annotation) is None:
        return _problem(
            place, "", "a range is for a quantity; this input is a word, a count, a switch or a "
            "table",
        )
    return None


def _absent(written: str) -> str:
    where = printable(written.rpartition(".")[0])
    return f"a single quantity of this scenario is expected; there is no such input in {where}"


def _range_of(
    scenario: Scenario, key: str, quantity: Quantity, given: DoubtRange, place: Path
) -> Entry | list[tuple[Path, Problem]]:
    """Return one range in SI, or what is wrong with its ends."""
    bounds = quantity.range_si
    if given.shape == "exact":
        return Entry(key, quantity.kind, np.nan, np.nan, "exact", bounds)
    ends: list[float] = []
    problems: list[tuple[Path, Problem]] = []
    for name, text in (("low", given.low), ("high", given.high)):
        at = (*place, name)
        try:
            ends.append(quantity.parse(text))
        except QuantityTextError as error:
            problems.append((at, _problem(at, error.given, error.allowed)))
            continue
        words = _contradiction(scenario, key, ends[-1])
        if words:
            problems.append((at, _problem(at, show_object(text), f"with that, {words}")))
    if problems:
        return problems
    low, high = ends
    if not low < high:
        shown = f"low {show_object(given.low)} and high {show_object(given.high)}"
        return [(place, _problem(place, shown, "low must lie below high"))]
    return Entry(key, quantity.kind, low, high, given.shape, bounds)


def _contradiction(scenario: Scenario, key: str, value: float) -> str:
    """Return what a value of one input contradicts, in words; nothing where it may be used."""
    plain = ".".join(str(part) for part in path_of(key))
    for place, table in tables_of(with_value(scenario, plain, value)):
        for wrong, words in table.conflicts():
            if wrong:
                return f"{place}: {words}" if place else words
    return ""
