"""Quantities as people write them: what is read, what is refused and in which words."""

from __future__ import annotations

import math
import subprocess
import sys

import pint
import pytest

from thermo.errors import UnitError
from thermo.fields import SI, Quantity
from thermo.keys import key_of, path_of
from thermo.quantity_text import printable
from thermo.unit_table import ATOMS, COUNTERPARTS, OFFSETS
from thermo.units import KINDS, QuantityTextError, convert, counterpart, format_value, parse
from thermo.units import format_number as number

# Factors: NIST SP 811 (2008), appendix B.8, unless another source is named beside the row.
READ = [
    ("28 L", "volume", 0.028),
    ("7.5 gal", "volume", 7.5 * 3.785411784e-3),
    ("3 1/2 in", "length", 3.5 * 0.0254),
    ("1/2 in", "length", 0.5 * 0.0254),
    ("-1 1/4 in", "length", -1.25 * 0.0254),
    ('1/2"', "length", 0.5 * 0.0254),
    ("6'", "length", 6 * 0.3048),
    ("1/4 mile", "length", 402.336),
    (".5 m", "length", 0.5),
    ("5. m", "length", 5.0),
    ("2.5e3mm", "length", 2.5),
    ("5 sq ft", "area", 5 * 0.09290304),
    ("122 cu in", "volume", 122 * 1.6387064e-5),
    ("122 in³", "volume", 122 * 1.6387064e-5),
    ("750 cc", "volume", 7.5e-4),
    ("8 fl oz", "volume", 8 * 2.95735295625e-5),
    ("1 imp gal", "volume", 4.54609e-3),
    ("82 C", "temperature", 355.15),
    ("82 degC", "temperature", 355.15),
    ("82°C", "temperature", 355.15),
    ("180 F", "temperature", (180 + 459.67) / 1.8),
    ("180 ° F", "temperature", (180 + 459.67) / 1.8),
    ("491.67 degR", "temperature", 273.15),
    ("−5 °C", "temperature", 268.15),
    ("10 K", "temperature_difference", 10.0),
    ("10 degC", "temperature_difference", 10.0),
    ("18 F", "temperature_difference", 10.0),
    ("18 delta degF", "temperature_difference", 10.0),
    ("15 psi", "pressure_gauge", 15 * 6894.757293168),
    ("15 psig", "pressure_gauge", 15 * 6894.757293168),
    ("1 bar(g)", "pressure_gauge", 1e5),
    ("35 kPa gauge", "pressure_gauge", 35e3),
    ("12.6 psia", "pressure_absolute", 12.6 * 6894.757293168),
    ("29.92 inHg", "pressure_absolute", 29.92 * 3386.38864),  # conventional mercury, 13595.1 kg/m3
    ("868 hPa", "pressure_absolute", 86.8e3),
    ("868 mbar", "pressure_absolute", 86.8e3),
    ("1.2 inH2O", "pressure_difference", 1.2 * 249.08891),
    ("1.2 in H2O", "pressure_difference", 1.2 * 249.08891),
    ("5 cfm", "volume_flow", 5 * 0.3048**3 / 60),
    ("10 gpm", "volume_flow", 10 * 3.785411784e-3 / 60),
    ("40 L/min", "volume_flow", 40e-3 / 60),
    ("40 lpm", "volume_flow", 40e-3 / 60),
    ("150 mph", "speed", 150 * 0.44704),
    ("100 km/h", "speed", 100 / 3.6),
    ("100 kph", "speed", 100 / 3.6),
    ("100 kn", "speed", 100 * 1852 / 3600),
    ("175 hp", "power", 175 * 745.69987158227),
    ("175 PS", "power", 175 * 735.49875),
    ("7200 rpm", "rotational_speed", 120.0),
    ("7200 1/min", "rotational_speed", 120.0),
    ("120 Hz", "rotational_speed", 120.0),
    ("6.283185307179586 rad/s", "rotational_speed", 1.0),
    ("180 deg", "angle", math.pi),
    ("90°", "angle", math.pi / 2),
    ("100 lb ft", "torque", 100 * 1.3558179483314),
    ("100 ft-lb", "torque", 100 * 1.3558179483314),
    ("100 N·m", "torque", 100.0),
    ("100 Nm", "torque", 100.0),
    ("6800 BTU/(h degF)", "conductance", 6800 * 1055.05585262 / 3600 * 1.8),
    ("6800 BTU/h/F", "conductance", 6800 * 1055.05585262 / 3600 * 1.8),
    ("15 W/m2K", "heat_transfer_coefficient", 15.0),
    ("15 W/(m²·K)", "heat_transfer_coefficient", 15.0),
    ("15 W m^-2 K^-1", "heat_transfer_coefficient", 15.0),
    ("0.04 W/mK", "conductivity", 0.04),
    ("0.04 W/m K", "conductivity", 0.04),
    ("0.9 kJ/kgK", "specific_heat", 900.0),
    ("900 J/kg/K", "specific_heat", 900.0),
    ("300 g/kWh", "specific_consumption", 300e-3 / 3.6e6),
    ("0.5 lb/(hp h)", "specific_consumption", 0.5 * 0.45359237 / (745.69987158227 * 3600)),
    ("0.5 lb/hp-h", "specific_consumption", 0.5 * 0.45359237 / (745.69987158227 * 3600)),
    ("1 L/min per kW", "flow_per_power", 1e-3 / 60 / 1e3),
    ("28 W/K/kW", "conductance_per_power", 0.028),
    ("0.4 g", "acceleration", 0.4 * 9.80665),
    ("88 %", "fraction", 0.88),
    ("88%", "fraction", 0.88),
    ("7/8", "fraction", 0.875),
    (0.88, "fraction", 0.88),
    (3, "number", 3.0),
    ("5 furlong", "length", 5 * 201.1684),  # not in the table: survey foot of the unit library
]


