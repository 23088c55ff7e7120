"""TOML text made safe to read: limits against hostile input, errors in words, line numbers.

A scenario is a few kilobytes written by hand. What is far beyond that is refused before or right
after parsing, so that a damaged or hostile file costs a moment and not the machine.
"""

from __future__ import annotations

import re
import tomllib
from typing import Any

from thermo.errors import Problem, ScenarioError
from thermo.quantity_text import printable, show_object

MAX_BYTES = 1_000_000
"""Largest scenario file that is read [bytes]."""
MAX_VALUES = 20_000
"""Most values in a scenario file."""
MAX_ENTRIES = 1_000
"""Most entries of one list."""
MAX_DEPTH = 10
"""Deepest nesting of tables and lists."""

_RUN = MAX_DEPTH + 6
_PART = r"(?:\"[^\"\n]*\"|'[^'\n]*'|[A-Za-z0-9_-]++)"
_LONG_KEY = re.compile(rf"(?<![A-Za-z0-9_-]){_PART}(?:[ \t]*+\.[ \t]*+{_PART}){{{_RUN}}}")
_MANY_BRACKETS = re.compile(rf"(?:[\[{{]\s*+){{{_RUN}}}")
_KEY_LINE = re.compile(rf"\s*+({_PART}(?:[ \t]*+\.[ \t]*+{_PART})*+)[ \t]*+=")
_HEADER_LINE = re.compile(
    rf"\s*+(\[\[?)[ \t]*+({_PART}(?:[ \t]*+\.[ \t]*+{_PART})*+)[ \t]*+\]"
)
_AT_LINE = re.compile(r"\s*\(at line ([0-9]+), column ([0-9]+)\)")
_PLAIN_WORDS = {
    "Cannot overwrite a value": "this key is given twice",
    "Cannot declare": "this table is given twice",
    "Cannot mutate": "this table or list was closed further up and cannot be added to",
    "Duplicate inline table key": "a key is given twice in one inline table",
    "Invalid value": "this value cannot be read: text needs quotes, such as \"28 L\"",
    "Expected '=' after a key": "expected KEY = VALUE, a [table], or a # comment",
    "Invalid statement": "expected KEY = VALUE, a [table], or a # comment",
    "Unclosed array": "a list is not closed with ]",
    "Illegal character": "text must be closed with a quote on its line and hold no control"
                         " characters",
    "Unterminated string": "text is not closed with a quote",
    "Expected newline or end of document": "only a # comment may follow a value on its line;"
                                           " a number with a unit needs quotes, such as \"28 L\"",
}

Path = tuple[str | int, ...]


def parse_toml(text: str, source: str) -> dict[str, Any]:
    """Parse TOML text within the limits of this module.

    Parameters
    ----------
    text : str
        The text.
    source : str
        Where it comes from, for the message.

    Returns
    -------
    dict
        Tables, lists and values.

    Raises
    ------
    ScenarioError
        The text is no TOML, or is too large, too deep or too long for a scenario.
    """
    if len(text) > MAX_BYTES:
        raise _refused(source, f"a scenario of at most {MAX_BYTES // 1000} kB is expected")
    for pattern in (_LONG_KEY, _MANY_BRACKETS):
        match = pattern.search(text)
        if match is not None:
            raise _too_deep(source, text.count("\n", 0, match.start()) + 1)
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _syntax_error(str(error), text, source) from None
    except RecursionError:
        raise _too_deep(source) from None
    except ValueError:  # the interpreter's limit on the digits of a whole number
        raise _refused(source, "a whole number in it has too many digits") from None
    _check_shape(raw, source)
    return raw


