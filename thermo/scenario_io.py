"""Scenario files: read and checked as a whole, changed with comments kept, saved atomically."""

from __future__ import annotations

import contextlib
import os
import stat
import sys
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path as FilePath
from typing import Any

import tomlkit
from pydantic import ValidationError
from tomlkit.exceptions import TOMLKitError

from thermo import scenario_edit
from thermo.doubt_entries import entries_of
from thermo.errors import Problem, ScenarioError, SoakboxError
from thermo.fields import Quantity
from thermo.quantity_text import printable, show_object
from thermo.scenario import Scenario
from thermo.scenario_problems import located, problems_of
from thermo.toml_text import MAX_BYTES, line_of, lines_of, parse_toml
from thermo.whole_file import write_whole

if sys.platform != "win32":
    import fcntl

SCHEMA = 1
"""Number of the file format that is read and written."""

LOCK_WAIT = 5.0
"""Longest wait for another Soakbox that saves into the same folder [s]."""


class ScenarioFileError(SoakboxError):
    """A scenario file cannot be written."""


@dataclass(frozen=True)
class LoadedScenario:
    """A scenario with the text it came from.

    Attributes
    ----------
    scenario : Scenario
        The checked inputs.
    source : str
        File name or another word for where the text came from, safe to print.
    text : str
        The text as read.
    path : pathlib.Path or None
        The file, when there is one.
    overrides : tuple of str
        KEY=VALUE texts that were applied on top of the text.
    """

    scenario: Scenario
    source: str
    text: str
    path: FilePath | None = None
    overrides: tuple[str, ...] = ()

    @cached_property
    def document(self) -> tomlkit.TOMLDocument:
        """The text with its overrides as a document that keeps comments, for :func:`save`."""
        try:
            document = tomlkit.parse(self.text)
        except TOMLKitError as error:
            raise ScenarioFileError(
                f"{self.source}: cannot be edited with its comments kept"
                f" ({printable(str(error), 200)})"
            ) from None
        for text in self.overrides:
            set_value(document, *scenario_edit.split_override(text))
        return document


def read_scenario(
    path: str | os.PathLike[str], overrides: Iterable[str] = ()
) -> LoadedScenario:
    """Read and check a scenario file; every problem in it is reported at once.

    Parameters
    ----------
    path : str or path-like
        The file.
    overrides : iterable of str
        KEY=VALUE texts applied on top of it, such as ``tank.volume=9 gal``.

    Returns
    -------
    LoadedScenario
        The checked scenario and its text.

    Raises
    ------
    ScenarioError
        The file cannot be read, is no TOML, or does not hold a scenario.
    """
    source = printable(os.fspath(path), 300)
    text = _read_text(os.fspath(path), source)
    return from_text(text, source, overrides, FilePath(path))


def from_text(
    text: str,
    source: str = "text",
    overrides: Iterable[str] = (),
    path: FilePath | None = None,
) -> LoadedScenario:
    """Check the text of a scenario file.

    Parameters
    ----------
    text : str
        TOML text.
    source : str
        Where it comes from, for messages.
    overrides : iterable of str
        KEY=VALUE texts applied on top of it.
    path : pathlib.Path or None
        The file it was read from, to be kept in the result.

    Returns
    -------
    LoadedScenario
        The checked scenario and its text.

    Raises
    ------
    ScenarioError
        The text is no TOML or does not hold a scenario; carries every problem found.
    """
    given = tuple(overrides)
    if not text.strip():
        raise ScenarioError(source, [Problem("", "", "the file is empty")])
    raw = parse_toml(text, source)
    placed, problems = scenario_edit.apply_overrides(raw, given, Scenario)
    problems += _schema_problems(raw, text, source)
    try:
        scenario = Scenario.model_validate(raw)
    except ValidationError as error:
        found = problems_of(error, raw, Scenario, text, placed)
        problems += [p for p in found if p.key != "schema"]
    else:
        lines = lines_of(text) if scenario.doubt else {}
        problems += [located(p, at, lines, placed) for at, p in entries_of(scenario)[1]]
    if problems:
        raise ScenarioError(source, problems)
    return LoadedScenario(scenario, source, text, path, given)


def set_value(document: tomlkit.TOMLDocument, key: str, text: str) -> None:
    """Set one input in a document, keeping its comments, order and spacing.

    Parameters
    ----------
    document : TOMLDocument
        Changed in place.
    key : str
        Dotted key, such as ``tank.volume``, ``leg[1].duration`` or ``leg[pass].distance``.
    text : str
        The value as typed; a quantity stays as its text.

    Raises
    ------
    ScenarioError
        There is no such key, or no such entry in the document.
    """
    scenario_edit.set_value(document, key, text, Scenario)


def remove_value(document: tomlkit.TOMLDocument, key: str) -> None:
    """Take one input out of a document, so that its default holds again.

    Parameters
    ----------
    document : TOMLDocument
        Changed in place; a key that is not in it is no error.
    key : str
        Dotted key.

    Raises
    ------
    ScenarioError
        The key leads through a value or to an entry that is not there.
    """
    scenario_edit.remove_value(document, key, Scenario)


def to_toml(document: tomlkit.TOMLDocument) -> str:
    """Write a document as TOML text.

    Parameters
    ----------
    document : TOMLDocument
        From :attr:`LoadedScenario.document`.

    Returns
    -------
    str
        The text, comments included.
    """
    return tomlkit.dumps(document)