@pytest.mark.parametrize(("text", "kind", "si"), READ)
def test_read(text: str | float, kind: str, si: float) -> None:
    # 1e-6 for the factors that the source prints to 7 digits, all others agree to rounding
    assert parse(text, kind) == pytest.approx(si, rel=1e-6)


# The first group are traps of handing a whole text to a unit library: a silent 0 mm, 1.5 in,
# coulombs, centifermi, an acceleration, a hang.
REFUSED = [
    ("1 000 mm", "length", "space is not accepted inside a number: write 1000 mm"),
    ("1\u202f000 mm", "length", "write 1000 mm"),
    ("7.5 Gal", "volume", "measures an acceleration, expected a volume.*did you mean gal"),
    ("9**9**9", "number", "no arithmetic"),
    ("9**9**9 m", "length", "no arithmetic"),
    ("5 m**9**9", "length", "unit cannot be read"),
    ("5 m^9^9^9", "length", "unit cannot be read"),
    ("5 m^99", "length", "unit cannot be read"),
    ("5 m^9", "length", "powers of a unit from -4 to 4"),
    ("5 (((m", "length", "unit cannot be read"),
    ("1,000 mm", "length", "write 1000 mm for thousands or 1.000 mm for decimals"),
    ("0,5 L", "volume", r"comma is not accepted in a number: write 0\.5 L"),
    ("1_000 m", "length", "underscore"),
    ("1:30", "time", "clock time is not accepted"),
    ("3-1/2 in", "length", "with a space: 3 1/2 in"),
    ("5-10 L", "volume", "no arithmetic or range"),
    ("5 to 10 L", "volume", "cannot be read"),
    ("3/0 m", "length", "zero below the line"),
    ("nan m", "length", "expected a number first"),
    ("inf", "number", "expected a number first"),
    ("1e999 m", "length", "finite"),
    (float("nan"), "number", "finite"),
    (float("inf"), "fraction", "finite"),
    (10**400, "number", "finite"),
    ("", "length", "nothing was given"),
    ("   ", "length", "nothing was given"),
    ("L", "volume", "expected a number first, such as '28 L'"),
    ("28", "volume", "unit is missing"),
    (28, "volume", "unit is missing"),
    (28.0, "volume", "unit is missing"),
    (True, "number", "true: expected a number"),
    (None, "volume", "nothing: expected a volume"),
    ([28], "volume", "a list: expected a volume"),
    ({"a": 1}, "volume", "a table: expected a volume"),
    ("28 L" + " " * 80, "volume", "at most 80 characters"),
    ("28 L\x1b[31m", "volume", r"'28 L\\x1b\[31m': control characters"),
    ("28\nL", "volume", r"'28\\nL': control characters"),
    ("28 \u202eL", "volume", r"control characters"),
    ("5 bananas", "volume", "unit bananas is not known"),
    ("5 KPA", "pressure_gauge", "capitals matter, did you mean kPa"),
    ("100 kN", "speed", "did you mean kn"),
    ("5 kg", "volume", "measures a mass, expected a volume"),
    ("5 m", "time", "write min for minutes"),
    ("5 psig", "pressure_absolute", "add the pressure of the air"),
    ("5 psia", "pressure_gauge", "take the pressure of the air off"),
    ("5 bar abs", "pressure_gauge", "take the pressure of the air off"),
    ("5 psig", "pressure_difference", "neither gauge nor absolute"),
    ("65 MPag", "stress", "neither gauge nor absolute"),
    ("5 psid", "pressure_gauge", "pressure difference"),
    ("10 delta degC", "temperature", "expected a temperature scale"),
    ("10 J", "temperature", "expected a temperature scale"),
    ("-300 degC", "temperature", "below absolute zero"),
    ("100 J", "torque", "force times a length"),
    ("5 oz", "volume", "fl oz"),
    ("5 scfm", "volume_flow", "not a flow at the site"),
    ("5 mK", "conductivity", "millikelvin"),
    ("2 tons", "mass", "three sizes"),
    ("10 reaumur", "temperature_difference", "not known"),
    ("3 dB", "number", "has no unit"),
    ("12 %", "number", "has no unit"),
    ("5 mol", "mass", "not known"),
    ("5 dimensionless", "mass", "not known"),
]


