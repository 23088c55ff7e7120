"""Air that the engine asks for, by its displacement or by its power."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

from thermo.engine import burnt_air_flow, swept_air_flow
from thermo.ops import Real, ops_of


class Demand(Protocol):
    """What the engine draws at a plenum state."""

    def flow(self, pressure: Real, temperature: Real) -> Real:
        """Return the mass flow [kg/s] at a plenum pressure [Pa] and temperature [K]."""
        ...


def power_ratio(
    pressure: Real, temperature: Real, reference_pressure: Real, reference_temperature: Real
) -> Real:
    """Return the brake power at an inlet state over that at a reference state.

    Parameters
    ----------
    pressure : float or ndarray
        Dry-air pressure at the inlet [Pa].
    temperature : float or ndarray
        Temperature at the inlet [K].
    reference_pressure : float or ndarray
        Reference pressure [Pa].
    reference_temperature : float or ndarray
        Reference temperature [K].

    Returns
    -------
    float or ndarray
        1.18 (p/p_ref) sqrt(T_ref/T) - 0.18 [-].

    Notes
    -----
    Indicated power goes with the air charge, friction does not: the 0.85 mechanical-efficiency
    form behind SAE J1349 (2004), for a naturally aspirated engine at full throttle. The
    standard's own range is a ratio of 0.93 to 1.07; beyond it is an extrapolation.
    """
    xp = ops_of(pressure, temperature, reference_pressure, reference_temperature)
    root = xp.sqrt(reference_temperature / temperature)
    ratio: Real = 1.18 * (pressure / reference_pressure) * root - 0.18
    return ratio


def compressor_temperature_ratio(
    pressure_ratio: Real, efficiency: Real = 1.0, gamma: Real = 1.4
) -> Real:
    """Return the stagnation temperature behind a compressor over that before it.

    Parameters
    ----------
    pressure_ratio : float or ndarray
        Stagnation pressure behind over before, 1 or more [-].
    efficiency : float or ndarray, optional
        Isentropic efficiency, above 0 and up to 1 [-]; 0.5 (Roots) to 0.75 (centrifugal).
    gamma : float or ndarray, optional
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        1 + (r^((gamma - 1)/gamma) - 1)/efficiency [-].

    Notes
    -----
    Definition of the isentropic efficiency, e.g. Cengel and Cimbala.
    """
    ratio: Real = 1.0 + (pressure_ratio ** ((gamma - 1.0) / gamma) - 1.0) / efficiency
    return ratio


def charge_density_ratio(
    pressure_ratio: Real,
    efficiency: Real = 0.65,
    cooling: Real = 0.0,
    coolant_over_inlet: Real = 1.0,
    gamma: Real = 1.4,
) -> Real:
    """Return the density behind a pressure charger and its cooler over that at its inlet.

    Parameters
    ----------
    pressure_ratio : float or ndarray
        Stagnation pressure behind over before, 1 or more [-].
    efficiency : float or ndarray, optional
        Isentropic efficiency [-].
    cooling : float or ndarray, optional
        Effectiveness of the charge cooler, 0 (none) to 1 [-].
    coolant_over_inlet : float or ndarray, optional
        Temperature that cools the charge over the temperature at the compressor's inlet, both
        absolute [-].
    gamma : float or ndarray, optional
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Density ratio [-]. The pressure lost in the cooler belongs in `pressure_ratio`.
    """
    hot = compressor_temperature_ratio(pressure_ratio, efficiency, gamma)
    return pressure_ratio / (hot - cooling * (hot - coolant_over_inlet))


@dataclass(frozen=True, slots=True)
class DisplacementDemand:
    """Demand by displacement; a pressure charger multiplies the density.

    Attributes
    ----------
    displacement : float or ndarray
        Swept volume [m3].
    rpm : float or ndarray
        Engine speed [1/min].
    gas_constant : float or ndarray
        Specific gas constant of the air [J/(kg K)].
    revs_per_intake : float
        Crank turns for each intake: 2 four-stroke, 1 two-stroke [-].
    volumetric_efficiency : float or ndarray
        Filling against the density before the cylinders [-].
    charge_density : float or ndarray
        Density behind the pressure charger over that at the plenum [-]; 1 without one. At a
        fixed ratio the charger's mass flow follows its inlet density.
    """

    displacement: Real
    rpm: Real
    gas_constant: Real
    revs_per_intake: float = 2.0
    volumetric_efficiency: Real = 0.95
    charge_density: Real = 1.0

    def flow(self, pressure: Real, temperature: Real) -> Real:
        """Return the mass flow [kg/s] at a plenum pressure [Pa] and temperature [K].

        The air in the plenum is at rest: stagnation values are static values.
        """
        density = self.charge_density * pressure / (self.gas_constant * temperature)
        drawn: Real = swept_air_flow(
            self.displacement, self.rpm / 60.0, self.volumetric_efficiency, density,
            round(2.0 * self.revs_per_intake),
        )
        return drawn


@dataclass(frozen=True, slots=True)
class PowerDemand:
    """Demand by power, which follows the air that arrives.

    Attributes
    ----------
    power : float or ndarray
        Brake power at the reference state [W].
    specific_consumption : float or ndarray
        Fuel for each unit of work [kg/J].
    air_fuel_ratio : float or ndarray
        Air over fuel by mass [-].
    reference_pressure : float or ndarray
        Plenum pressure at which the power holds [Pa].
    reference_temperature : float or ndarray
        Plenum temperature at which the power holds [K].

    Notes
    -----
    A pressure charger is in the power and the consumption already: at a fixed pressure ratio
    its flow follows the same inlet state.
    """

    power: Real
    specific_consumption: Real
    air_fuel_ratio: Real
    reference_pressure: Real
    reference_temperature: Real

    def flow(self, pressure: Real, temperature: Real) -> Real:
        """Return the mass flow [kg/s] at a plenum pressure [Pa] and temperature [K].

        Negative below 15 % of the reference density, where no power is left: a search for the
        flow then turns back.
        """
        ratio = power_ratio(
            pressure, temperature, self.reference_pressure, self.reference_temperature
        )
        drawn: Real = burnt_air_flow(
            self.power * ratio, self.specific_consumption, self.air_fuel_ratio
        )
        return drawn


@dataclass(frozen=True, slots=True)
class SteadyDemand:
    """An engine whose air flow does not follow the air that arrives.

    Attributes
    ----------
    steady : float or ndarray
        Mass flow [kg/s].
    """

    steady: Any

    def flow(self, pressure: Any, temperature: Any) -> Any:
        """Return the mass flow [kg/s] whatever the plenum's pressure [Pa] and temperature [K]."""
        return self.steady + 0.0 * pressure
