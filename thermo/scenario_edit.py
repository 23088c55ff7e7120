"""Single inputs changed by dotted key: in the tables just read, or in the text to be saved."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Callable, Iterable
from typing import Any

import tomlkit
from pydantic import BaseModel
from tomlkit.exceptions import TOMLKitError

from thermo.errors import Problem, ScenarioError
from thermo.keys import annotation_at, is_list, key_of, known_names, options_of, path_of
from thermo.quantity_text import printable, quoted
from thermo.scenario_problems import nearest
from thermo.toml_text import Path

MAX_OVERRIDE = 2000
"""Longest accepted KEY=VALUE text [characters]."""


def typed_value(text: str, annotation: object) -> Any:
    """Read what a person typed for one input as a TOML value, or keep it as text.

    Parameters
    ----------
    text : str
        Such as ``0.9``, ``true``, ``9 gal`` or ``[["0 L/min", "9 m"], ["40 L/min", "5 m"]]``.
    annotation : object
        Type of the input, as :func:`thermo.fields.annotation_at` returns it; where it is text,
        nothing but text is made of what was typed.

    Returns
    -------
    object
        A number, truth value, list, table or text.
    """
    bare = text.strip()
    if not bare.isprintable():
        return bare
    try:
        value = tomllib.loads(f"value = {bare}")["value"]
    except (ValueError, RecursionError):  # not TOML, too many digits, too deep: it is text
        return bare
    if isinstance(value, (datetime.date, datetime.time)):
        return bare
    if _is_text(annotation) and not isinstance(value, str):
        return bare
    return value


def apply_overrides(
    raw: dict[str, Any], overrides: Iterable[str], model: type[BaseModel]
) -> tuple[dict[Path, str], list[Problem]]:
    """Put each KEY=VALUE into the tables just read, before they are validated.

    Parameters
    ----------
    raw : dict
        Tables as read; changed in place.
    overrides : iterable of str
        Such as ``tank.volume=9 gal`` or ``leg[pass].distance=3 km``.
    model : type
        The model the tables will be validated against.

    Returns
    -------
    tuple of (dict, list)
        Path to the text as given, for those that could be placed; a problem for each other one.
    """
    placed: dict[Path, str] = {}
    problems: list[Problem] = []
    for text in overrides:
        given = f"--set {printable(text, 120)}"
        try:
            key, value = split_override(text)
            path = put(raw, path_of(key), value, model, dict)
        except ValueError as error:
            problems.append(Problem("", given, str(error)))
        else:
            placed[path] = text
    return placed, problems


def split_override(text: str) -> tuple[str, str]:
    """Split KEY=VALUE.

    Parameters
    ----------
    text : str
        The text of one override.

    Returns
    -------
    tuple of (str, str)
        Key and value as typed.

    Raises
    ------
    ValueError
        There is no '=' in it, or it is too long.
    """
    if len(text) > MAX_OVERRIDE:
        raise ValueError(f"at most {MAX_OVERRIDE} characters are expected")
    key, equals, value = text.partition("=")
    if not equals or not key.strip():
        raise ValueError("KEY=VALUE is expected, such as tank.volume='9 gal'")
    return key.strip(), value


def put(
    root: Any, path: Path, text: str, model: type[BaseModel], make_table: Callable[[], Any]
) -> Path:
    """Put a typed value at a path, making tables that are missing on the way.

    Parameters
    ----------
    root : mapping
        Plain tables, or a document that keeps comments.
    path : tuple of (str or int)
        Where; an entry of a list by its place from 0 or by its name.
    text : str
        The value as typed.
    model : type
        The model, for the type of the input.
    make_table : callable
        Makes an empty table.

    Returns
    -------
    tuple of (str or int)
        The path with places in place of names.

    Raises
    ------
    ValueError
        The path leads through a value, to a table, or to an entry that is not there.
    """
    if known_names(annotation_at(model, path)):
        raise ValueError(f"{key_of(path)} is a table: set the keys in it one by one")
    holder, name, full = _descend(root, path, model, make_table)
    holder[name] = typed_value(text, annotation_at(model, full))
    return full


def set_value(
    document: tomlkit.TOMLDocument, key: str, text: str, model: type[BaseModel]
) -> None:
    """Set one input in a document, keeping its comments, order and spacing.

    Parameters
    ----------
    document : TOMLDocument
        Changed in place.
    key : str
        Dotted key, such as ``tank.volume`` or ``leg[1].duration``.
    text : str
        The value as typed; a quantity stays as its text.
    model : type
        The model, for the type of the input.

    Raises
    ------
    ScenarioError
        There is no such key in the model, or no such entry in the document.
    """
    try:
        path = path_of(key)
        if annotation_at(model, path) is None:
            raise ValueError(_unknown_key(model, path))
        put(document, path, text, model, tomlkit.table)
    except (ValueError, TOMLKitError) as error:
        raise _edit_error(key, text, error) from None


def remove_value(
    document: tomlkit.TOMLDocument, key: str, model: type[BaseModel]
) -> None:
    """Take one input out of a document, so that its default holds again.

    Parameters
    ----------
    document : TOMLDocument
        Changed in place; a key that is not in it is no error.
    key : str
        Dotted key.
    model : type
        The model, for where lists are.

    Raises
    ------
    ScenarioError
        The key leads through a value or to an entry that is not there.
    """
    try:
        holder, name, _ = _descend(document, path_of(key), model, None)
        if isinstance(holder, list):
            raise ValueError("an entry of a list cannot be taken out by itself")
        holder.pop(name, None)
    except (ValueError, TOMLKitError) as error:
        raise _edit_error(key, "", error) from None


def _descend(
    root: Any, path: Path, model: type[BaseModel], make_table: Callable[[], Any] | None
) -> tuple[Any, str | int, Path]:
    """Go to the table or list that holds the last part of the path.

    A missing table is made in place; without `make_table` an empty one stands in for it.
    """
    here = root
    full: list[str | int] = []
    for position, part in enumerate(path):
        last = position == len(path) - 1
        if isinstance(here, dict):
            step: str | int = str(part)
            if not last and step not in here:
                if make_table is None:
                    return {}, path[-1], path
                _refuse_missing_list(path, (*full, step), model)
                here[step] = make_table()
        elif isinstance(here, list):
            step = _place(here, part, key_of(tuple(full)))
        else:
            raise ValueError(f"{key_of(tuple(full))} is a value, not a table")
        full.append(step)
        if last:
            return here, step, tuple(full)
        here = here[step]
    raise ValueError("a key is expected")


def _refuse_missing_list(path: Path, missing: Path, model: type[BaseModel]) -> None:
    """Refuse a path that needs a table made here and then an entry of a list that is not there."""
    for end in range(len(missing), len(path)):
        if isinstance(path[end], int) or is_list(annotation_at(model, path[:end])):
            raise ValueError(f"there is no list {key_of(path[:end])} to set an entry of")


def _place(entries: list[Any], part: str | int, key: str) -> int:
    """Find an entry by its place or by its name, or its kind when it has no name."""
    labels = [
        str(e.get("name") or e.get("kind") or "") if isinstance(e, dict) else "" for e in entries
    ]
    if isinstance(part, int) and part < len(entries):
        return part
    found = [i for i, label in enumerate(labels) if label.casefold() == str(part).casefold()]
    if len(found) == 1:
        return found[0]
    there = ", ".join(
        f"{key}[{i}] {printable(label)}".rstrip() for i, label in enumerate(labels[:20])
    )
    reason = f"{len(found)} entries are" if found else "no entry is"
    raise ValueError(f"{reason} called {quoted(str(part))}; there are {there or 'none'}")


def _unknown_key(model: type[BaseModel], path: Path) -> str:
    known = known_names(annotation_at(model, path[:-1])) if len(path) > 1 else known_names(model)
    near = nearest(str(path[-1]), known)
    return "no such key" + (f": did you mean {near}?" if near else "")


def _edit_error(key: str, text: str, error: Exception) -> ScenarioError:
    given = quoted(text) if text else ""
    return ScenarioError("edit", [Problem(printable(key), given, printable(str(error), 300))])


def _is_text(annotation: Any) -> bool:
    """Return whether an input holds text and nothing else."""
    return all(option is str for option in options_of(annotation))
