"""What is chosen about a log: columns given by hand, and paths that go on from what is typed."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.ui.piloting import SCENARIOS
from thermo.log_csv import read_log
from thermo.log_layout import LogError
from thermo.log_survey import survey
from thermo.scenario_io import read_scenario
from tui.completion import completions, files_in
from tui.logsetup import LogSetup, fittable, look
from tui.text_log import column_line, column_words, without_options

LOG = SCENARIOS / "base_pass.csv"


def setup_of(folder: Path, header: str) -> LogSetup:
    path = folder / "log.csv"
    cells = ",".join(["{t}", *["5"] * header.count(",")])
    path.write_text("\n".join([header, *(cells.format(t=t) for t in range(20))]), encoding="utf-8")
    return LogSetup(path, survey(path))


def channels(setup: LogSetup) -> dict[str, str]:
    """Header of each channel as the reader itself takes it."""
    log = read_log(setup.path, setup.mapping())
    return {name: choice.header for name, choice in log.choices.items()}


def test_columns_that_are_not_touched_need_no_mapping(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, "t,ect degC,what")
    assert setup.mapping() == ()
    assert [(r.channel, r.unit, r.by_hand) for r in setup.rows()] == [
        ("time", "s", False), ("coolant_out", "degC", False), ("", "", False)]


def test_a_channel_given_to_another_column_is_taken_from_the_first(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, "t,ect degC,what,x")
    setup.assign(2, "coolant_out", "degF")
    assert channels(setup) == {"time": "t", "coolant_out": "what"}
    setup.assign(3, "coolant_out", "K")
    assert channels(setup) == {"time": "t", "coolant_out": "x"}
    assert [r.channel for r in setup.rows()] == ["time", "", "", "coolant_out"]


def test_a_column_that_is_not_to_be_used_is_not_guessed_again(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, "t,ect degC,tank in degC")
    setup.assign(2, "")
    assert channels(setup) == {"time": "t", "coolant_out": "ect degC"}


def test_of_two_columns_with_one_name_the_other_stays_when_one_is_put_aside(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, "t,ect degC,clt degC")
    assert [bool(r.problem) for r in setup.rows()] == [False, True, True]
    setup.assign(1, "")
    assert channels(setup) == {"time": "t", "coolant_out": "clt degC"}
    assert not any(r.problem for r in setup.rows())


def test_a_unit_given_by_hand_is_read(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, "t,ect")
    row = setup.rows()[1]
    assert "unit is missing" in row.problem
    assert "--column" not in column_words(row, False)
    assert "unit?" in column_line(row, False, 76)
    setup.assign(1, "coolant_out", "degF")
    log = read_log(setup.path, setup.mapping())
    assert log.values["coolant_out"][0] == pytest.approx((5.0 - 32.0) / 1.8 + 273.15)


def test_headers_that_would_command_a_terminal_are_made_safe(tmp_path: Path) -> None:
    setup = setup_of(tmp_path, "t,ect degC,\x1b[2Jevil")
    for row in setup.rows():
        assert (column_line(row, False, 76) + column_words(row, False)).isprintable()


@pytest.mark.parametrize("width", [30, 62, 76, 137])
def test_a_line_of_a_column_is_no_longer_than_its_list(tmp_path: Path, width: int) -> None:
    header = "t," + "a very long name of a channel " * 4 + "degC,ect degC"
    setup = setup_of(tmp_path, header)
    setup.assign(1, "plenum", "kPa gauge")
    for row in setup.rows():
        assert len(column_line(row, True, width)) <= width


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("the unit is missing: write it into the header, or give --column a=b:UNIT",
         "the unit is missing: write it into the header"),
        ("no column is the time; name it with --column time=COLUMN:s", "no column is the time"),
        ("the column is empty", "the column is empty"),
    ],
)
def test_words_for_the_command_line_lose_their_options(words: str, told: str) -> None:
    assert without_options(words) == told


def test_a_log_without_anything_to_compare_is_told_of_and_not_lost(tmp_path: Path) -> None:
    scenario = read_scenario(SCENARIOS / "base.toml").scenario
    looked = look(LOG, (), ("coolant_out", "tank_out", "tank_in", "speed"), scenario)
    assert looked.log is not None
    assert "no column is left" in looked.problems[0].allowed
    with pytest.raises(LogError, match="no such file"):
        look(tmp_path / "none.csv", (), (), scenario)


def test_what_does_not_apply_says_why() -> None:
    scenario = read_scenario(SCENARIOS / "base.toml").scenario
    without = scenario.model_copy(update={"intake": None})
    assert "no [intake]" in str(fittable(without)["duct"])
    assert not any(isinstance(p, str) for p in fittable(scenario).values())


def test_a_path_goes_on_to_files_and_folders(tmp_path: Path) -> None:
    for name in ("pass.csv", "Pass2.CSV", "notes.md", ".hidden.csv"):
        (tmp_path / name).write_text("", encoding="utf-8")
    (tmp_path / "passes").mkdir()
    typed = f"{tmp_path}/pa"
    assert completions(typed, (".csv",), 9) == tuple(
        f"{tmp_path}/{name}" for name in ("Pass2.CSV", "pass.csv", "passes/"))
    assert completions(f"{tmp_path}/", (".csv",), 2) == (
        f"{tmp_path}/Pass2.CSV", f"{tmp_path}/pass.csv")
    assert completions(f"{tmp_path}/.h", (".csv",), 9) == (f"{tmp_path}/.hidden.csv",)
    assert completions(f"{tmp_path}/none/", (".csv",), 9) == ()
    assert completions("\0", (".csv",), 9) == ()


def test_files_near_are_offered_once_the_latest_first(tmp_path: Path) -> None:
    import os

    for name, age in (("old.csv", 100.0), ("new.csv", 10.0)):
        (tmp_path / name).write_text("", encoding="utf-8")
        os.utime(tmp_path / name, (1e9 - age, 1e9 - age))
    assert files_in((tmp_path, tmp_path), (".csv",), 9) == (
        str(tmp_path / "new.csv"), str(tmp_path / "old.csv"))
