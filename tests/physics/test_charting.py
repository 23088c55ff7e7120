"""Places of names beside a chart, and what is taken down of a drawing."""

from __future__ import annotations

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.charting import Line, Plot, cut_to, draw, drawable, spread, text_length


@given(st.lists(st.floats(-5.0, 15.0), min_size=1, max_size=9), st.floats(0.1, 3.0))
def test_names_keep_their_distance_within_the_room(wanted, gap):
    placed = spread(wanted, gap, 0.0, 10.0)
    fits = min(gap, 10.0 / max(len(wanted) - 1, 1))
    ordered = sorted(placed)
    assert all(b - a >= fits - 1e-9 for a, b in itertools.pairwise(ordered))
    assert ordered[0] >= -1e-9
    assert ordered[-1] <= 10.0 + 1e-9
    for (a, x), (b, y) in zip(
        sorted(zip(wanted, placed, strict=True)), sorted(zip(wanted, placed, strict=True))[1:],
        strict=False,
    ):
        assert a == b or x <= y


def test_names_with_room_stay_where_they_are_wanted():
    assert spread([8.0, 1.0, 4.0], 2.0, 0.0, 10.0) == [8.0, 1.0, 4.0]
    assert spread([], 1.0, 0.0, 1.0) == []


def test_a_line_is_taken_down_where_it_is():
    plot = Plot("x", "y", (Line("one", (0.0, 1.0, 2.0), (0.0, 5.0, 10.0)),), x_range=(0.0, 2.0))
    picture = draw(plot)
    (line,) = (i for i in picture.items if (getattr(i, "width", 0.0) == 1.5 and len(i.ops) > 2)
               or (hasattr(i, "ops") and i.width == 1.5 and i.ops[0][1][0] < 100.0))
    first, last = line.ops[0][1], line.ops[-1][1]
    assert first[0] < last[0]
    assert first[1] > last[1], "up is up"
    assert all(math.isfinite(v) for _, at in line.ops for v in at)
    assert {"one", "x", "y"} <= {i.text for i in picture.items if hasattr(i, "text")}


def test_signs_that_mean_something_elsewhere_are_words():
    plot = Plot("$x^2$", r"\alpha", (Line("a_b$c", (0.0, 1.0), (0.0, 1.0)),))
    assert {"$x^2$", r"\alpha", "a_b$c"} <= {i.text for i in draw(plot).items if hasattr(i, "text")}


def test_what_the_font_lacks_is_marked():
    assert drawable("Δε °C 水") == "Δε °C �"


@pytest.mark.parametrize("room", [5.0, 30.0, 80.0, 1000.0])
def test_a_text_is_cut_to_its_room(room):
    told = cut_to("a rather long name of a station", room, 7.5)
    assert text_length(told, 7.5) <= max(room, text_length("a…", 7.5))
    assert (told == "a rather long name of a station") == (room == 1000.0)
