"""Start the terminal UI: on a file, on the last scenario, or on the demo."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from thermo.errors import SoakboxError

if TYPE_CHECKING:
    from tui.session import Session

NO_TERMINAL = (
    "soakbox: the terminal UI needs a terminal; without one run: soakbox check FILE "
    "('soakbox --help' lists the verbs)"
)


def has_terminal() -> bool:
    """Say whether standard input and output are a terminal that can place text."""
    return sys.stdin.isatty() and sys.stdout.isatty() and os.environ.get("TERM") != "dumb"


def wants_ascii() -> bool:
    """Say whether box and braille characters would not come through."""
    if os.environ.get("SOAKBOX_ASCII"):
        return True
    encoding = (sys.stdout.encoding or "ascii").lower().replace("-", "")
    return not encoding.startswith("utf")


def launch(path: Path | None) -> int:
    """Run the UI until it is left.

    Parameters
    ----------
    path : Path or None
        Scenario to open; without one the last scenario, or the demo.

    Returns
    -------
    int
        Exit status.

    Raises
    ------
    SoakboxError
        If the file given cannot be used.
    """
    if not has_terminal():
        print(NO_TERMINAL, file=sys.stderr)
        return 2
    from tui.app import SoakboxApp
    from tui.places import recent_files
    from tui.session import Session

    first = False
    if path is not None:
        session = Session.open(path)
    else:
        recent, _ = recent_files()
        first = not recent
        session = _last_or_demo(recent)
    status = SoakboxApp(session, first_start=first, ascii_only=wants_ascii()).run()
    return 0 if status is None else status


def _last_or_demo(recent: tuple[Path, ...]) -> Session:
    """Open the last scenario; the demo when there is none that can be used."""
    from tui.places import demo_text
    from tui.session import Session

    for candidate in recent[:1]:
        try:
            return Session.open(candidate)
        except SoakboxError:
            break
    return Session(demo_text(), None, "demo")
