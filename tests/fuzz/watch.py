"""What every fuzz target is held to: nothing opened but what was asked, nothing echoed raw."""

from __future__ import annotations

import contextlib
import sys
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from thermo.errors import SoakboxError
from thermo.quantity_text import printable

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
WATCHED = (
    "open", "os.", "shutil.", "socket.", "subprocess.", "ctypes.", "exec", "compile", "import",
    "winreg.", "pty.", "fcntl.", "urllib.", "sqlite3.", "tempfile.",
)
"""Audit events that a reader of text has no business with."""
MOST_TOLD = 60_000
"""Longest message [characters]: some hundred problems of one file, told one a line."""


class Watch:
    """Refuses what a reader must not do while :meth:`over` holds."""

    def __init__(self) -> None:
        self.armed = False
        self.allowed: tuple[str, ...] = ()
        sys.addaudithook(self._seen)

    def _seen(self, event: str, arguments: tuple[Any, ...]) -> None:
        if not self.armed or not event.startswith(WATCHED):
            return
        if event == "open" and str(arguments[0]) in self.allowed:
            return
        self.armed = False
        raise AssertionError(f"{event} {arguments!r}"[:500])

    @contextlib.contextmanager
    def over(self, *allowed: str) -> Iterator[None]:
        """Watch a block; files named in `allowed` may be opened in it."""
        self.allowed = allowed
        self.armed = True
        try:
            yield
        finally:
            self.armed = False


def told(error: SoakboxError) -> str:
    """Return an error's message after holding it to what a terminal may be given."""
    message = str(error)
    raw = sorted({c for c in message if not c.isprintable() and c != "\n"})
    assert not raw, f"control characters in a message: {raw!r}"
    assert message.strip(), "an empty message"
    assert len(message) <= MOST_TOLD, f"a message of {len(message)} characters"
    return message


def run(target: Callable[[bytes], None], seeds: list[bytes], words: list[str]) -> None:
    """Run a target under the coverage-guided fuzzer with libFuzzer's options of the command line.

    An input that takes over 2 s or 1 GB ends the run with the input kept, as does any error that
    is not Soakbox's own.
    """
    import atheris

    printable("\x00")  # its codec is imported on first use
    with tempfile.TemporaryDirectory() as folder:
        corpus = Path(folder, "corpus")
        corpus.mkdir()
        for number, seed in enumerate(seeds):
            (corpus / str(number)).write_bytes(seed)
        quoted = ("".join(f"\\x{b:02x}" for b in word.encode()) for word in words)
        Path(folder, "words").write_text("".join(f'"{w}"\n' for w in quoted), encoding="ascii")
        options = [
            f"-artifact_prefix={tempfile.gettempdir()}/soakbox-fuzz-", f"-dict={folder}/words",
            "-timeout=2", "-rss_limit_mb=1024", *sys.argv[1:],
        ]
        atheris.Setup([sys.argv[0], *options, str(corpus)], target)
        atheris.Fuzz()
