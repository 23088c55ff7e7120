"""Published cases of flow split in parallel lines."""

from __future__ import annotations

from collections.abc import Callable

from thermo.circuit import Circuit, Segment, segment_drop, segment_flows
from thermo.friction import friction_factor
from thermo.hydraulics import flow_for_drop, parallel_split
from thermo.published.case import Case, Expected
from thermo.pumps import hydraulic_power

_G = 9.81


def _drop(line: Segment, density: float, viscosity: float) -> Callable[[float], float]:
    return lambda flow: float(segment_drop(line, flow, density, viscosity))


def _two_pipes() -> dict[str, float]:
    """Split the flow that a pump of constant power lifts by 8 m through two pipes."""
    from scipy.optimize import brentq

    density, viscosity = 998.0, 1.002e-3
    lines = [Segment(name, 36.0, bore, 0.045e-3) for name, bore in (("1", 0.04), ("2", 0.08))]
    drops = [_drop(line, density, viscosity) for line in lines]

    def missing(total: float) -> float:
        head = 8.0 + parallel_split(total, drops).drop / (density * _G)
        return float(hydraulic_power(density, total, head, _G)) - 0.70 * 8000.0

    total = float(brentq(missing, 1e-3, 0.1))
    split = parallel_split(total, drops)
    loss = split.drop / (density * _G)
    row = {"Q": total, "head": 8.0 + loss, "head loss": loss}
    for line, flow in zip(lines, split.flows, strict=True):
        state = segment_flows(Circuit((line,)), flow, density, viscosity)[0]
        row[f"Q{line.name}"] = flow
        row[f"V{line.name}"] = state.velocity
        row[f"Re{line.name}"] = state.reynolds
        row[f"f{line.name}"] = friction_factor(state.reynolds, line.roughness / line.bore)
    return row


def _three_pipes() -> dict[str, float]:
    density = 998.0
    rows = ((100.0, 0.08, 0.24e-3), (150.0, 0.06, 0.12e-3), (80.0, 0.04, 0.20e-3))
    drops = [
        _drop(Segment(f"{i}", *row), density, density * 1.02e-6) for i, row in enumerate(rows)
    ]
    common = 20.3 * density * _G
    flows = [flow_for_drop(drop, common) for drop in drops]
    split = parallel_split(sum(flows), drops)
    got = {f"Q{i}": 3600.0 * flow for i, flow in enumerate(split.flows, start=1)}
    return got | {"Q": 3600.0 * sum(flows), "head loss": split.drop / (density * _G)}


def _ratio(total: float, wide: Segment, narrow: Segment, viscosity: float) -> float:
    split = parallel_split(total, [_drop(line, 1000.0, viscosity) for line in (wide, narrow)])
    return split.flows[0] / split.flows[1]


def _scaling() -> dict[str, float]:
    return {
        "laminar": _ratio(
            1e-5, Segment("wide", 1.0, 0.02, 0.0), Segment("narrow", 1.0, 0.01, 0.0), 1.0
        ),
        "fully rough": _ratio(
            1e-2, Segment("wide", 1.0, 0.02, 2e-4), Segment("narrow", 1.0, 0.01, 1e-4), 1e-10
        ),
        "K 1 and 4": _ratio(
            1e-3, Segment("free", 0.0, 0.02, 0.0, k=1.0), Segment("tight", 0.0, 0.02, 0.0, k=4.0),
            1e-3,
        ),
    }


def _manifold() -> dict[str, float]:
    branches = (Segment("12 mm", 0.0, 0.012, 0.0, k=6.0), Segment("16 mm", 0.0, 0.016, 0.0, k=9.0))
    split = parallel_split(2e-3, [_drop(branch, 1000.0, 1e-3) for branch in branches])
    return {"Q1": split.flows[0] * 1e3, "Q2": split.flows[1] * 1e3, "drop": split.drop * 1e-3}


CASES: tuple[Case, ...] = (
    Case(
        "SPL-01", "Pumping through two parallel pipes",
        "Cengel & Cimbala, Fluid Mechanics, Example 8-7",
        "inputs seen, answers from memory, recomputed",
        {
            "Q1": Expected(0.00415, "m3/s", rel=3e-3), "Q2": Expected(0.0259, "m3/s", rel=3e-3),
            "Q": Expected(0.0300, "m3/s", rel=3e-3), "head": Expected(19.1, "m", rel=3e-3),
            "head loss": Expected(11.1, "m", abs=0.05), "V1": Expected(3.30, "m/s", rel=3e-3),
            "V2": Expected(5.15, "m/s", rel=3e-3), "Re1": Expected(131600.0, rel=3e-3),
            "Re2": Expected(410000.0, rel=3e-3), "f1": Expected(0.0221, rel=3e-3),
            "f2": Expected(0.0182, rel=3e-3),
        },
        _two_pipes,
    ),
    Case(
        "SPL-02", "Three parallel pipes with a common head loss",
        "White, Fluid Mechanics, Example 6.17", "from memory; recomputed",
        {
            "Q1": Expected(62.5, "m3/h", rel=3e-3), "Q2": Expected(25.9, "m3/h", rel=3e-3),
            "Q3": Expected(11.4, "m3/h", rel=3e-3), "Q": Expected(99.8, "m3/h", rel=3e-3),
            "head loss": Expected(20.3, "m", rel=1e-6),
        },
        _three_pipes,
    ),
    Case(
        "SPL-03", "Scaling of a split", "closed forms: D^4, D^2.5, K^-0.5", "recomputed by hand",
        {
            "laminar": Expected(16.0, rel=1e-6), "fully rough": Expected(2.0**2.5, rel=1e-6),
            "K 1 and 4": Expected(2.0, rel=1e-6),
        },
        _scaling,
    ),
    Case(
        "SPL-04", "Split of a manifold with fixed K", "closed form", "recomputed by hand",
        {
            "Q1": Expected(0.8158, "L/s", rel=5e-4), "Q2": Expected(1.1842, "L/s", rel=5e-4),
            "drop": Expected(156.1, "kPa", rel=5e-4),
        },
        _manifold,
    ),
)
