"""Compressible relations against closed forms, their own differential equations and inverses."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad, solve_ivp

from thermo.duct_flow import (
    fanno_length,
    fanno_mach,
    fanno_stagnation_pressure_ratio,
    rayleigh_mach,
)
from thermo.errors import RangeError
from thermo.gas import (
    Gas,
    area_ratio,
    choked_mass_flow_function,
    mass_flow_function,
    stagnation_density_ratio,
    stagnation_pressure_ratio,
    stagnation_temperature_ratio,
    subsonic_mach,
)

MACHS = st.floats(1e-3, 0.9999)
GAMMAS = st.floats(1.1, 1.66)


def textbook_fanno(m: float, g: float) -> float:
    """Shapiro's form of f L*/D, which the engine rearranges."""
    log = math.log((g + 1.0) * m * m / (2.0 + (g - 1.0) * m * m))
    return (1.0 - m * m) / (g * m * m) + (g + 1.0) / (2.0 * g) * log


@given(MACHS, GAMMAS)
def test_mach_returns_from_the_flow_function(mach: float, gamma: float) -> None:
    # The function is asked to be met to 1e-12; the Mach number loses digits only beside choking.
    phi = mass_flow_function(mach, gamma)
    back = subsonic_mach(phi, gamma)
    assert mass_flow_function(back, gamma) == pytest.approx(phi, rel=1e-12)
    assert back == pytest.approx(mach, abs=1e-10 / (1.0 - mach))


@given(st.floats(1e-3, 1.0), GAMMAS)
def test_mach_returns_from_the_friction_length(mach: float, gamma: float) -> None:
    assert fanno_mach(fanno_length(mach, gamma), gamma) == pytest.approx(mach, abs=1e-10)


@given(st.floats(1e-3, 0.99), GAMMAS)
def test_friction_length_is_shapiros(mach: float, gamma: float) -> None:
    # The textbook form cancels near M = 1: both are compared with an absolute 1e-12 as well.
    expected = textbook_fanno(mach, gamma)
    assert fanno_length(mach, gamma) == pytest.approx(expected, rel=1e-9, abs=1e-12)


def test_friction_length_keeps_its_digits_at_the_throat() -> None:
    # Closed form at the throat: f L*/D -> 4 (1 - M)^2/(gamma (gamma + 1)).
    gap = 1e-5
    leading = 4.0 * gap**2 / (1.4 * 2.4)
    assert fanno_length(1.0 - gap, 1.4) == pytest.approx(leading, rel=1e-4)
    assert fanno_length(1.0, 1.4) == 0.0


def test_choking_is_nan_and_not_a_number_made_up() -> None:
    limit = choked_mass_flow_function(1.4)
    flows = np.array([0.0, 0.5 * limit, limit, 1.000001 * limit, -0.1, np.nan])
    mach = subsonic_mach(flows, 1.4)
    assert mach[0] == 0.0
    assert mach[2] == 1.0
    assert np.isnan(mach).tolist() == [False, False, False, True, True, True]
    lengths = np.array([0.0, np.inf, -1e-9, np.nan])
    mach = fanno_mach(lengths, 1.4)
    assert mach[0] == 1.0
    assert mach[1] == 0.0
    assert np.isnan(mach[2:]).all()


@given(st.lists(MACHS, min_size=2, max_size=8), GAMMAS)
def test_array_equals_floats(machs: list[float], gamma: float) -> None:
    values = np.array(machs)
    phi, length = mass_flow_function(values, gamma), fanno_length(values, gamma)
    for inverse, argument in ((subsonic_mach, phi), (fanno_mach, length)):
        together = inverse(argument, gamma)
        alone = [inverse(float(a), gamma) for a in argument]
        np.testing.assert_allclose(together, alone, rtol=1e-7)


@given(MACHS, GAMMAS)
def test_the_ratios_belong_to_one_perfect_gas(mach: float, gamma: float) -> None:
    p, rho, t = (
        stagnation_pressure_ratio(mach, gamma), stagnation_density_ratio(mach, gamma),
        stagnation_temperature_ratio(mach, gamma),
    )
    assert p == pytest.approx(rho * t, rel=1e-13)  # ideal gas law
    assert p == pytest.approx(rho**gamma, rel=1e-12)  # isentrope
    assert area_ratio(mach, gamma) >= 1.0


