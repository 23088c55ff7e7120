"""All crossings of a scan: places, directions, and what is refused."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.errors import InfeasibleError, RangeError
from thermo.roots import CLOSE, Crossing, crossings, held_side


def scan(f, low: float, high: float, points: int):
    x = np.linspace(low, high, points)
    return crossings(x, [f(float(v)) for v in x], f)


def test_every_root_of_a_sine_with_its_direction() -> None:
    found = scan(math.sin, 1.0, 10.0, 31)
    assert [c.direction for c in found] == [-1, 1, -1]
    for crossing, n in zip(found, (1, 2, 3), strict=True):
        assert crossing.at == pytest.approx(n * math.pi, abs=1e-7)


@given(st.floats(-5.0, 5.0), st.floats(0.2, 4.0))
def test_roots_of_a_parabola(centre: float, half: float) -> None:
    found = scan(lambda v: (v - centre) ** 2 - half**2, -12.0, 12.0, 240)
    assert [c.direction for c in found] == [-1, 1]
    assert found[0].at == pytest.approx(centre - half, abs=1e-6)
    assert found[1].at == pytest.approx(centre + half, abs=1e-6)


def test_zero_on_a_scan_point_is_reported_once() -> None:
    rising = scan(lambda v: v, -1.0, 1.0, 3)
    assert rising == (Crossing(0.0, 1),)
    touching = scan(lambda v: v * v, -1.0, 1.0, 3)
    assert touching == (Crossing(0.0, 0),)
    at_start = scan(lambda v: -v, 0.0, 1.0, 3)
    assert at_start == (Crossing(0.0, -1),)


def test_none() -> None:
    assert scan(lambda v: 1.0 + v * v, -1.0, 1.0, 11) == ()


def test_no_root_is_made_up_across_a_gap() -> None:
    x = np.array([0.0, 1.0, 2.0, 3.0])
    y = np.array([-1.0, np.nan, 1.0, -1.0])
    found = crossings(x, y, lambda v: 5.0 - 2.0 * v)
    assert [c.direction for c in found] == [-1]
    assert found[0].at == pytest.approx(2.5)
    beside = crossings([0.0, 1.0, 2.0], [math.nan, 0.0, 1.0], lambda v: v)
    assert beside == (Crossing(1.0, 0),)


def test_a_function_without_a_value_inside_is_infeasible() -> None:
    with pytest.raises(InfeasibleError, match="between 0 and 1 where the sign changes"):
        crossings([0.0, 1.0], [-1.0, 1.0], lambda v: math.nan)


@pytest.mark.parametrize(
    ("x", "y", "match"),
    [
        ([1.0], [1.0], "points of the scan"),
        ([1.0, 2.0], [1.0], "points of the scan"),
        ([1.0, 1.0], [-1.0, 1.0], "step of the scan"),
        ([2.0, 1.0], [-1.0, 1.0], "step of the scan"),
    ],
)
def test_a_bad_scan_is_refused(x: list, y: list, match: str) -> None:
    with pytest.raises(RangeError, match=match):
        crossings(x, y, lambda v: v)


@pytest.mark.parametrize(("f", "low", "high", "root"), [
    (lambda x: x**3 - 2.0, 0.1, 8.0, 2.0 ** (1.0 / 3.0)),
    (lambda x: 10.0 - 30.0 / x, 0.5, 40.0, 3.0),
    (lambda x: 1.0 - math.exp(x - 5.0), 0.0, 20.0, 5.0),
    (lambda x: -1000.0 if x < 3.3 else 5.0, 0.0, 10.0, 3.3),
    (lambda x: -1000.0 if x > 7.0 else 6.0 - x, 0.0, 10.0, 6.0),
])
def test_the_side_that_holds_is_returned_also_at_a_jump(f, low, high, root):
    at = held_side(f, low, high, f(low), f(high), 1e-7 * (high - low))
    assert f(at) >= 0.0
    assert at == pytest.approx(root, rel=3 * CLOSE)
