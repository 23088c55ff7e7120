"""Units and kinds of quantity, as data: names people type, their size in SI, their dimension.

The kinds say what a field holds. Two kinds may share a dimension and still be different inputs:
a temperature and a temperature difference, a gauge and an absolute pressure, a torque and an
energy. The units listed here are read without any unit library; every other name goes to pint,
one name at a time (see :mod:`thermo.units`), and a test holds this table against pint.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Dimension = tuple[int, int, int, int, int, int]
"""Exponents of metre, kilogram, second, kelvin, ampere, radian."""

ONE: Dimension = (0, 0, 0, 0, 0, 0)
_LENGTH: Dimension = (1, 0, 0, 0, 0, 0)
_VOLUME: Dimension = (3, 0, 0, 0, 0, 0)
_MASS: Dimension = (0, 1, 0, 0, 0, 0)
_TIME: Dimension = (0, 0, 1, 0, 0, 0)
_PER_TIME: Dimension = (0, 0, -1, 0, 0, 0)
_KELVIN: Dimension = (0, 0, 0, 1, 0, 0)
_AMPERE: Dimension = (0, 0, 0, 0, 1, 0)
_ANGLE: Dimension = (0, 0, 0, 0, 0, 1)
_TURNING: Dimension = (0, 0, -1, 0, 0, 1)
_SPEED: Dimension = (1, 0, -1, 0, 0, 0)
_FLOW: Dimension = (3, 0, -1, 0, 0, 0)
_ACCELERATION: Dimension = (1, 0, -2, 0, 0, 0)
_FORCE: Dimension = (1, 1, -2, 0, 0, 0)
_PRESSURE: Dimension = (-1, 1, -2, 0, 0, 0)
_ENERGY: Dimension = (2, 1, -2, 0, 0, 0)
_POWER: Dimension = (2, 1, -3, 0, 0, 0)
_VOLTAGE: Dimension = (2, 1, -3, 0, -1, 0)

G0 = 9.80665
"""Standard acceleration of gravity [m/s2]."""

_FOOT = 0.3048
_INCH = 0.0254
_GALLON = 3.785411784e-3
_POUND = 0.45359237
_POUND_FORCE = _POUND * G0
_PSI = _POUND_FORCE / _INCH**2
_HG = 13595.1 * G0  # conventional millimetre of mercury: 13595.1 kg/m3
_WATER = 1000.0 * G0  # conventional head of water: 1000 kg/m3
_BTU = 1055.05585262  # International Table
_TURN = 2.0 * math.pi

_GROUPS: tuple[tuple[Dimension, dict[str, float]], ...] = (
    (_LENGTH, {
        "m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "um": 1e-6, "µm": 1e-6,
        "in": _INCH, "inch": _INCH, "inches": _INCH, "ft": _FOOT, "foot": _FOOT, "feet": _FOOT,
        "yd": 3 * _FOOT, "mi": 1609.344, "mile": 1609.344, "miles": 1609.344, "nmi": 1852.0,
    }),
    (_VOLUME, {
        "L": 1e-3, "l": 1e-3, "liter": 1e-3, "litre": 1e-3, "liters": 1e-3, "litres": 1e-3,
        "mL": 1e-6, "ml": 1e-6, "cc": 1e-6, "gal": _GALLON, "gallon": _GALLON,
        "gallons": _GALLON, "qt": _GALLON / 4, "floz": _GALLON / 128, "impgal": 4.54609e-3,
    }),
    (_MASS, {
        "kg": 1.0, "g": 1e-3, "t": 1e3, "lb": _POUND, "lbs": _POUND, "lbm": _POUND,
        "oz": _POUND / 16,
    }),
    (_TIME, {
        "s": 1.0, "sec": 1.0, "ms": 1e-3, "min": 60.0, "h": 3600.0, "hr": 3600.0, "day": 86400.0,
    }),
    (_PER_TIME, {"Hz": 1.0}),
    (_KELVIN, {
        "K": 1.0, "degK": 1.0, "kelvin": 1.0, "degC": 1.0, "C": 1.0, "celsius": 1.0,
        "degF": 5 / 9, "F": 5 / 9, "fahrenheit": 5 / 9, "degR": 5 / 9, "R": 5 / 9,
        "rankine": 5 / 9,
    }),
    (_AMPERE, {"A": 1.0}),
    (_ANGLE, {
        "rad": 1.0, "deg": _TURN / 360, "degree": _TURN / 360, "degrees": _TURN / 360,
        "rev": _TURN, "turn": _TURN,
    }),
    (_TURNING, {"rpm": _TURN / 60, "RPM": _TURN / 60, "krpm": _TURN * 1000 / 60}),
    (_SPEED, {
        "mph": 0.44704, "MPH": 0.44704, "kph": 1 / 3.6, "KPH": 1 / 3.6, "kmh": 1 / 3.6,
        "kn": 1852 / 3600, "kt": 1852 / 3600, "knot": 1852 / 3600, "knots": 1852 / 3600,
        "fps": _FOOT, "fpm": _FOOT / 60,
    }),
    (_FLOW, {
        "gpm": _GALLON / 60, "GPM": _GALLON / 60, "gph": _GALLON / 3600, "GPH": _GALLON / 3600,
        "lpm": 1e-3 / 60, "LPM": 1e-3 / 60, "cfm": _FOOT**3 / 60, "CFM": _FOOT**3 / 60,
    }),
    (_FORCE, {"N": 1.0, "kN": 1e3, "lbf": _POUND_FORCE, "kgf": G0}),
    (_PRESSURE, {
        "Pa": 1.0, "hPa": 1e2, "kPa": 1e3, "MPa": 1e6, "GPa": 1e9, "bar": 1e5, "mbar": 1e2,
        "psi": _PSI, "PSI": _PSI, "ksi": 1e3 * _PSI, "atm": 101325.0,
        "inHg": _INCH * _HG, "mmHg": 1e-3 * _HG,
        "inH2O": _INCH * _WATER, "mmH2O": 1e-3 * _WATER, "cmH2O": 1e-2 * _WATER,
        "ftH2O": _FOOT * _WATER,
    }),
    (_ENERGY, {
        "J": 1.0, "kJ": 1e3, "MJ": 1e6, "Wh": 3600.0, "kWh": 3.6e6, "BTU": _BTU, "Btu": _BTU,
        "btu": _BTU, "Nm": 1.0,
    }),
    (_POWER, {
        "W": 1.0, "kW": 1e3, "KW": 1e3, "MW": 1e6, "hp": 550 * _FOOT * _POUND_FORCE,
        "HP": 550 * _FOOT * _POUND_FORCE, "bhp": 550 * _FOOT * _POUND_FORCE, "PS": 75 * G0,
    }),
    (_VOLTAGE, {"V": 1.0, "mV": 1e-3, "kV": 1e3}),
)

ATOMS: dict[str, tuple[float, Dimension]] = {
    name: (factor, dimension) for dimension, group in _GROUPS for name, factor in group.items()
}
"""Unit name -> (factor to SI, dimension). Temperatures here are differences."""

OFFSETS: dict[str, float] = {
    "K": 0.0, "degK": 0.0, "kelvin": 0.0, "degR": 0.0, "R": 0.0, "rankine": 0.0,
    "degC": 273.15, "C": 273.15, "celsius": 273.15,
    "degF": 459.67 * 5 / 9, "F": 459.67 * 5 / 9, "fahrenheit": 459.67 * 5 / 9,
}
"""Temperature unit -> its zero [K]."""

WORDS: tuple[tuple[str, str], ...] = (
    (r"[°º]\s*(?=[CFRK]\b)|\bdeg(?:rees?)?\s+(?=[CFRK]\b)", "deg"),
    (r"℃", "degC"),
    (r"℉", "degF"),
    (r"[°º]", "deg"),
    (r"\b(in|mm|cm|ft)\s*H2O\b", r"\1H2O"),
    (r"\bin\s*(?:WC|wc|w\.c\.)(?!\w)", "inH2O"),
    (r"\b(in|mm)\s+Hg\b", r"\1Hg"),
    (r"\bfl\.?\s*oz\b", "floz"),
    (r"\b(?:imp|imperial|UK)\s+gal(?:lons?)?\b", "impgal"),
    (r"\bUS\s+gal(?:lons?)?\b", "gal"),
    (r"\bsq\.?\s*(mm|cm|m|in|ft)\b", r"\1^2"),
    (r"\bcu\.?\s*(cm|m|in|ft)\b", r"\1^3"),
    (r"\s+per\s+", "/"),
    (r"''|[\"″”]", "in"),
    (r"['′’]", "ft"),
)
"""Regular expression -> replacement, applied in order to a unit text as typed."""

REFUSED: dict[str, str] = {
    "scfm": "standard cubic feet are an amount of air, not a flow at the site: write cfm or kg/s",
    "mK": "mK is a millikelvin: write 'm K' for metre times kelvin",
    "ton": "a ton has three sizes: write kg, lb or t (1000 kg)",
    "tons": "a ton has three sizes: write kg, lb or t (1000 kg)",
    "psid": "psid is a pressure difference",
}
"""Unit name -> why it is refused in every field that does not allow it by name."""

_FORCE_POUND = {"lb": (_POUND_FORCE, _FORCE), "lbs": (_POUND_FORCE, _FORCE)}
_ENERGY_WORD = "a torque is a force times a length, not an energy"

OWN_ATOMS: dict[str, dict[str, tuple[float, Dimension]]] = {
    "torque": _FORCE_POUND,
    "pressure_absolute": _FORCE_POUND,
    "pressure_gauge": _FORCE_POUND,
    "pressure_difference": {**_FORCE_POUND, "psid": (_PSI, _PRESSURE)},
    "stress": _FORCE_POUND,
    "acceleration": {"g": (G0, _ACCELERATION)},
    "rotational_speed": {"Hz": (_TURN, _TURNING)},
}
"""Kind -> unit names that mean something of their own in fields of that kind."""

OWN_REFUSED: dict[str, dict[str, str]] = {
    "torque": dict.fromkeys(("J", "kJ", "MJ", "Wh", "kWh", "BTU", "Btu", "btu"), _ENERGY_WORD),
    "time": {"m": "m is a metre: write min for minutes"},
    "volume": {"oz": "oz is a mass: write 'fl oz' for a volume"},
}
"""Kind -> unit name -> why it is refused there."""

OWN_TEXTS: dict[str, dict[str, str]] = {
    "rotational_speed": {
        "1/s": "rev/s", "s^-1": "rev/s", "1/min": "rev/min", "min^-1": "rev/min",
        "r/min": "rev/min", "r/s": "rev/s",
    },
    "conductivity": {"W/mK": "W/(m K)"},
    "specific_heat": {"J/kgK": "J/(kg K)", "kJ/kgK": "kJ/(kg K)"},
    "torque": {"lbft": "lb ft", "ftlb": "ft lb"},
}
"""Kind -> whole unit text as often written -> what it means there."""


@dataclass(frozen=True, slots=True)
class Kind:
    """What a field holds.

    Attributes
    ----------
    name : str
        Key in :data:`KINDS`.
    label : str
        In words, with its article ("a volume").
    si_unit : str
        Unit of the number kept inside the program; empty when it has none.
    si_display, us_display : str
        Units a value is shown in.
    examples : tuple of str
        Texts that are accepted.
    reference : str
        For a pressure "gauge", "absolute" or "difference"; else empty.
    is_point : bool
        Whether the unit has an offset (a temperature on its scale, not a difference).
    is_bare : bool
        Whether a number without unit is accepted.
    """

    name: str
    label: str
    si_unit: str
    si_display: str
    us_display: str
    examples: tuple[str, ...]
    reference: str = ""
    is_point: bool = False
    is_bare: bool = False


_ROWS: tuple[Kind, ...] = (
    Kind("temperature", "a temperature", "K", "degC", "degF", ("20 degC", "68 degF"),
         is_point=True),
    Kind("temperature_difference", "a temperature difference", "K", "K", "degF",
         ("10 K", "18 degF")),
    Kind("pressure_absolute", "an absolute pressure", "Pa", "kPa abs", "psia",
         ("86.8 kPa", "12.6 psia"), reference="absolute"),
    Kind("pressure_gauge", "a gauge pressure", "Pa", "kPa gauge", "psig",
         ("35 kPa", "5 psig"), reference="gauge"),
    Kind("pressure_difference", "a pressure difference", "Pa", "kPa", "psi",
         ("300 Pa", "1.2 inH2O"), reference="difference"),
    Kind("length", "a length", "m", "m", "ft", ("25 mm", "1 in")),
    Kind("area", "an area", "m^2", "m^2", "ft^2", ("0.23 m^2", "2.5 ft^2")),
    Kind("volume", "a volume", "m^3", "L", "gal", ("28 L", "7.5 gal")),
    Kind("mass", "a mass", "kg", "kg", "lb", ("430 kg", "950 lb")),
    Kind("mass_flow", "a mass flow", "kg/s", "kg/s", "lb/min", ("0.12 kg/s", "16 lb/min")),
    Kind("volume_flow", "a volume flow", "m^3/s", "L/min", "gpm", ("40 L/min", "10 gpm")),
    Kind("speed", "a speed", "m/s", "m/s", "mph", ("72 m/s", "160 mph")),
    Kind("power", "a power", "W", "kW", "hp", ("130 kW", "175 hp")),
    Kind("energy", "an energy", "J", "kJ", "BTU", ("8.6 MJ", "8000 BTU")),
    Kind("time", "a time", "s", "s", "s", ("90 s", "1.5 min")),
    Kind("angle", "an angle", "rad", "deg", "deg", ("30 deg", "0.5 rad")),
    Kind("conductance", "a heat conductance", "W/K", "W/K", "BTU/(h degF)",
         ("3600 W/K", "6800 BTU/(h degF)")),
    Kind("heat_transfer_coefficient", "a heat transfer coefficient", "W/(m^2 K)", "W/(m^2 K)",
         "BTU/(h ft^2 degF)", ("15 W/(m^2 K)", "2.6 BTU/(h ft^2 degF)")),
    Kind("thermal_resistance", "a thermal resistance of an area", "m^2 K/W", "m^2 K/W",
         "h ft^2 degF/BTU", ("0.05 m^2 K/W", "0.3 h ft^2 degF/BTU")),
    Kind("heat_capacity", "a heat capacity", "J/K", "kJ/K", "BTU/degF",
         ("40 kJ/K", "21 BTU/degF")),
    Kind("specific_heat", "a specific heat", "J/(kg K)", "J/(kg K)", "BTU/(lb degF)",
         ("900 J/(kg K)", "0.215 BTU/(lb degF)")),
    Kind("conductivity", "a thermal conductivity", "W/(m K)", "W/(m K)", "BTU/(h ft degF)",
         ("0.04 W/(m K)", "0.023 BTU/(h ft degF)")),
    Kind("rotational_speed", "a rotational speed", "rev/s", "rpm", "rpm",
         ("7000 rpm", "115 Hz")),
    Kind("force", "a force", "N", "N", "lbf", ("20 N", "5 lbf")),
    Kind("torque", "a torque", "N m", "N m", "lbf ft", ("180 N m", "130 lb ft")),
    Kind("specific_consumption", "a specific fuel consumption", "kg/J", "g/kWh", "lb/(hp h)",
         ("300 g/kWh", "0.5 lb/(hp h)")),
    Kind("specific_energy", "an energy per mass", "J/kg", "MJ/kg", "BTU/lb",
         ("43 MJ/kg", "18500 BTU/lb")),
    Kind("power_per_volume", "a power per volume", "W/m^3", "kW/L", "hp/in^3",
         ("2.5 kW/L", "0.05 hp/in^3")),
    Kind("mass_per_power", "a mass per power", "kg/W", "kg/kW", "lb/hp",
         ("0.4 kg/kW", "0.66 lb/hp")),
    Kind("conductance_per_power", "a heat conductance per power", "1/K", "W/K/kW",
         "BTU/(h degF hp)", ("28 W/K/kW", "40 BTU/(h degF hp)")),
    Kind("flow_per_power", "a volume flow per power", "m^3/J", "L/min/kW", "gpm/hp",
         ("1.0 L/min/kW", "0.2 gpm/hp")),
    Kind("voltage", "a voltage", "V", "V", "V", ("12 V",)),
    Kind("density", "a density", "kg/m^3", "kg/m^3", "lb/ft^3", ("917 kg/m^3", "62.4 lb/ft^3")),
    Kind("stress", "a stress", "Pa", "MPa", "ksi", ("65 MPa", "9.4 ksi")),
    Kind("acceleration", "an acceleration", "m/s^2", "m/s^2", "ft/s^2", ("4 m/s^2", "0.4 g")),
    Kind("head", "a head of the pumped liquid", "m", "m", "ft", ("5 m", "16 ft")),
    Kind("fraction", "a fraction", "", "%", "%", ("0.88", "88 %"), is_bare=True),
    Kind("number", "a number without unit", "", "", "", ("3", "0.025"), is_bare=True),
)

KINDS: dict[str, Kind] = {kind.name: kind for kind in _ROWS}
"""Every kind of quantity a field can hold. A rotational speed is kept in turns a second."""

COUNTERPARTS: dict[str, str] = {
    "um": "in", "mm": "in", "cm": "in", "m": "ft", "km": "mi", "mm^2": "in^2", "cm^2": "in^2",
    "m^2": "ft^2", "mL": "floz", "cc": "in^3", "L": "gal", "m^3": "ft^3", "kg": "lb",
    "g/s": "lb/min", "kg/h": "lb/h", "km/h": "mph", "Pa": "inH2O", "MPa": "ksi", "GPa": "ksi",
    "min": "min", "h": "h", "ms": "ms", "MJ": "BTU", "W": "BTU/h", "kJ/(kg K)": "BTU/(lb degF)",
    "kJ/kg": "BTU/lb", "rad": "rad", "mm/s": "in/s",
}
"""Metric unit -> the US unit of like size, for showing a field in the other system."""
