"""The command in a process of its own, in a place that has something wrong with it."""

from __future__ import annotations

import ctypes
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

resource = pytest.importorskip("resource", reason="limits of POSIX")

ROOT = Path(__file__).resolve().parents[2]
MAIN = "from tui.start import main; main()"
CACHE = "SOAKBOX_CACHE"
NOT_OURS = ("SOAKBOX_", "XDG_", "LC_", "PYTHON")
"""Beginnings of variables that the place of a test must not take over."""
DROP_BOUNDING, OVERRIDE = 24, 1
"""Linux: PR_CAPBSET_DROP of prctl(2), and CAP_DAC_OVERRIDE of capabilities(7)."""


def surroundings(**variables: str | None) -> dict[str, str]:
    """Return this process's environment with Soakbox's path and this session's tables alone.

    The variables given go before these; None takes one out. Nothing is compiled to disk: on a full
    one Python may leave half a file, and trust it later.
    """
    kept = {k: v for k, v in os.environ.items() if not k.startswith(NOT_OURS)}
    ours = {"PYTHONPATH": str(ROOT), "PYTHONDONTWRITEBYTECODE": "1", CACHE: os.environ[CACHE]}
    return {k: v for k, v in {**kept, **ours, **variables}.items() if v is not None}


def full_disk(room: int = 0) -> Callable[[], None]:
    """Return what lets a process write no file beyond so many bytes; pipes take what they did."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (room, room))


def bound_by_permissions() -> None:
    """Make permissions of files hold for the superuser as well, from the next program on."""
    if os.geteuid() == 0 and sys.platform == "linux":
        ctypes.CDLL(None).prctl(DROP_BOUNDING, OVERRIDE, 0, 0, 0)


def command(
    *argv: object, code: str = MAIN, text: bool = True, **options: object
) -> subprocess.CompletedProcess:
    """Run the command and take in what it prints.

    Parameters
    ----------
    *argv : object
    code : str
        Python to run in place of the command.
    text : bool
        Whether output is decoded.
    **options : object
        Of `subprocess.run`.
    """
    given = {"capture_output": "stdout" not in options, "timeout": 120, "check": False,
             "cwd": ROOT, "env": surroundings(), "stdin": subprocess.DEVNULL,
             "encoding": "utf-8" if text else None, **options}
    if "stdout" in options:
        given.setdefault("stderr", subprocess.PIPE)
    return subprocess.run([sys.executable, "-c", code, *map(str, argv)], **given)
