"""Published cases of minor losses."""

from __future__ import annotations

from thermo.circuit import Circuit, Segment, circuit_drop, segment_drop
from thermo.fittings import (
    ENTRANCE_BELL_MOUTH,
    ENTRANCE_REENTRANT,
    ENTRANCE_SHARP,
    EXIT,
    conical_contraction,
    conical_diffuser,
    crane_friction,
    entrance_rounded,
    fitting_loss,
    mitre_bend,
    on_other_bore,
    smooth_bend,
    sudden_contraction,
    sudden_expansion,
)
from thermo.hydraulics import flow_for_drop
from thermo.published.case import Case, Expected
from thermo.pumps import GRAVITY
from thermo.tees import converging_tee, diverging_tee

_CRANE = "Crane TP-410"
_LIBRARY = "read in the data of an open-source library"

_ROUNDED = {0.01: 0.44, 0.02: 0.37, 0.04: 0.26, 0.08: 0.15, 0.12: 0.09, 0.16: 0.06, 0.20: 0.03}
_BENDS = {1.0: 20.0, 1.5: 14.0, 2.0: 12.0, 3.0: 12.0, 4.0: 14.0, 6.0: 17.0, 8.0: 24.0, 10.0: 30.0}
_PIPES = {0.0266: 0.022, 0.0525: 0.019, 0.0779: 0.017, 0.1023: 0.016, 0.1541: 0.015}
_MITRES = {15.0: 4.0, 30.0: 8.0, 45.0: 15.0, 60.0: 25.0, 75.0: 40.0, 90.0: 60.0}
_TEXTBOOK = {
    "elbow-90": 0.3, "elbow-90-threaded": 0.9, "return-180": 0.2, "elbow-45-threaded": 0.4,
    "tee-branch": 1.0, "tee-branch-threaded": 2.0, "tee-run": 0.2, "tee-run-threaded": 0.9,
}
_BORE = 0.0525


def _gradual_expansion() -> dict[str, float]:
    narrow, wide = Segment("narrow", 0.0, 0.06, 0.0, k=0.07), Segment("wide", 0.0, 0.09, 0.0)
    flow = 7.0 * narrow.area
    head = segment_drop(narrow, flow, 1000.0, 1e-3) / (1000.0 * 9.81)
    return {"V2": flow / wide.area, "head loss": head}


def _two_sizes() -> dict[str, float]:
    """Flow through 3 in and 2 in pipe in series; the 2 in part referred to 3 in as in the book."""
    f_t, rough, small, large = 0.0172, 0.0457e-3, 0.0525, 0.0779
    parts = Circuit((
        Segment("3 in", 3.048, large, rough, k=ENTRANCE_SHARP + 60 * f_t + 8 * f_t),
        Segment("2 in", 6.096, small, rough, k=sudden_contraction(2.0 / 3.0) + EXIT),
    ))

    def drop(flow: float) -> float:
        on_large = circuit_drop(Circuit(parts.parts[:1]), flow, 999.0, 1.1e-3, 288.0)
        on_small = circuit_drop(Circuit(parts.parts[1:]), flow, 999.0, 1.1e-3, 288.0)
        nominal = on_other_bore(on_other_bore(1.0, small, large), 3.0, 2.0)
        return float(on_large + on_small / nominal)

    return {"Q": flow_for_drop(drop, 999.0 * GRAVITY * 3.505) * 1e3}


def _converging() -> dict[str, float]:
    loss = converging_tee(0.00633 / (0.00633 + 0.018917))
    return {"branch": loss.branch, "run": loss.run}


def _diverging() -> dict[str, float]:
    loss = diverging_tee(950.0 / (950.0 + 1515.0), angle=45.0)
    return {"branch": loss.branch, "run": loss.run}


