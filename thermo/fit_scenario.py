"""Fitted values put into a scenario's text: values, their ranges as doubt, and where from."""

from __future__ import annotations

import math
from collections.abc import Sequence

import tomlkit

from thermo.fields import Quantity, quantity_of
from thermo.fit_parameters import NEEDS, Fitted
from thermo.keys import path_of
from thermo.quantity_text import QuantityTextError, printable
from thermo.scenario import Scenario
from thermo.scenario_io import LoadedScenario, from_text, set_value, to_toml
from thermo.units import format_value, unit_of

DIGITS = 5
"""Significant digits of a value written into a scenario."""


def fitted_text(
    loaded: LoadedScenario, fitted: Sequence[Fitted], comments: Sequence[str]
) -> LoadedScenario:
    """Return a scenario with fitted values in place of its own; comments and order are kept.

    Parameters
    ----------
    loaded : LoadedScenario
        Its overrides become part of the text.
    fitted : sequence of Fitted
    comments : sequence of str
        Lines put at the top, such as the log's hash.

    Returns
    -------
    LoadedScenario
        Read back from the text made, and so known to be good.

    Raises
    ------
    ScenarioError, ScenarioFileError
        If the text cannot be edited or the values make no scenario.
    """
    document = tomlkit.parse(to_toml(loaded.document))
    for one in fitted:
        quantity = quantity_of(Scenario, one.key)
        if quantity is None:
            raise KeyError(one.key)
        unit = _unit_now(document, one.key, quantity)
        set_value(document, one.key, _written(one.value, quantity, unit))
        if one.key in NEEDS:
            key, value = NEEDS[one.key]
            set_value(document, key, value)
        _put_doubt(document, one, quantity, unit)
    lines = [f"# {printable(line, 300)}" for line in comments]
    return from_text(_headed(to_toml(document), lines), loaded.source)


def _unit_now(document: tomlkit.TOMLDocument, key: str, quantity: Quantity) -> str:
    """Return the unit in which an input stands in a document; its own where it does not."""
    here: object = document
    for part in path_of(key):
        if not isinstance(here, dict) or part not in here:
            return quantity.unit
        here = here[part]
    try:
        return unit_of(str(here), quantity.kind) if isinstance(here, str) else quantity.unit
    except QuantityTextError:
        return quantity.unit


def _written(si: float, quantity: Quantity, unit: str) -> str:
    return format_value(si, quantity.kind, "si", DIGITS, unit)


def _put_doubt(
    document: tomlkit.TOMLDocument, one: Fitted, quantity: Quantity, unit: str
) -> None:
    """Set the range of an input as the 5th and 95th percentile of a normal distribution."""
    if "doubt" not in document:
        document["doubt"] = tomlkit.table()
    low, high = quantity.range_si
    # Rounded outward by a hair, so that what is written never reads as beyond the allowed range.
    ends = max(one.low90, low), min(one.high90, high)
    if not (math.isfinite(ends[0]) and ends[0] < ends[1]):
        return
    entry = tomlkit.inline_table()
    for name, value in zip(("low", "high"), ends, strict=True):
        text = _written(value, quantity, unit)
        entry[name] = text if unit else float(text)
    entry["shape"] = "normal"
    table = document["doubt"]
    if isinstance(table, dict):
        table[one.key] = entry


def _headed(text: str, lines: Sequence[str]) -> str:
    """Put comment lines at the top, beneath a line that names a schema for editors."""
    head = "".join(f"{line}\n" for line in lines)
    if text.startswith("#:"):
        first, _, rest = text.partition("\n")
        return f"{first}\n{head}{rest}"
    return head + text
