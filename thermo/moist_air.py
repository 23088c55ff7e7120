"""Moist air: humidity, density and transport, from fitted tables and published equations.

Humidity is by the convention of the meteorological services at every temperature: saturation is
over liquid water, supercooled below 0 degC. CoolProp is not imported here; the tests hold these
equations against its humid-air functions.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from thermo.errors import PropertyError
from thermo.ops import ops_of, within
from thermo.properties import SATURATION_LOW, load_tables

R_MOLAR = 8.314472
"""Molar gas constant as used by CIPM-2007 [J/(mol K)]."""

MOLAR_MASS_AIR = 28.96546e-3
MOLAR_MASS_VAPOUR = 18.01528e-3
"""Molar masses of dry air with 400 ppm of CO2 and of water, CIPM-2007 [kg/mol]."""

EPSILON = MOLAR_MASS_VAPOUR / MOLAR_MASS_AIR
"""Ratio of the molar masses [-]."""

T_AIR_LOW = 238.15
T_AIR_HIGH = 333.15
"""Range of air temperature taken as weather [K]."""

ROUNDING = 1e-12
"""Share of a temperature by which -35 degC may miss 238.15 K."""


def saturation_vapour_pressure(T: Any) -> Any:
    """Return the pressure of saturated water vapour over liquid water.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K], 238.15 to 473.15, supercooled below 273.16; not checked.

    Returns
    -------
    float or ndarray
        Pressure of the pure vapour [Pa]. Fitted to CoolProp's IAPWS-95 from the triple point
        up; below it the fit is continued (within 0.1 % of Murphy and Koop, 2005).
    """
    return load_tables().water.saturation_pressure(T)


def dew_point(vapour_pressure: Any) -> Any:
    """Return the dew point, over liquid water also below 0 degC.

    Parameters
    ----------
    vapour_pressure : float or ndarray
        Partial pressure of the vapour [Pa], that of saturation at 238.15 K (31 Pa) or more.

    Returns
    -------
    float or ndarray
        Dew point [K].

    Raises
    ------
    RangeError
        Air drier than a dew point of 238.15 K, or a pressure above the table.
    """
    return load_tables().water.saturation_temperature.checked(vapour_pressure)


def enhancement_factor(T: Any, p: Any) -> Any:
    """Return the factor by which air raises the vapour pressure of saturation.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K]; stated for 288 to 300 K, within 0.04 % of CoolProp over 263 to 333 K.
    p : float or ndarray
        Pressure [Pa], 60 to 110 kPa.

    Returns
    -------
    float or ndarray
        Factor [-]: Picard et al. (2008), CIPM-2007, Appendix A1.2 (constants from memory).
    """
    t = T - 273.15
    return 1.00062 + 3.14e-8 * p + 5.6e-7 * t * t


def humidity_ratio(vapour_pressure: Any, p: Any) -> Any:
    """Return the mass of vapour for each mass of dry air.

    Parameters
    ----------
    vapour_pressure : float or ndarray
        Mole fraction of vapour times the pressure [Pa], below `p`.
    p : float or ndarray
        Pressure [Pa].

    Returns
    -------
    float or ndarray
        Humidity ratio [-]: ASHRAE Handbook, Fundamentals (2017), ch. 1, eq. 20.
    """
    return EPSILON * vapour_pressure / (p - vapour_pressure)


def mole_fraction(W: Any) -> Any:
    """Return the mole fraction of vapour from the humidity ratio.

    Parameters
    ----------
    W : float or ndarray
        Humidity ratio [-].

    Returns
    -------
    float or ndarray
        Mole fraction [-].
    """
    return W / (W + EPSILON)


def gas_constant(W: Any) -> Any:
    """Return the gas constant of moist air taken as an ideal mixture.

    Parameters
    ----------
    W : float or ndarray
        Humidity ratio [-].

    Returns
    -------
    float or ndarray
        Gas constant [J/(kg K)]; p/(R T) is within 0.1 % of the density by CIPM-2007.
    """
    x = mole_fraction(W)
    return R_MOLAR / (MOLAR_MASS_AIR * (1.0 - x) + MOLAR_MASS_VAPOUR * x)


def compressibility_factor(T: Any, p: Any, x: Any) -> Any:
    """Return the compressibility factor of moist air.

    Parameters
    ----------
    T, p : float or ndarray
        Temperature [K] and pressure [Pa].
    x : float or ndarray
        Mole fraction of vapour [-].

    Returns
    -------
    float or ndarray
        Factor Z [-]: Picard et al. (2008), CIPM-2007, Appendix A1.4 (constants from memory).
    """
    t = T - 273.15
    dry = 1.58123e-6 - 2.9331e-8 * t + 1.1043e-10 * t * t
    cross = 5.707e-6 - 2.051e-8 * t
    wet = 1.9898e-4 - 2.376e-6 * t
    r = p / T
    return 1.0 - r * (dry + cross * x + wet * x * x) + r * r * (1.83e-11 - 0.765e-8 * x * x)


def density(T: Any, p: Any, x: Any) -> Any:
    """Return the density of moist air by the CIPM-2007 equation.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K]. Stated for 288 to 300 K; within 0.02 % of CoolProp's humid air over
        263 to 323 K, which a test holds.
    p : float or ndarray
        Pressure [Pa], 60 to 110 kPa.
    x : float or ndarray
        Mole fraction of vapour [-].

    Returns
    -------
    float or ndarray
        Density [kg/m3]: Picard et al. (2008), Metrologia 45, 149, eq. 1.
    """
    Z = compressibility_factor(T, p, x)
    return p * MOLAR_MASS_AIR / (Z * R_MOLAR * T) * (1.0 - x * (1.0 - EPSILON))


def specific_heat(T: Any, W: Any) -> Any:
    """Return the specific heat of moist air at constant pressure.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K], 233.15 to 423.15; not checked.
    W : float or ndarray
        Humidity ratio [-].

    Returns
    -------
    float or ndarray
        For a kilogram of the mixture [J/(kg K)], the parts by mass, each as an ideal gas so
        that cp - cv = R: 0.2 % below CoolProp's humid air when dry, up to 1 % below it when
        saturated at 50 degC.
    """
    air = load_tables().air
    return (air.specific_heat(T) + W * air.vapour_specific_heat(T)) / (1.0 + W)


def moist_air_viscosity(T: Any, W: Any) -> Any:
    """Return the viscosity of moist air.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K], 233.15 to 423.15; not checked.
    W : float or ndarray
        Humidity ratio [-].

    Returns
    -------
    float or ndarray
        Viscosity [Pa s] by Wilke (1950), with pure air and dilute vapour at `T`. Within 1 % of
        CoolProp's humid air for W up to 0.03; wetter, up to 2 % below it, because CoolProp
        takes the vapour at its boiling point for the whole pressure instead of at `T`.
    """
    air = load_tables().air
    mu_a, mu_v = air.viscosity(T), air.vapour_viscosity(T)
    to_air, to_vapour = _wilke(mu_a, mu_v)
    x = mole_fraction(W)
    y = 1.0 - x
    return y * mu_a / (y + x * to_air) + x * mu_v / (x + y * to_vapour)


def moist_air_conductivity(T: Any, W: Any) -> Any:
    """Return the conductivity of moist air.

    Parameters
    ----------
    T : float or ndarray
        Temperature [K], 233.15 to 423.15; not checked.
    W : float or ndarray
        Humidity ratio [-].

    Returns
    -------
    float or ndarray
        Conductivity [W/(m K)] by Wassiljewa's form with Wilke's factors (Mason and Saxena,
        1958). Within 1.5 % of CoolProp's humid air for W up to 0.03; see
        :func:`moist_air_viscosity` for why not closer.
    """
    air = load_tables().air
    to_air, to_vapour = _wilke(air.viscosity(T), air.vapour_viscosity(T))
    x = mole_fraction(W)
    y = 1.0 - x
    dry, wet = air.conductivity(T), air.vapour_conductivity(T)
    return y * dry / (y + x * to_air) + x * wet / (x + y * to_vapour)


def _wilke(mu_a: Any, mu_v: Any) -> tuple[Any, Any]:
    """Return Wilke's factors of vapour upon air and of air upon vapour."""
    root = ops_of(mu_a, mu_v).sqrt(mu_a / mu_v)
    q = EPSILON**0.25
    to_air = (1.0 + root * q) ** 2 / (8.0 * (1.0 + 1.0 / EPSILON)) ** 0.5
    to_vapour = (1.0 + 1.0 / (root * q)) ** 2 / (8.0 * (1.0 + EPSILON)) ** 0.5
    return to_air, to_vapour


