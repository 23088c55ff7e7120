"""Fuels: air they need, heat they hold, and what is usually asked of them at full power."""

from __future__ import annotations

from dataclasses import dataclass

from thermo.estimate import COMMON_PRACTICE, Estimate

OXYGEN_IN_AIR = 0.2314
"""Mass of oxygen in a mass of dry air [-]."""

_MASS = {"C": 12.011, "H": 1.008, "O": 15.999}


def stoichiometric_ratio(carbon: float, hydrogen: float, oxygen: float) -> float:
    """Mass of dry air that burns a unit mass of fuel completely.

    Parameters
    ----------
    carbon, hydrogen, oxygen : float
        Atoms of each in the fuel's formula, to any common factor [-].

    Returns
    -------
    float
        Air-fuel ratio by mass [-].

    Notes
    -----
    C_c H_h O_o + (c + h/4 - o/2) O2; air with 0.2314 oxygen by mass. Heywood, Internal
    Combustion Engine Fundamentals (1988), sect. 3.4 (from memory).
    """
    fuel = carbon * _MASS["C"] + hydrogen * _MASS["H"] + oxygen * _MASS["O"]
    moles = carbon + hydrogen / 4.0 - oxygen / 2.0
    return moles * 2.0 * _MASS["O"] / (OXYGEN_IN_AIR * fuel)


def mass_share(volume_share: float, density: float, other_density: float) -> float:
    """Mass share of a component that takes a share of the volume of a two-part blend.

    Parameters
    ----------
    volume_share : float
        Share of the volume [-], 0 to 1.
    density, other_density : float
        Density of the component and of the rest [kg/m3].

    Returns
    -------
    float
        Share of the mass [-]; volume change on mixing is neglected.
    """
    part = volume_share * density
    return part / (part + (1.0 - volume_share) * other_density)


def conversion_efficiency(specific_consumption: float, heating_value: float) -> float:
    """Share of the fuel's energy that becomes brake work.

    Parameters
    ----------
    specific_consumption : float
        Fuel mass a unit of brake energy [kg/J].
    heating_value : float
        Lower heating value [J/kg].

    Returns
    -------
    float
        Efficiency [-].

    Notes
    -----
    eta = 1/(bsfc LHV); Heywood eq. 2.24 (from memory).
    """
    return 1.0 / (specific_consumption * heating_value)


@dataclass(frozen=True, slots=True)
class Fuel:
    """A fuel, and how it is usually run at full power.

    Attributes
    ----------
    heating_value : float
        Lower heating value [J/kg].
    stoichiometric_ratio : float
        Air-fuel ratio of complete combustion, by mass [-].
    air_fuel_ratio : Estimate
        Usual ratio at full power, by mass [-].
    specific_consumption : Estimate
        Usual fuel mass a unit of brake energy at full power [kg/J].
    """

    heating_value: float
    stoichiometric_ratio: float
    air_fuel_ratio: Estimate
    specific_consumption: Estimate


_PER_KWH = 1e-3 / 3.6e6
"""One g/kWh in kg/J."""


def _consumption(value: float, low: float, high: float) -> Estimate:
    return Estimate(value * _PER_KWH, low * _PER_KWH, high * _PER_KWH, "kg/J", COMMON_PRACTICE)


def _ratio(value: float, low: float, high: float) -> Estimate:
    return Estimate(value, low, high, "", COMMON_PRACTICE)


_ETHANOL_SHARE = mass_share(0.85, 789.0, 745.0)
_PETROL_AIR = stoichiometric_ratio(1.0, 1.87, 0.0)
_ETHANOL_AIR = stoichiometric_ratio(2.0, 6.0, 1.0)

FUELS: dict[str, Fuel] = {
    "petrol": Fuel(43.5e6, _PETROL_AIR, _ratio(12.8, 12.4, 13.5), _consumption(300, 255, 395)),
    "ethanol": Fuel(26.9e6, _ETHANOL_AIR, _ratio(7.65, 7.2, 8.1), _consumption(490, 410, 580)),
    "e85": Fuel(
        _ETHANOL_SHARE * 26.9e6 + (1.0 - _ETHANOL_SHARE) * 43.5e6,
        _ETHANOL_SHARE * _ETHANOL_AIR + (1.0 - _ETHANOL_SHARE) * _PETROL_AIR,
        _ratio(8.3, 7.8, 8.8),
        _consumption(440, 365, 517),
    ),
    "methanol": Fuel(
        20.0e6, stoichiometric_ratio(1.0, 4.0, 1.0), _ratio(5.0, 4.2, 5.5),
        _consumption(680, 578, 791),
    ),
}
"""Heating values: Heywood, table D.4 (from memory; petrol 42.5 to 44.0 MJ/kg by blend). Petrol
is taken as CH1.87; E85 as 85 % ethanol by volume, mixed by mass."""
