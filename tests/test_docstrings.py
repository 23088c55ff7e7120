"""Docstrings of public functions name the parameters that the signatures have, each once."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
FILES = sorted([*ROOT.glob("thermo/**/*.py"), *ROOT.glob("tui/**/*.py")])
SECTION = re.compile(r"^Parameters\n-+\n(.*?)(?=^\w[\w ]*\n-{3,}|\Z)", re.DOTALL | re.MULTILINE)
ENTRY = re.compile(r"^(\S[^:\n]*?)(?: :.*)?$", re.MULTILINE)


def told_by(docstring: str) -> list[str] | None:
    """Names under ``Parameters``, or None where there is no such section."""
    section = SECTION.search(docstring)
    if section is None:
        return None
    entries = ENTRY.findall(section[1])
    return sorted(name.strip().lstrip("*") for entry in entries for name in entry.split(","))


def taken_by(function: ast.FunctionDef | ast.AsyncFunctionDef) -> list[str]:
    """Names of the parameters of a signature."""
    a = function.args
    stars = [star for star in (a.vararg, a.kwarg) if star is not None]
    names = [one.arg for one in (*a.posonlyargs, *a.args, *a.kwonlyargs, *stars)]
    return sorted(name for name in names if name not in {"self", "cls"})


def test_sections_are_read():
    head = "Sum.\n\nParameters\n----------\n"
    text = f"{head}a, b : int\n    Terms.\n*more\n    Rest.\n\nReturns\n-------\nint"
    assert told_by(text) == ["a", "b", "more"]
    assert told_by("No section.") is None


@pytest.mark.parametrize("path", FILES, ids=lambda p: p.relative_to(ROOT).as_posix())
def test_parameters_are_those_of_the_signature(path):
    functions = [node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
                 if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef))
                 and not node.name.startswith("_")]
    told = {f.name: (told_by(ast.get_docstring(f) or ""), taken_by(f)) for f in functions}
    wrong = {name: pair for name, pair in told.items() if pair[0] is not None
             and pair[0] != pair[1]}
    assert not wrong
