"""The open scenario: only what was edited changes, every step can be undone, nothing is lost."""

from __future__ import annotations

import difflib
import errno
import os
import tomllib
from pathlib import Path

import pytest

from thermo.errors import ScenarioError
from thermo.scenario_io import ScenarioFileError
from tui import fieldlist
from tui.edits import words_of
from tui.scenario_file import SaveRefusedError
from tui.session import Session

BASE = Path(__file__).resolve().parents[2] / "scenarios" / "base.toml"
TEXT = BASE.read_text(encoding="utf-8")


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


@pytest.fixture
def session(file):
    return Session.open(file)


def line_changes(before: str, after: str) -> list[str]:
    lines = difflib.unified_diff(before.split("\n"), after.split("\n"), lineterm="", n=0)
    return [line for line in list(lines)[2:] if line[0] in "+-"]


def refused(session: Session, key: str, text: str) -> str:
    before = session.text, session.scenario, session.can_undo
    with pytest.raises(ScenarioError, match=r"\S") as caught:
        session.edit(key, text)
    assert (session.text, session.scenario, session.can_undo) == before
    return words_of(caught.value, key)


@pytest.mark.parametrize(
    ("key", "typed", "old", "new"),
    [
        ("tank.volume", "9 1/2 gal", 'volume = "38 L"', 'volume = "9 1/2 gal"'),
        (
            "tank.panel_long", "6 in",
            'panel_long = "150 mm"            # between welded baffles',
            'panel_long = "6 in"            # between welded baffles',
        ),
        (
            "engine.ram_to_power", "yes",
            "ram_to_power = false             # dyno figure kept, ram taken as a bonus",
            "ram_to_power = true             # dyno figure kept, ram taken as a bonus",
        ),
        (
            "leg[1].duration", "1 min",
            'duration = "45 s"                # both pumps stay on',
            'duration = "1 min"                # both pumps stay on',
        ),
        ("intake.part.0.k", "0.60", "k = 0.5", "k = 0.6"),
        ("exchanger.arrangement", "parallel", '= "counterflow"', '= "parallel"'),
    ],
)
def test_a_saved_edit_changes_one_line_and_keeps_its_comment(session, file, key, typed, old, new):
    edit = session.edit(key, typed)
    assert edit.changed
    assert session.dirty
    session.save()
    assert not session.dirty
    removed, added = line_changes(TEXT, file.read_text(encoding="utf-8"))
    assert removed.startswith("-")
    assert removed.endswith(old)
    assert added.startswith("+")
    assert added.endswith(new)


def test_the_edit_reaches_the_scenario_in_si(session):
    edit = session.edit("tank.volume", "9 gal")
    assert session.scenario.tank.volume == pytest.approx(9 * 3.785411784e-3, rel=1e-12)
    assert str(edit) == "tank.volume: 38 L -> 9 gal"
    assert session.row("tank.volume").text == "9 gal"
    assert session.changed_keys() == ("tank.volume",)


@pytest.mark.parametrize(
    ("key", "typed", "added"),
    [
        ("loop.voltage", "13 V", ['voltage = "13 V"']),
        ("loop.return.rise", "0.2 m", ['rise = "0.2 m"']),
        ("leg[2].sun", "yes", ["sun = true"]),
        ("tank.cells", "20", ["cells = 20"]),
        (
            "loop.supply.fittings", "elbow-90, ball-valve",
            ['fittings = ["elbow-90", "ball-valve"]'],
        ),
        ("limits.scald", "48 degC", ["", "[limits]", 'scald = "48 degC"']),
        ("coolant.thermostat.opens", "80 degC", ["[coolant.thermostat]", 'opens = "80 degC"', ""]),
    ],
)
def test_an_input_that_is_not_in_the_file_is_added_to_its_table(session, key, typed, added):
    assert session.row(key) is None or not session.row(key).given
    session.edit(key, typed)
    assert sorted(line_changes(TEXT, session.text)) == sorted(f"+{line}" for line in added)
    table = tomllib.loads(session.text)
    for part in key.replace("[", ".").replace("]", "").split("."):
        table = table[int(part) if part.isdigit() else part]
    assert session.row(key).given
    session.undo()
    assert session.text == TEXT


