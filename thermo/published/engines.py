"""Published cases of engine heat balance, fuel and air."""

from __future__ import annotations

from collections.abc import Mapping

from thermo.engine import (
    COOLANT_HEAT_SHARE,
    VOLUMETRIC_EFFICIENCY,
    CoolantHeat,
    burnt_air_flow,
    heat_from_fuel,
    swept_air_flow,
)
from thermo.fuels import FUELS, conversion_efficiency, stoichiometric_ratio
from thermo.published.case import Case, Expected

_G_PER_KWH = 1e-3 / 3.6e6
_BALANCE = "Heywood, Internal Combustion Engine Fundamentals (1988), table 12.1"


def _band(low: float, high: float, unit: str = "") -> Expected:
    return Expected(0.5 * (low + high), unit, abs=0.5 * (high - low) * (1.0 + 1e-9))


def _balance() -> Mapping[str, float]:
    petrol = FUELS["petrol"]
    brake = conversion_efficiency(petrol.specific_consumption.value, petrol.heating_value)
    return {"brake": brake, "coolant": brake * CoolantHeat.of_brake(COOLANT_HEAT_SHARE.value).at(1)}


def _consumption() -> Mapping[str, float]:
    return {
        name: FUELS[name].specific_consumption.value / _G_PER_KWH
        for name in ("petrol", "e85", "methanol")
    }


def _stoichiometry() -> Mapping[str, float]:
    return {
        "methanol": FUELS["methanol"].stoichiometric_ratio,
        "ethanol": FUELS["ethanol"].stoichiometric_ratio,
        "iso-octane": stoichiometric_ratio(8.0, 18.0, 0.0),
        "petrol": FUELS["petrol"].stoichiometric_ratio,
        "E85": FUELS["e85"].stoichiometric_ratio,
    }


def _power_mixture() -> Mapping[str, float]:
    return {
        name: FUELS[name].air_fuel_ratio.value / FUELS[name].stoichiometric_ratio
        for name in ("petrol", "e85", "methanol")
    }


def _air() -> Mapping[str, float]:
    air = swept_air_flow(2e-3, 100.0, 0.90, 1.184)
    # air that goes with a unit flow of fuel at lambda 0.88
    per_fuel = burnt_air_flow(1.0, 1.0, 0.88 * 14.6)
    return {"air": air, "fuel": air / per_fuel}


def _chain() -> Mapping[str, float]:
    bsfc = 1.0 / (0.27 * 43.5e6)
    heat = heat_from_fuel(300e3, bsfc, 43.5e6, 0.20)
    return {
        "fuel power": heat_from_fuel(300e3, bsfc, 43.5e6, 1.0),
        "coolant": heat,
        "ratio": CoolantHeat.of_fuel(0.20, bsfc, 43.5e6).at(300e3) / 300e3,
        "efficiency": conversion_efficiency(306.5 * _G_PER_KWH, 43.5e6),
    }


CASES: tuple[Case, ...] = (
    Case(
        "ENG-01", "heat balance of a spark-ignition engine at full power, from the defaults (band)",
        _BALANCE, "from memory, high confidence",
        {"brake": _band(0.25, 0.28), "coolant": _band(0.17, 0.26)}, _balance,
    ),
    Case(
        "ENG-03", "heat to coolant over brake power, the default (band)",
        "derived from the heat balance", "recomputed by hand", {"ratio": _band(0.607, 1.04)},
        lambda: {"ratio": COOLANT_HEAT_SHARE.value},
    ),
    Case(
        "ENG-04", "fuel conversion efficiency at 270 g/kWh", "Heywood eq. 2.24",
        "from memory; recomputed", {"efficiency": Expected(0.3030, "", rel=1e-3)},
        lambda: {"efficiency": conversion_efficiency(270.0 * _G_PER_KWH, 44.0e6)},
    ),
    Case(
        "ENG-05", "specific consumption at full power, the defaults (band)", "common practice",
        "from memory, medium confidence",
        {
            "petrol": _band(255, 395, "g/kWh"),
            "e85": _band(365, 517, "g/kWh"),
            "methanol": _band(578, 791, "g/kWh"),
        },
        _consumption,
    ),
    Case(
        "ENG-06", "stoichiometric air-fuel ratios", "Heywood, table D.4",
        "from memory; recomputed from stoichiometry",
        {
            "methanol": Expected(6.47, "", rel=5e-3),
            "ethanol": Expected(9.00, "", rel=5e-3),
            "iso-octane": Expected(15.13, "", rel=5e-3),
            "petrol": Expected(14.65, "", rel=1e-2),
            "E85": Expected(9.8, "", rel=1e-2),
        },
        _stoichiometry,
    ),
    Case(
        "ENG-07", "lower heating values", "Heywood, table D.4; E85 by mass mixing",
        "from memory, high confidence",
        {
            "petrol": _band(42.5e6, 44.0e6, "J/kg"),
            "ethanol": Expected(26.9e6, "J/kg", rel=2e-2),
            "e85": Expected(29.2e6, "J/kg", rel=2e-2),
            "methanol": Expected(20.0e6, "J/kg", rel=2e-2),
        },
        lambda: {name: fuel.heating_value for name, fuel in FUELS.items()},
    ),
    Case(
        "ENG-08", "mixture at full power over the stoichiometric, the defaults (band)",
        "common practice", "from memory, medium confidence",
        {
            "petrol": _band(0.85, 0.92), "e85": _band(0.80, 0.90), "methanol": _band(0.65, 0.85),
        },
        _power_mixture,
    ),
    Case(
        "ENG-09", "volumetric efficiency at full throttle, the default (band)",
        "Heywood sect. 2.10", "from memory, medium confidence",
        {"efficiency": _band(0.80, 0.90)}, lambda: {"efficiency": VOLUMETRIC_EFFICIENCY.value},
    ),
    Case(
        "ENG-10", "air and fuel flow of a four-stroke, 2.0 L at 6000 rpm", "Heywood eq. 2.27",
        "recomputed by hand",
        {
            "air": Expected(0.10656, "kg/s", rel=5e-4),
            "fuel": Expected(8.294e-3, "kg/s", rel=5e-4),
        },
        _air,
    ),
    Case(
        "ENG-11", "chain from brake power to coolant heat", "arithmetic", "recomputed by hand",
        {
            "fuel power": Expected(1111.1e3, "W", rel=5e-4),
            "coolant": Expected(222.2e3, "W", rel=5e-4),
            "ratio": Expected(0.741, "", rel=5e-4),
            "efficiency": Expected(0.27, "", rel=5e-4),
        },
        _chain,
    ),
)
"""Area 8: engine heat balance, fuel and air. A diesel's balance (ENG-02) has no part here."""
