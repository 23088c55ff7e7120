"""Start the terminal UI: on a file, on the last scenario, or on the demo."""

from __future__ import annotations

import os
import sys
from pathlib import Path

NO_TERMINAL = (
    "soakbox: the terminal UI needs a terminal; without one run: soakbox check FILE "
    "('soakbox --help' lists the verbs)"
)

TURNS = "200"
"""Turns a second at which what has changed is painted. A change waits for up to two of them: at
the usual 60 that is a third of the time in which an edit shall be answered."""


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
    os.environ.setdefault("TEXTUAL_FPS", TURNS)
    from tui.app import SoakboxApp

    app = SoakboxApp(path=path, ascii_only=wants_ascii())
    status = app.run()
    if app.failure is not None:
        raise app.failure
    return app.return_code or 0 if status is None else status
