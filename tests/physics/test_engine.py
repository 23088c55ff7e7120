"""Engine power by gear and speed, its basis, and the heat that follows: identities and limits."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.course import drive_distance
from thermo.engine import (
    COOLANT_HEAT_SHARE,
    ConstantPower,
    CoolantHeat,
    Gearbox,
    GearedPower,
    PowerCurve,
    burnt_air_flow,
    heat_from_fuel,
    metal_conductance,
    site_factor,
    swept_air_flow,
)
from thermo.errors import RangeError
from thermo.fuels import FUELS, conversion_efficiency, mass_share, stoichiometric_ratio
from thermo.gearing import LIMITER_BAND, engine_speed
from thermo.vehicle import Vehicle

POINTS = ((50.0, 50e3), (75.0, 85e3), (100.0, 120e3), (120.0, 130e3), (133.0, 122e3))
"""Engine speed [rev/s] and brake power [W]; torque is P/(2 pi n)."""
CURVE = PowerCurve(tuple(n for n, _ in POINTS), tuple(p / (2 * math.pi * n) for n, p in POINTS))
BOX = Gearbox((2.9, 1.9, 1.3, 1.0), 2.6, 0.31, 128.0, 0.08)
ENGINE = GearedPower(CURVE, BOX)


def test_curve_gives_back_its_points_and_is_linear_in_torque():
    for n, p in ((50.0, 50e3), (100.0, 120e3), (133.0, 122e3)):
        assert CURVE.power(n) == pytest.approx(p, rel=1e-12)
    t0, t1 = CURVE.torques[1], CURVE.torques[2]
    assert CURVE.power(80.0) == pytest.approx(2 * math.pi * 80.0 * (t0 + 0.2 * (t1 - t0)))
    # torque held below the first point
    assert CURVE.power(10.0) == pytest.approx(50e3 * 10.0 / 50.0)


@given(st.lists(st.floats(0.5, 150.0), min_size=1, max_size=8))
def test_scalar_and_array_agree(speeds):
    power, turns, gear = ENGINE.best_gear(np.array(speeds))
    for i, v in enumerate(speeds):
        one = ENGINE.best_gear(v)
        assert power[i] == pytest.approx(one[0], rel=1e-12, abs=1e-9)
        assert turns[i] == pytest.approx(one[1], rel=1e-12)
        assert gear[i] == one[2]


@given(st.floats(1.0, 85.0))
def test_the_gear_chosen_is_the_best_within_the_limit(v):
    power, turns, gear = ENGINE.best_gear(v)
    speeds = [engine_speed(v, r, BOX.final_drive, BOX.rolling_radius, BOX.slip)
              for r in BOX.ratios]
    allowed = [CURVE.power(n) for n in speeds if n <= BOX.limit]
    assert power == pytest.approx(max(allowed), rel=1e-12)
    assert turns == pytest.approx(speeds[int(gear) - 1], rel=1e-12)
    assert turns <= BOX.limit


def test_engine_speed_by_hand():
    # 100 m/s, ratio 1 x 2.5, 0.32 m: 100 x 1.08 x 2.5/(2 pi 0.32) = 134.29 rev/s
    assert engine_speed(100.0, 1.0, 2.5, 0.32, 0.08) == pytest.approx(134.286, abs=1e-3)


def test_limiter_takes_the_power_away_over_its_band():
    at_limit = BOX.limit * 2 * math.pi * BOX.rolling_radius / (1.08 * 2.6)
    assert ENGINE.at(at_limit) == pytest.approx(CURVE.power(BOX.limit))
    half = ENGINE.at(at_limit * (1 + 0.5 * LIMITER_BAND))
    assert half == pytest.approx(0.5 * CURVE.power(BOX.limit * (1 + 0.5 * LIMITER_BAND)), rel=1e-9)
    assert ENGINE.at(at_limit * (1 + LIMITER_BAND) * 1.001) == 0.0
    assert ENGINE.best_gear(at_limit * 1.2)[2] == 4


def test_driven_pass_through_the_gears_holds_the_error_stated():
    # stated at DRIVE_STEPS: 0.1 % across gear changes, against 4,000 steps
    car = Vehicle(mass=680.0, drag_area=0.23, rolling_resistance=0.025, driven_mass=420.0,
                  grip=0.5, rotating_factor=1.06, driveline_efficiency=0.88, slip=0.08)
    for start in (0.0, 15.0):
        coarse = drive_distance(ENGINE.at, car, 1.0, 0.0, 5000.0, start)
        fine = drive_distance(ENGINE.at, car, 1.0, 0.0, 5000.0, start, 4000)
        assert coarse.duration == pytest.approx(fine.duration, rel=1e-3)
        assert coarse.top_speed == pytest.approx(fine.top_speed, rel=1e-3)
        assert coarse.power[-1] == pytest.approx(fine.power[-1], rel=1e-3)


def test_a_car_short_of_gear_runs_to_its_limiter_and_stays_there():
    short = GearedPower(CURVE, Gearbox((2.0,), 3.2, 0.31, 128.0))
    car = Vehicle(mass=680.0, drag_area=0.23, rolling_resistance=0.025, driven_mass=420.0,
                  grip=0.5)
    trace = drive_distance(short.at, car, 1.0, 0.0, 5000.0, 10.0)
    cut = 128.0 * 2 * math.pi * 0.31 / 6.4
    assert cut < trace.speed[-1] < cut * (1 + LIMITER_BAND)
    assert trace.power[-1] < 60e3


def test_constant_power_and_its_heat():
    engine = ConstantPower(130e3, 100.0)
    assert engine.at(40.0) == 130e3
    assert engine.turns_at(40.0) == 100.0
    assert engine.at(np.array([1.0, 2.0])).tolist() == [130e3, 130e3]
    assert CoolantHeat.constant(90e3).at(engine.at(50.0)) == 90e3
    assert CoolantHeat.of_brake(COOLANT_HEAT_SHARE.value).at(130e3) == pytest.approx(104e3)


def test_three_ways_to_the_same_heat():
    petrol = FUELS["petrol"]
    bsfc = petrol.specific_consumption.value
    share = 0.22
    by_fuel = CoolantHeat.of_fuel(share, bsfc, petrol.heating_value).at(100e3)
    assert by_fuel == pytest.approx(heat_from_fuel(100e3, bsfc, petrol.heating_value, share))
    ratio = share / conversion_efficiency(bsfc, petrol.heating_value)
    assert CoolantHeat.of_brake(ratio).at(100e3) == pytest.approx(by_fuel)
    assert CoolantHeat.constant(by_fuel).at(1.0) == pytest.approx(by_fuel)


def test_basis_of_the_power_figure():
    assert site_factor("site", 1.2) == 1.0
    assert site_factor("corrected", 1.25) == pytest.approx(0.8)
    with pytest.raises(ValueError, match="power basis 'flywheel' is not one of site, corrected"):
        site_factor("flywheel", 1.0)


def test_metal_conductance_returns_the_excess():
    assert 97.5e3 / metal_conductance(97.5e3, 35.0) == pytest.approx(35.0)


def test_air_by_displacement_and_by_fuel():
    # a two-stroke fills every turn, a four-stroke every other
    four = swept_air_flow(2e-3, 100.0, 0.9, 1.184)
    assert swept_air_flow(2e-3, 100.0, 0.9, 1.184, strokes=2) == pytest.approx(2.0 * four)
    # 130 kW at 300 g/kWh burns 39 kg/h; at 12.8 that takes 0.1387 kg/s
    assert burnt_air_flow(130e3, 300e-3 / 3.6e6, 12.8) == pytest.approx(39.0 * 12.8 / 3600.0)


def test_stoichiometry_by_hand_and_of_a_blend():
    # hydrogen: 0.5 O2, 15.999 kg of oxygen for 2.016 kg
    assert stoichiometric_ratio(0.0, 2.0, 0.0) == pytest.approx(15.999 / 0.2314 / 2.016)
    assert mass_share(0.5, 800.0, 800.0) == 0.5
    assert mass_share(1.0, 789.0, 745.0) == 1.0
    for fuel in FUELS.values():
        assert fuel.air_fuel_ratio.low <= fuel.air_fuel_ratio.value <= fuel.air_fuel_ratio.high
        assert fuel.air_fuel_ratio.high < fuel.stoichiometric_ratio


def test_bad_curves_and_limits_are_refused():
    with pytest.raises(ValueError, match="rising engine speed"):
        PowerCurve((50.0, 40.0), (100.0, 100.0))
    with pytest.raises(RangeError, match="first speed of the power curve"):
        PowerCurve((0.0, 40.0), (100.0, 100.0))
    with pytest.raises(RangeError, match="shift speed of the engine"):
        GearedPower(CURVE, Gearbox((1.0,), 2.0, 0.3, 140.0))
