"""Film coefficients of single-phase flow: round tube, annulus, rectangular duct, chevron plates.

Properties are those of the bulk; the correction for a wall of other viscosity, about
``(mu/mu_wall)^0.11`` for liquids in tubes, is left out.
"""

from __future__ import annotations

import math
from typing import Any

from thermo.friction import RE_LAMINAR, RE_TURBULENT
from thermo.ops import ops_of

ROUND_LAMINAR_NU = 3.66
"""Nusselt number of developed laminar flow in a round tube at constant wall temperature [-].

Shah & London (1978): 3.6568.
"""

PLATE_RE_LAMINAR = 1800.0
"""Reynolds number up to which the laminar constants of Martin's plate friction are used here."""

PLATE_RE_TURBULENT = 2000.0
"""Reynolds number from which Martin's turbulent constants hold."""

PLATE_RE_RANGE = (200.0, 10000.0)
"""Reynolds numbers of the data behind Martin's plate correlation."""


def reynolds_of_flux(mass_flux: Any, diameter: Any, viscosity: Any) -> Any:
    """Reynolds number from the mass flow per flow area.

    Parameters
    ----------
    mass_flux : float or ndarray
        Mass flow over flow area [kg/(m2 s)].
    diameter : float or ndarray
        Bore or hydraulic diameter [m].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].

    Returns
    -------
    float or ndarray
        Reynolds number [-].
    """
    return mass_flux * diameter / viscosity


def prandtl(specific_heat: Any, viscosity: Any, conductivity: Any) -> Any:
    """Prandtl number.

    Parameters
    ----------
    specific_heat : float or ndarray
        Specific heat at constant pressure [J/(kg K)].
    viscosity : float or ndarray
        Dynamic viscosity [Pa s].
    conductivity : float or ndarray
        Thermal conductivity [W/(m K)].

    Returns
    -------
    float or ndarray
        Prandtl number [-].
    """
    return specific_heat * viscosity / conductivity


def petukhov_friction(re: Any) -> Any:
    """Darcy friction factor of a smooth tube, the partner of Gnielinski's equation.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number, 3000 to 5e6 [-].

    Returns
    -------
    float or ndarray
        Darcy friction factor ``(0.790 ln Re - 1.64)^-2`` [-].

    References
    ----------
    Petukhov (1970); Incropera et al., eq. 8.21.
    """
    x = 0.790 * ops_of(re).log(re) - 1.64
    return 1.0 / (x * x)


def gnielinski(re: Any, pr: Any, friction: Any) -> Any:
    """Nusselt number of turbulent flow in a tube, by Gnielinski.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number on the (hydraulic) diameter, 3000 to 5e6 [-].
    pr : float or ndarray
        Prandtl number, 0.5 to 2000 [-].
    friction : float or ndarray
        Darcy friction factor [-].

    Returns
    -------
    float or ndarray
        Nusselt number [-], within about 10 % of the data in a smooth tube.

    References
    ----------
    Gnielinski (1976); Incropera et al., eq. 8.62.
    """
    f8 = friction / 8.0
    root = ops_of(f8).sqrt(f8)
    return f8 * (re - 1000.0) * pr / (1.0 + 12.7 * root * (pr ** (2.0 / 3.0) - 1.0))


def nusselt_duct(re: Any, pr: Any, laminar: Any = ROUND_LAMINAR_NU) -> Any:
    """Nusselt number of developed flow in a smooth tube or duct at any Reynolds number.

    Laminar value up to Re 2300, Gnielinski with Petukhov's friction from 4000. Between them
    the transition bridge blends the two with the cubic weight that the friction factor uses;
    it is an interpolation and no correlation. Entrance effects, which raise the film of short
    or laminar runs, are left out.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number on the (hydraulic) diameter, 0 to 5e6 [-].
    pr : float or ndarray
        Prandtl number, 0.5 to 2000 [-].
    laminar : float or ndarray
        Nusselt number of developed laminar flow in this cross-section [-].

    Returns
    -------
    float or ndarray
        Nusselt number [-].

    References
    ----------
    Gnielinski (1976); the idea of a bridge from 2300 to 4000 after Gnielinski (2013), who
    blends linearly; from memory.
    """
    xp = ops_of(re, pr)
    t = xp.minimum(xp.maximum((re - RE_LAMINAR) / (RE_TURBULENT - RE_LAMINAR), 0.0), 1.0)
    weight = t * t * (3.0 - 2.0 * t)
    driven = xp.maximum(re, RE_LAMINAR)
    turbulent = gnielinski(driven, pr, petukhov_friction(driven))
    return laminar + weight * (turbulent - laminar)


def rectangular_laminar_nu(side_ratio: Any) -> Any:
    """Nusselt number of developed laminar flow in a rectangular duct at constant wall temperature.

    Parameters
    ----------
    side_ratio : float or ndarray
        Short side over long side, 0 (parallel plates) to 1 (square) [-].

    Returns
    -------
    float or ndarray
        Nusselt number on the hydraulic diameter [-], within 0.1 % of the exact values.

    References
    ----------
    Shah & London (1978), polynomial for four heated walls; from memory.
    """
    a = side_ratio
    poly = -5.119 + a * (2.702 - 0.548 * a)
    return 7.541 * (1.0 + a * (-2.610 + a * (4.970 + a * poly)))


