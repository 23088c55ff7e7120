"""``soakbox check``: its JSON, its series, its text, its exit status."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import pytest


def words(text):
    return text.split()


SCENARIOS = sorted((Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))
FLAGS = words(
    "coolant-boil leaking-cap after-boil flow-lost too-cold tank-scald line-scald coolant-flash "
    "touch relief-lift relief-size hydraulic-lock vacuum trapped-liquid panel-stress pick-up "
    "freeze cavitation air-lock low-flow catalogue-flow intake-net intake-mach intake-choke "
    "intake-hot fuel-reference range audit"
)
FLAG_KEYS = words("name level value limit unit at_s leg where why remedy")
COOLING = words(
    "coolant_peak_degC tank_peak_degC tank_end_degC boil_margin_K after_boil_margin_K "
    "heat_total_J effectiveness_at_peak ntu_at_peak ua_at_peak_W_per_K tank_flow_m3_per_s "
    "tank_pressure_peak_Pa headspace_needed_m3 steam_lost_kg tank_water_kg pass_time_s "
    "pass_top_speed_m_per_s"
)
INTAKE = words(
    "ram_gain_Pa duct_loss_Pa net_Pa recovery air_flow_kg_per_s duct_mach_max density_ratio "
    "break_even_speed_m_per_s"
)
AUDIT = words("heat_in_J stored_J to_air_J steam_J residual_fraction")
SERIES = words(
    "time_s leg speed_m_per_s heat_to_coolant_W coolant_degC metal_degC tank_out_degC "
    "tank_mean_degC exchanger_heat_W"
)
STATUS = {"clear": 0, "caution": 0, "danger": 1, "no verdict": 3}


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda p: p.stem)
def test_json_carries_every_key(soakbox, path):
    ran = soakbox("check", path, "--json")
    got = json.loads(ran.out)
    assert got["schema"] == 1
    assert got["scenario"]
    assert ran.status == STATUS[got["verdict"]]
    assert [f["name"] for f in got["flags"]] == FLAGS
    for flag in got["flags"]:
        assert set(FLAG_KEYS) <= set(flag)
        assert flag["level"] in ("clear", "caution", "danger")
    assert set(COOLING) <= set(got["cooling"])
    for key in COOLING:
        if key != "headspace_needed_m3":
            assert isinstance(got["cooling"][key], (int, float)), key
    assert set(AUDIT) <= set(got["audit"])
    assert abs(got["audit"]["residual_fraction"]) < 1e-3
    if got["intake"] is not None:
        assert set(INTAKE) <= set(got["intake"])
    worst = max((f["level"] for f in got["flags"]),
                key=("clear", "caution", "danger").index)
    assert got["verdict"] == worst
    assert ran.err == ""


@pytest.mark.parametrize("text", ["NaN", "Infinity"])
def test_json_holds_no_number_that_is_none(soakbox, shipped, text):
    assert text not in soakbox("check", shipped("overreach"), "--json").out


@pytest.mark.parametrize("name", ["base", "hot_day", "overreach"])
def test_shipped_cases_have_the_outcome_they_are_there_to_show(soakbox, shipped, name):
    ran = soakbox("check", shipped(name), "--json")
    wanted = {"base": ("clear", 0), "hot_day": ("caution", 0), "overreach": ("danger", 1)}[name]
    assert (json.loads(ran.out)["verdict"], ran.status) == wanted


def test_series_has_its_columns_and_rows(soakbox, shipped, tmp_path):
    out = tmp_path / "series.csv"
    ran = soakbox("check", shipped("base"), "--series", out, "--json")
    assert ran.status == 0
    rows = list(csv.reader(out.read_text(encoding="utf-8").splitlines()))
    header = rows[0]
    assert set(SERIES) <= set(header)
    assert len(header) == len(set(header))
    assert len(rows) > 60
    assert all(len(row) == len(header) for row in rows)
    column = {name: [row[header.index(name)] for row in rows[1:]] for name in header}
    times = [float(x) for x in column["time_s"]]
    assert times[0] == 0.0
    assert times == sorted(times)
    assert list(dict.fromkeys(column["leg"])) == ["pass", "coast", "soak"]
    figures = json.loads(ran.out)["cooling"]
    assert max(map(float, column["coolant_degC"])) == pytest.approx(
        figures["coolant_peak_degC"], abs=1e-4)
    assert float(column["tank_mean_degC"][-1]) == pytest.approx(
        figures["tank_end_degC"], abs=1e-4)
    assert max(map(float, column["speed_m_per_s"])) == pytest.approx(
        figures["pass_top_speed_m_per_s"], rel=1e-3)


def test_series_replaces_a_file_and_leaves_no_part(soakbox, shipped, tmp_path):
    out = tmp_path / "series.csv"
    out.write_text("old")
    assert soakbox("check", shipped("base"), "--series", out).status == 0
    assert out.read_text().startswith("time_s,leg,")
    assert [p.name for p in tmp_path.iterdir()] == ["series.csv"]


@pytest.mark.parametrize("where", ["missing/series.csv", "."])
def test_series_that_cannot_be_written_is_one_line(soakbox, shipped, tmp_path, where):
    ran = soakbox("check", shipped("base"), "--series", tmp_path / where)
    assert ran.status == 2
    assert len(ran.err.strip().splitlines()) == 1
    assert ran.err.startswith("soakbox: ")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("units", ["si", "us"])
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda p: p.stem)
def test_text_fits_eighty_columns(soakbox, path, units):
    ran = soakbox("check", path, "--units", units)
    wide = [line for line in ran.out.splitlines() if len(line) > 80]
    assert wide == []
    assert "VERDICT: " in ran.out
    for name in FLAGS:
        assert re.search(rf"^(ok|! |XX) \w+ +{name} ", ran.out, re.MULTILINE), name
    assert "\x1b" not in ran.out
    assert not re.search(r"\bnan\b|\binf\b|\bNone\b", ran.out)


def test_us_text_speaks_us_units_alone(soakbox, shipped):
    for name in ("base", "hot_day", "overreach"):
        text = soakbox("check", shipped(name), "--units", "us").out
        # A unit behind a number; ambient of the power standard is quoted in its own units.
        told = re.sub(r"SAE J1349;.*?\n\n", "\n\n", text, flags=re.DOTALL)
        assert not re.search(r"\d (kPa|degC|K|L|kg|m/s|L/min|MPa|kJ|mm|bar/K)\b", told), name


def test_text_says_that_it_governs_nothing(soakbox, shipped):
    text = " ".join(soakbox("check", shipped("base")).out.split())
    assert "Pressurised hot water can kill" in text
    assert "rule book" in text
    assert "technical inspector" in text


def test_several_settings_at_once(soakbox, shipped):
    ran = soakbox("check", shipped("base"), "--json", "--set", "tank.volume=9 gal",
                  "--set", "tank.fill=0.8", "--set", 'engine.power="50 kW"')
    assert ran.status == 0
    water = 9 * 3.785411784 * 0.8 * 0.9986
    assert json.loads(ran.out)["cooling"]["tank_water_kg"] == pytest.approx(water, rel=1e-3)


def test_the_last_setting_of_a_key_wins(soakbox, shipped):
    once = soakbox("check", shipped("base"), "--json", "--set", "tank.volume=20 L")
    twice = soakbox("check", shipped("base"), "--json", "--set", "tank.volume=30 L", "--set",
                    "tank.volume=20 L")
    assert once.out == twice.out


def test_same_input_same_output(soakbox, shipped):
    assert soakbox("check", shipped("hot_day"), "--json").out == soakbox(
        "check", shipped("hot_day"), "--json").out


def test_a_number_that_cannot_be_trusted_is_status_three(soakbox, shipped, monkeypatch):
    from thermo import event

    # The account made to miss its limit: nothing else changes.
    monkeypatch.setattr(event, "AUDIT_LIMIT", -1.0)
    ran = soakbox("check", shipped("base"), "--json")
    got = json.loads(ran.out)
    assert ran.status == 3
    assert got["verdict"] == "no verdict"
    assert any("account" in reason for reason in got["untrusted"])
    text = soakbox("check", shipped("base"))
    assert text.status == 3
    assert "NO VERDICT" in text.out
    assert "cannot be trusted" in text.out
