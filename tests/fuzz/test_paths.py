"""Names of files that an attacker, or a slip, would choose: refused in words, or written there."""

from __future__ import annotations

import os

import pytest

from tests.cli.conftest import process, shipped, soakbox  # noqa: F401
from tests.fuzz.logs import LOGS
from tests.fuzz.watch import SCENARIOS

TEXT = (SCENARIOS / "base.toml").read_bytes()


@pytest.fixture
def place(tmp_path, monkeypatch):
    """A folder with a scenario and a log, from which the command is run."""
    (tmp_path / "in").mkdir()
    monkeypatch.chdir(tmp_path / "in")
    (tmp_path / "in" / "car.toml").write_bytes(TEXT)
    (tmp_path / "in" / "log.svg").write_bytes(LOGS[0])
    return tmp_path / "in"


def files(folder):
    """Return every file below a folder with what it holds; links by where they lead."""
    return {p.relative_to(folder): os.readlink(p) if p.is_symlink() else p.read_bytes()
            for p in folder.rglob("*") if p.is_symlink() or p.is_file()}


def shows_only_text(ran):
    raw = {c for c in ran.out + ran.err if not c.isprintable() and c != "\n"}
    assert not raw, raw


NAMES = (
    "\x1b[2J\x1b]0;x\x07.csv", "a\nb.csv", "a\rb.csv", "\x7f.csv", "\u202egnp.csv", "\u200b.csv",
    "c\u0430r.toml", "car.toml ", "\u0301.csv", " ", "CON", "nul.csv", "~", "$HOME", "%s%n",
    "a" * 250, "\U0001f697" * 60, "../up.csv", "./in.csv", "../in/in2.csv", "\udcff.csv",
)


@pytest.mark.parametrize("name", NAMES, ids=ascii)
def test_a_series_goes_exactly_where_it_was_asked_for(name, place, soakbox):  # noqa: F811
    before = files(place.parent)
    ran = soakbox("check", "car.toml", "--series", name)
    shows_only_text(ran)
    after = files(place.parent)
    new = set(after) - set(before)
    assert {path: after[path] for path in before} == before
    assert [(place / name).resolve()] == [(place.parent / path).resolve() for path in new]
    assert ran.status in (0, 1)


REFUSED = (
    "", ".", "..", "/", "-", "../in/", "/dev/null", "/dev/full", "/proc/self/mem",
    "a" * 256, "a" * 5000, "\U0001f697" * 64, "none/x.csv", "car.toml/x", "\x1b[31mnone/x.csv",
    "car.toml", "./car.toml", "../in/car.toml", "soft", "hard", "ring", "fifo",
)


@pytest.mark.parametrize("name", REFUSED, ids=ascii)
def test_a_name_that_will_not_do_is_refused_and_nothing_is_written(name, place, soakbox):  # noqa: F811
    (place / "soft").symlink_to("car.toml")
    (place / "hard").hardlink_to(place / "car.toml")
    (place / "ring").symlink_to("ring")
    os.mkfifo(place / "fifo")
    before = files(place.parent)
    ran = soakbox("check", "car.toml", "--series", name)
    shows_only_text(ran)
    assert ran.status == 2, ran
    assert ran.err.startswith("soakbox: ")
    assert files(place.parent) == before
    assert len(ran.err) < 1000


def test_a_scenario_named_like_a_file_half_written_stays(place, soakbox):  # noqa: F811
    (place / "out.csv.part").write_bytes(TEXT)
    ran = soakbox("check", "out.csv.part", "--series", "out.csv")
    assert ran.status in (0, 1)
    assert (place / "out.csv.part").read_bytes() == TEXT
    assert (place / "out.csv").stat().st_size > 1000
    assert sorted(p.name for p in place.iterdir()) == ["car.toml", "log.svg", "out.csv",
                                                        "out.csv.part"]


def test_a_link_elsewhere_is_followed_and_stays(place, soakbox):  # noqa: F811
    (place / "link.csv").symlink_to("../there.csv")
    assert soakbox("check", "car.toml", "--series", "link.csv").status in (0, 1)
    assert (place / "link.csv").is_symlink()
    assert (place.parent / "there.csv").stat().st_size > 1000


@pytest.mark.parametrize("option", ["--plots", "--out"])
@pytest.mark.parametrize("name", ["log.svg", "../in/log.svg", "soft.svg", "hard.svg"])
def test_a_log_is_not_written_over(option, name, place, soakbox):  # noqa: F811
    (place / "soft.svg").symlink_to("log.svg")
    (place / "hard.svg").hardlink_to(place / "log.svg")
    ran = soakbox("fit", "car.toml", "log.svg", option, name)
    assert ran.status == 2
    assert "is the log" in ran.err
    assert (place / "log.svg").read_bytes() == LOGS[0]


@pytest.mark.parametrize("name", ["x\x1b[31m.png", "car.\u0442oml", "x.TOML.exe", "\u202elmot.x"],
                         ids=ascii)
def test_another_ending_is_told_without_its_control_characters(name, place, soakbox):  # noqa: F811
    before = files(place)
    for words in (("fit", "car.toml", "log.svg"), ("weather", "car.toml"), ("report", "car.toml")):
        ran = soakbox(*words, "--out", name)
        shows_only_text(ran)
        assert ran.status == 2, ran
    assert files(place) == before


@pytest.mark.parametrize("words", [
    ("check", "no\x1b[31m.toml"), ("check", "car.toml", "--set", "a\x1b[31m=1"),
    ("check", "car.toml", "--\x1b[31m"), ("\x1b[31m",), ("fit", "car.toml", "\x1b[31m.csv"),
    ("check", "car.toml", "--units", "\x1b[31m"), ("new", "no/\x1b[31m"), ("compare", "\x1b[31m"),
    ("fit", "car.toml", "log.svg", "--leave-out", "\x1b[31m"),
    ("map", "car.toml", "--x", "\x1b[31m"), ("working", "car.toml", "\x1b[31m"),
    ("report", "car.toml", "--without", "\x1b[31m", "--out", "x.html"),
], ids=ascii)
def test_whatever_is_quoted_is_quoted_safely(words, place, soakbox):  # noqa: F811
    ran = soakbox(*words)
    assert ran.status == 2, ran
    shows_only_text(ran)
