"""Published cases of humid air and weather corrections."""

from __future__ import annotations

from thermo.moist_air import (
    enhancement_factor,
    gas_constant,
    humidity_ratio,
    saturation_vapour_pressure,
)
from thermo.published.case import Case, Expected
from thermo.site import Air, air_state, density_altitude, j1349_factor

_ZERO = 273.15
_FOOT = 0.3048
_INCH_HG = 3386.389
_ASHRAE = "ASHRAE Handbook, Fundamentals (2017), ch. 1"


def _air(celsius: float, kilopascal: float, humidity: float) -> Air:
    return air_state(
        temperature=celsius + _ZERO, station_pressure=kilopascal * 1e3, relative_humidity=humidity
    )


def _saturated(celsius: float) -> float:
    T, p = celsius + _ZERO, 101325.0
    return float(humidity_ratio(enhancement_factor(T, p) * saturation_vapour_pressure(T), p))


def _example_1() -> dict[str, float]:
    air = _air(40.0, 101.325, 0.14)
    assert air.dew_point is not None
    return {
        "humidity ratio": air.humidity_ratio * 1e3,
        "dew point": air.dew_point - _ZERO,
        "volume": (1.0 + air.humidity_ratio) / air.density,
    }


def _room() -> dict[str, float]:
    air = _air(25.0, 100.0, 0.75)
    dry = 75.0 * air.density / (1.0 + air.humidity_ratio)
    return {
        "vapour pressure": air.vapour_pressure / 1e3, "humidity ratio": air.humidity_ratio,
        "dry air": dry, "vapour": dry * air.humidity_ratio,
    }


def _ideal_gas() -> dict[str, float]:
    W, T, p = 0.020, 30.0 + _ZERO, 95461.0
    rho = p / (gas_constant(W) * T)
    return {
        "humidity ratio": humidity_ratio(3169.7, p), "density": rho, "volume": (1.0 + W) / rho,
    }


def _dew(celsius: float, kilopascal: float, humidity: float) -> float:
    dew = _air(celsius, kilopascal, humidity).dew_point
    return float("nan") if dew is None else dew - _ZERO


def _weather_service() -> dict[str, float]:
    air = air_state(temperature=30 + _ZERO, dew_point=15 + _ZERO, station_pressure=85e3)
    feet = air.density_altitude / _FOOT
    return {
        "vapour pressure": air.vapour_pressure / 100.0,
        "density altitude by inversion": feet, "against the service's formula": feet,
    }


def _training_rule() -> float:
    air = air_state(temperature=35 + _ZERO, elevation=520 * _FOOT)
    return float(air.density_altitude / _FOOT)


def _mountain_field() -> dict[str, float]:
    elevation = 5883 * _FOOT
    air = air_state(temperature=21.1 + _ZERO, elevation=elevation, altimeter=30.10 * _INCH_HG)
    return {
        "pressure altitude": air.pressure_altitude / _FOOT,
        "density altitude": air.density_altitude / _FOOT,
    }


def _standard_day() -> dict[str, float]:
    rho = 84556.0 / (gas_constant(0.0) * 278.40)
    return {"density": rho, "density altitude": float(density_altitude(1.05807))}


def _correction() -> dict[str, float]:
    points = ((99.0, 25.0), (98.0, 30.0), (85.0, 35.0))
    return {f"{p:g} kPa, {t:g} degC": j1349_factor(p * 1e3, t + _ZERO) for p, t in points}


def _high_site() -> dict[str, float]:
    air = _air(35.0, 87.0, 0.20)
    return {
        "vapour pressure": air.vapour_pressure / 1e3, "dry pressure": air.dry_pressure / 1e3,
        "factor": air.j1349_factor,
    }