def test_an_empty_text_takes_an_input_out_so_that_its_default_holds(session):
    edit = session.edit("tank.fill", "  ")
    assert line_changes(TEXT, session.text) == ["-fill = 0.85"]
    assert edit.changes[0].after is None
    row = session.row("tank.fill")
    assert (row.text, row.given) == ("0.88", False)
    assert session.scenario.tank.fill == 0.88


def test_a_table_made_by_an_edit_goes_with_its_last_input(session):
    session.edit("limits.scald", "48 degC")
    session.edit("limits.scald", "")
    assert tomllib.loads(session.text) == tomllib.loads(TEXT)
    assert session.changed_keys() == ()


def test_a_table_that_switches_something_on_stays_until_it_is_taken_out(session):
    session.edit("coolant.thermostat.opens", "80 degC")
    session.edit("coolant.thermostat.opens", "")
    assert session.scenario.coolant.thermostat is not None
    assert session.changed_keys() == ("coolant.thermostat",)
    session.edit("coolant.thermostat", "")
    assert session.scenario.coolant.thermostat is None
    assert session.changed_keys() == ()


def test_a_required_input_cannot_be_taken_out(session):
    words = refused(session, "tank.volume", "")
    assert words == (
        "this key is required: a volume from 1 L to 2000 L, such as '28 L' or '7.5 gal'."
    )


@pytest.mark.parametrize(
    ("key", "typed", "words"),
    [
        ("tank.volume", "38", "the unit is missing"),
        ("tank.volume", "3000 L", "from 1 L to 2000 L is expected"),
        ("tank.volume", "9**9 L", "no arithmetic"),
        ("tank.cells", "1.5", "a whole number is expected"),
        ("tank.closure", "seald", "Did you mean sealed?"),
        ("tank.strainer", "maybe", "true or false is expected"),
        ("coolant.glycol_fraction", "0.3", "coolant: glycol_fraction needs glycol"),
        ("tank.volum", "38 L", "did you mean volume?"),
        ("tank.volum", "", "did you mean volume?"),
        ("leg[9].duration", "1 s", "no entry is called '9'"),
        ("tank", "38 L", "is a table"),
        ("..", "1", "is not a key"),
        ("title", "\udcff", "cannot be saved as UTF-8"),
        ("leg", "", "required"),
    ],
)
def test_a_refused_edit_says_why_and_keeps_the_last_valid_state(session, key, typed, words):
    assert words in refused(session, key, typed)


def test_the_same_text_again_is_no_step(session):
    assert not session.edit("tank.volume", "38 L").changed
    assert not session.edit("tank.volume", " 38 L ").changed
    assert not session.edit("tank.relief_faces_driver", "").changed
    assert not session.can_undo
    assert session.edit("tank.volume", "38.0 L").changed


def test_a_list_over_several_lines_stays_when_its_one_line_form_is_entered(tmp_path):
    curve = 'curve = [  # bench\n  ["0 L/min", "9 m"],\n  ["40 L/min", "5 m"],\n]\n'
    text = TEXT.replace('[loop]\nflow = "30 L/min"\n', "[loop]\n").replace(
        "[loop.supply]", f"[loop.pump]\n{curve}\n[loop.supply]", 1
    )
    session = Session(text)
    shown = session.row("loop.pump.curve").text
    assert shown == '[["0 L/min", "9 m"], ["40 L/min", "5 m"]]'
    assert not session.edit("loop.pump.curve", shown).changed
    session.edit("loop.pump.curve", '[["0 L/min", "8 m"], ["40 L/min", "5 m"]]')
    assert session.scenario.loop.pump.curve[0][1] == 8.0


