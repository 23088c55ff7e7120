"""Entry point: makes sure that the right engine is installed, then hands over to the verbs."""

from __future__ import annotations

import importlib.util
import io
import sys
from pathlib import Path

INTERRUPTED = 130
"""Exit status after an interrupt of the keyboard."""

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
    place = wrong_engine()
    if place:
        print(WRONG_ENGINE.format(place=place), file=sys.stderr)
        raise SystemExit(3)
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


def _end_at_once() -> None:
    """End the processes that solve variants in the midst of it, and say no more."""
    sys.stderr.flush()
    # What their pool has to say of processes that were ended is of no use to anybody.
    sys.stderr = io.StringIO()
    workers = sys.modules.get("thermo.ensemble_workers")
    if workers is not None:
        workers.kill_shared()
    raise SystemExit(INTERRUPTED)
