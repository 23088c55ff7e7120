"""Published cases of pumps, operating points and suction head."""

from __future__ import annotations

import math

from thermo.circuit import Circuit, Segment, segment_drop, segment_flows
from thermo.hydraulics import npsh_available, operating_point
from thermo.published.case import Case, Expected
from thermo.pumps import GRAVITY, hydraulic_power, pump_curve, shaft_power

_FOOT = 0.3048
_GPM = 3.785411784e-3 / 60.0
_CFM = _FOOT**3 / 60.0
_HORSEPOWER = 745.6998715822702
_INCH_WATER = 0.0254 * 998.0 * GRAVITY
_PARABOLA = pump_curve([(q * 1e-3, 30.0 - 0.020 * q * q) for q in (0.0, 15.0, 30.0)])


def _system(flow: float) -> float:
    """Pressure drop of 0.045 m per (L/s)^2, in water of 998 kg/m3."""
    return 998.0 * GRAVITY * 0.045 * (flow * 1e3) ** 2


def _suction() -> dict[str, float]:
    weight = 998.98 * GRAVITY
    return {"NPSHa": npsh_available(135.80e3, 1.765e3, 998.98, -7.62, 1.829 * weight)}


def _affinity() -> dict[str, float]:
    points = [(0.0, 150.0), (400.0, 126.0), (600.0, 80.0)]
    curve = pump_curve([(q * _GPM, h * _FOOT) for q, h in points], rated=3500.0)
    slow = curve.at(1700.0 / 3500.0)
    efficiency = hydraulic_power(998.0, curve.flows[1], curve.heads[1]) / (17.5 * _HORSEPOWER)
    power = shaft_power(hydraulic_power(998.0, slow.flows[1], slow.heads[1]), efficiency)
    return {
        "flow": slow.flows[1] / _GPM,
        "head": float(slow.head(slow.flows[1])) / _FOOT,
        "power": power / _HORSEPOWER,
        "speed": slow.rated,
    }


def _power() -> dict[str, float]:
    put_in = hydraulic_power(998.98, 700.0 * _GPM, 428.0 * _FOOT)
    return {
        "shaft": shaft_power(put_in, 0.707) / _HORSEPOWER,
        "electric": shaft_power(put_in, 0.707 * 0.95 * 0.96) / _HORSEPOWER,
    }


def _fan() -> dict[str, float]:
    """Falling part of the fan curve; its first point, on the rising part, is left out."""
    points = ((250.0, 0.95), (500.0, 0.90), (750.0, 0.75), (1000.0, 0.40), (1200.0, 0.0))
    air = 1.184
    metre_of_air = _INCH_WATER / (air * GRAVITY)
    curve = pump_curve([(q * _CFM, h * metre_of_air) for q, h in points])
    duct = Segment("duct", 13.4, 0.230, 0.15e-3, k=1.3 + 5 * 0.21 + 1.8 + 1.05)
    point = operating_point(
        curve, lambda q: float(segment_drop(duct, q, air, air * 1.562e-5)), air
    )
    return {"flow": point.flow / _CFM, "head": point.head / metre_of_air}


def _suction_at(density: float, viscosity: float, vapour_pressure: float) -> float:
    """NPSH available at 600 gpm; the profile's 0.05 above one velocity head counts as loss."""
    line = Segment(
        "suction", 10.5 * _FOOT, 0.1016, 0.02 * 0.0254, k=0.5 + 3 * 0.3 + 6.0 + 0.05
    )
    loss = segment_drop(line, 600.0 * 6.309e-5, density, viscosity)
    return float(npsh_available(101.3e3, vapour_pressure, density, 1.219, loss))


def _quadratic(speed_ratio: float) -> dict[str, float]:
    point = operating_point(
        _PARABOLA, _system, 998.0, static_head=4.0, speed_ratio=speed_ratio
    )
    return {
        "flow": point.flow * 1e3, "head": point.head,
        "power": hydraulic_power(998.0, point.flow, point.head),
    }


def _slowed() -> dict[str, float]:
    row = _quadratic(0.8)
    slow = operating_point(_PARABOLA.at(0.8), _system, 998.0, static_head=4.0)
    return {"flow": row["flow"], "head": row["head"], "flow, scaled curve": slow.flow * 1e3}


