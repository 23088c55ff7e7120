"""Friction factor: limits, continuity, independent solution, floats against arrays."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from thermo.errors import RangeError
from thermo.friction import (
    FLEXIBLE_DUCT_FRICTION,
    RE_LAMINAR,
    RE_TURBULENT,
    ROUGHNESS,
    colebrook,
    darcy_weisbach,
    flow_regime,
    friction_factor,
    fully_rough,
    hydraulic_diameter,
    laminar_constant,
    reynolds,
)

RE = st.floats(2300.0, 1e8)
ROUGH = st.floats(0.0, 0.05)


def bracketed(re: float, rough: float) -> float:
    """Colebrook's equation solved by bracketing, independent of the Newton steps."""
    x = brentq(
        lambda v: v + 2.0 * math.log10(rough / 3.7 + 2.51 * v / re), 1.0, 40.0,
        xtol=1e-14, rtol=1e-15,
    )
    return 1.0 / x**2


@given(re=RE, rough=ROUGH)
def test_colebrook_is_the_root_within_1e_10(re: float, rough: float) -> None:
    assert colebrook(re, rough) == pytest.approx(bracketed(re, rough), rel=1e-10)


@pytest.mark.parametrize("re", [2300.0, 2500.0, 3000.0, 4000.0, 1e4, 1e6, 1e8])
@pytest.mark.parametrize("rough", [0.0, 1e-8, 1e-6, 1e-4, 1e-2, 0.05])
def test_colebrook_on_a_grid_down_to_smooth(re: float, rough: float) -> None:
    assert colebrook(re, rough) == pytest.approx(bracketed(re, rough), rel=1e-10)


def test_rough_limit_is_reached_at_large_reynolds_number() -> None:
    # von Karman: the viscous term is 1e-9 of the rough one at Re 1e13.
    assert colebrook(1e13, 1e-2) == pytest.approx(fully_rough(1e-2), rel=1e-8)


@given(re=st.floats(1.0, RE_LAMINAR), constant=st.floats(50.0, 96.0))
def test_laminar_law_holds_up_to_2300(re: float, constant: float) -> None:
    # Hagen-Poiseuille, and Shah & London for other shapes: f Re is constant.
    assert friction_factor(re, 0.01, constant) * re == pytest.approx(constant, rel=1e-12)


@given(re=st.floats(RE_TURBULENT, 1e8), rough=ROUGH)
def test_colebrook_holds_from_4000(re: float, rough: float) -> None:
    assert friction_factor(re, rough) == pytest.approx(colebrook(re, rough), rel=1e-12)


@pytest.mark.parametrize("edge", [RE_LAMINAR, RE_TURBULENT])
@pytest.mark.parametrize("rough", [0.0, 0.01])
def test_bridge_is_continuous_and_smooth_at_both_ends(edge: float, rough: float) -> None:
    h = 0.01
    below, at, above = (friction_factor(edge + d, rough) for d in (-h, 0.0, h))
    assert below == pytest.approx(at, rel=1e-5)
    assert above == pytest.approx(at, rel=1e-5)
    # One-sided slopes agree to the second-order term of the differences.
    assert (above - at) / h == pytest.approx((at - below) / h, abs=1e-8)


@given(rough=ROUGH, ratio=st.floats(1.0005, 1.5), re=st.floats(1.0, 1e7))
def test_drop_never_falls_as_flow_rises(rough: float, ratio: float, re: float) -> None:
    # f Re^2 is the drop at fixed fluid and bore: a unique operating point needs it to rise.
    def drop(r: float) -> float:
        return float(friction_factor(r, rough)) * r * r

    assert drop(re * ratio) > drop(re)


def test_flow_at_rest_has_a_finite_factor_and_no_drop() -> None:
    f = friction_factor(0.0, 0.0)
    assert math.isfinite(f)
    assert darcy_weisbach(f, 10.0, 0.02, 1000.0, 0.0) == 0.0


def test_array_gives_the_same_as_floats() -> None:
    re = np.array([0.0, 10.0, 2300.0, 3000.0, 4000.0, 5e5])
    rough = np.array([0.0, 1e-3, 1e-4, 0.02, 0.0, 1e-5])
    got = friction_factor(re, rough, 80.0)
    one = [friction_factor(float(a), float(b), 80.0) for a, b in zip(re, rough, strict=True)]
    assert got == pytest.approx(one, rel=1e-14)


@pytest.mark.parametrize(
    ("re", "word"),
    [(0.0, "laminar"), (2299.0, "laminar"), (2300.0, "transition"), (4000.0, "transition"),
     (4001.0, "turbulent")],
)
def test_regime_words(re: float, word: str) -> None:
    assert flow_regime(re) == word


@given(ratio=st.floats(0.01, 1.0))
def test_rectangular_constant_agrees_with_the_exact_series(ratio: float) -> None:
    # Fourier series of the laminar velocity in a rectangle (Shah & London, 1978).
    odd = np.arange(1, 400, 2)
    term = np.tanh(odd * math.pi / (2.0 * ratio)) / odd**5
    exact = 96.0 / ((1.0 + ratio) ** 2 * (1.0 - 192.0 * ratio / math.pi**5 * term.sum()))
    assert laminar_constant(ratio) == pytest.approx(exact, rel=8e-4)


@pytest.mark.parametrize("ratio", [-0.01, 1.01, math.nan])
def test_rectangular_constant_refuses_a_ratio_outside_0_to_1(ratio: float) -> None:
    with pytest.raises(RangeError, match="short over long side"):
        laminar_constant(ratio)


def test_hydraulic_diameter_of_a_circle_is_its_diameter() -> None:
    assert hydraulic_diameter(math.pi / 4.0 * 0.03**2, math.pi * 0.03) == pytest.approx(0.03)


def test_laminar_drop_is_hagen_poiseuille() -> None:
    # dp = 32 mu L V / D^2, from the parabolic profile.
    mu, length, bore, velocity, density = 1e-3, 2.0, 0.01, 0.05, 998.0
    f = friction_factor(reynolds(density, velocity, bore, mu), 0.0)
    drop = darcy_weisbach(f, length, bore, density, velocity)
    assert drop == pytest.approx(32.0 * mu * length * velocity / bore**2, rel=1e-12)


def test_roughness_table_names_a_source_and_stays_inside_colebrook() -> None:
    # Moody (1944): commercial steel 0.00015 ft, drawn tubing 0.000005 ft.
    assert ROUGHNESS["commercial-steel"].roughness == pytest.approx(0.00015 * 0.3048, rel=0.02)
    assert ROUGHNESS["drawn-tube"].roughness == pytest.approx(0.000005 * 0.3048, rel=0.02)
    for surface in ROUGHNESS.values():
        assert surface.source
        assert 0.0 <= surface.roughness / 0.05 <= 0.05


def test_flexible_duct_is_rougher_than_any_listed_wall() -> None:
    rough = max(s.roughness for s in ROUGHNESS.values())
    assert colebrook(1e5, rough / 0.1) < FLEXIBLE_DUCT_FRICTION.low
