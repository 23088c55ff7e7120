"""The self test: what is installed, where things are kept, the terminal, a short run."""

from __future__ import annotations

import importlib.metadata
import locale
import os
import platform
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from thermo import __version__
from thermo.errors import SoakboxError
from thermo.quantity_text import printable

LIBRARIES = ("CoolProp", "numpy", "scipy", "pydantic", "pint", "textual", "tomlkit", "click")
EVERY = 7
"""Of the published cases every so-manieth is run, which takes seconds."""
AUDIT = 1e-3
"""Residual of the demo's energy account that is let pass, a fifth of what costs the verdict."""
BROKEN = (SoakboxError, ArithmeticError, ValueError, TypeError, LookupError, OSError, ImportError)
"""What a spoilt engine, library or disk may raise; each is told, and fails its check."""


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing looked at.

    Attributes
    ----------
    group, what, found : str
    holds : bool or None
        None for what is only told.
    """

    group: str
    what: str
    found: str
    holds: bool | None = None


def shortened(path: Path | str) -> str:
    """Return a path safe to print and to send, the user's home as ``~``."""
    home, text = os.path.expanduser("~"), os.fspath(path)
    if home not in ("~", "/", "") and (text == home or text.startswith(home + os.sep)):
        text = "~" + text[len(home):]
    return printable(text, 200)


def installed() -> list[Finding]:
    """Return versions of Soakbox, Python, the system and the libraries."""
    found = [
        Finding("installed", "soakbox", __version__),
        Finding("installed", "Python", platform.python_version()),
        Finding("installed", "system", f"{platform.system()} {platform.machine()}"),
    ]
    for name in LIBRARIES:
        try:
            found.append(Finding("installed", name, importlib.metadata.version(name)))
        except importlib.metadata.PackageNotFoundError:
            found.append(Finding("installed", name, "missing", False))
    return found


def folder_state(folder: Path) -> str:
    """Return whether a folder, or the nearest one above it that exists, can be written."""
    near = folder
    while not near.exists() and near != near.parent:
        near = near.parent
    try:
        with tempfile.TemporaryFile(dir=near):
            pass
    except OSError as error:
        return f"cannot be written: {error.strerror}"
    return "can be written" if near == folder else "not there yet, can be made"


def kept() -> list[Finding]:
    """Return where property tables, settings and unsaved work are kept, and whether they can be.

    A folder that cannot be written stops nothing, so it is told and fails no check.
    """
    from thermo.properties import table_path
    from tui.places import PlaceError, state_folder

    places: list[tuple[str, Path | None]] = []
    cache = table_path()
    places.append(("property tables", None if cache is None else cache.parent))
    try:
        state: Path | None = state_folder()
    except PlaceError:
        state = None
    places.append(("settings", state))
    places.append(("unsaved work", None if state is None else state / "recovery"))
    return [
        Finding("kept", what, "nowhere: there is no home folder" if place is None
                else f"{shortened(place)}: {folder_state(place)}")
        for what, place in places
    ]


def terminal() -> list[Finding]:
    """Return what the terminal says of itself."""
    size = shutil.get_terminal_size((0, 0))
    tty = sys.stdin.isatty() and sys.stdout.isatty()
    return [
        Finding("terminal", "terminal", "yes" if tty else "no: piped"),
        Finding("terminal", "size", f"{size.columns} x {size.lines}"),
        Finding("terminal", "TERM", printable(os.environ.get("TERM", "not set"))),
        Finding("terminal", "colours", "off by NO_COLOR" if os.environ.get("NO_COLOR")
                else printable(os.environ.get("COLORTERM", "not told"))),
        Finding("terminal", "encoding", f"{sys.stdout.encoding}, locale "
                f"{printable(locale.getpreferredencoding(False))}"),
    ]


def _tables() -> tuple[str, bool]:
    from thermo.properties import load_tables

    tables = load_tables()
    words = {"cache": "read, their hash holds", "built": "built anew and kept",
             "memory": f"built, not kept: {tables.note}"}
    return words[tables.origin], True


def _demo() -> tuple[str, bool]:
    from thermo.event import solve
    from thermo.scenario_io import read_scenario
    from tui.places import demo_path

    result = solve(read_scenario(demo_path()).scenario)
    left = abs(result.audit.residual_fraction)
    return f"{result.verdict}, energy account within {left:.1e}", (
        result.verdict != "no verdict" and left <= AUDIT
    )


def _published() -> tuple[str, bool]:
    from thermo.published import verification
    from thermo.published.case import all_cases

    checked = verification.verify(all_cases()[::EVERY])
    missed = [c.id for c in checked if not c.holds]
    told = f": {', '.join(missed[:8])}" if missed else ""
    return f"{len(checked)} numbers, {len(missed)} missed{told}", bool(checked) and not missed


CHECKS: dict[str, Callable[[], tuple[str, bool]]] = {
    "property tables": _tables, "demo scenario": _demo, "published cases": _published,
}


def short_run() -> list[Finding]:
    """Run the checks; one that raises is told and fails."""
    found = []
    for what, check in CHECKS.items():
        began = time.monotonic()
        try:
            words, holds = check()
        except BROKEN as error:
            words, holds = printable(f"{type(error).__name__}: {error}", 200), False
        found.append(Finding("check", what, f"{words} ({time.monotonic() - began:.1f} s)", holds))
    return found


def selftest() -> list[Finding]:
    """Return all findings, in the order in which they are told."""
    return [*installed(), *kept(), *terminal(), *short_run()]
