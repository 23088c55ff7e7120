"""Legs, duct parts and optional tables: put in, doubled and taken out, with their questions."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from thermo.errors import ScenarioError
from thermo.keys import path_of
from tui.edits import Edit, words_of
from tui.field_words import LEG_USES, PART_USES
from tui.fieldlist import Row, blank_rows
from tui.screens.dialogs import Choose
from tui.screens.tables import TableForm

if TYPE_CHECKING:
    from tui.screens.solving import SolvingScreen

LISTS: Mapping[str, tuple[str, Mapping[str, frozenset[str]]]] = {
    "leg": ("leg", LEG_USES),
    "intake.part": ("duct part", PART_USES),
}
"""Name in words of each list, and what each kind of its entries takes."""

ALWAYS = frozenset({"name", "path"})
"""Inputs of an entry whatever its kind."""

NOWHERE = "put the cursor on a leg, a duct part or an optional table first"


MOST_TOLD = 3
"""Changes of one edit that are told."""


def brief(edit: Edit) -> str:
    """Return an edit in few words.

    Parameters
    ----------
    edit : Edit

    Returns
    -------
    str
        Its first changes, and how many more there are.
    """
    changes = [str(change) for change in edit.changes]
    more = len(changes) - MOST_TOLD
    return "; ".join(changes[:MOST_TOLD]) + (f"; and {more} more" if more > 0 else "")


def entry_at(row: Row | None) -> tuple[str, int] | None:
    """Return the list and the place of the entry that a row is in; None when it is in none.

    Parameters
    ----------
    row : Row or None

    Returns
    -------
    tuple of (str, int) or None
        Such as ``("intake.part", 2)``.
    """
    if row is None or not row.removable:
        return None
    *stem, place = path_of(row.removable)
    name = ".".join(str(part) for part in stem)
    return (name, place) if isinstance(place, int) and name in LISTS else None


class ListEdits:
    """Changes to what a scenario is made of.

    Parameters
    ----------
    screen : SolvingScreen
    """

    def __init__(self, screen: SolvingScreen) -> None:
        self._screen = screen

    def _count(self, name: str) -> int:
        rows = self._screen.desk.session.rows
        return len({row.removable for row in rows if row.removable.startswith(f"{name}[")})

    def insert(self, row: Row | None) -> None:
        """Ask for a new entry behind the one under the cursor, or of which list it shall be."""
        at = entry_at(row)
        if at is not None:
            self.insert_into(at[0], at[1] + 1)
            return

        def chosen(name: str | None) -> None:
            if name is not None:
                self.insert_into(name, self._count(name))

        choices = tuple((name, f"a {words} at the end") for name, (words, _) in LISTS.items())
        self._screen.app.push_screen(Choose("Put in", choices), chosen)

    def insert_into(self, name: str, position: int) -> None:
        """Ask for the kind of a new entry, then for its inputs."""
        words, uses = LISTS[name]

        def chosen(kind: str | None) -> None:
            if kind is not None:
                self._fill(name, position, kind)

        kinds = tuple((kind, kind) for kind in uses)
        title = f"Kind of the new {words}, place {position + 1}"
        self._screen.app.push_screen(Choose(title, kinds), chosen)

    def _fill(self, name: str, position: int, kind: str) -> None:
        words, uses = LISTS[name]
        stem = f"{name}[{position}]."
        wanted = (uses[kind] | ALWAYS) - {"kind"}
        rows = tuple(r for r in blank_rows(stem[:-1]) if r.key.removeprefix(stem) in wanted)

        def commit(values: dict[str, str]) -> str:
            entry = {key.removeprefix(stem): text for key, text in values.items()}
            return self._insert(name, position, {"kind": kind, **entry})

        title = f"New {words}: {kind}, place {position + 1}"
        self._screen.app.push_screen(TableForm(title, rows, self._screen.system, commit))

    def _insert(self, name: str, position: int, values: Mapping[str, str]) -> str:
        try:
            edit = self._screen.desk.session.insert_entry(name, position, values)
        except ScenarioError as error:
            return words_of(error)
        self._screen.changed(f"put in: {brief(edit)}", go_to=f"{name}[{position}]")
        return ""

    def double(self, row: Row | None) -> None:
        """Put a copy of the entry under the cursor behind it."""
        at = entry_at(row)
        if at is None:
            self._screen.say("put the cursor on a leg or a duct part first")
            return
        name, place = at
        stem = f"{name}[{place}]."
        texts = self._screen.desk.session.texts
        values = {k.removeprefix(stem): v for k, v in texts.items() if k.startswith(stem)}
        refused = self._insert(name, place + 1, values)
        if refused:
            self._screen.say(f"XX not doubled: {refused}")

    def remove(self, row: Row | None) -> None:
        """Take the entry or optional table under the cursor out; undo brings it back."""
        if row is None or not row.removable:
            self._screen.say(NOWHERE)
            return
        session = self._screen.desk.session
        at = entry_at(row)
        try:
            edit = session.edit(row.removable, "") if at is None else session.remove_entry(*at)
        except ScenarioError as error:
            self._screen.say(f"XX not taken out: {words_of(error)}")
        else:
            self._screen.changed(f"taken out, ctrl+z brings it back: {brief(edit)}")

    def add_table(self, row: Row) -> None:
        """Ask for the inputs of an optional table and put it in."""
        rows = blank_rows(row.key)

        def commit(values: dict[str, str]) -> str:
            given = values or {r.key: r.text for r in rows if r.text}
            try:
                edit = self._screen.desk.session.edit_many(given)
            except ScenarioError as error:
                return words_of(error)
            self._screen.changed(f"put in: {brief(edit)}", go_to=row.key)
            return ""

        title = f"New: {row.group}, {row.label}. {row.help}"
        self._screen.app.push_screen(TableForm(title, rows, self._screen.system, commit))
