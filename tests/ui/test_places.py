"""What is kept beside the scenarios: recent files, settings, and edits that outlive a crash."""

from __future__ import annotations

import errno
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from thermo.errors import ScenarioError
from tui import places, recovery
from tui.places import Settings
from tui.recovery import RecoveryKeeper, discard, pending_recoveries, restore
from tui.scenario_file import SaveRefusedError
from tui.session import Session

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "scenarios" / "base.toml").read_text(encoding="utf-8")

EDITING = """
import sys, time
from tui.recovery import RecoveryKeeper
from tui.session import Session

session = Session.open(sys.argv[1])
keeper = RecoveryKeeper()
keeper.watch(session)
session.edit("tank.volume", "9 gal")
session.edit("tank.fill", "0.8")
print(keeper.message or "kept", flush=True)
time.sleep(60)
"""


@pytest.fixture
def state(tmp_path, monkeypatch):
    folder = tmp_path / "state" / "soakbox"
    monkeypatch.setenv("SOAKBOX_STATE", str(folder))
    return folder


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def kept(state: Path) -> list[str]:
    folder = state / "recovery"
    return sorted(p.suffix for p in folder.iterdir()) if folder.is_dir() else []


def refuse_writing(monkeypatch, code=errno.EROFS):
    """Make every file that is created fail, as a read-only or full disk does."""
    opened = os.open

    def refused(path, flags, *args, **kwargs):
        if flags & os.O_CREAT:
            raise OSError(code, os.strerror(code), os.fspath(path))
        return opened(path, flags, *args, **kwargs)

    monkeypatch.setattr(os, "open", refused)


def crashed(file: Path) -> recovery.Recovery:
    """Leave edits behind as a killed program does: files without a holder of their lock."""
    session = Session.open(file)
    keeper = RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.volume", "9 gal")
    os.close(keeper._lock)
    (found,), message = pending_recoveries()
    assert message == ""
    return found


def test_the_state_folder_is_the_users_or_the_named_one(state, monkeypatch):
    assert places.state_folder() == state
    monkeypatch.setenv("SOAKBOX_STATE", "")
    monkeypatch.setenv("XDG_STATE_HOME", str(state.parent))
    if sys.platform.startswith("linux"):
        assert places.state_folder() == state.parent / "soakbox"


def test_without_a_home_folder_nothing_is_kept_and_nothing_fails(monkeypatch, file):
    monkeypatch.setenv("SOAKBOX_STATE", "")
    monkeypatch.setattr("platformdirs.user_state_dir", lambda *a, **k: "~/.local/state/soakbox")
    assert "no home folder" in places.note_recent(file)
    assert "no home folder" in places.recent_files()[1]
    assert "no home folder" in places.write_settings(Settings())
    assert places.read_settings()[0] == Settings()
    assert pending_recoveries()[0] == ()
    session, keeper = Session.open(file), RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.fill", "0.8")
    assert "no home folder" in keeper.message
    assert session.scenario.tank.fill == 0.8


def test_recent_files_are_remembered_latest_first_and_once(state, tmp_path):
    assert places.recent_files() == ((), "")
    names = [tmp_path / f"{n}.toml" for n in range(15)]
    for name in names:
        assert places.note_recent(name) == ""
    assert places.note_recent(names[10]) == ""
    found, message = places.recent_files()
    assert message == ""
    assert found == (names[10], *(names[n] for n in (14, 13, 12, 11, 9, 8, 7, 6, 5, 4, 3)))
    assert places.forget_recent(names[14]) == ""
    assert names[14] not in places.recent_files()[0]
    assert [p.name for p in state.iterdir()] == ["recent.json"]


def test_a_name_that_is_no_text_is_remembered(state):
    odd = Path(os.fsdecode(b"/tracks/\xff.toml"))
    places.note_recent(odd)
    assert places.recent_files() == ((odd,), "")


@pytest.mark.parametrize(
    "damaged",
    [b"", b"{", b"[]", b'{"recent": 3}', b'{"recent": [1]}', b"\xff\xfe", b"[" * 90_000,
     b" " * 300_000],
)
def test_a_damaged_recent_list_is_set_aside_and_said(state, tmp_path, damaged):
    state.mkdir(parents=True)
    (state / "recent.json").write_bytes(damaged)
    found, message = places.recent_files()
    assert found == ()
    assert "not known" in message
    assert (state / "recent.json").read_bytes() == damaged
    assert "set aside" in places.note_recent(tmp_path / "car.toml")
    assert (state / "recent.json.damaged").read_bytes() == damaged
    assert places.recent_files() == ((tmp_path / "car.toml",), "")


