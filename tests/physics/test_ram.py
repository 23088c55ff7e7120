"""Ram at the opening, and what is counted from it."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.errors import RangeError
from thermo.gas import Gas
from thermo.ram import momentum_drag, ram_state

GAS = Gas(287.05, 1.4, 1.8e-5, 0.0255)


def test_energy_gives_the_stagnation_temperature() -> None:
    # T0 = T + V^2/(2 cp), the energy equation, whatever the Mach number.
    ram = ram_state(120.0, 5.0, 86e3, 300.0, GAS)
    expected = 300.0 + 125.0**2 / (2.0 * GAS.specific_heat)
    assert ram.stagnation_temperature == pytest.approx(expected, rel=1e-12)


def test_head_wind_adds_to_the_car() -> None:
    assert ram_state(80.0, 10.0, 86e3, 300.0, GAS).ram == ram_state(
        90.0, 0.0, 86e3, 300.0, GAS
    ).ram


def test_wind_from_behind_faster_than_the_car_gives_no_ram() -> None:
    ram = ram_state(np.array([0.0, 2.0, 10.0]), -5.0, 86e3, 300.0, GAS)
    assert ram.gain[0] == 0.0
    assert ram.gain[1] == 0.0
    assert ram.gain[2] > 0.0
    assert ram.stagnation_temperature[0] == 300.0
    assert ram.air_speed[0] == -5.0


@given(st.floats(0.0, 250.0), st.floats(0.3, 1.0), st.floats(-1.0, 1.0))
def test_delivered_pressure_lies_by_coefficient_and_recovery(
    speed: float, recovery: float, coefficient: float
) -> None:
    ram = ram_state(speed, 0.0, 86e3, 300.0, GAS, recovery, coefficient)
    assert ram.gain == pytest.approx(coefficient * recovery * ram.ram, abs=1e-9)
    assert ram.gain <= ram.ram + 1e-9


@given(st.floats(0.0, 200.0), st.floats(0.1, 50.0))
def test_more_speed_more_ram(speed: float, more: float) -> None:
    slow, fast = (ram_state(v, 0.0, 86e3, 300.0, GAS) for v in (speed, speed + more))
    assert fast.ram > slow.ram
    assert fast.stagnation_temperature > slow.stagnation_temperature


def test_arrays_equal_floats() -> None:
    speeds = np.array([0.0, 30.0, 90.0])
    together = ram_state(speeds, 3.0, 86e3, 300.0, GAS, 0.97)
    for i, v in enumerate(speeds):
        alone = ram_state(float(v), 3.0, 86e3, 300.0, GAS, 0.97)
        assert together.delivered_pressure[i] == pytest.approx(alone.delivered_pressure, rel=1e-15)


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        ((-1.0, 0.0, 86e3, 300.0, GAS), "car speed: -1 m/s"),
        ((350.0, 0.0, 86e3, 300.0, GAS), "Mach number of the car"),
        ((50.0, 0.0, 86e3, 300.0, GAS, 1.1), "inlet recovery"),
        ((50.0, 0.0, 86e3, 300.0, GAS, 0.9, 1.2), "pressure coefficient"),
        ((math.nan, 0.0, 86e3, 300.0, GAS), "car speed"),
    ],
)
def test_out_of_range_is_refused_by_name(arguments: tuple, match: str) -> None:
    with pytest.raises(RangeError, match=match):
        ram_state(*arguments)


def test_momentum_drag() -> None:
    # 0.14 kg/s brought from rest to 90 m/s takes 12.6 N.
    assert momentum_drag(0.14, 90.0) == pytest.approx(12.6)
