"""Text in US units holds no figure in SI units, whichever scenario is told."""

from __future__ import annotations

import re

import pytest

from tui.text_check import check_text
from tui.text_sizes import sheet_text
from tui.wording import localised

SI = re.compile(
    r"(?<![\w.])-?\d+(?:\.\d+)? (?:kPa|Pa|MPa|bar|L|mm|cm|m|km|m/s|km/h|degC|kg|g|K|L/min|L/s|kg/s"
    r"|W|kW|W/K|J|kJ|MJ|N|kg/m\^3|m\^2)(?![\w/])"
)
ALL = ("base", "hot_day", "overreach", "long_course", "second_pass", "ice", "cold_paddock",
       "frame_tubes", "thin_duct", "plate")


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
        ("1000 m and 10 kPa", "3280 ft and 1.45 psi"),
    ],
)
def test_figures_inside_sentences(words, told):
    assert localised(words, "us") == told
    assert localised(words, "si") == words
