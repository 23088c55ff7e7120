"""The command as a user runs it: in this process for speed, or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MAIN = "from tui.start import main; main()"


@dataclass(frozen=True)
class Ran:
    status: int
    out: str
    err: str


@pytest.fixture
def soakbox(monkeypatch, capsys):
    """Run the command in this process."""
    from tui.cli import run

    def call(*argv):
        monkeypatch.setattr(sys, "argv", ["soakbox", *map(str, argv)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as end:
            run()
        got = capsys.readouterr()
        return Ran(int(end.value.code or 0), got.out, got.err)

    return call


@pytest.fixture
def process():
    """Run the command in a process of its own; ``path`` goes first on the import path."""

    def call(*argv, path=(), env=(), code=MAIN, **kwargs):
        places = os.pathsep.join([*map(str, path), str(ROOT)])
        done = subprocess.run(
            [sys.executable, "-c", code, *map(str, argv)], capture_output=True, text=True,
            timeout=kwargs.pop("timeout", 60), cwd=kwargs.pop("cwd", ROOT), check=False,
            env={**os.environ, "PYTHONPATH": places, **dict(env)}, **kwargs)
        return Ran(done.returncode, done.stdout, done.stderr)

    return call


@pytest.fixture(scope="session")
def shipped():
    """Return the path of a shipped scenario."""
    return lambda name: ROOT / "scenarios" / f"{name}.toml"