def test_slow_flow_is_incompressible() -> None:
    # p0 - p = q (1 + M^2/4 + ...): NACA 1135, eq. 105.
    mach = 0.05
    q = 0.5 * 1.4 * mach**2
    assert stagnation_pressure_ratio(mach, 1.4) - 1.0 == pytest.approx(
        q * (1.0 + mach**2 / 4.0), rel=1e-6
    )


@pytest.mark.parametrize("gamma", [1.3, 1.4])
def test_fanno_stagnation_pressure_by_integration(gamma: float) -> None:
    # d ln p0 = -(gamma M^2/2) d(fL/D), integrated over the Mach number independently.
    def slope(m: float) -> float:
        return -0.5 * gamma * m * m * dlength(m)

    def dlength(m: float) -> float:
        t = 1.0 + 0.5 * (gamma - 1.0) * m * m
        return 2.0 * (1.0 - m * m) / (gamma * m**3 * t)

    total, _ = quad(slope, 0.2, 0.8, epsabs=1e-13)
    ratio = fanno_stagnation_pressure_ratio(0.8, gamma) / fanno_stagnation_pressure_ratio(
        0.2, gamma
    )
    assert math.log(ratio) == pytest.approx(total, abs=1e-11)


def test_rayleigh_by_integration() -> None:
    # d ln p0 = -(gamma M^2/2) d ln T0 at constant flow and area, by an independent solver.
    gamma, start = 1.4, 0.3
    phi = mass_flow_function(start, gamma)

    def rhs(log_t: float, log_p: np.ndarray) -> list[float]:
        mach = subsonic_mach(phi * math.exp(0.5 * log_t - log_p[0]), gamma)
        return [-0.5 * gamma * mach * mach]

    run = solve_ivp(rhs, (0.0, math.log(1.3)), [0.0], rtol=1e-10, atol=1e-12)
    after = rayleigh_mach(start, 1.3, gamma)
    share = math.sqrt(1.3) * phi / mass_flow_function(after, gamma)
    assert math.log(share) == pytest.approx(float(run.y[0, -1]), abs=1e-9)


def test_rayleigh_chokes_at_the_heat_that_brings_mach_one() -> None:
    # T0/T0* at M 0.5, gamma 1.4 is 0.69136 (Rayleigh table, from memory; closed form).
    exact = 2.0 * 2.4 * 0.25 * (1.0 + 0.2 * 0.25) / (1.0 + 1.4 * 0.25) ** 2
    assert exact == pytest.approx(0.69136, abs=1e-5)
    assert rayleigh_mach(0.5, 0.999999 / exact, 1.4) == pytest.approx(1.0, abs=2e-3)
    assert math.isnan(rayleigh_mach(0.5, 1.000001 / exact, 1.4))
    assert rayleigh_mach(0.5, 1.0, 1.4) == pytest.approx(0.5, rel=1e-14)


def test_gas_properties_follow_from_each_other() -> None:
    gas = Gas(287.05, 1.4, 1.8e-5, 0.0255)
    assert gas.specific_heat == pytest.approx(1004.7, rel=1e-4)
    assert gas.prandtl == pytest.approx(0.709, rel=2e-3)
    assert gas.density(101325.0, 288.15) == pytest.approx(1.225, rel=1e-4)


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        ((0.0, 1.4, 1e-5, 0.02), "gas constant"),
        ((287.0, 1.0, 1e-5, 0.02), "specific heats"),
        ((287.0, 1.4, np.array([1e-5, -1e-5]), 0.02), "viscosity"),
        ((287.0, 1.4, 1e-5, math.nan), "conductivity"),
    ],
)
def test_a_gas_that_cannot_be_is_refused(arguments: tuple, match: str) -> None:
    with pytest.raises(RangeError, match=match):
        Gas(*arguments)
