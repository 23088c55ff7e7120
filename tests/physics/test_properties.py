"""Property tables: how close they are to CoolProp, and what happens to the file they live in."""

import json
import math
import subprocess
import sys
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo import properties
from thermo.errors import PropertyError, RangeError
from thermo.properties import build_tables, load_tables, table_path, tables_ready
from thermo.tables import Curve, fit_curve, tables_from_data, tables_to_data

# Largest fit error allowed, relative unless the curve says absolute. The conductivity's comes from
# a step of 3e-4 in CoolProp's own near 157 degC; density's and heat's from the change at 100 degC
# from 1 atm to the saturation line.
WATER_TARGETS = {
    "density": 1e-5, "specific_heat": 1e-5, "viscosity": 2e-4, "conductivity": 2.5e-4,
    "saturation_pressure": 1e-5, "saturation_temperature": 2e-3, "latent_heat": 1e-5,
    "steam_density": 2e-5, "steam_enthalpy": 1e-5,
}
AIR_TARGET = 3e-4


@pytest.fixture
def fresh(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """An empty cache, and nothing in memory."""
    monkeypatch.setenv("SOAKBOX_CACHE", str(tmp_path))
    monkeypatch.setattr(properties, "_memo", {})
    return tmp_path


def forget(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(properties, "_memo", {})


@pytest.mark.parametrize("name", WATER_TARGETS)
def test_water_fit_error(name: str) -> None:
    curve = getattr(load_tables().water, name)
    assert 0.0 < curve.fit_error < WATER_TARGETS[name]


def test_every_water_curve_has_a_target() -> None:
    assert {f.name for f in fields(load_tables().water)} == set(WATER_TARGETS)


@pytest.mark.parametrize(
    "name", ["viscosity", "conductivity", "specific_heat", "vapour_viscosity",
             "vapour_conductivity", "vapour_specific_heat"])
def test_air_fit_error(name: str) -> None:
    assert 0.0 < getattr(load_tables().air, name).fit_error < AIR_TARGET


@pytest.mark.parametrize("glycol", ["ethylene", "propylene"])
def test_glycol_fit_error(glycol: str) -> None:
    table = getattr(load_tables(), glycol)
    assert table.freezing_point.fit_error < 1e-3
    for name in ("density", "specific_heat", "viscosity", "conductivity"):
        # CoolProp's own polynomials of degree 5 and 3 are found again: rounding only.
        assert getattr(table, name).fit_error < 1e-10


@pytest.mark.parametrize(
    ("name", "key", "quality"),
    [("density", "D", 0), ("specific_heat", "C", 0), ("viscosity", "V", 0),
     ("conductivity", "L", 0), ("saturation_pressure", "P", 0), ("steam_density", "D", 1),
     ("steam_enthalpy", "H", 1)])
def test_measured_error_holds_between_its_own_points(name: str, key: str, quality: int) -> None:
    """The stored error against CoolProp again, at temperatures of another spacing."""
    from CoolProp.CoolProp import PropsSI

    curve: Curve = getattr(load_tables().water, name)
    T = np.linspace(273.17, 473.1, 173)
    if quality == 0 and key != "P":
        source = [PropsSI(key, "T", t, "P", 101325.0, "Water") if t < 373.12
                  else PropsSI(key, "T", t, "Q", 0, "Water") for t in T]
    else:
        source = [PropsSI(key, "T", t, "Q", quality, "Water") for t in T]
    worst = float(np.max(np.abs(curve(T) / np.array(source) - 1.0)))
    assert worst < 1.1 * curve.fit_error


def murphy_koop(T: float) -> float:
    """Vapour pressure over supercooled water [Pa]: Murphy and Koop (2005), eq. 10."""
    return math.exp(
        54.842763 - 6763.22 / T - 4.210 * math.log(T) + 0.000367 * T
        + math.tanh(0.0415 * (T - 218.8))
        * (53.878 - 1331.22 / T - 9.44523 * math.log(T) + 0.014025 * T)
    )


@pytest.mark.parametrize("T", [238.15, 243.15, 253.15, 263.15, 273.15])
def test_saturation_over_supercooled_water(T: float) -> None:
    water = load_tables().water
    p = murphy_koop(T)
    assert water.saturation_pressure.checked(T) == pytest.approx(p, rel=1e-3)
    if water.saturation_temperature.low < p:
        assert water.saturation_temperature.checked(p) == pytest.approx(T, abs=0.03)


@given(st.floats(250.0, 473.15))
def test_saturation_round_trip(T: float) -> None:
    water = load_tables().water
    back = water.saturation_temperature(water.saturation_pressure(T))
    assert back == pytest.approx(T, abs=2e-3 if T > 273.15 else 5e-3)


def test_cache_is_written_then_read(fresh: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    assert not tables_ready()
    first = load_tables()
    assert first.origin == "built"
    assert load_tables() is first
    path = table_path()
    assert path is not None
    assert [p.name for p in fresh.iterdir()] == [path.name]
    forget(monkeypatch)
    assert tables_ready()
    second = load_tables()
    assert second.origin == "cache"
    assert replace(second, origin="built") == first


def test_a_good_cache_keeps_coolprop_unimported(fresh: Path) -> None:
    load_tables()
    code = (
        "import sys; from thermo.properties import load_tables; t = load_tables(); "
        "print(t.origin, 'CoolProp' in sys.modules)"
    )
    root = Path(properties.__file__).parents[1]
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root,
    )
    assert run.stdout.split() == ["cache", "False"]


@pytest.mark.parametrize("damage", ["cut", "number", "format", "empty", "shape"])
def test_damaged_cache_is_built_anew(
    fresh: Path, monkeypatch: pytest.MonkeyPatch, damage: str
) -> None:
    good = load_tables()
    path = table_path()
    assert path is not None
    document = json.loads(path.read_text())
    if damage == "cut":
        path.write_text(path.read_text()[:1000])
    elif damage == "empty":
        path.write_text("")
    elif damage == "format":
        document["format"] += 1
        path.write_text(json.dumps(document))
    elif damage == "number":
        document["content"]["water"]["density"]["coefs"][-1] += 1.0
        path.write_text(json.dumps(document))
    else:
        del document["content"]["air"]
        document["sha256"] = properties._digest(document["content"])
        path.write_text(json.dumps(document))
    forget(monkeypatch)
    assert not tables_ready()
    again = load_tables()
    assert again.origin == "built"
    assert again.water == good.water
    forget(monkeypatch)
    assert load_tables().origin == "cache"


def test_cache_that_cannot_be_written(fresh: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (fresh / "file").write_text("in the way")
    monkeypatch.setenv("SOAKBOX_CACHE", str(fresh / "file" / "below"))
    tables = load_tables()
    assert tables.origin == "memory"
    assert "could not be kept" in tables.note
    assert tables.water.density(300.0) == pytest.approx(996.5, abs=0.1)


def test_no_home_directory(fresh: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import platformdirs

    monkeypatch.delenv("SOAKBOX_CACHE")
    monkeypatch.setattr(platformdirs, "user_cache_dir", lambda *a, **k: "~/.cache/soakbox")
    assert table_path() is None
    tables = load_tables()
    assert (tables.origin, tables.note) == ("memory", "no home directory to keep the tables in")


def test_file_is_named_by_version_and_format(fresh: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(properties.importlib.metadata, "version", lambda name: "9.9.9")
    path = table_path()
    assert path is not None
    assert path.name == f"properties-coolprop-9.9.9-format-{properties.FORMAT}.json"


def test_without_coolprop(fresh: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(name: str) -> str:
        raise properties.importlib.metadata.PackageNotFoundError(name)

    monkeypatch.setattr(properties.importlib.metadata, "version", missing)
    with pytest.raises(PropertyError, match="CoolProp is not installed"):
        load_tables()


def test_data_and_back() -> None:
    tables = build_tables()
    data = json.loads(json.dumps(tables_to_data(tables)))
    assert tables_from_data(data, "built") == tables


CURVES = {
    "plain": fit_curve(lambda x: x**3 - 2 * x, -1.0, 4.0, 3, name="cubic", unit="-",
                       absolute=True),
    "reciprocal": fit_curve(lambda x: np.exp(-50 / x), 20.0, 80.0, 4, name="Arrhenius", unit="-",
                            variable="1/x", log_value=True),
    "logarithm": fit_curve(lambda x: np.log(x) ** 2, 1.0, 9.0, 2, name="square of log", unit="-",
                           variable="ln x", absolute=True),
}


@pytest.mark.parametrize("kind", CURVES)
def test_curve_on_floats_and_arrays(kind: str) -> None:
    curve = CURVES[kind]
    x = np.linspace(max(curve.low, 1.0), curve.high, 7)
    got = curve.checked(x)
    assert isinstance(got, np.ndarray)
    for one, value in zip(x, got, strict=True):
        single = curve(float(one))
        assert type(single) is float
        assert single == pytest.approx(value, rel=1e-14)


def test_curves_find_their_own_form_again() -> None:
    assert CURVES["plain"](3.0) == pytest.approx(21.0, rel=1e-12)
    assert CURVES["reciprocal"](40.0) == pytest.approx(math.exp(-1.25), rel=1e-12)
    assert CURVES["logarithm"](5.0) == pytest.approx(math.log(5.0) ** 2, rel=1e-12)


def test_integral_and_slope_are_exact() -> None:
    cubic = CURVES["plain"]
    area = cubic.integral(2.0, "area", "-")
    assert area(2.0) == 0.0
    assert area(3.0) == pytest.approx((81 - 16) / 4 - (9 - 4), rel=1e-12)
    assert cubic.slope("slope", "-")(3.0) == pytest.approx(25.0, rel=1e-12)
    with pytest.raises(ValueError, match="not a plain polynomial"):
        CURVES["logarithm"].slope("slope", "-")


def test_outside_the_range_names_property_value_and_range() -> None:
    density = load_tables().water.density
    message = r"density of water: 480 K is outside the range 273.15 to 473.15 K"
    with pytest.raises(RangeError, match=message):
        density.checked(480.0)
    with pytest.raises(RangeError, match="density of water: 200 K") as caught:
        density.check(np.array([[300.0, 480.0], [200.0, 299.0]]))
    assert (caught.value.value, caught.value.low, caught.value.high) == (200.0, 273.15, 473.15)
    with pytest.raises(RangeError, match="saturation temperature of water: 1e\\+07 Pa"):
        load_tables().water.saturation_temperature.checked(1e7)
    with pytest.raises(RangeError, match="nan"):
        density.checked(math.nan)
    density.check(np.array([273.15, 473.15]))
