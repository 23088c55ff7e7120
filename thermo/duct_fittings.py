"""Parts of an intake duct beside its tubes: lip, bends, tees, screen and filter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.duct_parts import Local, Part
from thermo.duct_section import Section, check_positive
from thermo.errors import RangeError
from thermo.fittings import (
    ENTRANCE_BELL_MOUTH,
    ENTRANCE_SHARP,
    entrance_rounded,
    mitre_bend,
    smooth_bend,
    wire_screen,
)
from thermo.ops import Real, within
from thermo.tees import converging_tee, diverging_tee

FILTER_EXPONENT = 1.5
"""Power of the flow with which a filter's drop grows (common practice): 1 for the paper, 2 for its
housing."""

FILTER_DENSITY = 1.2
"""Density of the air in a filter's rating [kg/m3] (common practice)."""


@dataclass(frozen=True, slots=True)
class LipShape:
    """Loss of one lip shape with the car at rest.

    Attributes
    ----------
    k : float
        Loss coefficient on the velocity head in the opening [-].
    source : str
        Where `k` comes from.
    """

    k: float
    source: str


LIPS: dict[str, LipShape] = {
    "sharp": LipShape(
        0.9,
        "thin edge standing free: 0.78 (Crane TP-410, re-entrant) to 1.0 (momentum theorem, Borda)",
    ),
    "re-entrant": LipShape(0.9, "tube end behind the skin: as a thin edge standing free"),
    "flush": LipShape(ENTRANCE_SHARP, "square edge flush with a wall, Crane TP-410"),
    "rounded": LipShape(
        entrance_rounded(0.08), "edge radius 0.08 of the bore, Idelchik, diagram 3-4"
    ),
    "bellmouth": LipShape(ENTRANCE_BELL_MOUTH, "radius 0.2 of the bore or more, Crane TP-410"),
    "none": LipShape(0.0, "lip not counted"),
}
"""Lip shapes by name. Values for thin lips at speed are scarce: +-30 %."""


@dataclass(frozen=True, kw_only=True)
class Lip(Part):
    """Lip of the opening, which separates while the duct swallows air faster than the car moves.

    Attributes
    ----------
    section : Section
        The opening.
    k_static : float
        Loss coefficient with the car at rest [-]; see ``LIPS``.

    Notes
    -----
    K = k_static (1 - V/Vi)^2 while the inlet velocity Vi exceeds the air speed V, else 0. The
    form is that of the momentum theorem on a thin lip, where k_static is 1 (Seddon and
    Goldsmith, Intake Aerodynamics, lip loss at low forward speed; from memory).
    """

    section: Section
    k_static: float

    def __post_init__(self) -> None:
        check_positive("static lip loss coefficient", self.k_static, allow_zero=True)

    def loss(self, local: Local) -> Real:
        """Return the coefficient at this air speed and inlet velocity [-]."""
        velocity = np.asarray(local.velocity)
        faster = velocity > np.maximum(local.air_speed, 0.0)
        share = local.air_speed / np.where(faster, velocity, 1.0)
        factor: Real = np.where(faster, self.k_static * (1.0 - share) ** 2, 0.0)
        return factor


@dataclass(frozen=True, kw_only=True)
class Bend(Part):
    """Smooth bend.

    Attributes
    ----------
    section : Section
        Inside dimensions.
    radius_ratio : float
        Radius of the centre line over bore (hydraulic diameter), 1 to 20 [-].
    angle : float
        Angle turned, 15 to 360 [deg].
    """

    section: Section
    radius_ratio: float
    angle: float = 90.0

    def __post_init__(self) -> None:
        smooth_bend(self.radius_ratio, self.section.hydraulic_diameter, self.angle)

    @property
    def wetted_length(self) -> Any:
        """Length of the centre line [m]."""
        return math.radians(self.angle) * self.radius_ratio * self.section.hydraulic_diameter

    def loss(self, local: Local) -> Real:
        """Return Crane's coefficient, friction in the bend included [-]."""
        bore = self.section.hydraulic_diameter
        return smooth_bend(self.radius_ratio, bore, self.angle)


