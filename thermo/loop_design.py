"""What a cooling loop consists of, and what it is subjected to in one piece of an event."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from thermo.conductance import Conductance
from thermo.liquids import Liquid
from thermo.ops import Real, ops_of

NEVER = float("inf")


@dataclass(frozen=True, slots=True)
class Thermostat:
    """Wax thermostat: share of the hot flow that reaches the exchanger.

    Attributes
    ----------
    opens, full_open : float
        [K].
    bleed : float
        Share passed when shut, 0 to 1.
    lag : float
        First-order time constant of the wax [s].
    stuck_shut : bool
        Whether it never opens.
    """

    opens: Real
    full_open: Real
    bleed: Real
    lag: Real
    stuck_shut: bool

    def share(self, wax: Real) -> Real:
        """Return the share of the flow that passes at wax temperature `wax` [K]."""
        if self.stuck_shut:
            return self.bleed
        xp = ops_of(wax)
        lift: Real = xp.minimum(
            1.0, xp.maximum(0.0, (wax - self.opens) / (self.full_open - self.opens))
        )
        return self.bleed + (1.0 - self.bleed) * lift


@dataclass(frozen=True, slots=True)
class IceCharge:
    """Water ice as it was put in.

    Attributes
    ----------
    mass : float
        [kg].
    area : float
        Melting surface of that mass [m2].
    film : float
        Film coefficient between water and ice [W/m2 K].
    heat : float
        Heat that takes 1 kg from its own temperature to water at 0 degC [J/kg].
    """

    mass: Real
    area: Real
    film: Real
    heat: Real


@dataclass(frozen=True, slots=True)
class LoopDesign:
    """What does not change during an event.

    Attributes
    ----------
    hot, cold : Liquid
        Coolant and tank liquid.
    conductance : Conductance
        The exchanger's UA model; `arrangement` and `shells` its flow arrangement.
    metal_capacity, oil_capacity : float
        [J/K].
    metal_conductance : float
        Metal to coolant with full flow [W/K]; `still_share` of it with none.
    full_flow : float
        Hot flow at which `metal_conductance` holds [m3/s].
    engine_air, oil_cooler : float
        Metal to air, oil to coolant [W/K].
    boil_temperature : float
        Coolant saturation at ambient plus cap pressure [K].
    tank_boil_temperature : float
        Saturation at which the tank's closure lets steam go [K], ``inf`` when it never does.
    supply_mass, return_mass : float
        Water in one cell of each line [kg].
    supply_air, return_air, tank_air : float
        Heat loss of one line cell, and of the whole tank [W/K].
    tank_cells : int
        1 for mixed and adverse, more for plug flow.
    wall_capacity : float
        Tank wall that follows the water [J/K]; None for none.
    short_circuit : float
        Share of the return flow that goes straight to the tank's outlet.
    thermostat : Thermostat or None
    air_temperature : float
        [K].
    oil_air : float
        Oil to air, through sump and block [W/K].
    """

    hot: Liquid
    cold: Liquid
    conductance: Conductance
    arrangement: str
    shells: int
    metal_capacity: Real
    metal_conductance: Real
    still_share: Real
    full_flow: Real
    engine_air: Real
    oil_capacity: Real
    oil_cooler: Real
    boil_temperature: Real
    tank_boil_temperature: Real
    supply_mass: Real
    return_mass: Real
    supply_air: Real
    return_air: Real
    tank_air: Real
    tank_cells: int
    wall_capacity: Real | None
    short_circuit: Real
    thermostat: Thermostat | None
    air_temperature: Real
    oil_air: Real = 0.0


@dataclass(frozen=True, slots=True)
class LegDrive:
    """What the loop is subjected to during one leg, or a piece of one.

    Attributes
    ----------
    duration : float
        [s]; an array over variants when they differ.
    metal_heat, oil_heat, charge_heat : sequence
        Heat into metal, oil and the return line [W] on a uniform grid over the leg.
    hot_flow : sequence
        Coolant flow [m3/s] on the same kind of grid.
    cold_flow : callable
        ``cold_flow(T)`` is the tank-loop flow [m3/s] with water of temperature T [K].
    cold_pump_power, hot_pump_power : float
        Work put into each loop [W].
    sun : float
        Heat into the tank [W].
    ice : IceCharge or None
        Ice in the tank, when there is any.
    """

    duration: Real
    metal_heat: Sequence[Real]
    oil_heat: Sequence[Real]
    charge_heat: Sequence[Real]
    hot_flow: Sequence[Real]
    cold_flow: Callable[[Real], Real]
    cold_pump_power: Real
    hot_pump_power: Real
    sun: Real
    ice: IceCharge | None


def tank_limit(design: LoopDesign) -> Real:
    """Return the specific enthalpy at which the tank's closure lets steam go [J/kg].

    Parameters
    ----------
    design : LoopDesign

    Returns
    -------
    float or ndarray
        ``inf`` when it never does.
    """
    limit = design.tank_boil_temperature
    if isinstance(limit, float) and limit == NEVER:
        return NEVER
    return design.cold.enthalpy(limit)  # type: ignore[no-any-return]
