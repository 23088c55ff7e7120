"""Scenarios side by side: verdicts on top, then only what differs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

from pydantic import BaseModel

from thermo.fields import quantity_in
from thermo.keys import annotation_at, path_of
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System
from tui.field_model import label_of
from tui.figures import figure_rows
from tui.wording import flag_amount
from tui.words import MARKS, words_of

NOT_GIVEN = "not given"
NONE_HERE = "-"
UNTOLD = ("schema", "title", "shows")
"""Inputs that are no difference."""


@dataclass(frozen=True, slots=True)
class CompareRow:
    """One line of a comparison.

    Attributes
    ----------
    group : {'verdict', 'hazard', 'figure', 'input'}
    key, label : str
        Name of the figure or hazard, or dotted key of the input; and what it is.
    values : tuple of str
        One a scenario.
    """

    group: str
    key: str
    label: str
    values: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Comparison:
    """Scenarios side by side.

    Attributes
    ----------
    labels : tuple of str
        Titles of the scenarios.
    rows : tuple of CompareRow
    """

    labels: tuple[str, ...]
    rows: tuple[CompareRow, ...]

    def of(self, chosen: Sequence[int]) -> Comparison:
        """Return the comparison of some of the scenarios, with what differs among them.

        Parameters
        ----------
        chosen : sequence of int
            Places of the scenarios.

        Returns
        -------
        Comparison
        """
        some = (
            replace(row, values=tuple(row.values[i] for i in chosen)) for row in self.rows
        )
        return Comparison(
            tuple(self.labels[i] for i in chosen),
            tuple(row for row in some if row.group == "verdict" or len(set(row.values)) > 1),
        )


class Input(NamedTuple):
    """One input as text, and whether the scenario gives it or leaves it at its default."""

    text: str
    given: bool


def flattened(table: BaseModel, system: System = "si", stem: str = "") -> dict[str, Input]:
    """Return every input of a scenario by its dotted key, as text with its unit.

    Parameters
    ----------
    table : BaseModel
        A scenario or a table of one.
    system : {'si', 'us'}
    stem : str
        Key of the table.

    Returns
    -------
    dict of str to Input
        In the order of the model; entries of lists by their place, ``intake.part[0].bore``.
    """
    out: dict[str, Input] = {}
    for name, info in type(table).model_fields.items():
        key = info.alias or name
        whole = f"{stem}.{key}" if stem else key
        if whole in UNTOLD:
            continue
        value = getattr(table, name)
        inside = _tables(value, whole)
        for place, item in inside.items():
            out.update(flattened(item, system, place))
        if not inside and not isinstance(value, dict):
            text = _text(annotation_at(type(table), (key,)), value, system)
            out[whole] = Input(text, name in table.model_fields_set)
    return out


def _tables(value: Any, whole: str) -> dict[str, BaseModel]:
    """Return the tables that a value is, or holds, by their keys."""
    if isinstance(value, BaseModel):
        return {whole: value}
    if isinstance(value, dict):
        return {f'{whole}."{name}"': item for name, item in value.items()}
    if isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
        return {f"{whole}[{place}]": item for place, item in enumerate(value)}
    return {}


def input_label(key: str) -> str:
    """Return an input's key in words: ``Tank: volume``, ``Intake, part 1: bore``.

    Parameters
    ----------
    key : str
        Dotted key, with places in lists.

    Returns
    -------
    str
    """
    words: list[str] = []
    names: tuple[str, ...] = ()
    for part in path_of(key):
        if isinstance(part, int):
            words[-1] += f" {part + 1}"
            continue
        names += (part,)
        label = label_of(names)
        words.append(label if not words or label[:2].isupper() else label[0].lower() + label[1:])
    return ": ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _text(annotation: Any, value: Any, system: System) -> str:
    """Return one value as text: a quantity in its field's own unit, a list item by item."""
    if value is None:
        return NOT_GIVEN
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return ", ".join(_item(annotation, item, system) for item in value) or "none"
    field = quantity_in(annotation)
    if field is not None and isinstance(value, float):
        return field.format(value, system, 5)
    return str(value) or NOT_GIVEN


def _item(annotation: Any, item: Any, system: System) -> str:
    field = quantity_in(annotation)
    if isinstance(item, tuple):
        return "/".join(f"{x:.6g}" if isinstance(x, float) else str(x) for x in item)
    if field is not None and isinstance(item, float):
        return field.format(item, system, 5)
    return f"{item:.6g}" if isinstance(item, float) else str(item)


def _verdicts(results: Sequence[EventResult], system: System) -> list[CompareRow]:
    binding = [r.binding for r in results]
    return [
        CompareRow(
            "verdict",
            "verdict",
            "verdict",
            tuple(f"{MARKS.get(r.verdict, '??')} {r.verdict}" for r in results),
        ),
        CompareRow(
            "verdict", "binding", "what binds", tuple(words_of(f.name).title for f in binding)
        ),
        CompareRow(
            "verdict",
            "binding-value",
            "its figure",
            tuple(flag_amount(f.value, f.unit, system) for f in binding),
        ),
    ]


def _differing(
    group: str, tables: Sequence[dict[str, str]], labels: dict[str, str]
) -> list[CompareRow]:
    rows = []
    for key in dict.fromkeys(k for t in tables for k in t):
        values = tuple(t.get(key, NONE_HERE) for t in tables)
        if len(set(values)) > 1:
            rows.append(CompareRow(group, key, labels.get(key, key), values))
    return rows


def _inputs(scenarios: Sequence[Scenario], system: System) -> list[CompareRow]:
    """Return the inputs that differ; of a table that some lack, those that the others give."""
    tables = [flattened(s, system) for s in scenarios]
    rows = []
    for key in dict.fromkeys(k for t in tables for k in t):
        found = [t.get(key) for t in tables]
        values = tuple(NONE_HERE if f is None else f.text for f in found)
        told = None not in found or any(f is not None and f.given for f in found)
        if told and len(set(values)) > 1:
            rows.append(CompareRow("input", key, input_label(key), values))
    return rows


def compare(
    results: Sequence[EventResult], scenarios: Sequence[Scenario], system: System = "si"
) -> Comparison:
    """Put events side by side.

    Parameters
    ----------
    results : sequence of EventResult
    scenarios : sequence of Scenario
        What they were solved for, in the same order.
    system : {'si', 'us'}

    Returns
    -------
    Comparison
        Verdicts, what binds and its figure always; then hazards, figures and inputs of which
        any two texts differ.

    Raises
    ------
    ValueError
        If there are not as many results as scenarios.
    """
    if len(results) != len(scenarios):
        raise ValueError(f"{len(results)} results for {len(scenarios)} scenarios")
    hazards = [{f.name: f"{MARKS[f.level]} {f.level}" for f in r.flags} for r in results]
    figures = [figure_rows(r, system) for r in results]
    names = {row.name: row.label for rows in figures for row in rows}
    titles = {f.name: words_of(f.name).title for r in results for f in r.flags}
    rows = [
        *_verdicts(results, system),
        *_differing("hazard", hazards, titles),
        *_differing("figure", [{f.name: f.value for f in told} for told in figures], names),
        *_inputs(scenarios, system),
    ]
    return Comparison(tuple(r.title or "scenario" for r in results), tuple(rows))
