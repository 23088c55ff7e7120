"""What pydantic found wrong, as problems a person can act on: key, given, allowed, line."""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from thermo.errors import Problem
from thermo.fields import quantity_in
from thermo.keys import annotation_at, is_list, key_of, known_names
from thermo.quantity_text import example_of, printable, show_object
from thermo.toml_text import Path, line_of, lines_of
from thermo.units import kind_named

MOST_PROBLEMS = 60
"""Problems shown at once; more are only counted."""

_WORDS = {
    "bool_type": "true or false is expected",
    "bool_parsing": "true or false is expected",
    "int_type": "a whole number is expected",
    "int_parsing": "a whole number is expected",
    "int_from_float": "a whole number is expected",
    "float_type": "a number is expected",
    "float_parsing": "a number is expected",
    "string_type": "text in quotes is expected",
    "string_too_long": "text of at most {max_length} characters is expected",
    "tuple_type": "a list is expected",
    "list_type": "a list is expected",
    "dict_type": "a table is expected",
    "model_type": "a table is expected",
    "model_attributes_type": "a table is expected",
    "greater_than": "more than {gt} is expected",
    "greater_than_equal": "at least {ge} is expected",
    "less_than": "less than {lt} is expected",
    "less_than_equal": "at most {le} is expected",
    "too_short": "at least {min_length} entries are expected",
    "too_long": "at most {max_length} entries are expected",
    "literal_error": "{expected} is expected",
    "enum": "{expected} is expected",
}


def problems_of(
    error: ValidationError,
    raw: dict[str, Any],
    model: type[BaseModel],
    text: str,
    overrides: Mapping[Path, str],
) -> list[Problem]:
    """Turn the errors of one validation into problems, in the order of the file.

    Parameters
    ----------
    error : ValidationError
        What pydantic raised.
    raw : dict
        The tables that were validated.
    model : type
        The model they were validated against.
    text : str
        The TOML text, for line numbers.
    overrides : mapping of path to str
        What was set from outside the file, as it was written there.

    Returns
    -------
    list of Problem
        At least one; each key once for each thing wrong with it.
    """
    lines = lines_of(text)
    details = [(_real_path(d, raw), d) for d in error.errors(include_url=False)]
    found: dict[tuple[str, str], Problem] = {}
    for path, detail in details:
        if detail["type"] == "too_short" and _is_above(path, details):
            continue  # entries that are wrong themselves were not counted
        problem = located(_problem(detail, path, model), path, lines, overrides)
        found.setdefault((problem.key, problem.allowed), problem)
    problems = sorted(found.values(), key=lambda p: p.line or 0)
    if len(problems) > MOST_PROBLEMS:
        more = Problem("", "", f"{len(problems) - MOST_PROBLEMS} further problems are not shown")
        problems = [*problems[:MOST_PROBLEMS], more]
    return problems


def located(
    problem: Problem, path: Path, lines: dict[Path, int], overrides: Mapping[Path, str]
) -> Problem:
    """Say where a problem comes from: the line of the file, or what was set from outside it.

    Parameters
    ----------
    problem : Problem
    path : tuple of (str or int)
        What it concerns.
    lines : dict
        From :func:`thermo.toml_text.lines_of`.
    overrides : mapping of path to str
        What was set from outside the file, as it was written there.

    Returns
    -------
    Problem
    """
    origin = next((o for p, o in overrides.items() if _concerns(p, path, lines)), None)
    if origin is None:
        return _placed(problem, line_of(lines, path))
    return _from_override(problem, origin)


def nearest(name: str, known: tuple[str, ...]) -> str:
    """Return the known name most like `name`, or an empty text when none is near.

    Parameters
    ----------
    name : str
        What was written.
    known : tuple of str
        What could have been meant.

    Returns
    -------
    str
        One of `known`, or empty.
    """
    folded = {k.casefold().replace("-", "_"): k for k in known}
    near = difflib.get_close_matches(
        name[:60].casefold().replace("-", "_"), list(folded), n=1, cutoff=0.6
    )
    return folded[near[0]] if near else ""


def _real_path(detail: ErrorDetails, raw: dict[str, Any]) -> Path:
    """Keep of pydantic's location what stands in the file; it also names branches of unions."""
    path: list[str | int] = []
    here: Any = raw
    location = detail["loc"]
    for position, part in enumerate(location):
        last = position == len(location) - 1
        if isinstance(here, dict) and isinstance(part, str):
            if part in here:
                path.append(part)
                here = here[part]
            elif last and detail["type"] == "missing":
                path.append(part)
        elif isinstance(here, list) and isinstance(part, int) and part < len(here):
            path.append(part)
            here = here[part]
    return tuple(path)


def _is_above(path: Path, details: list[tuple[Path, ErrorDetails]]) -> bool:
    return any(len(p) > len(path) and p[: len(path)] == path for p, _ in details)


def _concerns(override: Path, path: Path, lines: Mapping[Path, int]) -> bool:
    """Return whether a problem at `path` comes from what `override` set, or had to make."""
    if path[: len(override)] == override:
        return True
    return override[: len(path)] == path and path not in lines


def _problem(detail: ErrorDetails, path: Path, model: type[BaseModel]) -> Problem:
    kind, context = detail["type"], detail.get("ctx", {})
    key = key_of(path)
    if kind == "quantity":
        return Problem(key, context["given"], context["allowed"])
    if kind == "missing":
        return Problem(key, "", _expected(model, path))
    if kind == "extra_forbidden":
        return _unknown(path, model)
    given = show_object(detail["input"])
    if kind in ("value_error", "assertion_error"):
        shown = "" if isinstance(detail["input"], (dict, list)) else given
        return Problem(key, shown, printable(str(context["error"]), 300))
    template = _WORDS.get(kind)
    allowed = template.format(**context) if template else printable(detail["msg"], 300)
    suggestion = ""
    if kind in ("literal_error", "enum") and isinstance(detail["input"], str):
        names = tuple(re.findall(r"'([^']*)'", str(context["expected"])))
        suggestion = nearest(detail["input"], names)
    return Problem(key, given, allowed, None, suggestion)


def _expected(model: type[BaseModel], path: Path) -> str:
    """Say what a missing key would hold."""
    annotation = annotation_at(model, path)
    quantity = quantity_in(annotation)
    if quantity is not None:
        what = kind_named(quantity.kind)
        return f"this key is required: {what.label} {quantity.allowed}, {example_of(what)}"
    if known_names(annotation):
        tables = f"[[{key_of(path)}]]" if is_list(annotation) else f"[{key_of(path)}]"
        return f"the table {tables} is required"
    return "this key is required"


def _unknown(path: Path, model: type[BaseModel]) -> Problem:
    name = str(path[-1])
    known = known_names(annotation_at(model, path[:-1]))
    suggestion = nearest(name, known)
    where = f"in [{key_of(path[:-1])}]" if len(path) > 1 else "at the top of the file"
    listed = "" if suggestion else f"; known are {', '.join(known)}"
    return Problem(key_of(path), "", f"no such key {where}{listed}", None, suggestion)


def _placed(problem: Problem, line: int | None) -> Problem:
    return Problem(problem.key, problem.given, problem.allowed, line, problem.suggestion)


def _from_override(problem: Problem, origin: str) -> Problem:
    given = f"--set {printable(origin, 120)}"
    return Problem(problem.key, given, problem.allowed, None, problem.suggestion)
