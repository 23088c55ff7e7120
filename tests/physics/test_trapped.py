"""Liquid shut in: the identity, its limits, and the squeeze of water against handbook values."""

import numpy as np
import pytest

from thermo.liquids import liquid
from thermo.trapped import compressibility, trapped_pressure_rise, trapped_pressure_slope


def test_compressibility_at_handbook_points():
    # handbook: 4.59e-10 at 20 degC; least near 46.5 degC at 4.41e-10 (Kell 1975)
    assert compressibility(293.15) == pytest.approx(4.59e-10, rel=2e-3)
    t = np.arange(273.15, 373.15, 0.1)
    least = t[np.argmin(compressibility(t))] - 273.15
    assert least == pytest.approx(46.5, abs=0.5)
    assert compressibility(t).min() == pytest.approx(4.41e-10, rel=3e-3)
    assert compressibility(300.0) == pytest.approx(compressibility(np.array([300.0]))[0])


def test_slope_is_between_five_and_fourteen_bar_a_kelvin_from_room_warmth_to_hot():
    water = liquid()
    slopes = [
        trapped_pressure_slope(water.expansion_coefficient(t), compressibility(t)) / 1e5
        for t in (296.0, 310.0, 330.0, 350.0)
    ]
    assert slopes == sorted(slopes)
    assert 4.9 < slopes[0] < slopes[-1] < 14.0


def test_small_rise_is_slope_times_step():
    water = liquid()
    rise = trapped_pressure_rise(water.density(320.0), water.density(320.1), compressibility(320.1))
    slope = trapped_pressure_slope(water.expansion_coefficient(320.05), compressibility(320.05))
    assert rise == pytest.approx(0.1 * slope, rel=1e-3)
    assert trapped_pressure_rise(998.0, 998.0, 4.5e-10) == 0.0
