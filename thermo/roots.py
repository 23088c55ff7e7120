"""Every crossing of zero on a scan, refined on the function itself."""

from __future__ import annotations

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


def crossings(
    x: Sequence[float] | npt.NDArray[np.float64],
    y: Sequence[float] | npt.NDArray[np.float64],
    f: Callable[[float], float],
    tolerance: float = 1e-9,
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
            at = _refine(f, float(points[i]), float(points[i + 1]), values[i], values[i + 1],
                         tolerance * float(points[-1] - points[0]))
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
