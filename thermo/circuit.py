"""A liquid circuit: segments of line and devices, their pressure drop, velocity and regime.

A circuit is a row of segments and of devices such as an exchanger, in the order of the flow. A
pump may stand in a pressure profile as a device whose drop is negative.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.friction import darcy_weisbach, flow_regime, friction_factor, reynolds
from thermo.ops import within


@dataclass(frozen=True, slots=True)
class Segment:
    """A run of line of one bore, or several equal lines side by side.

    Attributes
    ----------
    name : str
        Name for messages.
    length : float or ndarray
        Length of one line [m].
    bore : float or ndarray
        Inner diameter [m].
    roughness : float or ndarray
        Equivalent sand-grain roughness, up to 0.05 of the bore [m].
    k : float or ndarray
        Sum of the loss coefficients of the fittings in one line [-].
    rise : float or ndarray
        Height of the end above the beginning, between -`length` and `length` [m].
    count : int
        Number of equal lines that share the flow, 1 or more.

    Raises
    ------
    RangeError
        A value is out of range.
    """

    name: str
    length: Any
    bore: Any
    roughness: Any
    k: Any = 0.0
    rise: Any = 0.0
    count: int = 1

    def __post_init__(self) -> None:
        checks = (
            ("length", self.length, 0.0, math.inf, "m"),
            ("bore", self.bore, 1e-4, math.inf, "m"),
            ("roughness", self.roughness, 0.0, 0.05 * self.bore, "m"),
            ("loss coefficient", self.k, 0.0, math.inf, ""),
            ("rise", self.rise, -self.length, self.length, "m"),
            ("number of lines", self.count, 1, math.inf, ""),
        )
        for what, value, low, high, unit in checks:
            within(f"{what} of {self.name}", value, low, high, unit)

    @property
    def area(self) -> Any:
        """Flow area of all its lines together [m2]."""
        return self.count * 0.25 * math.pi * self.bore * self.bore

    @property
    def volume(self) -> Any:
        """Liquid held in all its lines together [m3]."""
        return self.area * self.length


@dataclass(frozen=True, slots=True)
class Device:
    """Something in the circuit that states its own pressure drop.

    Attributes
    ----------
    name : str
        Name for messages.
    drop : callable
        Pressure drop [Pa] for a mass flow [kg/s] and a temperature [K].
    volume : float
        Liquid held [m3].
    """

    name: str
    drop: Callable[[Any, Any], Any]
    volume: float = 0.0


@dataclass(frozen=True, slots=True)
class Circuit:
    """Segments and devices in the order of the flow.

    Attributes
    ----------
    parts : tuple of Segment or Device
        The parts.
    """

    parts: tuple[Segment | Device, ...]

    @property
    def volume(self) -> float:
        """Liquid held in all parts [m3]."""
        return sum(part.volume for part in self.parts)

    @property
    def segments(self) -> tuple[Segment, ...]:
        """The segments of line, without the devices."""
        return tuple(part for part in self.parts if isinstance(part, Segment))


def segment_drop(segment: Segment, flow: Any, density: Any, viscosity: Any) -> Any:
    """Pressure drop of a segment by friction and fittings, without its rise.

    Parameters
    ----------
    segment : Segment
        The segment.
    flow : float or ndarray
        Flow through all its lines together, not negative [m3/s].
    density : float or ndarray
        Density [kg/m3].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].

    Returns
    -------
    float or ndarray
        Pressure drop [Pa].

    References
    ----------
    Darcy-Weisbach with :func:`thermo.friction.friction_factor`, and ``K rho V^2 / 2``.
    """
    bore = segment.bore
    velocity = flow / segment.area
    re = reynolds(density, velocity, bore, viscosity)
    f = friction_factor(re, segment.roughness / bore)
    friction = darcy_weisbach(f, segment.length, bore, density, velocity)
    return friction + segment.k * 0.5 * density * velocity * velocity


def circuit_drop(
    circuit: Circuit, flow: Any, density: Any, viscosity: Any, temperature: Any
) -> Any:
    """Pressure drop round a circuit, without static head.

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    flow : float or ndarray
        Flow, not negative [m3/s].
    density : float or ndarray
        Density [kg/m3].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].
    temperature : float or ndarray
        Temperature, handed to the devices [K].

    Returns
    -------
    float or ndarray
        Pressure drop [Pa].
    """
    total: Any = 0.0
    mass_flow = flow * density
    for part in circuit.parts:
        if isinstance(part, Segment):
            total = total + segment_drop(part, flow, density, viscosity)
        else:
            total = total + part.drop(mass_flow, temperature)
    return total


@dataclass(frozen=True, slots=True)
class SegmentFlow:
    """How the liquid moves in one segment.

    Attributes
    ----------
    name : str
        Name of the segment.
    velocity : float or ndarray
        Mean velocity [m/s].
    reynolds : float or ndarray
        Reynolds number [-].
    regime : str
        ``laminar``, ``transition`` or ``turbulent``; empty for an array of variants.
    """

    name: str
    velocity: Any
    reynolds: Any
    regime: str


def segment_flows(
    circuit: Circuit, flow: Any, density: Any, viscosity: Any
) -> tuple[SegmentFlow, ...]:
    """Velocity and regime in each segment. [poly]

    Parameters
    ----------
    circuit : Circuit
        The circuit.
    flow : float or ndarray
        Flow, not negative [m3/s].
    density : float or ndarray
        Density [kg/m3].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].

    Returns
    -------
    tuple of SegmentFlow
        One for each segment, in order.
    """
    rows = []
    for segment in circuit.segments:
        velocity = flow / segment.area
        re = reynolds(density, velocity, segment.bore, viscosity)
        regime = "" if isinstance(re, np.ndarray) else flow_regime(re)
        rows.append(SegmentFlow(segment.name, velocity, re, regime))
    return tuple(rows)
