"""What Soakbox stands on: every dependency is told and used, and the network is never asked."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
TOOLS = {"hatchling", "pytest", "pytest-xdist", "mypy", "ruff", "import-linter"}
"""Run as programs, or found by one; need no import."""
OFFLINE = """
import sys
def refuse(event, arguments):
    if event.startswith(("socket.connect", "socket.getaddrinfo", "socket.gethostbyname",
                         "urllib.Request")):
        print("network:", event, arguments, file=sys.stderr)
        raise SystemExit(70)
sys.addaudithook(refuse)
from tui.start import main
main()
"""


def names(requirements):
    found = (re.match(r"[A-Za-z0-9_-]+", text)[0] for text in requirements)
    return {name for name in found if name != "soakbox"}


def everything():
    extras = PROJECT["optional-dependencies"].values()
    return names(PROJECT["dependencies"]).union(*(names(extra) for extra in extras))


def imported(folders):
    text = "\n".join(
        path.read_text(encoding="utf-8") for f in folders for path in (ROOT / f).rglob("*.py"))
    return set(re.findall(r"^\s*(?:import|from) (\w+)", text, re.MULTILINE))


def test_every_dependency_is_told_with_a_reason_and_no_other():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = text.split("## What it stands on")[1].split("\n## ")[0]
    told = re.findall(r"^\| `([\w-]+)` \| \S.*\|$", section, re.MULTILINE)
    assert sorted(told) == sorted(everything())


def test_every_dependency_is_imported():
    assert names(PROJECT["dependencies"]) - imported(("thermo", "tui")) == set()
    assert everything() - TOOLS - imported(("thermo", "tui", "tests")) == set()


def test_every_dependency_has_a_lower_bound():
    extras = PROJECT["optional-dependencies"].values()
    stated = [text for group in (PROJECT["dependencies"], *extras) for text in group]
    assert [t for t in stated if ">=" not in t and not t.startswith("soakbox[")] == []


def test_the_tested_set_is_exact_and_within_the_bounds():
    lines = (ROOT / "constraints.txt").read_text(encoding="utf-8").splitlines()
    pins = dict(re.fullmatch(r"([a-z0-9-]+)==(\d[\d.]*)", line).groups() for line in lines)
    assert len(pins) == len(lines)
    groups = [PROJECT["dependencies"], *(PROJECT["optional-dependencies"][e]
                                         for e in ("test", "dev"))]
    bounds = dict(text.lower().split(">=") for g in groups for text in g if ">=" in text)

    def number(version):
        return [int(part) for part in version.split(".")]

    assert set(bounds) - set(pins) == set()
    assert [n for n, low in bounds.items() if number(pins[n]) < number(low)] == []


@pytest.mark.parametrize("argv", [
    ("check", "scenarios/base.toml"), ("schema",), ("stock",), ("--version",)])
def test_no_network_is_asked_for(argv, tmp_path):
    cache = {"SOAKBOX_CACHE": str(tmp_path)} if argv[0] == "check" else {}
    done = subprocess.run(
        [sys.executable, "-c", OFFLINE, *argv], capture_output=True, text=True, timeout=60,
        cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT), **cache}, check=False)
    assert (done.returncode, done.stderr) == (0, "")
