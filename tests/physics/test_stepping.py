"""The integrator alone: scipy, closed forms, order, stability, failures, arrays."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from thermo.stepping import SMALLEST, StepError, advance, table_lookup


def march(
    rates, y, span=1.0, tolerance=1e-4, *, first=1e-3, largest=1.0, project=None, record=None
):
    tolerances = tolerance if isinstance(tolerance, list) else [tolerance] * len(y)
    return advance(
        rates,
        y,
        span,
        tolerances,
        first=first,
        largest=largest,
        project=project or (lambda x, y: False),
        record=record or (lambda x, y, k: False),
    )


def count(rates, y, **how):
    steps = []
    march(rates, y, record=lambda x, y, k: steps.append(x), **how)
    return steps


def pendulum(x, y):
    return [y[1], -math.sin(y[0])]


def test_agrees_with_scipy_on_a_nonlinear_problem():
    # scipy's DOP853 at 1e-12 stands for the exact solution
    exact = solve_ivp(
        lambda t, y: pendulum(t, y), (0, 10), [1.5, 0.0], "DOP853", rtol=1e-12, atol=1e-12
    ).y[:, -1]
    assert march(pendulum, [1.5, 0.0], 10.0, 1e-6) == pytest.approx(exact, abs=2e-4)


def test_error_falls_as_the_cube_of_the_step():
    # fixed steps: tolerance out of the way, largest step binding; order 3 of the pair
    def error(h):
        end = march(pendulum, [1.5, 0.0], 8.0, float("inf"), first=h, largest=h)
        exact = solve_ivp(
            lambda t, y: pendulum(t, y), (0, 8), [1.5, 0.0], "DOP853", rtol=1e-12, atol=1e-12
        ).y[:, -1]
        return abs(end[0] - exact[0])

    order = math.log2(error(0.04) / error(0.02))
    assert order == pytest.approx(3.0, abs=0.2)


@pytest.mark.parametrize("tolerance", [1e-3, 1e-5, 1e-7])
def test_error_follows_the_tolerance(tolerance):
    # exp(-5) at x = 1: error of the order of the tolerance a step
    end = march(lambda x, y: [-5.0 * y[0]], [1.0], tolerance=tolerance)
    assert abs(end[0] - math.exp(-5.0)) < 5.0 * tolerance


def test_is_exact_for_a_quadratic():
    # order 3: a right-hand side of degree 2 in x is integrated without error
    end = march(lambda x, y: [3.0 * x * x + 2.0 * x + 1.0], [0.0], 2.0)
    assert end[0] == pytest.approx(14.0, rel=1e-13)


def test_step_of_a_stiff_decay_stays_at_the_limit_of_stability():
    # Bogacki-Shampine: stable to 2.5 time constants; 1000 time constants take some 400 steps
    steps = count(lambda x, y: [1000.0 * (1.0 - y[0])], [0.0], tolerance=1e-3)
    assert 390 <= len(steps) <= 600


def test_a_state_without_tolerance_is_left_out_of_the_control():
    def fast(x, y):
        return [0.0, math.cos(200.0 * x)]

    free = count(fast, [0.0, 0.0], tolerance=[1e-6, float("inf")])
    bound = count(fast, [0.0, 0.0], tolerance=[1e-6, 1e-6])
    assert len(free) < 20 < len(bound)


def test_records_start_and_every_step_and_the_slope_there():
    seen = []
    march(lambda x, y: [-y[0]], [1.0], record=lambda x, y, k: seen.append((x, y[0], k[0])))
    xs = [x for x, _, _ in seen]
    assert xs[0] == 0.0
    assert xs[-1] == 1.0
    assert min(np.diff(xs)) > 0.0
    assert all(k == pytest.approx(-y, rel=1e-12) for _, y, k in seen)


def test_stops_where_the_record_says_so():
    end = march(lambda x, y: [1.0], [0.0], largest=0.125, record=lambda x, y, k: y[0] >= 0.5)
    assert 0.5 <= end[0] <= 0.625


def test_goes_on_from_what_the_projection_left():
    # A bucket with a hole at 0.5: filled at 1, never above; the slope is asked for anew.
    slopes = []

    def rates(x, y):
        slopes.append(y[0])
        return [1.0, 0.0]

    def spill(x, y):
        over = max(y[0] - 0.5, 0.0)
        y[0] -= over
        y[1] += over
        return over > 0.0

    end = march(rates, [0.0, 0.0], project=spill)
    assert end == pytest.approx([0.5, 0.5], abs=1e-12)
    assert slopes.count(0.5) >= 1


def test_does_not_change_the_state_it_was_given():
    start = [1.0, 2.0]
    march(lambda x, y: [1.0, -1.0], start)
    assert start == [1.0, 2.0]


@pytest.mark.parametrize("first", [1e-6, 0.3, 5.0])
@pytest.mark.parametrize("largest", [0.01, 1.0, 7.0])
def test_ends_exactly_at_the_span(first, largest):
    xs = count(lambda x, y: [x], [0.0], first=first, largest=largest)
    assert xs[-1] == 1.0
    assert max(np.diff(xs)) <= largest * (1 + 1e-12)


@pytest.mark.parametrize("where", [0, 1])
def test_refuses_a_rate_that_is_not_a_number(where):
    def rates(x, y):
        k = [1.0, 1.0]
        k[where] = math.nan if x > 0.5 else 1.0
        return k

    with pytest.raises(StepError, match="not a number"):
        march(rates, [0.0, 0.0])


@pytest.mark.parametrize("where", [0, 1])
def test_refuses_a_rate_that_is_not_a_number_in_one_variant(where):
    # the largest of a list with NaN in it depends on the order: any place must do
    def rates(x, y):
        k = [np.array([1.0, 1.0]), np.array([1.0, 1.0])]
        k[where] = np.array([1.0, math.nan if x > 0.5 else 1.0])
        return k

    with pytest.raises(StepError, match="not a number"):
        march(rates, [np.zeros(2), np.zeros(2)])


def test_gives_up_at_a_singularity():
    # y' = y^4 from 1 runs away at x = 1/3
    with pytest.raises(StepError, match=f"below {SMALLEST:g}"):
        march(lambda x, y: [y[0] ** 4], [1.0], 1.0, 1e-3)


def test_variants_march_as_they_would_alone():
    rate = np.array([0.1, 3.0, 40.0])
    end = march(lambda x, y: [-rate * y[0]], [np.ones(3)], tolerance=1e-6)
    assert end[0] == pytest.approx(np.exp(-rate), abs=5e-6)


@given(st.lists(st.floats(-1e3, 1e3), min_size=2, max_size=9), st.floats(0.0, 1.0))
def test_lookup_is_linear_interpolation(values, x):
    expected = np.interp(x, np.linspace(0.0, 1.0, len(values)), values)
    assert table_lookup(values, x) == pytest.approx(expected, abs=1e-9)


def test_lookup_of_variants_and_at_the_ends():
    values = [np.array([0.0, 1.0]), np.array([2.0, 5.0]), np.array([4.0, 1.0])]
    assert table_lookup(values, 0.25) == pytest.approx([1.0, 3.0])
    assert list(table_lookup(values, 0.0)) == [0.0, 1.0]
    assert list(table_lookup(values, 1.0)) == [4.0, 1.0]
