"""Implicit steps alone: closed forms, scipy, order, what is fast and what is kept, failures."""

import math

import pytest
from scipy.integrate import solve_ivp

from thermo.stepping import StepError
from thermo.stiff import MOST_STEPS, go_on

FREE = float("inf")


def march(rates, y, span=1.0, tolerance=1e-4, **how):
    options = {"first": 1e-3, "largest": 1.0, "project": lambda x, y: False,
               "record": lambda x, y, k: False, **how}
    return go_on(rates, 0.0, y, span, [tolerance] * len(y), **options)


def robertson(x, y):
    """Three reactions of very unlike speed: Robertson's problem, a standard stiff test."""
    a, b, c = y
    slow, fast, pair = 0.04 * a, 1e4 * b * c, 3e7 * b * b
    return [fast - slow, slow - fast - pair, pair]


def test_a_standard_stiff_problem_as_scipy_solves_it():
    exact = solve_ivp(robertson, (0, 40), [1.0, 0.0, 0.0], "Radau", rtol=1e-9, atol=1e-12).y[:, -1]
    end = march(robertson, [1.0, 0.0, 0.0], 40.0, 1e-6, first=1e-5, largest=5.0)
    assert end == pytest.approx(exact, abs=1e-4)
    assert sum(end) == pytest.approx(1.0, abs=1e-9)  # mass is kept


def test_error_falls_as_the_square_of_the_step():
    def swing(x, y):
        return [y[1], -math.sin(y[0])]

    exact = solve_ivp(swing, (0, 4), [1.5, 0.0], "DOP853", rtol=1e-12, atol=1e-12).y[:, -1]

    def error(h):
        return abs(march(swing, [1.5, 0.0], 4.0, FREE, first=h, largest=h)[0] - exact[0])

    assert math.log2(error(0.02) / error(0.01)) == pytest.approx(2.0, abs=0.2)


def test_what_is_fast_follows_a_slow_cause_in_long_steps():
    # dy/dt = -1e6 (y - cos t): y = cos t but for 1e-6, which an explicit pair needs 4e5 steps for
    steps = []
    end = march(lambda x, y: [-1e6 * (y[0] - math.cos(x))], [1.0], 1.0, 1e-3, largest=0.05,
                record=lambda x, y, k: steps.append((x, k[0])))
    assert end[0] == pytest.approx(math.cos(1.0), abs=1e-5)
    assert len(steps) < 60
    # the slopes told do not swing: those of the cause, over a step
    assert all(k == pytest.approx(-math.sin(x), abs=0.03) for x, k in steps)


def test_what_is_mended_is_gone_on_from_and_a_stop_is_heeded():
    seen = []

    def cap(x, y):
        changed = y[0] > 0.5
        y[0] = min(y[0], 0.5)
        return changed

    def record(x, y, k):
        seen.append(y[0])
        return x > 0.8

    end = march(lambda x, y: [1.0], [0.0], largest=0.1, project=cap, record=record)
    assert end == [0.5]
    assert max(seen) == 0.5
    assert len(seen) < 20


def test_a_rate_that_is_no_number_and_endless_steps_are_given_up():
    with pytest.raises(StepError, match="not a number"):
        march(lambda x, y: [math.nan], [1.0])
    with pytest.raises(StepError, match=f"{MOST_STEPS} steps do not reach the end"):
        march(lambda x, y: [0.0], [1.0], largest=1e-6, first=1e-6)
    with pytest.raises(StepError, match="the step fell below"):
        march(lambda x, y: [0.0], [1.0], first=1e-9)