@pytest.mark.parametrize(("text", "kind", "words"), REFUSED)
def test_refused(text: object, kind: str, words: str) -> None:
    with pytest.raises(QuantityTextError, match=words) as caught:
        parse(text, kind)
    assert caught.value.given
    assert str(caught.value).isprintable()
    assert len(str(caught.value)) < 400


def test_mixed_traps_are_read_as_meant() -> None:
    assert parse("3 1/2 in", "length") == pytest.approx(0.0889)  # not 1.5 in
    assert parse("82 C", "temperature") == pytest.approx(355.15)  # not coulombs
    assert parse("5 cfm", "volume_flow") == pytest.approx(0.00235974, rel=1e-5)  # not centifermi


def test_huge_whole_number_is_described_not_printed() -> None:
    with pytest.raises(QuantityTextError, match=r"whole number of about 10000[01] digits"):
        parse(10**100_000, "number")


# Names whose pint spelling differs, or whose pint value is another one of the same name.
_PINT = {
    "floz": "fluid_ounce", "impgal": "imperial_gallon", "nmi": "nautical_mile", "t": "metric_ton",
    "cc": "milliliter", "KW": "kilowatt", "HP": "horsepower", "bhp": "horsepower",
    "PS": "metric_horsepower", "BTU": "Btu_it", "Btu": "Btu_it", "btu": "Btu_it", "PSI": "psi",
    "RPM": "rpm", "krpm": "kilorpm", "MPH": "mph", "KPH": "kph", "kmh": "kph", "kn": "knot",
    "kt": "knot", "knots": "knot", "fpm": "foot/minute", "gpm": "gallon/minute",
    "GPM": "gallon/minute", "gph": "gallon/hour", "GPH": "gallon/hour", "lpm": "liter/minute",
    "LPM": "liter/minute", "cfm": "foot**3/minute", "CFM": "foot**3/minute", "lbs": "pound",
    "lbm": "pound", "Nm": "newton*meter", "mmHg": "millimeter_Hg",
    "inHg": "inch_Hg", "cmH2O": "centimeter_H2O", "rev": "revolution", "Hz": "1/second",
    **dict.fromkeys(("K", "degK", "degC", "C", "celsius"), "delta_degC"),
    **dict.fromkeys(("degF", "F", "fahrenheit", "degR", "R", "rankine"), "delta_degF"),
}
_SCALED = {"inH2O": 2.54, "mmH2O": 0.1, "ftH2O": 30.48}  # in centimetres of water


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize("name", sorted(ATOMS))
def test_table_agrees_with_pint(name: str, registry: pint.UnitRegistry) -> None:
    factor, dimension = ATOMS[name]
    spelled = "centimeter_H2O" if name in _SCALED else _PINT.get(name, name)
    theirs, units = registry.get_base_units(spelled)
    names = ("meter", "kilogram", "second", "kelvin", "ampere", "radian")
    bases = {str(k): v for k, v in units._units.items()}
    assert tuple(bases.get(b, 0) for b in names) == dimension
    # pint's head of mercury and of water carry 6 digits; all else agrees to rounding
    rel = 2e-6 if "H" in name[1:] and factor > 1 else 1e-12
    assert factor == pytest.approx(theirs * _SCALED.get(name, 1.0), rel=rel)


def test_scales_agree_with_pint(registry: pint.UnitRegistry) -> None:
    for name in ("degC", "degF", "degR", "K"):
        ours = parse(f"50 {name}", "temperature")
        theirs = registry.Quantity(50.0, name).to("kelvin").magnitude
        assert ours == pytest.approx(theirs, rel=1e-12)
    assert set(OFFSETS) <= set(ATOMS)


def test_every_kind_is_whole() -> None:
    for kind in KINDS.values():
        for text in kind.examples:
            assert math.isfinite(parse(text, kind.name))
        for unit in {kind.si_display, kind.us_display}:
            assert parse(f"{convert(1.0, kind.name, unit):.17g} {unit}", kind.name) == (
                pytest.approx(1.0, rel=1e-12)
            )


