"""The real command in a real pseudo-terminal: edit, save, quit; a kill; poor terminals."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.ui.piloting import SCENARIOS, copy_of

if sys.platform == "win32":
    pytest.skip("needs a pseudo-terminal", allow_module_level=True)
pytest.importorskip("pyte")

from tests.ui.terminal import ROOT, START


def to_tank_volume(terminal):
    terminal.press("/", "inside volume", "enter")
    terminal.until("tank.volume")


def test_an_edit_changes_the_verdict_and_one_value_of_the_file(open_terminal, tmp_path):
    path = copy_of("hot_day", tmp_path)
    before = path.read_text()
    terminal = open_terminal("open", path)
    terminal.until("CAUTION: margin to boiling 8.5 K", "hot_day.toml")
    to_tank_volume(terminal)
    terminal.press("enter", "24 L", "enter")
    terminal.until("XX DANGER", "was CAUTION", "tank.volume: 46 L -> 24 L")
    terminal.press("ctrl+s")
    terminal.until("saved:")
    terminal.press("ctrl+q")
    assert terminal.ended() == 0
    pairs = zip(before.splitlines(), path.read_text().splitlines(), strict=True)
    assert [new for old, new in pairs if old != new] == ['volume = "24 L"']
    assert "#" in path.read_text()


def test_a_killed_program_offers_its_unsaved_edits_at_the_next_start(open_terminal, tmp_path):
    path = copy_of("hot_day", tmp_path)
    terminal = open_terminal("open", path)
    terminal.until("CAUTION")
    to_tank_volume(terminal)
    terminal.press("enter", "61 L", "enter")
    terminal.until("-> 61 L")
    terminal.press("enter", "62")
    terminal.until("Enter takes 62 L")
    terminal.kill()
    assert 'volume = "46 L"' in path.read_text()
    again = open_terminal("open", path)
    again.until("Unsaved edits of hot_day.toml", "take them up again")
    again.press("enter")
    again.until("taken up again", "hot_day.toml*")
    again.press("ctrl+s")
    again.until("saved:")
    assert 'volume = "61 L"' in path.read_text()


@pytest.mark.parametrize("deaf", [False, True], ids=["told", "not told"])
def test_a_terminal_that_is_closed_ends_the_program_and_keeps_the_edits(
    open_terminal, tmp_path, deaf
):
    path = copy_of("hot_day", tmp_path)
    terminal = open_terminal("open", path, deaf=deaf)
    terminal.until("CAUTION")
    to_tank_volume(terminal)
    terminal.press("enter", "61 L", "enter")
    terminal.until("-> 61 L")
    terminal.close()
    assert terminal.gone()
    again = open_terminal("open", path)
    again.until("Unsaved edits of hot_day.toml")


def test_without_tables_the_screen_is_there_first_and_says_what_is_done(open_terminal, tmp_path):
    terminal = open_terminal(
        "open", SCENARIOS / "hot_day.toml", SOAKBOX_CACHE=str(tmp_path / "cache")
    )
    terminal.until("Building the property tables", " of 5: ", "THE DAY")
    terminal.press("down", "down")
    terminal.until("site.elevation")
    terminal.until("CAUTION: margin to boiling 8.5 K")


def test_the_first_start_opens_the_demo_with_hints(open_terminal):
    terminal = open_terminal()
    terminal.until("CLEAR", "This is the demo. Press 2")
    terminal.press("right")
    terminal.until_gone("This is the demo")


def test_without_colour_the_screen_tells_the_same(open_terminal):
    path = SCENARIOS / "hot_day.toml"
    plain = open_terminal("open", path, NO_COLOR="1")
    coloured = open_terminal("open", path)
    for terminal in (plain, coloured):
        terminal.until("CAUTION: margin to boiling 8.5 K", "! 65 °C")
        terminal.settle()
    assert plain.text() == coloured.text()
    rgb = {tuple(int(x) for x in m) for m in re.findall(rb"[34]8;2;(\d+);(\d+);(\d+)", plain.raw)}
    assert all(max(c) - min(c) <= 1 for c in rgb)
    assert any(max(c) - min(c) > 40 for c in {
        tuple(int(x) for x in m)
        for m in re.findall(rb"[34]8;2;(\d+);(\d+);(\d+)", coloured.raw)
    })


def test_sixteen_colours_are_enough(open_terminal):
    terminal = open_terminal(
        "open", SCENARIOS / "hot_day.toml", TERM="xterm", COLORTERM=""
    )
    terminal.until("CAUTION: margin to boiling 8.5 K", "! 65 °C")
    terminal.settle()
    assert b"38;2;" not in terminal.raw
    assert b"38;5;" not in terminal.raw
    cells = [c for row in terminal.screen.buffer.values() for c in row.values() if c.data != " "]
    assert sum(c.fg == c.bg for c in cells if c.data.isalnum()) == 0


@pytest.mark.parametrize("variables", [
    {"SOAKBOX_ASCII": "1"},
    {"PYTHONIOENCODING": "latin-1"},
    {"PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0", "LC_ALL": "C", "PYTHONIOENCODING": "ascii"},
])
def test_a_terminal_without_unicode_gets_ascii(open_terminal, variables):
    terminal = open_terminal("open", SCENARIOS / "hot_day.toml", **variables)
    terminal.until("CAUTION: margin to boiling 8.5 K", "TANK 43.8 kPa")
    terminal.settle()
    assert terminal.text().isascii()


def test_a_file_that_cannot_be_used_ends_with_one_message(open_terminal, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text('schema = 1\n[tank]\nvolume = "3 parsecs"\n')
    terminal = open_terminal("open", bad)
    assert terminal.ended() == 2
    assert b"parsecs" in terminal.raw


def test_without_a_terminal_it_says_what_to_run():
    done = subprocess.run(
        [sys.executable, "-c", START, "open", str(SCENARIOS / "base.toml")],
        capture_output=True, text=True, timeout=60, check=False,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.returncode == 2
    assert "needs a terminal" in done.stderr
    assert "soakbox check FILE" in done.stderr


def test_starting_imports_no_engine_before_the_first_paint():
    code = (
        "import sys\nimport tui.cli, tui.app, tui.launch\n"
        "print([m for m in sys.modules if m.split('.')[0] in ('numpy', 'pydantic', 'scipy',\n"
        "    'pint', 'tomlkit')])"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert done.stdout.strip() == "[]"


def test_a_small_terminal_grows_into_the_whole_screen(open_terminal, tmp_path):
    terminal = open_terminal("open", SCENARIOS / "base.toml", width=60, height=20)
    terminal.until("Soakbox needs 78 by 23")
    terminal.resize(100, 30)
    terminal.until("CLEAR", "TANK")
    assert Path(tmp_path / "state").is_dir()