def test_a_disk_that_takes_nothing_is_said_and_keeps_what_is_there(state, tmp_path, monkeypatch):
    places.note_recent(tmp_path / "one.toml")
    places.write_settings(Settings("paper", "us"))
    with monkeypatch.context() as patched:
        refuse_writing(patched)
        assert "Read-only file system" in places.note_recent(tmp_path / "two.toml")
        assert "Read-only file system" in places.write_settings(Settings())
    with monkeypatch.context() as patched:
        def full(*args):
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        patched.setattr(os, "replace", full)
        assert "No space left" in places.note_recent(tmp_path / "two.toml")
    assert places.recent_files() == ((tmp_path / "one.toml",), "")
    assert places.read_settings() == (Settings("paper", "us"), "")
    assert sorted(p.name for p in state.iterdir()) == ["recent.json", "settings.json"]


def test_a_file_in_place_of_the_folder_is_said(tmp_path, monkeypatch, file):
    monkeypatch.setenv("SOAKBOX_STATE", str(file))
    assert "not kept" in places.note_recent(file)
    assert "not known" in places.recent_files()[1]
    assert "not kept" in places.write_settings(Settings())
    assert file.read_text(encoding="utf-8") == TEXT


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ('{"theme": "paper", "units": "us"}', Settings("paper", "us")),
        ('{"theme": 3, "units": "imperial"}', Settings()),
        ('{"theme": "\\u001b[31m"}', Settings()),
        ("[]", Settings()),
        ("{", Settings()),
    ],
)
def test_settings_fall_back_where_they_make_no_sense(state, text, expected):
    state.mkdir(parents=True)
    (state / "settings.json").write_text(text, encoding="utf-8")
    settings, message = places.read_settings()
    assert settings == expected
    assert bool(message) == (text in ("[]", "{"))


def test_shipped_scenarios_are_found_beside_the_package_or_in_it(tmp_path, monkeypatch):
    assert places.demo_path().name == "base.toml"
    assert "base.toml" in [path.name for path in places.shipped_scenarios()]
    demo = Session(places.demo_text(), name="demo")
    assert (demo.path, demo.dirty) == (None, False)
    package = tmp_path / "site" / "tui"
    (package / "scenarios").mkdir(parents=True)
    monkeypatch.setattr(places, "__file__", str(package / "places.py"))
    with pytest.raises(places.PlaceError, match="install soakbox again"):
        places.demo_text()
    (package / "scenarios" / "base.toml").write_text("# installed\n", encoding="utf-8")
    assert places.demo_text() == "# installed\n"


def test_edits_are_kept_until_they_are_saved(state, file):
    session, keeper = Session.open(file), RecoveryKeeper()
    keeper.watch(session)
    assert kept(state) == []
    session.edit("tank.volume", "9 gal")
    assert kept(state) == [".json", ".lock", ".toml"]
    (text,) = (state / "recovery").glob("*.toml")
    assert text.read_text(encoding="utf-8") == session.text
    session.undo()
    assert kept(state) == []
    session.redo()
    assert kept(state) == [".json", ".lock", ".toml"]
    session.save()
    assert kept(state) == []
    session.edit("tank.volume", "10 gal")
    keeper.unwatch(session)
    assert kept(state) == []
    session.edit("tank.volume", "11 gal")
    assert kept(state) == []


