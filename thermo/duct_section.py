"""Flow sections of intake ducts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from thermo.errors import RangeError
from thermo.friction import ROUND_LAMINAR, hydraulic_diameter, laminar_constant


@dataclass(frozen=True, slots=True)
class Section:
    """Flow section: round when `height` is zero, else rectangular.

    Attributes
    ----------
    width : float
        Bore of a round tube, or inside width [m].
    height : float
        Inside height; 0 for a round tube [m].
    """

    width: float
    height: float = 0.0

    def __post_init__(self) -> None:
        if not 0.0 < self.width < math.inf:
            raise RangeError("bore or width of a duct", self.width, 0.0, math.inf, "m")
        if not 0.0 <= self.height < math.inf:
            raise RangeError("height of a duct", self.height, 0.0, math.inf, "m")

    @property
    def is_round(self) -> bool:
        """Whether the section is a circle."""
        return self.height == 0.0

    @property
    def area(self) -> float:
        """Flow area [m2]."""
        if self.is_round:
            return 0.25 * math.pi * self.width * self.width
        return self.width * self.height

    @property
    def perimeter(self) -> float:
        """Wetted perimeter [m]."""
        return math.pi * self.width if self.is_round else 2.0 * (self.width + self.height)

    @property
    def hydraulic_diameter(self) -> float:
        """Four times area over perimeter [m]."""
        return float(hydraulic_diameter(self.area, self.perimeter))

    @property
    def equal_area_diameter(self) -> float:
        """Diameter of the circle of the same area [m]."""
        return math.sqrt(4.0 * self.area / math.pi)

    @property
    def laminar(self) -> float:
        """Laminar friction constant f Re on the hydraulic diameter [-]."""
        if self.is_round:
            return ROUND_LAMINAR
        short, long = sorted((self.width, self.height))
        return laminar_constant(short / long)


def cone_length(section: Section, to: Section, angle: float) -> float:
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


def check_positive(name: str, value: float, unit: str = "", allow_zero: bool = False) -> None:
    """Raise RangeError unless a number is finite and above zero.

    Parameters
    ----------
    name : str
        What it is, for the message.
    value : float
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
    if not (0.0 < value < math.inf or (allow_zero and value == 0.0)):
        raise RangeError(name, value, 0.0, math.inf, unit)
