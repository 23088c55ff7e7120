"""The rows of the input form, from the models of the scenario and the text of one file.

Pure: tables and texts in, rows out. What does not depend on the file (label, range, default) is
made once for each table of the model and kept.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from thermo.keys import annotation_at, is_list, key_of, path_of
from thermo.scenario import Scenario
from thermo.toml_text import Path
from thermo.unit_table import COUNTERPARTS
from thermo.units import System, counterpart, format_value, unit_of
from tui.field_model import Field, RowKind, fields_at, is_optional, label_of, model_at
from tui.field_words import GROUPS, LEG_USES, NEUTRAL_KINDS, PART_USES, US_NAMES, US_UNITS


@dataclass(frozen=True, slots=True)
class Row:
    """One input of a scenario.

    Attributes
    ----------
    key : str
        Dotted key for :meth:`tui.session.Session.edit`, such as ``leg[1].duration``.
    group, section : str
        Heading, and heading within it ("Supply line", "Leg 2: coast"); the section may be empty.
    removable : str
        Key of the optional table or list entry that the row is in, such as ``coolant.thermostat``
        or ``leg[1]``; empty when it is in neither.
    text : str
        The value as typed, or else the default; empty when there is neither.
    given : bool
        Whether the value is in the file; False marks a default.
    field : Field
        What is known without the file.
    """

    key: str
    group: str
    section: str
    removable: str
    text: str
    given: bool
    field: Field

    @property
    def label(self) -> str:
        """The input's name in plain words."""
        return self.field.label

    @property
    def kind(self) -> RowKind:
        """How it is edited."""
        return self.field.kind

    @property
    def unit(self) -> str:
        """The unit its range is given in; empty for what has none."""
        return self.field.quantity.unit if self.field.quantity else ""

    @property
    def allowed(self) -> str:
        """What is accepted, in words, in the units of the range."""
        return self.field.allowed

    @property
    def help(self) -> str:
        """One sentence on it."""
        return self.field.help

    @property
    def basis(self) -> str:
        """Where its range or default comes from."""
        return self.field.basis

    @property
    def options(self) -> tuple[str, ...]:
        """Values of a choice."""
        return self.field.options

    @property
    def required(self) -> bool:
        """Whether the file must have it."""
        return self.field.required


def rows(tables: Mapping[str, Any], texts: Mapping[str, str]) -> tuple[Row, ...]:
    """Return the rows of the form, group by group.

    Parameters
    ----------
    tables : mapping
        The scenario as plain tables.
    texts : mapping of str to str
        Text as typed of each value in the file, by dotted key.

    Returns
    -------
    tuple of Row
        A row for each input; of duct parts and legs only those their kind takes, and any others
        that are in the file. An optional table that is not in the file is one row of kind
        "table"; :func:`blank_rows` has what would be in it.
    """
    found: list[Row] = []
    for group, members in GROUPS:
        walk = _Walk(group, texts)
        found += walk.table((), (), tables, "", "", only=members)
    return tuple(found)


def blank_rows(key: str) -> tuple[Row, ...]:
    """Return the rows of a table or list entry that is not in the file yet, all at default.

    Parameters
    ----------
    key : str
        Such as ``loop.pump``, ``leg[3]`` or ``intake.part[0]``.

    Returns
    -------
    tuple of Row
        Empty when there is no such table.
    """
    path = path_of(key)
    place = tuple(part for part in path if isinstance(part, str))
    if model_at(place) is None:
        return ()
    group = next((name for name, members in GROUPS if place[0] in members), "")
    walk = _Walk(group, {})
    return tuple(walk.table(path, place, {}, label_of(place), key_of(path), every=True))


def matching(all_rows: Iterable[Row], words: str) -> tuple[Row, ...]:
    """Return the rows in which every word is found, whatever its capitals.

    Parameters
    ----------
    all_rows : iterable of Row
        Rows to look through.
    words : str
        Words or parts of words, apart by spaces; looked for in key, label, headings and help.

    Returns
    -------
    tuple of Row
        In the order given; all of them when there are no words.
    """
    wanted = words.casefold().split()
    return tuple(row for row in all_rows if all(word in _haystack(row) for word in wanted))


def find(all_rows: Sequence[Row], key: str) -> Row | None:
    """Return the row of one key.

    Parameters
    ----------
    all_rows : sequence of Row
        Rows to look through.
    key : str
        Dotted key, with places in lists as ``[1]`` or ``.1``.

    Returns
    -------
    Row or None
        None when no row has that key.
    """
    try:
        wanted = key_of(path_of(key))
    except ValueError:
        return None
    return next((row for row in all_rows if row.key == wanted), None)


def same(one: str, other: str) -> bool:
    """Return whether two keys name the same input, however places in lists are written.

    Parameters
    ----------
    one, other : str
        Dotted keys.

    Returns
    -------
    bool
        False also when a text is no key.
    """
    try:
        return path_of(one) == path_of(other)
    except ValueError:
        return False


