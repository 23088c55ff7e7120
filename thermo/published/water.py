"""Published cases of water, ice and glycol-water properties."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from thermo import ice
from thermo.liquids import Liquid, liquid, mass_to_volume, volume_to_mass
from thermo.properties import load_tables
from thermo.published.case import Case, Expected

_ZERO = 273.15
_ASHRAE = "ASHRAE Handbook, Fundamentals, ch. 31, tables as stored in the CoolProp repository"
_TABLE_SEEN = "published table seen"
_STEAM = "Cengel & Boles, Thermodynamics, Table A-4"
_RECOMPUTED = "from memory; recomputed with CoolProp"


def _steam_table(
    row: str, celsius: float, kilopascal: float, h_f: float, h_fg: float, v_g: float
) -> Case:
    """A row of the saturation table by temperature."""
    T = celsius + _ZERO

    def compute() -> dict[str, float]:
        water, table = liquid(), load_tables().water
        return {
            "saturation pressure": water.saturation_pressure(T) / 1e3,
            "enthalpy of liquid": water.enthalpy(T) / 1e3,
            "latent heat": water.latent_heat(T) / 1e3,
            "volume of steam": 1.0 / table.steam_density(T),
        }

    return Case(
        row, f"Saturation table, {celsius:g} degC", _STEAM, _RECOMPUTED,
        {
            "saturation pressure": Expected(kilopascal, "kPa", rel=5e-4),
            "enthalpy of liquid": Expected(h_f, "kJ/kg", rel=5e-4),
            "latent heat": Expected(h_fg, "kJ/kg", rel=5e-4),
            "volume of steam": Expected(v_g, "m3/kg", rel=5e-4),
        },
        compute,
    )


def _by_temperature(
    row: str, what: str, source: str, provenance: str, rows: Mapping[float, float], unit: str,
    value: Callable[[float], float], *, rel: float = 0.0, absolute: float = 0.0,
) -> Case:
    """One property at several temperatures [degC]."""

    def compute() -> dict[str, float]:
        return {f"at {t:g} degC": value(t + _ZERO) for t in rows}

    expected = {
        f"at {t:g} degC": Expected(v, unit, rel=rel, abs=absolute) for t, v in rows.items()
    }
    return Case(row, what, source, provenance, expected, compute)


def _freezing(row: str, glycol: str, rows: Mapping[float, float], tolerance: float) -> Case:
    """Freezing points by share of glycol, in percent by volume."""

    def compute() -> dict[str, float]:
        return {f"{v:g} % by volume": liquid(glycol, v / 100).freezing_point - _ZERO for v in rows}

    expected = {f"{v:g} % by volume": Expected(t, "degC", abs=tolerance) for v, t in rows.items()}
    return Case(
        row, f"Freezing point, {glycol} glycol in water", _ASHRAE, _TABLE_SEEN, expected, compute
    )


def _mixture(row: str, glycol: str, v: float, rows: Mapping[float, Sequence[float]]) -> Case:
    """Specific heat, density, conductivity and viscosity [mPa s] at temperatures [degC]."""

    def compute() -> dict[str, float]:
        mix: Liquid = liquid(glycol, v)
        got = {}
        for t in rows:
            T = t + _ZERO
            got[f"specific heat at {t:g} degC"] = mix.specific_heat.checked(T)
            got[f"density at {t:g} degC"] = mix.density.checked(T)
            got[f"conductivity at {t:g} degC"] = mix.conductivity.checked(T)
            got[f"viscosity at {t:g} degC"] = mix.viscosity.checked(T) * 1e3
        return got

    expected = {}
    for t, (heat, density, conductivity, viscosity) in rows.items():
        expected[f"specific heat at {t:g} degC"] = Expected(heat, "J/kg K", rel=5e-4)
        expected[f"density at {t:g} degC"] = Expected(density, "kg/m3", rel=5e-4)
        expected[f"conductivity at {t:g} degC"] = Expected(conductivity, "W/m K", rel=3e-3)
        expected[f"viscosity at {t:g} degC"] = Expected(viscosity, "mPa s", rel=0.03)
    return Case(
        row, f"{100 * v:g} % {glycol} glycol in water by volume", _ASHRAE, _TABLE_SEEN,
        expected, compute,
    )


def _boils_at() -> dict[str, float]:
    water = liquid()
    return {
        f"at {p:g} kPa": water.saturation_temperature.checked(p * 1e3) - _ZERO
        for p in (87.0, 101.325, 150.0, 200.0)
    }


def _iapws_450() -> dict[str, float]:
    water, table, T = liquid(), load_tables().water, 450.0
    return {
        "saturation pressure": water.saturation_pressure(T) / 1e6,
        "density of liquid": water.density(T),
        "density of steam": table.steam_density(T),
        "enthalpy of steam": table.steam_enthalpy(T) / 1e3,
        "latent heat": water.latent_heat(T) / 1e3,
    }


def _ice() -> dict[str, float]:
    return {
        "latent heat": ice.ice_heat(1.0, ice.T_MELT) / 1e3,
        "specific heat": (ice.sensible_heat(ice.T_MELT - 0.01) / 0.01) / 1e3,
        "density": ice.DENSITY,
    }


def _fractions() -> dict[str, float]:
    got = {}
    for glycol, mass, volume in _FRACTIONS:
        got[f"{glycol}, {volume:g} % by volume"] = 100 * volume_to_mass(glycol, volume / 100)
        got[f"{glycol}, {mass:g} % by mass"] = 100 * mass_to_volume(glycol, mass / 100)
    return got


_FRACTIONS = (
    ("ethylene", 25.0, 22.9), ("ethylene", 40.0, 37.5), ("ethylene", 55.0, 52.7),
    ("propylene", 25.0, 24.4), ("propylene", 40.0, 39.6), ("propylene", 55.0, 55.0),
)

_SATURATION_CASES = (
    Case(
        "WAT-03", "Saturation pressure at 300 K", "IAPWS R7-97(2012), Table 35",
        "recomputed with CoolProp; the 500 K point lies beyond our table",
        {"saturation pressure": Expected(3536.58941, "Pa", rel=2e-4)},
        lambda: {"saturation pressure": liquid().saturation_pressure.checked(300.0)},
    ),
    Case(
        "WAT-04", "Saturation temperature", "IAPWS R7-97(2012), Table 36", _RECOMPUTED,
        {
            "at 0.1 MPa": Expected(372.755919, "K", abs=0.01),
            "at 1 MPa": Expected(453.035632, "K", abs=0.01),
        },
        lambda: {
            "at 0.1 MPa": liquid().saturation_temperature.checked(0.1e6),
            "at 1 MPa": liquid().saturation_temperature.checked(1e6),
        },
    ),
    Case(
        "WAT-07", "Saturation at 450 K", "IAPWS R6-95(2018), Table 8",
        "from memory; recomputed with CoolProp; tolerance that of our fits",
        {
            "saturation pressure": Expected(0.932203564, "MPa", rel=2e-5),
            "density of liquid": Expected(890.341250, "kg/m3", rel=2e-5),
            "density of steam": Expected(4.81200360, "kg/m3", rel=2e-5),
            "enthalpy of steam": Expected(2774.41078, "kJ/kg", rel=2e-6),
            "latent heat": Expected(2774.41078 - 749.161585, "kJ/kg", rel=2e-6),
        },
        _iapws_450,
    ),
    _steam_table("WAT-08", 80.0, 47.416, 335.02, 2308.0, 3.4053),
    _steam_table("WAT-09", 100.0, 101.42, 419.17, 2256.4, 1.6720),
    _steam_table("WAT-10", 120.0, 198.67, 503.81, 2202.1, 0.89133),
    Case(
        "WAT-11", "Boiling temperature against absolute pressure",
        "Cengel & Boles, Table A-5; 87 kPa computed", _RECOMPUTED,
        {
            f"at {p:g} kPa": Expected(t, "degC", abs=0.05)
            for p, t in ((87.0, 95.76), (101.325, 99.97), (150.0, 111.35), (200.0, 120.21))
        },
        _boils_at,
    ),
)

_LIQUID_CASES = (
    Case(
        "WAT-12", "Ice at its melting point", "IAPWS R10-06(2009), Table 6",
        "iapws docstring and recomputed",
        {
            "latent heat": Expected(333.43, "kJ/kg", rel=1e-3),
            "specific heat": Expected(2.0967, "kJ/kg K", rel=5e-4),
            "density": Expected(916.72, "kg/m3", rel=5e-4),
        },
        _ice,
    ),
    _by_temperature(
        "WAT-13", "Density of liquid water at 1 atm", "CRC Handbook; NIST steam tables",
        _RECOMPUTED,
        {4: 999.97, 20: 998.21, 40: 992.22, 60: 983.20, 80: 971.80, 90: 965.31, 100: 958.35},
        "kg/m3", lambda T: liquid().density.checked(T), rel=1e-4,
    ),
    _by_temperature(
        "WAT-14", "Expansion coefficient of water at 1 atm", "CRC Handbook; Kell (1975)",
        _RECOMPUTED, {4: 0.0, 20: 2.07e-4, 40: 3.85e-4, 60: 5.23e-4, 80: 6.41e-4}, "1/K",
        lambda T: liquid().expansion_coefficient(T), rel=0.01, absolute=2e-6,
    ),
    Case(
        "WAT-15", "Expansion of a tank fill, 15 to 90 degC",
        "density ratio 999.103/965.310", "recomputed with CoolProp",
        {"volume ratio": Expected(1.0350, abs=2e-4)},
        lambda: {"volume ratio": liquid().volume_ratio(15 + _ZERO, 90 + _ZERO)},
    ),
    _by_temperature(
        "WAT-16", "Specific heat of liquid water at 1 atm", "NIST and IAPWS-95 tables",
        "recomputed with CoolProp", {20: 4.184, 40: 4.179, 60: 4.185, 90: 4.205}, "kJ/kg K",
        lambda T: liquid().specific_heat.checked(T) / 1e3, rel=5e-4,
    ),
    Case(
        "WAT-17", "Viscosity and conductivity of water at 298.15 K",
        "IAPWS R12-08, Table 4; IAPWS R15-11, Table 4 (998 kg/m3)",
        "iapws docstring; ours is at 1 atm, 997.05 kg/m3",
        {
            "viscosity": Expected(889.735100, "uPa s", rel=1e-3),
            "conductivity": Expected(607.712868, "mW/m K", rel=5e-3),
        },
        lambda: {
            "viscosity": liquid().viscosity.checked(298.15) * 1e6,
            "conductivity": liquid().conductivity.checked(298.15) * 1e3,
        },
    ),
)

_GLYCOL_CASES = (
    _freezing("WAT-18", "ethylene", {27.7: -14.1, 37.5: -22.3, 47.6: -33.8}, 0.2),
    _freezing("WAT-19", "propylene", {29.4: -12.7, 39.6: -21.1, 49.9: -33.5}, 0.1),
    _mixture("WAT-20", "ethylene", 0.50,
             {20: (3281, 1073.35, 0.380, 3.94), 80: (3512, 1038.46, 0.411, 0.98)}),
    _mixture("WAT-21", "ethylene", 0.30, {60: (3759, 1026.36, 0.488, 0.90)}),
    _mixture("WAT-22", "propylene", 0.50,
             {20: (3532, 1042.87, 0.362, 6.65), 80: (3763, 1001.05, 0.382, 1.12)}),
    Case(
        "WAT-23", "Volume and mass percent of glycol", _ASHRAE, _TABLE_SEEN,
        {
            f"{glycol}, {volume:g} % by volume": Expected(mass, "% by mass", abs=0.2)
            for glycol, mass, volume in _FRACTIONS
        } | {
            f"{glycol}, {mass:g} % by mass": Expected(volume, "% by volume", abs=0.2)
            for glycol, mass, volume in _FRACTIONS
        },
        _fractions,
    ),
    Case(
        "WAT-25", "Boiling point of ethylene glycol in water at 1 atm",
        "glycol makers' data, 225 and 220 degF (common practice)", "from memory",
        {
            "50 % by volume": Expected(107.0, "degC", abs=2.0),
            "33 % by volume": Expected(104.0, "degC", abs=2.0),
        },
        lambda: {
            f"{v:g} % by volume":
                liquid("ethylene", v / 100).saturation_temperature.checked(101325.0) - _ZERO
            for v in (50.0, 33.0)
        },
    ),
)

CASES: tuple[Case, ...] = _SATURATION_CASES + _LIQUID_CASES + _GLYCOL_CASES
