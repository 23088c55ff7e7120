"""``soakbox map`` as typed: text, files, and what is refused."""

import json
import re

import pytest

AXES = ("--x", "tank.volume=30 L:70 L:5", "--y", "tank.fill=70 %:90 %:3")


def test_text_fits_and_us_units_have_no_metric_ones(soakbox, shipped):
    ran = soakbox("map", shipped("hot_day"), "--x", "tank.volume=30 L:70 L:30", "--y",
                  "site.air_temperature=20 degC:40 degC:3", "--show", "boil_margin_K", "--units",
                  "us")
    assert (ran.status, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= 80
    assert "tank.volume, gal across, site.air_temperature, degF down" in ran.out
    assert "Thinned: " in ran.out
    assert not re.search(r"\d (?:K|degC|kPa|Pa|L|mm|kg|m/s)\b", ran.out)


def test_a_place_is_what_check_tells(soakbox, shipped):
    ran = soakbox("map", shipped("base"), *AXES, "--show", "tank-scald.slack", "--json")
    told = json.loads(ran.out)
    ran = soakbox("check", shipped("base"), "--json", "--set", "tank.volume=50 L", "--set",
                  "tank.fill=0.8")
    result = json.loads(ran.out)
    flag = next(f for f in result["flags"] if f["name"] == "tank-scald")
    assert told["values"][1][2] == pytest.approx(flag["limit"] - flag["value"], abs=0.05)
    assert told["verdicts"][1][2] == result["verdict"]


@pytest.mark.parametrize(("name", "head"), [
    ("m.csv", b"tank.volume,tank.fill,verdict,"), ("m.json", b"{"), ("m.svg", b"<?xml"),
    ("m.png", b"\x89PNG"), ("m.pdf", b"%PDF")])
def test_files_by_their_ending(soakbox, shipped, tmp_path, name, head):
    ran = soakbox("map", shipped("base"), *AXES, "--out", tmp_path / name)
    assert (ran.status, ran.err) == (0, "")
    assert (tmp_path / name).read_bytes().startswith(head)


@pytest.mark.parametrize(("words", "told"), [
    ((*AXES, "--show", "boil_margn_K"), "Did you mean boil_margin_K"),
    ((*AXES, "--out", "m.bmp"), "the ending says which"),
    (("--x", "tank.volum=30 L:70 L:5", *AXES[2:]), "Did you mean tank.volume"),
    (AXES[:2], "Missing option '--y'")])
def test_what_is_refused(soakbox, shipped, words, told):
    ran = soakbox("map", shipped("base"), *words)
    assert (ran.status, ran.out) == (2, "")
    assert told in " ".join(ran.err.split())


def test_a_danger_as_planned_is_the_exit_status(soakbox, shipped):
    assert soakbox("map", shipped("overreach"), *AXES).status == 1
