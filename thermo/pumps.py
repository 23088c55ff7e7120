"""Pump curves: head against flow, speed by the affinity laws, power."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.errors import RangeError, SoakboxError
from thermo.ops import ARRAYS, ops_of, within

GRAVITY = 9.80665
"""Standard acceleration of gravity [m/s2]."""

_Cubic = tuple[float, float, float, float]


class PumpError(SoakboxError):
    """The points of a pump curve cannot be used."""


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """Head of a pump against flow, never rising; made by :func:`pump_curve`.

    Attributes
    ----------
    flows : tuple of float
        Flows of the points, strictly rising [m3/s].
    heads : tuple of float
        Heads of the points [m].
    cubics : tuple of 4-tuples of float
        Coefficients of each piece in ``flow - breaks[i]``, highest power first.
    breaks : tuple of float
        Flow at which each piece begins, and the end of the last one [m3/s].
    rated : float
        Voltage or speed at which the points hold [V or rpm].
    """

    flows: tuple[float, ...]
    heads: tuple[float, ...]
    cubics: tuple[_Cubic, ...]
    breaks: tuple[float, ...]
    rated: float

    @property
    def max_flow(self) -> float:
        """Flow of the last point [m3/s]."""
        return self.flows[-1]

    def head(self, flow: Any, speed_ratio: Any = 1.0) -> Any:
        """Head at a flow and a speed, by the affinity laws.

        Parameters
        ----------
        flow : float or ndarray
            Flow [m3/s]. Before the first and past the last point the curve goes on along its
            tangent; :func:`thermo.hydraulics.operating_point` says when that was used.
        speed_ratio : float or ndarray, optional
            Speed over rated speed, above 0 [-]; flow goes with it, head with its square.

        Returns
        -------
        float or ndarray
            Head [m]; negative past the flow at which the pump begins to obstruct.
        """
        xp = ops_of(flow, speed_ratio)
        q = flow / speed_ratio
        low, high = self.breaks[0], self.breaks[-1]
        inside = xp.minimum(xp.maximum(q, low), high)
        if xp is ARRAYS:
            i = np.searchsorted(self.breaks[1:-1], inside, side="right")
            c3, c2, c1, c0 = np.array(self.cubics)[i].T
            start = np.array(self.breaks)[i]
        else:
            i = bisect_right(self.breaks, inside, 1, len(self.cubics)) - 1
            c3, c2, c1, c0 = self.cubics[i]
            start = self.breaks[i]
        x = inside - start
        slope = c1 + x * (2.0 * c2 + 3.0 * c3 * x)
        value = c0 + x * (c1 + x * (c2 + x * c3)) + slope * (q - inside)
        return value * speed_ratio * speed_ratio

    def at(self, speed_ratio: float) -> PumpCurve:
        """Curve at another speed.

        Parameters
        ----------
        speed_ratio : float
            Speed over rated speed, 0.05 to 3 [-]. For a brushed motor it is the ratio of
            the volts at the pump to the rated volts (common practice).

        Returns
        -------
        PumpCurve
            Flows times the ratio; heads times its square.

        Raises
        ------
        RangeError
            The ratio is out of range.

        References
        ----------
        Affinity laws at equal diameter (Crane TP-410, chapter 5).
        """
        if not 0.05 <= speed_ratio <= 3.0:
            raise RangeError("speed over rated speed of a pump", speed_ratio, 0.05, 3.0)
        n, square = speed_ratio, speed_ratio * speed_ratio
        return PumpCurve(
            flows=tuple(q * n for q in self.flows),
            heads=tuple(h * square for h in self.heads),
            cubics=tuple((c3 / n, c2, c1 * n, c0 * square) for c3, c2, c1, c0 in self.cubics),
            breaks=tuple(q * n for q in self.breaks),
            rated=self.rated * n,
        )


def pump_curve(
    points: Sequence[tuple[float, float]],
    rated: float = 1.0,
) -> PumpCurve:
    """Make a pump curve from points.

    Two points, the first at zero flow, give the parabola ``H0 - (H0 - H1)(Q/Q1)^2``. Three
    give the parabola through them when it falls all the way. Otherwise the curve is a
    piecewise cubic that passes through the points and cannot overshoot.

    Parameters
    ----------
    points : sequence of (float, float)
        Flow [m3/s], rising, and head [m], never rising and lower at the last point than before.
    rated : float, optional
        Voltage or speed at which the points hold, above 0 [V or rpm].

    Returns
    -------
    PumpCurve
        The curve.

    Raises
    ------
    PumpError
        Too few points, a number that is not finite or negative, flows that do not rise, or a
        head that rises with flow: on a rising stretch the operating point is not unique.

    References
    ----------
    Fritsch & Butland (1984), monotone piecewise cubics; two-point parabola: common practice.
    """
    flows, heads = _checked(points)
    if not (math.isfinite(rated) and rated > 0.0):
        raise PumpError(f"rated voltage or speed of the pump must be above 0, given {rated:.6g}")
    curve = _parabola(flows, heads)
    if curve is None:
        breaks, cubics = flows, _monotone_cubics(flows, heads)
    else:
        breaks, cubics = (flows[0], flows[-1]), (curve,)
    return PumpCurve(flows, heads, cubics, breaks, rated)


def _checked(
    points: Sequence[tuple[float, float]],
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return flows and heads of usable points."""
    if len(points) < 2:
        raise PumpError(f"a pump curve needs at least two points, given {len(points)}")
    flows, heads = zip(*((float(q), float(h)) for q, h in points), strict=True)
    if not all(math.isfinite(v) and v >= 0.0 for v in flows + heads):
        raise PumpError("flows and heads of a pump curve must be finite and not negative")
    if len(points) == 2 and flows[0] != 0.0:
        raise PumpError("a pump curve of two points must begin with the head at zero flow")
    for i in range(1, len(flows)):
        if flows[i] <= flows[i - 1]:
            raise PumpError(
                f"flows of a pump curve must rise: {flows[i]:.6g} after {flows[i - 1]:.6g} m3/s"
            )
        if heads[i] > heads[i - 1]:
            raise PumpError(
                f"the head rises from {heads[i - 1]:.6g} to {heads[i]:.6g} m at {flows[i]:.6g} "
                "m3/s: give the falling part of the pump curve only"
            )
    if heads[-1] == heads[-2]:
        raise PumpError("the head must fall to the last point of a pump curve")
    return flows, heads


