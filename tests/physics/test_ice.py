"""Ice: constants against IAPWS, balances by hand, melting against its closed form."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo import ice
from thermo.errors import InfeasibleError, PropertyError, RangeError
from thermo.liquids import liquid

CHARGES = st.tuples(st.floats(0.1, 100.0), st.floats(274.0, 370.0), st.floats(0.1, 100.0),
                    st.floats(233.15, 273.15))


def heat_above_ice(water: float, t: float, left: float) -> float:
    """Heat content [J] of water and of ice at its melting point, water at 0 degC being zero."""
    return float(water * liquid().enthalpy(t) - left * ice.LATENT_HEAT)


def test_specific_heat_against_iapws() -> None:
    from iapws._iapws import _Ice

    for t in (233.15, 243.15, 253.15, 263.15, 272.0):
        expected = _Ice(t, 0.101325)
        cold = (_Ice(273.15, 0.101325)["h"] - expected["h"]) * 1e3
        assert ice.sensible_heat(t) == pytest.approx(cold, rel=1e-3)
        slope = (ice.sensible_heat(t - 0.5) - ice.sensible_heat(t + 0.5))
        assert slope == pytest.approx(expected["cp"] * 1e3, rel=1.5e-3)


def test_area_of_forms() -> None:
    # A block of 10 kg is a cube of edge (10/916.72)^(1/3) = 0.22176 m: six faces, 0.2951 m2.
    assert ice.melting_area(10.0, "block") == pytest.approx(0.2951, rel=1e-3)
    # 25 mm cubes: 240 m2 of face for each m3.
    assert ice.melting_area(10.0, "cubes") == pytest.approx(240.0 * 10.0 / 916.72, rel=1e-12)
    assert ice.melting_area(10.0, "crushed") > 2 * ice.melting_area(10.0, "cubes")
    one = ice.melting_area(916.72 * 0.05**3, "cubes", 0.05)
    assert one == pytest.approx(ice.melting_area(916.72 * 0.05**3, "block"), rel=1e-12)


def test_cubes_melt_about_ten_times_as_fast_as_a_block() -> None:
    ratio = ice.melting_area(12.0, "cubes") / ice.melting_area(12.0, "block")
    assert 7.0 < ratio < 13.0


@pytest.mark.parametrize(("film", "slip"), [(ice.FILM, 0.02), (ice.FILM_LOW, 0.002),
                                            (ice.FILM_HIGH, 0.13)])
def test_film_coefficient_basis(film: float, slip: float) -> None:
    """Ranz and Marshall (1952) for 25 mm pieces in water at 5 degC."""
    water, T, d = liquid(), 278.15, 0.025
    mu, k = water.viscosity(T), water.conductivity(T)
    re = water.density(T) * slip * d / mu
    pr = water.specific_heat(T) * mu / k
    assert (2.0 + 0.6 * re**0.5 * pr**0.33) * k / d == pytest.approx(film, rel=0.15)


def test_melting_time_closed_form() -> None:
    """At constant water temperature m^(1/3) falls in a straight line: t = 3 m0 L/(h A0 dT)."""
    mass0, area0, film, dT = 5.0, 0.8, 600.0, 15.0
    total = 3.0 * mass0 * ice.LATENT_HEAT / (film * area0 * dT)
    steps = 4000
    mass, dt = mass0, 0.5 * total / steps
    for _ in range(steps):
        k1 = ice.melt_rate(mass, mass0, area0, film, 273.15 + dT)
        k2 = ice.melt_rate(mass - dt * k1 / 2, mass0, area0, film, 273.15 + dT)
        mass -= dt * k2
    assert mass == pytest.approx(mass0 / 8.0, rel=1e-6)
    half = 0.5 * total * dT
    assert ice.mass_left(mass0, mass0, area0, film, half) == pytest.approx(mass0 / 8.0, rel=1e-12)
    later = ice.mass_left(mass0 / 8.0, mass0, area0, film, 0.5 * half)
    assert later == pytest.approx(mass0 / 64.0, rel=1e-12)
    assert ice.mass_left(mass0 / 64.0, mass0, area0, film, half) == 0.0


def test_melt_rate_stops_and_is_never_negative() -> None:
    assert ice.melt_rate(0.0, 5.0, 1.0, 600.0, 300.0) == 0.0
    assert ice.melt_rate(-0.1, 5.0, 1.0, 600.0, 300.0) == 0.0
    assert ice.melt_rate(5.0, 5.0, 1.0, 600.0, 270.0) == 0.0


def test_melt_rate_floats_and_arrays() -> None:
    mass = np.array([0.0, 1.0, 5.0])
    got = ice.melt_rate(mass, 5.0, 1.0, 600.0, np.array([300.0, 290.0, 280.0]))
    one = [ice.melt_rate(m, 5.0, 1.0, 600.0, t)
           for m, t in ((0.0, 300.0), (1.0, 290.0), (5.0, 280.0))]
    np.testing.assert_allclose(got, one, rtol=1e-14)
    assert type(one[1]) is float


def test_mix_by_hand() -> None:
    """10 kg at -5 degC in 60 kg at 40 degC with c 2.1, 4.18, L 333.5: 22.53 degC."""
    T, left = ice.mix(60.0, 313.15, 10.0, 268.15)
    assert (T - 273.15, left) == (pytest.approx(22.53, abs=0.05), 0.0)


def test_mix_with_ice_left_by_hand() -> None:
    """30 kg at -5 degC in 40 kg at 30 degC with the same constants: 15.90 kg left."""
    T, left = ice.mix(40.0, 303.15, 30.0, 268.15)
    assert T == 273.15
    assert left == pytest.approx(15.90, abs=0.06)


def test_heat_of_a_charge_by_hand() -> None:
    """20 kg at -10 degC and 50 kg of water at 0 degC, all to 80 degC: 30.50 MJ."""
    heat = ice.ice_heat(20.0, 263.15) + 70.0 * liquid().enthalpy(353.15)
    assert heat == pytest.approx(30.50e6, rel=1e-3)


@given(CHARGES)
def test_mix_keeps_the_heat(charge: tuple[float, float, float, float]) -> None:
    water, t_water, frozen, t_ice = charge
    before = heat_above_ice(water, t_water, frozen) - frozen * ice.sensible_heat(t_ice)
    try:
        T, left = ice.mix(*charge)
    except InfeasibleError:
        assert before < -(water + frozen) * ice.LATENT_HEAT * (1 - 1e-12)
        return
    after = heat_above_ice(water + frozen - left, T, left)
    assert after == pytest.approx(before, abs=1e-3 * 4200.0 * (water + frozen))
    assert 273.15 - 1e-4 <= T <= t_water + 1e-4


def test_mix_is_continuous_where_the_last_ice_melts() -> None:
    needed = ice.ice_heat(1.0, 263.15) / liquid().enthalpy(303.15)
    just, short = ice.mix(needed * 1.0001, 303.15, 1.0, 263.15), ice.mix(
        needed * 0.9999, 303.15, 1.0, 263.15)
    assert just[1] == 0.0
    assert just[0] == pytest.approx(273.15, abs=0.02)
    assert short == (273.15, pytest.approx(0.0, abs=2e-4))


def test_refusals() -> None:
    with pytest.raises(InfeasibleError, match="all the water freezes"):
        ice.mix(0.01, 273.2, 50.0, 240.0)
    with pytest.raises(PropertyError, match="no form of ice called 'dry'"):
        ice.melting_area(5.0, "dry")
    with pytest.raises(PropertyError, match="block of ice has no piece size"):
        ice.melting_area(5.0, "block", 0.02)
    with pytest.raises(RangeError, match="size of a piece of ice"):
        ice.melting_area(5.0, "cubes", 0.0)
    with pytest.raises(RangeError, match="mass of ice: -1 kg"):
        ice.melting_area(-1.0, "cubes")
    with pytest.raises(RangeError, match="temperature of ice: 280 K"):
        ice.ice_heat(1.0, 280.0)
    with pytest.raises(RangeError, match="mass of water: -1 kg"):
        ice.mix(-1.0, 300.0, 1.0, 270.0)
    with pytest.raises(RangeError, match="mass of water and ice"):
        ice.mix(0.0, 300.0, 0.0, 270.0)