@dataclass(frozen=True, kw_only=True)
class Mitre(Part):
    """Bend of one mitre without vanes.

    Attributes
    ----------
    section : Section
        Inside dimensions.
    angle : float
        Angle turned, 0 to 90 [deg].
    """

    section: Section
    angle: float = 90.0

    def __post_init__(self) -> None:
        mitre_bend(self.angle, self.section.hydraulic_diameter)

    def loss(self, local: Local) -> Real:
        """Return Crane's coefficient [-]."""
        return mitre_bend(self.angle, self.section.hydraulic_diameter)


@dataclass(frozen=True, kw_only=True)
class Junction(Part):
    """One leg of a tee (90 degrees) or wye (30 to 60 degrees).

    Attributes
    ----------
    section : Section
        The combined leg: the loss stands on its velocity head, and the flow marched is the
        combined flow.
    leg : str
        ``branch`` or ``run``: the leg whose loss is counted.
    share : float
        Share of the combined flow in the branch, 0 to 1 [-]; 1 is a tee used as an elbow.
    bore_ratio : float
        Branch over run bore, 0.1 to 1 [-].
    angle : float
        Angle between branch and run [deg].
    diverging : bool
        Whether the flow divides here; else it joins.
    """

    section: Section
    leg: str = "branch"
    share: float = 1.0
    bore_ratio: float = 1.0
    angle: float = 90.0
    diverging: bool = False

    def __post_init__(self) -> None:
        if self.leg not in ("branch", "run"):
            raise ValueError(f"leg of a junction is 'branch' or 'run', not {self.leg!r}")
        _ = self.k

    @property
    def k(self) -> float:
        """Crane's coefficient on the combined leg [-]; negative where one leg drags the other."""
        tee = diverging_tee if self.diverging else converging_tee
        both = tee(self.share, self.bore_ratio, self.angle)
        return both.branch if self.leg == "branch" else both.run

    def loss(self, local: Local) -> Real:
        """Return the coefficient [-]."""
        return self.k


@dataclass(frozen=True, kw_only=True)
class Screen(Part):
    """Wire screen across the duct.

    Attributes
    ----------
    section : Section
        The duct at the screen.
    open_fraction : float
        Open over whole area, 0.05 to 1 [-].
    """

    section: Section
    open_fraction: float

    def __post_init__(self) -> None:
        wire_screen(self.open_fraction)

    def loss(self, local: Local) -> Real:
        """Return the coefficient on the approach velocity [-]."""
        return wire_screen(self.open_fraction)


@dataclass(frozen=True, kw_only=True)
class Filter(Part):
    """Air filter by its rated drop.

    Attributes
    ----------
    section : Section or None
        Section behind it; None keeps the one before.
    rated_drop : float or ndarray
        Drop when clean at the rated flow [Pa].
    rated_flow : float, ndarray or None
        Rated mass flow of this one filter [kg/s]; None holds the drop constant.
    exponent : float
        Power of the flow, 1 to 2 [-].
    rated_density : float
        Density of the air of the rating [kg/m3].
    dirty_factor : float or ndarray
        Drop in the present state over that when clean, 1 or more [-].

    Notes
    -----
    Drop = rated (m/m_rated)^n rho_rated/rho, which is right for viscous (n = 1) and for
    turbulent (n = 2) drop; common practice between them.
    """

    section: Section | None = None
    rated_drop: Any
    rated_flow: Any = None
    exponent: float = FILTER_EXPONENT
    rated_density: float = FILTER_DENSITY
    dirty_factor: Any = 1.0

    def __post_init__(self) -> None:
        check_positive("rated drop of a filter", self.rated_drop, "Pa", allow_zero=True)
        check_positive("rated density of a filter", self.rated_density, "kg/m3")
        if self.rated_flow is not None:
            check_positive("rated flow of a filter", self.rated_flow, "kg/s")
        if not 1.0 <= self.exponent <= 2.0:
            raise RangeError("exponent of a filter's drop", self.exponent, 1.0, 2.0)
        within("dirty factor of a filter", self.dirty_factor, 1.0, math.inf, finite=True)

    def drop(self, local: Local) -> Real:
        """Return the drop in the present state [Pa]."""
        drop: Real = self.rated_drop * self.dirty_factor
        if self.rated_flow is None:
            return drop
        flow = (local.mass_flow / self.rated_flow) ** self.exponent
        scaled: Real = drop * flow * self.rated_density / local.stagnation_density
        return scaled
