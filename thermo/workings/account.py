"""Working of the energy account: what came in, what is stored, what left."""

from __future__ import annotations

from typing import Any

from thermo.history import heat_in_parts
from thermo.loop_run import totals
from thermo.loop_state import CELLS, JACKET, JACKET_MASS, LINE_CELLS, METAL, OIL, TANK_MASS
from thermo.workings.bench import Bench
from thermo.workings.form import SOLVER, Symbol, Working, of, pure, read, step

TRAPEZOID = "trapezoid rule on the plan's own grid, independent of the integration"
INTEGRATED = "integrated beside the temperatures"


def _heat(name: str, value: Any, meaning: str) -> Symbol:
    return of(name, value, "energy", meaning)


def heat_in(b: Bench) -> Working:
    """Working of the heat in."""
    found = _heat("H_in", b.result.audit.heat_in_J, "heat in")
    words = {"metal": "into the metal", "oil": "into the oil", "charge": "by the charge cooler",
             "sun": "from the sun"}
    parts = [_heat(f"H_{k}", v, words[k]) for k, v in heat_in_parts(b.solved.run).items()]
    steps = (
        *(read(f"heat {p.meaning}", p, TRAPEZOID) for p in parts),
        step("heat in", "H_in = H_metal + H_oil + H_charge + H_sun", parts, found, "sum"),
    )
    return Working("", "energy account: heat in", steps, found)


def pump_work(b: Bench) -> Working:
    """Working of the pump work."""
    found = _heat("W", b.result.audit.pump_work_J, "pump work into the water")
    rows: list[tuple[Symbol, Symbol]] = []
    for piece in b.solved.run.pieces:
        drive = piece.drive
        power = float(drive.cold_pump_power) + float(drive.hot_pump_power)
        span = float(drive.duration) * piece.x[-1]
        if power * span > 0.0:
            n, label = len(rows) + 1, b.scenario.leg[piece.leg].label
            rows.append((of(f"P{n}", power, "power", f"pumps in '{label}'"),
                         of(f"t{n}", span, "time", f"time of '{label}'")))
    if not rows:
        none = read("no pump puts work in", found, SOLVER)
        return Working("", "energy account: pumps", (none,), found)
    text = " + ".join(f"{p.name}*{t.name}" for p, t in rows)
    last = step("pump work", f"W = {text}", [s for pair in rows for s in pair], found,
                "power times time; a pump's power by its curve, head and efficiency")
    return Working("", "energy account: pumps", (last,), found)


def added(b: Bench) -> Working:
    """Working of the energy that services put in."""
    found = _heat("H_add", b.result.audit.added_J, "enthalpy of water and ice put in, less taken")
    note = "Water counts from liquid at 0 degC, ice with its melting heat against it."
    steps = (read("water and ice put in less water taken out", found, SOLVER, note=note),)
    return Working("", "energy account: water and ice", steps, found)


def stored(b: Bench) -> Working:
    """Working of the energy stored at the end less that at the start."""
    found = _heat("E", b.result.audit.stored_J, "energy stored, end less start")
    y, design = b.states, b.design
    first, last = y[:, 0], y[:, -1]
    lines = [
        float(mass) * float((last[i : i + LINE_CELLS] - first[i : i + LINE_CELLS]).sum())
        for i, mass in ((CELLS, design.supply_mass), (CELLS + LINE_CELLS, design.return_mass))
    ]
    metal = _heat("E_m", float(design.metal_capacity) * float(last[METAL] - first[METAL]),
                  "in the engine's metal")
    oil = _heat("E_o", float(design.oil_capacity) * float(last[OIL] - first[OIL]), "in the oil")
    jacket = _heat(
        "E_j",
        float(last[JACKET_MASS] * last[JACKET] - first[JACKET_MASS] * first[JACKET]),
        "in the coolant",
    )
    line = _heat("E_l", sum(lines), "in the lines")
    rest = found.value - metal.value - oil.value - jacket.value - line.value
    water = _heat("E_w", rest, "in the tank: water, ice, wall")
    parts = [metal, oil, jacket, line, water]
    change = of("dm", float(last[TANK_MASS] - first[TANK_MASS]), "mass", "change of tank water")
    steps = (
        *(read(f"stored {p.meaning}", p, SOLVER) for p in parts[:-1]),
        read("stored in the tank", water, SOLVER, [change]),
        step("stored", "E = E_m + E_o + E_j + E_l + E_w", parts, found, "sum over all parts"),
    )
    return Working("", "energy account: stored", steps, found)


def to_air(b: Bench) -> Working:
    """Working of the heat to the air."""
    found = _heat("H_air", b.result.audit.to_air_J, "heat to the air")
    sun = _heat("H_sun", heat_in_parts(b.solved.run)["sun"], "from the sun, counted as heat in")
    net = _heat("H_net", totals(b.solved.run)["to_air"], "heat to the air less the sun's")
    steps = (
        read("heat to the air less the sun's", net, INTEGRATED,
             note="From tank, lines, metal and oil, each conductance times lead over the air."),
        step("heat to the air", "H_air = H_net + H_sun", [net, sun], found, "sum"),
    )
    return Working("", "energy account: to the air", steps, found)


def steam(b: Bench) -> Working:
    """Working of the heat that steam carried off."""
    found = _heat("H_s", b.result.audit.steam_J, "enthalpy of steam that left")
    steps = (read("carried off by steam", found, INTEGRATED,
                  note="Heat beyond saturation leaves as steam with its enthalpy."),)
    return Working("", "energy account: steam", steps, found)


def residual(b: Bench) -> Working:
    """Working of what is missing from the account."""
    a = b.result.audit
    found = pure("r", a.residual_fraction, "missing over the larger of heat in and 100 kJ")
    given = [
        _heat("H_in", a.heat_in_J, "heat in"),
        _heat("W", a.pump_work_J, "pump work"),
        _heat("H_add", a.added_J, "water and ice put in, less taken out"),
        _heat("E", a.stored_J, "stored, end less start"),
        _heat("H_air", a.to_air_J, "to the air"),
        _heat("H_s", a.steam_J, "carried off by steam"),
    ]
    last = step(
        "missing from the account",
        "r = (H_in + W + H_add - E - H_air - H_s)/max(abs(H_in), 100000)",
        given,
        found,
        "first law; above 0.005 no verdict is given",
    )
    return Working("", "energy account: missing", (last,), found)


WORKINGS = {
    "audit.heat_in_J": heat_in,
    "audit.pump_work_J": pump_work,
    "audit.added_J": added,
    "audit.stored_J": stored,
    "audit.to_air_J": to_air,
    "audit.steam_J": steam,
    "audit.residual_fraction": residual,
}
"""Workings of the energy account, by the name of the figure."""
