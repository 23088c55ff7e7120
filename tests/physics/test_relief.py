"""Relief opening: nozzle flow against Napier's rule, its limits, and the liquid it must pass."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.liquids import liquid
from thermo.relief import (
    STEAM_GAS_CONSTANT,
    bore,
    critical_ratio,
    steam_area,
    steam_flux,
    steam_rate,
)


@pytest.mark.parametrize("pressure", [3e5, 6e5, 10e5])
def test_choked_steam_within_five_percent_of_napier(pressure):
    # Napier's rule for saturated steam: W = A p/70, lb/s, square inch, psi absolute (from memory)
    # steam tables: 133.5 degC at 3 bar, 158.8 at 6, 179.9 at 10
    temperature = {3e5: 406.7, 6e5: 432.0, 10e5: 453.0}[pressure]
    napier = (pressure / 6894.757) / 70.0 * 0.45359237 / 0.0254**2
    assert steam_flux(pressure, temperature, 1e5) == pytest.approx(napier, rel=0.05)


def test_choked_flow_has_its_closed_form():
    # G = p sqrt(gamma/(R T)) (2/(gamma + 1))^((gamma + 1)/(2 (gamma - 1)))
    g = 1.135
    closed = 3e5 * math.sqrt(g / (STEAM_GAS_CONSTANT * 406.0)) * (2 / (g + 1)) ** (
        (g + 1) / (2 * (g - 1))
    )
    assert steam_flux(3e5, 406.0, 1e5) == pytest.approx(closed, rel=1e-12)
    # air's critical ratio, in every table of gas dynamics
    assert critical_ratio(1.4) == pytest.approx(0.5283, abs=1e-4)


def test_flux_grows_as_the_back_pressure_falls_until_it_chokes():
    back = np.linspace(1.2e5, 0.1e5, 200)
    flux = steam_flux(1.22e5, 378.0, back)
    choked = back < 1.22e5 * critical_ratio()
    assert (np.diff(flux) >= -1e-9).all()
    assert np.ptp(flux[choked]) == pytest.approx(0.0, abs=1e-9)
    assert steam_flux(1e5, 373.0, 1e5) == 0.0
    assert steam_flux(0.9e5, 373.0, 1e5) == 0.0
    assert steam_flux(1.22e5, 378.0, float(back[50])) == pytest.approx(flux[50], rel=1e-12)


def test_small_drop_tends_to_the_incompressible_orifice():
    density = 1e5 / (STEAM_GAS_CONSTANT * 373.0)
    got = steam_flux(1.0005e5, 373.0, 1e5)
    assert got == pytest.approx(math.sqrt(2 * density * 50.0), rel=1e-3)


@given(heat=st.floats(5e3, 400e3), gauge=st.floats(10e3, 200e3))
def test_area_passes_the_steam_of_the_heat(heat, gauge):
    water = liquid()
    pressure = 87e3 + gauge
    boils = water.saturation_temperature(pressure)
    steam = steam_rate(heat, water.latent_heat(boils))
    area = steam_area(steam, pressure, boils, 87e3)
    assert 0.62 * area * steam_flux(pressure, boils, 87e3) == pytest.approx(steam, rel=1e-12)
    assert bore(area) == pytest.approx(math.sqrt(4 * area / math.pi), rel=1e-12)
