"""Moist air against CoolProp's humid-air functions (ASHRAE RP-1485) and IAPWS."""

from itertools import product

import pytest
from CoolProp.CoolProp import PropsSI
from CoolProp.HumidAirProp import HAPropsSI

from thermo import moist_air
from thermo.site import air_state

GRID = list(product((263.15, 275.0, 288.15, 303.15, 323.15), (60e3, 80e3, 105e3),
                    (0.0, 0.2, 0.6, 1.0)))


def humid(key: str, T: float, p: float, W: float) -> float:
    return float(HAPropsSI(key, "T", T, "P", p, "W", W))


@pytest.mark.parametrize(("T", "p", "humidity"), GRID)
def test_density(T: float, p: float, humidity: float) -> None:
    air = air_state(temperature=T, station_pressure=p, relative_humidity=humidity)
    expected = 1.0 / humid("Vha", T, p, air.humidity_ratio)
    assert air.density == pytest.approx(expected, rel=2e-4)
    if T > 273.16:  # below, CoolProp counts humidity over ice and we over water
        assert air.density == pytest.approx(
            1.0 / HAPropsSI("Vha", "T", T, "P", p, "R", humidity), rel=2e-4)
        assert air.humidity_ratio == pytest.approx(
            HAPropsSI("W", "T", T, "P", p, "R", humidity), rel=5e-4)


@pytest.mark.parametrize(("T", "p", "humidity"), GRID)
def test_transport_and_heat(T: float, p: float, humidity: float) -> None:
    air = air_state(temperature=T, station_pressure=p, relative_humidity=humidity)
    W = air.humidity_ratio
    moderate = W <= 0.03
    assert air.viscosity == pytest.approx(humid("mu", T, p, W), rel=0.01 if moderate else 0.021)
    assert air.conductivity == pytest.approx(humid("k", T, p, W), rel=0.015 if moderate else 0.029)
    assert air.cp == pytest.approx(humid("Cha", T, p, W), rel=3e-3 if moderate else 0.012)
    assert air.speed_of_sound == pytest.approx(humid("speed_of_sound", T, p, W), rel=1e-3)


def test_why_wet_viscosity_departs() -> None:
    """CoolProp takes the vapour at its boiling point for the whole pressure, about 100 degC.

    Wilke's rule with that vapour gives CoolProp's own number; ours takes the vapour at T.
    """
    T, p, W = 323.15, 101325.0, 0.08
    x = moist_air.mole_fraction(W)
    mu_a = PropsSI("V", "T", T, "P", p, "Air")
    mu_v = PropsSI("V", "P", p, "Q", 1, "Water")
    to_air, to_vapour = moist_air._wilke(mu_a, mu_v)
    mixed = (1 - x) * mu_a / (1 - x + x * to_air) + x * mu_v / (x + (1 - x) * to_vapour)
    assert mixed == pytest.approx(humid("mu", T, p, W), rel=1e-4)
    assert moist_air.moist_air_viscosity(T, W) < mixed


@pytest.mark.parametrize("T", [293.15, 308.15, 373.15])
def test_dry_transport_against_tables(T: float) -> None:
    air = moist_air.moist_air_viscosity(T, 0.0)
    assert air == pytest.approx(PropsSI("V", "T", T, "P", 101325.0, "Air"), rel=1e-5)
    sutherland = 1.458e-6 * T**1.5 / (T + 110.4)
    assert air == pytest.approx(sutherland, rel=0.01)


@pytest.mark.parametrize(("t", "p", "humidity"), [(20.0, 101325.0, 0.5), (35.0, 87e3, 0.2),
                                                  (30.0, 85e3, 0.9)])
def test_dew_point(t: float, p: float, humidity: float) -> None:
    """AIR-08; the enhancement factor at the dew point instead of at T is worth 0.02 K."""
    T = t + 273.15
    air = air_state(temperature=T, station_pressure=p, relative_humidity=humidity)
    assert air.dew_point == pytest.approx(
        HAPropsSI("T_dp", "T", T, "P", p, "R", humidity), abs=0.03)


@pytest.mark.parametrize(("t", "ice", "excess"), [(-5.0, 401.74, 1.050), (-20.0, 103.24, 1.216)])
def test_saturation_over_water_is_above_that_over_ice(
    t: float, ice: float, excess: float
) -> None:
    """AIR-02: ASHRAE (2017) ch. 1 Table 3 gives ice; the ratios are from memory (Murphy, Koop)."""
    from iapws._iapws import _Sublimation_Pressure

    assert _Sublimation_Pressure(t + 273.15) * 1e6 == pytest.approx(ice, rel=5e-4)
    over_water = moist_air.saturation_vapour_pressure(t + 273.15)
    assert over_water / ice == pytest.approx(excess, rel=2e-3)
