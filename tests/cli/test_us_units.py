"""Text in US units holds no figure in SI units, whichever scenario is told."""

from __future__ import annotations

import re

import pytest

from thermo.event import solve_whole
from thermo.workings.bench import Bench
from thermo.workings.book import entries
from tui.text_check import check_text
from tui.text_sizes import sheet_text
from tui.text_working import list_text
from tui.wording import amount, localised

SI = re.compile(
    r"(?<![\w.])-?\d+(?:\.\d+)? (?:kPa|Pa|MPa|bar|L|mm|cm|m|km|m/s|km/h|degC|kg|g|K|L/min|L/s|kg/s"
    r"|W|kW|W/K|J|kJ|MJ|N|kg/m\^3|m\^2)(?![\w/])"
)
ALL = ("base", "hot_day", "overreach", "long_course", "second_pass", "ice", "cold_paddock",
       "frame_tubes", "thin_duct", "plate")

QUEUE = """
[[leg]]
kind = "queue"
duration = "20 min"
sun = false
[[leg]]
kind = "full-power"
distance = "800 m"
start_speed = "13 m/s"
"""


def si_in(text: str) -> list[str]:
    return SI.findall(text.replace("\n", " "))


@pytest.mark.parametrize("name", ALL)
def test_check_tells_no_si(solve_with, name):
    assert si_in(check_text(solve_with(name), "si"))  # the pattern finds what is there
    assert si_in(re.sub(r"\s+", " ", check_text(solve_with(name), "us"))) == []


@pytest.mark.parametrize("name", ["base", "hot_day", "overreach"])
def test_the_build_sheet_tells_no_si(solve_with, sheet_with, name):
    text = re.sub(r"\s+", " ", sheet_text(solve_with(name), sheet_with(name), "us"))
    assert si_in(text) == []


@pytest.mark.parametrize(
    ("words", "told"),
    [  # by the definitions of NIST SP 811, app. B
        ("5 to 14 bar a kelvin", "40.3 psi per F deg to 113 psi per F deg"),
        ("305 x 254 mm", "12 in x 10 in"),
        ("60-80 degC", "140 degF to 176 degF"),
        ("0.5 L/min a kW", "0.0985 gpm a hp"),
        ("28 W/K a kW", "39.6 BTU/(h degF) a hp"),
        ("0.4 kg a kW", "0.658 lb a hp"),
        ("1000 m and 10 kPa", "3280 ft and 1.45 psi"),
    ],
)
def test_figures_inside_sentences(words, told):
    assert localised(words, "us") == told
    assert localised(words, "si") == words


def test_reasons_and_ranges_of_a_standard_are_told_in_us_units(solve_with):
    cold = solve_with("base", "site.air_temperature=-8 degC", "tank.start_temperature=0.5 degC",
                      "tank.air_conductance=60 W/K", legs=QUEUE)
    assert cold.untrusted
    text = re.sub(r"\s+", " ", check_text(cold, "us"))
    assert "32 degF to 392 degF" in text  # water from 0 to 200 degC
    assert "freezing in tank and lines is not modelled" in text
    assert "the standard covers 59 degF to 95 degF" in text  # 15 to 35 degC
    assert "the standard covers 13.1 psi to 15.2 psi" in text  # 90 to 105 kPa
    assert si_in(text) == []


def test_the_list_of_workings_tells_no_si(solve_with, scenario_with):
    bench = Bench(solve_whole(scenario_with("base")))
    lines = list_text(entries(bench), "base", "us").splitlines()
    assert si_in(" ".join(line for line in lines if "flags." in line)) == []


def test_a_hair_beside_the_melting_point_is_the_melting_point():
    assert amount(273.15 - 2e-5, "temperature", "si", 4) == "0 degC"
    assert amount(273.15 - 2e-5, "temperature", "us", 4) == "32 degF"
