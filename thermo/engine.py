"""The engine: brake power at a car speed, and the heat that goes with it.

Engine speeds are in revolutions a second throughout.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.gearing import LIMITER_BAND, Gearbox, PowerCurve, engine_speed
from thermo.ops import Real, ops_of, within

__all__ = [
    "COOLANT_HEAT_SHARE",
    "FUEL_HEAT_SHARE",
    "IDLE_HEAT",
    "METALS",
    "METAL_EXCESS",
    "OIL_HEAT_SHARE",
    "POWER_BASES",
    "STILL_FACTOR",
    "VOLUMETRIC_EFFICIENCY",
    "WETTED_METAL",
    "ConstantPower",
    "CoolantHeat",
    "Gearbox",
    "GearedPower",
    "PowerCurve",
    "burnt_air_flow",
    "heat_from_fuel",
    "metal_conductance",
    "site_factor",
    "swept_air_flow",
]

COOLANT_HEAT_SHARE = Estimate(
    0.80, 0.60, 1.05, "", "Heywood heat balance, table 12.1 (from memory); size at 0.95"
)
"""Heat to coolant over brake power at full power."""

FUEL_HEAT_SHARE = Estimate(0.21, 0.17, 0.26, "", "Heywood table 12.1 (from memory)")
"""Heat to coolant over fuel energy at full power."""

IDLE_HEAT = Estimate(2.5e6, 1.5e6, 4e6, "W/m3", COMMON_PRACTICE)
"""Heat to coolant at idle over displacement."""

OIL_HEAT_SHARE = Estimate(0.07, 0.04, 0.12, "", COMMON_PRACTICE)
"""Heat to oil over brake power."""

WETTED_METAL = Estimate(0.4e-3, 0.2e-3, 0.8e-3, "kg/W", COMMON_PRACTICE)
"""Mass of metal in contact with the coolant over brake power."""

METAL_EXCESS = Estimate(35.0, 20.0, 60.0, "K", COMMON_PRACTICE + ", low confidence")
"""Mean excess of wetted metal over coolant at full power; it drives the after-boil."""

STILL_FACTOR = Estimate(0.25, 0.1, 0.5, "", COMMON_PRACTICE + ", low confidence")
"""Metal-to-coolant conductance with the flow stopped, over that at full flow."""

VOLUMETRIC_EFFICIENCY = Estimate(
    0.90, 0.80, 1.20, "", "Heywood sect. 2.10 for 0.80 to 0.90 (from memory); above, "
    + COMMON_PRACTICE + " of tuned engines"
)
"""Air drawn over displacement at intake density, full throttle."""

METALS = {"aluminium": 900.0, "iron": 460.0}
"""Specific heat of engine metals [J/kg K], handbook values near 100 degC (from memory)."""


@dataclass(frozen=True, slots=True)
class ConstantPower:
    """An engine held at one power over the whole pass.

    Attributes
    ----------
    power : float or ndarray
        Brake power [W].
    rated_speed : float or ndarray
        Engine speed at that power [rev/s].
    """

    power: Real
    rated_speed: Real

    def at(self, speed: Any) -> Any:
        """Brake power at a car speed. [poly]

        Parameters
        ----------
        speed : float or ndarray
            Car speed [m/s].

        Returns
        -------
        float or ndarray
            Brake power [W].
        """
        return self.power + 0.0 * speed

    def turns_at(self, speed: Any) -> Any:
        """Engine speed at a car speed. [poly]

        Parameters
        ----------
        speed : float or ndarray
            Car speed [m/s].

        Returns
        -------
        float or ndarray
            Engine speed [rev/s].
        """
        return self.rated_speed + 0.0 * speed


@dataclass(frozen=True, slots=True)
class GearedPower:
    """An engine that runs through its curve in the best gear.

    Attributes
    ----------
    curve : PowerCurve
        Torque against engine speed.
    gearbox : Gearbox
        Gears and tyres.
    """

    curve: PowerCurve
    gearbox: Gearbox

    def __post_init__(self) -> None:
        low, high = self.curve.speeds[0], self.curve.speeds[-1]
        within("shift speed of the engine", self.gearbox.limit, low, high, "rev/s", open_low=True)

    def best_gear(self, speed: Any) -> tuple[Any, Any, Any]:
        """Return power, engine speed and gear at a car speed. [poly]

        Parameters
        ----------
        speed : float or ndarray
            Car speed [m/s].

        Returns
        -------
        tuple of (float or ndarray)
            Brake power [W], engine speed [rev/s] and gear number from 1, in the gear that gives
            the most power with the engine within its limit; shifts take no time. Past the limit
            in top gear the limiter takes the power away over ``LIMITER_BAND``.
        """
        box = self.gearbox
        xp = ops_of(speed, box.final_drive, box.rolling_radius, box.slip)
        best = turns = gear = None
        for number in range(len(box.ratios), 0, -1):
            n = engine_speed(
                speed, box.ratios[number - 1], box.final_drive, box.rolling_radius, box.slip
            )
            kept = xp.minimum(1.0, xp.maximum(0.0, 1.0 - (n / box.limit - 1.0) / LIMITER_BAND))
            power = self.curve.power(n) * kept
            if best is None:
                best, turns, gear = power, n, number + 0.0 * n
            else:
                better = (power > best) & (n <= box.limit)
                best = xp.where(better, power, best)
                turns = xp.where(better, n, turns)
                gear = xp.where(better, float(number), gear)
        return best, turns, gear

    def at(self, speed: Any) -> Any:
        """Brake power at a car speed. [poly]

        Parameters
        ----------
        speed : float or ndarray
            Car speed [m/s].

        Returns
        -------
        float or ndarray
            Brake power [W].
        """
        return self.best_gear(speed)[0]

    def turns_at(self, speed: Any) -> Any:
        """Engine speed at a car speed. [poly]

        Parameters
        ----------
        speed : float or ndarray
            Car speed [m/s].

        Returns
        -------
        float or ndarray
            Engine speed [rev/s].
        """
        return self.best_gear(speed)[1]


POWER_BASES: dict[str, Callable[[Any], Any]] = {
    "site": lambda correction: 1.0 + 0.0 * correction,
    "corrected": lambda correction: 1.0 / correction,
}
"""Power at this site, without ram, over the stated power, by the basis it is stated on."""


def site_factor(basis: str, correction: Any) -> Any:
    """Power at this site without ram, over the power as stated. [poly]

    Parameters
    ----------
    basis : str
        'site': the figure holds in this air. 'corrected': it is corrected to the reference day.
    correction : float or ndarray
        SAE J1349 correction of the day, corrected power over observed power [-].

    Returns
    -------
    float or ndarray
        Factor on the stated power [-]; what ram adds is a further factor, the intake's.

    Raises
    ------
    ValueError
        If the basis is not in ``POWER_BASES``.
    """
    if basis not in POWER_BASES:
        raise ValueError(f"power basis {basis!r} is not one of {', '.join(POWER_BASES)}")
    return POWER_BASES[basis](correction)


def heat_from_fuel(power: Any, specific_consumption: Any, heating_value: Any, share: Any) -> Any:
    """Heat to coolant as a share of the fuel's energy. [poly]

    Parameters
    ----------
    power : float or ndarray
        Brake power [W].
    specific_consumption : float or ndarray
        Fuel mass a unit of brake energy [kg/J].
    heating_value : float or ndarray
        Lower heating value [J/kg].
    share : float or ndarray
        Heat to coolant over fuel energy [-]; 0.17 to 0.26 for a spark-ignition engine at full
        power (Heywood, table 12.1, from memory).

    Returns
    -------
    float or ndarray
        Heat [W]: P bsfc LHV share.
    """
    return power * specific_consumption * heating_value * share


@dataclass(frozen=True, slots=True)
class CoolantHeat:
    """How heat to coolant at full power follows from brake power: offset plus share of it.

    Attributes
    ----------
    fixed : float or ndarray
        Part that does not depend on power [W].
    share : float or ndarray
        Heat over brake power [-].
    """

    fixed: Real
    share: Real

    @classmethod
    def constant(cls, heat: Real) -> CoolantHeat:
        """Return the model of a fixed heat.

        Parameters
        ----------
        heat : float or ndarray
            Heat to coolant [W].

        Returns
        -------
        CoolantHeat
        """
        return cls(heat, 0.0)

    @classmethod
    def of_brake(cls, share: Real) -> CoolantHeat:
        """Return the model of a share of brake power.

        Parameters
        ----------
        share : float or ndarray
            Heat over brake power [-].

        Returns
        -------
        CoolantHeat
        """
        return cls(0.0, share)

    @classmethod
    def of_fuel(
        cls, share: Real, specific_consumption: Real, heating_value: Real
    ) -> CoolantHeat:
        """Return the model of a share of fuel energy.

        Parameters
        ----------
        share : float or ndarray
            Heat over fuel energy [-].
        specific_consumption : float or ndarray
            Fuel mass a unit of brake energy [kg/J].
        heating_value : float or ndarray
            Lower heating value [J/kg].

        Returns
        -------
        CoolantHeat
        """
        return cls(0.0, heat_from_fuel(1.0, specific_consumption, heating_value, share))

    def at(self, power: Any) -> Any:
        """Heat to coolant at a brake power. [poly]

        Parameters
        ----------
        power : float or ndarray
            Brake power [W].

        Returns
        -------
        float or ndarray
            Heat [W].
        """
        return self.fixed + self.share * power


def metal_conductance(heat: Any, excess: Any) -> Any:
    """Conductance from wetted metal to coolant. [poly]

    Parameters
    ----------
    heat : float or ndarray
        Heat to coolant at full power [W].
    excess : float or ndarray
        Mean excess of metal over coolant then [K].

    Returns
    -------
    float or ndarray
        Conductance at full flow [W/K]; multiply by ``STILL_FACTOR`` when the flow has stopped.
    """
    return heat / excess


def swept_air_flow(
    displacement: Any, speed: Any, efficiency: Any, density: Any, strokes: int = 4
) -> Any:
    """Air flow that the engine draws. [poly]

    Parameters
    ----------
    displacement : float or ndarray
        Swept volume of all cylinders [m3].
    speed : float or ndarray
        Engine speed [rev/s].
    efficiency : float or ndarray
        Volumetric efficiency [-].
    density : float or ndarray
        Density of the air that arrives [kg/m3].
    strokes : int
        Strokes a cycle: 4, or 2.

    Returns
    -------
    float or ndarray
        Mass flow [kg/s]: eta_v rho V_d n/(strokes/2). Heywood eq. 2.27 (from memory).
    """
    return efficiency * density * displacement * speed * 2.0 / strokes


def burnt_air_flow(power: Any, specific_consumption: Any, air_fuel_ratio: Any) -> Any:
    """Air flow that goes with a brake power. [poly]

    Parameters
    ----------
    power : float or ndarray
        Brake power [W].
    specific_consumption : float or ndarray
        Fuel mass a unit of brake energy [kg/J].
    air_fuel_ratio : float or ndarray
        Air over fuel by mass [-].

    Returns
    -------
    float or ndarray
        Mass flow [kg/s].
    """
    return power * specific_consumption * air_fuel_ratio
