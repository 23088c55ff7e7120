"""What every part of an intake duct states, and the tubes, transitions and paths.

A part states its loss as a coefficient on one reference area (a friction length f L/D counts as
one) or, for a filter and the exit, as a pressure drop; :mod:`thermo.duct` marches the air through.
Bends, tees, lips, screens and filters are in :mod:`thermo.duct_fittings`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.duct_section import Section, check_positive
from thermo.errors import RangeError
from thermo.fittings import EXIT, conical_contraction, conical_diffuser, included_angle
from thermo.friction import friction_factor
from thermo.gas import (
    Gas,
    speed_of_sound,
    stagnation_pressure_ratio,
    stagnation_temperature_ratio,
)
from thermo.ops import Real, least, same

SHAPE_CHANGE_LOSS = 0.05
"""Loss coefficient of a smooth change between rectangle and circle, on the smaller area, beside
that of its change of area (common practice)."""


@dataclass(frozen=True, slots=True)
class Local:
    """What a part may know of the air that enters it, at its reference section.

    Attributes
    ----------
    mass_flow : float or ndarray
        Flow through this one path [kg/s].
    mach : float or ndarray
        Mach number [-].
    stagnation_pressure : float or ndarray
        Stagnation pressure [Pa].
    stagnation_temperature : float or ndarray
        Stagnation temperature [K].
    air_speed : float or ndarray
        Speed of the car through the air [m/s].
    gas : Gas
        The air.
    """

    mass_flow: Real
    mach: Real
    stagnation_pressure: Real
    stagnation_temperature: Real
    air_speed: Real
    gas: Gas

    @property
    def velocity(self) -> Real:
        """Velocity [m/s]."""
        static = self.stagnation_temperature / stagnation_temperature_ratio(
            self.mach, self.gas.gamma
        )
        return self.mach * speed_of_sound(static, self.gas.gas_constant, self.gas.gamma)

    @property
    def stagnation_density(self) -> Real:
        """Stagnation density [kg/m3]."""
        return self.gas.density(self.stagnation_pressure, self.stagnation_temperature)

    def reynolds(self, section: Section) -> Any:
        """Return m Dh/(A mu) in a section [-]; it does not change along a tube."""
        diameter, area = section.hydraulic_diameter, section.area
        return self.mass_flow * diameter / (area * self.gas.viscosity)


@dataclass(frozen=True, kw_only=True)
class Part:
    """Base of all parts. A part of this class itself passes the air without loss.

    Attributes
    ----------
    name : str
        What to call the station behind the part.
    section : Section or None
        Section at the inlet; None keeps the section of the part before.
    """

    name: str
    section: Section | None

    @property
    def outlet(self) -> Section | None:
        """Section at the outlet."""
        return self.section

    @property
    def reference(self) -> Section | None:
        """Section on whose velocity head the loss coefficient stands."""
        return self.section

    @property
    def into_plenum(self) -> bool:
        """Whether the air comes to rest behind the part."""
        return False

    @property
    def wetted_length(self) -> Any:
        """Length over which the air meets the wall, for heat [m]."""
        return 0.0

    def loss(self, local: Local) -> Real:
        """Return the loss coefficient on the reference section [-]."""
        return 0.0

    def drop(self, local: Local) -> Real | None:
        """Return a stagnation-pressure drop beside the coefficient [Pa], or None."""
        return None


@dataclass(frozen=True, kw_only=True)
class FrictionTube(Part):
    """Straight tube, round or rectangular.

    Attributes
    ----------
    section : Section
        Inside dimensions.
    length : float or ndarray
        Length [m].
    roughness : float or ndarray
        Equivalent sand roughness [m].
    friction : float, ndarray or None
        Darcy factor used as it is, for flexible duct (``FLEXIBLE_DUCT_FRICTION``); None takes
        Colebrook. A rectangular tube is taken by its hydraulic diameter, within 10 to 15 % when
        turbulent.
    """

    section: Section
    length: Any
    roughness: Any = 4.5e-5
    friction: Any = None

    def __post_init__(self) -> None:
        check_positive("length of a tube", self.length, "m", allow_zero=True)
        check_positive("roughness of a tube", self.roughness, "m", allow_zero=True)
        if self.friction is not None:
            check_positive("friction factor of a tube", self.friction)

    @property
    def wetted_length(self) -> Any:
        """Length over which the air meets the wall, for heat [m]."""
        return self.length

    def loss(self, local: Local) -> Real:
        """Return f L/Dh [-]."""
        diameter = self.section.hydraulic_diameter
        factor = self.friction
        if factor is None:
            factor = friction_factor(
                local.reynolds(self.section), self.roughness / diameter, self.section.laminar
            )
        loss: Real = factor * self.length / diameter
        return loss


@dataclass(frozen=True, kw_only=True)
class LossPart(Part):
    """A known loss coefficient on its own section.

    Attributes
    ----------
    section : Section
        Section on whose velocity head `k` stands.
    k : float or ndarray
        Loss coefficient [-].
    """

    section: Section
    k: Any

    def __post_init__(self) -> None:
        check_positive("loss coefficient", self.k, allow_zero=True)

    def loss(self, local: Local) -> Real:
        """Return the coefficient [-]."""
        loss: Real = self.k
        return loss


@dataclass(frozen=True, kw_only=True)
class Transition(Part):
    """Contraction, expansion, or change between rectangle and circle, sudden or over a length.

    Attributes
    ----------
    section : Section
        Inlet.
    to : Section
        Outlet.
    length : float
        Length along the axis; 0 is a sudden change [m].
    roughness : float
        Equivalent sand roughness of its wall [m].

    Notes
    -----
    Crane's cone formulas with the circles of equal area, on the smaller section, plus friction
    integrated over the cone, plus ``SHAPE_CHANGE_LOSS`` when the shape changes.
    """

    section: Section
    to: Section
    length: float = 0.0
    roughness: float = 4.5e-5

    def __post_init__(self) -> None:
        check_positive("length of a transition", self.length, "m", allow_zero=True)
        check_positive("roughness of a transition", self.roughness, "m", allow_zero=True)

    @property
    def outlet(self) -> Section:
        """Section at the outlet."""
        return self.to

    @property
    def reference(self) -> Section:
        """The smaller of the two sections."""
        return self.section if same(self.section.area <= self.to.area) else self.to

    @property
    def wetted_length(self) -> Any:
        """Length over which the air meets the wall, for heat [m]."""
        return self.length

    @property
    def change_loss(self) -> float:
        """Loss coefficient without friction, on the smaller section [-]."""
        before, after = self.section.equal_area_diameter, self.to.equal_area_diameter
        small, large = min(before, after), max(before, after)
        angle = included_angle(small, large, self.length) if self.length > 0.0 else 180.0
        cone = conical_diffuser if after > before else conical_contraction
        shape = SHAPE_CHANGE_LOSS if self.section.is_round != self.to.is_round else 0.0
        return cone(small / large, angle) + shape

    def loss(self, local: Local) -> Real:
        """Return the coefficient on the smaller section, friction included [-]."""
        lumped = self.change_loss
        if self.length == 0.0:
            return lumped
        small = self.reference
        diameter = small.hydraulic_diameter
        other = self.to if small is self.section else self.section
        wider = other.equal_area_diameter / small.equal_area_diameter - 1.0
        taper = 1.0 if wider < 1e-9 else (1.0 - (1.0 + wider) ** -4) / (4.0 * wider)
        factor = friction_factor(local.reynolds(small), self.roughness / diameter, small.laminar)
        total: Real = lumped + factor * self.length / diameter * taper
        return total


@dataclass(frozen=True, kw_only=True)
class PlenumExit(Part):
    """End of the duct in the plenum: the velocity head is lost and the air comes to rest.

    Attributes
    ----------
    section : Section
        End of the duct.
    """

    section: Section

    @property
    def into_plenum(self) -> bool:
        """Whether the air comes to rest behind the part."""
        return True

    def drop(self, local: Local) -> Real:
        """Return the whole compressible velocity head, p0 - p [Pa].

        The plenum stands at the static pressure of the air that leaves the duct. A coefficient
        of 1 means the same in slow flow and takes too much above Mach 0.2.
        """
        static = local.stagnation_pressure / stagnation_pressure_ratio(
            local.mach, local.gas.gamma
        )
        return EXIT * (local.stagnation_pressure - static)


@dataclass(frozen=True, slots=True)
class Path:
    """Parts in series, and how many equal copies of them run side by side.

    Attributes
    ----------
    parts : tuple of Part
        In order from the opening; at least one.
    count : int
        Equal paths that share the flow evenly, 1 or more.
    name : str
        What to call it.
    """

    parts: tuple[Part, ...]
    count: int = 1
    name: str = "duct"

    def __post_init__(self) -> None:
        if not self.parts:
            raise ValueError("a path needs at least one part")
        if self.count < 1:
            raise RangeError("number of equal paths", self.count, 1.0, math.inf)

    @property
    def least_area(self) -> Any:
        """Smallest flow area of one copy [m2]; infinite when no part has a section."""
        sections = [s for p in self.parts for s in (p.section, p.outlet) if s is not None]
        return least([s.area for s in sections]) if sections else math.inf

    @property
    def length(self) -> Any:
        """Length of the air column [m]."""
        return sum(p.wetted_length for p in self.parts)

    @property
    def wall_area(self) -> Any:
        """Inside surface of all copies that air and wall share [m2]."""
        return self.count * sum(
            p.wetted_length * p.reference.perimeter for p in self.parts if p.reference is not None
        )


JUMP_TOLERANCE = 0.01
"""Relative difference of area that passes as equal [-]."""


def area_jumps(path: Path, tolerance: float = JUMP_TOLERANCE) -> tuple[tuple[str, str, Any], ...]:
    """Return the joints where the section changes without a part for it.

    Parameters
    ----------
    path : Path
        The parts.
    tolerance : float, optional
        Relative difference of area that passes as equal [-].

    Returns
    -------
    tuple of (str, str, float)
        Part before, part after, and area after over area before [-]. The march counts no loss
        at such a joint. Of variants, joints that any of them has.
    """
    jumps = []
    before: tuple[str, Section] | None = None
    for part in path.parts:
        if before is not None and part.section is not None:
            ratio = part.section.area / before[1].area
            if bool(np.any(abs(ratio - 1.0) > tolerance)):
                jumps.append((before[0], part.name, ratio))
        if part.outlet is not None:
            before = (part.name, part.outlet)
    return tuple(jumps)