def shown(row: Row, system: System) -> str:
    """Return a row's value for reading, in the system asked for; the file is not touched.

    Parameters
    ----------
    row : Row
        Any row.
    system : {"si", "us"}
        A value typed in a unit of that system is shown as typed.

    Returns
    -------
    str
        The text; to four digits where the unit was changed.
    """
    quantity = row.field.quantity
    if quantity is None or row.kind != "quantity" or not row.text:
        return row.text
    if quantity.kind in NEUTRAL_KINDS:
        return row.text
    typed = unit_of(row.text, quantity.kind)
    if _is_us(typed) == (system == "us"):
        return row.text
    si = quantity.parse(row.text)
    if system == "si":
        return quantity.format(si)
    return format_value(si, quantity.kind, "us", 4, _us_unit(row.field, typed))


def unit_hint(row: Row, system: System) -> str:
    """Return the unit a row's value would be typed in.

    Parameters
    ----------
    row : Row
        Any row.
    system : {"si", "us"}
        The system.

    Returns
    -------
    str
        Empty where there is no unit.
    """
    quantity = row.field.quantity
    if quantity is None or row.kind != "quantity" or not quantity.unit:
        return ""
    if system == "si" or quantity.kind in NEUTRAL_KINDS:
        return quantity.unit
    return _us_unit(row.field, quantity.unit)


def allowed(row: Row, system: System) -> str:
    """Return what a row accepts, in words, in the system asked for.

    Parameters
    ----------
    row : Row
        Any row.
    system : {"si", "us"}
        The system.

    Returns
    -------
    str
        Such as "from 1 L to 2000 L".
    """
    quantity, unit = row.field.quantity, unit_hint(row, system)
    if quantity is None or system == "si" or not unit or quantity.kind in NEUTRAL_KINDS:
        return row.allowed
    low, high = (format_value(end, quantity.kind, "us", 4, unit) for end in quantity.range_si)
    return f"above {low} and at most {high}" if quantity.open_low else f"from {low} to {high}"


class _Walk:
    """Goes through the tables of one group and makes their rows."""

    def __init__(self, group: str, texts: Mapping[str, str]) -> None:
        self.group = group
        self.texts = texts

    def table(
        self,
        path: Path,
        place: tuple[str, ...],
        table: Mapping[str, Any] | None,
        section: str,
        removable: str,
        only: tuple[str, ...] | None = None,
        every: bool = False,
    ) -> Iterator[Row]:
        """Yield the rows of one table; the ones of tables within it come last."""
        inner: list[Field] = []
        prefix = f"{key_of(path)}." if path else ""
        used = None if every else _uses(place, table)
        for field in fields_at(place, table is None):
            if only is not None and field.name not in only:
                continue
            if field.kind == "table":
                inner.append(field)
                continue
            row = self.row(field, prefix + field.name, section, removable)
            if used is None or row.given or field.name in used:
                yield row
        for field in inner:
            below = None if table is None else table.get(field.name)
            yield from self.inner(field, (*path, field.name), below, section, removable)

    def row(self, field: Field, key: str, section: str, removable: str) -> Row:
        """Return the row of one value."""
        text = self.texts.get(key)
        if text is None:
            return Row(key, self.group, section, removable, field.default, False, field)
        if field.kind == "yes-no":
            text = {"true": "yes", "false": "no"}.get(text, text)
        return Row(key, self.group, section, removable, text, True, field)

    def inner(
        self, field: Field, path: Path, below: Any, section: str, removable: str
    ) -> Iterator[Row]:
        """Yield the rows of a table or a list of tables within another."""
        key, title = key_of(path), "" if len(path) == 1 else field.label
        annotation = annotation_at(Scenario, field.place)
        if is_list(annotation):
            for number, entry in enumerate(below or (), start=1):
                name = str(entry.get("name") or entry.get("kind") or "")
                heading = f"{field.label} {number}: {name}"
                at = (*path, number - 1)
                yield from self.table(at, field.place, entry, heading, key_of(at))
        elif below is not None:
            optional = key if is_optional(annotation) else removable
            yield from self.table(path, field.place, below, title, optional)
        elif is_optional(annotation):
            yield Row(key, self.group, section, removable, "", False, field)
        else:
            yield from self.table(path, field.place, None, title, removable)


def _uses(place: tuple[str, ...], table: Mapping[str, Any] | None) -> frozenset[str] | None:
    """Return the inputs that a duct part or leg of this kind takes; None for all."""
    kind = str((table or {}).get("kind", ""))
    if place == ("intake", "part"):
        own = PART_USES.get(kind)
        return None if own is None else own | {"kind", "name", "path"}
    if place == ("leg",):
        return LEG_USES.get(kind)
    return None


def _haystack(row: Row) -> str:
    field = row.field
    return f"{row.key} {field.label} {row.group} {row.section} {field.help}".casefold()


@lru_cache(maxsize=512)
def _is_us(unit: str) -> bool:
    if '"' in unit or "'" in unit or "″" in unit or "′" in unit:
        return True
    return any(name.casefold() in US_NAMES for name in re.findall(r"[A-Za-z][A-Za-z0-9]*", unit))


def _us_unit(field: Field, typed: str) -> str:
    quantity = field.quantity
    if quantity is None:
        return ""
    own = US_UNITS.get(".".join(field.place))
    known = typed if typed in COUNTERPARTS else quantity.unit
    return own or counterpart(known, quantity.kind)
