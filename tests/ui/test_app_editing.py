"""The app's flows that change a scenario and its file: edits, lists, save, open, recovery."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest
from textual import events
from textual.widgets import Input, OptionList

from tests.ui.piloting import NARROW, SCENARIOS, WIDE, copy_of, driving, run
from tui.places import recent_files
from tui.recovery import RecoveryKeeper, pending_recoveries
from tui.screens.dialogs import AskPath, Choose, Page
from tui.screens.main import MainScreen
from tui.screens.tables import TableForm
from tui.session import Session


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))


@pytest.fixture
def hot(tmp_path: Path) -> Path:
    return copy_of("hot_day", tmp_path)


def lines_changed(before: str, after: str) -> list[str]:
    """Lines of the later text that are not the earlier one's, which has as many lines."""
    pairs = zip(before.splitlines(), after.splitlines(), strict=True)
    return [new for old, new in pairs if old != new]


@pytest.mark.parametrize("size", [NARROW, WIDE])
def test_an_edit_shows_what_it_changed_and_can_be_undone_and_done_again(hot, size):
    async def test():
        async with driving(hot, size) as d:
            await d.go_to("tank.volume")
            await d.press("enter")
            await d.type("60 L")
            await d.press("enter")
            await d.solved()
            await d.shows("boil margin 12.2 K, was 8.5 K", "tank.volume: 46 L -> 60 L",
                          "hot_day.toml*", "*Volume")
            await d.press("4")
            await d.shows("was 8.5 K")
            await d.press("ctrl+z")
            await d.solved()
            await d.shows("undone: tank.volume: 46 L -> 60 L", "was 12.2 K")
            assert not d.session.dirty
            await d.press("ctrl+y")
            await d.solved()
            await d.shows("done again", "hot_day.toml*")
            await d.press("ctrl+y")
            await d.shows("nothing to do again")

    run(test)


