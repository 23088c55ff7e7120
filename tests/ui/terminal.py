"""A real pseudo-terminal with the real command in it, and what its screen shows."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import sys
import termios
import time
from collections.abc import Callable
from pathlib import Path

import pyte

ROOT = Path(__file__).resolve().parents[2]
START = "from tui.start import main; main()"
KEYS = {
    "enter": "\r",
    "escape": "\x1b",
    "up": "\x1b[A",
    "down": "\x1b[B",
    "right": "\x1b[C",
    "left": "\x1b[D",
    "delete": "\x1b[3~",
}


def bytes_of(key: str) -> bytes:
    """Return what a terminal sends for a key: a name, ``ctrl+x``, or text."""
    if key.startswith("ctrl+"):
        return bytes([ord(key[-1]) & 0x1F])
    return KEYS.get(key, key).encode()


class Terminal:
    """Soakbox in a pseudo-terminal of its own.

    Parameters
    ----------
    *arguments : str
        Of the command.
    state : Path
        Folder for recent files, settings and unsaved work.
    width, height : int
    deaf : bool
        Whether it ignores the signal of a terminal that is closed, as under ``nohup``.
    code : str
        What Python runs.
    prepare : callable, optional
        Called in the new process before Soakbox begins.
    **variables : str or None
        Environment; None takes one out.
    """

    def __init__(
        self,
        *arguments: str,
        state: Path,
        width: int = 80,
        height: int = 24,
        deaf: bool = False,
        code: str = START,
        prepare: Callable[[], object] | None = None,
        **variables: str | None,
    ) -> None:
        self.screen = pyte.Screen(width, height)
        self._stream = pyte.ByteStream(self.screen)
        self.began = time.perf_counter()
        self.last_output = 0.0
        self.pid, self._handle = pty.fork()
        if self.pid == 0:
            # A size told by the environment, as pytest's workers do, goes before the window's own.
            environment = {
                **{k: v for k, v in os.environ.items() if k not in ("COLUMNS", "LINES")},
                "PYTHONPATH": str(ROOT),
                "SOAKBOX_STATE": str(state),
                "TERM": "xterm-256color",
                "COLORTERM": "truecolor",
                **variables,
            }
            environment = {k: v for k, v in environment.items() if v is not None}
            if deaf:
                signal.signal(signal.SIGHUP, signal.SIG_IGN)
            if prepare is not None:
                prepare()
            command = [sys.executable, "-c", code, *arguments]
            os.execve(sys.executable, command, environment)
        self.raw = self._held = b""
        self._tell_size(width, height)

    def _tell_size(self, width: int, height: int) -> None:
        size = struct.pack("HHHH", height, width, 0, 0)
        fcntl.ioctl(self._handle, termios.TIOCSWINSZ, size)

    def resize(self, width: int, height: int) -> None:
        """Give the window another size, which may be nothing."""
        self.screen.resize(max(height, 1), max(width, 1))
        self._tell_size(width, height)

    def text(self) -> str:
        """Return the screen as lines."""
        return "\n".join(line.rstrip() for line in self.screen.display)

    def read(self, seconds: float) -> bool:
        """Wait at most so long for output and take it in; say whether there was any."""
        data = self._take() if self._wait(seconds) else b""
        self._stream.feed(self._held + data)
        self._held = b""
        return bool(data)

    def _wait(self, seconds: float) -> bool:
        return bool(select.select([self._handle], [], [], max(seconds, 0.0))[0])

    def _take(self) -> bytes:
        try:
            data = os.read(self._handle, 65536)
        except OSError:  # the other end has been closed
            return b""
        self.last_output = time.perf_counter()
        self.raw += data
        return data

    def until(self, *words: str, seconds: float = 90.0) -> float:
        """Wait until all the words are on the screen; return when the last output came."""
        end = time.perf_counter() + seconds
        while not all(word in self.text() for word in words):
            if time.perf_counter() > end:
                raise AssertionError(f"{words} not on the screen:\n{self.text()}")
            self.read(0.2)
        return self.last_output

    def until_gone(self, words: str, seconds: float = 90.0) -> None:
        """Wait until words are on the screen no longer."""
        end = time.perf_counter() + seconds
        while words in self.text():
            assert time.perf_counter() < end, f"{words} still on the screen:\n{self.text()}"
            self.read(0.2)

    def settle(self, quiet: float = 0.12) -> float:
        """Take in output until none comes for a while; return when the last came.

        The screen is brought up to date only then, so that doing so delays no time stamp.
        """
        self.collect(quiet)
        self._stream.feed(self._held)
        self._held = b""
        return self.last_output

    def collect(self, quiet: float, end: float = float("inf")) -> None:
        """Hold output back until none comes for a while, or until a point in time."""
        while time.perf_counter() < end and self._wait(min(quiet, end - time.perf_counter())):
            data = self._take()
            if not data:
                return
            self._held += data

    def press(self, *keys: str) -> float:
        """Send keys; return when the last was sent."""
        for key in keys:
            os.write(self._handle, bytes_of(key))
        return time.perf_counter()

    def ended(self, seconds: float = 60.0) -> int:
        """Wait for the end of the program; return its exit status."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            self.read(0.05)
            done, status = os.waitpid(self.pid, os.WNOHANG)
            if done:
                self.pid = 0
                return os.waitstatus_to_exitcode(status)
        raise AssertionError(f"still running:\n{self.text()}")

    def close(self) -> None:
        """Take the terminal away, if that has not been done."""
        if self._handle >= 0:
            os.close(self._handle)
            self._handle = -1

    def gone(self, seconds: float = 60.0) -> bool:
        """Wait for the end of the program after :meth:`close`; say whether it came."""
        end = time.perf_counter() + seconds
        while time.perf_counter() < end:
            if os.waitpid(self.pid, os.WNOHANG)[0]:
                self.pid = 0
                return True
            time.sleep(0.05)
        return False

    def kill(self) -> None:
        """End the program as a crash would, if it still runs, and close the terminal."""
        if self.pid:
            os.kill(self.pid, signal.SIGKILL)
            os.waitpid(self.pid, 0)
            self.pid = 0
        self.close()
