"""Flow sections of intake ducts."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.errors import RangeError
from thermo.friction import ROUND_LAMINAR, hydraulic_diameter, laminar_constant
from thermo.ops import least, most, ops_of, same, within


@dataclass(frozen=True, slots=True)
class Section:
    """Flow section: round when `height` is zero, else rectangular.

    Attributes
    ----------
    width : float or ndarray
        Bore of a round tube, or inside width [m]; an array has one entry a variant.
    height : float or ndarray
        Inside height; 0 for a round tube [m].
    """

    width: Any
    height: Any = 0.0

    def __post_init__(self) -> None:
        check_positive("bore or width of a duct", self.width, "m")
        check_positive("height of a duct", self.height, "m", allow_zero=True)

    @property
    def is_round(self) -> bool:
        """Whether the section is a circle."""
        return same(self.height == 0.0)

    def matches(self, other: Section | None) -> bool:
        """Return whether another section is the same, for every variant."""
        if other is None or self is other:
            return self is other
        return bool(np.all(self.width == other.width) and np.all(self.height == other.height))

    @property
    def area(self) -> Any:
        """Flow area [m2]."""
        if self.is_round:
            return 0.25 * math.pi * self.width * self.width
        return self.width * self.height

    @property
    def perimeter(self) -> Any:
        """Wetted perimeter [m]."""
        return math.pi * self.width if self.is_round else 2.0 * (self.width + self.height)

    @property
    def hydraulic_diameter(self) -> Any:
        """Four times area over perimeter [m]."""
        return hydraulic_diameter(self.area, self.perimeter)

    @property
    def equal_area_diameter(self) -> Any:
        """Diameter of the circle of the same area [m]."""
        area = self.area
        return ops_of(area).sqrt(4.0 * area / math.pi)

    @property
    def laminar(self) -> Any:
        """Laminar friction constant f Re on the hydraulic diameter [-]."""
        if self.is_round:
            return ROUND_LAMINAR
        return laminar_constant(self.side_ratio)

    @property
    def side_ratio(self) -> Any:
        """Short over long side of a rectangular section [-]."""
        return least((self.width, self.height)) / most((self.width, self.height))


def cone_length(section: Section, to: Section, angle: float) -> Any:
    """Return the length of a cone with a full angle between two sections.

    Parameters
    ----------
    section, to : Section
        The ends; their circles of equal area count.
    angle : float
        Full angle, above 0 and up to 180 [deg].

    Returns
    -------
    float
        Length along the axis [m]; 0 at 180 degrees.
    """
    if not 0.0 < angle <= 180.0:
        raise RangeError("full angle of a cone", angle, 0.0, 180.0, "deg")
    if angle == 180.0:
        return 0.0
    step = abs(to.equal_area_diameter - section.equal_area_diameter)
    return 0.5 * step / math.tan(math.radians(0.5 * angle))


def check_positive(name: str, value: Any, unit: str = "", allow_zero: bool = False) -> None:
    """Raise RangeError unless a number is finite and above zero.

    Parameters
    ----------
    name : str
        What it is, for the message.
    value : float or ndarray
        The number, in `unit`.
    unit : str, optional
        Its unit, for the message.
    allow_zero : bool, optional
        Whether zero passes too.

    Raises
    ------
    RangeError
        It is not.
    """
    within(name, value, 0.0, math.inf, unit, open_low=not allow_zero, finite=True)
