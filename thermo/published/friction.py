"""Published cases of pipe and duct friction. Every factor is Darcy's."""

from __future__ import annotations

import math
from collections.abc import Callable

from thermo.circuit import Segment, segment_drop
from thermo.fittings import ENTRANCE_SHARP, EXIT
from thermo.friction import (
    ROUND_LAMINAR,
    colebrook,
    darcy_weisbach,
    friction_factor,
    fully_rough,
    hydraulic_diameter,
    laminar_constant,
    reynolds,
)
from thermo.hydraulics import flow_for_drop
from thermo.published.case import Case, Expected
from thermo.pumps import hydraulic_power

_FOOT, _INCH, _G = 0.3048, 0.0254, 9.81
_REYNOLDS = (4e3, 1e4, 1e5, 1e6, 1e7, 1e8)
_COLEBROOK = {
    0.0: (0.039907, 0.030883, 0.017990, 0.011645, 0.008103, 0.005940),
    1e-4: (0.040008, 0.031037, 0.018514, 0.013441, 0.012166, 0.011999),
    1e-3: (0.040910, 0.032382, 0.022175, 0.019943, 0.019667, 0.019639),
    1e-2: (0.049082, 0.043127, 0.038504, 0.037965, 0.037910, 0.037904),
    5e-2: (0.076987, 0.073801, 0.071781, 0.071574, 0.071553, 0.071551),
}


def _colebrook_case(number: int, rough: float) -> Case:
    def compute() -> dict[str, float]:
        return {f"f at Re {re:g}": colebrook(re, rough) for re in _REYNOLDS}

    return Case(
        f"FRI-{number:02d}", f"Colebrook equation, relative roughness {rough:g}",
        "Colebrook (1939); smooth column as listed by White, Fluid Mechanics",
        "recomputed by bracketing",
        {
            f"f at Re {re:g}": Expected(f, rel=2e-4)
            for re, f in zip(_REYNOLDS, _COLEBROOK[rough], strict=True)
        },
        compute,
    )


def _pipe(
    density: float, viscosity: float, bore: float, length: float, velocity: float, rough: float
) -> dict[str, float]:
    """Reynolds number, friction factor, drop, head loss and power of a plain pipe."""
    re = reynolds(density, velocity, bore, viscosity)
    f = friction_factor(re, rough / bore)
    drop = darcy_weisbach(f, length, bore, density, velocity)
    head = drop / (density * _G)
    flow = velocity * math.pi / 4.0 * bore**2
    return {
        "Re": re, "f": f, "drop": drop, "head loss": head,
        "power": hydraulic_power(density, flow, head, _G),
    }


def _laminar_pipe() -> dict[str, float]:
    return _pipe(999.9, 1.545e-3, 0.003048, 9.144, 0.9144, 0.0)


def _steel_pipe() -> dict[str, float]:
    bore = 2.0 * _INCH
    velocity = 0.2 * _FOOT**3 / (math.pi / 4.0 * bore**2)
    return _pipe(998.9, 1.1215e-3, bore, 60.96, velocity, 7e-6 * _FOOT)


def _air_duct(bore: float, length: float) -> Callable[[float], float]:
    """Head loss, in metres of air at 35 degC, against flow in a smooth duct."""
    duct = Segment("duct", length, bore, 0.0)
    return lambda flow: float(segment_drop(duct, flow, 1.0, 1.655e-5)) / _G


def _find_diameter() -> dict[str, float]:
    from scipy.optimize import brentq

    bore = brentq(lambda d: _air_duct(d, 150.0)(0.35) - 20.0, 0.1, 1.0)
    velocity = 0.35 / (math.pi / 4.0 * bore**2)
    re = reynolds(1.0, velocity, bore, 1.655e-5)
    return {"D": bore, "V": velocity, "Re": re, "f": friction_factor(re, 0.0)}


def _find_flow() -> dict[str, float]:
    flow = flow_for_drop(_air_duct(0.267, 300.0), 20.0)
    return {"Q": flow, "drop in Q": 0.35 - flow}


def _gravity_line() -> dict[str, float]:
    line = Segment("line", 89.0, 0.05, 0.26e-3, k=ENTRANCE_SHARP + 2 * 0.3 + 0.2 + 1.06)
    velocity = 6e-3 / line.area
    re = reynolds(999.7, velocity, line.bore, 1.307e-3)
    head = segment_drop(line, 6e-3, 999.7, 1.307e-3) / (999.7 * _G)
    return {
        "V": velocity, "Re": re, "f": friction_factor(re, line.roughness / line.bore),
        "head loss": head, "source level": 4.0 + head,
    }