def test_a_killed_program_leaves_its_edits_and_a_running_one_does_not_offer_them(state, file):
    running = subprocess.Popen(
        [sys.executable, "-c", EDITING, str(file)], stdout=subprocess.PIPE, text=True, cwd=ROOT,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    try:
        assert running.stdout.readline() == "kept\n"
        assert pending_recoveries() == ((), "")
    finally:
        os.kill(running.pid, signal.SIGKILL)
        running.wait()
        running.stdout.close()
    (found,), message = pending_recoveries()
    assert message == ""
    assert (found.path, found.name) == (file, "car.toml")
    assert abs(found.time.timestamp() - time.time()) < 60
    session = restore(found)
    assert session.changed_keys() == ("tank.volume", "tank.fill")
    assert session.dirty
    assert session.scenario.tank.fill == 0.8
    keeper = RecoveryKeeper()
    keeper.watch(session)
    assert discard(found) == ""
    assert pending_recoveries() == ((), "")  # kept by this program now
    assert kept(state) == [".json", ".lock", ".toml"]
    session.save()
    assert file.read_text(encoding="utf-8") == session.text
    assert kept(state) == []


def test_two_programs_on_one_file_keep_their_edits_apart(state, file):
    sessions = [Session.open(file), Session.open(file)]
    keepers = [RecoveryKeeper(), RecoveryKeeper()]
    for keeper, session, fill in zip(keepers, sessions, ("0.8", "0.9"), strict=True):
        keeper.watch(session)
        session.edit("tank.fill", fill)
        places.note_recent(file.with_name(f"{fill}.toml"))
    assert pending_recoveries() == ((), "")
    assert len(list((state / "recovery").glob("*.toml"))) == 2
    assert len(places.recent_files()[0]) == 2
    sessions[0].save()
    with pytest.raises(SaveRefusedError, match="changed since"):
        sessions[1].save()
    os.close(keepers[1]._lock)
    (found,), _ = pending_recoveries()
    assert restore(found).scenario.tank.fill == 0.9


def test_a_file_changed_after_the_crash_is_not_written_over(state, file):
    found = crashed(file)
    file.write_text(TEXT.replace("0.85", "0.7"), encoding="utf-8")
    session = restore(found)
    with pytest.raises(SaveRefusedError, match="changed since"):
        session.save()
    session.save(force=True)
    assert file.read_text(encoding="utf-8") == TEXT.replace("38 L", "9 gal")


def test_edits_without_a_file_are_kept_too(state):
    session, keeper = Session(TEXT, name="demo"), RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.volume", "9 gal")
    (text,) = (state / "recovery").glob("*.toml")
    assert text.name.startswith("untitled-")
    os.close(keeper._lock)
    (found,), _ = pending_recoveries()
    restored = restore(found)
    assert (restored.path, restored.name) == (None, "demo")
    assert restored.changed_keys() == ("tank.volume",)


@pytest.mark.parametrize("about", [b"{", b"[]", b'{"path": 3, "name": "", "saved_text": ""}', None])
def test_kept_edits_are_offered_even_when_where_they_are_from_is_lost(state, file, about):
    found = crashed(file)
    described = found.file.with_suffix(".json")
    described.unlink()
    if about is not None:
        described.write_bytes(about)
    (found,), message = pending_recoveries()
    assert (found.path, message) == (None, "")
    session = restore(found)
    assert session.scenario.tank.volume == pytest.approx(9 * 3.785411784e-3)
    assert session.dirty


def test_kept_edits_that_hold_no_scenario_stay_on_disk(state, file):
    found = crashed(file)
    found.file.write_bytes(b"tank = 3")
    with pytest.raises(ScenarioError, match="tank"):
        restore(found)
    found.file.write_bytes(b"\xff")
    with pytest.raises(recovery.RecoveryError, match="cannot be read"):
        restore(found)
    assert found.file.exists()


def test_a_full_disk_keeps_the_edit_and_the_last_kept_text(state, file, monkeypatch):
    session, keeper = Session.open(file), RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.volume", "9 gal")
    before = session.text
    with monkeypatch.context() as patched:
        refuse_writing(patched, errno.ENOSPC)
        session.edit("tank.volume", "10 gal")
        assert "No space left" in keeper.message
    (text,) = (state / "recovery").glob("*.toml")
    assert text.read_text(encoding="utf-8") == before
    assert session.row("tank.volume").text == "10 gal"
    session.edit("tank.volume", "11 gal")
    assert keeper.message == ""
    assert text.read_text(encoding="utf-8") == session.text


def test_keeping_an_edit_is_quick(state, file):
    session, keeper = Session.open(file), RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.volume", "9 gal")
    best = 1.0
    for _ in range(10):
        start = time.perf_counter()
        keeper.record(session)
        best = min(best, time.perf_counter() - start)
    assert best < 0.005
    assert json.loads(next((state / "recovery").glob("*.json")).read_text())["path"] == str(file)
