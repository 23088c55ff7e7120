"""The tilted surface in a box: closed forms by the walls it meets, and what it covers."""

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from thermo.free_surface import pickup_cover, port_gap, surface_height


def test_surface_that_meets_both_ends_turns_about_the_middle():
    # no floor, no roof touched: height at the middle stays fill x H
    for place, expected in ((0.0, 0.15 - 0.05), (0.5, 0.15), (1.0, 0.15 + 0.05)):
        got = surface_height(0.5, 0.5, 0.3, 0.2, place)
        assert got == pytest.approx(expected, abs=1e-9)


def test_gas_wedge_under_the_roof():
    # gas a triangle at the front of base b and depth tilt b: b = sqrt(2 (1 - f) L H/tilt)
    fill, length, height, tilt = 0.95, 0.6, 0.3, 0.5
    base = math.sqrt(2.0 * 0.05 * length * height / tilt)
    assert base < length
    front = surface_height(fill, length, height, tilt, 0.0)
    assert front == pytest.approx(height - tilt * base, abs=1e-9)


def test_puddle_in_the_rear_corner():
    # water a triangle of base b: b = sqrt(2 f L H/tilt); the floor is dry ahead of it
    fill, length, height, tilt = 0.05, 0.6, 0.3, 0.5
    base = math.sqrt(2.0 * fill * length * height / tilt)
    rear = surface_height(fill, length, height, tilt, 1.0)
    assert rear == pytest.approx(tilt * base, abs=1e-9)
    assert pickup_cover(fill, length, height, tilt * 9.8, 9.8, "front") < 0.0
    assert pickup_cover(fill, length, height, tilt * 9.8, 9.8, "rear") > 0.0


def test_steep_surface_that_meets_roof_and_floor():
    # at mid height the water begins at (1 - f) L from the front
    height = surface_height(0.6, 1.0, 0.2, 3.0, 0.4)
    assert height == pytest.approx(0.1, abs=1e-9)


@given(
    fill=st.floats(0.02, 0.98), length=st.floats(0.1, 2.0), height=st.floats(0.1, 0.6),
    tilt=st.floats(-4.0, 4.0),
)
def test_the_water_under_the_surface_is_the_fill(fill, length, height, tilt):
    assume(abs(tilt) > 1e-3)
    places = (np.arange(20000) + 0.5) / 20000
    line = surface_height(fill, length, height, np.full(20000, tilt), places)
    # midpoint sum of the wetted height; its error is that of the two kinks
    assert np.clip(line, 0.0, height).mean() / height == pytest.approx(fill, abs=1e-4)


@given(fill=st.floats(0.05, 0.95), tilt=st.floats(0.0, 3.0), place=st.floats(0.0, 1.0))
def test_braking_mirrors_acceleration(fill, tilt, place):
    ahead = surface_height(fill, 0.5, 0.3, tilt, place)
    behind = surface_height(fill, 0.5, 0.3, -tilt, 1.0 - place)
    assert ahead == pytest.approx(behind, abs=1e-6)


def test_ports_and_pickups_by_place():
    # accelerating: water at the rear; the rear port is covered, the front pick-up is bare
    assert port_gap(0.9, 0.5, 0.3, 4.0, 9.8, "rear") < 0.0
    assert port_gap(0.9, 0.5, 0.3, 4.0, 9.8, "front") > 0.0
    assert port_gap(0.9, 0.5, 0.3, -4.0, 9.8, "front") < 0.0
    assert port_gap(0.9, 0.5, 0.3, 0.0, 9.8, "front") == pytest.approx(0.03, abs=1e-6)
    level = pickup_cover(0.9, 0.5, 0.3, 0.0, 9.8, "rear")
    assert level == pytest.approx(0.27, abs=1e-6)