def save(
    path: str | os.PathLike[str], document: tomlkit.TOMLDocument, expected: str | None = None
) -> None:
    """Save a document so that the file holds either the old text or the whole new one.

    The text goes to a file beside the target and takes its place in one step; a link is followed
    to the file it points at, and an existing file keeps its permissions.

    Parameters
    ----------
    path : str or path-like
        The file.
    document : TOMLDocument
        What to save.
    expected : str or None
        Text the file must still hold, as read earlier; None to write whatever is there.

    Raises
    ------
    ScenarioFileError
        The file cannot be written, or no longer holds `expected`; it is as it was.
    """
    shown = printable(os.fspath(path), 300)
    try:
        target = os.path.realpath(path)
        mode = _mode_of(target, shown)
        with _alone_in(os.path.dirname(target)):
            if expected is not None:
                _require_unchanged(target, expected, shown)
            write_whole(target, to_toml(document).encode("utf-8"), mode=mode, forced=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or printable(str(error), 200)
        raise ScenarioFileError(f"{shown}: not saved: {reason}") from None


def json_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a scenario file, for editors.

    Returns
    -------
    dict
        The schema. Defaults are written as they would be in the file, with their unit.
    """
    schema = _for_toml(Scenario.model_json_schema(by_alias=True))
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Soakbox scenario",
    }


def _read_text(path: str, source: str) -> str:
    """Read a regular file of UTF-8 text within the size limit."""
    try:
        mode = os.stat(path).st_mode
        if stat.S_ISDIR(mode):
            raise _unreadable(source, "this is a folder; a scenario file is expected")
        if not stat.S_ISREG(mode):
            raise _unreadable(source, "this is not a regular file")
        with open(path, "rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        raise _unreadable(source, "there is no such file") from None
    except OSError as error:
        raise _unreadable(source, f"cannot be read: {error.strerror}") from None
    except ValueError:
        raise _unreadable(source, "this is not the name of a file") from None
    if len(data) > MAX_BYTES:
        raise _unreadable(source, f"a scenario of at most {MAX_BYTES // 1000} kB is expected")
    if b"\0" in data:
        raise _unreadable(source, "text in UTF-8 is expected, this is binary or UTF-16")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise _unreadable(source, "text in UTF-8 is expected", line) from None


def _unreadable(source: str, reason: str, line: int | None = None) -> ScenarioError:
    return ScenarioError(source, [Problem("", "", reason, line)])


def _schema_problems(raw: dict[str, Any], text: str, source: str) -> list[Problem]:
    """Check the number of the file format; a newer one makes every other message moot."""
    given = raw.get("schema")
    if type(given) is int and given == SCHEMA:
        return []
    shown = show_object(given) if "schema" in raw else ""
    line = line_of(lines_of(text), ("schema",))
    problem = Problem(
        "schema", shown, f"schema = {SCHEMA} is required at the top, the format read here", line
    )
    if type(given) is int:
        raise ScenarioError(source, [problem])
    return [problem]


def _mode_of(target: str, shown: str) -> int | None:
    """Return the permissions the saved file must keep, or None for a new one."""
    try:
        mode = os.stat(target).st_mode
    except FileNotFoundError:
        return None
    if not stat.S_ISREG(mode):
        raise ScenarioFileError(f"{shown}: not saved: this is not a regular file")
    if not os.access(target, os.W_OK):
        raise ScenarioFileError(f"{shown}: not saved: the file is read-only")
    return stat.S_IMODE(mode)


def _require_unchanged(target: str, expected: str, shown: str) -> None:
    try:
        with open(target, "rb") as file:
            data = file.read(MAX_BYTES + 1)
    except FileNotFoundError:
        return
    if data.removeprefix(b"\xef\xbb\xbf") != expected.encode("utf-8"):
        raise ScenarioFileError(f"{shown}: not saved: the file was changed since it was read")


@contextlib.contextmanager
def _alone_in(folder: str) -> Iterator[None]:
    """Let no other Soakbox save into a folder between the look at a file and its replacement.

    Where folders cannot be locked, as on Windows and some shares, or one is held for over
    `LOCK_WAIT`, two that save in the same moment are not told apart.
    """
    if sys.platform == "win32":
        yield
        return
    handle = -1
    end = time.monotonic() + LOCK_WAIT
    try:
        with contextlib.suppress(OSError):
            handle = os.open(folder, os.O_RDONLY)
            while True:
                try:
                    fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                    break
                except BlockingIOError:
                    if time.monotonic() > end:
                        break
                    time.sleep(0.01)
        yield
    finally:
        if handle >= 0:
            os.close(handle)


def _for_toml(schema: Any) -> Any:
    """Rewrite a JSON Schema for TOML: no null, defaults as text with unit, none for tables."""
    if isinstance(schema, list):
        return [_for_toml(item) for item in schema]
    if not isinstance(schema, dict):
        return schema
    changed = {key: _for_toml(value) for key, value in schema.items()}
    options = changed.get("anyOf")
    if isinstance(options, list) and {"type": "null"} in options:
        kept = [option for option in options if option != {"type": "null"}]
        changed.pop("anyOf")
        changed = {**kept[0], **changed} if len(kept) == 1 else {**changed, "anyOf": kept}
    if "default" not in changed:
        return changed
    default = changed["default"]
    if default is None or isinstance(default, dict):
        changed.pop("default")
    elif "x-kind" in changed and changed.get("type") == "string":
        field = Quantity(changed["x-kind"], changed["x-low"], changed["x-high"])
        changed["default"] = field.format(default, digits=6)
    return changed
