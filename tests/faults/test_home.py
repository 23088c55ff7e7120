"""Homes that cannot hold anything, caches that are missing, spoilt or of another time.

Here in processes of their own; in this one in `tests/physics/test_properties.py` (tables) and
`tests/ui/test_places.py` (settings, unsaved work).
"""

from __future__ import annotations

import os
import time

import pytest

from tests.faults.command import MAIN, ROOT, bound_by_permissions, command, surroundings

BASE = ROOT / "scenarios" / "base.toml"
FUTURE = 400 * 86400.0
"""How far ahead the clock was when files were written [s], before it was set back."""
NOBODY = """
import os, pwd
def unknown(number):
    raise KeyError(number)
pwd.getpwuid = unknown
"""
"""A user whom the system does not know, as in a container with a bare number for a user."""


def tables_told(ran):
    """Return what the self test says of the property tables."""
    assert (ran.returncode, ran.stderr) == (0, ""), ran.stdout + ran.stderr
    return " ".join(ran.stdout.split()).split("ok property tables ")[1].split(" ok ")[0]


@pytest.fixture
def read_only(tmp_path):
    """Return a home folder that takes nothing."""
    home = tmp_path / "home"
    home.mkdir()
    home.chmod(0o555)
    yield home
    home.chmod(0o755)


def test_a_read_only_home_is_told_and_stops_nothing(read_only):
    ran = command("selftest", env=surroundings(HOME=str(read_only), SOAKBOX_CACHE=None),
                  preexec_fn=bound_by_permissions)
    assert "built, not kept: " in tables_told(ran)
    assert " ".join(ran.stdout.split()).count("cannot be written: Permission denied") == 3
    assert list(read_only.iterdir()) == []


def test_a_home_that_is_a_file_is_told_and_stops_nothing(tmp_path):
    home = tmp_path / "home"
    home.write_text("")
    ran = command("selftest", env=surroundings(HOME=str(home), SOAKBOX_CACHE=None))
    assert "built, not kept: the property tables could not be kept: " in tables_told(ran)


def test_without_a_home_nothing_is_kept_and_nothing_stops(tmp_path):
    ran = command("selftest", env=surroundings(HOME=None, SOAKBOX_CACHE=None), cwd=tmp_path,
                  code=NOBODY + MAIN)
    assert ran.stdout.count("nowhere: there is no home folder") == 3
    assert list(tmp_path.iterdir()) == []


TABLES = """
import hashlib, json
from thermo.properties import load_tables
from thermo.tables import tables_to_data
tables = load_tables()
content = json.dumps(tables_to_data(tables), sort_keys=True)
print(tables.origin, hashlib.sha256(content.encode()).hexdigest())
"""


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """Build tables once; return their file, and the hash of what they hold."""
    folder = tmp_path_factory.mktemp("cache")
    origin, digest = command(
        code=TABLES, env=surroundings(SOAKBOX_CACHE=str(folder))).stdout.split()
    assert origin == "built"
    return next(folder.iterdir()), digest


def test_a_cache_folder_that_is_not_there_is_made(tmp_path):
    cache = tmp_path / "not" / "there" / "yet"
    place = {"env": surroundings(SOAKBOX_CACHE=str(cache)), "code": TABLES}
    assert command(**place).stdout.split()[0] == "built"
    assert [path.suffix for path in cache.iterdir()] == [".json"]
    assert command(**place).stdout.split()[0] == "cache"


def one_digit(whole):
    """Return the tables with one digit of a coefficient another."""
    at = next(n for n in range(whole.index(b'"content"') + 2000, len(whole))
              if whole[n:n + 1] in b"12345678")
    return whole[:at] + bytes([whole[at] + 1]) + whole[at + 1:]


def test_a_spoilt_table_is_noticed_and_built_anew(built, tmp_path):
    """One digit is another; other ways are tried in `tests/physics/test_properties.py`."""
    file, digest = built
    spoilt = tmp_path / file.name
    spoilt.write_bytes(one_digit(file.read_bytes()))
    place = {"env": surroundings(SOAKBOX_CACHE=str(tmp_path)), "code": TABLES}
    assert command(**place).stdout.split() == ["built", digest]
    assert spoilt.read_bytes() == file.read_bytes()
    assert command(**place).stdout.split() == ["cache", digest]


def test_a_folder_in_place_of_the_table_is_left_and_stops_nothing(built, tmp_path):
    file, digest = built
    (tmp_path / file.name).mkdir()
    ran = command(env=surroundings(SOAKBOX_CACHE=str(tmp_path)), code=TABLES)
    assert ran.stdout.split() == ["memory", digest]
    assert [path.name for path in tmp_path.iterdir()] == [file.name]


def test_a_clock_set_back_changes_nothing(built, tmp_path):
    """Files from the future: tables and scenario are told good or bad by what they hold."""
    scenario, table = tmp_path / "car.toml", tmp_path / "cache" / built[0].name
    scenario.write_bytes(BASE.read_bytes())
    table.parent.mkdir()
    table.write_bytes(built[0].read_bytes())
    place = {"env": surroundings(SOAKBOX_CACHE=str(table.parent))}
    right = command("check", scenario, "--json", **place).stdout
    ahead = time.time() + FUTURE
    for path in (scenario, table, table.parent):
        os.utime(path, (ahead, ahead))
    assert command("check", scenario, "--json", **place).stdout == right
    assert command(code=TABLES, **place).stdout.split()[0] == "cache"


EDITED = """
import os, sys, time
from tui.recovery import RecoveryKeeper, pending_recoveries, restore
from tui.session import Session
if sys.argv[2] == "edit":
    session = Session.open(sys.argv[1])
    keeper = RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.volume", "61 L")
    os._exit(1)
(found,), note = pending_recoveries()
session = restore(found)
session.save()
print(note, found.name, session.row("tank.volume").text)
"""


def test_edits_kept_by_a_later_clock_are_offered_and_saved(tmp_path):
    file = tmp_path / "car.toml"
    file.write_bytes(BASE.read_bytes())
    place = {"env": surroundings(SOAKBOX_STATE=str(tmp_path / "state")), "code": EDITED}
    assert command(file, "edit", **place).returncode == 1
    ahead = time.time() + FUTURE
    for path in (file, *(tmp_path / "state").rglob("*")):
        os.utime(path, (ahead, ahead))
    ran = command(file, "offer", **place)
    assert (ran.returncode, ran.stderr, ran.stdout) == (0, "", " car.toml 61 L\n")
    assert 'volume = "61 L"' in file.read_text(encoding="utf-8")