def test_undo_and_redo_go_through_all_steps(session):
    texts = [session.text]
    for volume in ("9 gal", "10 gal", "11 gal"):
        session.edit("tank.volume", volume)
        texts.append(session.text)
    for text in reversed(texts[:-1]):
        assert session.undo().changes[0].key == "tank.volume"
        assert session.text == text
    assert session.undo() is None
    assert not session.dirty
    assert session.scenario.tank.volume == pytest.approx(0.038)
    for text in texts[1:]:
        session.redo()
        assert session.text == text
    assert session.redo() is None
    session.undo()
    session.edit("tank.fill", "0.8")
    assert not session.can_redo
    assert session.row("tank.volume").text == "10 gal"


def test_history_is_limited(file, monkeypatch):
    monkeypatch.setattr("tui.steps.LIMIT", 3)
    session = Session.open(file)
    for volume in range(30, 36):
        session.edit("tank.volume", f"{volume} L")
    while session.undo():
        pass
    assert session.row("tank.volume").text == "32 L"
    while session.redo():
        pass
    assert session.row("tank.volume").text == "35 L"


def test_any_quantity_in_other_units_changes_its_own_line_only(session):
    edited = 0
    for row in session.rows:
        other = fieldlist.shown(row, "us")
        if not row.given or other == row.text:
            continue
        session.edit(row.key, other)
        removed, added = line_changes(TEXT, session.text)
        name = row.key.rsplit(".", 1)[-1]
        assert removed.startswith(f'-{name} = "{row.text}"')
        assert added == f'+{name} = "{other}"' + removed.removeprefix(f'-{name} = "{row.text}"')
        assert session.changed_keys() == (row.key,)
        session.undo()
        edited += 1
    assert edited > 25


def test_inputs_that_are_only_valid_together_are_one_step(session):
    assert "give only one of ua, rated" in refused(session, "exchanger.rated.heat", "60 kW") or (
        "required" in refused(session, "exchanger.rated.heat", "60 kW")
    )
    session.edit_many({
        "exchanger.ua": "",
        "exchanger.rated.hot_flow": "55 L/min",
        "exchanger.rated.cold_flow": "30 L/min",
        "exchanger.rated.hot_inlet": "90 degC",
        "exchanger.rated.cold_inlet": "20 degC",
        "exchanger.rated.heat": "60 kW",
    })
    assert session.scenario.exchanger.ua is None
    assert session.scenario.exchanger.rated.heat == pytest.approx(60e3)
    session.undo()
    assert session.text == TEXT


def test_legs_are_put_in_and_taken_out_with_everything_else_kept(session):
    session.insert_entry("leg", 1, {"kind": "queue", "duration": "5 min"})
    assert [leg.kind for leg in session.scenario.leg] == ["full-power", "queue", "coast", "soak"]
    assert sorted(line_changes(TEXT, session.text)) == [
        "+", "+[[leg]]", '+duration = "5 min"', '+kind = "queue"',
    ]
    session.insert_entry("leg", 4, {"kind": "coast", "until_speed": "5 m/s"})
    assert session.scenario.leg[4].kind == "coast"
    assert session.text.endswith('[[leg]]\nkind = "coast"\nuntil_speed = "5 m/s"\n')
    session.remove_entry("leg", 4)
    session.remove_entry("leg", 1)
    assert session.text == TEXT


def test_a_duct_part_behind_the_last_one_stays_in_its_list(session):
    values = {"kind": "bend", "bore": "54 mm", "radius_ratio": "2"}
    session.insert_entry("intake.part", 3, values)
    assert [part.kind for part in session.scenario.intake.part] == [
        "loss", "tube", "filter", "bend",
    ]
    assert session.text.index("radius_ratio = 2") < session.text.index("[[leg]]")
    session.remove_entry("intake.part", 3)
    assert session.text == TEXT


def test_a_comment_above_an_entry_goes_with_it(file):
    text = TEXT.replace('[[leg]]\nkind = "coast"', '# brakes off\n[[leg]]\nkind = "coast"')
    session = Session(text)
    session.insert_entry("leg", 1, {"kind": "queue", "duration": "5 min", "name": " "})
    assert '"5 min"\n\n# brakes off\n[[leg]]\nkind = "coast"' in session.text
    session.remove_entry("leg", 2)
    assert "brakes off" not in session.text
    assert "# let go by the push truck" in session.text


