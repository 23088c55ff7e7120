"""Published cases of compressible flow, ram and the standard atmosphere."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from thermo.air_demand import compressor_temperature_ratio
from thermo.duct import Supply, march
from thermo.duct_flow import (
    fanno_length,
    fanno_pressure_ratio,
    fanno_stagnation_pressure_ratio,
    fanno_temperature_ratio,
    fanno_velocity_ratio,
)
from thermo.duct_parts import FrictionTube, Path
from thermo.duct_section import Section
from thermo.friction import friction_factor
from thermo.gas import (
    Gas,
    area_ratio,
    choked_mass_flow_function,
    mass_flow_function,
    speed_of_sound,
    stagnation_density_ratio,
    stagnation_pressure_ratio,
    stagnation_temperature_ratio,
)
from thermo.published.case import Case, Expected
from thermo.ram import ram_state
from thermo.site import R_STANDARD, standard_pressure, standard_temperature

_NACA = "NACA Report 1135 (1953), tables of subsonic flow"
_MEMORY = "from memory; recomputed by hand"
_DRY = Gas(R_STANDARD, 1.4, 1.75e-5, 0.025)
_MACHS = (0.1, 0.3, 0.5, 0.7, 0.9)


def _tabulate(
    functions: Mapping[str, Callable[[float], Any]], points: Sequence[float], mark: str
) -> Callable[[], dict[str, float]]:
    """Return a computation of every function at every point, labelled by both."""
    return lambda: {
        f"{name} at {mark} {x:g}": float(f(x)) for name, f in functions.items() for x in points
    }


def _rows(
    values: Mapping[str, Sequence[float]],
    points: Sequence[float],
    mark: str,
    unit: str = "",
    rel: float = 0.0,
    absolute: float = 0.0,
) -> dict[str, Expected]:
    """Return the printed numbers under the labels of :func:`_tabulate`."""
    return {
        f"{name} at {mark} {x:g}": Expected(value, unit, rel, absolute)
        for name, column in values.items()
        for x, value in zip(points, column, strict=True)
    }


def _choked_duct() -> dict[str, float]:
    """March of air from M 0.4 in a smooth 3 cm tube to just short of its choking length."""
    gas = Gas(287.0, 1.4, 1.0, 0.0263)
    bore, temperature, pressure, mach = 0.03, 300.0, 150e3, 0.4
    velocity = mach * speed_of_sound(temperature, gas.gas_constant, gas.gamma)
    density = pressure / (gas.gas_constant * temperature)
    reynolds = velocity * bore / 1.58e-5
    section = Section(bore)
    factor = float(friction_factor(reynolds, 0.0))
    longest = float(fanno_length(mach, gas.gamma)) * bore / factor
    tube = FrictionTube(
        name="tube", section=section, length=longest * (1.0 - 1e-9), friction=factor
    )
    before = Supply(
        pressure * stagnation_pressure_ratio(mach, gas.gamma),
        temperature * stagnation_temperature_ratio(mach, gas.gamma),
        gas,
    )
    end = march(Path((tube,)), density * velocity * section.area, before)
    t_end = end.stagnation_temperature[-1, 0] / stagnation_temperature_ratio(
        end.mach[-1, 0], gas.gamma
    )
    return {
        "Re": float(reynolds), "f": factor, "L*": longest, "T*": float(t_end),
        "p*": float(end.pressure[-1, 0]) / 1e3, "V*": float(end.velocity[-1, 0]),
        "loss of p0": 100.0 * float(end.loss[0] / end.stagnation_pressure[0, 0]),
    }


def _diffuser() -> dict[str, float]:
    cp, gamma, temperature = 1005.0, 1.4, 255.7
    gas = Gas(cp * (gamma - 1.0) / gamma, gamma, 1.6e-5, 0.023)
    ram = ram_state(250.0, 0.0, 54.05e3, temperature, gas)
    rise = ram.stagnation_temperature * (compressor_temperature_ratio(8.0, 1.0, gamma) - 1.0)
    return {
        "T01": float(ram.stagnation_temperature),
        "p01": float(ram.stagnation_pressure) / 1e3,
        "work": float(gas.specific_heat * rise) / 1e3,
    }


def _critical() -> dict[str, float]:
    return {
        "p*": 1400.0 / float(stagnation_pressure_ratio(1.0, 1.289)),
        "T*": 473.0 / float(stagnation_temperature_ratio(1.0, 1.289)),
        "p*/p0, gamma 1.4": 1.0 / float(stagnation_pressure_ratio(1.0, 1.4)),
        "flow function, gamma 1.4": float(choked_mass_flow_function(1.4)),
    }


def _flow_at_three_tenths() -> dict[str, float]:
    value = float(mass_flow_function(0.3, 1.4))
    most = float(choked_mass_flow_function(1.4))
    return {"flow function": value, "of choked": 100.0 * value / most}


def _nose() -> dict[str, float]:
    temperature, pressure = standard_temperature(1284.0), standard_pressure(1284.0)
    ram = ram_state(90.0, 0.0, pressure, temperature, _DRY)
    density = float(_DRY.density(pressure, temperature))
    slow = 0.5 * density * 90.0**2
    return {
        "T": temperature, "p": pressure / 1e3, "rho": density,
        "a": float(speed_of_sound(temperature, R_STANDARD, 1.4)), "M": float(ram.mach),
        "slow-flow q": slow, "p0 - p": float(ram.ram), "ratio": float(ram.ram) / slow,
    }


def _slow_flow_error() -> dict[str, float]:
    slow = 0.5 * 1.4 * 0.3**2
    rise = float(stagnation_pressure_ratio(0.3, 1.4)) - 1.0
    return {
        "density change": 100.0 * (1.0 - 1.0 / float(stagnation_density_ratio(0.3, 1.4))),
        "shortfall of q": 100.0 * (rise / slow - 1.0),
    }


_HEIGHTS = (0.0, 500.0, 1000.0, 2000.0, 3000.0)


def _density(elevation: float) -> Any:
    return _DRY.density(standard_pressure(elevation), standard_temperature(elevation))


_ISENTROPIC: dict[str, Callable[[float], Any]] = {
    "p/p0": lambda m: 1.0 / stagnation_pressure_ratio(m, 1.4),
    "rho/rho0": lambda m: 1.0 / stagnation_density_ratio(m, 1.4),
    "T/T0": lambda m: 1.0 / stagnation_temperature_ratio(m, 1.4),
}
_FANNO: dict[str, Callable[[float], Any]] = {
    "p/p*": lambda m: fanno_pressure_ratio(m, 1.4),
    "T/T*": lambda m: fanno_temperature_ratio(m, 1.4),
    "V/V*": lambda m: fanno_velocity_ratio(m, 1.4),
    "p0/p0*": lambda m: fanno_stagnation_pressure_ratio(m, 1.4),
}

_ATMOSPHERE: dict[str, Callable[[float], Any]] = {
    "p": standard_pressure, "T": standard_temperature, "rho": _density,
}

CASES: tuple[Case, ...] = (
    Case(
        "GAS-01", "Isentropic ratios, gamma 1.4", _NACA, _MEMORY,
        _rows(
            {
                "p/p0": (0.9930, 0.9395, 0.8430, 0.7209, 0.5913),
                "rho/rho0": (0.9950, 0.9564, 0.8852, 0.7916, 0.6870),
                "T/T0": (0.9980, 0.9823, 0.9524, 0.9107, 0.8606),
            },
            _MACHS, "M", absolute=1e-4,
        ),
        _tabulate(_ISENTROPIC, _MACHS, "M"),
    ),
    Case(
        "GAS-02", "Area ratio A/A*, gamma 1.4", _NACA, _MEMORY,
        _rows({"A/A*": (5.8218, 2.0351, 1.3398, 1.0944, 1.0089)}, _MACHS, "M", rel=1e-4),
        _tabulate({"A/A*": lambda m: area_ratio(m, 1.4)}, _MACHS, "M"),
    ),
    Case(
        "GAS-03", "Fanno line, friction length to choking, gamma 1.4",
        "Anderson, Modern Compressible Flow, Table A.4; Cengel & Cimbala, Table A-16",
        "2.3085 seen in a published companion; others from memory; recomputed by hand",
        _rows(
            {"f L*/D": (66.922, 5.2993, 2.3085, 1.0691, 0.20814, 0.014512)},
            (0.1, 0.3, 0.4, 0.5, 0.7, 0.9), "M", rel=2e-4,
        ),
        _tabulate(
            {"f L*/D": lambda m: fanno_length(m, 1.4)}, (0.1, 0.3, 0.4, 0.5, 0.7, 0.9), "M"
        ),
    ),
    Case(
        "GAS-04", "Fanno ratios at M 0.4, gamma 1.4", "Cengel & Cimbala, Table A-16",
        "published companion seen; recomputed by hand",
        _rows(
            {"p/p*": (2.6958,), "T/T*": (1.1628,), "V/V*": (0.4313,), "p0/p0*": (1.5901,)},
            (0.4,), "M", rel=1e-4,
        ),
        _tabulate(_FANNO, (0.4,), "M"),
    ),
    Case(
        "GAS-05", "Choked adiabatic duct: air from M 0.4 in a smooth 3 cm tube",
        "Cengel & Cimbala, Fluid Mechanics, Example 12-16",
        "inputs and table values seen in a published companion; recomputed",
        {
            "Re": Expected(2.637e5, "", rel=0.005), "f": Expected(0.0148, "", rel=0.005),
            "L*": Expected(4.68, "m", rel=0.005), "T*": Expected(258.0, "K", rel=0.005),
            "p*": Expected(55.6, "kPa", rel=0.005), "V*": Expected(322.0, "m/s", rel=0.005),
            "loss of p0": Expected(37.1, "%", rel=0.005),
        },
        _choked_duct,
    ),
    Case(
        "GAS-06", "Stagnation state at a diffuser, and compressor work",
        "Cengel & Cimbala, Fluid Mechanics, Example 12-1",
        "published companion seen; recomputed by hand",
        {
            "T01": Expected(286.8, "K", rel=5e-4), "p01": Expected(80.77, "kPa", rel=5e-4),
            "work": Expected(233.9, "kJ/kg", rel=5e-4),
        },
        _diffuser,
    ),
    Case(
        "GAS-07", "Critical state", "Cengel & Cimbala, Example 12-4 (carbon dioxide); " + _NACA,
        "library docstring; recomputed by hand",
        {
            "p*": Expected(766.8, "kPa", rel=5e-4), "T*": Expected(413.3, "K", rel=5e-4),
            "p*/p0, gamma 1.4": Expected(0.52828, "", rel=5e-4),
            "flow function, gamma 1.4": Expected(0.68473, "", rel=5e-4),
        },
        _critical,
    ),
    Case(
        "GAS-08", "Mass flow through an area at M 0.3, gamma 1.4", "closed form",
        "recomputed by hand",
        {
            "flow function": Expected(0.33647, "", rel=1e-4),
            "of choked": Expected(49.1, "%", abs=0.05),
        },
        _flow_at_three_tenths,
    ),
    Case(
        "GAS-10", "Stagnation pressure at the nose: 90 m/s at 1284 m, standard atmosphere",
        "closed form on ISO 2533", "recomputed by hand",
        {
            "T": Expected(279.80, "K", rel=5e-4), "p": Expected(86.821, "kPa", rel=5e-4),
            "rho": Expected(1.0810, "kg/m3", rel=5e-4), "a": Expected(335.33, "m/s", rel=5e-4),
            "M": Expected(0.2684, "", rel=5e-4), "slow-flow q": Expected(4378.0, "Pa", rel=5e-4),
            "p0 - p": Expected(4457.0, "Pa", rel=5e-4), "ratio": Expected(1.0181, "", rel=5e-4),
        },
        _nose,
    ),
    Case(
        "GAS-11", "Error of slow-flow formulas at M 0.3", "closed form", "recomputed by hand",
        {
            "density change": Expected(4.4, "%", abs=0.1),
            "shortfall of q": Expected(2.27, "%", abs=0.1),
        },
        _slow_flow_error,
    ),
    Case(
        "GAS-12", "Standard atmosphere at geopotential heights",
        "ISO 2533; ICAO Doc 7488; ASHRAE Fundamentals, ch. 1, Table 1 (0, 500, 1000 m)",
        "ASHRAE values seen in published tests; recomputed by hand",
        {
            **_rows(
                {"p": (101325.0, 95461.0, 89875.0, 79495.0, 70109.0)},
                _HEIGHTS, "H", "Pa", rel=2e-5,
            ),
            **_rows(
                {"T": (288.15, 284.90, 281.65, 275.15, 268.65)}, _HEIGHTS, "H", "K", absolute=0.005
            ),
            **_rows(
                {"rho": (1.2250, 1.1673, 1.1116, 1.0065, 0.9091)},
                _HEIGHTS, "H", "kg/m3", rel=5e-5,
            ),
        },
        _tabulate(_ATMOSPHERE, _HEIGHTS, "H"),
    ),
)
