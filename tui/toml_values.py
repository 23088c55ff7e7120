"""Values of a TOML text as a person typed them, and typed text made ready for TOML."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from itertools import pairwise
from typing import Any, get_args

import tomlkit.items

from thermo.keys import is_list, key_of, options_of
from thermo.toml_text import Path

_HEADER = re.compile(r"\[\[?[A-Za-z0-9_.\"' -]+\]\]?[ \t]*(?:#.*)?\r?$")


def texts_of(document: Mapping[str, Any]) -> dict[str, str]:
    """Return the text of each value of a document as it was typed.

    Parameters
    ----------
    document : mapping
        A tomlkit document.

    Returns
    -------
    dict
        Dotted key to text: text without its quotes, numbers with their digits as written, lists
        in TOML on one line.
    """
    found: dict[str, str] = {}
    _collect(document, (), found)
    return found


def changed_keys(before: Mapping[str, Any], after: Mapping[str, Any]) -> tuple[str, ...]:
    """Return the keys of all values that differ between two sets of plain tables.

    Parameters
    ----------
    before, after : mapping
        Tables as read from TOML.

    Returns
    -------
    tuple of str
        Dotted keys, in the order of `after`, those that were taken out last.
    """
    old: dict[Path, Any] = {}
    new: dict[Path, Any] = {}
    _flatten(before, (), old)
    _flatten(after, (), new)
    changed = [path for path in new if path not in old or repr(old[path]) != repr(new[path])]
    return tuple(key_of(path) for path in (*changed, *(path for path in old if path not in new)))


def as_toml(typed: str, annotation: Any) -> str:
    """Make ready what a person typed: yes and no, and lists without brackets.

    Parameters
    ----------
    typed : str
        As typed.
    annotation : object
        Type of the input, as :func:`thermo.keys.annotation_at` returns it.

    Returns
    -------
    str
        Text for :func:`thermo.scenario_io.set_value`, without spaces around it.
    """
    bare = typed.strip()
    options = options_of(annotation)
    if options == [bool]:
        return {"yes": "true", "no": "false"}.get(bare.casefold(), bare)
    if not bare or bare.startswith("[") or not is_list(annotation):
        return bare
    if any(str in get_args(option) for option in options):
        return json.dumps([part.strip() for part in bare.split(",")], ensure_ascii=False)
    return f"[{bare}]"


def spaced(before: str, after: str) -> str:
    """Put an empty line above each table header that an edit set directly below a value.

    Parameters
    ----------
    before, after : str
        TOML text before and after the edit.

    Returns
    -------
    str
        `after`, with lines that were not there before spaced.
    """
    old = before.split("\n")
    new = after.split("\n")
    if len(new) <= len(old):
        return after
    pairs = set(pairwise(old))
    rows = new[:1]
    for above, row in pairwise(new):
        if _HEADER.match(row) and above.strip() and above[:1] != "#" and (above, row) not in pairs:
            rows.append("")
        rows.append(row)
    return "\n".join(rows)


def _collect(item: Any, path: Path, found: dict[str, str]) -> None:
    if isinstance(item, Mapping):
        for name, value in item.items():
            _collect(value, (*path, str(name)), found)
    elif _is_tables(item):
        for place, entry in enumerate(item):
            _collect(entry, (*path, place), found)
    else:
        found[key_of(path)] = _text(item)


def _text(item: Any) -> str:
    if isinstance(item, bool):
        return str(item).lower()
    if isinstance(item, str):
        return str(item)
    written = item.as_string() if isinstance(item, tomlkit.items.Item) else str(item)
    return _on_one_line(item.unwrap()) if "\n" in written else written


def _on_one_line(value: Any) -> str:
    """Write a list as TOML on one line, without the comments in it."""
    if isinstance(value, list):
        return "[" + ", ".join(_on_one_line(entry) for entry in value) + "]"
    return str(tomlkit.item(value).as_string())


def _flatten(item: Any, path: Path, found: dict[Path, Any]) -> None:
    """Collect values by path; an empty table counts as a value, since it may switch a thing on."""
    if isinstance(item, Mapping):
        for name, value in item.items():
            _flatten(value, (*path, name), found)
        if path and not item:
            found[path] = item
    elif _is_tables(item):
        for place, entry in enumerate(item):
            _flatten(entry, (*path, place), found)
    else:
        found[path] = item


def _is_tables(item: Any) -> bool:
    return isinstance(item, list) and bool(item) and all(isinstance(e, Mapping) for e in item)
