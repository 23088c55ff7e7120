"""Site air: pressure from elevation or a report, humidity either way, and what is refused."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo import moist_air, site
from thermo.errors import PropertyError, RangeError
from thermo.site import air_state

TEMPERATURES = st.floats(263.15, 323.15)
PRESSURES = st.floats(60e3, 105e3)
HUMIDITIES = st.floats(0.0, 1.0)


@pytest.mark.parametrize(
    ("metres", "kelvin", "pascal"),
    [(0.0, 288.15, 101325.0), (1500.0, 278.40, 84556.0), (3000.0, 268.65, 70108.5)])
def test_standard_atmosphere(metres: float, kelvin: float, pascal: float) -> None:
    """ISO 2533:1975, table by geopotential height (3000 m from memory)."""
    assert site.standard_temperature(metres) == pytest.approx(kelvin, abs=1e-9)
    assert site.standard_pressure(metres) == pytest.approx(pascal, rel=1e-5)


@given(st.floats(-500.0, 5000.0))
def test_altitudes_invert_the_standard_atmosphere(metres: float) -> None:
    p, T = site.standard_pressure(metres), site.standard_temperature(metres)
    assert site.pressure_altitude(p) == pytest.approx(metres, abs=1e-6)
    assert site.density_altitude(p / (site.R_STANDARD * T)) == pytest.approx(metres, abs=1e-6)


@given(st.floats(-400.0, 4500.0))
def test_standard_altimeter_setting_gives_standard_pressure(metres: float) -> None:
    p = site.station_from_altimeter(101325.0, metres)
    assert p == pytest.approx(site.standard_pressure(metres), rel=1e-12)


@given(st.floats(95e3, 106e3), st.floats(0.0, 3000.0))
def test_altimeter_reads_the_field(setting: float, metres: float) -> None:
    """What an altimeter is for: it reads the difference of the two pressure altitudes."""
    station = site.station_from_altimeter(setting, metres)
    read = site.pressure_altitude(station) - site.pressure_altitude(setting)
    assert read == pytest.approx(metres, abs=1e-6)


def test_altimeter_against_the_weather_service_form() -> None:
    """A = (p^0.190284 + 8.4228807e-5 z)^(1/0.190284) in hPa, without its 0.3 hPa."""
    for setting, z in ((1013.25, 1290.0), (1019.3, 1793.1), (1000.0, 300.0)):
        p = site.station_from_altimeter(setting * 100.0, z) / 100.0
        back = (p**0.190284 + 8.4228807e-5 * z) ** (1 / 0.190284)
        assert back == pytest.approx(setting, abs=0.1)


@given(TEMPERATURES, PRESSURES, HUMIDITIES)
def test_humidity_either_way(T: float, p: float, humidity: float) -> None:
    air = air_state(temperature=T, station_pressure=p, relative_humidity=humidity)
    assert air.vapour_pressure + air.dry_pressure == pytest.approx(p, rel=1e-12)
    if air.dew_point is None:
        assert air.vapour_pressure < moist_air.saturation_vapour_pressure(238.15)
        return
    assert air.dew_point <= T + 0.05
    if air.dew_point > 250.0:  # the inverse is within 5 mK there, 5e-4 of the pressure
        dew = min(air.dew_point, T)
        same = air_state(temperature=T, station_pressure=p, dew_point=dew)
        assert same.vapour_pressure == pytest.approx(air.vapour_pressure, rel=5e-4)


@given(TEMPERATURES, PRESSURES, HUMIDITIES)
def test_state_is_consistent(T: float, p: float, humidity: float) -> None:
    air = air_state(temperature=T, station_pressure=p, relative_humidity=humidity)
    assert air.density == pytest.approx(p / (air.gas_constant * T), rel=1.2e-3)
    assert 1.35 < air.gamma < 1.402
    assert 0.68 < air.prandtl < 0.76
    drier = air_state(temperature=T, station_pressure=p)
    assert air.density <= drier.density
    assert air.speed_of_sound >= drier.speed_of_sound
    assert air.density_altitude >= drier.density_altitude
    assert air.j1349_factor >= drier.j1349_factor


def test_dry_speed_of_sound() -> None:
    """343.21 m/s in dry air at 20 degC and 1 atm: Cramer (1993), as commonly quoted."""
    assert air_state(temperature=293.15).speed_of_sound == pytest.approx(343.21, rel=3e-4)


def test_dry_when_no_humidity_is_given() -> None:
    air = air_state(temperature=300.0, elevation=1280.0)
    assert (air.vapour_pressure, air.humidity_ratio, air.dew_point) == (0.0, 0.0, None)
    assert air.pressure == pytest.approx(site.standard_pressure(1280.0), rel=1e-15)


def test_vapour_does_not_notice_floats_or_arrays() -> None:
    T, W = np.array([270.0, 300.0, 320.0]), np.array([0.001, 0.01, 0.05])
    for f in (moist_air.moist_air_viscosity, moist_air.moist_air_conductivity,
              moist_air.specific_heat):
        one = [f(float(t), float(w)) for t, w in zip(T, W, strict=True)]
        np.testing.assert_allclose(f(T, W), one, rtol=1e-14)
        assert type(one[0]) is float


def test_correction_and_its_range() -> None:
    inside = air_state(temperature=298.15, station_pressure=100e3, relative_humidity=0.2)
    assert inside.j1349_in_range
    assert inside.j1349_note == ""
    high = air_state(temperature=312.15, elevation=1300.0, relative_humidity=0.15)
    assert not high.j1349_in_range
    assert "39.0 degC, the standard covers 15 to 35" in high.j1349_note
    assert "kPa, the standard covers 90 to 105" in high.j1349_note
    edge = air_state(temperature=308.15, station_pressure=95e3)
    assert edge.j1349_in_range


def test_refusals() -> None:
    with pytest.raises(PropertyError, match=r"dew point of 30.00 degC is above the air temp"):
        air_state(temperature=293.15, dew_point=303.15)
    with pytest.raises(RangeError, match=r"above 1 is supersaturated\): 1.1 is outside"):
        air_state(temperature=293.15, relative_humidity=1.1)
    with pytest.raises(PropertyError, match="relative humidity or the dew point, not both"):
        air_state(temperature=293.15, relative_humidity=0.5, dew_point=280.0)
    with pytest.raises(PropertyError, match="station pressure or the altimeter setting, not both"):
        air_state(temperature=293.15, station_pressure=9e4, altimeter=1e5)
    with pytest.raises(RangeError, match="air temperature: 400 K"):
        air_state(temperature=400.0)
    with pytest.raises(RangeError, match="elevation: 9000 m"):
        air_state(temperature=293.15, elevation=9000.0)
    with pytest.raises(RangeError, match="station pressure: 30000 Pa"):
        air_state(temperature=293.15, station_pressure=3e4)
    with pytest.raises(RangeError, match="altimeter setting: 1000 Pa"):
        air_state(temperature=293.15, altimeter=1e3)
    with pytest.raises(RangeError, match="dew point: 200 K"):
        air_state(temperature=293.15, dew_point=200.0)
    with pytest.raises(RangeError, match="air temperature: nan"):
        air_state(temperature=float("nan"))


def test_coolprop_is_not_needed_at_run_time() -> None:
    air_state(temperature=300.0)
    code = (
        "import sys; from thermo.site import air_state; "
        "air_state(temperature=300.0, relative_humidity=0.3); print('CoolProp' in sys.modules)"
    )
    root = Path(site.__file__).parents[1]
    run = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=root,
    )
    assert run.stdout.strip() == "False"
