"""Entry point: makes sure that the right engine is installed, then hands over to the verbs."""

from __future__ import annotations

import importlib.util
import io
import os
import sys
import traceback
from pathlib import Path

INTERRUPTED = 130
"""Exit status after an interrupt of the keyboard."""

UNTRUSTED = 3
"""Exit status where no number can be trusted; 1, Python's own after an error, says danger here."""

WRONG_ENGINE = (
    "soakbox: another package named 'thermo' hides Soakbox's own ({place}). Install soakbox in "
    "an environment of its own: python -m venv ENV && ENV/bin/pip install soakbox"
)


def wrong_engine() -> str:
    """Return where a foreign package named ``thermo`` was found, or an empty text.

    The import name is shared with an unrelated distribution on the package index; installed
    side by side one overwrites the other. Ours carries the file ``ops.py`` and the marker
    ``SOAKBOX_ENGINE``.

    Returns
    -------
    str
    """
    spec = importlib.util.find_spec("thermo")
    if spec is None or spec.origin is None:
        return "it is missing"
    place = Path(spec.origin)
    try:
        ours = "SOAKBOX_ENGINE" in place.read_text(encoding="utf-8", errors="replace")
    except OSError:
        ours = False
    return "" if ours and (place.parent / "ops.py").is_file() else str(place.parent)


def main() -> None:
    """Run the command ``soakbox``."""
    _hold_streams()
    place = wrong_engine()
    if place:
        print(WRONG_ENGINE.format(place=place), file=sys.stderr)
        raise SystemExit(UNTRUSTED)
    try:
        from tui.cli import run

        run()
    except KeyboardInterrupt:
        # Before the verbs are there to take it, or after they have ended.
        _end_at_once()
    except SystemExit as end:
        if end.code == INTERRUPTED:
            _end_at_once()
        raise
    except Exception as error:
        traceback.print_exc()
        raise SystemExit(UNTRUSTED) from error


def _hold_streams() -> None:
    """Have all standard streams open, and output that takes any text.

    Where one is closed, as by ``>&-``, the null device takes its place: else the next file opened
    would be taken for the stream. What the encoding cannot say is told as an escape.
    """
    for name, mode in (("stdin", "r"), ("stdout", "w"), ("stderr", "w")):
        if getattr(sys, name) is None:
            null = os.open(os.devnull, os.O_RDWR)
            setattr(sys, name, os.fdopen(null, mode, encoding="utf-8"))
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")


def _end_at_once() -> None:
    """End the processes that solve variants in the midst of it, and say no more."""
    sys.stderr.flush()
    # What their pool has to say of processes that were ended is of no use to anybody.
    sys.stderr = io.StringIO()
    workers = sys.modules.get("thermo.ensemble_workers")
    if workers is not None:
        workers.kill_shared()
    raise SystemExit(INTERRUPTED)
