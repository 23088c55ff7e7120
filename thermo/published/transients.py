"""Published cases of ice, flash and pressure in a closed vessel.

The rows state round constants; the engine uses its own property tables, so tolerances are those
of the sources where the tables agree with them and are widened, with the reason, where not.
"""

from __future__ import annotations

from collections.abc import Mapping

from thermo import ice
from thermo.flash import flash_to_ambient
from thermo.liquids import liquid
from thermo.published.case import Case, Expected
from thermo.tank import (
    Surroundings,
    expansion_volume,
    headspace_pressure,
    sealed_headspace,
)
from thermo.trapped import compressibility, trapped_pressure_rise, trapped_pressure_slope

_ZERO_C = 273.15
_ATM = 101325.0


def _ice_melted() -> Mapping[str, float]:
    temperature, left = ice.mix(60.0, 40.0 + _ZERO_C, 10.0, -5.0 + _ZERO_C)
    return {"temperature": temperature - _ZERO_C, "ice left": left}


def _ice_charge() -> Mapping[str, float]:
    water = liquid()
    warming = 70.0 * (water.enthalpy(80.0 + _ZERO_C) - water.enthalpy(_ZERO_C))
    return {"with ice": ice.ice_heat(20.0, -10.0 + _ZERO_C) + warming, "water only": warming}


def _ice_left() -> Mapping[str, float]:
    temperature, left = ice.mix(40.0, 30.0 + _ZERO_C, 30.0, -5.0 + _ZERO_C)
    return {"temperature": temperature - _ZERO_C, "ice left": left}


def _to_boiling() -> Mapping[str, float]:
    water = liquid()
    boils = water.saturation_temperature(_ATM)
    heat = 60.0 * (water.enthalpy(boils) - water.enthalpy(25.0 + _ZERO_C))
    return {"heat": heat, "time": heat / 150e3}


def _flash() -> Mapping[str, float]:
    water = liquid()
    return {
        "110 degC": flash_to_ambient(water, 110.0 + _ZERO_C, _ATM),
        "120 degC": flash_to_ambient(water, 120.0 + _ZERO_C, _ATM),
        "115 degC to 87 kPa": flash_to_ambient(water, 115.0 + _ZERO_C, 87e3),
    }


def _full_vessel() -> Mapping[str, float]:
    water = liquid()
    return {
        f"{t} degC": trapped_pressure_slope(
            water.expansion_coefficient(t + _ZERO_C), compressibility(t + _ZERO_C)
        )
        for t in (20, 40, 60, 80)
    }


def _full_vessel_rise() -> Mapping[str, float]:
    water = liquid()
    cold, hot = 20.0 + _ZERO_C, 30.0 + _ZERO_C
    squeeze = compressibility(hot)
    return {"rise": trapped_pressure_rise(water.density(cold), water.density(hot), squeeze)}


def _headspace(expands: bool) -> Mapping[str, float]:
    water = liquid()
    cold, hot = 20.0 + _ZERO_C, 90.0 + _ZERO_C
    grown = expansion_volume([0.090], water.density(cold), [water.density(hot)]) if expands else 0.0
    state = sealed_headspace(_ATM, cold, 0.010, water.saturation_pressure(cold))
    vapour = water.saturation_pressure(hot)
    pressure, _ = headspace_pressure(
        "sealed", state, 0.010 - grown, hot, vapour, Surroundings(_ATM, 0.0, 0.090)
    )
    return {"gas": 0.010 - grown, "vapour": vapour, "pressure": pressure}


CASES: tuple[Case, ...] = (
    Case(
        "TRN-07", "ice added to a tank, all of it melts", "energy balance", "recomputed by hand",
        {
            "temperature": Expected(22.53, "degC", abs=0.05),
            "ice left": Expected(0.0, "kg", abs=1e-12),
        },
        _ice_melted,
    ),
    Case(
        "TRN-08", "heat that a charge of ice and water takes up to 80 degC", "energy balance",
        "recomputed by hand, with 4.18 kJ/kg K for water where steam tables average 4.186 up to "
        "80 degC: hence 0.2 %",
        {
            "with ice": Expected(30.50e6, "J", rel=2e-3),
            "water only": Expected(23.41e6, "J", rel=2e-3),
        },
        _ice_charge,
    ),
    Case(
        "TRN-09", "more ice than the water can melt", "energy balance",
        "recomputed by hand, with 4.18 kJ/kg K for water where steam tables average 4.192 up to "
        "30 degC: hence 0.5 %",
        {
            "temperature": Expected(0.0, "degC", abs=1e-9),
            "ice left": Expected(15.90, "kg", rel=5e-3),
        },
        _ice_left,
    ),
    Case(
        "TRN-10", "heat that brings 60 kg from 25 degC to boiling", "enthalpy difference",
        "recomputed with a property library",
        {"heat": Expected(18.85e6, "J", rel=1e-3), "time": Expected(125.7, "s", rel=1e-3)},
        _to_boiling,
    ),
    Case(
        "TRN-11", "share that flashes on release to the atmosphere",
        "isenthalpic; steam tables (503.81 - 419.06)/2256.5 = 0.0376",
        "recomputed with a property library",
        {
            "110 degC": Expected(0.0188, "", abs=2e-4),
            "120 degC": Expected(0.0376, "", abs=2e-4),
            "115 degC to 87 kPa": Expected(0.0359, "", abs=2e-4),
        },
        _flash,
    ),
    Case(
        "TRN-12", "pressure coefficient of a full rigid vessel", "beta/kappa_T",
        "recomputed with a property library",
        {
            "20 degC": Expected(4.51e5, "Pa/K", rel=5e-3),
            "40 degC": Expected(8.71e5, "Pa/K", rel=5e-3),
            "60 degC": Expected(11.76e5, "Pa/K", rel=5e-3),
            "80 degC": Expected(13.90e5, "Pa/K", rel=5e-3),
        },
        _full_vessel,
    ),
    Case(
        "TRN-13", "full rigid vessel heated from 20 to 30 degC", "constant-density state",
        "recomputed with a property library", {"rise": Expected(57.7e5, "Pa", rel=1e-2)},
        _full_vessel_rise,
    ),
    Case(
        "TRN-14", "sealed 100 L vessel, 90 L of water, 20 to 90 degC",
        "ideal gas, expansion and vapour pressure", "recomputed with a property library",
        {
            "gas": Expected(6.94e-3, "m3", rel=3e-3),
            "vapour": Expected(70.18e3, "Pa", rel=3e-3),
            "pressure": Expected(246.9e3, "Pa", rel=3e-3),
        },
        lambda: _headspace(expands=True),
    ),
    Case(
        "TRN-15", "the same without the water's expansion: 54 kPa too low", "as TRN-14",
        "recomputed with a property library",
        {
            "gas": Expected(10.0e-3, "m3", rel=1e-9),
            "vapour": Expected(70.18e3, "Pa", rel=3e-3),
            "pressure": Expected(192.8e3, "Pa", rel=3e-3),
        },
        lambda: _headspace(expands=False),
    ),
)
"""Area 10: ice, flash and pressure; the transients of the loop are checked with its solver."""
