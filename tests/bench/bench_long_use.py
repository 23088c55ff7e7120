"""Two hours of editing at five edits a second, as fast as the program takes them.

Run by hand from the top of the checkout: ``python -m tests.bench.bench_long_use [EDITS]``.
It drives the program in a pseudo-terminal: an edit, now and then undone, another chart, another
moment, a page opened and left. Memory and threads are read from the kernel (Linux). Printed are
the figures of every tenth of the run, and of the last tenth over the second, when all that is
loaded on demand has been loaded.

All 36,000 edits, on a machine busy with other work: 151 MB in the second tenth and 154 MB in the
last (1.017), 7 threads in both, an edit shown after 129 ms and 94 ms.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from pathlib import Path

from tests.bench.bench_ui import QUIET, edit, leave, start

HOURS, RATE = 2.0, 5.0
TENTHS = 10
CHARTS, PAGES, UNDONE = 20, 50, 10
"""One edit of so many is followed by another chart, by a page, by being undone."""


def used_by(pid: int) -> tuple[float, int]:
    """Return memory in use [MB] and threads of a process."""
    facts = dict(line.split(":", 1) for line in
                 Path(f"/proc/{pid}/status").read_text(encoding="ascii").splitlines())
    return int(facts["VmRSS"].split()[0]) / 1024.0, int(facts["Threads"])


def main() -> None:
    """Edit, measure and print."""
    edits = int(sys.argv[1]) if len(sys.argv) > 1 else int(HOURS * 3600.0 * RATE)
    tenth = max(edits // TENTHS, 1)
    seen: list[tuple[float, int, float, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        terminal, _, _ = start(Path(folder), (80, 24))
        terminal.press("2", "enter")
        terminal.until("tank.volume")
        waits: list[float] = []
        begun = time.perf_counter()
        for number in range(1, edits + 1):
            value = f"{36 + number % 17}.{number % 10} L"
            committed = edit(terminal, value)
            terminal.until(f"-> {value}")
            waits.append(terminal.last_output - committed)
            terminal.raw = b""
            if number % UNDONE == 0:
                terminal.press("ctrl+z")
                terminal.settle(0.05)
            if number % CHARTS == 0:
                terminal.press("3", "c", "right")
                terminal.settle(0.05)
            if number % PAGES == 0:
                terminal.press("?")
                terminal.until("Escape goes back")
                terminal.press("escape")
                terminal.settle(QUIET)
            if number % CHARTS == 0:
                terminal.press("1")
                terminal.settle(0.05)
            if number % tenth == 0:
                memory, threads = used_by(terminal.pid)
                ordered = sorted(waits)
                p95 = ordered[int(0.95 * len(ordered))]
                seen.append((memory, threads, statistics.median(ordered), p95))
                print(f"{number:>6} edits, {time.perf_counter() - begun:>5.0f} s: {memory:.1f} MB, "
                      f"{threads} threads, an edit {1e3 * seen[-1][2]:.0f} ms, "
                      f"p95 {1e3 * p95:.0f} ms", flush=True)
                waits.clear()
        leave(terminal)
    early, late = seen[min(1, len(seen) - 1)], seen[-1]
    print(f"last tenth over second: memory {late[0] / early[0]:.3f}, threads {late[1]}/{early[1]}, "
          f"an edit {late[2] / early[2]:.2f}, p95 {late[3] / early[3]:.2f}")


if __name__ == "__main__":
    main()
