"""Liquid with nowhere to go: a full vessel, or a line between two shut valves or couplings."""

from __future__ import annotations

from typing import Any

from thermo.ops import ops_of

_KELL_TOP = (50.88496, 0.6163813, 1.459187e-3, 20.08438e-6, -58.47727e-9, 410.4110e-12)
_KELL_BOTTOM = 19.67348e-3


def compressibility(temperature: Any) -> Any:
    """Isothermal compressibility of liquid water at one atmosphere. [poly]

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]; 273 to 373 K.

    Returns
    -------
    float or ndarray
        Compressibility [1/Pa].

    Notes
    -----
    Rational fit of Kell, J. Chem. Eng. Data 20 (1975) 97, equation for the
    compressibility from the speed of sound (from memory); within 0.02 % of
    IAPWS-95 in the tests.
    """
    t = temperature - 273.15
    a, b, c, d, e, f = _KELL_TOP
    top = a + t * (b + t * (c + t * (d + t * (e + t * f))))
    return top / (1.0 + _KELL_BOTTOM * t) * 1e-11


def trapped_pressure_slope(expansion: Any, squeeze: Any) -> Any:
    """Pressure rise per kelvin of liquid that fills a rigid vessel. [poly]

    Parameters
    ----------
    expansion : float or ndarray
        Volumetric expansion coefficient [1/K].
    squeeze : float or ndarray
        Isothermal compressibility [1/Pa].

    Returns
    -------
    float or ndarray
        (dp/dT)_v = beta/kappa_T [Pa/K], a thermodynamic identity. Walls that give take less.
    """
    return expansion / squeeze


def trapped_pressure_rise(density_cold: Any, density_hot: Any, squeeze: Any) -> Any:
    """Pressure rise of liquid shut in cold between two valves and heated. [poly]

    Parameters
    ----------
    density_cold, density_hot : float or ndarray
        Density at the first and at the last temperature, both near one atmosphere [kg/m3].
    squeeze : float or ndarray
        Isothermal compressibility at the last temperature [1/Pa].

    Returns
    -------
    float or ndarray
        Rise [Pa]: ln(rho1/rho2)/kappa_T, heating at constant pressure and then squeezing back;
        rigid walls. Low by 1 % for each 60 bar, as water stiffens with pressure.
    """
    return ops_of(density_cold, density_hot, squeeze).log(density_cold / density_hot) / squeeze
