"""The rest of a leg in which something changes far faster than the leg lasts, by implicit steps.

A line that holds a second's flow lets the explicit pair of :mod:`thermo.stepping` take steps of
two seconds at most, for as many hours as the pumps run. Here the linearly implicit Euler step is
taken whole and in two halves and extrapolated, which is of second order whatever the Jacobian it
is given, and damps what is fast (Deuflhard, Recent progress in extrapolation methods for ordinary
differential equations, SIAM Review 27 (1985) 505-535; from memory). For floats only.

Solvers of scipy hold a history or a predictor of their own; here the state is mended after every
step, where water boils or ice melts, and the step after it begins from what was mended.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from thermo.stepping import (
    SAFETY,
    SHRINK,
    Project,
    Rates,
    Record,
    State,
    StepError,
    require_way,
)

FRESH = 8
"""Steps for which one Jacobian serves."""

GROW_FROM, GROW = 1.5, 4.0
"""A step grows by the first of these or more at a time, and by the second at most: the matrices
of a step serve the next as long as it is as long."""

NUDGE = 1e-6
"""Share of a state by which it is moved for the Jacobian; at least by its tolerance, or this of
1000 where it has none."""

MOST_STEPS = 20000
"""Most steps of a leg: a day in steps of 5 s has 17,280."""

Floats = npt.NDArray[np.float64]


def go_on(
    rates: Rates,
    x: float,
    state: State,
    span: float,
    tolerances: Sequence[float],
    *,
    first: float,
    largest: float,
    project: Project,
    record: Record,
) -> State:
    """Integrate from `x` to `span` with error control.

    Parameters
    ----------
    rates, state, span, tolerances, first, largest, project
        As in :func:`thermo.stepping.advance`, for floats.
    x : float
        Where to begin.
    record : callable
        ``record(x, state, slopes)`` after every accepted step, with the mean slopes over the
        step: those at its end would swing with the least error of what is fast. True stops.

    Returns
    -------
    list
        The state at the end, or where `record` asked to stop.

    Raises
    ------
    StepError
        If the step falls below ``SMALLEST`` of the span, a rate is not a number, or
        ``MOST_STEPS`` steps do not reach the end.
    """
    scales = np.array([0.0 if t == math.inf else 1.0 / t for t in tolerances])
    nudges = [1e3 * NUDGE if t == math.inf else t for t in tolerances]
    y = np.array(state, dtype=np.float64)
    h, age, tried = first, FRESH, 0
    whole = half = slope = np.empty(0)
    while x < span:
        tried += 1
        require_way(tried, MOST_STEPS, h, span)
        last = x + h >= span * (1.0 - 1e-12)
        end = span if last else x + h
        if age >= FRESH:
            slope, age = _jacobian(rates, x, y, nudges), 0
            whole = np.empty(0)
        if not whole.size or last:
            h = end - x
            whole, half = _inverse(slope, h), _inverse(slope, 0.5 * h)
        try:
            new, error = _step(rates, (x, end), y, (whole, half), scales)
        except (ArithmeticError, ValueError):  # so far out that a power has no value
            new, error = y, math.inf
        if error != error:
            raise StepError("a rate of change is not a number")
        factor = SAFETY * max(error, 1e-4) ** -0.5
        if error > 1.0:
            h, age, whole = h * max(SHRINK, factor), FRESH, np.empty(0)
            continue
        mended: State = new.tolist()
        slopes: State = ((new - y) / (end - x)).tolist()
        x, age = end, age + 1
        project(x, mended)
        y = np.array(mended)
        if record(x, mended, slopes):
            break
        if factor < 1.0 or (factor > GROW_FROM and h < largest):
            h, whole = min(h * min(GROW, factor), largest), np.empty(0)
    out: State = y.tolist()
    return out


def _step(
    rates: Rates, span: tuple[float, float], y: Floats, inverses: tuple[Floats, Floats],
    scales: Floats,
) -> tuple[Floats, float]:
    """Return the state after a step, and its largest error over the tolerance."""
    x, end = span
    h, begun = end - x, y.tolist()
    once = y + h * (inverses[0] @ np.array(rates(end, begun)))
    middle = y + 0.5 * h * (inverses[1] @ np.array(rates(x + 0.5 * h, begun)))
    twice = middle + 0.5 * h * (inverses[1] @ np.array(rates(end, middle.tolist())))
    return 2.0 * twice - once, float(np.max(np.abs(twice - once) * scales))


def _jacobian(rates: Rates, x: float, y: Floats, nudges: Sequence[float]) -> Floats:
    """Return the slope of every rate with every state, by forward differences."""
    base = np.array(rates(x, y.tolist()))
    out = np.empty((len(y), len(y)))
    for i, value in enumerate(y.tolist()):
        nudge = max(NUDGE * abs(value), nudges[i])
        moved = y.tolist()
        moved[i] = value + nudge
        out[:, i] = (np.array(rates(x, moved)) - base) / nudge
    return out


def _inverse(slope: Floats, h: float) -> Floats:
    """Return the inverse of the unit matrix less `h` times the Jacobian."""
    try:
        return np.asarray(np.linalg.inv(np.eye(len(slope)) - h * slope))
    except np.linalg.LinAlgError:
        raise StepError("a rate of change is not a number") from None
