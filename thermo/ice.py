"""Ice in a water tank: what it takes to melt, how fast it melts, and where a mix ends up.

All of this is for ice of plain water in plain water, melting at 273.15 K. In a glycol mixture
ice melts colder and thins the mixture as it does; these functions do not cover that.

Form decides the pace: the surface of 10 kg in 25 mm cubes is about nine times that of one block.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

from thermo.errors import InfeasibleError, PropertyError, RangeError
from thermo.liquids import liquid
from thermo.ops import ops_of, within

T_MELT = 273.15
"""Melting point of ice at atmospheric pressure [K]."""

LATENT_HEAT = 333.43e3
"""Heat of fusion at the melting point [J/kg]: IAPWS R10-06(2009), Table 6, against IAPWS-95."""

DENSITY = 916.72
"""Density of ice at the melting point [kg/m3]: IAPWS R10-06(2009)."""

SPECIFIC_HEAT = 2096.7
SPECIFIC_HEAT_SLOPE = 7.3
"""Specific heat of ice at the melting point [J/(kg K)] and its change with temperature
[J/(kg K2)]: IAPWS R10-06(2009); the straight line is within 0.1 % down to `T_LOW`."""

T_LOW = 233.15
"""Lowest temperature of ice taken [K]."""

FILM = 600.0
FILM_LOW = 200.0
FILM_HIGH = 1500.0
"""Default film coefficient between ice and water, and its likely range [W/(m2 K)].

