"""What all tests share: a cache of its own for the session, and scenarios with changes solved."""

from __future__ import annotations

import contextlib
import functools
import hashlib
import os
import pickle
import tempfile
from pathlib import Path

import pytest
from hypothesis import settings

SCENARIOS = Path(__file__).resolve().parent.parent / "scenarios"
CACHE_VARIABLE = "SOAKBOX_CACHE"
SHEETS_VARIABLE = "TESTED_BUILD_SHEETS"

# A machine that is busy must not fail a test: what takes long is measured in tests/bench.
settings.register_profile("soakbox", deadline=None)
settings.load_profile("soakbox")

_cache = None
if CACHE_VARIABLE not in os.environ:
    # Before thermo is imported: property tables are built once a session, not in the user's cache.
    _cache = tempfile.TemporaryDirectory(prefix="soakbox-test-")
    os.environ[CACHE_VARIABLE] = _cache.name


_sheets = None
if SHEETS_VARIABLE not in os.environ:
    _sheets = tempfile.TemporaryDirectory(prefix="soakbox-sheets-")
    os.environ[SHEETS_VARIABLE] = _sheets.name


def pytest_unconfigure():
    for folder in filter(None, (_cache, _sheets)):
        folder.cleanup()


@functools.cache
def _text(name):
    return (SCENARIOS / f"{name}.toml").read_text(encoding="utf-8")


@functools.cache
def _scenario(name, overrides, legs, edits):
    from thermo.scenario_io import from_text

    text = _text(name)
    for old, new in edits:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    if legs:
        text = text[: text.index("[[leg]]")] + legs
    return from_text(text, f"{name}.toml", overrides).scenario


@functools.cache
def _result(name, overrides, legs, edits):
    from thermo.event import solve

    return solve(_scenario(name, overrides, legs, edits))


@functools.cache
def _sheet(name, overrides):
    """Make a build sheet, which takes seconds, once for all processes of a session."""
    from thermo.sizing import build_sheet
    from thermo.whole_file import write_whole

    words = "\0".join((name, *overrides)).encode()
    kept = Path(os.environ[SHEETS_VARIABLE]) / hashlib.sha256(words).hexdigest()
    with contextlib.suppress(FileNotFoundError):
        return pickle.loads(kept.read_bytes())
    made = build_sheet(_scenario(name, overrides, "", ()), _result(name, overrides, "", ()))
    write_whole(kept, pickle.dumps(made))
    return made


@pytest.fixture(scope="session")
def scenario_with():
    """Return a shipped scenario with KEY=VALUE overrides, other legs, or text replaced."""

    def make(name, *overrides, legs="", edits=()):
        return _scenario(name, overrides, legs, tuple(edits))

    return make


@pytest.fixture(scope="session")
def solve_with():
    """Return the result of a shipped scenario with changes; each is solved once a session."""

    def make(name, *overrides, legs="", edits=()):
        return _result(name, overrides, legs, tuple(edits))

    return make


@pytest.fixture(scope="session")
def sheet_with():
    """Return the build sheet of a shipped scenario with overrides, made once a session."""

    def make(name, *overrides):
        return _sheet(name, overrides)

    return make


@pytest.fixture(scope="session")
def flag_of():
    """Return the flag of a name from a result."""

    def find(result, name):
        return next(flag for flag in result.flags if flag.name == name)

    return find
