"""Pipe and duct friction: Darcy friction factor, roughness of surfaces, laminar shape constants.

Every friction factor here is Darcy's (four times Fanning's): the drop of a straight run is
``f (L/D) rho V^2 / 2``.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.ops import ops_of, within

RE_LAMINAR = 2300.0
"""Reynolds number up to which the flow is taken as laminar (common practice for round tubes)."""

RE_TURBULENT = 4000.0
"""Reynolds number from which the flow is taken as fully turbulent (common practice)."""

RE_FLOOR = 1e-3
"""Least Reynolds number put into the laminar law, so that a flow at rest has a finite factor."""

ROUND_LAMINAR = 64.0
"""Laminar constant f Re of a round tube (Hagen-Poiseuille)."""

FLEXIBLE_DUCT_FRICTION = Estimate(0.08, 0.05, 0.12, "", COMMON_PRACTICE)
"""Darcy factor of stretched wire-wound flexible duct.

The corrugation is too coarse for a roughness in the Colebrook equation, so the factor is
used as it is.
"""

_LN10_HALF = 0.5 * math.log(10.0)
_TWO_OVER_LN10 = 2.0 / math.log(10.0)


@dataclass(frozen=True, slots=True)
class Surface:
    """Roughness of one kind of wall.

    Attributes
    ----------
    roughness : float
        Equivalent sand-grain roughness [m].
    source : str
        Where the value comes from.
    """

    roughness: float
    source: str


ROUGHNESS: dict[str, Surface] = {
    "smooth": Surface(0.0, "hydraulically smooth: the limit of the Colebrook equation"),
    "drawn-tube": Surface(1.5e-6, "Moody (1944), drawn tubing, 0.000005 ft; from memory"),
    "stainless-tube": Surface(
        2.0e-6, "Cengel & Cimbala, Fluid Mechanics, Table 8-2, stainless steel; from memory"
    ),
    "aluminium-tube": Surface(
        1.5e-6, "taken as drawn tubing, Moody (1944); bent or welded tube is rougher; from memory"
    ),
    "plastic-tube": Surface(
        1.5e-6, "taken as drawn tubing; Cengel & Cimbala, Table 8-2, calls plastic smooth"
    ),
    "rubber-hose": Surface(
        1.0e-5, "Cengel & Cimbala, Table 8-2, smoothed rubber, 0.01 mm; from memory"
    ),
    "commercial-steel": Surface(
        4.5e-5, "Moody (1944), commercial steel, 0.00015 ft; from memory"
    ),
    "galvanised-steel": Surface(1.5e-4, "Moody (1944), galvanised iron, 0.0005 ft; from memory"),
    "rusted-steel": Surface(
        2.0e-3, "White, Fluid Mechanics, Table 6.1, rusted steel, 2.0 mm +-50 %; from memory"
    ),
    "cast-iron": Surface(2.6e-4, "Moody (1944), cast iron, 0.00085 ft; from memory"),
}
"""Kinds of wall by name. The values hold for clean walls and spread by +-50 % (White)."""

TUBE_ROUGHNESS = Estimate(
    ROUGHNESS["commercial-steel"].roughness,
    ROUGHNESS["drawn-tube"].roughness,
    ROUGHNESS["galvanised-steel"].roughness,
    "m",
    "Moody (1944), from drawn tubing to galvanised iron; from memory",
)
"""Roughness of a duct's tube [m]."""


def reynolds(density: Any, velocity: Any, diameter: Any, viscosity: Any) -> Any:
    """Reynolds number on a diameter.

    Parameters
    ----------
    density : float or ndarray
        Density [kg/m3].
    velocity : float or ndarray
        Mean velocity, not negative [m/s].
    diameter : float or ndarray
        Bore or hydraulic diameter [m].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].

    Returns
    -------
    float or ndarray
        Reynolds number [-].
    """
    return density * velocity * diameter / viscosity


def colebrook(re: Any, relative_roughness: Any) -> Any:
    """Turbulent Darcy friction factor by the Colebrook equation.

    ``1/sqrt f = -2 log10(e/3.7 + 2.51/(Re sqrt f))``, from Haaland's explicit start and
    two Newton steps in ``1/sqrt f``; the result is within 1e-10 relative of the root.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number, 2300 to 1e8 [-]; the equation itself is meant for 4000 and up.
    relative_roughness : float or ndarray
        Roughness over bore, 0 to 0.05 [-].

    Returns
    -------
    float or ndarray
        Darcy friction factor [-].

    References
    ----------
    Colebrook (1939), with the constants 3.7 and 2.51; start: Haaland (1983).
    """
    xp = ops_of(re, relative_roughness)
    a = relative_roughness / 3.7
    b = 2.51 / re
    x = -0.9 / _LN10_HALF * xp.log(a**1.11 + 6.9 / re)
    for _ in range(2):
        inner = a + b * x
        x = x - (x + _TWO_OVER_LN10 * xp.log(inner)) / (1.0 + _TWO_OVER_LN10 * b / inner)
    return 1.0 / (x * x)