def test_each_key_is_checked_but_only_enter_commits(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.volume")
            await d.press("enter", "6", " ", "f")
            await d.shows("! given '6 f'")
            await d.press("backspace", "L")
            await d.shows("Enter takes 6 L, Escape keeps 46 L")
            assert d.session.row("tank.volume").text == "46 L"
            await d.press("escape")
            assert not d.session.dirty
            assert d.app.focused.id == "rows"

    run(test)


@pytest.mark.parametrize(("before", "typed", "after"), [
    ("46 L", "60", "60 L"), ("9 gal", "12.5", "12.5 gal"), ("9 gal", "40 L", "40 L"),
])
def test_a_number_alone_keeps_the_unit_that_stood_there(hot, before, typed, after):
    async def test():
        async with driving(hot) as d:
            if before != "46 L":
                await d.edit("tank.volume", before)
            await d.go_to("tank.volume")
            await d.press("enter", *typed)
            await d.shows(f"Enter takes {after}")
            await d.press("enter")
            await d.until(lambda: d.session.row("tank.volume").text == after)

    run(test)


@pytest.mark.parametrize("text", ["60 kg", "60 parsecs", "-3 L", "1e9 L", "sixty"])
def test_what_is_refused_says_why_and_leaves_the_last_valid_value(hot, text):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.volume")
            await d.press("enter")
            await d.type(text)
            await d.press("enter")
            await d.until(lambda: d.words("help").startswith("XX not taken: given"))
            assert d.session.row("tank.volume").text == "46 L"
            assert d.app.focused.value == text
            await d.type("47 L")
            await d.press("enter")
            await d.solved()
            assert d.session.row("tank.volume").text == "47 L"

    run(test)


def test_leaving_the_editor_commits_but_leaving_the_window_does_not(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.volume")
            await d.press("enter")
            await d.type("50 L")
            d.app.post_message(events.AppBlur())
            await d.until(lambda: not d.app.app_focus)
            assert d.session.row("tank.volume").text == "46 L"
            d.app.post_message(events.AppFocus())
            await d.until(lambda: d.app.app_focus)
            await d.press("tab")
            await d.until(lambda: d.session.row("tank.volume").text == "50 L")

    run(test)


def test_a_bad_value_that_is_left_is_not_taken_and_says_so(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.volume")
            await d.press("enter")
            await d.type("50 K")
            await d.press("tab")
            await d.shows("XX tank.volume stays as it was, not taken: given '50 K'")
            assert d.session.row("tank.volume").text == "46 L"

    run(test)


def test_undo_while_typing_gives_up_the_typing_only(hot):
    async def test():
        async with driving(hot) as d:
            await d.edit("tank.volume", "50 L")
            await d.go_to("tank.fill")
            await d.press("enter", "5", "ctrl+z")
            assert d.session.row("tank.volume").text == "50 L"
            assert d.session.row("tank.fill").text == "0.90"

    run(test)


def test_empty_goes_back_to_the_default(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("car.wheel_slip")
            await d.press("enter", "backspace")
            await d.shows("Enter goes back to the default")
            await d.press("enter")
            await d.until(lambda: not d.session.row("car.wheel_slip").given)
            await d.shows("(default)")

    run(test)


def test_a_choice_is_chosen_from_its_list(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.barrier")
            await d.press("enter")
            assert isinstance(d.app.screen, Choose)
            await d.choose("none")
            await d.until(lambda: d.session.row("tank.barrier").text == "none")
            await d.solved()
            await d.shows("DANGER, was CAUTION")

    run(test)


def test_a_typed_letter_goes_to_the_next_choice_that_begins_with_it(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.closure")
            options = d.session.row("tank.closure").options
            await d.press("enter")
            table = d.app.screen.query_one("#choices", OptionList)
            for letter in ("s", "s", "V", "o", "b"):
                now = table.highlighted
                # By hand: those after the one that holds, then those before it, then itself.
                order = [*range(now + 1, len(options)), *range(now + 1)]
                told = [i for i in order if options[i].startswith(letter.lower())]
                await d.press(letter)
                assert table.highlighted == (told[0] if told else now), letter
            await d.press("enter")
            chosen = options[table.highlighted]
            await d.until(lambda: d.session.row("tank.closure").text == chosen)

    run(test)


def test_yes_or_no_is_chosen_and_can_be_left(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("loop.flow_measured")
            await d.press("enter")
            await d.shows("yes", "no", "back to the default")
            await d.press("escape")
            assert not d.session.dirty

    run(test)


def test_the_filter_finds_by_words_and_escape_shows_all_again(hot):
    async def test():
        async with driving(hot) as d:
            await d.press("slash")
            await d.type("inside tank.vol")
            await d.shows("Volume")
            await d.press("enter")
            assert d.cursor == "tank.volume"
            assert "Air temperature" not in d.text()
            await d.press("escape")
            await d.until(lambda: len(d.app.main.query_one("#rows").options) > 200)
            assert d.cursor == "tank.volume"

    run(test)


def test_a_filter_that_finds_nothing_says_so(hot):
    async def test():
        async with driving(hot) as d:
            await d.press("slash")
            await d.type("flux capacitor")
            await d.shows("no input matches")

    run(test)


def test_an_optional_table_is_filled_in_and_taken_out_again(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("coolant.thermostat")
            await d.press("enter")
            assert isinstance(d.app.screen, TableForm)
            d.app.screen.query_one("#box-0", Input).value = "75 degC"
            await d.press("enter")
            await d.until(lambda: d.session.row("coolant.thermostat.opens") is not None)
            assert d.session.row("coolant.thermostat.opens").text == "75 degC"
            await d.until(lambda: d.cursor == "coolant.thermostat.opens")
            await d.solved()
            await d.press("delete")
            await d.shows("taken out, ctrl+z brings it back")
            assert "thermostat" not in d.session.text
            await d.press("ctrl+z")
            await d.until(lambda: "75 degC" in d.session.text)

    run(test)


def test_a_form_says_what_is_missing_and_what_is_refused(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("exchanger.rated")
            await d.press("enter")
            first = d.app.screen.query_one("#box-0", Input)
            assert first.placeholder.startswith("needed")
            await d.press("enter")
            await d.shows("XX", "this input is needed")
            await d.press("x")
            await d.shows("! given 'x'")
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)
            assert not d.session.dirty

    run(test)


def test_a_leg_is_put_in_doubled_and_taken_out(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("leg[1].duration")
            await d.press("i")
            await d.choose("soak")
            assert isinstance(d.app.screen, TableForm)
            boxes = {b.id: b for b in d.app.screen.query(Input)}
            labels = [str(label.content) for label in d.app.screen.query("Label")]
            boxes[f"box-{labels.index('Duration')}"].value = "30 s"
            await d.press("enter")
            await d.until(lambda: d.session.row("leg[2].duration").text == "30 s")
            await d.solved()
            assert [leg.kind for leg in d.session.scenario.leg] == [
                "full-power", "coast", "soak", "soak"]
            await d.until(lambda: d.cursor.startswith("leg[2]"))
            await d.press("d")
            await d.until(lambda: len(d.session.scenario.leg) == 5)
            await d.solved()
            await d.press("delete")
            await d.until(lambda: len(d.session.scenario.leg) == 4)
            for _ in range(3):
                await d.press("ctrl+z")
            await d.until(lambda: not d.session.dirty)

    run(test)


def test_a_duct_part_is_put_in_at_the_end_from_anywhere(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("car.mass")
            await d.press("i")
            await d.choose("a duct part at the end")
            await d.choose("filter")
            boxes = d.app.screen.query(Input)
            labels = [str(label.content) for label in d.app.screen.query("Label")]
            boxes[labels.index("Part of the duct" if "Part of the duct" in labels
                               else "Path")].value = "plenum"
            await d.press("enter")
            await d.until(lambda: len(d.session.scenario.intake.part) == 4)

    run(test)


@pytest.mark.parametrize("key", ["d", "delete"])
def test_what_is_in_no_list_is_not_doubled_or_taken_out(hot, key):
    async def test():
        async with driving(hot) as d:
            await d.go_to("car.mass")
            await d.press(key)
            await d.shows("put the cursor on a leg")
            assert not d.session.dirty

    run(test)


def test_the_last_pass_cannot_be_taken_out_and_it_says_why(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("leg[0].distance")
            await d.press("delete")
            await d.shows("XX not taken out")
            assert len(d.session.scenario.leg) == 3

    run(test)


def test_saving_changes_one_value_and_keeps_every_comment(hot):
    before = hot.read_text()

    async def test():
        async with driving(hot) as d:
            await d.edit("tank.volume", "60 L")
            await d.press("ctrl+s")
            await d.shows("saved: ")
            assert "hot_day.toml*" not in d.text()

    run(test)
    assert lines_changed(before, hot.read_text()) == ['volume = "60 L"']
    assert recent_files()[0] == (hot,)


def test_saving_takes_what_is_being_typed_first(hot):
    async def test():
        async with driving(hot) as d:
            await d.go_to("tank.volume")
            await d.press("enter")
            await d.type("61 L")
            await d.press("ctrl+s")
            await d.shows("saved: ")

    run(test)
    assert 'volume = "61 L"' in hot.read_text()


def test_nothing_is_saved_while_what_is_typed_is_refused(hot):
    before = hot.read_text()

    async def test():
        async with driving(hot) as d:
            await d.edit("tank.volume", "60 L")
            await d.go_to("tank.fill")
            await d.press("enter")
            await d.type("7")
            await d.press("ctrl+s")
            await d.shows("XX not taken")

    run(test)
    assert hot.read_text() == before


def test_a_scenario_without_a_file_asks_for_a_name(tmp_path):
    target = tmp_path / "mine.toml"

    async def test():
        async with driving(Session((SCENARIOS / "base.toml").read_text(), None, "base")) as d:
            await d.press("ctrl+s")
            assert isinstance(d.app.screen, AskPath)
            await d.type(str(target))
            await d.press("enter")
            await d.shows("saved: ", "mine.toml")

    run(test)
    assert target.read_text() == (SCENARIOS / "base.toml").read_text()


def test_another_file_is_not_written_over_silently(hot, tmp_path):
    other = tmp_path / "other.toml"
    other.write_text("precious")

    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+w")
            await d.type(str(other))
            await d.press("enter")
            await d.shows("there is such a file already", "leave the file as it is")
            await d.press("enter")
            assert other.read_text() == "precious"
            await d.press("ctrl+w")
            await d.type(str(other))
            await d.press("enter")
            await d.choose("write over it")
            await d.shows("saved: ")

    run(test)
    assert other.read_text() == hot.read_text()


def test_a_file_changed_meanwhile_is_not_written_over_silently(hot):
    async def test():
        async with driving(hot) as d:
            await d.edit("tank.volume", "60 L")
            outside = hot.read_text().replace('volume = "46 L"', 'volume = "48 L"')
            hot.write_text(outside)
            await d.press("ctrl+s")
            await d.shows("the file was changed since it was read")
            await d.press("escape")
            assert hot.read_text() == outside
            await d.press("ctrl+s")
            await d.choose("read the file; the edits here can be brought back by undo")
            await d.until(lambda: d.session.row("tank.volume").text == "48 L")
            await d.press("ctrl+z")
            await d.until(lambda: d.session.row("tank.volume").text == "60 L")

    run(test)


def test_a_full_disk_loses_nothing_and_says_so(hot, monkeypatch):
    before = hot.read_text()

    def full(handle):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    async def test():
        async with driving(hot) as d:
            await d.edit("tank.volume", "60 L")
            monkeypatch.setattr(os, "fsync", full)
            await d.press("ctrl+s")
            await d.shows("not saved: No space left on device; the edits are kept here")
            assert d.session.dirty
            assert hot.read_text() == before
            monkeypatch.undo()
            await d.press("ctrl+s")
            await d.shows("saved: ")

    run(test)
    assert 'volume = "60 L"' in hot.read_text()


def test_a_folder_that_cannot_be_written_loses_nothing_and_says_so(hot, tmp_path):
    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+w")
            await d.type(str(tmp_path / "no such folder" / "x.toml"))
            await d.press("enter")
            await d.shows("; the edits are kept here")
            assert d.session.path == hot

    run(test)


def test_a_scenario_is_found_by_going_through_folders(hot, tmp_path):
    (tmp_path / "cars").mkdir()
    copy_of("ice", tmp_path / "cars")
    (tmp_path / "cars" / "notes.txt").write_text("no scenario")

    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+o")
            await d.type(f"{tmp_path}/ca")
            await d.press("down", "enter")
            table = d.app.screen.query_one(OptionList)
            assert [str(o.prompt) for o in table.options] == [f"{tmp_path}/cars/ice.toml"]
            await d.press("down", "enter")
            await d.until(lambda: d.session.name == "ice.toml")

    run(test)


def test_another_file_is_opened_and_a_bad_one_leaves_what_is_there(hot, tmp_path):
    bad = tmp_path / "bad.toml"
    bad.write_text("schema = 1\n[tank]\nvolume = '3 parsecs'\n")

    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+o")
            await d.type(str(bad))
            await d.press("enter")
            await d.shows("This file was not opened", "parsecs")
            await d.press("escape", "ctrl+o")
            await d.type("~nobody-of-this-name/a.toml")
            await d.press("enter")
            await d.shows("This file was not opened", "~nobody-of-this-name/a.toml")
            assert isinstance(d.app.screen, Page)
            await d.press("escape")
            assert d.session.path == hot
            await d.press("ctrl+o")
            await d.type(str(copy_of("ice", tmp_path)))
            await d.press("enter")
            await d.until(lambda: d.session.name == "ice.toml")
            await d.solved()
            await d.shows("ice.toml", "ice ")

    run(test)
    assert recent_files()[0][0].name == "ice.toml"


def test_a_shipped_scenario_is_opened_as_a_copy_without_a_file(hot):
    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+o", "tab")
            table = d.app.screen.query_one("#offered")
            names = [str(o.prompt) for o in table.options]
            table.highlighted = names.index(str(SCENARIOS / "base.toml"))
            await d.press("enter")
            await d.until(lambda: d.session.name == "base")
            assert d.session.path is None

    run(test)


def test_new_begins_from_the_starter(hot):
    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+n")
            await d.until(lambda: d.session.name == "new scenario")
            await d.solved()
            assert not d.session.dirty

    run(test)


@pytest.mark.parametrize(("choice", "leaves", "saved"), [
    ("stay here", False, False), ("save first", True, True), ("drop the edits", True, False),
])
def test_quitting_asks_about_unsaved_edits(hot, choice, leaves, saved):
    async def test():
        async with driving(hot) as d:
            await d.edit("tank.volume", "60 L")
            await d.press("ctrl+q")
            await d.shows("has edits that are not saved")
            await d.choose(choice)
            assert d.app.return_code == (0 if leaves else None)
            assert (d.app._exit is True) == leaves

    run(test)
    assert ('volume = "60 L"' in hot.read_text()) == saved
    if leaves:
        assert pending_recoveries() == ((), "")


def test_quitting_without_edits_asks_nothing(hot):
    async def test():
        async with driving(hot) as d:
            await d.press("ctrl+q")
            assert d.app._exit is True

    run(test)


@pytest.fixture
def crashed(hot, monkeypatch):
    """Edits of a program that is gone: its lock is free."""
    session = Session.open(hot)
    keeper = RecoveryKeeper()
    keeper.watch(session)
    session.edit("tank.volume", "63 L")
    os.close(keeper._lock)
    keeper._lock = None
    return hot


def test_unsaved_edits_of_a_crash_are_offered_and_taken_up(crashed):
    async def test():
        async with driving(crashed) as d:
            await d.shows("Unsaved edits of hot_day.toml", "take them up again")
            await d.press("enter")
            await d.until(lambda: d.session.row("tank.volume").text == "63 L")
            await d.shows("taken up again", "hot_day.toml*")
            assert len(list(Path(os.environ["SOAKBOX_STATE"]).glob("recovery/*.toml"))) == 1
            await d.press("ctrl+s")
            await d.shows("saved: ")

    run(test)
    assert 'volume = "63 L"' in crashed.read_text()
    assert pending_recoveries() == ((), "")


@pytest.mark.parametrize(("choice", "kept"), [
    ("ask again at the next start", 1), ("throw them away", 0),
])
def test_unsaved_edits_of_a_crash_can_wait_or_go(crashed, choice, kept):
    async def test():
        async with driving(crashed) as d:
            await d.shows("Unsaved edits")
            await d.choose(choice)
            assert d.session.row("tank.volume").text == "46 L"

    run(test)
    assert len(pending_recoveries()[0]) == kept
