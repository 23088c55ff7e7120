"""The driven pass and the coast-down: closed forms, convergence, limits, scalar against array."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.coasting import coast
from thermo.course import DRIVE_STEPS, drive_distance, drive_time, terminal_speed
from thermo.errors import InfeasibleError, RangeError
from thermo.ops import FLOATS
from thermo.trace import resample, stretch_speed, time_at_distance
from thermo.vehicle import Vehicle, resistance, thrust

CAR = Vehicle(
    mass=680.0, drag_area=0.23, rolling_resistance=0.025, driven_mass=420.0, grip=0.5,
    rotating_factor=1.06, driveline_efficiency=0.88, slip=0.08,
)
FREE = Vehicle(
    mass=1000.0, drag_area=0.0, rolling_resistance=0.0, driven_mass=1000.0, grip=1e6,
)


def power(speed):
    return 130e3 + 0.0 * speed


def peaky(speed):
    """A smooth curve that falls away at speed, as past the power peak in top gear."""
    return 130e3 * (1.0 - ((speed - 60.0) / 120.0) ** 2)


@pytest.mark.parametrize("start", [0.0, 0.3, 15.0])
@pytest.mark.parametrize("curve", [power, peaky])
def test_default_steps_hold_the_error_stated(start, curve):
    # 4,000 steps stand for the exact solution; stated: 0.02 % in time and top speed
    coarse = drive_distance(curve, CAR, 1.05, 3.0, 6440.0, start)
    fine = drive_distance(curve, CAR, 1.05, 3.0, 6440.0, start, 4000)
    assert coarse.duration == pytest.approx(fine.duration, rel=2e-4)
    assert coarse.top_speed == pytest.approx(fine.top_speed, rel=2e-4)


def test_constant_thrust_from_rest_without_drag_is_exact():
    # closed form: t = sqrt(2 x m/F), v = sqrt(2 x F/m)
    car = Vehicle(
        mass=1000.0, drag_area=0.0, rolling_resistance=0.0, driven_mass=1000.0, grip=0.4,
        gravity=10.0,
    )
    trace = drive_distance(lambda v: 1e9, car, 1.2, 0.0, 800.0, 0.0, 40)
    assert trace.duration == pytest.approx(math.sqrt(2 * 800.0 / 4.0), rel=1e-12)
    assert trace.speed[-1] == pytest.approx(math.sqrt(2 * 800.0 * 4.0), rel=1e-12)
    middle = len(trace.time) // 2
    assert trace.speed[middle] == pytest.approx(4.0 * trace.time[middle], rel=1e-12)


@given(
    p=st.floats(20e3, 500e3), v0=st.floats(5.0, 40.0), length=st.floats(200.0, 8000.0),
)
def test_constant_power_without_drag_meets_the_closed_form(p, v0, length):
    # v^3 = v0^3 + 3 P x/m; t = m (v^2 - v0^2)/(2 P)
    trace = drive_distance(lambda v: p + 0.0 * v, FREE, 1.2, 0.0, length, v0)
    v1 = (v0**3 + 3.0 * p * length / 1000.0) ** (1.0 / 3.0)
    assert trace.speed[-1] == pytest.approx(v1, rel=2e-4)
    assert trace.duration == pytest.approx(1000.0 * (v1**2 - v0**2) / (2.0 * p), rel=5e-4)


def test_by_time_and_by_distance_agree():
    far = drive_distance(peaky, CAR, 1.05, 3.0, 5000.0, 12.0)
    long = drive_time(peaky, CAR, 1.05, 3.0, float(far.duration), 12.0)
    assert long.distance[-1] == pytest.approx(5000.0, abs=0.5)
    assert long.speed[-1] == pytest.approx(far.speed[-1], rel=1e-4)


def test_work_of_the_wheels_becomes_kinetic_energy_and_losses():
    # energy balance by the trapezoid over the trace, to the trapezoid's own error
    trace = drive_distance(power, CAR, 1.05, 0.0, 6440.0, 15.0, 4000)
    pull = np.array([thrust(CAR, v, p, 1.05, 0.0, FLOATS)
                     for v, p in zip(trace.speed, trace.power, strict=True)])
    drag = resistance(CAR, trace.speed, 1.05, 0.0)
    net = pull - drag
    work = float(np.sum(0.5 * (net[1:] + net[:-1]) * np.diff(trace.distance)))
    gained = 0.5 * CAR.effective_mass * (trace.speed[-1] ** 2 - trace.speed[0] ** 2)
    assert work == pytest.approx(gained, rel=1e-4)


def test_array_equals_each_variant_alone():
    masses, starts = np.array([600.0, 900.0, 680.0]), np.array([0.0, 10.0, 20.0])
    car = Vehicle(mass=masses, drag_area=0.23, rolling_resistance=np.array([0.02, 0.025, 9.0]),
                  driven_mass=420.0, grip=0.5, rotating_factor=1.06)
    together = drive_distance(power, car, 1.05, 2.0, 3000.0, starts)
    coasts = coast(car, 1.05, 2.0, 60.0, duration=200.0)
    down = coast(car, 1.05, 2.0, 60.0, until_speed=10.0)
    timed = drive_time(power, car, 1.05, 2.0, 40.0, starts)
    even = resample(together, 33)
    for i, rolling in enumerate((0.02, 0.025, 9.0)):
        one = Vehicle(mass=float(masses[i]), drag_area=0.23, rolling_resistance=rolling,
                      driven_mass=420.0, grip=0.5, rotating_factor=1.06)
        alone = drive_distance(power, one, 1.05, 2.0, 3000.0, float(starts[i]))
        np.testing.assert_allclose(together.speed[:, i], alone.speed, rtol=1e-12, atol=1e-12)
        np.testing.assert_allclose(together.time[:, i], alone.time, rtol=1e-12)
        assert together.reached[i] == alone.reached
        np.testing.assert_allclose(
            even.distance[:, i], resample(alone, 33).distance, rtol=1e-9, atol=1e-9
        )
        single = coast(one, 1.05, 2.0, 60.0, duration=200.0)
        np.testing.assert_allclose(coasts.distance[:, i], single.distance, rtol=1e-12)
        lone = coast(one, 1.05, 2.0, 60.0, until_speed=10.0)
        np.testing.assert_allclose(down.time[:, i], lone.time, rtol=1e-12)
        clock = drive_time(power, one, 1.05, 2.0, 40.0, float(starts[i]))
        np.testing.assert_allclose(timed.speed[:, i], clock.speed, rtol=1e-12, atol=1e-12)
    assert list(together.reached) == [True, True, False]


def test_a_car_that_cannot_keep_moving_says_where():
    # deceleration of 2 m/s2 and no power: stops after v^2/(2 a) = 100 m, at v/a = 10 s
    mud = Vehicle(mass=500.0, drag_area=0.0, rolling_resistance=0.2, driven_mass=250.0, grip=0.5,
                  gravity=10.0)
    trace = drive_distance(lambda v: 0.0 * v, mud, 1.2, 0.0, 1000.0, 20.0)
    assert trace.reached is False
    assert trace.stopped_at == pytest.approx(100.0, rel=1e-6)
    assert trace.distance[-1] == pytest.approx(100.0, rel=1e-6)
    assert trace.duration == pytest.approx(10.0, rel=1e-6)
    assert trace.speed[-1] == 0.0
    assert trace.power[-1] == 0.0
    assert math.isnan(stretch_speed(trace, 50.0, 500.0))
    clock = drive_time(lambda v: 0.0 * v, mud, 1.2, 0.0, 60.0, 20.0)
    assert clock.reached is False
    assert clock.stopped_at == pytest.approx(100.0, rel=1e-6)


def test_a_start_from_rest_that_never_moves():
    stuck = Vehicle(mass=500.0, drag_area=0.2, rolling_resistance=0.7, driven_mass=250.0, grip=0.5)
    trace = drive_distance(power, stuck, 1.2, 0.0, 1000.0, 0.0)
    assert trace.reached is False
    assert trace.stopped_at == pytest.approx(0.0, abs=1e-9)
    assert trace.duration == pytest.approx(0.0, abs=1e-9)
    assert np.isfinite(resample(trace, 20).speed).all()


def test_top_speed_may_come_before_the_end():
    # pushed off above its terminal speed, the car only slows
    fading = drive_distance(lambda v: 130e3 + 0.0 * v, CAR, 1.05, 0.0, 3000.0, 120.0)
    assert fading.top_speed == pytest.approx(120.0)
    assert fading.speed[-1] < 115.0


def test_constant_thrust_with_drag_reaches_the_terminal_speed_of_the_balance():
    v = terminal_speed(power, CAR, 1.05, 4.0)
    pull = thrust(CAR, v, power(v), 1.05, 4.0, FLOATS)
    assert pull == pytest.approx(resistance(CAR, v, 1.05, 4.0), rel=1e-7)
    far = drive_distance(power, CAR, 1.05, 4.0, 40000.0, 15.0)
    assert far.speed[-1] == pytest.approx(v, rel=1e-4)
    several = terminal_speed(power, CAR, 1.05, np.array([0.0, 4.0]))
    assert several[1] == pytest.approx(v, rel=1e-12)
    assert several[0] > v


def test_no_terminal_speed_is_said():
    with pytest.raises(InfeasibleError, match="no terminal speed below"):
        terminal_speed(power, FREE, 1.2, 0.0)


def test_coast_to_rest_under_rolling_resistance_alone():
    # a = Crr g: t = v/a, x = v^2/(2a)
    car = Vehicle(mass=500.0, drag_area=0.0, rolling_resistance=0.03, driven_mass=250.0, grip=0.5,
                  gravity=10.0)
    stop = coast(car, 1.2, 0.0, 30.0, until_speed=0.0)
    assert stop.duration == pytest.approx(100.0, rel=1e-12)
    assert stop.stopped_at == pytest.approx(1500.0, rel=1e-12)
    held = coast(car, 1.2, 0.0, 30.0, duration=170.0)
    assert held.reached is True
    assert held.stopped_at == pytest.approx(1500.0, rel=1e-9)
    assert held.speed[-1] == 0.0
    assert held.duration == pytest.approx(170.0)
    assert not held.power.any()


def test_coast_by_time_and_by_speed_agree_with_a_parachute():
    down = coast(CAR, 1.0, 2.0, 100.0, until_speed=20.0, parachute_area=1.5)
    timed = coast(CAR, 1.0, 2.0, 100.0, duration=float(down.duration), parachute_area=1.5)
    assert timed.speed[-1] == pytest.approx(20.0, abs=1e-3)
    assert timed.distance[-1] == pytest.approx(down.distance[-1], rel=1e-5)
    without = coast(CAR, 1.0, 2.0, 100.0, until_speed=20.0)
    assert without.duration > 2.0 * down.duration


def test_a_coast_that_never_slows_says_so():
    downhill = Vehicle(mass=680.0, drag_area=0.23, rolling_resistance=0.02, driven_mass=420.0,
                       grip=0.5, grade=-0.05)
    trace = coast(downhill, 1.0, 0.0, 60.0, until_speed=10.0)
    assert trace.reached is False
    # it stops slowing where drag and rolling resistance balance the slope
    v = math.sqrt(0.03 * 680.0 * 9.80665 / (0.5 * 0.23))
    assert trace.speed[-1] == pytest.approx(v, abs=60.0 / DRIVE_STEPS)


def test_coast_wants_one_end():
    with pytest.raises(ValueError, match="exactly one"):
        coast(CAR, 1.0, 0.0, 60.0)
    with pytest.raises(RangeError, match="end of the coast-down"):
        coast(CAR, 1.0, 0.0, 60.0, until_speed=-1.0)


def test_lengths_must_be_positive():
    with pytest.raises(RangeError, match="length of the driven leg"):
        drive_distance(power, CAR, 1.0, 0.0, 0.0, 10.0)
    with pytest.raises(RangeError, match="duration of the driven leg"):
        drive_time(power, CAR, 1.0, 0.0, -5.0, 10.0)
    with pytest.raises(RangeError, match="points of the time grid"):
        resample(drive_distance(power, CAR, 1.0, 0.0, 100.0, 10.0), 1)
    with pytest.raises(RangeError, match="timed stretch"):
        stretch_speed(drive_distance(power, CAR, 1.0, 0.0, 100.0, 10.0), 50.0, 50.0)


def test_resampled_trace_is_uniform_and_close():
    # stated: 0.05 m/s and 0.05 m against the same pass integrated in 8,000 steps
    coarse = resample(drive_distance(peaky, CAR, 1.05, 0.0, 6440.0, 15.0), 301)
    fine = resample(drive_distance(peaky, CAR, 1.05, 0.0, 6440.0, 15.0, 8000), 301)
    np.testing.assert_allclose(np.diff(coarse.time), coarse.time[-1] / 300, rtol=1e-9)
    assert np.abs(coarse.speed - fine.speed).max() < 0.05
    assert np.abs(coarse.distance - fine.distance).max() < 0.05
    assert coarse.distance[-1] == pytest.approx(6440.0, rel=1e-12)


def test_stretch_speed_of_a_steady_car_and_of_a_constant_acceleration():
    car = Vehicle(mass=1000.0, drag_area=0.0, rolling_resistance=0.0, driven_mass=1000.0, grip=0.4,
                  gravity=10.0)
    trace = drive_distance(lambda v: 1e9, car, 1.2, 0.0, 800.0, 0.0)
    # a = 4: t = sqrt(x/2)
    assert time_at_distance(trace, 450.0) == pytest.approx(15.0, rel=1e-9)
    assert stretch_speed(trace, 200.0, 800.0) == pytest.approx(60.0, rel=1e-9)
    rolling = coast(FREE, 1.2, 0.0, 50.0, duration=10.0)
    assert stretch_speed(rolling, 100.0, 450.0) == pytest.approx(50.0, rel=1e-9)


def test_wind_slip_and_downforce_act_the_right_way():
    still = drive_distance(power, CAR, 1.05, 0.0, 3000.0, 15.0)
    windy = drive_distance(power, CAR, 1.05, 5.0, 3000.0, 15.0)
    assert windy.duration > still.duration
    pushed = resistance(CAR, 10.0, 1.2, -20.0)
    assert pushed < resistance(CAR, 10.0, 1.2, -10.0)
    pressed = Vehicle(mass=680.0, drag_area=0.23, rolling_resistance=0.025, driven_mass=420.0,
                      grip=0.5, downforce_area=0.4)
    extra = thrust(pressed, 100.0, 1e9, 1.0, 0.0, FLOATS) - thrust(CAR, 100.0, 1e9, 1.0, 0.0,
                                                                  FLOATS)
    assert extra == pytest.approx(0.5 * 0.5 * 1.0 * 100.0**2 * 0.4)


def test_a_long_coast_in_time_is_followed_as_closely_as_a_short_one():
    """Closed form for drag alone: 1/V = 1/V0 + k t, x = ln(1 + k V0 t) / k (any mechanics text)."""
    car = replace(FREE, mass=500.0, drag_area=2.0)
    density, start = 1.0, 90.0
    k = 0.5 * density * 2.0 / 500.0
    for duration in (60.0, 3600.0, 86400.0):
        trace = coast(car, density, 0.0, start, duration=duration)
        assert float(trace.speed[-1]) == pytest.approx(1.0 / (1.0 / start + k * duration), rel=1e-4)
        assert float(trace.distance[-1]) == pytest.approx(
            math.log1p(k * start * duration) / k, rel=1e-4)


def test_variants_of_unlike_length_in_time_are_each_as_a_single_one():
    car = replace(FREE, mass=500.0, drag_area=0.3, rolling_resistance=0.02)
    durations = np.array([30.0, 900.0, 7200.0])
    both = drive_time(lambda v: 40e3 + 0.0 * v, car, 1.0, 0.0, durations, 20.0)
    for i, duration in enumerate(durations):
        one = drive_time(lambda v: 40e3 + 0.0 * v, car, 1.0, 0.0, float(duration), 20.0)
        assert np.allclose(both.speed[:, i], one.speed, rtol=1e-12)
        assert np.allclose(both.distance[:, i], one.distance, rtol=1e-12)
