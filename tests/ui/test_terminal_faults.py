"""The screen where something is wrong around it: size, home, disk, terminal, another Soakbox."""

from __future__ import annotations

import sys

import pytest

from tests.ui.piloting import SCENARIOS, copy_of

if sys.platform == "win32":
    pytest.skip("needs a pseudo-terminal", allow_module_level=True)
pytest.importorskip("pyte")

from tests.faults.command import MAIN, bound_by_permissions, full_disk

HOT = "CAUTION: margin to boiling 8.5 K"
NOT_KEPT = "unsaved edits are not kept"
UNKNOWN = "import pwd\ndef unknown(number):\n    raise KeyError(number)\npwd.getpwuid = unknown\n"


def set_tank_volume(terminal, typed, *told):
    """Put a value in, and wait until it is taken, and until it is told or something else is."""
    terminal.press("/", "inside volume", "enter")
    terminal.until("tank.volume")
    terminal.press("enter", typed, "enter")
    terminal.until(*(told or (f"-> {typed}",)))


@pytest.mark.parametrize("sizes", [
    [(1, 1)], [(0, 0)], [(1, 200), (300, 1), (2, 2)], [(0, 0), (1, 1), (77, 22)]], ids=str)
def test_a_window_made_nothing_and_large_again_shows_all_as_before(open_terminal, sizes):
    terminal = open_terminal("open", SCENARIOS / "hot_day.toml", width=100, height=30)
    terminal.until(HOT)
    terminal.settle()
    before = terminal.text()
    for size in sizes:
        terminal.resize(*size)
        terminal.settle()
        terminal.press("down")  # a key while there is nothing to see must do no harm
        terminal.settle()
        terminal.press("up")
        terminal.settle()
    terminal.resize(100, 30)
    terminal.until(HOT, "TANK")
    terminal.settle()
    assert terminal.text() == before
    terminal.press("ctrl+q")
    assert terminal.ended() == 0


@pytest.mark.parametrize("size", [(1, 1), (0, 0)], ids=str)
def test_a_start_in_a_window_of_no_size_waits_for_a_larger_one(open_terminal, size):
    terminal = open_terminal("open", SCENARIOS / "hot_day.toml", width=10, height=5)
    terminal.resize(*size)
    terminal.settle(1.0)
    terminal.resize(100, 30)
    terminal.until(HOT, "TANK")
    terminal.press("ctrl+q")
    assert terminal.ended() == 0


def test_a_dumb_terminal_is_told_how_to_run_without_the_screen(open_terminal):
    terminal = open_terminal("open", SCENARIOS / "base.toml", TERM="dumb")
    assert terminal.ended() == 2
    assert b"needs a terminal" in terminal.raw
    assert b"soakbox check FILE" in b" ".join(terminal.raw.split())
    assert b"\x1b" not in terminal.raw


@pytest.mark.parametrize("term", ["vt100", "", "no-such-terminal", "screen", "linux"])
def test_any_other_terminal_gets_the_screen(open_terminal, term):
    terminal = open_terminal("open", SCENARIOS / "hot_day.toml", TERM=term, COLORTERM=None)
    terminal.until(HOT, "TANK")
    terminal.press("ctrl+q")
    assert terminal.ended() == 0


def test_a_read_only_home_stops_no_work_and_is_told(open_terminal, tmp_path):
    path = copy_of("hot_day", tmp_path)
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(0o555)
    try:
        terminal = open_terminal(
            "open", path, prepare=bound_by_permissions, HOME=str(home), SOAKBOX_STATE=None,
            XDG_STATE_HOME=None, XDG_CACHE_HOME=None)
        terminal.until(HOT, "the recent files are not kept")
        set_tank_volume(terminal, "61 L", NOT_KEPT, "Permission denied")
        terminal.press("ctrl+s")
        terminal.until("the recent files are not kept")
        terminal.press("ctrl+q")
        assert terminal.ended() == 0
    finally:
        home.chmod(0o755)
    assert 'volume = "61 L"' in path.read_text(encoding="utf-8")
    assert list(home.iterdir()) == []


def test_without_a_home_the_screen_works_and_says_what_is_not_kept(open_terminal, tmp_path):
    path = copy_of("hot_day", tmp_path)
    terminal = open_terminal("open", path, code=UNKNOWN + MAIN, HOME=None, SOAKBOX_STATE=None,
                             XDG_STATE_HOME=None, XDG_CACHE_HOME=None)
    terminal.until(HOT, "there is no home folder; set")
    set_tank_volume(terminal, "61 L", NOT_KEPT, "there is no home folder")
    terminal.press("ctrl+s")
    terminal.until("the recent files are not kept")
    terminal.press("ctrl+q")
    assert terminal.ended() == 0
    assert 'volume = "61 L"' in path.read_text(encoding="utf-8")


def test_a_disk_that_takes_nothing_keeps_the_edits_on_the_screen(open_terminal, tmp_path):
    path = copy_of("hot_day", tmp_path)
    before = path.read_bytes()
    terminal = open_terminal("open", path, prepare=full_disk(), PYTHONDONTWRITEBYTECODE="1")
    terminal.until(HOT)
    set_tank_volume(terminal, "61 L", NOT_KEPT, "File too large")
    terminal.press("ctrl+s")
    terminal.until("not saved", "the edits are kept here", "hot_day.toml*")
    terminal.press("ctrl+q")
    terminal.until("has edits that are not saved")
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir() if p.name.endswith(".part")] == []


def test_of_two_on_one_file_the_second_is_asked_before_it_writes(open_terminal, tmp_path):
    path = copy_of("hot_day", tmp_path)
    first, second = (open_terminal("open", path) for _ in range(2))
    for terminal, typed in ((first, "61 L"), (second, "62 L")):
        terminal.until(HOT)
        set_tank_volume(terminal, typed)
    first.press("ctrl+s")
    first.until("saved:")
    second.press("ctrl+s")
    second.until("the file was changed since it was read", "leave the file as it is")
    assert 'volume = "61 L"' in path.read_text(encoding="utf-8")
    second.press("enter")
    second.until("hot_day.toml*")
    assert 'volume = "61 L"' in path.read_text(encoding="utf-8")
    first.press("ctrl+q")
    assert first.ended() == 0