def test_counterparts_measure_the_same() -> None:
    for metric, us in COUNTERPARTS.items():
        holders = [k.name for k in KINDS.values() if k.si_unit and not k.is_point
                   and _accepts(metric, k.name)]
        assert holders, metric
        for kind in holders:
            assert math.isfinite(convert(1.0, kind, us))
    assert counterpart("mm", "length") == "in"
    assert counterpart("kPa", "pressure_gauge") == "psig"
    assert counterpart("degC", "temperature") == "degF"
    assert counterpart("kW", "power") == "hp"


def _accepts(unit: str, kind: str) -> bool:
    try:
        convert(1.0, kind, unit)
    except QuantityTextError:
        return False
    return True


@pytest.mark.parametrize(("si", "kind", "system", "text"), [
    (0.028, "volume", "si", "28 L"),
    (0.028, "volume", "us", "7.397 gal"),
    (335.15, "temperature", "si", "62 degC"),
    (335.15, "temperature", "us", "143.6 degF"),
    (10.0, "temperature_difference", "us", "18 degF"),
    (35e3, "pressure_gauge", "si", "35 kPa gauge"),
    (86.8e3, "pressure_absolute", "us", "12.59 psia"),
    (120.0, "rotational_speed", "si", "7200 rpm"),
    (0.88, "fraction", "si", "88 %"),
    (3.0, "number", "si", "3"),
])
def test_format(si: float, kind: str, system: str, text: str) -> None:
    assert format_value(si, kind, "us" if system == "us" else "si") == text


@pytest.mark.parametrize(("value", "digits", "text"), [
    (0.0, 4, "0"), (-0.0, 4, "0"), (123456.0, 3, "123000"), (0.00012345, 3, "0.000123"),
    (99.996, 4, "100"), (1.5, 4, "1.5"), (1.2345e9, 4, "1.234e+09"), (-2.5, 2, "-2.5"),
    (1200.0, 4, "1200"), (float("nan"), 4, "nan"), (float("inf"), 4, "inf"),
])
def test_format_number(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


def test_unknown_kind() -> None:
    with pytest.raises(UnitError, match="no kind of quantity is called tempo"):
        parse("3 m", "tempo")


def test_printable_hides_controls_and_cuts() -> None:
    assert printable("a\x1b[2J\u202e\udc80") == "a\\x1b[2J\\u202e\\udc80"
    assert printable("x" * 100, 10) == "xxxxxxxxxx..."
    assert printable("µ°é") == "µ°é"


def test_range_is_checked_in_the_fields_own_unit() -> None:
    field = Quantity("volume", "0.5 L", "2 m^3")
    assert field.parse("2000 L") == pytest.approx(2.0)
    assert field.parse(SI(0.03)) == 0.03
    with pytest.raises(QuantityTextError, match=r"a volume from 0\.5 L to 2 m\^3 is expected"):
        field.parse("3 m^3")
    with pytest.raises(QuantityTextError, match="is expected"):
        field.parse(SI(3.0))
    with pytest.raises(QuantityTextError, match="above 0 L and at most 9 L"):
        Quantity("volume", "0 L", "9 L", open_low=True).parse("0 gal")
    with pytest.raises(UnitError, match="range is empty"):
        Quantity("volume", "2 L", "1 L")


def test_end_of_range_holds_in_every_unit() -> None:
    # 95 * 0.01 is 0.9500000000000001 in floating point: still the end of the range
    assert Quantity("fraction", 0.05, 0.95).parse("95 %") == 0.95
    assert Quantity("pressure_gauge", "1 psi", "50 psi").parse("344.73786465841803 kPa") == (
        pytest.approx(parse("50 psi", "pressure_gauge"))
    )


def test_format_in_own_unit() -> None:
    field = Quantity("length", "4 mm", "200 mm")
    assert field.format(0.025) == "25 mm"
    assert field.format(0.0254, "us") == "1 in"


@pytest.mark.parametrize(("key", "path"), [
    ("tank.volume", ("tank", "volume")),
    ("leg[1].duration", ("leg", 1, "duration")),
    ("leg.1.duration", ("leg", 1, "duration")),
    ("leg[first pass].distance", ("leg", "first pass", "distance")),
    ('doubt."tank.volume".low', ("doubt", "tank.volume", "low")),
])
def test_paths(key: str, path: tuple[str | int, ...]) -> None:
    assert path_of(key) == path
    assert path_of(key_of(path)) == path


@pytest.mark.parametrize("key", ["", ".", "a.", "a..b", "[1]", "a[", "a]b", "a b", "a\x00", "é"])
def test_no_paths(key: str) -> None:
    with pytest.raises(ValueError, match="is not a key such as"):
        path_of(key)


def test_listed_units_do_not_load_the_unit_library() -> None:
    code = (
        "import sys; from thermo.units import parse; import thermo.scenario;"
        "parse('7.5 gal', 'volume'); parse('6800 BTU/(h degF)', 'conductance');"
        "sys.exit('pint' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