def _fitted_line() -> dict[str, float]:
    f_t, flow, density, viscosity = 0.0172, 6.309e-3, 997.9, 0.95e-3
    line = Segment(
        "line", 152.4, 0.0779, 0.0022 * 0.0254, k=8 * f_t + 4 * 30 * f_t + 1.0 + 25.2,
        rise=121.92,
    )
    velocity = segment_flows(Circuit((line,)), flow, density, viscosity)[0].velocity
    drop = segment_drop(line, flow, density, viscosity)
    k_total = drop / (0.5 * density * velocity**2)
    head = drop / (density * GRAVITY) + line.rise
    power = shaft_power(hydraulic_power(density, flow, head), 0.70)
    return {
        "V": velocity, "f": (k_total - line.k) * line.bore / line.length, "K total": k_total,
        "head": head / _FOOT, "power": power / _HORSEPOWER,
    }


CASES: tuple[Case, ...] = (
    Case(
        "PMP-01", "Suction head available", "Crane TP-410, Example 7-32",
        "published notebook seen; recomputed by hand",
        {"NPSHa": Expected(4.233, "m", rel=3e-3)}, _suction,
    ),
    Case(
        "PMP-02", "Affinity laws, 3500 to 1700 rpm", "Crane TP-410, Example 7-33",
        "published notebook seen; recomputed by hand",
        {
            "flow": Expected(194.3, "gpm", rel=3e-3), "head": Expected(29.7, "ft", rel=3e-3),
            "power": Expected(2.01, "hp", rel=3e-3), "speed": Expected(1700.0, "rpm", rel=1e-12),
        },
        _affinity,
    ),
    Case(
        "PMP-03", "Pump power", "Crane TP-410, Example 7-34",
        "published notebook seen; recomputed by hand",
        {"shaft": Expected(107.1, "hp", rel=1e-3), "electric": Expected(117.4, "hp", rel=1e-3)},
        _power,
    ),
    Case(
        "PMP-04", "Fan on a duct", "Cengel & Cimbala, Fluid Mechanics, Example 14-1",
        "published companion seen; recomputed",
        {"flow": Expected(650.0, "cfm", rel=0.01), "head": Expected(0.83, "inH2O", rel=0.01)},
        _fan,
    ),
    Case(
        "PMP-05", "Suction head at two temperatures", "Cengel & Cimbala, Example 14-3",
        "published companion seen; recomputed by hand",
        {"25 degC": Expected(1.905, "m", rel=0.01), "60 degC": Expected(0.309, "m", rel=0.01)},
        lambda: {
            "25 degC": _suction_at(997.0, 8.91e-4, 3.169e3),
            "60 degC": _suction_at(983.3, 4.67e-4, 19.94e3),
        },
    ),
    Case(
        "PMP-06", "Quadratic pump on a quadratic system", "closed form", "recomputed by hand",
        {
            "flow": Expected(20.0, "L/s", rel=1e-6), "head": Expected(22.0, "m", rel=1e-6),
            "power": Expected(998.0 * 9.80665 * 0.44, "W", rel=1e-6),
        },
        lambda: _quadratic(1.0),
    ),
    Case(
        "PMP-07", "The same pump at 80 % speed", "closed form with the affinity laws",
        "recomputed by hand",
        {
            "flow": Expected(math.sqrt(15.2 / 0.065), "L/s", rel=1e-4),
            "flow, scaled curve": Expected(15.292, "L/s", rel=1e-4),
            "head": Expected(14.523, "m", rel=1e-4),
        },
        _slowed,
    ),
    Case(
        "PMP-08", "Pumping through a fitted line", "Crane TP-410, Example 7-15",
        "published notebook seen; recomputed",
        {
            "V": Expected(1.324, "m/s", rel=4e-3), "f": Expected(0.0210, rel=4e-3),
            "K total": Expected(69.45, rel=4e-3), "head": Expected(421.0, "ft", rel=4e-3),
            "power": Expected(15.2, "hp", rel=4e-3),
        },
        _fitted_line,
    ),
)
