"""Air in liquid lines: the velocity that carries it down, and how fast it goes up.

The experiments were made in pipes of 40 mm and more. In hoses of about 25 mm surface tension
begins to hold bubbles back, so leave a margin and give every high point a bleed.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.circuit import Circuit, Segment
from thermo.errors import RangeError
from thermo.ops import each, same
from thermo.pumps import GRAVITY

PROFILE_FACTOR = 1.2
"""Speed of a long bubble over the mean velocity of turbulent flow (Nicklin et al., 1962)."""


def _checked_radians(slope: float) -> float:
    if not 0.0 <= slope <= 90.0:
        raise RangeError("slope of a line", slope, 0.0, 90.0, "deg")
    return math.radians(slope)


def clearing_velocity(bore: float, slope: float, gravity: float = GRAVITY) -> float:
    """Velocity that carries an air pocket down a falling line.

    Parameters
    ----------
    bore : float
        Bore [m].
    slope : float
        Fall below the horizontal, 0 to 90 [deg]. Measured at 18 degrees; the upper envelope of
        earlier data at other slopes.
    gravity : float, optional
        Acceleration of gravity [m/s2].

    Returns
    -------
    float
        ``sqrt(g D) (0.25 sqrt(sin(slope)) + 0.825)`` [m/s].

    Raises
    ------
    RangeError
        `slope` is out of range.

    References
    ----------
    Wisner, Mohsen & Kouwen (1975), Removal of air from water lines by hydraulic means; from
    memory.
    """
    sine = math.sin(_checked_radians(slope))
    return math.sqrt(gravity * bore) * (0.25 * math.sqrt(sine) + 0.825)


def bubble_drift_velocity(bore: float, slope: float, gravity: float = GRAVITY) -> float:
    """Speed at which a long bubble climbs in a line of liquid at rest.

    Parameters
    ----------
    bore : float
        Bore [m]; surface tension slows it under about 20 mm.
    slope : float
        Slope of the line, 0 to 90 [deg].
    gravity : float, optional
        Acceleration of gravity [m/s2].

    Returns
    -------
    float
        ``sqrt(g D) (0.35 sin(slope) + 0.54 cos(slope))`` [m/s].

    Raises
    ------
    RangeError
        `slope` is out of range.

    References
    ----------
    Bendiksen (1984), between the vertical tube of Dumitrescu (1943) and the level one of
    Benjamin (1968); from memory.
    """
    angle = _checked_radians(slope)
    return math.sqrt(gravity * bore) * (0.35 * math.sin(angle) + 0.54 * math.cos(angle))


@dataclass(frozen=True, slots=True)
class AirCheck:
    """Whether the flow clears air from a segment.

    Attributes
    ----------
    name : str
        Name of the segment.
    velocity : float or ndarray
        Mean velocity [m/s].
    needed : float or ndarray
        Velocity that clears it [m/s]; 0 in a rising line, where air goes up by itself.
    cleared : bool or ndarray of bool
        Whether `velocity` reaches `needed`.
    seconds : float, ndarray or None
        Time for a bubble to pass a rising segment [s]; None in a level or falling one, or where
        the rise differs by variant.
    """

    name: str
    velocity: Any
    needed: Any
    cleared: Any
    seconds: Any


def _needed(rise: float, length: float, bore: float) -> float:
    """Return the velocity that clears a line of air [m/s]; 0 in a rising one."""
    if rise > 0.0:
        return 0.0
    return clearing_velocity(bore, math.degrees(math.asin(abs(rise) / length)))


def _check_segment(segment: Segment, velocity: Any) -> AirCheck:
    needed = each(_needed, segment.rise, segment.length, segment.bore)
    seconds = None
    if not isinstance(segment.rise, np.ndarray) and segment.rise > 0.0:
        slope = each(lambda length: math.degrees(math.asin(segment.rise / length)), segment.length)
        drift = each(bubble_drift_velocity, segment.bore, slope)
        seconds = segment.length / (PROFILE_FACTOR * velocity + drift)
    return AirCheck(segment.name, velocity, needed, velocity >= needed, seconds)


def air_clearing(circuit: Circuit, flow: Any) -> tuple[AirCheck, ...]:
    """Say of each segment whether the flow clears air from it. [poly]

    Parameters
    ----------
    circuit : Circuit
        The circuit; segments without length are passed over.
    flow : float or ndarray
        Flow, not negative [m3/s].

    Returns
    -------
    tuple of AirCheck
        One for each segment that has a length.
    """
    return tuple(
        _check_segment(segment, flow / segment.area)
        for segment in circuit.segments
        if same(segment.length > 0.0)
    )
