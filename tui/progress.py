"""How far a long computation has come, on a terminal and nowhere else; and its interrupt."""

from __future__ import annotations

import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType


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


@contextmanager
def interruptible() -> Iterator[Callable[[], bool]]:
    """Remember an interrupt of the keyboard, which Python loses where it may not be raised.

    Yields
    ------
    callable
        Says whether there was one.
    """
    asked = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked.is_set
        return

    def remember(number: int, frame: FrameType | None) -> None:
        asked.set()
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, remember)
    try:
        yield asked.is_set
    finally:
        signal.signal(signal.SIGINT, before)