_HUMIDITY_CASES = (
    Case(
        "AIR-01", "Saturation vapour pressure over water", f"{_ASHRAE}, Table 3",
        "published values seen",
        {
            f"at {t:g} degC": Expected(p, "Pa", rel=3e-4)
            for t, p in ((5.0, 872.6), (25.0, 3169.7), (50.0, 12351.3), (100.0, 101418.0))
        },
        lambda: {
            f"at {t:g} degC": float(saturation_vapour_pressure(t + _ZERO))
            for t in (5.0, 25.0, 50.0, 100.0)
        },
    ),
    Case(
        "AIR-03", "Humidity ratio at saturation, 101.325 kPa", f"{_ASHRAE}, Table 2",
        "published values seen; tolerance that of the enhancement factor",
        {
            f"at {t:g} degC": Expected(w, "kg/kg", rel=4e-4)
            for t, w in ((5.0, 0.005425), (25.0, 0.020173), (50.0, 0.086863))
        },
        lambda: {f"at {t:g} degC": _saturated(t) for t in (5.0, 25.0, 50.0)},
    ),
    Case(
        "AIR-04", "Moist air at 40 degC and 14 % humidity", f"{_ASHRAE}, Example 1",
        "published values seen; given there by its wet bulb, 20 degC",
        {
            "humidity ratio": Expected(6.5, "g/kg", abs=0.1),
            "dew point": Expected(7.0, "degC", abs=0.6),
            "volume": Expected(0.896, "m3/kg", rel=2e-3),
        },
        _example_1,
    ),
    Case(
        "AIR-05", "Room air", "Cengel & Boles, Example 14-1", "from memory; recomputed",
        {
            "vapour pressure": Expected(2.38, "kPa", rel=5e-3),
            "humidity ratio": Expected(0.0152, "kg/kg", rel=5e-3),
            "dry air": Expected(85.61, "kg", rel=5e-3),
            "vapour": Expected(1.30, "kg", rel=5e-3),
        },
        _room,
    ),
    Case(
        "AIR-06", "Density of moist air, CIPM-2007",
        "Picard et al., Metrologia 45 (2008) 149", "recomputed by hand",
        {
            "20 degC, 101.325 kPa, 50 %": Expected(1.19931, "kg/m3", rel=1e-4),
            "35 degC, 87 kPa, 20 %": Expected(0.97895, "kg/m3", rel=1e-4),
        },
        lambda: {
            "20 degC, 101.325 kPa, 50 %": _air(20.0, 101.325, 0.5).density,
            "35 degC, 87 kPa, 20 %": _air(35.0, 87.0, 0.2).density,
        },
    ),
    Case(
        "AIR-07", "Humidity ratio and density as an ideal gas", f"{_ASHRAE}, eq. 20 and 26",
        "published tests seen",
        {
            "humidity ratio": Expected(0.02136040, "kg/kg", rel=3e-4),
            "density": Expected(1.084120, "kg/m3", rel=3e-4),
            "volume": Expected(0.940855, "m3/kg", rel=3e-4),
        },
        _ideal_gas,
    ),
    Case(
        "AIR-08", "Dew point", "definition", "recomputed with CoolProp",
        {
            "20 degC, 50 %": Expected(9.27, "degC", abs=0.05),
            "35 degC, 20 %, 87 kPa": Expected(8.72, "degC", abs=0.05),
        },
        lambda: {
            "20 degC, 50 %": _dew(20.0, 101.325, 0.5),
            "35 degC, 20 %, 87 kPa": _dew(35.0, 87.0, 0.2),
        },
    ),
)

_WEATHER_CASES = (
    Case(
        "AIR-09", "Density altitude at 30 degC, dew point 15 degC, 850 hPa",
        "US National Weather Service formula; inversion of the standard atmosphere",
        "formula seen on three pages; recomputed by hand",
        {
            "vapour pressure": Expected(17.03, "hPa", rel=2e-3),
            "density altitude by inversion": Expected(7773.0, "ft", abs=5.0),
            "against the service's formula": Expected(7796.0, "ft", abs=40.0),
        },
        _weather_service,
    ),
    Case(
        "AIR-10", "Density altitude at 35 degC, pressure altitude 520 ft",
        "training page, rule of 120 ft a degree", "published page seen; the rule is 3 % off",
        {"density altitude": Expected(2932.0, "ft", rel=0.04)},
        lambda: {"density altitude": _training_rule()},
    ),
    Case(
        "AIR-11", "Density altitude of a field at 5883 ft, 21.1 degC, altimeter 30.10 inHg",
        "FAA-H-8083-25, performance chapter, sample problem", "from memory, medium confidence",
        {
            "pressure altitude": Expected(5718.0, "ft", abs=5.0),
            "density altitude": Expected(7700.0, "ft", abs=150.0),
        },
        _mountain_field,
    ),
    Case(
        "AIR-12", "Density altitude of a standard day at 1500 m",
        "inversion of the standard atmosphere", "recomputed by hand",
        {
            "density": Expected(1.05807, "kg/m3", rel=1e-4),
            "density altitude": Expected(1500.0, "m", abs=0.5),
        },
        _standard_day,
    ),
    Case(
        "AIR-13", "Power correction, spark ignition", "SAE J1349 (2004)",
        "formula seen in public implementations; document not seen",
        {
            "99 kPa, 25 degC": Expected(1.0000, rel=5e-4),
            "98 kPa, 30 degC": Expected(1.0220, rel=5e-4),
            "85 kPa, 35 degC": Expected(1.2172, rel=5e-4),
        },
        _correction,
    ),
    Case(
        "AIR-15", "Dry pressure for a power correction: 35 degC, 20 %, 87.0 kPa",
        "definition; SAE J1349 (2004)", "recomputed with CoolProp",
        {
            "vapour pressure": Expected(1.126, "kPa", rel=5e-4),
            "dry pressure": Expected(85.874, "kPa", rel=5e-4),
            "factor": Expected(1.2030, rel=5e-4),
        },
        _high_site,
    ),
)

CASES: tuple[Case, ...] = _HUMIDITY_CASES + _WEATHER_CASES