def _parabola(flows: tuple[float, ...], heads: tuple[float, ...]) -> _Cubic | None:
    """Parabola through two or three points in ``Q - Q0``, or None where it does not fall."""
    q = flows[-1] - flows[0]
    if len(flows) == 2:
        return (0.0, (heads[1] - heads[0]) / (q * q), 0.0, heads[0])
    if len(flows) > 3:
        return None
    first = (heads[1] - heads[0]) / (flows[1] - flows[0])
    second = (heads[2] - heads[1]) / (flows[2] - flows[1])
    c2 = (second - first) / q
    c1 = first - c2 * (flows[1] - flows[0])
    steepest = max(abs(first), abs(second))
    if c1 > 1e-9 * steepest or c1 + 2.0 * c2 * q >= 0.0:
        return None
    return (0.0, c2, min(c1, 0.0), heads[0])


def _monotone_cubics(flows: tuple[float, ...], heads: tuple[float, ...]) -> tuple[_Cubic, ...]:
    """Monotone piecewise cubic by Fritsch and Butland's slopes."""
    h = np.diff(flows)
    d = np.diff(heads) / h
    slopes = np.zeros(len(flows))
    for i in range(1, len(flows) - 1):
        if d[i - 1] * d[i] > 0.0:
            w1, w2 = 2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]
            slopes[i] = (w1 + w2) / (w1 / d[i - 1] + w2 / d[i])
    slopes[0] = _end_slope(h[0], h[1], d[0], d[1])
    slopes[-1] = _end_slope(h[-1], h[-2], d[-1], d[-2])
    c2 = (3.0 * d - 2.0 * slopes[:-1] - slopes[1:]) / h
    c3 = (slopes[:-1] + slopes[1:] - 2.0 * d) / (h * h)
    rows = zip(c3.tolist(), c2.tolist(), slopes[:-1].tolist(), heads, strict=False)
    return tuple(rows)


def _end_slope(h0: float, h1: float, d0: float, d1: float) -> float:
    """Three-point slope at an end, kept within what leaves the piece monotone."""
    slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0.0:
        return 0.0
    if d0 * d1 <= 0.0 and abs(slope) > 3.0 * abs(d0):
        return 3.0 * d0
    return slope


def hydraulic_power(density: Any, flow: Any, head: Any, gravity: float = GRAVITY) -> Any:
    """Power put into the liquid.

    Parameters
    ----------
    density : float or ndarray
        Density [kg/m3].
    flow : float or ndarray
        Flow [m3/s].
    head : float or ndarray
        Head [m].
    gravity : float, optional
        Acceleration of gravity [m/s2].

    Returns
    -------
    float or ndarray
        ``rho g Q H`` [W].
    """
    return density * gravity * flow * head


def shaft_power(hydraulic: Any, efficiency: Any) -> Any:
    """Power taken by the pump, or by its motor, for a hydraulic power.

    Parameters
    ----------
    hydraulic : float or ndarray
        Hydraulic power [W].
    efficiency : float or ndarray
        Efficiency of the pump, or of pump and motor together, above 0 and up to 1 [-].

    Returns
    -------
    float or ndarray
        Power [W].

    Raises
    ------
    RangeError
        The efficiency is out of range.
    """
    within("efficiency of a pump", efficiency, 0.0, 1.0, open_low=True)
    return hydraulic / efficiency