def _asphalted_pipe() -> dict[str, float]:
    bore = 6.0 * _INCH
    row = _pipe(998.0, 998.0 * 1.02e-6, bore, 200.0 * _FOOT, 6.0 * _FOOT, 8e-4 * bore)
    return {label: row[label] for label in ("Re", "f", "head loss", "drop")}


def _plastic_pipe() -> dict[str, float]:
    velocity = 0.2 / 60.0 / (math.pi / 4.0 * 0.0525**2)
    row = _pipe(995.65, 7.97e-4, 0.0525, 1.0, velocity, 0.0)
    return {label: row[label] for label in ("Re", "f")}


def _oil_pipe() -> dict[str, float]:
    velocity = 0.2 / (math.pi / 4.0 * 0.2**2)
    row = _pipe(900.0, 900.0 * 1e-5, 0.2, 500.0, velocity, 0.0013 * 0.2)
    fall = 500.0 * math.sin(math.radians(10.0))
    return {
        "V": velocity, "Re": row["Re"], "f": row["f"], "head loss": row["head loss"],
        "drop": row["drop"] - 900.0 * _G * fall,
    }


def _drawn_tube() -> dict[str, float]:
    row = _pipe(1.23, 1.79e-5, 0.004, 0.1, 50.0, 1.5e-6)
    f_laminar = ROUND_LAMINAR / row["Re"]
    return {
        "Re": row["Re"], "f": row["f"], "drop": row["drop"], "f if laminar": f_laminar,
        "drop if laminar": darcy_weisbach(f_laminar, 0.1, 0.004, 1.23, 50.0),
        "f by chart": row["f"], "drop by chart": row["drop"],
    }


def _concrete_conduit() -> dict[str, float]:
    wide, high, length = 25.0 * _FOOT, 16.5 * _FOOT, 1000.0 * _FOOT
    bore = hydraulic_diameter(wide * high, 2.0 * (wide + high))
    conduit = Segment("conduit", length, bore, 0.01 * _FOOT, k=ENTRANCE_SHARP + EXIT)
    pressure = 999.0 * 9.80665 * 200.0 * _FOOT
    round_flow = flow_for_drop(lambda q: segment_drop(conduit, q, 999.0, 1.1e-3), pressure, 100.0)
    velocity = round_flow / conduit.area
    return {
        "D_h": bore / _FOOT,
        "f": friction_factor(
            reynolds(999.0, velocity, bore, 1.1e-3), conduit.roughness / bore
        ),
        "Q": velocity * wide * high / _FOOT**3,
    }


def _rectangular() -> dict[str, float]:
    return {f"f Re at {ratio:g}": laminar_constant(ratio) for ratio in _SHAH_LONDON}


_SHAH_LONDON = {1.0: 56.91, 0.5: 62.19, 0.25: 72.93, 0.125: 82.34, 0.0: 96.0}
_MEMORY = "inputs seen, answers from memory, recomputed"

