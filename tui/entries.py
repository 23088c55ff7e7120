"""Entries of a list of tables, such as the legs, put into and cut out of TOML text.

Done on the lines of the text, so that every other line, its comments and its spacing stay as they
are. A block of comments directly above an entry's header belongs to that entry.
"""

from __future__ import annotations

from thermo.errors import Problem, ScenarioError
from thermo.keys import key_of
from thermo.toml_text import Path, lines_of


def with_entry(text: str, where: Path, position: int, count: int, body: str) -> str:
    """Put a new entry into a list of tables.

    Parameters
    ----------
    text : str
        TOML text.
    where : tuple of (str or int)
        The list, such as ``("intake", "part")``.
    position : int
        Place the entry shall have, from 0; `count` to add it behind the last one.
    count : int
        Entries there are.
    body : str
        Its values, as TOML lines.

    Returns
    -------
    str
        The text with ``[[...]]`` and the values at that place.

    Raises
    ------
    ScenarioError
        There is no such place, or the list is not written as ``[[...]]`` tables.
    """
    if not 0 <= position <= count:
        raise _refused(where, f"the new entry's place must be from 0 to {count}")
    rows = text.split("\n")
    entry = [f"[[{key_of(where)}]]", *body.rstrip().split("\n")]
    if position < count:
        at = _start(rows, lines_of(text), (*where, position))
        new = [*entry, ""]
    else:
        at = _end(rows, lines_of(text), (*where, count - 1)) if count else len(rows)
        while at > 0 and not rows[at - 1].strip():
            at -= 1
        new = ["", *entry, *([""] if at == len(rows) else [])]
    return "\n".join([*rows[:at], *new, *rows[at:]])


def without_entry(text: str, where: Path, position: int) -> str:
    """Cut one entry with its comments out of a list of tables.

    Parameters
    ----------
    text : str
        TOML text.
    where : tuple of (str or int)
        The list, such as ``("leg",)``.
    position : int
        The entry, from 0.

    Returns
    -------
    str
        The text without it.

    Raises
    ------
    ScenarioError
        There is no such entry, or the list is not written as ``[[...]]`` tables.
    """
    rows = text.split("\n")
    lines = lines_of(text)
    entry = (*where, position)
    start, end = _start(rows, lines, entry), _end(rows, lines, entry)
    kept = rows[:start]
    if end == len(rows):
        while kept and not kept[-1].strip():
            kept.pop()
        kept.append("")
    return "\n".join([*kept, *rows[end:]])


def _start(rows: list[str], lines: dict[Path, int], entry: Path) -> int:
    """Return the index of an entry's first line, the comments above its header included."""
    if entry not in lines:
        raise _refused(
            entry, "there is no such entry written as a [[...]] table; change it in the file"
        )
    return _above(rows, lines[entry] - 1)


def _end(rows: list[str], lines: dict[Path, int], entry: Path) -> int:
    """Return the index of the first line behind an entry."""
    start = _start(rows, lines, entry)
    after = [
        line for path, line in lines.items()
        if line > lines[entry] and path[: len(entry)] != entry
    ]
    return max(_above(rows, min(after) - 1), start + 1) if after else len(rows)


def _above(rows: list[str], index: int) -> int:
    """Go up from a header over the comments that stand directly above it."""
    while index > 0 and rows[index - 1].lstrip().startswith("#"):
        index -= 1
    return index


def _refused(where: Path, reason: str) -> ScenarioError:
    return ScenarioError("edit", [Problem(key_of(where), "", reason)])
