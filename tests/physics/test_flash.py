"""Flash on release: steam-table arithmetic and limits."""

import numpy as np
import pytest

from thermo.flash import flash_share, flash_to_ambient
from thermo.liquids import liquid


def test_steam_table_example():
    # (503.81 - 419.06)/2256.5, saturated water at 120 degC to one atmosphere
    assert flash_share(503.81e3, 419.06e3, 2256.5e3) == pytest.approx(0.03756, abs=1e-5)


def test_nothing_flashes_below_boiling_and_more_does_when_hotter():
    water = liquid()
    assert flash_to_ambient(water, 360.0, 101325.0) == 0.0
    temperatures = np.array([360.0, 375.0, 385.0, 395.0])
    shares = flash_to_ambient(water, temperatures, 101325.0)
    assert shares[0] == 0.0
    assert (np.diff(shares) > 0.0).all()
    assert shares[3] == pytest.approx(flash_to_ambient(water, 395.0, 101325.0), rel=1e-9)


def test_high_ground_flashes_more_and_glycol_less():
    water, mix = liquid(), liquid("ethylene", 0.5)
    assert flash_to_ambient(water, 385.0, 85e3) > flash_to_ambient(water, 385.0, 101e3)
    assert 0.0 < flash_to_ambient(mix, 390.0, 101e3) < flash_to_ambient(water, 390.0, 101e3)
