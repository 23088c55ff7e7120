"""What `[engine]` states of power, fuel and heat, or what is usual where it does not."""

from __future__ import annotations

from math import pi
from typing import Any

from thermo.engine import (
    COOLANT_HEAT_SHARE,
    CoolantHeat,
)
from thermo.fuels import FUELS
from thermo.inputs.power import Engine


def peak_power(engine: Engine) -> Any:
    """Return the stated brake power, or the highest of the curve [W]."""
    if engine.curve is not None:
        return max(2.0 * pi * n * torque for n, torque in engine.curve)
    return 0.0 if engine.power is None else engine.power


def specific_consumption(engine: Engine) -> float:
    """Return fuel mass a unit of brake energy [kg/J]: as given, or usual for the fuel."""
    if engine.specific_consumption is not None:
        return engine.specific_consumption
    return FUELS[engine.fuel].specific_consumption.value


def air_fuel_ratio(engine: Engine) -> float:
    """Return air over fuel by mass at full power: as given, or usual for the fuel."""
    if engine.air_fuel_ratio is not None:
        return engine.air_fuel_ratio
    return FUELS[engine.fuel].air_fuel_ratio.value


def coolant_heat(engine: Engine) -> CoolantHeat:
    """Return heat to coolant as a function of brake power, by the way the scenario names."""
    if engine.heat_power is not None:
        return CoolantHeat.constant(engine.heat_power)
    if engine.fuel_heat_share is not None:
        return CoolantHeat.of_fuel(
            engine.fuel_heat_share, specific_consumption(engine), FUELS[engine.fuel].heating_value
        )
    return CoolantHeat.of_brake(
        COOLANT_HEAT_SHARE.value if engine.heat_share is None else engine.heat_share
    )