def annulus_laminar_nu(diameter_ratio: Any) -> Any:
    """Nusselt number of developed laminar flow in an annulus heated at its inner wall.

    Parameters
    ----------
    diameter_ratio : float or ndarray
        Inner over outer diameter, above 0.05 and below 1 [-].

    Returns
    -------
    float or ndarray
        Nusselt number on ``outer - inner diameter`` [-]; within 3 % of the tabulated values
        5.74 at 0.5 and 4.86 at 1 (Incropera et al., Table 8.2).

    References
    ----------
    ``3.66 + 1.2 a^-0.8``, Stephan, in VDI Heat Atlas 2e, section G2; from memory.
    """
    return ROUND_LAMINAR_NU + 1.2 * diameter_ratio**-0.8


def nusselt_annulus(re: Any, pr: Any, diameter_ratio: Any) -> Any:
    """Nusselt number at the inner wall of an annulus, by its hydraulic diameter.

    The tube result on the hydraulic diameter is lowered by Petukhov and Roizen's factor for
    heat passing at the inner wall, ``0.86 a^-0.16``, in the turbulent part.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number on ``outer - inner diameter``, 0 to 5e6 [-].
    pr : float or ndarray
        Prandtl number, 0.5 to 2000 [-].
    diameter_ratio : float or ndarray
        Inner over outer diameter, above 0.05 and below 1 [-].

    Returns
    -------
    float or ndarray
        Nusselt number on ``outer - inner diameter`` [-], within about 15 % when turbulent.

    References
    ----------
    Petukhov & Roizen (1964), in VDI Heat Atlas 2e, section G2; from memory.
    """
    factor = 0.86 * diameter_ratio**-0.16
    return factor * nusselt_duct(re, pr, annulus_laminar_nu(diameter_ratio) / factor)


def annulus_laminar_constant(diameter_ratio: Any) -> Any:
    """Laminar ``f Re`` of an annulus, on ``outer - inner diameter``.

    Parameters
    ----------
    diameter_ratio : float or ndarray
        Inner over outer diameter, above 0 and below 1 [-].

    Returns
    -------
    float or ndarray
        Darcy ``f Re``: 64 as the core vanishes, 96 as the gap narrows [-].

    References
    ----------
    Lamb's exact solution; Shah & London (1978); White, Fluid Mechanics, section 6.8.
    """
    a = diameter_ratio
    gap = 1.0 - a
    return 64.0 * gap * gap / (1.0 + a * a + (1.0 - a * a) / ops_of(a).log(a))


def martin_friction(re: Any, chevron_angle: float) -> Any:
    """Darcy friction factor of a pack of chevron plates, by Martin.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number on the hydraulic diameter, 200 to 10000, above 0 [-].
    chevron_angle : float
        Angle between the corrugations and the main flow direction, in rad: 0 along the flow
        (soft plate, little drop), towards pi/2 across it (hard plate). 0 to 80 degrees.
        Some published correlations, Kumar's among them, take the complement.

    Returns
    -------
    float or ndarray
        Darcy friction factor on the port-to-port length [-].

    Notes
    -----
    Martin's laminar and turbulent constants do not meet at Re 2000. They are blended with a
    cubic weight between 1800 and 2000 here, so that a solver sees no step; outside that band
    the factor is Martin's.

    References
    ----------
    Martin (1996), Chem. Eng. Process. 35, 301; constants of VDI Heat Atlas 2e, section M6.
    """
    xp = ops_of(re)
    span = PLATE_RE_TURBULENT - PLATE_RE_LAMINAR
    t = xp.minimum(xp.maximum((re - PLATE_RE_LAMINAR) / span, 0.0), 1.0)
    weight = t * t * (3.0 - 2.0 * t)
    driven = xp.maximum(re, PLATE_RE_LAMINAR)
    x = 1.8 / math.log(10.0) * xp.log(driven) - 1.5
    along = 64.0 / re
    across = 597.0 / re + 3.85
    along = along + weight * (1.0 / (x * x) - along)
    across = across + weight * (39.0 * driven**-0.289 - across)
    cos, sin = math.cos(chevron_angle), math.sin(chevron_angle)
    furrow = 0.18 * sin / cos + 0.36 * sin + along / cos
    y = cos / xp.sqrt(furrow) + (1.0 - cos) / xp.sqrt(3.8 * across)
    return 1.0 / (y * y)


def martin_nusselt(re: Any, pr: Any, chevron_angle: float, friction: Any) -> Any:
    """Nusselt number of a pack of chevron plates, by Martin.

    Parameters
    ----------
    re : float or ndarray
        Reynolds number on the hydraulic diameter, 200 to 10000 [-].
    pr : float or ndarray
        Prandtl number [-].
    chevron_angle : float
        Angle between the corrugations and the main flow direction, in rad, as in
        :func:`martin_friction`; 10 to 80 degrees.
    friction : float or ndarray
        Darcy friction factor of :func:`martin_friction` [-].

    Returns
    -------
    float or ndarray
        Nusselt number on the hydraulic diameter [-], within about 10 to 20 % of plate data.

    References
    ----------
    Martin (1996), ``0.122 Pr^(1/3) (f Re^2 sin 2 phi)^0.374``; VDI Heat Atlas 2e, section M6.
    """
    drive = friction * re * re * math.sin(2.0 * chevron_angle)
    return 0.122 * pr ** (1.0 / 3.0) * drive**0.374
