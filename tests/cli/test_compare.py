"""``soakbox compare``: only what differs, each cell the figure of ``check`` by itself."""

from __future__ import annotations

import json
import re

import pytest


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("count", [2, 3, 5])
def test_it_keeps_to_eighty_columns_and_begins_with_the_verdicts(soakbox, shipped, units, count):
    names = ("base", "hot_day", "overreach", "ice", "plate")[:count]
    ran = soakbox("compare", *map(shipped, names), "--units", units)
    assert [line for line in ran.out.splitlines() if len(line) > 80] == []
    blocks = re.split(r"^VERDICT$", ran.out, flags=re.MULTILINE)
    assert len(blocks) == 1 + -(-(count - 1) // 2)
    for block in blocks[1:]:
        assert "ok clear" in block.splitlines()[1]  # base stands first in each block
    for name in names:
        assert f"{name}.toml: " in ran.out
    assert "can kill" in ran.out
    assert ran.status == (1 if "overreach" in names else 0)


def test_one_changed_value_is_the_only_input_told(soakbox, shipped, tmp_path):
    other = tmp_path / "other.toml"
    text = shipped("base").read_text(encoding="utf-8")
    changed = re.sub(r'(\[tank\][^\[]*?volume = ")[^"]+', r"\g<1>60 L", text, count=1)
    assert changed != text
    other.write_text(changed, encoding="utf-8")
    ran = soakbox("compare", shipped("base"), other, "--json")
    got = json.loads(ran.out)
    inputs = [row for row in got["rows"] if row["group"] == "input"]
    assert [row["key"] for row in inputs] == ["tank.volume"]
    assert inputs[0]["values"] == ["38 L", "60 L"]
    alone = [
        json.loads(soakbox("check", path, "--json").out) for path in (shipped("base"), other)
    ]
    assert [side["result"] for side in got["scenarios"]] == alone
    peaks = [side["cooling"]["tank_peak_degC"] for side in alone]
    assert peaks[1] < peaks[0]
    told = next(row for row in got["rows"] if row["label"] == "tank, hottest")
    assert [float(v.split()[0]) for v in told["values"]] == pytest.approx(peaks, abs=0.01)


def test_files_of_one_name_are_told_apart_by_their_paths(soakbox, shipped, tmp_path):
    copy = tmp_path / "base.toml"
    copy.write_bytes(shipped("base").read_bytes())
    ran = soakbox("compare", shipped("base"), copy)
    assert str(copy) in ran.out.replace("\n", "")
    assert "INPUTS THAT DIFFER" not in ran.out


def test_an_override_holds_for_every_file(soakbox, shipped):
    ran = soakbox("compare", shipped("base"), shipped("hot_day"), "--set",
                  "site.air_temperature=25 degC")
    assert "air temperature" not in ran.out


def test_one_file_is_no_comparison_and_a_bad_one_is_named(soakbox, shipped, tmp_path):
    ran = soakbox("compare", shipped("base"))
    assert (ran.status, ran.out) == (2, "")
    assert "two scenarios or more" in ran.err
    missing = tmp_path / "none.toml"
    ran = soakbox("compare", shipped("base"), missing)
    assert (ran.status, ran.out) == (2, "")
    assert "none.toml" in ran.err


def test_the_worst_of_the_exit_statuses_is_returned(soakbox, shipped):
    assert soakbox("compare", shipped("base"), shipped("overreach")).status == 1
