"""Headspace pressure by closure: gas law, relief, vacuum, lock, and the fill that holds a limit."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.errors import RangeError
from thermo.liquids import liquid
from thermo.tank import (
    CLOSURES,
    LIQUID_COMPRESSIBILITY,
    Headspace,
    Surroundings,
    bottle_volume,
    centre_of_mass_shift,
    expansion_volume,
    gas_pressure,
    headspace_needed,
    headspace_pressure,
    pressure_history,
    sealed_headspace,
    water_mass,
)

PA = 87e3
COLD, HOT = 293.15, 353.15
AROUND = Surroundings(PA, 35e3, 0.04)


@pytest.fixture(scope="module")
def water():
    return liquid()


def _seal(water, gas_volume=0.006, temperature=COLD, pressure=PA):
    return sealed_headspace(
        pressure, temperature, gas_volume, water.saturation_pressure(temperature)
    )


@given(
    gas=st.floats(0.1, 5.0), room=st.floats(1e-4, 0.05), warm=st.floats(280.0, 380.0),
    vapour=st.floats(0.0, 9e4),
)
def test_with_gas_left_it_is_the_ideal_gas_law(gas, room, warm, vapour):
    # the liquid's give shifts the pressure by no more than kappa V_l dp/V, doubled for safety
    got = gas_pressure(gas, room, warm, vapour, AROUND)
    law = gas * warm / room + vapour
    give = LIQUID_COMPRESSIBILITY * 0.04 * abs(law - PA) / room
    assert got == pytest.approx(law, rel=2.0 * give + 1e-12)
    # and the implicit equation itself is met
    free = room + LIQUID_COMPRESSIBILITY * 0.04 * (got - PA)
    assert (got - vapour) * free == pytest.approx(gas * warm, rel=1e-9)


def test_pressure_rises_smoothly_through_the_lock():
    rooms = np.linspace(2e-4, -2e-4, 4001)
    pressure = gas_pressure(0.5, rooms, HOT, 47e3, AROUND)
    assert (np.diff(pressure) > 0.0).all()
    # without gas it is the liquid against rigid walls: dp = overfill/(kappa V)
    full = gas_pressure(0.0, -1e-4, HOT, 47e3, AROUND)
    assert full - PA == pytest.approx(1e-4 / (LIQUID_COMPRESSIBILITY * 0.04), rel=1e-6)
    assert gas_pressure(0.0, 1e-3, HOT, 47e3, AROUND) == pytest.approx(47e3)


def test_sealing_and_measuring_at_once_gives_back_the_pressure(water):
    for closure in CLOSURES:
        vapour = 0.0 if closure == "bladder" else water.saturation_pressure(COLD)
        state = sealed_headspace(PA, COLD, 0.006, vapour)
        got, after = headspace_pressure(
            closure, state, 0.006, COLD, water.saturation_pressure(COLD), AROUND
        )
        assert got == pytest.approx(PA, rel=1e-9)
        assert after.lost == 0.0


def test_relief_stops_the_pressure_and_leaves_a_vacuum_when_cool(water):
    state = _seal(water)
    pv = water.saturation_pressure(HOT)
    hot, after = headspace_pressure("sealed-relief", state, 0.0050, HOT, pv, AROUND)
    shut, _ = headspace_pressure("sealed", state, 0.0050, HOT, pv, AROUND)
    assert shut > PA + 35e3
    assert hot == PA + 35e3
    # what is left fills the same room, and what the water gives, at the set pressure with vapour
    room = 0.0050 + LIQUID_COMPRESSIBILITY * AROUND.liquid_volume * 35e3
    assert after.gas * HOT / room + pv == pytest.approx(PA + 35e3, rel=1e-9)
    cool, last = headspace_pressure(
        "sealed-relief", after, 0.006, COLD, water.saturation_pressure(COLD), AROUND
    )
    by_hand = after.gas * COLD / 0.006 + water.saturation_pressure(COLD)
    assert cool == pytest.approx(by_hand, rel=1e-4)
    assert cool < PA - 10e3
    assert last == after
    # a cap with a bottle draws back
    _, drawn = headspace_pressure("overflow-bottle", state, 0.0050, HOT, pv, AROUND)
    back, _ = headspace_pressure(
        "overflow-bottle", drawn, 0.006, COLD, water.saturation_pressure(COLD), AROUND
    )
    assert back == PA


def test_sealed_hot_pulls_a_vacuum(water):
    state = _seal(water, temperature=343.15)
    cool, _ = headspace_pressure(
        "sealed", state, 0.0067, COLD, water.saturation_pressure(COLD), AROUND
    )
    assert cool < PA - 25e3


def test_vapour_above_the_set_pressure_drives_all_gas_out(water):
    state = _seal(water)
    pressure, after = headspace_pressure(
        "sealed-relief", state, 0.005, 385.0, water.saturation_pressure(385.0), AROUND
    )
    assert pressure == PA + 35e3
    assert after.gas == 0.0


def test_a_locked_tank_with_relief_passes_the_overfill_once(water):
    state = _seal(water, gas_volume=0.0008)
    pv = water.saturation_pressure(HOT)
    pressure, after = headspace_pressure("sealed-relief", state, -0.0004, HOT, pv, AROUND)
    assert pressure == PA + 35e3
    # the overfill less what the water gives at the set pressure, which it then holds
    kept = LIQUID_COMPRESSIBILITY * AROUND.liquid_volume * 35e3
    assert after.lost == pytest.approx(0.0004 - kept, rel=1e-9)
    again, same = headspace_pressure("sealed-relief", after, -0.0004, HOT, pv, AROUND)
    assert again == pytest.approx(PA + 35e3, rel=1e-6)
    assert same.lost == pytest.approx(0.0004 - kept, rel=1e-6)
    locked, _ = headspace_pressure("sealed", state, -0.0004, HOT, pv, AROUND)
    assert locked > 100e5


def test_vented_and_bladder(water):
    pv = water.saturation_pressure(HOT)
    assert headspace_pressure("vented", Headspace(0.0), 0.001, HOT, pv, AROUND)[0] == PA
    bladder = sealed_headspace(PA + 50e3, COLD, 0.006, 0.0)
    squeezed, _ = headspace_pressure("bladder", bladder, 0.005, HOT, pv, AROUND)
    assert squeezed == pytest.approx((PA + 50e3) * 1.2 * HOT / COLD, rel=1e-3)
    # a soft bladder gives way to boiling water
    soft = sealed_headspace(PA, COLD, 0.006, 0.0)
    steam = water.saturation_pressure(390.0)
    assert headspace_pressure("bladder", soft, 0.006, 390.0, steam, AROUND)[0] == steam


def test_unknown_closure_is_refused():
    with pytest.raises(KeyError, match="corked"):
        headspace_pressure("corked", Headspace(1.0), 0.005, HOT, 47e3, AROUND)


@pytest.mark.parametrize("closure", list(CLOSURES))
def test_arrays_equal_each_variant_alone(water, closure):
    rooms = np.array([[0.005, 0.003, 0.001], [0.0045, -0.0002, 0.0012], [0.006, 0.004, 0.002]])
    warms = np.array([[300.0, 350.0, 380.0], [330.0, 360.0, 350.0], [290.0, 290.0, 290.0]])
    vapours = water.saturation_pressure(warms)
    gas = np.array([1.5, 1.2, 0.8])
    together, last = pressure_history(closure, Headspace(gas), rooms, warms, vapours, AROUND)
    for i in range(3):
        alone, end = pressure_history(
            closure, Headspace(float(gas[i])), rooms[:, i].tolist(), warms[:, i].tolist(),
            vapours[:, i].tolist(), AROUND,
        )
        np.testing.assert_allclose(together[:, i], alone, rtol=1e-12)
        assert np.broadcast_to(last.gas, 3)[i] == pytest.approx(end.gas, rel=1e-12)


def test_history_keeps_what_was_lost(water):
    warm = np.array([COLD, HOT, 373.15, HOT, COLD])
    rooms = np.array([0.006, 0.005, 0.0045, 0.005, 0.006])
    pressures, last = pressure_history(
        "sealed-relief", _seal(water), rooms, warm, water.saturation_pressure(warm), AROUND
    )
    assert pressures[2] == PA + 35e3
    assert pressures[3] < pressures[1]
    assert pressures[4] < PA
    assert last.gas < _seal(water).gas


def test_expansion_counts_every_cell(water):
    rho0 = water.density(COLD)
    one = expansion_volume([0.04], rho0, [water.density(HOT)])
    cells = expansion_volume([0.01] * 4, rho0, [water.density(HOT)] * 4)
    assert cells == pytest.approx(one, rel=1e-12)
    assert one == pytest.approx(bottle_volume(0.04, rho0, water.density(HOT)), rel=1e-12)
    # 20 to 80 degC grows water by 2.7 % (steam tables: 998.2/971.8)
    assert one / 0.04 == pytest.approx(998.2 / 971.8 - 1.0, rel=5e-3)
    mass = water_mass(0.05, 0.8, rho0)
    assert mass / water.density(HOT) - 0.04 == pytest.approx(one, rel=1e-9)


@given(hot=st.floats(320.0, 360.0), start=st.floats(283.0, 310.0), limit=st.floats(20e3, 150e3))
def test_headspace_needed_gives_the_limit_back(water, hot, start, limit):
    pv0, pv = water.saturation_pressure(start), water.saturation_pressure(hot)
    grown = bottle_volume(0.045, water.density(start), water.density(hot))
    need = headspace_needed(grown, PA + limit, (PA, start, pv0), hot, pv)
    endless = (PA - pv0) * hot / start + pv
    if math.isinf(need):
        assert endless >= PA + limit
        return
    assert endless < PA + limit
    state = sealed_headspace(PA, start, need, pv0)
    # the ideal gas, without the liquid's give
    rigid = Surroundings(PA, limit, 0.0)
    got, _ = headspace_pressure("sealed", state, need - grown, hot, pv, rigid)
    assert got == pytest.approx(PA + limit, rel=1e-6)


def test_centre_of_mass_shift_by_moments():
    # 600 kg at 2.5 m and 40 kg at 0.8 m: (600 x 2.5 + 40 x 0.8)/640 - 2.5
    assert centre_of_mass_shift(600.0, 2.5, 40.0, 0.8) == pytest.approx(1532.0 / 640.0 - 2.5)
    assert centre_of_mass_shift(600.0, 2.5, 0.0, 0.8) == 0.0
    with pytest.raises(RangeError, match="mass of car and water"):
        centre_of_mass_shift(0.0, 2.5, 0.0, 0.8)
