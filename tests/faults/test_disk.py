"""A disk that is full and folders that take nothing: said in words, and nothing is spoilt.

The full disk is a limit on the size of files (setrlimit, RLIMIT_FSIZE), under which writing fails
in the same place as on a full disk; that a write fails for want of space is drawn in
`tests/ui/test_session.py`, and for the screen in `tests/ui/test_app_editing.py`.
"""

from __future__ import annotations

import json
import shutil

import pytest

from tests.faults.command import CACHE, ROOT, bound_by_permissions, command, full_disk, surroundings

BASE = ROOT / "scenarios" / "base.toml"
SHORT = ("--without", "sizes,weather,doubt,assumptions,working")
EDITING = """
import sys
from thermo.scenario_io import ScenarioFileError
from tui.session import Session
session = Session.open(sys.argv[1])
session.edit("tank.volume", "61 L")
try:
    session.save()
except ScenarioFileError as error:
    print(error)
print(session.dirty, session.row("tank.volume").text)
"""
OLD = "what was there before"
WRITING = {
    "new": ("new", "{out}.toml"),
    "series": ("check", BASE, "--series", "{out}.csv"),
    "working": ("working", BASE, "boil_margin_K", "--out", "{out}.md"),
    "map": ("map", BASE, "--x", "tank.volume=40 L:60 L:2", "--y", "tank.fill=0.8:0.9:2",
            "--out", "{out}.svg"),
    "report": ("report", BASE, *SHORT, "--out", "{out}.html"),
    "pdf": ("report", BASE, *SHORT, "--out", "{out}.pdf"),
    "markdown": ("report", BASE, *SHORT, "--out", "{out}.md"),
}
ROOM = {"report": 20_000, "pdf": 8192, "markdown": 4096}
"""Room on the disk [bytes] where a file that is begun must not stay; none for the others."""


@pytest.mark.parametrize("name", WRITING)
def test_what_a_full_disk_does_not_take_is_told_and_leaves_nothing(name, tmp_path):
    argv = [str(word).format(out=tmp_path / "out") for word in WRITING[name]]
    target = next(path for path in map(type(tmp_path), argv) if path.parent == tmp_path)
    if name != "new":  # which never writes over a file
        target.write_text(OLD, encoding="utf-8")
    ran = command(*argv, preexec_fn=full_disk(ROOM.get(name, 0)))
    assert ran.returncode == 2, ran.stderr
    assert "File too large" in ran.stderr
    assert str(tmp_path) in ran.stderr
    assert len(ran.stderr.strip().splitlines()) == 1
    left = [path for path in tmp_path.rglob("*") if path.is_file()]
    if name == "new":
        assert left == []
    else:
        assert target.read_text(encoding="utf-8") == OLD
        assert [p for p in left if p.suffix == ".part"] == []


@pytest.mark.parametrize("room", [0, 700])
def test_a_scenario_that_cannot_be_saved_stays_as_it_was(room, tmp_path):
    file = tmp_path / "car.toml"
    shutil.copy(BASE, file)
    ran = command(file, code=EDITING, preexec_fn=full_disk(room))
    assert ran.stdout.splitlines() == [f"{file}: not saved: File too large", "True 61 L"]
    assert file.read_bytes() == BASE.read_bytes()
    assert list(tmp_path.iterdir()) == [file]


def test_tables_that_find_no_room_are_used_and_not_kept(tmp_path):
    ran = command("check", BASE, "--json", preexec_fn=full_disk(4096),
                  env=surroundings(**{CACHE: str(tmp_path / "cache")}))
    assert (ran.returncode, ran.stderr) == (0, "")
    assert json.loads(ran.stdout)["verdict"] == "clear"
    assert list((tmp_path / "cache").iterdir()) == []


def test_a_folder_that_takes_nothing_keeps_its_scenario_and_gets_no_report(tmp_path):
    file = tmp_path / "car.toml"
    shutil.copy(BASE, file)
    tmp_path.chmod(0o555)
    try:
        saved = command(file, code=EDITING, preexec_fn=bound_by_permissions)
        report = command("check", BASE, "--series", tmp_path / "r.csv",
                         preexec_fn=bound_by_permissions)
    finally:
        tmp_path.chmod(0o755)
    assert saved.stdout.splitlines() == [f"{file}: not saved: Permission denied", "True 61 L"]
    assert file.read_bytes() == BASE.read_bytes()
    assert report.returncode == 2
    assert report.stderr == f"soakbox: cannot write {tmp_path / 'r.csv'}: Permission denied\n"
    assert list(tmp_path.iterdir()) == [file]
