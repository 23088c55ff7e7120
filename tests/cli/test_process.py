"""The command as a process: entry, streams, pipes, and a foreign engine beside ours."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


def test_check_through_the_entry(process, shipped):
    ran = process("check", shipped("base"), "--json")
    assert (ran.status, ran.err) == (0, "")
    assert json.loads(ran.out)["verdict"] == "clear"


def test_danger_is_status_one(process, shipped):
    ran = process("check", shipped("overreach"))
    assert (ran.status, ran.err) == (1, "")
    assert "VERDICT: DANGER" in ran.out


def test_no_colour_codes_reach_a_pipe(process, shipped):
    ran = process("check", shipped("hot_day"), env=(("FORCE_COLOR", "1"), ("NO_COLOR", "1")))
    assert "\x1b" not in ran.out + ran.err


def test_without_terminal_it_says_how_to_run_headless(process):
    ran = process()
    assert (ran.status, ran.out) == (2, "")
    assert len(ran.err.strip().splitlines()) == 1
    assert "soakbox check FILE" in ran.err


def test_a_reader_that_goes_away_is_no_error(shipped):
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    reader, writer = os.pipe()
    os.close(reader)
    try:
        done = subprocess.run(
            [sys.executable, "-c", "from tui.start import main; main()", "check",
             str(shipped("base"))], stdout=writer, stderr=subprocess.PIPE, text=True, env=env,
            timeout=60, check=False)
    finally:
        os.close(writer)
    assert done.stderr == ""
    # Not 1: that status says danger.
    assert done.returncode in (0, 141)


@pytest.mark.parametrize("files", [
    {"__init__.py": "__version__ = '0.4'\n", "chemical.py": ""},
    {"__init__.py": "raise RuntimeError('loaded')\n", "ops.py": ""},
    {},
], ids=["package", "look-alike", "namespace"])
def test_a_foreign_engine_is_told_in_one_line(process, shipped, tmp_path, files):
    folder = tmp_path / "thermo"
    folder.mkdir()
    for name, text in files.items():
        (folder / name).write_text(text)
    ran = process("check", shipped("base"), path=[tmp_path], cwd=tmp_path)
    if not files:  # a bare folder gives way to a real package further down the path
        assert ran.status == 0
        return
    assert (ran.status, ran.out) == (3, "")
    assert len(ran.err.strip().splitlines()) == 1
    assert "another package named 'thermo'" in ran.err
    assert str(folder) in ran.err


def test_a_read_only_cache_is_no_obstacle(process, shipped, tmp_path):
    place = tmp_path / "file"
    place.write_text("not a folder")
    ran = process("check", shipped("base"), "--json", env=[("SOAKBOX_CACHE", str(place))])
    assert ran.status == 0
    assert json.loads(ran.out)["verdict"] == "clear"


def test_a_narrow_encoding_is_no_obstacle(process, shipped):
    ran = process("check", shipped("base"), env=[("PYTHONIOENCODING", "ascii"), ("LC_ALL", "C")])
    assert ran.status == 0
    assert "Traceback" not in ran.err


def test_a_tank_that_boils_dry_ends_the_run(process, shipped, tmp_path):
    text = shipped("base").read_text(encoding="utf-8")
    path = tmp_path / "dry.toml"
    path.write_text(text.replace(
        "[[leg]]", '[[leg]]\nkind = "warm-up"\nduration = "2 h"\n\n[[leg]]', 1))
    ran = process("check", path, "--set", "tank.volume=4 L", timeout=8)
    assert ran.status in (1, 3)
    assert ran.err == ""
    assert "VERDICT: " in ran.out
