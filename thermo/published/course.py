"""Published cases of the straight-line run: closed forms of a point mass, and tyre figures."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from thermo.coasting import coast
from thermo.course import drive_distance, drive_time, terminal_speed
from thermo.published.case import Case, Expected
from thermo.trace import Trace
from thermo.vehicle import ROLLING_RESISTANCE, SURFACES, Vehicle, rolling_from_tyre_pressure

_DENSITY = 1.10
_HAND = "recomputed by hand"


def _car(rolling: float = 0.0, grip: float = 1e6, drag_area: float = 0.55) -> Vehicle:
    """Return the car of these cases: 1100 kg, all of it on the driven axle, g 9.81."""
    return Vehicle(
        mass=1100.0, drag_area=drag_area, rolling_resistance=rolling, driven_mass=1100.0,
        grip=grip, gravity=9.81,
    )


def _power(speed: Any) -> Any:
    return 400e3 + 0.0 * speed


def _thrust_power(speed: Any) -> Any:
    """Return ample power, so that grip alone sets the thrust."""
    return 1e9 + 0.0 * speed


def _distance_at(trace: Trace, speed: float) -> float:
    """Distance at which a rising speed is passed, V^2 linear between points."""
    i = int((trace.speed < speed).sum())
    w0, w1 = trace.speed[i - 1] ** 2, trace.speed[i] ** 2
    share = (speed**2 - w0) / (w1 - w0)
    return float(trace.distance[i - 1] + share * (trace.distance[i] - trace.distance[i - 1]))


def _no_drag() -> Mapping[str, float]:
    car = _car(drag_area=0.0)
    timed = drive_time(_power, car, _DENSITY, 0.0, 3.3, 10.0)
    measured = drive_distance(_power, car, _DENSITY, 0.0, 113.6667, 10.0)
    return {"time": float(measured.duration), "distance": float(timed.distance[-1])}


def _with_drag() -> Mapping[str, float]:
    trace = drive_distance(_power, _car(), _DENSITY, 0.0, 700.0, 20.0, 2000)
    return {"distance": _distance_at(trace, 80.0)}


def _with_drag_time() -> Mapping[str, float]:
    trace = drive_distance(_power, _car(), _DENSITY, 0.0, 586.24, 20.0)
    return {"time": float(trace.duration), "speed": float(trace.speed[-1])}


def _constant_thrust() -> Mapping[str, float]:
    car = _car(grip=4000.0 / (1100.0 * 9.81))
    timed = drive_time(_thrust_power, car, _DENSITY, 0.0, 20.0, 0.0)
    measured = drive_distance(_thrust_power, car, _DENSITY, 0.0, 800.0, 0.0, 2000)
    return {
        "terminal speed": terminal_speed(_thrust_power, car, _DENSITY, 0.0),
        "speed at 20 s": float(timed.speed[-1]),
        "distance at 20 s": float(timed.distance[-1]),
        "distance to 60 m/s": _distance_at(measured, 60.0),
    }


def _coast_down() -> Mapping[str, float]:
    trace = coast(_car(0.03), _DENSITY, 0.0, 70.0, until_speed=30.0)
    return {"distance": float(trace.distance[-1]), "time": float(trace.duration)}


def _tyre() -> Mapping[str, float]:
    c0, c2 = rolling_from_tyre_pressure(3e5)
    return {f"{v} km/h": float(c0 + c2 * (v / 3.6) ** 2) for v in (100, 300)}


CASES: tuple[Case, ...] = (
    Case(
        "VEH-01", "terminal speed, drag only", "closed form (P/k)^(1/3)", _HAND,
        {"speed": Expected(109.76, "m/s", rel=1e-4)},
        lambda: {"speed": terminal_speed(_power, _car(), _DENSITY, 0.0)},
    ),
    Case(
        "VEH-02", "constant power without drag, 10 to 50 m/s", "closed form", _HAND,
        {"time": Expected(3.300, "s", rel=1e-4), "distance": Expected(113.67, "m", rel=1e-4)},
        _no_drag,
    ),
    Case(
        "VEH-03", "constant power with drag, 20 to 80 m/s: distance", "closed form",
        _HAND + " and by quadrature", {"distance": Expected(586.24, "m", rel=5e-4)}, _with_drag,
    ),
    Case(
        "VEH-04", "constant power with drag, 20 to 80 m/s: time", "quadrature",
        "recomputed by quadrature",
        {"time": Expected(10.076, "s", rel=5e-4), "speed": Expected(80.0, "m/s", rel=5e-4)},
        _with_drag_time,
    ),
    Case(
        "VEH-05", "constant thrust with drag from rest", "closed form (tanh, ln cosh)", _HAND,
        {
            "terminal speed": Expected(114.99, "m/s", rel=2e-4),
            "speed at 20 s": Expected(64.37, "m/s", rel=2e-4),
            "distance at 20 s": Expected(683.4, "m", rel=2e-4),
            "distance to 60 m/s": Expected(577.8, "m", rel=2e-4),
        },
        _constant_thrust,
    ),
    Case(
        "VEH-06", "terminal speed with rolling resistance 0.03", "root of a cubic",
        "recomputed by root finding", {"speed": Expected(106.51, "m/s", rel=1e-4)},
        lambda: {"speed": terminal_speed(_power, _car(0.03), _DENSITY, 0.0)},
    ),
    Case(
        "VEH-07", "coast-down with drag and rolling resistance, 70 to 30 m/s",
        "closed form (logarithm, arctangent)", _HAND,
        {"distance": Expected(2015.7, "m", rel=2e-4), "time": Expected(43.51, "s", rel=2e-4)},
        _coast_down,
    ),
    Case(
        "VEH-08", "rolling resistance of tyres on hard ground (band)",
        "Carvill, Mechanical Engineer's Data Handbook; lake bed common practice",
        "bands: published pages seen; lake bed from memory, low confidence",
        {
            "asphalt": Expected(0.0125, "", abs=0.0025),
            "loose gravel": Expected(0.06, "", abs=0.02),
            "default, dry lake bed": Expected(0.0225, "", abs=0.0075),
        },
        lambda: {
            "asphalt": SURFACES["new asphalt or concrete"].value,
            "loose gravel": SURFACES["loose gravel or medium-hard soil"].value,
            "default, dry lake bed": ROLLING_RESISTANCE.value,
        },
    ),
    Case(
        "VEH-09", "rolling resistance against speed, tyre at 3 bar",
        "empirical formula of an engineering reference table; 300 km/h is outside its data",
        "published page seen; recomputed",
        {
            "100 km/h": Expected(0.01150, "", rel=1e-3),
            "300 km/h": Expected(0.03683, "", rel=1e-3),
        },
        _tyre,
    ),
)
"""Area 12: straight-line point-mass run."""
