"""Pulsation against the sampled pulse train, and its limits."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.pulsation import (
    harmonic_amplitudes,
    induction_frequency,
    plenum_frequency,
    pulsation_factor,
)


def sampled(cylinders: int, duration: float, cycle: float) -> float:
    """mean(m^2)/mean(m)^2 of evenly spaced half-sine pulses, by sampling the crank angle."""
    angle = np.arange(0.0, cycle, 0.01)
    flow = np.zeros(angle.shape)
    for i in range(cylinders):
        turn = (angle - i * cycle / cylinders) % cycle
        flow += np.where(turn < duration, np.sin(np.pi * turn / duration), 0.0)
    return float(np.mean(flow**2) / np.mean(flow) ** 2)


@pytest.mark.parametrize(
    ("cylinders", "expected"), [(1, 3.7), (2, 1.85), (3, 1.23), (4, 1.01)]
)
def test_four_strokes_without_a_plenum(cylinders: int, expected: float) -> None:
    # Rule-of-thumb figures of the half-sine pulse, printed to three digits.
    assert pulsation_factor(cylinders) == pytest.approx(expected, abs=0.006)


@pytest.mark.parametrize("cylinders", [1, 2, 3, 4, 5, 6, 8])
@pytest.mark.parametrize("duration", [180.0, 240.0, 300.0])
def test_the_series_is_the_sampled_pulse_train(cylinders: int, duration: float) -> None:
    assert pulsation_factor(cylinders, 0.0, 2.0, duration) == pytest.approx(
        sampled(cylinders, duration, 720.0), rel=1e-4
    )


def test_two_stroke_and_the_removable_singularity() -> None:
    # One pulse in half the cycle: 2 k x = 1 exactly at k = 1, where the limit is pi/4.
    assert pulsation_factor(1, 0.0, 1.0, 180.0) == pytest.approx(
        sampled(1, 180.0, 360.0), rel=1e-4
    )
    beside = harmonic_amplitudes(1, 1.0, 180.0 * (1.0 + 1e-5))
    assert harmonic_amplitudes(1, 1.0, 180.0)[0] == pytest.approx(beside[0], rel=1e-4)


@given(st.integers(1, 8), st.floats(0.0, 20.0), st.floats(0.01, 5.0))
def test_a_larger_plenum_calms_the_duct(cylinders: int, ratio: float, more: float) -> None:
    small, large = pulsation_factor(cylinders, np.array([ratio, ratio + more]))
    assert 1.0 <= large <= small <= pulsation_factor(cylinders) + 1e-12


def test_far_above_the_plenum_frequency_it_is_steady() -> None:
    # Second order: the first harmonic falls with the square of the ratio, its power with the 4th.
    excess = np.asarray(pulsation_factor(1, np.array([10.0, 20.0]))) - 1.0
    assert excess[0] < 1e-3
    assert excess[0] / excess[1] == pytest.approx(16.0, rel=0.01)


def test_frequencies() -> None:
    # A single of 6000/min draws 50 times a second; four cylinders 200 times.
    assert induction_frequency(1, 6000.0) == 50.0
    assert induction_frequency(4, 6000.0) == 200.0
    assert induction_frequency(1, 6000.0, 1.0) == 100.0
    # 3 m of 60 mm tube on 6 L: (340/2 pi) sqrt(2.827e-3/(3 x 6e-3)) = 21.4 Hz.
    area = 0.25 * np.pi * 0.06**2
    assert plenum_frequency(340.0, area, 3.0, 6e-3) == pytest.approx(21.45, abs=0.01)
