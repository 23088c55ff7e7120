"""The liquids of the two loops: water, and water with ethylene or propylene glycol.

A :class:`Liquid` is a set of property curves of temperature made from the tables of
:mod:`thermo.properties`. Call a curve for speed (``liquid.density(T)``), or use its ``checked``
where the temperature has not been looked at yet.

Glycol mixtures are tabled to 100 degC, and a pressurised loop runs hotter. Above 373.15 K the
polynomials in temperature of density, specific heat and conductivity are continued, and the
logarithm of viscosity follows a parabola in 1/T drawn through 20 to 100 degC. Two trials set the
stated error at 135 degC, the constants ``EXTRAPOLATION_*``, and both are tests: the same rules
drawn through the rows of the ASHRAE tables up to 65 degC and asked for the rows up to 100 degC,
and the same rules drawn through plain water from 0 to 100 degC and asked for 135 degC. Water is
the worse of the two, by its own curvature, so the figures are on the careful side.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import log
from typing import Any

import numpy as np

from thermo.errors import PropertyError, RangeError
from thermo.properties import load_tables
from thermo.tables import Curve, Floats, GlycolTable, WaterTable, fit_curve

T_ZERO = 273.15
"""Temperature at which the enthalpy of every liquid is taken as zero [K]."""

GLYCOL_T_TOP = 408.15
"""Highest temperature to which glycol mixtures are continued [K]."""

MOLAR_MASS_WATER = 18.015268e-3
MOLAR_MASS = {"ethylene": 62.0678e-3, "propylene": 76.0944e-3}
"""Molar masses of water and of the glycols [kg/mol]."""

EXTRAPOLATION_DENSITY = 0.004
EXTRAPOLATION_SPECIFIC_HEAT = 0.015
EXTRAPOLATION_CONDUCTIVITY = 0.015
EXTRAPOLATION_VISCOSITY = 0.05
"""Stated error of the continuation 35 K beyond the table, as a share of the value."""

_MASS = (0.0, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.35, 0.40, 0.45, 0.50, 0.55, 0.60)
_VOLUME_TO_MASS: dict[str, tuple[tuple[float, ...], tuple[float, ...]]] = {
    "ethylene": (
        (0.0, 0.044, 0.089, 0.136, 0.181, 0.229, 0.277, 0.326, 0.375, 0.425, 0.476, 0.527,
         0.578, 0.600),
        (*_MASS, 0.6216),
    ),
    "propylene": (
        (0.0, 0.048, 0.096, 0.145, 0.194, 0.244, 0.294, 0.344, 0.396, 0.447, 0.499, 0.550,
         0.600),
        _MASS,
    ),
}
"""Volume and mass fraction of glycol, rows of 5 % by mass: ASHRAE Handbook, Fundamentals,
ch. 31, as stored in the CoolProp repository (CPIncomp/data/SecCool/xVolume, Vol2Mass). The last
ethylene row (60 % by volume) is not in that table; it continues the slope of the rows before."""


@dataclass(frozen=True, slots=True)
class Liquid:
    """One liquid: what it is, its range, and its properties as curves.

    Every curve takes a temperature [K] unless stated. Curves do not check their range when
    called; use ``.checked`` or ``.check``.

    Attributes
    ----------
    name : str
        In words.
    glycol : str
        ``"none"``, ``"ethylene"`` or ``"propylene"``.
    volume_fraction, mass_fraction : float
        Share of glycol [-].
    t_low, t_high : float
        Range of the liquid curves [K].
    t_tabled : float
        Temperature above which a mixture is extrapolated [K]; `t_high` for water.
    freezing_point : float
        Temperature at which ice begins to form [K].
    density : Curve
        [kg/m3]
    specific_heat : Curve
        At constant pressure [J/(kg K)].
    viscosity : Curve
        [Pa s]
    conductivity : Curve
        [W/(m K)]
    enthalpy : Curve
        Exact integral of `specific_heat`, zero at 273.15 K [J/kg]; pressure is left out.
    temperature : Curve
        Inverse of `enthalpy`: enthalpy [J/kg] to temperature [K], within 1e-4 K.
    water_mole_fraction : float
        Share of the molecules that are water [-].
    saturation_pressure : Curve
        Raoult's law on the water, the glycol taken as without vapour [Pa]. It holds down to
        238.15 K, over supercooled liquid.
    saturation_temperature : Curve
        Absolute pressure [Pa] to boiling temperature [K].
    latent_heat : Curve
        Of the water that boils off [J/kg].
    density_slope : Curve
        Change of density with temperature [kg/(m3 K)].
    """

    name: str
    glycol: str
    volume_fraction: float
    mass_fraction: float
    t_low: float
    t_high: float
    t_tabled: float
    freezing_point: float
    density: Curve
    specific_heat: Curve
    viscosity: Curve
    conductivity: Curve
    enthalpy: Curve
    temperature: Curve
    water_mole_fraction: float
    saturation_pressure: Curve
    saturation_temperature: Curve
    latent_heat: Curve
    density_slope: Curve

    def volume_ratio(self, T0: Any, T1: Any) -> Any:
        """Return the volume at `T1` over that at `T0` of the same mass [-]; unchecked.

        Parameters
        ----------
        T0, T1 : float or ndarray
            Temperatures [K].

        Returns
        -------
        float or ndarray
        """
        return self.density(T0) / self.density(T1)

    def expansion_coefficient(self, T: Any) -> Any:
        """Return the volumetric expansion coefficient [1/K]; unchecked.

        Parameters
        ----------
        T : float or ndarray
            Temperature [K].

        Returns
        -------
        float or ndarray
            -(d rho/d T)/rho; negative in water below 4 degC.
        """
        return -self.density_slope(T) / self.density(T)


def volume_to_mass(glycol: str, volume_fraction: float) -> float:
    """Convert a share of glycol by volume to one by mass.

    Parameters
    ----------
    glycol : str
        ``"ethylene"`` or ``"propylene"``.
    volume_fraction : float
        Volume of glycol over that of the mixture [-], 0 to 0.60.

    Returns
    -------
    float
        Mass fraction [-], within 0.002 of the ASHRAE table.

    Raises
    ------
    RangeError
        The fraction lies outside the table.
    PropertyError
        No such glycol.
    """
    volumes, masses = _fractions(glycol)
    return _interpolate(f"volume fraction of {glycol} glycol", volume_fraction, volumes, masses)


def mass_to_volume(glycol: str, mass_fraction: float) -> float:
    """Convert a share of glycol by mass to one by volume; inverse of :func:`volume_to_mass`.

    Parameters
    ----------
    glycol : str
        ``"ethylene"`` or ``"propylene"``.
    mass_fraction : float
        Mass of glycol over that of the mixture [-], 0 to about 0.6.

    Returns
    -------
    float
        Volume fraction [-].

    Raises
    ------
    RangeError
        The fraction lies outside the table.
    PropertyError
        No such glycol.
    """
    volumes, masses = _fractions(glycol)
    return _interpolate(f"mass fraction of {glycol} glycol", mass_fraction, masses, volumes)


def water_mole_fraction(glycol: str, mass_fraction: float) -> float:
    """Return the share of molecules that are water.

    Parameters
    ----------
    glycol : str
        ``"ethylene"`` or ``"propylene"``.
    mass_fraction : float
        Mass fraction of glycol [-].

    Returns
    -------
    float
        Mole fraction of water [-].
    """
    water = (1.0 - mass_fraction) / MOLAR_MASS_WATER
    return water / (water + mass_fraction / MOLAR_MASS[glycol])


@lru_cache(maxsize=256)
def liquid(glycol: str = "none", volume_fraction: float = 0.0) -> Liquid:
    """Return the liquid with a share of glycol by volume.

    Parameters
    ----------
    glycol : str
        ``"none"``, ``"ethylene"`` or ``"propylene"``.
    volume_fraction : float
        Share of glycol by volume [-]: 0, or 0.10 to 0.60.

    Returns
    -------
    Liquid
        Plain water at a fraction of 0.

    Raises
    ------
    RangeError
        The fraction lies outside the tables.
    PropertyError
        No such glycol, or a fraction given without one.

    Notes
    -----
    Boiling by Raoult's law on the water mole fraction: about 108 degC for 50 % ethylene glycol
    by volume at 1 atm, where makers print about 107 (from memory).
    """
    if glycol == "none":
        if volume_fraction != 0.0:
            raise PropertyError("a share of glycol was given without saying which glycol")
        return _water(load_tables().water)
    _fractions(glycol)
    if volume_fraction == 0.0:
        return _water(load_tables().water)
    tables = load_tables()
    table = tables.ethylene if glycol == "ethylene" else tables.propylene
    if not table.v_low <= volume_fraction <= table.v_high:
        raise RangeError(
            f"volume fraction of {glycol} glycol", volume_fraction, table.v_low, table.v_high
        )
    return _mixture(table, tables.water, volume_fraction)


def _fractions(glycol: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    if glycol not in _VOLUME_TO_MASS:
        known = ", ".join(_VOLUME_TO_MASS)
        raise PropertyError(f"there is no glycol called {glycol!r}; known are {known}")
    return _VOLUME_TO_MASS[glycol]


def _interpolate(name: str, x: float, xs: tuple[float, ...], ys: tuple[float, ...]) -> float:
    if not xs[0] <= x <= xs[-1]:
        raise RangeError(name, x, xs[0], xs[-1])
    return float(np.interp(x, xs, ys))


def _water(table: WaterTable) -> Liquid:
    enthalpy, temperature = _enthalpy(table.specific_heat, "water")
    return Liquid(
        name="water", glycol="none", volume_fraction=0.0, mass_fraction=0.0,
        t_low=table.density.low, t_high=table.density.high, t_tabled=table.density.high,
        freezing_point=T_ZERO,
        density=table.density, specific_heat=table.specific_heat,
        viscosity=table.viscosity, conductivity=table.conductivity,
        enthalpy=enthalpy, temperature=temperature, water_mole_fraction=1.0,
        saturation_pressure=table.saturation_pressure,
        saturation_temperature=table.saturation_temperature, latent_heat=table.latent_heat,
        density_slope=table.density.slope("change of density of water", "kg/(m3 K)"),
    )


def _mixture(table: GlycolTable, water: WaterTable, v: float) -> Liquid:
    what = f"{100 * v:.3g} % {table.name} glycol in water"
    freezing = table.freezing_point(v)
    low, high = max(freezing, table.t_low), GLYCOL_T_TOP
    density = table.density.curve(v, f"density of {what}", low, high)
    heat = table.specific_heat.curve(v, f"specific heat of {what}", low, high)
    tabled = table.viscosity.curve(v, f"viscosity of {what}", low, high)
    enthalpy, temperature = _enthalpy(heat, what)
    mass = volume_to_mass(table.name, v)
    share = water_mole_fraction(table.name, mass)
    pressure, boiling = water.saturation_pressure, water.saturation_temperature
    pressure = replace(
        pressure, name=f"saturation pressure of {what}", high=high,
        coefs=(*pressure.coefs[:-1], pressure.coefs[-1] + log(share)),
    )
    boiling = replace(
        boiling, name=f"saturation temperature of {what}", centre=boiling.centre + log(share),
        low=pressure(pressure.low), high=pressure(pressure.high),
    )
    return Liquid(
        name=what, glycol=table.name, volume_fraction=v, mass_fraction=mass,
        t_low=low, t_high=high, t_tabled=table.t_high, freezing_point=freezing,
        density=density, specific_heat=heat, viscosity=_viscosity(tabled, table.t_high),
        conductivity=table.conductivity.curve(v, f"conductivity of {what}", low, high),
        enthalpy=enthalpy, temperature=temperature, water_mole_fraction=share,
        saturation_pressure=pressure, saturation_temperature=boiling,
        latent_heat=water.latent_heat,
        density_slope=density.slope(f"change of density of {what}", "kg/(m3 K)"),
    )


def _enthalpy(heat: Curve, what: str) -> tuple[Curve, Curve]:
    """Return the integral of a specific heat, and the fit of its inverse."""
    enthalpy = heat.integral(T_ZERO, f"enthalpy of {what}", "J/kg")

    def inverse(h: Floats) -> Floats:
        T = T_ZERO + h / heat(T_ZERO)
        for _ in range(6):
            T = T - (enthalpy(T) - h) / heat(T)
        return np.asarray(T)

    low, high = enthalpy(heat.low), enthalpy(heat.high)
    return enthalpy, fit_curve(
        inverse, low, high, 10, name=f"temperature of {what} by enthalpy", unit="K",
        absolute=True, x_unit="J/kg", dense=201,
    )


def _viscosity(tabled: Curve, top: float) -> Curve:
    """Join the tabled viscosity to its continuation above `top`, as one curve.

    CoolProp's polynomial falls up to 2.6 % short of the ASHRAE table near 100 degC and turns
    steep beyond it. The parabola of ln(mu) in 1/T through 20 to 100 degC does neither, so the
    curve passes from the one to the other between 60 degC and `top`.
    """
    span = np.linspace(293.15, top, 41)
    parabola = np.polyfit(1.0 / span, np.log(tabled(span)), 2)

    def joined(T: Floats) -> Floats:
        share = np.clip((T - 333.15) / (top - 333.15), 0.0, 1.0)
        share = share * share * (3.0 - 2.0 * share)
        inside = np.log(tabled(np.minimum(T, top)))
        return np.asarray(np.exp(inside + share * (np.polyval(parabola, 1.0 / T) - inside)))

    return fit_curve(
        joined, tabled.low, tabled.high, 9, name=tabled.name, unit=tabled.unit,
        log_value=True, dense=201,
    )
