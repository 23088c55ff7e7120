"""Pump curves: shape, affinity, extension past the points, errors."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from thermo.errors import RangeError
from thermo.pumps import PumpError, hydraulic_power, pump_curve, shaft_power

POINTS = [(0.0, 8.0), (0.5e-3, 7.5), (1.0e-3, 6.0), (1.8e-3, 2.0), (2.2e-3, 0.0)]


@st.composite
def falling_points(draw: st.DrawFn) -> list[tuple[float, float]]:
    steps = draw(st.lists(
        st.tuples(st.floats(1e-5, 1e-3), st.floats(0.01, 5.0)), min_size=2, max_size=7,
    ))
    flows = np.concatenate([[0.0], np.cumsum([q for q, _ in steps])])
    falls = np.concatenate([[0.0], np.cumsum([h for _, h in steps])])
    return [(float(q), float(falls[-1] - f)) for q, f in zip(flows, falls, strict=True)]


@given(points=falling_points())
def test_curve_passes_through_its_points_and_never_rises(points: list[tuple[float, float]]) -> None:
    curve = pump_curve(points)
    top = points[0][1]
    for flow, head in points:
        assert curve.head(flow) == pytest.approx(head, abs=1e-9 * top)
    grid = np.linspace(0.0, 1.3 * curve.max_flow, 300)
    assert np.all(np.diff(curve.head(grid)) <= 1e-9 * top)


def test_many_points_give_the_library_monotone_cubic() -> None:
    # Independent implementation of Fritsch & Butland's slopes.
    flows, heads = zip(*POINTS, strict=True)
    grid = np.linspace(0.0, flows[-1], 57)
    reference = PchipInterpolator(flows, heads)(grid)
    assert pump_curve(POINTS).head(grid) == pytest.approx(reference, abs=1e-12)


def test_three_points_give_the_parabola() -> None:
    curve = pump_curve([(q, 30.0 - 2.0 * q - 3.0 * q * q) for q in (0.0, 1.0, 2.0)])
    assert curve.head(1.5) == pytest.approx(30.0 - 3.0 - 6.75, rel=1e-12)


def test_three_points_whose_parabola_would_rise_stay_monotone() -> None:
    # The parabola through these has its lowest point at 1.25 and rises to the last one.
    curve = pump_curve([(0.0, 10.0), (1.0, 1.0), (2.0, 0.5)])
    heads = curve.head(np.linspace(0.0, 2.0, 101))
    assert np.all(np.diff(heads) <= 0.0)
    assert heads[-1] == pytest.approx(0.5)


def test_two_points_give_the_common_parabola() -> None:
    curve = pump_curve([(0.0, 8.0), (2e-3, 0.0)])
    assert curve.head(0.0) == pytest.approx(8.0, rel=1e-12)
    assert curve.head(1e-3) == pytest.approx(6.0, rel=1e-12)


def test_curve_goes_on_along_its_tangents() -> None:
    curve = pump_curve([(1e-3, 7.0), (2e-3, 4.0), (3e-3, 0.5)])
    for edge in (1e-3, 3e-3):
        inside = math.copysign(1e-9, 2e-3 - edge)
        slope = (curve.head(edge + inside) - curve.head(edge)) / inside
        outside = edge - 1e5 * inside
        assert curve.head(outside) == pytest.approx(
            curve.head(edge) + slope * (outside - edge), rel=1e-4
        )
    assert curve.head(0.0) > 7.0


@given(ratio=st.floats(0.3, 2.0), flow=st.floats(0.0, 2.5e-3))
def test_affinity_laws(ratio: float, flow: float) -> None:
    # Crane TP-410: Q goes with n, H with n squared; both ways of asking agree.
    curve = pump_curve(POINTS)
    expected = ratio**2 * curve.head(flow)
    assert curve.head(ratio * flow, ratio) == pytest.approx(expected, rel=1e-9, abs=1e-9)
    assert curve.at(ratio).head(ratio * flow) == pytest.approx(expected, rel=1e-9, abs=1e-9)


def test_speed_round_trip_returns_the_curve() -> None:
    back = pump_curve(POINTS, rated=12.0).at(0.8).at(1.25)
    assert back.rated == pytest.approx(12.0)
    assert back.flows == pytest.approx([q for q, _ in POINTS])
    assert back.heads == pytest.approx([h for _, h in POINTS])


def test_array_gives_the_same_as_floats() -> None:
    curve = pump_curve(POINTS)
    flows = np.array([0.0, 0.2e-3, 0.5e-3, 1.4e-3, 2.2e-3, 3e-3])
    ratios = np.array([1.0, 0.8, 1.1, 1.0, 1.0, 1.2])
    one = [curve.head(float(q), float(n)) for q, n in zip(flows, ratios, strict=True)]
    assert curve.head(flows, ratios) == pytest.approx(one, rel=1e-13)


def test_power_by_hand() -> None:
    # 1 L/s of water raised 10 m at 50 %: 98.07 W in the water, twice that at the shaft.
    power = hydraulic_power(1000.0, 1e-3, 10.0)
    assert power == pytest.approx(98.0665, rel=1e-12)
    assert shaft_power(power, 0.5) == pytest.approx(196.133, rel=1e-12)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([(0.0, 8.0)], "at least two points, given 1"),
        ([(1e-3, 8.0), (2e-3, 0.0)], "must begin with the head at zero flow"),
        ([(0.0, 7.0), (1e-3, 8.0), (2e-3, 0.0)], "the head rises from 7 to 8 m at 0.001 m3/s"),
        ([(0.0, 8.0), (0.0, 7.0)], "flows of a pump curve must rise"),
        ([(0.0, 8.0), (1e-3, 5.0), (2e-3, 5.0)], "must fall to the last point"),
        ([(0.0, 8.0), (1e-3, math.nan)], "finite and not negative"),
        ([(0.0, 8.0), (1e-3, -1.0)], "finite and not negative"),
    ],
)
def test_unusable_points_are_refused(points: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(PumpError, match=words):
        pump_curve(points)


def test_other_unusable_values_are_refused() -> None:
    with pytest.raises(PumpError, match="rated voltage or speed"):
        pump_curve(POINTS, rated=0.0)
    with pytest.raises(RangeError, match="speed over rated speed"):
        pump_curve(POINTS).at(0.0)
    with pytest.raises(RangeError, match="efficiency of a pump"):
        shaft_power(100.0, 1.2)
