"""An explicit Runge-Kutta integrator for a list of states, each a float or an array of variants.

scipy's integrators carry one state vector and cost tens of microseconds a step; here a state is a
plain list whose entries are floats for one event, or arrays with one entry a variant, so that the
same right-hand side serves both. The pair is Bogacki and Shampine's 3(2), Applied Mathematics
Letters 2 (1989) 321-325, whose third-order member is stable on the negative real axis to 2.5 time
constants. The tests compare it with scipy at tight tolerance.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any

import numpy as np

from thermo.ops import FLOATS, Real, ops_of

State = list[Any]
Rates = Callable[[float, State], State]
Project = Callable[[float, State], bool]
Record = Callable[[float, State, State], bool]

SAFETY = 0.9
GROW = 4.0
SHRINK = 0.25
SMALLEST = 1e-7

MOST_STEPS = 60000
"""Most steps of a leg: a day in steps of 2 s has 43,200. What needs more changes by the hundredth
of a second for hours, and no input that is meant does that."""


class StepError(ArithmeticError):
    """The step size fell below the smallest allowed: the problem is not integrable as posed."""


def _worst(h: float, ks: Sequence[State], scales: Sequence[float]) -> float:
    """Return the largest scaled error over states and variants; not a number if any is not."""
    a, b, c, d = -5.0 / 72.0 * h, h / 12.0, h / 9.0, -0.125 * h
    errors = [
        (a * p + b * q + c * r + d * s) * scale
        for p, q, r, s, scale in zip(*ks, scales, strict=True)
    ]
    if ops_of(*errors) is FLOATS:
        sizes: list[float] = [abs(error) for error in errors]
    else:
        sizes = [float(np.max(np.abs(error))) for error in errors]
    # The largest of a list with a not-a-number in it depends on the order; the sum does not.
    total: float = sum(sizes)
    return total if total != total else max(sizes)


def _step(
    rates: Rates, x: float, h: float, end: float, y: State, k1: State
) -> tuple[State, tuple[State, State, State, State]]:
    """Return the third-order state after a step that ends at `end`, and its four slopes."""
    h2, h3 = 0.5 * h, 0.75 * h
    k2 = rates(x + h2, [u + h2 * k for u, k in zip(y, k1, strict=True)])
    k3 = rates(x + h3, [u + h3 * k for u, k in zip(y, k2, strict=True)])
    a, b, c = h * (2.0 / 9.0), h / 3.0, h * (4.0 / 9.0)
    new = [u + a * p + b * q + c * r for u, p, q, r in zip(y, k1, k2, k3, strict=True)]
    return new, (k1, k2, k3, rates(end, new))


def follow(
    rates: Rates,
    state: State,
    grid: Sequence[float],
    tolerances: Sequence[float],
    *,
    project: Project,
    record: Record,
) -> Any:
    """Integrate over steps that were chosen before, and say how far each variant erred.

    Parameters
    ----------
    rates, state, tolerances, project, record
        As in :func:`advance`.
    grid : sequence of float
        Rising points from the start to the end.

    Returns
    -------
    float or ndarray
        Largest error of any step over its tolerance; one a variant. No variant's states depend
        on another's, as they do where the worst of an array sets the common step.
    """
    watched = [(i, 1.0 / t) for i, t in enumerate(tolerances) if t != float("inf")]
    y = list(state)
    k1 = rates(grid[0], y)
    worst: Any = 0.0
    if record(grid[0], y, k1):
        return worst
    for x, end in pairwise(grid):
        h = end - x
        y, ks = _step(rates, x, h, end, y, k1)
        a, b, c, d = -5.0 / 72.0 * h, h / 12.0, h / 9.0, -0.125 * h
        for i, scale in watched:
            error = a * ks[0][i] + b * ks[1][i] + c * ks[2][i] + d * ks[3][i]
            worst = np.maximum(worst, np.abs(error) * scale)
        k1 = rates(end, y) if project(end, y) else ks[3]
        if record(end, y, k1):
            break
    return worst


def require_way(tried: int, most: int, step: float, span: float) -> None:
    """Refuse to go on once too many steps were tried, or one has become too small.

    Parameters
    ----------
    tried, most : int
        Steps tried, this one too, and the most that may be.
    step, span : float
        This step, and what all of them have to cover.

    Raises
    ------
    StepError
        If there are more, or the step is below ``SMALLEST`` of the span.
    """
    if tried > most:
        raise StepError(f"{most} steps do not reach the end of the leg: something changes far "
                        "faster than the leg lasts")
    if step < SMALLEST * span:
        raise StepError(f"the step fell below {SMALLEST:g} of the leg")


def advance(
    rates: Rates,
    state: State,
    span: float,
    tolerances: Sequence[float],
    *,
    first: float,
    largest: float,
    project: Project,
    record: Record,
    most: int = MOST_STEPS,
) -> State:
    """Integrate from 0 to `span` with error control.

    Parameters
    ----------
    rates : callable
        ``rates(x, state)`` returns the derivatives, a list as long as `state`.
    state : list of float or ndarray
        Initial state; not changed.
    span : float
        End of the independent variable (seconds, or 1 for normalised time).
    tolerances : sequence of float
        Error allowed a step, in each state's unit; ``inf`` leaves a state out of the control.
    first, largest : float
        First and largest step, not below `SMALLEST` of the span.
    project : callable
        ``project(x, state)`` mends an accepted state in place (boiling, melting) and says
        whether it changed anything.
    record : callable
        ``record(x, state, slopes)`` is called at 0 and after every accepted step; true stops.
    most : int
        Most steps tried.

    Returns
    -------
    list
        The state at the end, or where `record` asked to stop.

    Raises
    ------
    StepError
        If the step falls below `SMALLEST` of the span, a rate is not a number, or `most` steps
        do not reach the end.
    """
    scales = [0.0 if t == float("inf") else 1.0 / t for t in tolerances]
    x = 0.0
    y = list(state)
    k1 = rates(x, y)
    if record(x, y, k1):
        return y
    h = min(first, largest, span)
    tried = 0
    while x < span:
        tried += 1
        h = min(h, largest)
        require_way(tried, most, h, span)
        last = x + h >= span * (1.0 - 1e-12)
        if last:
            h = span - x
        end = span if last else x + h
        try:
            new, ks = _step(rates, x, h, end, y, k1)
            error = _worst(h, ks, scales)
        except (ArithmeticError, ValueError):  # so far out that a power has no value
            h *= SHRINK
            continue
        if error <= 1.0:
            x, y = end, new
            k1 = rates(x, y) if project(x, y) else ks[3]
            if record(x, y, k1):
                return y
            h *= GROW if error == 0.0 else min(GROW, max(SHRINK, SAFETY * error ** (-1.0 / 3.0)))
        else:
            if error != error:
                raise StepError("a rate of change is not a number")
            h *= max(SHRINK, SAFETY * error ** (-1.0 / 3.0))
    return y


def table_lookup(values: Sequence[Real], x: float) -> Real:
    """Return the linear interpolation at `x` in 0..1 of values on a uniform grid.

    Parameters
    ----------
    values : sequence of float or ndarray
        Two or more values at 0, 1/n, ..., 1.
    x : float
        Position, 0 to 1.

    Returns
    -------
    float or ndarray
        The interpolated value.
    """
    n = len(values) - 1
    place = x * n
    i = int(place)
    if i >= n:
        return values[n]
    before, after = values[i], values[i + 1]
    if before is after:
        return before
    w = place - i
    return before * (1.0 - w) + after * w
