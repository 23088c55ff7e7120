"""How far a long computation has come, on a terminal and nowhere else."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager


@contextmanager
def progress_line(label: str) -> Iterator[Callable[[int, int], None] | None]:
    """Give something to be told how much is done, and of how much.

    Parameters
    ----------
    label : str
        What is being done.

    Yields
    ------
    callable or None
        Writes one line to standard error, over and over; None where that is no terminal.
    """
    if not sys.stderr.isatty():
        yield None
        return

    def tell(done: int, whole: int) -> None:
        share = 100 * done // max(whole, 1)
        print(f"\r{label}: {share:3d} %", end="", file=sys.stderr, flush=True)

    try:
        yield tell
    finally:
        print("\r" + " " * (len(label) + 7) + "\r", end="", file=sys.stderr, flush=True)