_LOSSES: tuple[Case, ...] = (
    Case(
        "MIN-01", "Sudden expansion", "Borda-Carnot", "closed form",
        {
            "0.5": Expected(0.5625, rel=1e-12), "0.6": Expected(0.4096, rel=1e-12),
            "0.8": Expected(0.1296, rel=1e-12),
        },
        lambda: {text: sudden_expansion(float(text)) for text in ("0.5", "0.6", "0.8")},
    ),
    Case(
        "MIN-02", "Sudden contraction, d/D 0.6", _CRANE, "recomputed by hand",
        {
            "Crane": Expected(0.320, rel=1e-12),
            "White 0.269 to Rennels 0.439": Expected(0.354, abs=0.085),
        },
        lambda: dict.fromkeys(("Crane", "White 0.269 to Rennels 0.439"), sudden_contraction(0.6)),
    ),
    Case(
        "MIN-03", "Change of bore that K refers to, 2 in to 3 in", f"{_CRANE}, Example 7-19",
        "recomputed by hand",
        {"on 2 in": Expected(0.27778, abs=5e-6), "on 3 in": Expected(1.40625, rel=1e-6)},
        lambda: {
            "on 2 in": sudden_contraction(2.0 / 3.0),
            "on 3 in": on_other_bore(sudden_contraction(2.0 / 3.0), 2.0, 3.0),
        },
    ),
    Case(
        "MIN-04", "Entrance, sharp, flush", f"{_CRANE}; Idelchik", _LIBRARY,
        {"constant": Expected(0.50, rel=1e-12), "r/d 0": Expected(0.50, rel=1e-12)},
        lambda: {"constant": ENTRANCE_SHARP, "r/d 0": entrance_rounded(0.0)},
    ),
    Case(
        "MIN-06", "Entrance, rounded", "Idelchik, diagram 3-4", _LIBRARY,
        {f"r/d {x:g}": Expected(k, abs=0.01) for x, k in _ROUNDED.items()},
        lambda: {f"r/d {x:g}": entrance_rounded(x) for x in _ROUNDED},
    ),
    Case(
        "MIN-07", "Bell mouth and re-entrant pipe",
        _CRANE, _LIBRARY,
        {
            "bell mouth": Expected(0.04, abs=0.01), "re-entrant": Expected(0.78, rel=1e-12),
            "re-entrant, named": Expected(0.78, rel=1e-12),
        },
        lambda: {
            "bell mouth": ENTRANCE_BELL_MOUTH, "re-entrant": ENTRANCE_REENTRANT,
            "re-entrant, named": fitting_loss("entrance-reentrant"),
        },
    ),
    Case(
        "MIN-08", "Exit into a large space", _CRANE, "from memory",
        {"K": Expected(1.0, rel=1e-12), "expansion without end": Expected(1.0, rel=1e-12)},
        lambda: {"K": fitting_loss("exit"), "expansion without end": sudden_expansion(0.0)},
    ),
    Case(
        "MIN-09", "Smooth 90 degree bends, K over f_T", f"{_CRANE}, A-30", _LIBRARY,
        {f"r/d {x:g}": Expected(k, rel=0.015) for x, k in _BENDS.items()},
        lambda: {f"r/d {x:g}": smooth_bend(x, _BORE) / crane_friction(_BORE) for x in _BENDS},
    ),
    Case(
        "MIN-10", "Friction factor of complete turbulence", f"{_CRANE} (2009), A-27",
        "table from memory",
        {f"{bore * 1e3:g} mm": Expected(f, rel=0.03) for bore, f in _PIPES.items()},
        lambda: {f"{bore * 1e3:g} mm": crane_friction(bore) for bore in _PIPES},
    ),
    Case(
        "MIN-11", "Mitre bends, K over f_T", f"{_CRANE}, A-30", _LIBRARY,
        {f"{a:g} deg": Expected(k, rel=1e-9) for a, k in _MITRES.items()},
        lambda: {f"{a:g} deg": mitre_bend(a, _BORE) / crane_friction(_BORE) for a in _MITRES},
    ),
    Case(
        "MIN-14", "Conical diffuser, 50 to 80 mm", f"{_CRANE}, formula 3", "recomputed by hand",
        {"10 deg": Expected(0.0841, rel=1e-3), "30 deg": Expected(0.2499, rel=1e-3)},
        lambda: {f"{a} deg": conical_diffuser(0.05 / 0.08, float(a)) for a in (10, 30)},
    ),
    Case(
        "MIN-16", "Conical contraction, 80 to 50 mm", f"{_CRANE}, formulas 1 and 2",
        "recomputed by hand",
        {"30 deg": Expected(0.1262, rel=1e-3), "60 deg": Expected(0.2154, rel=1e-3)},
        lambda: {f"{a} deg": conical_contraction(0.05 / 0.08, float(a)) for a in (30, 60)},
    ),
)

_EXAMPLES: tuple[Case, ...] = (
    Case(
        "MIN-17", "Converging 90 degree tee", f"{_CRANE}, Example 7-35",
        "published notebook seen; recomputed",
        {"branch": Expected(-0.0403, abs=2e-3), "run": Expected(0.3258, abs=2e-3)},
        _converging,
    ),
    Case(
        "MIN-18", "Diverging 45 degree wye", f"{_CRANE}, Example 7-36",
        "published notebook seen; recomputed",
        {"branch": Expected(0.4640, abs=1e-3), "run": Expected(-0.0681, abs=1e-3)},
        _diverging,
    ),
    Case(
        "MIN-19", "Gradual expansion, 60 to 90 mm, K as in the book",
        "Cengel & Cimbala, Example 8-6", "published companion seen; recomputed by hand",
        {"V2": Expected(3.11, "m/s", rel=3e-3), "head loss": Expected(0.175, "m", rel=3e-3)},
        _gradual_expansion,
    ),
    Case(
        "MIN-20", "Textbook table of fittings", "Cengel & Cimbala, Table 8-4", "from memory",
        {name: Expected(k, rel=1e-12) for name, k in _TEXTBOOK.items()},
        lambda: {name: fitting_loss(name) for name in _TEXTBOOK},
    ),
    Case(
        "MIN-22", "Two pipe sizes in series", f"{_CRANE}, Example 7-19",
        "published notebook seen; recomputed",
        {"Q": Expected(137.0 * 3.785411784e-3 / 60.0 * 1e3, "L/s", rel=5e-3)},
        _two_sizes,
    ),
)

CASES: tuple[Case, ...] = (*_LOSSES, *_EXAMPLES)
