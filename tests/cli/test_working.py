"""``soakbox working``: text, units, Markdown, JSON, names, and what is refused."""

from __future__ import annotations

import json

import pytest


@pytest.mark.parametrize("units", ["si", "us"])
def test_text_fits_and_tells_estimate_and_difference(soakbox, shipped, units):
    ran = soakbox("working", shipped("hot_day"), "tank_end_degC", "--units", units)
    assert ran.status == 0
    assert ran.err == ""
    assert max(map(len, ran.out.splitlines())) <= 80
    for part in ("TANK AT THE END OF THE EVENT (cooling.tank_end_degC)", "HAND ESTIMATE",
                 "T_hand = T0 + H/((m_t + m_l)*cp)", "By hand ", "Why they differ: ",
                 "source: ", "can kill"):
        assert part in ran.out
    assert ("degF = 1.8*(K - 273.15) + 32" in ran.out) is (units == "us")
    assert ("169.52 degF" in ran.out) is (units == "us")


def test_without_a_name_all_are_listed_with_figures(soakbox, shipped):
    ran = soakbox("working", shipped("base"))
    assert ran.status == 0
    assert max(map(len, ran.out.splitlines())) <= 80
    for name in ("cooling.boil_margin_K", "intake.net_Pa", "site.density_kg_per_m3",
                 "audit.residual_fraction", "flags.panel-stress", "sizes.tank-volume"):
        assert name in ran.out
    assert "86.8 kPa abs  site.station_pressure_Pa" in ran.out
    got = json.loads(soakbox("working", shipped("base"), "--json").out)
    assert len(got["figures"]) > 90
    assert {"name", "title", "figure"} == set(got["figures"][0])


def test_json_of_one_working(soakbox, shipped):
    got = json.loads(soakbox("working", shipped("hot_day"), "boil_margin_K", "--json").out)
    check = json.loads(soakbox("check", shipped("hot_day"), "--json").out)
    assert got["computed"]["value"] == check["cooling"]["boil_margin_K"]
    assert got["steps"][-1]["equation"] == "margin = T_b - T_c - dT"
    assert {"title", "equation", "symbols", "result", "source", "range", "note"} <= set(
        got["steps"][0])
    assert got["hand_estimate"]["unit"] == "K"
    assert any("glycol" in c for c in got["cautions"])


def test_a_danger_is_status_one(soakbox, shipped):
    assert soakbox("working", shipped("overreach"), "boil_margin_K").status == 1


def test_markdown_is_written_whole_and_never_over_the_scenario(soakbox, shipped, tmp_path):
    out = tmp_path / "margin.md"
    ran = soakbox("working", shipped("hot_day"), "boil_margin_K", "--out", out)
    assert ran.status == 0
    assert ran.out == ""
    text = out.read_text(encoding="utf-8")
    assert text.startswith("# boil margin\n")
    assert "`margin = T_b - T_c - dT`" in text
    assert "| T_b | 395.32087 | K |" in text
    assert "can kill" in text
    mine = tmp_path / "mine.md"
    mine.write_bytes(shipped("base").read_bytes())
    ran = soakbox("working", mine, "boil_margin_K", "--out", mine)
    assert ran.status == 2
    assert "write over it" in ran.err
    assert mine.read_bytes() == shipped("base").read_bytes()


@pytest.mark.parametrize(
    ("words", "said"),
    [(("boil_margn_K",), "Did you mean cooling.boil_margin_K"),
     (("boil_margin_K", "--out", "a.txt"), ".md"),
     (("--out", "a.md"), "name the figure"),
     (("boil_margin_K", "--set", "tank.volum=1 L"), "no such key")],
)
def test_bad_input_is_status_two(soakbox, shipped, words, said):
    ran = soakbox("working", shipped("base"), *words)
    assert ran.status == 2
    assert ran.out == ""
    assert said in ran.err


def test_without_a_duct_intake_figures_are_not_offered(soakbox, shipped, tmp_path):
    text = shipped("base").read_text(encoding="utf-8")
    bare = tmp_path / "bare.toml"
    bare.write_text(text.split("[intake]")[0] + "\n[[leg]]" + text.split("[[leg]]", 1)[1]
                    if text.index("[intake]") < text.index("[[leg]]") else
                    text.split("[intake]")[0], encoding="utf-8")
    ran = soakbox("working", bare, "net_Pa")
    assert ran.status == 2
    assert "no figure is called 'net_Pa'" in ran.err
    assert "intake." not in soakbox("working", bare).out