def vapour_from_humidity(T: Any, relative_humidity: Any, dew: Any) -> Any:
    """Return the partial pressure of vapour from one of the two ways to give humidity. [poly]

    Parameters
    ----------
    T : float or ndarray
        Air temperature [K].
    relative_humidity : float or ndarray or None
        Share of saturation over liquid water [-], 0 to 1.
    dew : float or ndarray or None
        Dew point [K], over liquid water.

    Returns
    -------
    float or ndarray
        Vapour pressure [Pa], without the enhancement factor; 0 when neither is given.

    Raises
    ------
    RangeError
        The humidity is not within 0 to 1, or the dew point is outside the table.
    PropertyError
        The dew point is above the air temperature: the air would be supersaturated.
    """
    if dew is not None:
        _refuse_fog(T, dew)
        within("dew point", dew, SATURATION_LOW * (1.0 - ROUNDING), T, "K")
        return saturation_vapour_pressure(dew)
    if relative_humidity is None:
        return 0.0
    within("relative humidity (above 1 is supersaturated)", relative_humidity, 0.0, 1.0)
    return relative_humidity * saturation_vapour_pressure(T)


def _refuse_fog(T: Any, dew: Any) -> None:
    over = np.asarray(dew > T)
    if not bool(over.any()):
        return
    wet, warm = (float(np.broadcast_to(v, over.shape)[over].flat[0]) for v in (dew, T))
    error = PropertyError(
        f"a dew point of {wet - 273.15:.2f} degC is above the air temperature of "
        f"{warm - 273.15:.2f} degC: the air would be supersaturated"
    )
    error.where = over if over.ndim else None
    raise error