def lines_of(text: str) -> dict[Path, int]:
    """Find on which line each key and table of a TOML text is written.

    Parameters
    ----------
    text : str
        Text that :func:`parse_toml` accepts.

    Returns
    -------
    dict
        Path, with places in lists counted from 0, to line number from 1. What stands inside a
        list or an inline table is not in it.
    """
    found: dict[Path, int] = {}
    counts: dict[Path, int] = {}
    table: Path = ()
    state = _Open()
    for number, line in enumerate(text.split("\n"), start=1):
        if state.is_open:
            state.feed(line)
            continue
        header = _HEADER_LINE.match(line)
        if header is not None:
            names = _names(header[2])
            table = _resolve(names[:-1], counts)
            table = (*table, names[-1])
            if header[1] == "[[":
                counts[table] = counts.get(table, -1) + 1
                found.setdefault(table, number)
            if table in counts:
                table = (*table, counts[table])
            found.setdefault(table, number)
            continue
        key = _KEY_LINE.match(line)
        if key is not None:
            names = _names(key[1])
            for end in range(1, len(names) + 1):
                found.setdefault((*table, *names[:end]), number)
            state.feed(line[key.end() :])
    return found


def line_of(lines: dict[Path, int], path: Path) -> int | None:
    """Return the line of a key, or of the nearest table or list around it.

    Parameters
    ----------
    lines : dict
        From :func:`lines_of`.
    path : tuple of (str or int)
        The key.

    Returns
    -------
    int or None
        Line from 1; None when nothing around it is written in the text.
    """
    for end in range(len(path), 0, -1):
        if path[:end] in lines:
            return lines[path[:end]]
    return None


class _Open:
    """Follows whether a value goes on to the next line: brackets and long strings left open."""

    _MARK = re.compile(r'"""|\'\'\'|"(?:[^"\\]|\\.)*+"|\'[^\']*+\'|[\[\]{}#]')

    def __init__(self) -> None:
        self.depth = 0
        self.quote = ""

    @property
    def is_open(self) -> bool:
        return self.depth > 0 or bool(self.quote)

    def feed(self, line: str) -> None:
        at = 0
        while at < len(line):
            if self.quote:
                end = line.find(self.quote, at)
                if end < 0:
                    return
                at = end + 3
                self.quote = ""
                continue
            match = self._MARK.search(line, at)
            if match is None or match[0] == "#":
                return
            at = match.end()
            if match[0] in ('"""', "'''"):
                self.quote = match[0]
            elif match[0] in "[{":
                self.depth += 1
            elif match[0] in "]}":
                self.depth -= 1


def _names(dotted: str) -> tuple[str, ...]:
    return tuple(part.strip("\"'") for part in re.findall(_PART, dotted))


def _resolve(names: tuple[str, ...], counts: dict[Path, int]) -> Path:
    """Put the current place into each list of tables on the way."""
    path: Path = ()
    for name in names:
        path = (*path, name)
        if path in counts:
            path = (*path, counts[path])
    return path


def _check_shape(raw: dict[str, Any], source: str) -> None:
    """Refuse more values, longer lists or deeper nesting than a scenario has."""
    waiting: list[tuple[Any, int]] = [(raw, 0)]
    seen = 0
    while waiting:
        item, depth = waiting.pop()
        if depth > MAX_DEPTH:
            raise _too_deep(source)
        if isinstance(item, list) and len(item) > MAX_ENTRIES:
            raise _refused(source, f"lists of at most {MAX_ENTRIES} entries are expected")
        inner = item.values() if isinstance(item, dict) else item
        seen += len(inner)
        if seen > MAX_VALUES:
            raise _refused(source, f"at most {MAX_VALUES} values are expected")
        waiting.extend((value, depth + 1) for value in inner if isinstance(value, (dict, list)))


def _syntax_error(message: str, text: str, source: str) -> ScenarioError:
    """Put the parser's message into words, with the line taken out of it."""
    match = _AT_LINE.search(message)
    line = int(match[1]) if match else text.rstrip().count("\n") + 1
    bare = _AT_LINE.sub("", message).replace("(at end of document)", "").strip()
    words = next((w for start, w in _PLAIN_WORDS.items() if bare.startswith(start)), "")
    at_line = text.split("\n")[line - 1].strip() if line <= text.count("\n") + 1 else ""
    reason = words or f"this is not TOML ({printable(bare, 100)})"
    return ScenarioError(source, [Problem("", show_object(at_line), reason, line)])


def _too_deep(source: str, line: int | None = None) -> ScenarioError:
    return _refused(source, f"tables and lists nested at most {MAX_DEPTH} deep are expected", line)


def _refused(source: str, reason: str, line: int | None = None) -> ScenarioError:
    return ScenarioError(source, [Problem("", "", reason, line)])
