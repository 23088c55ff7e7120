"""The file of an open scenario: what it held last, whether it was changed outside, saving to it."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Literal

import tomlkit

from thermo import scenario_io
from thermo.quantity_text import printable
from thermo.scenario_io import ScenarioFileError
from thermo.toml_text import MAX_BYTES, parse_toml
from tui.edits import State


class SaveRefusedError(ScenarioFileError):
    """Saving would lose something, or there is no name to save under; nothing was written.

    Parameters
    ----------
    reason : {"no-name", "changed", "exists"}
        There is no file yet; the file was changed since it was read; another file is there.
    message : str
        The same in words.
    """

    def __init__(self, reason: Literal["no-name", "changed", "exists"], message: str) -> None:
        self.reason = reason
        super().__init__(message)


class ScenarioFile:
    """Where a scenario is saved.

    Parameters
    ----------
    path : path-like or None
        The file; None while there is none.
    name : str
        What to call the scenario while it has no file.

    Attributes
    ----------
    path : pathlib.Path or None
        The file, absolute.
    text : str
        What it held when it was last read or written.
    tables : mapping
        The same as plain tables.
    """

    def __init__(self, path: str | os.PathLike[str] | None, name: str) -> None:
        self.path = None if path is None else absolute(path)
        self._name = name
        self.text = ""
        self.tables: Mapping[str, Any] = {}

    @property
    def name(self) -> str:
        """Name of the file, or what the text without a file is called; safe to print."""
        return printable(self._name if self.path is None else self.path.name, 120)

    def hold(self, text: str, state: State) -> None:
        """Take a text as what the file holds.

        Parameters
        ----------
        text : str
        state : State
            The present state of the scenario; its tables serve when its text is that one.

        Raises
        ------
        ScenarioError
            The text is not TOML.
        """
        self.text = text
        self.tables = state.tables if text == state.text else parse_toml(text, self.name)

    def changed_outside(self) -> bool:
        """Return whether the file holds something else than when it was last read or written.

        A file that is gone or cannot be read counts as unchanged: nothing of it can be lost.
        """
        if self.path is None:
            return False
        try:
            with open(self.path, "rb") as file:
                data = file.read(MAX_BYTES + 1)
        except OSError:
            return False
        return data.removeprefix(b"\xef\xbb\xbf") != self.text.encode("utf-8")

    def save(
        self, document: tomlkit.TOMLDocument, path: str | os.PathLike[str] | None, force: bool
    ) -> None:
        """Save, whole or not at all; what was there before stays when anything goes wrong.

        Parameters
        ----------
        document : TOMLDocument
        path : path-like or None
            The file, which becomes this one; None for the one there is.
        force : bool
            Whether to write over a file that was changed meanwhile, or over another file.

        Raises
        ------
        SaveRefusedError
            There is no name, or something would be written over without `force`.
        ScenarioFileError
            The file cannot be written.
        """
        target = self.path if path is None else absolute(path)
        if target is None:
            raise SaveRefusedError("no-name", "this scenario has no file yet: give it a name")
        own = self.path is not None and os.path.realpath(target) == os.path.realpath(self.path)
        shown = printable(os.fspath(target), 300)
        if not force and own and self.changed_outside():
            raise SaveRefusedError(
                "changed", f"{shown}: not saved: the file was changed since it was read"
            )
        if not force and not own and os.path.lexists(target):
            raise SaveRefusedError("exists", f"{shown}: not saved: there is such a file already")
        expected = None if force else self.text if own else ""
        scenario_io.save(target, document, expected)
        self.path = target


def absolute(path: str | os.PathLike[str]) -> Path:
    """Return a path in full; a leading ``~`` is the home folder."""
    return Path(os.path.abspath(os.path.expanduser(os.fspath(path))))
