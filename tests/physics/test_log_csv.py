"""Logs as loggers write them, and what is said of those that cannot be read."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest

from thermo.log_columns import measure, split_header
from thermo.log_csv import PAUSE, Log, read_log
from thermo.log_layout import LogError, seconds_of
from thermo.log_survey import survey


def write(folder: Path, text: str | bytes, name: str = "log.csv") -> Path:
    path = folder / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode("utf-8"))
    return path


def rows(count: int, line: str, sep: str = "\n") -> str:
    return sep.join(line.format(t=i, v=20 + i) for i in range(count)) + sep


def read(folder: Path, text: str | bytes, *mapping: str) -> Log:
    return read_log(write(folder, text), mapping)


def test_plain_file_and_its_hash(tmp_path: Path) -> None:
    text = "Time (s),ECT (degC),Speed [km/h],what\n" + rows(20, "{t},{v},36.0,7")
    log = read(tmp_path, text)
    assert log.sha256 == hashlib.sha256(text.encode()).hexdigest()
    assert log.values["coolant_out"][3] == pytest.approx(273.15 + 23.0, abs=1e-9)
    assert log.values["speed"][0] == pytest.approx(10.0)
    assert log.unused == ("what",)
    assert list(log.line[:2]) == [2, 3]


def test_own_series_is_a_log(tmp_path: Path) -> None:
    head = "time_s,leg,speed_m_per_s,coolant_degC,tank_out_degC,tank_mean_degC,tank_in_degC\n"
    log = read(tmp_path, head + rows(12, "{t},pass,10,{v},20,21,30"))
    assert set(log.values) == {"speed", "coolant_out", "tank_out", "tank_mid", "tank_in"}


@pytest.mark.parametrize("sep", [";", "\t"])
def test_decimal_comma(tmp_path: Path, sep: str) -> None:
    line = sep.join(("{t},5", "{v},25"))
    log = read(tmp_path, sep.join(("Zeit", "coolant out °C")) + "\n" + rows(15, line))
    assert log.time[1] - log.time[0] == pytest.approx(1.0)
    assert log.values["coolant_out"][0] == pytest.approx(293.4)


def test_quoted_decimal_comma_between_commas(tmp_path: Path) -> None:
    log = read(tmp_path, "t,ECT degC\n" + rows(15, '"{t},5","{v},25"'))
    assert log.values["coolant_out"][0] == pytest.approx(293.4)


def test_lines_before_the_header_and_a_row_of_units(tmp_path: Path) -> None:
    text = ("Logger 7;session 3\n\ndate;2026-05-01\nTime;Water Temp;Tank Out\n[s];[°F];[°C]\n"
            + rows(15, "{t};212.0;{v}"))
    log = read(tmp_path, text)
    assert log.values["coolant_out"][0] == pytest.approx(373.15)
    assert log.values["tank_out"][0] == pytest.approx(293.15)
    assert log.line[0] == 6


@pytest.mark.parametrize("encoding", ["utf-8-sig", "cp1252", "utf-16"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    text = "Time [s],Coolant [°C]\n" + rows(15, "{t},{v}")
    log = read(tmp_path, text.encode(encoding))
    assert log.values["coolant_out"][0] == pytest.approx(293.15)


def test_gaps_words_and_short_rows_are_counted_with_their_lines(tmp_path: Path) -> None:
    text = "t,ect degC,tank_in degC\n" + rows(20, "{t},{v},30") + (
        "20,ERR,30\n21,,30\n22,41\n\n# pause\n23,42,---\n")
    log = read(tmp_path, text)
    assert np.isnan(log.values["coolant_out"][20:22]).all()
    assert np.isnan(log.values["tank_in"][-2:]).all()
    said = " ".join(n.words for n in log.notes)
    assert "1 cells are no number, the first in line 22 ('ERR')" in said
    assert "1 rows are short of cells, the first in line 24" in said


def test_clock_over_midnight_and_dates(tmp_path: Path) -> None:
    clock = "time,ect degC\n" + "".join(
        f"{23 if i < 10 else 0}:{59 if i < 10 else 0}:{50 + i if i < 10 else i - 10}.5,{i}\n"
        for i in range(20))
    log = read(tmp_path, clock)
    assert np.diff(log.time) == pytest.approx(np.ones(19))
    assert len(log.sections) == 1
    assert seconds_of("2026-05-01 12:00:01.25") is not None
    assert seconds_of("noon") is None


def test_time_that_starts_anew_is_another_recording(tmp_path: Path) -> None:
    text = "t,ect degC\n" + rows(50, "{t},{v}") + rows(40, "{t},{v}")
    log = read(tmp_path, text)
    assert log.sections == (0, 50)
    assert log.time[50] - log.time[49] == pytest.approx(PAUSE)
    assert any("line 52" in n.words for n in log.notes)


def test_rows_that_step_back_are_left_out(tmp_path: Path) -> None:
    text = "t,ect degC\n" + rows(20, "{t},{v}") + "18.5,99\n" + "20,50\n" * 1 + "21,51\n"
    log = read(tmp_path, text)
    assert len(log.time) == 22
    assert any("do not go on in time" in n.words and "line 22" in n.words for n in log.notes)


def test_mapping_by_name_number_and_unit(tmp_path: Path) -> None:
    text = "clock,A:1,temp\n" + rows(15, "{t},212,{v}")
    log = read(tmp_path, text, "time=clock:s", "coolant_out=A:1:degF", "tank_in=#3:degC")
    assert log.values["coolant_out"][0] == pytest.approx(373.15)
    assert log.values["tank_in"][0] == pytest.approx(293.15)


def test_no_column_is_a_channel_when_the_mapping_says_so(tmp_path: Path) -> None:
    text = "t,ect degC,air degC\n" + rows(15, "{t},{v},20")
    log = read(tmp_path, text, "air=-")
    assert set(log.values) == {"coolant_out"}
    assert log.unused == ("air degC",)
    with pytest.raises(LogError, match="no column is the time"):
        read(tmp_path, text, "time=-")


def test_columns_are_seen_before_the_log_can_be_read(tmp_path: Path) -> None:
    text = "made by a logger\nt;ect;clt degC;what\ns;;;\n" + rows(12, "{t};;{v},5;x")
    path = write(tmp_path, text)
    found = survey(path)
    assert [(c.header, c.unit, c.sample) for c in found.columns] == [
        ("t", "s", "0"), ("ect", "", ""), ("clt degC", "", "20,5"), ("what", "", "x")]
    assert found.line == 2
    choices, problems = found.choices()
    assert [c.channel for c in choices] == ["time"]
    assert [p.key for p in problems] == ["coolant_out"]
    mapping = ["coolant_out=#3"]
    choices, problems = found.choices(mapping)
    assert [(c.channel, c.place) for c in choices] == [("coolant_out", 2), ("time", 0)]
    assert not problems
    assert set(read_log(path, mapping).values) == {"coolant_out"}


@pytest.mark.parametrize(("text", "words"), [("", "empty"), (b"\0\1" * 90, "binary")])
def test_a_file_without_columns_has_none_to_show(tmp_path: Path, text, words: str) -> None:
    with pytest.raises(LogError, match=words):
        survey(write(tmp_path, text))
    with pytest.raises(LogError, match="folder"):
        survey(tmp_path)


def test_gauge_and_absolute_pressure(tmp_path: Path) -> None:
    log = read(tmp_path, "t,MAP (psig)\n" + rows(15, "{t},1"))
    assert log.choices["plenum"].gauge
    assert log.values["plenum"][0] == pytest.approx(6894.757)
    assert not read(tmp_path, "t,MAP (kPa)\n" + rows(15, "{t},95")).choices["plenum"].gauge


@pytest.mark.parametrize(
    ("text", "mapping", "words"),
    [
        ("", (), "the file is empty"),
        (b"\x00\x01\x02" * 50, (), "binary file"),
        ("just words\nand more\n", (), "no columns are found"),
        ("a,b\nc,d\n" * 5, (), "no line of numbers"),
        ("t,ect\n" + rows(12, "{t},{v}"), (), r"log.csv:1: coolant_out: given 'ect'; the unit is "
         "missing.*--column coolant_out=ect:UNIT"),
        ("t,ect (furlong)\n" + rows(12, "{t},{v}"), (), "unit 'furlong'"),
        ("t,ect degC,clt degC\n" + rows(12, "{t},{v},1"), (), "one column is expected"),
        ("x,ect degC\n" + rows(12, "{t},{v}"), (), "no column is the time"),
        ("t,foo,bar\n" + rows(12, "{t},{v},1"), (), "no column but the time"),
        ("t,ect degC\n" + rows(12, "{t},{v}"), ("tank_in=nope:degC",), "no column has this"),
        ("t,ect degC\n" + rows(12, "{t},{v}"), ("tonk_in=ect:degC",), "Did you mean tank_in"),
        ("t,ect degC\n" + rows(12, "{t},{v}"), ("tank_in",), "CHANNEL=COLUMN:UNIT"),
        ("t,ect degC\n" + rows(5, "{t},{v}"), (), "at least 10"),
        ("t,ect degC,air degC\n" + rows(12, "{t},,20"), (), "the column is empty"),
        ("t,ect degC,air degC\n" + rows(12, "{t},ERR,20"), (),
         r"log.csv:2: coolant_out: given 'ERR'; numbers are expected"),
        ("t,ect degC\n" + rows(12, "{t},5,{v},5"), (), r"log.csv:2: .*semicolons"),
    ],
)
def test_what_cannot_be_read_is_said(
    tmp_path: Path, text: str | bytes, mapping: tuple[str, ...], words: str
) -> None:
    with pytest.raises(LogError, match=words):
        read(tmp_path, text, *mapping)


def test_missing_file_and_folder(tmp_path: Path) -> None:
    with pytest.raises(LogError, match="no such file"):
        read_log(tmp_path / "none.csv")
    with pytest.raises(LogError, match="folder"):
        read_log(tmp_path)


@pytest.mark.parametrize(
    ("header", "split"),
    [
        ("ECT (degF)", ("ECT", "degF")), ("Speed [km/h]", ("Speed", "km/h")),
        ("tank_out_degC", ("tank out", "degC")), ("coolant in", ("coolant in", "")),
        ("speed_m_per_s", ("speed", "m per s")), ("rpm", ("rpm", "")), ("t", ("t", "")),
    ],
)
def test_headers(header: str, split: tuple[str, str]) -> None:
    assert split_header(header) == split


def test_units_of_loggers() -> None:
    assert measure("°F", "air")[1:3] == pytest.approx((5 / 9, 273.15 - 32 * 5 / 9))
    assert measure("ms", "time")[1] == pytest.approx(1e-3)
    assert measure("kPaG", "plenum")[3]
