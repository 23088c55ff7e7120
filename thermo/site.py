"""The site and its air: pressure from elevation or a report, and all that the weather sets.

Elevations are geopotential; at 3000 m the difference from a surveyed height is under 2 m.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.errors import PropertyError
from thermo.moist_air import (
    T_AIR_HIGH,
    T_AIR_LOW,
    density,
    dew_point,
    enhancement_factor,
    gas_constant,
    humidity_ratio,
    moist_air_conductivity,
    moist_air_viscosity,
    saturation_vapour_pressure,
    specific_heat,
    vapour_from_humidity,
)
from thermo.ops import FLOATS, Real, ops_of, within

STANDARD_PRESSURE = 101325.0
STANDARD_TEMPERATURE = 288.15
LAPSE = 0.0065
GRAVITY = 9.80665
R_STANDARD = 287.05287
"""Sea-level pressure [Pa] and temperature [K], lapse rate [K/m], gravity [m/s2] and gas constant
[J/(kg K)] of the standard atmosphere, ISO 2533:1975."""

STANDARD_DENSITY = STANDARD_PRESSURE / (R_STANDARD * STANDARD_TEMPERATURE)
"""Sea-level density of the standard atmosphere [kg/m3]."""

EXPONENT = GRAVITY / (R_STANDARD * LAPSE)
"""Exponent of pressure on temperature in the standard troposphere [-]."""

ELEVATION_LOW = -500.0
ELEVATION_HIGH = 5000.0
"""Range of elevation taken [m]."""

PRESSURE_LOW = 50e3
PRESSURE_HIGH = 110e3
"""Range of station pressure and altimeter setting taken [Pa]."""

J1349_PRESSURE = 99e3
J1349_TEMPERATURE = 298.0
"""Reference dry pressure [Pa] and temperature (25 degC + 273) [K] of SAE J1349."""

J1349_T_LOW, J1349_T_HIGH = 288.0, 308.0
J1349_P_LOW, J1349_P_HIGH = 90e3, 105e3
"""Range in which SAE J1349 allows its correction (15 to 35 degC, 90 to 105 kPa dry): from
memory, medium confidence."""


@dataclass(frozen=True, slots=True)
class Air:
    """Moist air at the site; every number may be an array with one entry a variant.

    Attributes
    ----------
    temperature : float
        [K]
    pressure : float
        Station pressure [Pa].
    elevation : float
        Geopotential elevation [m].
    relative_humidity : float
        Share of saturation over liquid water [-].
    dew_point : float or None
        [K]; None when the air is drier than a dew point of 238.15 K, NaN in an array.
    vapour_pressure, dry_pressure : float
        Relative humidity times saturation pressure, and the rest [Pa].
    humidity_ratio : float
        Vapour over dry air by mass [-], with the enhancement factor.
    density : float
        CIPM-2007 [kg/m3].
    gas_constant : float
        Ideal mixture [J/(kg K)].
    cp : float
        As an ideal gas [J/(kg K)].
    gamma : float
        cp/(cp - R) [-].
    viscosity : float
        [Pa s]
    conductivity : float
        [W/(m K)]
    prandtl : float
        [-]
    speed_of_sound : float
        sqrt(gamma R T) [m/s].
    density_altitude, pressure_altitude : float
        In the standard atmosphere [m].
    j1349_factor : float
        SAE J1349 correction for naturally aspirated spark-ignition engines [-].
    j1349_in_range : bool
        Whether the standard allows the correction on such a day.
    j1349_note : str
        Why not, in words; empty when it does, or for an array of days.
    """

    temperature: Any
    pressure: Any
    elevation: Any
    relative_humidity: Any
    dew_point: Any
    vapour_pressure: Any
    dry_pressure: Any
    humidity_ratio: Any
    density: Any
    gas_constant: Any
    cp: Any
    gamma: Any
    viscosity: Any
    conductivity: Any
    prandtl: Any
    speed_of_sound: Any
    density_altitude: Any
    pressure_altitude: Any
    j1349_factor: Any
    j1349_in_range: Any
    j1349_note: str


def standard_temperature(elevation: Any) -> Any:
    """Return the temperature of the standard atmosphere.

    Parameters
    ----------
    elevation : float or ndarray
        Geopotential elevation [m], up to 11 000; not checked.

    Returns
    -------
    float or ndarray
        Temperature [K]: ISO 2533:1975.
    """
    return STANDARD_TEMPERATURE - LAPSE * elevation


def standard_pressure(elevation: Any) -> Any:
    """Return the pressure of the standard atmosphere.

    Parameters
    ----------
    elevation : float or ndarray
        Geopotential elevation [m], up to 11 000; not checked.

    Returns
    -------
    float or ndarray
        Pressure [Pa]: ISO 2533:1975.
    """
    return STANDARD_PRESSURE * (1.0 - LAPSE * elevation / STANDARD_TEMPERATURE) ** EXPONENT


def pressure_altitude(p: Any) -> Any:
    """Return the standard elevation that has a pressure; inverse of :func:`standard_pressure`.

    Parameters
    ----------
    p : float or ndarray
        Pressure [Pa], above 22.6 kPa; not checked.

    Returns
    -------
    float or ndarray
        Geopotential elevation [m].
    """
    ratio = (p / STANDARD_PRESSURE) ** (1.0 / EXPONENT)
    return STANDARD_TEMPERATURE / LAPSE * (1.0 - ratio)


def density_altitude(rho: Any) -> Any:
    """Return the standard elevation that has a density.

    Parameters
    ----------
    rho : float or ndarray
        Density [kg/m3], above 0.365 (11 000 m); not checked.

    Returns
    -------
    float or ndarray
        Geopotential elevation [m]: inversion of ISO 2533:1975.
    """
    ratio = (rho / STANDARD_DENSITY) ** (1.0 / (EXPONENT - 1.0))
    return STANDARD_TEMPERATURE / LAPSE * (1.0 - ratio)


def station_from_altimeter(altimeter: Any, elevation: Any) -> Any:
    """Return the station pressure from an altimeter setting.

    Parameters
    ----------
    altimeter : float or ndarray
        Altimeter setting [Pa]: the sea-level pressure with which a standard altimeter on the
        field reads the field's elevation.
    elevation : float or ndarray
        Geopotential elevation of the field [m].

    Returns
    -------
    float or ndarray
        Station pressure [Pa]: the definition with the standard atmosphere, as in the Smithsonian
        Meteorological Tables, Table 65 (table number from memory). The 0.3 hPa that a reporting
        station takes off for the height of its sensor is left out.
    """
    n = 1.0 / EXPONENT
    ratio = (altimeter / STANDARD_PRESSURE) ** n - LAPSE * elevation / STANDARD_TEMPERATURE
    return STANDARD_PRESSURE * ratio**EXPONENT


def j1349_factor(dry_pressure: Any, T: Any) -> Any:
    """Return the SAE J1349 correction of a naturally aspirated spark-ignition engine.

    Parameters
    ----------
    dry_pressure : float or ndarray
        Pressure of the dry air [Pa].
    T : float or ndarray
        Air temperature [K].

    Returns
    -------
    float or ndarray
        Factor from power on the day to power at 99 kPa dry and 25 degC [-]:
        1.18 (99/p_d) sqrt(T/298) - 0.18, SAE J1349 (2004), for 85 % mechanical efficiency; T is
        the Celsius temperature plus 273, as the standard writes it. Range not checked.
    """
    root = ((T - 0.15) / J1349_TEMPERATURE) ** 0.5
    return 1.18 * (J1349_PRESSURE / dry_pressure) * root - 0.18


def j1349_allowed(dry_pressure: Any, T: Any) -> Any:
    """Return whether SAE J1349 allows its correction on a day.

    Parameters
    ----------
    dry_pressure : float or ndarray
        Pressure of the dry air [Pa].
    T : float or ndarray
        Air temperature [K].

    Returns
    -------
    bool or ndarray of bool
    """
    warm = (T - 0.15 >= J1349_T_LOW) & (T - 0.15 <= J1349_T_HIGH)
    return warm & (dry_pressure >= J1349_P_LOW) & (dry_pressure <= J1349_P_HIGH)


def j1349_note(dry_pressure: float, T: float) -> str:
    """Return why SAE J1349 does not allow its correction on a day; empty when it does.

    Parameters
    ----------
    dry_pressure : float
        Pressure of the dry air [Pa].
    T : float
        Air temperature [K].

    Returns
    -------
    str
    """
    parts = []
    celsius = T - 273.15
    if not J1349_T_LOW <= T - 0.15 <= J1349_T_HIGH:
        parts.append(f"the air is at {celsius:.1f} degC, the standard covers 15 to 35 degC")
    if not J1349_P_LOW <= dry_pressure <= J1349_P_HIGH:
        parts.append(
            f"the dry air is at {dry_pressure / 1e3:.1f} kPa, the standard covers 90 to 105 kPa"
        )
    return "; ".join(parts)


def air_state(
    *, temperature: Real, elevation: Real = 0.0, relative_humidity: Real | None = None,
    dew_point: Real | None = None, station_pressure: Real | None = None,
    altimeter: Real | None = None,
) -> Air:
    """Return the state of the air at the site. [poly]

    Parameters
    ----------
    temperature : float or ndarray
        Air temperature [K], 238.15 to 333.15. Density is held to 0.02 % over 263 to 323 K.
    elevation : float or ndarray
        Geopotential elevation [m], -500 to 5000.
    relative_humidity : float or ndarray, optional
        Share of saturation over liquid water [-]; give this or `dew_point`, or neither for dry
        air.
    dew_point : float or ndarray, optional
        Dew point over liquid water [K], 238.15 up to the air temperature.
    station_pressure : float or ndarray, optional
        Pressure at the site [Pa]; give this or `altimeter`, or neither for the standard
        atmosphere at the elevation.
    altimeter : float or ndarray, optional
        Altimeter setting [Pa].

    Returns
    -------
    Air

    Raises
    ------
    RangeError
        A value lies outside its range.
    PropertyError
        The dew point is above the air temperature, or both ways to give the humidity, or both
        ways to give the pressure, were used.
    """
    if relative_humidity is not None and dew_point is not None:
        raise PropertyError("give the relative humidity or the dew point, not both")
    within("air temperature", temperature, T_AIR_LOW, T_AIR_HIGH, "K")
    p = _pressure(elevation, station_pressure, altimeter)
    e = vapour_from_humidity(temperature, relative_humidity, dew_point)
    return _air(temperature, p, elevation, e)


def _air(T: Real, p: Real, elevation: Real, e: Real) -> Air:
    x = e * enhancement_factor(T, p) / p
    W = humidity_ratio(x * p, p)
    rho = density(T, p, x)
    R, cp = gas_constant(W), specific_heat(T, W)
    gamma = cp / (cp - R)
    mu, k = moist_air_viscosity(T, W), moist_air_conductivity(T, W)
    xp = ops_of(T, p, e)
    return Air(
        temperature=T, pressure=p, elevation=elevation,
        relative_humidity=e / saturation_vapour_pressure(T), dew_point=_dew(e),
        vapour_pressure=e, dry_pressure=p - e, humidity_ratio=W, density=rho, gas_constant=R,
        cp=cp, gamma=gamma, viscosity=mu, conductivity=k, prandtl=cp * mu / k,
        speed_of_sound=xp.sqrt(gamma * R * T), density_altitude=density_altitude(rho),
        pressure_altitude=pressure_altitude(p), j1349_factor=j1349_factor(p - e, T),
        j1349_in_range=j1349_allowed(p - e, T),
        j1349_note=j1349_note(float(p - e), float(T)) if xp is FLOATS else "",
    )


def _dew(e: Any) -> Real | None:
    driest = saturation_vapour_pressure(T_AIR_LOW)
    if not isinstance(e, np.ndarray):
        return dew_point(e) if e >= driest else None
    return np.where(e >= driest, dew_point(np.maximum(e, driest)), np.nan)


def _pressure(elevation: Real, station: Real | None, altimeter: Real | None) -> Real:
    if station is not None and altimeter is not None:
        raise PropertyError("give the station pressure or the altimeter setting, not both")
    within("elevation", elevation, ELEVATION_LOW, ELEVATION_HIGH, "m")
    if station is not None:
        within("station pressure", station, PRESSURE_LOW, PRESSURE_HIGH, "Pa")
        return station
    if altimeter is None:
        return standard_pressure(elevation)  # type: ignore[no-any-return]
    within("altimeter setting", altimeter, 90e3, PRESSURE_HIGH, "Pa")
    p = station_from_altimeter(altimeter, elevation)
    within("station pressure from the altimeter setting", p, PRESSURE_LOW, PRESSURE_HIGH, "Pa")
    return p  # type: ignore[no-any-return]