def test_an_intake_can_be_begun_with_its_first_part(session):
    session.edit("intake", "")
    assert session.scenario.intake is None
    session.insert_entry("intake.part", 0, {"kind": "tube", "bore": "60 mm", "length": "2 m"})
    assert session.scenario.intake.part[0].bore == pytest.approx(0.06)
    session.remove_entry("intake.part", 0)
    assert session.scenario.intake is None


@pytest.mark.parametrize("position", [-1, 4, 99])
def test_an_entry_has_no_place_outside_its_list(session, position):
    with pytest.raises(ScenarioError, match="from 0 to 3"):
        session.insert_entry("leg", position, {"kind": "soak", "duration": "1 s"})
    with pytest.raises(ScenarioError, match="no such entry"):
        session.remove_entry("leg", 4)
    assert session.text == TEXT


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"kind": "soak"}, "takes a duration"),
        ({"kind": "soak", "duration": "1"}, "the unit is missing"),
        ({"kind": "nap", "duration": "1 s"}, "is expected"),
        ({"kind": "soak", "durations": "1 s"}, "did you mean duration?"),
        ({}, "this key is required"),
    ],
)
def test_a_refused_entry_says_why_and_changes_nothing(session, values, words):
    with pytest.raises(ScenarioError) as caught:
        session.insert_entry("leg", 1, values)
    assert words in words_of(caught.value)
    assert (session.text, session.can_undo) == (TEXT, False)


def test_a_list_on_one_line_is_left_to_the_file(tmp_path):
    start = TEXT.index("[[intake.part]]")
    part = 'part = [{kind = "tube", bore = "54 mm", length = "2 m"}]\n\n'
    text = TEXT[:start] + part + TEXT[TEXT.index("[[leg]]"):]
    session = Session(text)
    with pytest.raises(ScenarioError, match="change it in the file"):
        session.remove_entry("intake.part", 0)
    with pytest.raises(ScenarioError, match=r"\S"):
        session.insert_entry("intake.part", 1, {"kind": "wye", "bore": "54 mm"})
    session.edit("intake.part[0].bore", "60 mm")
    assert session.text == text.replace("54 mm", "60 mm")


def test_the_only_full_power_leg_cannot_be_taken_out(session):
    with pytest.raises(ScenarioError, match="at least one leg of kind 'full-power'"):
        session.remove_entry("leg", 0)
    assert session.text == TEXT


def test_a_file_changed_meanwhile_is_only_written_over_by_force(session, file):
    other = TEXT.replace('"38 L"', '"40 L"')
    session.edit("tank.fill", "0.8")
    file.write_text(other, encoding="utf-8")
    assert session.changed_on_disk()
    with pytest.raises(SaveRefusedError, match="changed since it was read") as caught:
        session.save()
    assert caught.value.reason == "changed"
    assert file.read_text(encoding="utf-8") == other
    assert session.dirty
    session.save(force=True)
    assert file.read_text(encoding="utf-8") == session.text
    assert not session.changed_on_disk()


def test_a_file_gone_meanwhile_is_saved_anew(session, file):
    session.edit("tank.fill", "0.8")
    file.unlink()
    assert not session.changed_on_disk()
    session.save()
    assert file.read_text(encoding="utf-8") == session.text


