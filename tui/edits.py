"""One edit of a scenario's text: what it changes, how it is put in, why it is refused."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import tomlkit
import tomlkit.items
from tomlkit.exceptions import TOMLKitError

from thermo import scenario_io
from thermo.errors import Problem, ScenarioError
from thermo.keys import annotation_at, key_of, path_of
from thermo.quantity_text import printable
from thermo.scenario import Scenario
from thermo.scenario_edit import typed_value
from thermo.scenario_io import LoadedScenario
from thermo.toml_text import Path
from tui import fieldlist, toml_values
from tui.field_model import is_optional
from tui.fieldlist import Row


@dataclass(frozen=True, slots=True)
class Change:
    """One input before and after an edit.

    Attributes
    ----------
    key : str
        Dotted key.
    before, after : str or None
        The text in the file; None where the input is not in it and its default holds.
    """

    key: str
    before: str | None
    after: str | None

    def __str__(self) -> str:
        before = "default" if self.before is None else self.before
        after = "default" if self.after is None else self.after
        return f"{self.key}: {before} -> {after}"


@dataclass(frozen=True, slots=True)
class Edit:
    """One step: what it changed; empty when the text stayed as it was."""

    changes: tuple[Change, ...]

    @property
    def changed(self) -> bool:
        """Whether anything changed."""
        return bool(self.changes)

    def __str__(self) -> str:
        return "; ".join(str(change) for change in self.changes)


class State:
    """A valid scenario and its text; rows and tables are made when asked for.

    Parameters
    ----------
    loaded : LoadedScenario
        The checked text.

    Raises
    ------
    ScenarioError
        The text cannot be edited with its comments kept.

    Attributes
    ----------
    text : str
        TOML text.
    scenario : Scenario
        The checked inputs.
    texts : dict
        Text as typed of each value in it, by dotted key.
    """

    def __init__(self, loaded: LoadedScenario) -> None:
        self.text = loaded.text
        self.scenario = loaded.scenario
        self.texts = toml_values.texts_of(document_of(loaded.text))

    @cached_property
    def tables(self) -> dict[str, Any]:
        """The text as plain tables."""
        return tomllib.loads(self.text)

    @cached_property
    def rows(self) -> tuple[Row, ...]:
        """The rows of the form."""
        return fieldlist.rows(self.tables, self.texts)


def edit_between(before: State, after: State) -> Edit:
    """Return what differs between two states.

    Parameters
    ----------
    before, after : State
        Two states.

    Returns
    -------
    Edit
        Values that differ, and then those that are only written in another way.
    """
    old, new = before.texts, after.texts
    keys = toml_values.changed_keys(before.tables, after.tables)
    respelt = [k for k in new if k not in keys and old.get(k, new[k]) != new[k]]
    return Edit(tuple(Change(k, old.get(k), new.get(k)) for k in (*keys, *respelt)))


def words_of(error: ScenarioError, key: str = "") -> str:
    """Put a refused edit into words for the line under the input.

    Parameters
    ----------
    error : ScenarioError
        From :meth:`Session.edit`.
    key : str
        The input; problems of other inputs are shown with their key.

    Returns
    -------
    str
        One line.
    """
    parts = []
    for problem in error.problems:
        other = f"{problem.key}: " if problem.key and not fieldlist.same(problem.key, key) else ""
        given = f"given {problem.given}; " if problem.given else ""
        hint = f" Did you mean {problem.suggestion}?" if problem.suggestion else ""
        parts.append(f"{other}{given}{problem.allowed}.{hint}")
    return " ".join(parts)


def put(document: tomlkit.TOMLDocument, key: str, typed: str, texts: Mapping[str, str]) -> None:
    """Set or take out one input of a document, unless its text is the one already there.

    Parameters
    ----------
    document : TOMLDocument
        Changed in place.
    key : str
        Dotted key.
    typed : str
        As typed; nothing but spaces takes the input out, and its table too when that is left
        empty, unless the table's being there switches something on.
    texts : mapping of str to str
        Text of each value in the document, by dotted key.

    Raises
    ------
    ScenarioError
        There is no such key or entry, or the text cannot be saved.
    """
    path = path_at(key)
    ready = _ready(key, path, typed)
    if ready == texts.get(key_of(path)):
        return
    if ready:
        scenario_io.set_value(document, key, ready)
    else:
        scenario_io.remove_value(document, key)
        _tidy(document, path[:-1])


def entry_text(where: Path, values: Mapping[str, str]) -> str:
    """Write the values of a new entry of a list as TOML.

    Parameters
    ----------
    where : tuple of (str or int)
        The list.
    values : mapping of str to str
        Name of each input to its text as typed; one of nothing but spaces is left out.

    Returns
    -------
    str
        One line for each value.

    Raises
    ------
    ScenarioError
        There is no such input.
    """
    document = tomlkit.document()
    for name, typed in values.items():
        path = (*where, 0, name)
        ready = _ready(key_of(path), path, typed)
        if ready:
            document[name] = typed_value(ready, annotation_at(Scenario, path))
    return tomlkit.dumps(document)


def _ready(key: str, path: Path, typed: str) -> str:
    """Check that there is such an input and make ready what was typed for it."""
    annotation = annotation_at(Scenario, path)
    if annotation is None:
        scenario_io.set_value(tomlkit.document(), key, typed)  # says which key may be meant
    try:
        typed.encode("utf-8")
    except UnicodeEncodeError:
        raise _refused(key, "characters that cannot be saved as UTF-8 are not accepted") from None
    return toml_values.as_toml(typed, annotation)


def _tidy(document: tomlkit.TOMLDocument, path: Path) -> None:
    """Take out a table that was left empty, unless its being there switches a thing on."""
    table = value_at(document, path) if path else None
    if not isinstance(table, tomlkit.items.Table) or table.as_string().strip():
        return
    if not is_optional(annotation_at(Scenario, path)):
        scenario_io.remove_value(document, key_of(path))


def for_keys(error: ScenarioError, keys: tuple[str, ...]) -> ScenarioError:
    """Keep the problems of the edited inputs if there are any; lines of unsaved text say nothing.

    What is wrong with the scenario as a whole is reported at a table above the input.

    Parameters
    ----------
    error : ScenarioError
        All problems of the edited text.
    keys : tuple of str
        What was edited.

    Returns
    -------
    ScenarioError
        To be raised in its place.
    """
    own = [p for p in error.problems if any(fieldlist.same(p.key, key) for key in keys)]
    return ScenarioError("edit", [
        Problem(p.key or keys[0], p.given, p.allowed, None, p.suggestion)
        for p in own or error.problems
    ])


def path_at(key: str) -> Path:
    """Split a dotted key.

    Parameters
    ----------
    key : str
        Such as ``leg[1].duration``.

    Returns
    -------
    tuple of (str or int)
        Its parts.

    Raises
    ------
    ScenarioError
        The text is no key.
    """
    try:
        return path_of(key)
    except ValueError as error:
        raise _refused(printable(key), str(error)) from None


def _refused(key: str, reason: str) -> ScenarioError:
    return ScenarioError("edit", [Problem(printable(key), "", reason)])


def value_at(tables: Any, path: Path) -> Any:
    """Return what stands at a path of tables; an entry of a list is not looked into.

    Parameters
    ----------
    tables : mapping
        Plain tables or a document.
    path : tuple of (str or int)
        The parts of a key.

    Returns
    -------
    object
        None when there is nothing.
    """
    for part in path:
        if not isinstance(tables, dict):
            return None
        tables = tables.get(part)
    return tables


def document_of(text: str) -> tomlkit.TOMLDocument:
    """Read TOML text as a document that keeps comments.

    Parameters
    ----------
    text : str
        The text.

    Returns
    -------
    TOMLDocument

    Raises
    ------
    ScenarioError
        The text cannot be edited that way.
    """
    try:
        return tomlkit.parse(text)
    except TOMLKitError as error:
        reason = f"this cannot be edited with its comments kept ({printable(str(error), 200)})"
        raise ScenarioError("edit", [Problem("", "", reason)]) from None
