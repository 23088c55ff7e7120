"""Flow of liquid: operating point, split among branches, static pressure, suction head."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

import numpy as np

from thermo.circuit import (
    Circuit,
    SegmentFlow,
    circuit_drop,
    segment_flows,
)
from thermo.errors import InfeasibleError, RangeError
from thermo.pumps import GRAVITY, PumpCurve

Condition = Literal["on the curve", "before the first point", "past the last point", "no flow", ""]

_HALVINGS = 60
"""Halvings of the bracket of an array of operating points: 1e-18 of the curve's end."""


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where a pump and a circuit meet.

    Attributes
    ----------
    flow : float or ndarray
        Flow [m3/s].
    head : float or ndarray
        Head of the pump at that flow [m].
    condition : str
        ``on the curve``; ``before the first point`` or ``past the last point`` when the curve
        had to be continued along its tangent; ``no flow`` when the pump cannot lift the
        static head; empty for an array of variants.
    segments : tuple of SegmentFlow
        Velocity and regime in each segment, when a circuit was given.
    """

    flow: Any
    head: Any
    condition: Condition
    segments: tuple[SegmentFlow, ...] = ()


def operating_point(
    curve: PumpCurve,
    drop: Callable[[Any], Any],
    density: Any,
    static_head: Any = 0.0,
    speed_ratio: Any = 1.0,
    gravity: float = GRAVITY,
) -> OperatingPoint:
    """Flow at which the head of the pump equals static head plus drop. [poly]

    Parameters
    ----------
    curve : PumpCurve
        Curve at rated speed.
    drop : callable
        Pressure drop [Pa] for a flow [m3/s]; must not fall as the flow rises.
    density : float or ndarray
        Density [kg/m3].
    static_head : float or ndarray, optional
        Height to be lifted, plus pressure difference as head [m]; 0 in a closed loop.
    speed_ratio : float or ndarray, optional
        Speed over rated speed, above 0 [-].
    gravity : float, optional
        Acceleration of gravity [m/s2].

    Returns
    -------
    OperatingPoint
        Without segments.

    Raises
    ------
    InfeasibleError
        Nothing limits the flow: the circuit has no drop.
    """
    weight = density * gravity

    def excess(flow: Any) -> Any:
        return curve.head(flow, speed_ratio) - static_head - drop(flow) / weight

    if isinstance(excess(0.0), np.ndarray):
        found = _meeting_points(excess, curve.max_flow * speed_ratio)
        return OperatingPoint(found, curve.head(found, speed_ratio), "")
    from scipy.optimize import brentq

    if excess(0.0) <= 0.0:
        return OperatingPoint(0.0, float(curve.head(0.0, speed_ratio)), "no flow")
    low, high = 0.0, curve.max_flow * speed_ratio
    for _ in range(60):
        if excess(high) <= 0.0:
            break
        low, high = high, 2.0 * high
    else:
        raise InfeasibleError("nothing limits the flow of the pump: the circuit has no drop")
    flow = float(brentq(excess, low, high, xtol=1e-13, rtol=1e-12))
    condition: Condition = "on the curve"
    if flow > curve.max_flow * speed_ratio * (1.0 + 1e-9):
        condition = "past the last point"
    elif flow < curve.flows[0] * speed_ratio * (1.0 - 1e-9):
        condition = "before the first point"
    return OperatingPoint(flow, float(curve.head(flow, speed_ratio)), condition)


def _meeting_points(excess: Callable[[Any], Any], end: Any) -> Any:
    """Return the flow of each variant at which a falling excess of head is zero [m3/s]."""
    start = excess(0.0)
    high = end + 0.0 * start
    for _ in range(60):
        open_ = excess(high) > 0.0
        if not bool(open_.any()):
            break
        high = np.where(open_, 2.0 * high, high)
    else:
        error = InfeasibleError("nothing limits the flow of the pump: the circuit has no drop")
        error.where = open_
        raise error
    low = np.zeros(high.shape)
    high = np.where(start > 0.0, high, 0.0)
    for _ in range(_HALVINGS):
        middle = 0.5 * (low + high)
        more = excess(middle) > 0.0
        low, high = np.where(more, middle, low), np.where(more, high, middle)
    return high


def circuit_operating_point(
    circuit: Circuit,
    curve: PumpCurve,
    density: Any,
    viscosity: Any,
    temperature: Any,
    static_head: Any = 0.0,
    speed_ratio: Any = 1.0,
) -> OperatingPoint:
    """Operating point of a pump on a circuit, with velocity and regime in each segment. [poly]

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    curve : PumpCurve
        Curve at rated speed.
    density : float or ndarray
        Density [kg/m3].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].
    temperature : float or ndarray
        Temperature, handed to the devices [K].
    static_head, speed_ratio : float or ndarray, optional
        As in :func:`operating_point` [m], [-].

    Returns
    -------
    OperatingPoint
        With segments.

    Raises
    ------
    InfeasibleError
        The circuit has no drop.
    """
    point = operating_point(
        curve,
        lambda flow: circuit_drop(circuit, flow, density, viscosity, temperature),
        density, static_head, speed_ratio,
    )
    return replace(point, segments=segment_flows(circuit, point.flow, density, viscosity))


def flow_for_drop(
    drop: Callable[[float], float], target: float, guess: float = 1e-3
) -> float:
    """Flow that makes a given pressure drop.

    Parameters
    ----------
    drop : callable
        Pressure drop [Pa] for a flow [m3/s], rising from 0.
    target : float
        Pressure drop wanted, not negative [Pa].
    guess : float, optional
        Flow from which the search widens, above 0 [m3/s].

    Returns
    -------
    float
        Flow [m3/s].

    Raises
    ------
    InfeasibleError
        The drop stays under the target at any flow.
    """
    from scipy.optimize import brentq

    if target <= 0.0:
        return 0.0
    low, high = 0.0, guess
    for _ in range(100):
        if drop(high) >= target:
            return float(brentq(lambda q: drop(q) - target, low, high, xtol=1e-14, rtol=1e-12))
        low, high = high, 2.0 * high
    raise InfeasibleError(f"the pressure drop never reaches {target:.6g} Pa", best=drop(high))


@dataclass(frozen=True, slots=True)
class Split:
    """Flow shared by parallel branches.

    Attributes
    ----------
    drop : float
        Pressure drop common to the branches [Pa].
    flows : tuple of float
        Flow in each branch [m3/s].
    """

    drop: float
    flows: tuple[float, ...]


def parallel_split(total: float, branches: Sequence[Callable[[float], float]]) -> Split:
    """Share a flow among parallel branches so that all have the same drop.

    Parameters
    ----------
    total : float
        Flow to be shared, above 0 [m3/s].
    branches : sequence of callable
        Pressure drop [Pa] of each branch for its flow [m3/s], rising from 0.

    Returns
    -------
    Split
        Common drop and the flows, which sum to `total` within 1e-9.

    Raises
    ------
    RangeError
        `total` is not above 0.
    InfeasibleError
        A branch has no drop, so the split is not determined.
    """
    from scipy.optimize import brentq

    if not total > 0.0:
        raise RangeError("flow to be shared", total, 0.0, math.inf, "m3/s")
    alone = [drop(total) for drop in branches]
    if not alone or min(alone) <= 0.0:
        raise InfeasibleError("a parallel branch has no pressure drop: the split is not determined")

    def flows_at(common: float) -> tuple[float, ...]:
        return tuple(flow_for_drop(drop, common, total) for drop in branches)

    # At the least drop any branch makes alone, that branch takes the whole flow or more.
    common = float(
        brentq(lambda p: sum(flows_at(p)) - total, 0.0, min(alone) * (1.0 + 1e-9), rtol=1e-12)
    )
    return Split(common, flows_at(common))


def npsh_available(
    surface_pressure: Any,
    vapour_pressure: Any,
    density: Any,
    height: Any,
    loss: Any,
    gravity: float = GRAVITY,
) -> Any:
    """Net positive suction head available at a pump.

    Parameters
    ----------
    surface_pressure : float or ndarray
        Absolute pressure on the liquid surface [Pa].
    vapour_pressure : float or ndarray
        Vapour pressure at the pump [Pa].
    density : float or ndarray
        Density [kg/m3].
    height : float or ndarray
        Surface above the pump; negative when the pump must lift [m].
    loss : float or ndarray
        Pressure drop of the suction line at the flow [Pa].
    gravity : float, optional
        Acceleration of gravity [m/s2].

    Returns
    -------
    float or ndarray
        Net positive suction head available [m].

    References
    ----------
    Crane TP-410, chapter 5; Cengel & Cimbala, Fluid Mechanics, section 14-2.
    """
    return (surface_pressure - vapour_pressure - loss) / (density * gravity) + height
