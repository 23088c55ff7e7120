"""Other verbs, help, and the streams that results and messages go to."""

from __future__ import annotations

import json

import pytest

SIZES = {"tank-volume", "run-distance", "exchanger-ua", "tank-flow", "tank-fill", "ice-mass",
         "run-on", "idle-time", "hottest-air", "hottest-tank-start", "duct-size"}


def test_size_as_json(soakbox, shipped):
    ran = soakbox("size", shipped("base"), "--json")
    got = json.loads(ran.out)
    assert ran.status == 0
    assert got["schema"] == 1
    assert got["verdict"] == "clear"
    assert got["margin_K"] == 10.0
    assert {s["name"] for s in got["sizes"]} >= SIZES
    for size in got["sizes"]:
        assert {"name", "title", "kind", "key", "value_si", "now_si", "binding", "note", "set",
                "crossings_si", "best"} <= set(size)
    tank = next(s for s in got["sizes"] if s["name"] == "tank-volume")
    assert tank["now_si"] == 0.038
    # Put back, the worst way of mixing is at nine tenths of the relief's 50 kPa.
    peaks = []
    for mixing in ("mixed", "plug", "adverse"):
        texts = [*tank["set"], f"tank.mixing={mixing}"]
        again = soakbox("check", shipped("base"), "--json",
                        *(x for text in texts for x in ("--set", text)))
        assert again.status == 0
        peaks.append(json.loads(again.out)["cooling"]["tank_pressure_peak_Pa"])
    assert max(peaks) == pytest.approx(45e3, rel=1e-3)


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("name", ["base", "hot_day", "overreach"])
def test_size_text_fits_eighty_columns(sheet_with, solve_with, name, units):
    from tui.text_sizes import sheet_text

    text = sheet_text(solve_with(name), sheet_with(name), units)
    assert [line for line in text.splitlines() if len(line) > 80] == []
    assert "BUILD SHEET" in text
    assert "smallest tank" in text


def test_size_of_a_dangerous_plan_is_status_one(soakbox, shipped, sheet_with, monkeypatch):
    sheet = sheet_with("overreach")  # made by another test: the search itself is slow
    monkeypatch.setattr("thermo.sizing.build_sheet", lambda *_: sheet)
    ran = soakbox("size", shipped("overreach"))
    assert ran.status == 1
    assert "none in range" in ran.out
    assert ran.err == ""


def test_schema_is_json_schema_of_every_table(soakbox):
    ran = soakbox("schema")
    got = json.loads(ran.out)
    assert ran.status == 0
    assert got["$schema"].startswith("https://json-schema.org/draft/2020-12")
    tables = set(got["properties"])
    assert tables >= {"schema", "site", "car", "engine", "coolant", "exchanger", "tank", "loop",
                      "intake", "limits", "doubt", "leg"}
    assert set(got["required"]) >= {"schema", "site", "car", "engine", "coolant", "tank", "leg"}
    assert ran.err == ""


def test_new_writes_a_starter_that_checks(soakbox, tmp_path):
    path = tmp_path / "mine.toml"
    ran = soakbox("new", path)
    assert (ran.status, ran.out) == (0, "")
    assert "mine.toml" in ran.err
    assert "#" in path.read_text(encoding="utf-8")
    checked = soakbox("check", path)
    assert checked.status in (0, 1)
    assert "VERDICT: " in checked.out


def test_new_never_overwrites(soakbox, tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("precious")
    ran = soakbox("new", path)
    assert ran.status == 2
    assert "exists already" in ran.err
    assert path.read_text() == "precious"


def test_new_into_a_folder_that_is_not_there(soakbox, tmp_path):
    ran = soakbox("new", tmp_path / "none" / "mine.toml")
    assert ran.status == 2
    assert len(ran.err.strip().splitlines()) == 1


@pytest.mark.parametrize("argv", [("--help",), ("-h",), ("check", "--help"), ("size", "-h")])
def test_help_fits_eighty_columns(soakbox, argv):
    ran = soakbox(*argv)
    assert ran.status == 0
    assert "Usage: soakbox" in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines())


def test_version(soakbox):
    from thermo import __version__

    assert __version__ in soakbox("--version").out


def test_messages_speak_with_one_voice(soakbox, shipped, tmp_path):
    """Each refusal that is not about usage begins with the program's name."""
    (tmp_path / "there.toml").write_text("x")
    for argv in (("check", tmp_path / "none.toml"), ("new", tmp_path / "there.toml"),
                 ("check", shipped("base"), "--series", tmp_path),
                 ("check", shipped("base"), "--set", "tank.volume=1 kg")):
        assert soakbox(*argv).err.startswith("soakbox: "), argv