Basis: Ranz and Marshall (1952), Nu = 2 + 0.6 Re^0.5 Pr^0.33, for 25 mm pieces in water at
5 degC (from memory): about 600 at a slip of 0.02 m/s, as in a tank stirred by its return jet,
220 at 0.002 m/s (nearly still) and 1500 at 0.13 m/s (a hard stream). The spread is the doubt;
the surface of packed ice that water does not reach widens it further."""


@dataclass(frozen=True, slots=True)
class IceForm:
    """A form in which ice is bought.

    Attributes
    ----------
    name : str
        ``"block"``, ``"cubes"`` or ``"crushed"``.
    size : float
        Usual edge of a piece [m] (common practice); 0 for a block, whose edge follows from its
        mass.
    """

    name: str
    size: float


FORMS: Mapping[str, IceForm] = MappingProxyType({
    form.name: form
    for form in (IceForm("block", 0.0), IceForm("cubes", 0.025), IceForm("crushed", 0.010))
})
"""The known forms by name."""


def melting_area(mass: Any, form: str, size: Any = None) -> Any:
    """Return the surface of a charge of ice before any has melted. [poly]

    Parameters
    ----------
    mass : float or ndarray
        Mass of the charge [kg].
    form : str
        ``"block"`` (one cube of the whole mass), ``"cubes"`` or ``"crushed"`` (many cubes).
    size : float or ndarray, optional
        Edge of a piece [m]; the usual one of the form when left out. A block takes none.

    Returns
    -------
    float or ndarray
        Whole surface [m2], all of it taken as wet: 6 m/(rho a), with a = (m/rho)^(1/3) for a
        block. A sphere of diameter a has the same.

    Raises
    ------
    PropertyError
        No such form, or a size given for a block.
    RangeError
        A negative mass, or a size that is not above zero.
    """
    if form not in FORMS:
        known = ", ".join(FORMS)
        raise PropertyError(f"there is no form of ice called {form!r}; known are {known}")
    within("mass of ice", mass, 0.0, float("inf"), "kg")
    if form == "block":
        if size is not None:
            raise PropertyError("a block of ice has no piece size; its edge follows from its mass")
        return 6.0 * (mass / DENSITY) ** (2.0 / 3.0)
    edge = FORMS[form].size if size is None else size
    within("size of a piece of ice", edge, 0.0, float("inf"), "m", open_low=True)
    return 6.0 * mass / (DENSITY * edge)


def melt_rate(mass: Any, mass0: Any, area0: Any, film: Any, t_water: Any) -> Any:
    """Return how fast ice at its melting point melts in water.

    Parameters
    ----------
    mass : float or ndarray
        Ice left [kg].
    mass0, area0 : float or ndarray
        Mass [kg] (above zero) and surface [m2] of the charge before any melted.
    film : float or ndarray
        Film coefficient [W/(m2 K)]; see `FILM`.
    t_water : float or ndarray
        Temperature of the water [K].

    Returns
    -------
    float or ndarray
        Rate of melting [kg/s]: film area (t_water - 273.15)/L, with the area falling as the
        mass to the two thirds (pieces keep their shape and number). Zero once the mass is not
        above zero, and in water below the melting point.
    """
    xp = ops_of(mass, mass0, area0, film, t_water)
    share = xp.maximum(mass, 0.0) / mass0
    warmth = xp.maximum(t_water - T_MELT, 0.0)
    return film * area0 * share ** (2.0 / 3.0) * warmth / LATENT_HEAT


def mass_left(mass: float, mass0: float, area0: float, film: float, warmth: float) -> float:
    """Return the ice left when melting at :func:`melt_rate` has gone on, in closed form.

    Parameters
    ----------
    mass : float
        Ice at first [kg].
    mass0, area0, film : float
        Of the charge, as for :func:`melt_rate`.
    warmth : float
        Integral over time of the water's temperature over the melting point [K s].

    Returns
    -------
    float
        [kg]; the cube root of the mass falls evenly with the warmth, to zero.
    """
    root: float = (mass / mass0) ** (1.0 / 3.0)
    root -= film * area0 * warmth / (3.0 * LATENT_HEAT * mass0)
    edge = max(root, 0.0)
    return mass0 * edge * edge * edge


def sensible_heat(t_ice: Any) -> Any:
    """Return the heat that warms a kilogram of ice to its melting point.

    Parameters
    ----------
    t_ice : float or ndarray
        Temperature of the ice [K], `T_LOW` to `T_MELT`; not checked.

    Returns
    -------
    float or ndarray
        Heat [J/kg], the integral of the straight-line specific heat.
    """
    depth = T_MELT - t_ice
    return (SPECIFIC_HEAT - 0.5 * SPECIFIC_HEAT_SLOPE * depth) * depth


def ice_heat(mass: Any, t_ice: Any) -> Any:
    """Return the heat that turns ice into water at the melting point. [poly]

    Parameters
    ----------
    mass : float or ndarray
        Mass of ice [kg].
    t_ice : float or ndarray
        Temperature of the ice [K].

    Returns
    -------
    float or ndarray
        Heat taken up [J].

    Raises
    ------
    RangeError
        The ice is colder than `T_LOW` or warmer than its melting point.
    """
    _check_ice(t_ice)
    return mass * (LATENT_HEAT + sensible_heat(t_ice))


def mix(water_mass: float, t_water: float, ice_mass: float, t_ice: float) -> tuple[float, float]:
    """Return where water and ice end up when left alone together.

    Parameters
    ----------
    water_mass, ice_mass : float
        Masses [kg], not negative and not both zero.
    t_water, t_ice : float
        Temperatures [K].

    Returns
    -------
    temperature : float
        Final temperature of the water [K]; 273.15 when ice is left.
    ice_left : float
        Ice left [kg]; more than was put in when little water meets very cold ice.

    Raises
    ------
    RangeError
        A temperature lies outside the tables, or a mass is negative.
    InfeasibleError
        All of it freezes.
    """
    water = liquid()
    water.enthalpy.check(t_water)
    _check_ice(t_ice)
    for name, mass in (("mass of water", water_mass), ("mass of ice", ice_mass)):
        if not mass >= 0.0:
            raise RangeError(name, mass, 0.0, float("inf"), "kg")
    total = water_mass + ice_mass
    if total == 0.0:
        raise RangeError("mass of water and ice", total, 0.0, float("inf"), "kg")
    surplus = water_mass * water.enthalpy(t_water) - ice_mass * sensible_heat(t_ice)
    ice_left = ice_mass - surplus / LATENT_HEAT
    if ice_left >= total:
        raise InfeasibleError("the ice is so cold that all the water freezes", best=T_MELT)
    if ice_left > 0.0:
        return T_MELT, float(ice_left)
    return float(water.temperature((surplus - ice_mass * LATENT_HEAT) / total)), 0.0


def _check_ice(t_ice: Any) -> None:
    within("temperature of ice", t_ice, T_LOW, T_MELT, "K")