def fully_rough(relative_roughness: Any) -> Any:
    """Friction factor of complete turbulence, the limit of Colebrook for infinite Reynolds number.

    Parameters
    ----------
    relative_roughness : float or ndarray
        Roughness over bore, above 0 and up to 0.05 [-].

    Returns
    -------
    float or ndarray
        Darcy friction factor ``(2 log10(3.7/e))^-2`` [-].

    References
    ----------
    von Karman (1930), rough pipe law.
    """
    xp = ops_of(relative_roughness)
    x = _TWO_OVER_LN10 * xp.log(3.7 / relative_roughness)
    return 1.0 / (x * x)


def friction_factor(re: Any, relative_roughness: Any, laminar_constant: Any = ROUND_LAMINAR) -> Any:
    """Darcy friction factor at any Reynolds number.

    Laminar law up to 2300, Colebrook from 4000. Between them the transition bridge blends the
    two laws with a cubic weight that is smooth at both ends. The bridge is an interpolation and
    no correlation: real flow in this range is unsteady and may take either value.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number, 0 to 1e8 [-]. Below ``RE_FLOOR`` the factor stays at its value there.
    relative_roughness : float or ndarray
        Roughness over bore or over hydraulic diameter, 0 to 0.05 [-].
    laminar_constant : float or ndarray
        ``f Re`` of the laminar law: 64 round, 56.9 (square) to 96 (slot) rectangular [-].

    Returns
    -------
    float or ndarray
        Darcy friction factor [-]. On a rectangular duct the turbulent value, taken with the
        hydraulic diameter, is within about 10 to 15 % (White, Fluid Mechanics, section 6.8).
    """
    xp = ops_of(re, relative_roughness, laminar_constant)
    t = xp.minimum(xp.maximum((re - RE_LAMINAR) / (RE_TURBULENT - RE_LAMINAR), 0.0), 1.0)
    weight = t * t * (3.0 - 2.0 * t)
    laminar = laminar_constant / xp.maximum(re, RE_FLOOR)
    turbulent = colebrook(xp.maximum(re, RE_LAMINAR), relative_roughness)
    return laminar + weight * (turbulent - laminar)


def flow_regime(re: float) -> str:
    """Name the flow regime.

    Parameters
    ----------
    re : float
        Reynolds number, not negative [-].

    Returns
    -------
    str
        ``laminar`` below 2300, ``turbulent`` above 4000, ``transition`` between.
    """
    if re < RE_LAMINAR:
        return "laminar"
    return "transition" if re <= RE_TURBULENT else "turbulent"


def laminar_constant(side_ratio: Any) -> Any:
    """Laminar ``f Re`` of a rectangular duct, on the hydraulic diameter.

    Parameters
    ----------
    side_ratio : float or ndarray
        Short side over long side, 0 (parallel plates) to 1 (square) [-].

    Returns
    -------
    float or ndarray
        Darcy ``f Re`` [-], within 0.065 % of the exact series.

    Raises
    ------
    RangeError
        `side_ratio` is not between 0 and 1.

    References
    ----------
    Shah & London (1978), polynomial for rectangular ducts (Fanning 24, here Darcy 96).
    """
    within("short over long side of a rectangular duct", side_ratio, 0.0, 1.0)
    a = side_ratio
    poly = -1.7012 + a * (0.9564 - 0.2537 * a)
    return 96.0 * (1.0 + a * (-1.3553 + a * (1.9467 + a * poly)))


def hydraulic_diameter(area: Any, perimeter: Any) -> Any:
    """Hydraulic diameter, four times the flow area over the wetted perimeter.

    Parameters
    ----------
    area : float or ndarray
        Flow area [m2].
    perimeter : float or ndarray
        Wetted perimeter [m].

    Returns
    -------
    float or ndarray
        Hydraulic diameter [m].
    """
    return 4.0 * area / perimeter


def darcy_weisbach(f: Any, length: Any, diameter: Any, density: Any, velocity: Any) -> Any:
    """Pressure drop of a straight run, Darcy-Weisbach.

    Parameters
    ----------
    f : float or ndarray
        Darcy friction factor [-].
    length : float or ndarray
        Length [m].
    diameter : float or ndarray
        Bore or hydraulic diameter [m].
    density : float or ndarray
        Density [kg/m3].
    velocity : float or ndarray
        Mean velocity [m/s].

    Returns
    -------
    float or ndarray
        Pressure drop [Pa], not negative whichever way the velocity points.
    """
    return f * length / diameter * 0.5 * density * velocity * velocity
