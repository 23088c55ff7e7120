"""The short, seeded form of what the fuzzer of logs does at length, and what it has found."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.fuzz.logs import LOGS, sound
from tests.fuzz.watch import told
from thermo.errors import SoakboxError
from thermo.log_csv import MOST_TIME, read_log
from thermo.log_survey import survey

SHORT = settings(max_examples=80, derandomize=True, database=None,
                 suppress_health_check=[HealthCheck.function_scoped_fixture])
CELLS = st.sampled_from([
    "", "nan", "inf", "-inf", "1e308", "-1e308", "1e400", "12:34:56.7", '"', "x", "#", "-", "1_0",
    "2024-02-30T25:00:00", "\x00", "\u0661", "9" * 5000,
])


def read(place, data):
    """Read a log: sound, or refused in words; return it, or None."""
    place.write_bytes(data)
    try:
        survey(place)
        log = read_log(place)
    except SoakboxError as error:
        told(error)
        return None
    sound(log)
    return log


@pytest.mark.parametrize("text", LOGS)
def test_each_layout_is_read(text, tmp_path):
    log = read(tmp_path / "one.csv", text)
    assert log is not None
    assert set(log.values) >= {"coolant_out", "speed", "rpm"}


@SHORT
@given(st.binary(max_size=300))
def test_any_bytes_are_refused_in_words(tmp_path, data):
    read(tmp_path / "one.csv", data)


@SHORT
@given(st.integers(0, len(LOGS) - 1), st.integers(0, 40), st.binary(max_size=80))
def test_any_line_is_read_or_refused_in_words(tmp_path, which, at, line):
    lines = LOGS[which].split(b"\n")
    lines[at % len(lines)] = line
    read(tmp_path / "one.csv", b"\n".join(lines))


@SHORT
@given(st.lists(st.tuples(st.integers(1, 40), st.integers(0, 4), CELLS), min_size=1, max_size=30))
def test_any_cells_are_read_or_refused_in_words(tmp_path, changes):
    rows = [line.split(",") for line in LOGS[0].decode().strip().split("\n")]
    for row, column, cell in changes:
        rows[row][column] = cell
    read(tmp_path / "one.csv", "\n".join(",".join(row) for row in rows).encode())


def test_thousands_of_recordings_are_parted_in_one_go_and_told_briefly(tmp_path):
    lines = ["Time [s],ECT [degC]", *(f"{0.02 * (i % 50):.2f},{80 + i % 7}" for i in range(60_000))]
    log = read(tmp_path / "one.csv", "\n".join(lines).encode())
    assert len(log.sections) == 1200
    assert [note.words for note in log.notes if "anew" in note.words] == [
        "time starts anew in line 52, 102, 152, 202, 252, ...: taken as 1199 more recordings"]


def test_a_clock_over_midnight_goes_on_and_a_new_recording_waits(tmp_path):
    clocks = [f"23:59:{50 + i}" for i in range(10)] + [f"00:00:{i:02d}" for i in range(20)]
    lines = ["Time [s],ECT [degC]", *(f"{clock},80" for clock in clocks)]
    log = read(tmp_path / "one.csv", "\n".join(lines).encode())
    assert np.diff(log.time) == pytest.approx(1.0)
    assert log.sections == (0,)


def test_a_name_that_is_nearly_one_of_the_columns_is_told_safely(tmp_path):
    (tmp_path / "one.csv").write_bytes(LOGS[0].replace(b"Time", b"ime\x0e"))
    with pytest.raises(SoakboxError, match="no column has this header") as said:
        read_log(tmp_path / "one.csv", ("time=Time:ms",))
    told(said.value)


@pytest.mark.parametrize("text", [
    b"\x0c" * 180 + LOGS[0], b"a\x1cb\n" + LOGS[0], LOGS[0].replace(b"0.50,", b'0.50,"', 1),
    b"Time [s],ECT [degC]\n" + b"1," + b"9" * 140_000 + b"\n2,3\n", b"\x0b\n" * 30 + LOGS[0],
    b"Time [s],ECT [degC]\n" + b"1,2\n" * 9 + b'"' + b"3,4\n" * 60_000,
])
def test_signs_that_part_lines_or_keep_them_together_do_not_mislead(text, tmp_path):
    read(tmp_path / "one.csv", text)


def test_what_is_no_time_or_beyond_all_numbers_is_no_reading(tmp_path):
    lines = LOGS[0].decode().split("\n")
    lines[3] = f"{10 * MOST_TIME},81,25,4,4200"
    lines[4] = "1.50,1.7e308,25,1.7e308,1.7e308"
    log = read(tmp_path / "one.csv", "\n".join(lines).replace("[degC]", "[degF]").encode())
    assert len(log.time) == 39
    assert any("1 rows have no time" in note.words for note in log.notes)