def test_another_file_is_only_written_over_by_force(session, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text("precious", encoding="utf-8")
    with pytest.raises(SaveRefusedError, match="such a file already") as caught:
        session.save(other)
    assert caught.value.reason == "exists"
    assert other.read_text(encoding="utf-8") == "precious"
    assert session.path.name == "car.toml"
    session.save(other, force=True)
    assert other.read_text(encoding="utf-8") == TEXT
    assert session.path == other


def test_a_text_without_file_asks_for_a_name(tmp_path):
    session = Session(TEXT, name="demo")
    assert (session.name, session.dirty, session.path) == ("demo", False, None)
    session.edit("tank.fill", "0.8")
    with pytest.raises(SaveRefusedError, match="give it a name") as caught:
        session.save()
    assert caught.value.reason == "no-name"
    with pytest.raises(SaveRefusedError, match="no file yet"):
        session.reload()
    session.save(tmp_path / "mine.toml")
    assert session.name == "mine.toml"
    assert Session.open(tmp_path / "mine.toml").scenario == session.scenario


def test_reload_takes_the_file_and_can_be_undone(session, file):
    session.edit("tank.fill", "0.8")
    mine = session.text
    file.write_text(TEXT.replace('"38 L"', '"40 L"'), encoding="utf-8")
    edit = session.reload()
    assert {change.key for change in edit.changes} == {"tank.volume", "tank.fill"}
    assert not session.dirty
    session.undo()
    assert session.text == mine
    assert set(session.changed_keys()) == {"tank.volume", "tank.fill"}
    session.save()  # the file was read since it changed
    assert file.read_text(encoding="utf-8") == mine


def test_reload_of_a_broken_file_keeps_the_last_valid_state(session, file):
    session.edit("tank.fill", "0.8")
    mine = session.text
    file.write_text("tank = [", encoding="utf-8")
    with pytest.raises(ScenarioError, match="cannot be read"):
        session.reload()
    assert session.text == mine
    with pytest.raises(SaveRefusedError, match="changed"):
        session.save()


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_full_disk_loses_nothing(session, file, monkeypatch, call):
    session.edit("tank.fill", "0.8")
    mine = session.text

    def full(*args):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patched:
        patched.setattr(os, call, full)
        with pytest.raises(ScenarioFileError, match="No space left"):
            session.save()
    assert file.read_text(encoding="utf-8") == TEXT
    assert [path.name for path in file.parent.iterdir()] == ["car.toml"]
    assert (session.text, session.dirty) == (mine, True)
    session.save()
    assert file.read_text(encoding="utf-8") == mine


def test_a_read_only_folder_loses_nothing(session, file, monkeypatch):
    session.edit("tank.fill", "0.8")
    opened = os.open

    def read_only(path, flags, *args, **kwargs):
        if flags & os.O_CREAT:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), path)
        return opened(path, flags, *args, **kwargs)

    monkeypatch.setattr(os, "open", read_only)
    with pytest.raises(ScenarioFileError, match="Permission denied"):
        session.save()
    assert session.dirty
    assert file.read_text(encoding="utf-8") == TEXT


def test_watchers_hear_of_each_change_of_state(session):
    heard = []
    session.watchers.append(lambda s: heard.append((s.dirty, s.scenario.tank.fill)))
    session.edit("tank.fill", "0.8")
    session.edit("tank.fill", "0.8")
    session.undo()
    session.redo()
    session.save()
    assert heard == [(True, 0.8), (False, 0.85), (True, 0.8), (False, 0.8)]


def test_lines_of_windows_and_a_byte_order_mark_are_kept(tmp_path):
    file = tmp_path / "car.toml"
    file.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    session = Session.open(file)
    assert not session.changed_on_disk()
    session.edit("tank.volume", "9 gal")
    session.save()
    assert file.read_bytes() == TEXT.replace("38 L", "9 gal").replace("\n", "\r\n").encode()


@pytest.mark.parametrize("name", sorted(p.name for p in BASE.parent.glob("*.toml")))
def test_every_shipped_input_can_be_typed_again_as_shown(name):
    session = Session.open(BASE.parent / name)
    given = [row for row in session.rows if row.given]
    assert given
    assert session.edit_many({row.key: row.text for row in given}).changes == ()


def test_a_comment_alone_is_a_change_that_watchers_hear_of_and_that_is_unsaved(session):
    heard = []
    session.watchers.append(lambda s: heard.append(s.dirty))
    assert not session.replace(TEXT + "\n# as fitted\n").changed
    assert heard == [True]
    session.undo()
    assert heard == [True, False]
    assert not session.replace(TEXT).changed
    assert heard == [True, False]
