"""The flow that each loop really gets: pump curve, volts and line, or the figure given."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.circuit import Circuit, Device, Segment, SegmentFlow, circuit_drop, segment_flows
from thermo.conductance import Conductance
from thermo.errors import about
from thermo.fittings import fitting_loss
from thermo.hydraulics import OperatingPoint, circuit_operating_point
from thermo.inputs.loops import Line, Pump
from thermo.liquids import Liquid
from thermo.ops import Real, ops_of
from thermo.pumps import PumpCurve, hydraulic_power, pump_curve, shaft_power

HOTTEST = 368.15
"""Upper end of the temperatures at which the operating point is found [K]."""


@dataclass(frozen=True, slots=True)
class LoopFlow:
    """Flow, pressure and power of one loop with its pump running.

    Attributes
    ----------
    circuit : Circuit
        Lines and exchanger side in the order of the flow.
    flow_at : callable
        Flow [m3/s] with liquid of a given temperature [K].
    flow : float or ndarray
        Flow at the starting temperature [m3/s].
    drop : float or ndarray
        Pressure drop around the loop at that flow [Pa].
    head : float or ndarray
        Head of the pump there [m]; that of the drop where no curve was given.
    power : float or ndarray
        Shaft work that ends in the liquid [W].
    from_curve : bool
        Whether a pump curve was given.
    condition : str
        Where on its curve the pump works; empty for an array of variants.
    off_curve : bool or ndarray of bool
        Whether the pump works off the ends of its curve.
    segments : tuple of SegmentFlow
        Velocity and regime in each run.
    pump : Pump or None
    """

    circuit: Circuit
    flow_at: Callable[[Real], Real]
    flow: Any
    drop: Any
    head: Any
    power: Any
    from_curve: bool
    condition: str
    segments: tuple[SegmentFlow, ...]
    pump: Pump | None
    off_curve: Any = False


def segment_of(line: Line, name: str, extra_k: float = 0.0) -> Segment:
    """Return a line of the scenario as a segment of a circuit.

    Parameters
    ----------
    line : Line
    name : str
    extra_k : float
        Further loss coefficient, such as a restrictor's.

    Returns
    -------
    Segment

    Raises
    ------
    RangeError
        If rise or roughness do not suit length and bore.
    ValueError
        If a fitting is unknown; the message lists near names.
    """
    k = line.minor_k + extra_k + sum(fitting_loss(f) for f in line.fittings)
    return Segment(name, line.length, line.bore, line.roughness, k, line.rise, line.parallel)


def cold_circuit(supply: Line, back: Line, exchanger: Conductance, liquid: Liquid) -> Circuit:
    """Return the tank loop: supply line, exchanger, return line."""
    with about("loop.supply"):
        there = segment_of(supply, "supply line")
    with about("loop.return"):
        again = segment_of(back, "return line")
    through = Device("exchanger", lambda m, t: exchanger.cold_drop(m, liquid, t))
    return Circuit((there, through, again))


def hot_circuit(line: Line, restrictor_k: float, exchanger: Conductance, liquid: Liquid) -> Circuit:
    """Return the engine loop: hot lines with restrictor, exchanger; the jacket's drop is in K."""
    with about("coolant.line"):
        lines = segment_of(line, "hot lines", restrictor_k)
    return Circuit(
        (
            lines,
            Device("exchanger", lambda m, t: exchanger.hot_drop(m, liquid, t)),
        )
    )


def _quadratic(
    x: tuple[Real, Real, Real], y: tuple[Real, Real, Real]
) -> Callable[[Real], Real]:
    """Return the parabola through three points (divided differences)."""
    d1 = (y[1] - y[0]) / (x[1] - x[0])
    d2 = ((y[2] - y[1]) / (x[2] - x[1]) - d1) / (x[2] - x[0])
    x0, x1, y0 = x[0], x[1], y[0]

    def value(t: Real) -> Real:
        return y0 + (t - x0) * (d1 + (t - x1) * d2)

    return value


def given_flow(circuit: Circuit, flow: Real, liquid: Liquid, start: Real) -> LoopFlow:
    """Return a loop whose flow was given, with what pressure that takes. [poly]

    Parameters
    ----------
    circuit : Circuit
    flow : float or ndarray
        [m3/s].
    liquid : Liquid
    start : float or ndarray
        Temperature at the start [K].

    Returns
    -------
    LoopFlow
    """
    rho, mu = liquid.density(start), liquid.viscosity(start)
    moving = bool(np.any(np.asarray(flow) > 0.0))
    drop = circuit_drop(circuit, flow, rho, mu, start) if moving else 0.0
    head = drop / (rho * 9.80665)
    return LoopFlow(
        circuit,
        lambda _t: flow,
        flow,
        drop,
        head,
        flow * drop,
        False,
        "given",
        segment_flows(circuit, flow, rho, mu),
        None,
    )


def pumped_flow(
    circuit: Circuit, pump: Pump, voltage: Real, liquid: Liquid, start: Real
) -> LoopFlow:
    """Return a loop driven by a pump with a curve. [poly]

    Parameters
    ----------
    circuit : Circuit
    pump : Pump
        Curve at rated volts; flow goes with volts, head with their square.
    voltage : float or ndarray
        At the pump [V].
    liquid : Liquid
    start : float or ndarray
        Temperature at the start [K].

    Returns
    -------
    LoopFlow
        The operating point is found at three temperatures from `start` to 95 degC; between and
        a little beyond them flow is a parabola in temperature (viscosity moves it by a few per
        cent; the parabola is within 0.5 % of the operating point, tested).

    Raises
    ------
    InfeasibleError
        If nothing limits the flow.
    PumpError
        If the curve rises or has too few points.
    """
    curve = pump_curve(pump.curve)
    ratio = voltage / pump.rated_voltage
    low = ops_of(start).minimum(start, HOTTEST - 20.0)
    nodes = (low, 0.5 * (low + HOTTEST), HOTTEST)

    def point_at(t: Real) -> OperatingPoint:
        return circuit_operating_point(
            circuit,
            curve,
            liquid.density(t),
            liquid.viscosity(t),
            t,
            speed_ratio=ratio,
        )

    points = [point_at(t) for t in nodes]
    flows = (points[0].flow, points[1].flow, points[2].flow)
    at_start = points[0]
    rho = liquid.density(low)
    power = shaft_power(hydraulic_power(rho, at_start.flow, at_start.head), pump.efficiency)
    return LoopFlow(
        circuit,
        _quadratic(nodes, flows),
        at_start.flow,
        at_start.head * rho * 9.80665,
        at_start.head,
        power,
        True,
        at_start.condition,
        at_start.segments,
        pump,
        _off_curve(at_start, curve, ratio),
    )


def _off_curve(point: OperatingPoint, curve: PumpCurve, ratio: Any) -> Any:
    """Say whether a pump works before the first or past the last point of its curve."""
    ends = curve.max_flow * ratio * (1.0 + 1e-9), curve.flows[0] * ratio * (1.0 - 1e-9)
    return (point.flow > ends[0]) | (point.flow < ends[1]) | (point.flow == 0.0)


def line_cell_mass(
    line: Line, extra_volume: Real, liquid: Liquid, start: Real, cells: int
) -> Real:
    """Return the liquid in one cell of a line [kg]; never less than 20 g, for the step size."""
    volume = 0.25 * math.pi * line.bore**2 * line.length * line.parallel + extra_volume
    mass = liquid.density(start) * volume / cells
    return ops_of(mass).maximum(mass, 0.02)  # type: ignore[no-any-return]
