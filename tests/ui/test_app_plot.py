"""The chart drawing: what shares a cell, where names stand, and what holds for any chart."""

from __future__ import annotations

import math
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.ui.piloting import SCENARIOS
from thermo.event import solve
from thermo.scenario_io import read_scenario
from thermo.trial import Trials
from tui.canvas import text_of, width_of
from tui.chartlist import CHARTS, NAMES, SLOW, Wanted
from tui.charts import Chart, Limit, Series
from tui.widgets.plot import draw, nice_ticks, value_at

SMALL = Series("small", (0.0, 10.0), (1.0, 1.0), "cold")
RISING = Series("rising", (0.0, 10.0), (0.0, 10.0), "hot")


def chart(*series, **more):
    return Chart("x", "a chart", "time [s]", "height [m]", "time", series, **more)


def drawn(one, width=40, height=12, **more):
    return text_of(draw(one, width, height, **more).lines)


@cache
def event(name):
    scenario = read_scenario(SCENARIOS / f"{name}.toml").scenario
    return solve(scenario), scenario


def test_axes_are_named_with_their_units_and_their_figures_stand_on_ticks():
    lines = drawn(chart(RISING)).splitlines()
    assert lines[0] == "height [m]"
    assert lines[-1].endswith("time [s]")
    assert [line.split("┤")[0].strip() for line in lines if "┤" in line] == ["10", "5", "0"]
    assert lines[-1].split()[:2] == ["0", "5"]


def test_a_rising_line_goes_from_the_lower_left_to_the_upper_right():
    lines = drawn(chart(RISING)).splitlines()[1:-2]
    assert any(0x2800 < ord(c) <= 0x28FF for c in lines[-1][:8])
    assert any(0x2800 < ord(c) <= 0x28FF for c in lines[0][-4:])


def test_lines_that_cross_share_a_cell_and_neither_is_erased():
    falling = Series("falling", (0.0, 10.0), (10.0, 0.0), "cold")

    def dots(*series):
        text = drawn(chart(*series, limits=(Limit("low", 0.0), Limit("high", 10.0))))
        return sum((ord(c) - 0x2800).bit_count() for c in text if 0x2800 < ord(c) <= 0x28FF)

    both = dots(RISING, falling)
    assert both > 0.85 * (dots(RISING) + dots(falling))


def test_each_line_has_its_letter_and_each_limit_its_name_and_figure():
    text = drawn(chart(RISING, SMALL, limits=(Limit("boils", 7.5),)))
    body = text.split("\n", 1)[1]
    assert body.count("a") == 1
    assert " boils 7.5 " in text
    assert "╌" in text
    assert sum(line.count("b") for line in body.splitlines() if "boils" not in line) == 1


def test_limits_at_the_same_height_stand_beside_each_other():
    text = drawn(chart(RISING, limits=(Limit("one", 5.0), Limit("two", 5.1))), width=50)
    line = next(line for line in text.splitlines() if "one" in line)
    assert "two 5.1" in line


def test_what_goes_off_the_top_is_left_out_but_the_limits_stay():
    text = drawn(chart(RISING, limits=(Limit("low", 1.0),), top=4.0))
    assert "low 1" in text
    ticks = [float(x.split("┤")[0]) for x in text.splitlines() if "┤" in x]
    assert max(ticks) <= 4.2


def test_the_moment_is_an_upright_that_hides_no_point():
    flat = Series("flat", (0.0, 10.0), (5.0, 5.0), "hot")
    without, with_it = drawn(chart(flat)), drawn(chart(flat), moment=5.0)
    assert with_it.count("▲") == 1
    column = next(line.index("▲") for line in with_it.splitlines() if "▲" in line)
    for before, after in zip(without.splitlines(), with_it.splitlines(), strict=True):
        if 0x2800 < ord(before.ljust(60)[column]) <= 0x28FF:
            assert after[column] == before[column]


def test_a_moment_outside_the_axis_is_not_drawn():
    assert "▲" not in drawn(chart(RISING), moment=11.0)


def test_a_column_stands_for_its_x():
    drawing = draw(chart(RISING), 40, 12)
    assert drawing.x_at(drawing.left) == 0.0
    assert drawing.x_at(drawing.left + drawing.columns - 1) == pytest.approx(10.0)
    assert drawing.x_at(-5) == 0.0
    assert drawing.x_at(100) == pytest.approx(10.0)


def test_a_value_lies_on_the_straight_between_points():
    assert value_at(RISING, 2.5) == pytest.approx(2.5)
    assert value_at(RISING, 10.0) == 10.0
    assert value_at(RISING, 10.1) is None
    assert value_at(Series("none", (), (), "hot"), 1.0) is None


@pytest.mark.parametrize("ascii_only", [False, True])
@pytest.mark.parametrize("size", [(30, 7), (44, 12), (78, 16), (136, 30)])
@pytest.mark.parametrize("name", ["hot_day", "thin_duct", "ice"])
def test_every_chart_fits_and_tells_its_limits(name, size, ascii_only):
    result, scenario = event(name)
    for which in NAMES:
        if which in SLOW and name != "hot_day":
            continue
        made = CHARTS[which](Wanted(which, result, scenario, size[0], "si"), Trials())
        drawing = draw(made, *size, moment=30.0, ascii_only=ascii_only)
        assert len(drawing.lines) == size[1]
        assert max(map(width_of, drawing.lines)) <= size[0]
        text = text_of(drawing.lines)
        if ascii_only:
            assert text.isascii()
        if size[0] >= 78:
            for limit in made.limits:
                assert limit.name in text, which
            if not ascii_only:
                body = " ".join(text.split("\n")[1:])
                for letter in "abcd"[: len(made.series)]:
                    assert letter in body


@given(
    low=st.floats(-1e6, 1e6), span=st.floats(1e-3, 1e6), most=st.integers(1, 12)
)
def test_ticks_are_round_within_the_range_and_not_too_many(low, span, most):
    high = low + span
    ticks = nice_ticks(low, high, most)
    assert 1 <= len(ticks) <= most + 1
    assert ticks == sorted(ticks)
    step = ticks[1] - ticks[0] if len(ticks) > 1 else span
    assert all(low - 1e-6 * step - 1e-9 <= t <= high + 1e-6 * step + 1e-9 for t in ticks)
    if len(ticks) > 1:
        digits = round(step / 10 ** math.floor(math.log10(step) + 1e-9), 3)
        assert digits in (1.0, 2.0, 5.0, 10.0)


@settings(max_examples=40)
@given(
    ys=st.lists(st.floats(-1e5, 1e5), min_size=1, max_size=40),
    width=st.integers(30, 100),
    height=st.integers(7, 30),
    moment=st.floats(-5.0, 50.0),
)
def test_any_line_can_be_drawn_at_any_size(ys, width, height, moment):
    series = Series("any", tuple(map(float, range(len(ys)))), tuple(ys), "hot")
    limit = Limit("limit", ys[0])
    drawing = draw(chart(series, limits=(limit,)), width, height, moment=moment)
    assert max(map(width_of, drawing.lines)) <= width
