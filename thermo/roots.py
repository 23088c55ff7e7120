"""Every crossing of zero on a scan, refined on the function itself."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from thermo.errors import InfeasibleError, RangeError


@dataclass(frozen=True, slots=True)
class Crossing:
    """One place where a function meets zero.

    Attributes
    ----------
    at : float
        Place, in the unit of the scanned quantity.
    direction : int
        1 where the function rises through zero, -1 where it falls, 0 where it only touches.
    """

    at: float
    direction: int


Refine = Callable[[Callable[[float], float], float, float, float, float, float], float]
"""From a function, two points of opposite sign, its values there and a width, to a root."""

CLOSE = 1e-5
"""Distance from a root at which :func:`held_side` is content, as a share of the root."""


def crossings(
    x: Sequence[float] | npt.NDArray[np.float64],
    y: Sequence[float] | npt.NDArray[np.float64],
    f: Callable[[float], float],
    tolerance: float = 1e-9,
    refine: Refine | None = None,
) -> tuple[Crossing, ...]:
    """Return all crossings of zero that a scan brackets, each refined on the function.

    Parameters
    ----------
    x : sequence of float, shape (n,)
        Scan points, strictly rising, at least two.
    y : sequence of float, shape (n,)
        The function at the scan points; NaN where it has no value. No crossing is sought in an
        interval with such an end.
    f : callable
        The function, called with a float between two scan points.
    tolerance : float, optional
        Width of the bracket at the end, as a share of the scan's span [-].
    refine : callable, optional
        How a bracket is refined: :func:`held_side`, or Brent's method when not given.

    Returns
    -------
    tuple of Crossing
        In rising order. A pair of crossings closer together than the scan's step is missed:
        the step is the resolution of the answer.

    Raises
    ------
    RangeError
        Fewer than two points, lengths that differ, or points that do not rise.
    InfeasibleError
        The function has no value (NaN) between two points of opposite sign.

    Notes
    -----
    Brent (1973), Algorithms for Minimization without Derivatives, ch. 4, from SciPy.
    """
    points = np.asarray(x, dtype=np.float64)
    values = np.asarray(y, dtype=np.float64)
    if points.size < 2 or points.shape != values.shape:
        raise RangeError("points of the scan", float(points.size), 2.0, np.inf)
    steps = np.diff(points)
    if not np.all(steps > 0.0):
        raise RangeError("step of the scan", float(np.min(steps)), 0.0, np.inf)
    found: list[Crossing] = []
    sign = np.sign(values)
    last = len(points) - 1
    for i in range(last + 1):
        if sign[i] == 0.0:
            found.append(Crossing(float(points[i]), _direction(sign, i, last)))
        elif i < last and sign[i] * sign[i + 1] < 0.0:
            at = (refine or _refine)(
                f, float(points[i]), float(points[i + 1]), float(values[i]), float(values[i + 1]),
                tolerance * float(points[-1] - points[0]),
            )
            found.append(Crossing(at, int(sign[i + 1])))
    return tuple(found)


def _direction(sign: npt.NDArray[np.float64], i: int, last: int) -> int:
    """Return the direction at a scan point that is exactly zero, from its neighbours' signs."""
    before = sign[i - 1] if i > 0 else 0.0
    after = sign[i + 1] if i < last else 0.0
    if np.isnan(before) or np.isnan(after):
        return 0
    if before == after:
        return 0
    return 1 if after > before else -1


def _refine(
    f: Callable[[float], float], low: float, high: float, at_low: float, at_high: float,
    width: float,
) -> float:
    """Return the root between two points of opposite sign; the end values are not recomputed."""
    from scipy.optimize import brentq

    known = {low: float(at_low), high: float(at_high)}

    def value(at: float) -> float:
        result = known[at] if at in known else float(f(at))
        if np.isnan(result):
            raise InfeasibleError(
                f"no value at {at:.6g}, between {low:.6g} and {high:.6g} where the sign changes"
            )
        return result

    return float(brentq(value, low, high, xtol=width, rtol=8.9e-16))


def held_side(
    f: Callable[[float], float], low: float, high: float, at_low: float, at_high: float,
    width: float,
) -> float:
    """Return a point beside a root, on the side on which the function is not negative.

    Parameters
    ----------
    f : callable
        Costly: it is called as seldom as may be.
    low, high : float
        Ends of a bracket.
    at_low, at_high : float
        The function there, of opposite sign; one of them may be a large number that only says
        that the function is negative.
    width : float
        Width of the bracket at which the search ends in any case.

    Returns
    -------
    float
        Within `width`, or a share `CLOSE` of itself, of the place where the sign changes. The
        function may jump there: then it is the last point found that still holds.

    Notes
    -----
    Inverse quadratic interpolation or the middle of the bracket, by the rule of Chandrupatla
    (1997), Adv. Eng. Software 28, 145 (from memory); the first point by regula falsi, and each a
    small share to the side that holds.
    """
    new, old, before = (low, at_low), (high, at_high), (high, at_high)
    side = (low if at_low >= 0.0 else high) - (low if at_low < 0.0 else high)
    share = at_low / (at_low - at_high)
    while True:
        span = old[0] - new[0]
        at = new[0] + share * span
        at += math.copysign(0.3 * CLOSE * abs(at), side)
        if not min(new[0], old[0]) < at < max(new[0], old[0]):
            at = new[0] + 0.5 * span
        value = f(at)
        if (value >= 0.0) == (new[1] >= 0.0):
            before = new
        else:
            before, old = old, new
        new = (at, value)
        good, bad = (new, old) if value >= 0.0 else (old, new)
        slope = (new[1] - before[1]) / (new[0] - before[0])
        near = slope != 0.0 and abs(value / slope) <= CLOSE * abs(at)
        if (value >= 0.0 and near) or abs(good[0] - bad[0]) <= max(width, CLOSE * abs(at)):
            return good[0]
        share = _inverse_quadratic(new, old, before)


def _inverse_quadratic(
    new: tuple[float, float], old: tuple[float, float], before: tuple[float, float]
) -> float:
    """Return where between two points to look next, as a share of their distance."""
    (x1, f1), (x2, f2), (x3, f3) = new, old, before
    if f3 in (f1, f2):
        return 0.5
    xi, phi = (x1 - x2) / (x3 - x2), (f1 - f2) / (f3 - f2)
    if phi**2 < xi and (1.0 - phi) ** 2 < 1.0 - xi:
        return f1 / (f2 - f1) * f3 / (f2 - f3) + (x3 - x1) / (x2 - x1) * f1 / (f3 - f1) * f2 / (
            f3 - f2
        )
    return 0.5
