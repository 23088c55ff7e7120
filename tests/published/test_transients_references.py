"""Water shut in, water let out and gas over water, against an independent property library."""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from thermo.flash import flash_to_ambient
from thermo.liquids import liquid
from thermo.relief import steam_flux, steam_rate
from thermo.tank import Surroundings, headspace_pressure, sealed_headspace
from thermo.trapped import compressibility, trapped_pressure_rise, trapped_pressure_slope

ATM = 101325.0


@pytest.mark.parametrize("celsius", [5, 20, 40, 60, 80, 95])
def test_compressibility_of_water(celsius):
    # stated: 0.02 % of IAPWS-95
    t = celsius + 273.15
    reference = PropsSI("ISOTHERMAL_COMPRESSIBILITY", "T", t, "P", ATM, "Water")
    assert compressibility(t) == pytest.approx(reference, rel=2e-4)


@pytest.mark.parametrize("celsius", [20, 40, 60, 80])
def test_pressure_slope_is_the_derivative_at_constant_volume(celsius):
    t = celsius + 273.15
    reference = PropsSI("d(P)/d(T)|Dmass", "T", t, "P", ATM, "Water")
    slope = trapped_pressure_slope(liquid().expansion_coefficient(t), compressibility(t))
    assert slope == pytest.approx(reference, rel=5e-3)


@pytest.mark.parametrize(("cold", "hot"), [(20, 30), (40, 45), (70, 75)])
def test_pressure_rise_at_constant_density(cold, hot):
    # stated: low by 1 % for each 60 bar
    water = liquid()
    density = PropsSI("Dmass", "T", cold + 273.15, "P", ATM, "Water")
    reference = PropsSI("P", "T", hot + 273.15, "Dmass", density, "Water") - ATM
    got = trapped_pressure_rise(
        water.density(cold + 273.15), water.density(hot + 273.15), compressibility(hot + 273.15)
    )
    assert got == pytest.approx(reference, rel=0.002 + 0.01 * reference / 60e5)


@pytest.mark.parametrize(("celsius", "pressure"), [(105, ATM), (110, ATM), (120, ATM), (115, 87e3)])
def test_flash_is_the_quality_of_an_isenthalpic_drop(celsius, pressure):
    h = PropsSI("Hmass", "T", celsius + 273.15, "Q", 0, "Water")
    reference = PropsSI("Q", "Hmass", h, "P", pressure, "Water")
    assert flash_to_ambient(liquid(), celsius + 273.15, pressure) == pytest.approx(
        reference, abs=2e-4
    )


def test_headspace_of_air_and_vapour_over_water():
    # 90 L of water in 100 L, sealed at 20 degC and heated to 90 degC, all by the library
    cold, hot = 293.15, 363.15
    pv0, pv = (PropsSI("P", "T", t, "Q", 0, "Water") for t in (cold, hot))
    rho0, rho = (PropsSI("Dmass", "T", t, "P", 2e5, "Water") for t in (cold, hot))
    gas = 0.1 - 0.09 * rho0 / rho
    reference = (ATM - pv0) * 0.01 / gas * hot / cold + pv
    water = liquid()
    state = sealed_headspace(ATM, cold, 0.01, water.saturation_pressure(cold))
    grown = 0.09 * (water.volume_ratio(cold, hot) - 1.0)
    got, _ = headspace_pressure(
        "sealed", state, 0.01 - grown, hot, water.saturation_pressure(hot),
        Surroundings(ATM, 0.0, 0.09),
    )
    assert got == pytest.approx(reference, rel=3e-3)


@pytest.mark.parametrize("gauge", [35e3, 70e3, 150e3])
def test_steam_flux_against_isentropic_expansion_of_real_steam(gauge):
    # homogeneous equilibrium expansion of saturated steam to the throat that passes the most,
    # or to ambient; stated: within 2 %
    pressure, ambient = 87e3 + gauge, 87e3
    h0 = PropsSI("Hmass", "P", pressure, "Q", 1, "Water")
    s0 = PropsSI("Smass", "P", pressure, "Q", 1, "Water")
    throats = np.linspace(ambient, 0.98 * pressure, 80)
    flux = [
        PropsSI("Dmass", "P", p, "Smass", s0, "Water")
        * np.sqrt(2.0 * (h0 - PropsSI("Hmass", "P", p, "Smass", s0, "Water")))
        for p in throats
    ]
    temperature = PropsSI("T", "P", pressure, "Q", 1, "Water")
    assert steam_flux(pressure, temperature, ambient) == pytest.approx(max(flux), rel=0.02)


def test_steam_that_heat_makes():
    latent = PropsSI("Hmass", "P", 122e3, "Q", 1, "Water") - PropsSI(
        "Hmass", "P", 122e3, "Q", 0, "Water"
    )
    water = liquid()
    ours = water.latent_heat(water.saturation_temperature(122e3))
    assert steam_rate(104e3, ours) == pytest.approx(104e3 / latent, rel=1e-3)
