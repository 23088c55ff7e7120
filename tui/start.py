"""Entry point: makes sure that the right engine is installed, then hands over to the verbs."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

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
    from tui.cli import run

    run()
