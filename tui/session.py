"""The open scenario and its edits: every state is a valid scenario, and every step can be undone.

A state is the text of the file as it would be saved. An edit changes one or more inputs in that
text with comments, order and the user's own units kept, checks the scenario as a whole, and only
then becomes the new state.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Callable, Mapping
from pathlib import Path as FilePath
from typing import Any

import tomlkit

from thermo import scenario_io
from thermo.errors import Problem, ScenarioError
from thermo.keys import key_of
from thermo.scenario import Scenario
from thermo.toml_text import Path
from tui import entries, fieldlist, toml_values
from tui.edits import Edit, State, document_of, entry_text, for_keys, path_at, put, value_at
from tui.fieldlist import Row
from tui.scenario_file import SaveRefusedError, ScenarioFile, absolute
from tui.steps import Steps


class Session:
    """One open scenario.

    Parameters
    ----------
    text : str
        TOML text of the scenario.
    path : path-like or None
        Its file; None for a text that is not saved anywhere yet.
    name : str
        What to call it while it has no file.
    saved_text : str or None
        What the file held when it was read, when `text` differs from it.

    Raises
    ------
    ScenarioError
        The text does not hold a scenario; carries every problem found.

    Attributes
    ----------
    watchers : list of callable
        Each is called with the session after every change of its text, its file or its saved
        state.
    """

    def __init__(
        self,
        text: str,
        path: str | os.PathLike[str] | None = None,
        name: str = "untitled",
        saved_text: str | None = None,
    ) -> None:
        self._file = ScenarioFile(path, name)
        self._steps = Steps(self._checked(text))
        self._file.hold(text if saved_text is None else saved_text, self._steps.state)
        self.watchers: list[Callable[[Session], None]] = []

    @classmethod
    def open(cls, path: str | os.PathLike[str]) -> Session:
        """Open a scenario file.

        Parameters
        ----------
        path : str or path-like
            The file; a leading ``~`` is the home folder.

        Returns
        -------
        Session

        Raises
        ------
        ScenarioError
            The file cannot be read or does not hold a scenario.
        """
        full = absolute(path)
        return cls(scenario_io.read_scenario(full).text, full)

    @property
    def scenario(self) -> Scenario:
        """The inputs of the present state, checked, in SI."""
        return self._steps.state.scenario

    @property
    def text(self) -> str:
        """The present state as it would be saved."""
        return self._steps.state.text

    @property
    def document(self) -> tomlkit.TOMLDocument:
        """The present state as a document that keeps comments; a fresh copy each time."""
        return document_of(self._steps.state.text)

    @property
    def tables(self) -> Mapping[str, Any]:
        """The present state as plain tables, to be read only."""
        return self._steps.state.tables

    @property
    def texts(self) -> Mapping[str, str]:
        """Text as typed of each input that is in the file, by dotted key."""
        return self._steps.state.texts

    @property
    def rows(self) -> tuple[Row, ...]:
        """One row for each input that applies, for the form."""
        return self._steps.state.rows

    @property
    def path(self) -> FilePath | None:
        """The file, absolute; None while there is none."""
        return self._file.path

    @property
    def name(self) -> str:
        """Name of the file, or what the text without a file is called; safe to print."""
        return self._file.name

    @property
    def saved_text(self) -> str:
        """What the file held when it was last read or written."""
        return self._file.text

    @property
    def dirty(self) -> bool:
        """Whether there is anything to save."""
        return self.text != self._file.text

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to undo."""
        return self._steps.can_undo

    @property
    def can_redo(self) -> bool:
        """Whether there is an undone step to do again."""
        return self._steps.can_redo

    def row(self, key: str) -> Row | None:
        """Return the row of one input: its text as typed, or its default with ``given`` False.

        Parameters
        ----------
        key : str
            Dotted key, with places in lists as ``[1]`` or ``.1``.

        Returns
        -------
        Row or None
            None when the input is not in the form.
        """
        return fieldlist.find(self._steps.state.rows, key)

    def edit(self, key: str, text: str) -> Edit:
        """Set one input, or take it out of the file so that its default holds.

        Parameters
        ----------
        key : str
            Dotted key. An optional table, such as ``coolant.thermostat``, can be taken out whole.
        text : str
            The value as typed; nothing but spaces takes the input out.

        Returns
        -------
        Edit
            What changed; nothing when the text is the one already there.

        Raises
        ------
        ScenarioError
            The value is not accepted, for this input or for the scenario as a whole; the last
            valid state stays.
        """
        return self.edit_many({key: text})

    def edit_many(self, changes: Mapping[str, str]) -> Edit:
        """Set several inputs that are only valid together, in one step.

        Parameters
        ----------
        changes : mapping of str to str
            Dotted key to text as typed, as for :meth:`edit`.

        Returns
        -------
        Edit
            What changed.

        Raises
        ------
        ScenarioError
            As for :meth:`edit`; nothing was changed.
        """
        document = self.document
        for key, typed in changes.items():
            put(document, key, typed, self.texts)
        text = toml_values.spaced(self.text, scenario_io.to_toml(document))
        wanted: dict[Path, Any] = {(n,): table for n, table in document.unwrap().items()}
        return self._commit(text, wanted, tuple(changes))

    def insert_entry(self, key: str, position: int, values: Mapping[str, str]) -> Edit:
        """Put a new entry into a list of tables.

        Parameters
        ----------
        key : str
            The list: ``leg`` or ``intake.part``.
        position : int
            Place it shall have, from 0; as many as there are to add it at the end.
        values : mapping of str to str
            Name of each input of the entry to its text as typed.

        Returns
        -------
        Edit
            What changed.

        Raises
        ------
        ScenarioError
            The entry is not accepted; nothing was changed.
        """
        where = path_at(key)
        known = list(value_at(self.tables, where) or ())
        body = entry_text(where, values)
        text = entries.with_entry(self.text, where, position, len(known), body)
        known.insert(position, tomllib.loads(body))
        return self._commit(text, {where: known}, (key_of((*where, position)),))

    def remove_entry(self, key: str, position: int) -> Edit:
        """Take an entry out of a list of tables.

        Parameters
        ----------
        key : str
            The list: ``leg`` or ``intake.part``.
        position : int
            The entry, from 0.

        Returns
        -------
        Edit
            What changed.

        Raises
        ------
        ScenarioError
            There is no such entry, or the scenario is not valid without it.
        """
        where = path_at(key)
        text = entries.without_entry(self.text, where, position)
        known = list(value_at(self.tables, where))
        del known[position]
        return self._commit(text, {where: known}, (key_of((*where, position)),))

    def undo(self) -> Edit | None:
        """Go back one step.

        Returns
        -------
        Edit or None
            The step that was undone; None when there is none.
        """
        edit = self._steps.undo()
        if edit is not None:
            self._tell()
        return edit

    def redo(self) -> Edit | None:
        """Do the step again that was undone last.

        Returns
        -------
        Edit or None
            The step; None when there is none.
        """
        edit = self._steps.redo()
        if edit is not None:
            self._tell()
        return edit

    def changed_keys(self) -> tuple[str, ...]:
        """Return the keys of all inputs that differ from the file as last read or written."""
        return toml_values.changed_keys(self._file.tables, self.tables)

    def changed_on_disk(self) -> bool:
        """Return whether the file holds something else than when it was last read or written.

        A file that is gone or cannot be read counts as unchanged: nothing of it can be lost.
        """
        return self._file.changed_outside()

    def reload(self) -> Edit:
        """Read the file again; unsaved edits can be brought back with :meth:`undo`.

        Returns
        -------
        Edit
            What changed.

        Raises
        ------
        ScenarioError
            The file cannot be read or is not valid now; the last valid state stays.
        SaveRefusedError
            There is no file.
        """
        if self.path is None:
            raise SaveRefusedError("no-name", "there is no file yet to read again")
        loaded = scenario_io.read_scenario(self.path)
        edit = self._steps.go(State(loaded))
        self._file.hold(loaded.text, self._steps.state)
        self._tell()
        return edit

    def replace(self, text: str) -> Edit:
        """Put another text in place of the whole, in one step.

        Parameters
        ----------
        text : str

        Returns
        -------
        Edit
            What changed.

        Raises
        ------
        ScenarioError
            The text does not hold a scenario; nothing was changed.
        """
        return self._go(self._checked(text))

    def save(self, path: str | os.PathLike[str] | None = None, *, force: bool = False) -> None:
        """Save, whole or not at all; what was there before stays when anything goes wrong.

        Parameters
        ----------
        path : str or path-like or None
            The file, which becomes the session's own; None for the one it has.
        force : bool
            Whether to write over a file that was changed meanwhile, or over another file.

        Raises
        ------
        SaveRefusedError
            There is no name, or something would be written over without `force`.
        ScenarioFileError
            The file cannot be written.
        """
        self._file.save(self.document, path, force)
        self._file.hold(self.text, self._steps.state)
        self._tell()

    def _checked(self, text: str) -> State:
        return State(scenario_io.from_text(text, self.name, (), self.path))

    def _commit(self, text: str, wanted: Mapping[Path, Any], keys: tuple[str, ...]) -> Edit:
        """Make a text the new state if it holds a scenario and reads as wanted at these paths."""
        if text == self.text:
            return Edit(())
        try:
            state = self._checked(text)
        except ScenarioError as error:
            raise for_keys(error, keys) from None
        if any((value_at(state.tables, path) or []) != (value or [])
               for path, value in wanted.items()):
            raise ScenarioError("edit", [Problem(
                keys[0], "", "the layout of this file does not let this be changed here;"
                " change it in the file",
            )])
        return self._go(state)

    def _go(self, state: State) -> Edit:
        before = self.text
        edit = self._steps.go(state)
        if self.text != before:  # which a comment alone does as well
            self._tell()
        return edit

    def _tell(self) -> None:
        for watcher in tuple(self.watchers):
            watcher(self)
