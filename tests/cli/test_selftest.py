"""``soakbox selftest``: what it tells, and that it fails where something is spoilt."""

from __future__ import annotations

import json

import pytest

from tui import selftest


@pytest.fixture
def quick(monkeypatch):
    """Run fewer of the published cases."""
    monkeypatch.setattr(selftest, "EVERY", 60)


def test_it_holds_and_says_where_things_are(soakbox, quick, tmp_path, monkeypatch):
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "kept"))
    ran = soakbox("selftest")
    assert (ran.status, ran.err) == (0, "")
    assert "~/kept: not there yet, can be made" in ran.out
    assert str(tmp_path) not in ran.out
    assert "all checks hold" in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80
    assert not (tmp_path / "kept").exists()


def test_a_check_that_raises_is_told_and_fails_it(soakbox, quick, monkeypatch):
    def spoilt():
        raise ArithmeticError("a library gone wrong\x1b[2J")

    monkeypatch.setitem(selftest.CHECKS, "demo scenario", spoilt)
    ran = soakbox("selftest", "--json")
    told = json.loads(ran.out)
    assert (ran.status, told["holds"]) == (3, False)
    (demo,) = [f for f in told["found"] if f["what"] == "demo scenario"]
    assert demo["holds"] is False
    assert "ArithmeticError: a library gone wrong" in demo["found"]
    assert "\x1b" not in demo["found"]


def test_a_folder_that_cannot_be_written_is_told_and_fails_nothing(soakbox, quick, tmp_path,
                                                                   monkeypatch):
    file = tmp_path / "file"
    file.write_text("no folder")
    monkeypatch.setenv("SOAKBOX_STATE", str(file / "kept"))
    ran = soakbox("selftest")
    assert "cannot be written" in ran.out
    assert ran.status == 0
