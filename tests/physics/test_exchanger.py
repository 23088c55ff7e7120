"""Effectiveness and NTU against closed forms, an independent solution and invariants."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import gammainc, ive

from thermo.effectiveness import crossflow_unmixed, decay_mean
from thermo.errors import InfeasibleError, RangeError
from thermo.exchanger import ARRANGEMENTS, effectiveness, heat_rate, ntu_for

NAMES = sorted(ARRANGEMENTS)
names = st.sampled_from(NAMES)
ratios = st.floats(0.0, 1.0)
ROUNDING = 1e-14
"""A sum of some fifty positive terms may end a few units of the last digit above 1."""

transfer_units = st.floats(0.0, 30.0)


def crossflow_on_a_grid(ntu: float, cr: float, cells: int = 200) -> float:
    """March both streams over a grid of cells by the trapezoidal rule."""
    gain_hot, gain_cold = ntu / cells, cr * ntu / cells
    cold = np.zeros(cells)
    out = 0.0
    for _ in range(cells):
        hot = 1.0
        for j in range(cells):
            gap = (hot - cold[j]) / (1.0 + 0.5 * gain_hot + 0.5 * gain_cold)
            hot -= gain_hot * gap
            cold[j] += gain_cold * gap
        out += hot
    return 1.0 - out / cells


@pytest.mark.parametrize(("ntu", "cr"), [(1.0, 1.0), (3.0, 0.6)])
def test_unmixed_crossflow_against_finite_volumes(ntu: float, cr: float) -> None:
    # Second order: the grid's own error is about (ntu/cells)^2 / 12.
    assert crossflow_unmixed(ntu, cr) == pytest.approx(crossflow_on_a_grid(ntu, cr), abs=2e-5)


@pytest.mark.parametrize(
    ("ntu", "cr"),
    list(itertools.product((1e-6, 0.1, 1.0, 5.0, 20.0, 60.0), (1e-9, 0.3, 0.9, 1.0))))
def test_unmixed_crossflow_against_masons_series(ntu: float, cr: float) -> None:
    # Mason (1954) in its printed order, with incomplete gamma functions.
    b = cr * ntu
    n = np.arange(1, int(b + 20.0 * math.sqrt(b) + 60))
    series = math.fsum(gammainc(n, ntu) * gammainc(n, b)) / b
    assert crossflow_unmixed(ntu, cr) == pytest.approx(series, rel=1e-12)


@pytest.mark.parametrize("ntu", [1.0, 20.0, 499.0, 501.0, 5000.0])
def test_unmixed_crossflow_balanced_closed_form(ntu: float) -> None:
    # eps = 1 - exp(-2N) (I0(2N) + I1(2N)); 501 and 5000 are in the normal limit.
    closed = 1.0 - ive(0, 2.0 * ntu) - ive(1, 2.0 * ntu)
    assert crossflow_unmixed(ntu, 1.0) == pytest.approx(closed, abs=1e-8)


def test_unmixed_crossflow_array_in_both_ranges_equals_floats() -> None:
    ntu, cr = np.array([0.0, 2.0, 800.0, 3e4]), np.array([1.0, 0.5, 0.99, 1e-3])
    got = crossflow_unmixed(ntu, cr)
    assert got == pytest.approx([crossflow_unmixed(a, c) for a, c in
                                 zip(ntu.tolist(), cr.tolist(), strict=True)], rel=1e-14)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("shells", [1, 3])
@pytest.mark.parametrize("ntu", [1e-6, 0.3, 2.0, 15.0])
def test_continuous_at_balance_and_at_zero_ratio(name: str, shells: int, ntu: float) -> None:
    for end, near in ((1.0, 1.0 - 1e-10), (0.0, 1e-10)):
        at = effectiveness(name, ntu, end, shells)
        # Slopes in Cr are below 1; the difference across 1e-10 must not hold lost digits.
        assert effectiveness(name, ntu, near, shells) == pytest.approx(at, rel=2e-10)


@pytest.mark.parametrize("name", NAMES)
def test_no_exchanger_no_heat_and_one_constant_stream(name: str) -> None:
    assert effectiveness(name, 0.0, 0.6, 2) == 0.0
    assert effectiveness(name, 1.7, 0.0, 2) == pytest.approx(-math.expm1(-1.7), rel=1e-14)


def test_balanced_shells_in_series_right_limit() -> None:
    # Incropera et al., eq. 11.31b: n eps1 / (1 + (n - 1) eps1) at Cr = 1.
    one = effectiveness("shell-and-tube", 0.5, 1.0)
    assert effectiveness("shell-and-tube", 1.5, 1.0, shells=3) == pytest.approx(
        3.0 * one / (1.0 + 2.0 * one), rel=1e-14)


def test_many_shells_approach_counterflow() -> None:
    assert effectiveness("shell-and-tube", 3.0, 0.8, shells=20) == pytest.approx(
        effectiveness("counterflow", 3.0, 0.8), abs=2e-3)


@given(names, transfer_units, transfer_units, ratios, st.booleans(), st.integers(1, 5))
def test_rises_with_size_and_stays_between_bounds(
    name: str, ntu: float, more: float, cr: float, hot_is_min: bool, shells: int
) -> None:
    eps = effectiveness(name, ntu, cr, shells, hot_is_min)
    assert 0.0 <= eps <= 1.0 + ROUNDING
    assert effectiveness(name, ntu + more, cr, shells, hot_is_min) >= eps - 1e-13
    assert eps <= effectiveness("counterflow", ntu, cr) + 1e-13


@given(names, transfer_units, ratios, ratios, st.booleans(), st.integers(1, 5))
def test_falls_with_capacity_ratio(
    name: str, ntu: float, one: float, two: float, hot_is_min: bool, shells: int
) -> None:
    low, high = sorted((one, two))
    assert effectiveness(name, ntu, high, shells, hot_is_min) <= effectiveness(
        name, ntu, low, shells, hot_is_min) + 1e-13


@given(
    names, st.floats(0.0, 5e4), st.floats(0.0, 2e4), st.floats(0.0, 2e4),
    st.floats(270.0, 400.0), st.floats(270.0, 400.0),
)
def test_heat_rate_sign_second_law_and_scalar_equals_array(
    name: str, ua: float, c_hot: float, c_cold: float, t_hot: float, t_cold: float
) -> None:
    heat, eps, ntu = heat_rate(name, ua, c_hot, c_cold, t_hot, t_cold)
    assert 0.0 <= eps <= 1.0 + ROUNDING
    assert heat * (t_hot - t_cold) >= 0.0
    assert abs(heat) <= min(c_hot, c_cold) * abs(t_hot - t_cold) * (1.0 + 1e-12)
    pair = [np.array([v, v]) for v in (ua, c_hot, c_cold, t_hot, t_cold)]
    for got, want in zip(heat_rate(name, *pair), (heat, eps, ntu), strict=True):
        assert got == pytest.approx([want, want], rel=1e-11, abs=1e-11)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize(("c_hot", "c_cold", "ua"), [
    (0.0, 4000.0, 3000.0), (4000.0, 0.0, 3000.0), (0.0, 0.0, 3000.0), (5e3, 4e3, 0.0)])
def test_a_stopped_stream_or_no_conductance_passes_nothing(
    name: str, c_hot: float, c_cold: float, ua: float
) -> None:
    assert heat_rate(name, ua, c_hot, c_cold, 370.0, 300.0) == (0.0, 0.0, 0.0)
    heat, eps, ntu = heat_rate(name, ua, np.array([c_hot, 5e3]), np.array([c_cold, 4e3]),
                               370.0, 300.0)
    assert (heat[0], eps[0], ntu[0]) == (0.0, 0.0, 0.0)
    assert (heat[1] > 0.0) == (ua > 0.0)


def test_a_trickle_leaves_at_the_other_inlet() -> None:
    for name in NAMES:
        heat, eps, _ = heat_rate(name, 3000.0, 1e-6, 4000.0, 370.0, 300.0)
        assert eps == pytest.approx(1.0, rel=1e-9)
        assert heat == pytest.approx(70e-6, rel=1e-9)


def test_mixed_side_is_a_side_and_not_a_capacity() -> None:
    # The hot stream is mixed whichever is the smaller: Incropera et al., eq. 11.33 and 11.34.
    _, small, _ = heat_rate("crossflow-hot-mixed", 5000.0, 1000.0, 1000.0 / 0.7, 370.0, 300.0)
    _, large, _ = heat_rate("crossflow-hot-mixed", 5000.0, 1000.0 / 0.7, 1000.0, 370.0, 300.0)
    assert (small, large) == pytest.approx((0.749784, 0.715810), abs=1e-6)
    _, mirror, _ = heat_rate("crossflow-cold-mixed", 5000.0, 1000.0, 1000.0 / 0.7, 370.0, 300.0)
    assert mirror == pytest.approx(large, rel=1e-14)


@given(names, st.floats(1e-6, 4.0), ratios, st.booleans(), st.integers(1, 6))
def test_inverse_returns_the_size(
    name: str, ntu: float, cr: float, hot_is_min: bool, shells: int
) -> None:
    shells = min(shells, ARRANGEMENTS[name].most_shells)
    eps = effectiveness(name, ntu, cr, shells, hot_is_min)
    if eps > 0.999 * ARRANGEMENTS[name].ceiling(cr, shells, hot_is_min):
        return  # flat towards the ceiling: the size is not determined to the tolerance
    assert ntu_for(name, eps, cr, shells, hot_is_min) == pytest.approx(ntu, rel=1e-6)


@pytest.mark.parametrize(("name", "cr", "best"), [
    ("parallel", 0.5, 1.0 / 1.5),
    ("shell-and-tube", 1.0, 2.0 / (2.0 + math.sqrt(2.0))),
    ("crossflow-hot-mixed", 0.7, -math.expm1(-1.0 / 0.7)),
    ("crossflow-cold-mixed", 0.7, -math.expm1(-0.7) / 0.7),
])
def test_out_of_reach_names_the_best(name: str, cr: float, best: float) -> None:
    with pytest.raises(InfeasibleError, match="endless exchanger reaches") as caught:
        ntu_for(name, best + 1e-6, cr)
    assert caught.value.best == pytest.approx(best, rel=1e-12)
    assert math.isfinite(ntu_for(name, best - 1e-6, cr))


@pytest.mark.parametrize("name", ["counterflow", "crossflow-unmixed"])
def test_whole_effectiveness_is_out_of_reach(name: str) -> None:
    with pytest.raises(InfeasibleError, match="out of reach"):
        ntu_for(name, 1.0, 0.5)


@pytest.mark.parametrize(("eps", "cr", "shells", "words"), [
    (-0.1, 0.5, 1, "effectiveness"), (float("nan"), 0.5, 1, "effectiveness"),
    (0.3, 1.2, 1, "capacity rates"), (0.3, 0.5, 0, "shells in series"),
])
def test_inverse_refuses_nonsense(eps: float, cr: float, shells: int, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        ntu_for("shell-and-tube", eps, cr, shells)


def test_shells_only_where_they_mean_something() -> None:
    with pytest.raises(RangeError, match="shells in series of a counterflow"):
        ntu_for("counterflow", 0.3, 0.5, shells=2)


@given(st.floats(0.0, 50.0))
def test_decay_mean_is_the_mean_of_the_decay(x: float) -> None:
    series = 1.0 - x / 2.0 + x * x / 6.0
    want = series if x < 1e-5 else (1.0 - math.exp(-x)) / x
    assert decay_mean(x) == pytest.approx(want, rel=1e-10)