_WORKED: tuple[Case, ...] = (
    Case(
        "FRI-06", "Fully rough limit", "von Karman (1930)", "recomputed by hand",
        {"e/D 1e-4": Expected(0.0119798, rel=1e-4), "e/D 0.05": Expected(0.0715512, rel=1e-4)},
        lambda: {"e/D 1e-4": fully_rough(1e-4), "e/D 0.05": fully_rough(0.05)},
    ),
    Case(
        "FRI-08", "Laminar pipe flow", "Cengel & Cimbala, Fluid Mechanics, Example 8-2", _MEMORY,
        {
            "Re": Expected(1803.0, rel=3e-3), "f": Expected(0.0355, rel=3e-3),
            "head loss": Expected(4.53, "m", rel=3e-3), "drop": Expected(44.5e3, "Pa", rel=3e-3),
            "power": Expected(0.30, "W", abs=0.005),
        },
        _laminar_pipe,
    ),
    Case(
        "FRI-09", "Turbulent flow in smooth steel pipe", "Cengel & Cimbala, Example 8-3", _MEMORY,
        {
            "Re": Expected(126400.0, rel=4e-3), "f": Expected(0.0174, rel=4e-3),
            "drop": Expected(81.3e3, "Pa", rel=4e-3), "head loss": Expected(8.30, "m", rel=4e-3),
            "power": Expected(461.0, "W", rel=4e-3),
        },
        _steel_pipe,
    ),
    Case(
        "FRI-10", "Air duct: find the diameter", "Cengel & Cimbala, Example 8-4",
        "published companion seen; recomputed by root finding",
        {
            "D": Expected(0.267, "m", rel=5e-3), "V": Expected(6.24, "m/s", rel=5e-3),
            "Re": Expected(100800.0, rel=5e-3), "f": Expected(0.0180, rel=5e-3),
        },
        _find_diameter,
    ),
    Case(
        "FRI-11", "Air duct: find the flow at double length", "Cengel & Cimbala, Example 8-5",
        "published companion seen; recomputed by root finding",
        {
            "Q": Expected(0.2369, "m3/s", rel=2e-3), "drop in Q": Expected(0.11, "m3/s", rel=0.03),
        },
        _find_flow,
    ),
    Case(
        "FRI-12", "Gravity line with minor losses", "Cengel & Cimbala, Example 8-8", _MEMORY,
        {
            "V": Expected(3.06, "m/s", rel=5e-3), "Re": Expected(117000.0, rel=5e-3),
            "f": Expected(0.0315, rel=5e-3), "head loss": Expected(27.9, "m", rel=5e-3),
            "source level": Expected(31.9, "m", rel=5e-3),
        },
        _gravity_line,
    ),
    Case(
        "FRI-13", "Asphalted cast iron pipe", "White, Fluid Mechanics, Example 6.6",
        "from memory; recomputed",
        {
            "Re": Expected(2.7e5, rel=0.015), "f": Expected(0.0198, rel=0.015),
            "head loss": Expected(1.37, "m", rel=0.015), "drop": Expected(13.4e3, "Pa", rel=0.015),
        },
        _asphalted_pipe,
    ),
    Case(
        "FRI-14", "Oil in a falling pipe", "White, Fluid Mechanics, Example 6.7",
        "from memory; recomputed; the book rounds V and f",
        {
            "V": Expected(6.4, "m/s", rel=0.012), "Re": Expected(128000.0, rel=0.012),
            "f": Expected(0.0225, rel=0.012), "head loss": Expected(117.0, "m", rel=0.015),
            "drop": Expected(265e3, "Pa", rel=0.025),
        },
        _oil_pipe,
    ),
    Case(
        "FRI-15", "Air in a drawn 4 mm tube", "Munson et al., Fluid Mechanics, Example 8.5",
        "from memory; recomputed by hand; the book rounds Re",
        {
            "Re": Expected(13700.0, rel=5e-3), "f": Expected(0.0291, rel=2e-3),
            "drop": Expected(1119.0, "Pa", rel=2e-3), "f if laminar": Expected(0.00467, rel=3e-3),
            "drop if laminar": Expected(179.0, "Pa", rel=3e-3),
            "f by chart": Expected(0.028, rel=0.04), "drop by chart": Expected(1076.0, rel=0.04),
        },
        _drawn_tube,
    ),
    Case(
        "FRI-16", "Smooth plastic pipe", "Crane TP-410M, Example 7-1",
        "published notebook seen; recomputed",
        {"Re": Expected(100600.0, rel=0.015), "f": Expected(0.0179, rel=0.015)},
        _plastic_pipe,
    ),
    Case(
        "FRI-17", "Rectangular conduit by hydraulic diameter", "Crane TP-410, Example 7-25",
        "published notebook seen; recomputed",
        {
            "D_h": Expected(19.88, "ft", rel=5e-3), "f": Expected(0.0167, rel=5e-3),
            "Q": Expected(30600.0, "ft3/s", rel=5e-3),
        },
        _concrete_conduit,
    ),
    Case(
        "FRI-18", "Laminar flow in a rectangular duct", "Shah & London (1978)",
        "from memory; recomputed with the exact series, 0.063 % from the polynomial",
        {
            f"f Re at {ratio:g}": Expected(value, rel=6.5e-4)
            for ratio, value in _SHAH_LONDON.items()
        },
        _rectangular,
    ),
    Case(
        "FRI-19", "Hydraulic diameter of 100 mm x 50 mm", "definition", "recomputed by hand",
        {"D_h": Expected(0.06667, "m", rel=1e-3)},
        lambda: {"D_h": hydraulic_diameter(0.1 * 0.05, 2.0 * (0.1 + 0.05))},
    ),
)

CASES: tuple[Case, ...] = (
    *(_colebrook_case(number, rough) for number, rough in enumerate(_COLEBROOK, start=1)),
    *_WORKED,
)
