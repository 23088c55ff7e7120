"""How fast the terminal UI answers, measured in a real pseudo-terminal; prints medians.

Run by hand from the top of the checkout: ``python -m tests.bench.bench_ui [WIDTH HEIGHT]``.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.ui.terminal import ROOT, Terminal

STARTS, EDITS, QUICK = 7, 100, 10
VERDICTS = ("CLEAR", "CAUTION", "DANGER", "NO VERDICT")
QUIET = 0.15
"""Silence after which everything counts as redrawn [s]."""


def start(state: Path, size: tuple[int, int]) -> tuple[Terminal, float, float]:
    """Start on the base scenario; return the terminal, the first paint and the first verdict."""
    width, height = size
    scenario = str(ROOT / "scenarios" / "base.toml")
    terminal = Terminal("open", scenario, state=state, width=width, height=height)
    paint = terminal.until("Soakbox") - terminal.began
    while not any(word in terminal.text() for word in VERDICTS):
        terminal.read(0.2)
    verdict = terminal.last_output - terminal.began
    terminal.settle()
    return terminal, paint, verdict


def leave(terminal: Terminal) -> None:
    """Quit and drop the edits."""
    terminal.press("ctrl+q")
    terminal.settle(0.3)
    if "not saved" in terminal.text():
        terminal.press("down", "enter")
    terminal.ended()


def edit(terminal: Terminal, value: str) -> float:
    """Type a value into the row under the cursor, commit it, and return when it was committed."""
    terminal.press("enter", value)
    terminal.until(f"Enter takes {value}")
    terminal.settle(0.02)
    return terminal.press("enter")


def told(values: list[float]) -> str:
    """Return median, 95th percentile and greatest in milliseconds."""
    ordered = sorted(values)
    p95 = ordered[min(int(0.95 * len(ordered)), len(ordered) - 1)]
    return (
        f"median {1e3 * statistics.median(ordered):.0f} ms, p95 {1e3 * p95:.0f} ms, "
        f"most {1e3 * ordered[-1]:.0f} ms"
    )


def main() -> None:
    """Measure and print."""
    size = (int(sys.argv[1]), int(sys.argv[2])) if len(sys.argv) > 2 else (80, 24)
    with tempfile.TemporaryDirectory() as folder:
        state = Path(folder)
        leave(start(state, size)[0])  # builds the property tables when the cache has none
        paints, verdicts = [], []
        for _ in range(STARTS):
            terminal, paint, verdict = start(state, size)
            paints.append(paint)
            verdicts.append(verdict)
            leave(terminal)
        print(f"{size[0]}x{size[1]}")
        print(f"first paint    {told(paints)}")
        print(f"first verdict  {told(verdicts)}")

        terminal, _, _ = start(state, size)
        terminal.press("2", "enter")
        terminal.until("tank.volume")
        edits = []
        for number in range(EDITS):
            value = f"{36 + number % 17}.{number % 10} L"
            committed = edit(terminal, value)
            edits.append(terminal.settle(QUIET) - committed)
            terminal.until(f"-> {value}", seconds=0.0)
        print(f"{EDITS} edits      {told(edits)}")

        last = 0.0
        for number in range(QUICK):
            begun = time.perf_counter()
            value = f"{44 + number}.5 L"
            terminal.press("enter", value)
            last = terminal.press("enter")
            terminal.collect(1.0 / QUICK, begun + 1.0 / QUICK)
        print(f"last of {QUICK} quick {1e3 * (terminal.settle(QUIET) - last):.0f} ms")
        terminal.until(f"-> {value}", seconds=0.0)
        leave(terminal)


if __name__ == "__main__":
    main()
