"""Working of the pass: time, speeds, and the heat that goes into the coolant."""

from __future__ import annotations

import math

from thermo.engine import site_factor
from thermo.engine_table import peak_power, specific_consumption
from thermo.figures import metal_heat
from thermo.fuels import FUELS
from thermo.trace import time_at_distance
from thermo.workings.bench import Bench
from thermo.workings.form import (
    READ,
    SOLVER,
    Step,
    Symbol,
    Working,
    by_hand,
    of,
    pure,
    read,
    step,
)

DYNAMICS = "equation of motion, m dV/dt = thrust - drag - rolling - grade (Gillespie, ch. 4)"
CLOSED = "closed form of m V dV/dx = P/V - k V^2 (constant power against drag alone)"
LEFT_OUT = (
    "The estimate has constant power against drag alone. The integrated pass also has rolling "
    "resistance, the limit of grip off the line, rotating inertia, gears, wind, "
    "grade, and the power that ram adds"
)


def _start(b: Bench) -> float:
    trace = b.driving.legs[b.scenario.first_pass].trace
    return 0.0 if trace is None else float(trace.speed[0])


def _covered(b: Bench) -> float:
    trace = b.driving.legs[b.scenario.first_pass].trace
    return 0.0 if trace is None else float(trace.distance[-1])


def wheel_power_steps(b: Bench) -> list[Step]:
    """Return power at the wheels at this site, without ram."""
    engine, car, air = b.scenario.engine, b.scenario.car, b.air
    factor = site_factor(engine.power_basis, air.j1349_factor)
    stated = of("P", peak_power(engine), "power", "brake power as stated, highest")
    k = pure("k", air.j1349_factor, "SAE J1349 correction")
    f = pure("f_site", factor, "power at this site over power as stated")
    share = b.scenario.leg[b.scenario.first_pass].power_share
    site = (
        read("power at this site", f, "engine.power_basis is 'site': the power holds in this air")
        if engine.power_basis == "site"
        else step("power at this site", "f_site = 1/k", [k], f, "SAE J1349 (2004)")
    )
    wheels = by_hand(
        "power at the wheels",
        "P_w = P*f_site*s*eta/(1 + slip)",
        [
            stated,
            f,
            pure("s", share, "share of full power in this leg"),
            pure("eta", car.driveline_efficiency, "driveline efficiency"),
            pure("slip", car.wheel_slip, "wheel slip"),
        ],
        ("P_w", "power", "power that moves the car"),
        "definition",
    )
    return [site, wheels]


def terminal_steps(b: Bench) -> list[Step]:
    """Return the speed at which drag takes all the power."""
    *first, wheels = wheel_power_steps(b)
    drag = by_hand(
        "drag over the square of speed",
        "k_d = 0.5*rho*CdA",
        [
            of("rho", b.air.density, "density", "air density"),
            of("CdA", b.scenario.car.drag_area, "area", "drag area"),
        ],
        ("k_d", "", "drag over speed squared [kg/m]"),
        "definition of the drag coefficient",
    )
    top = by_hand(
        "speed at which drag takes all the power",
        "V_t = (P_w/k_d)^(1/3)",
        [wheels.result, drag.result],
        ("V_t", "speed", "terminal speed"),
        "P = k V^3",
    )
    return [*first, wheels, drag, top]


def _speed_by_hand(b: Bench) -> list[Step]:
    steps = terminal_steps(b)
    start = of("V0", _start(b), "speed", "speed at the start of the pass")
    end = by_hand(
        "speed at the end of the distance",
        "V_hand = (V_t^3 - (V_t^3 - V0^3)*exp(-3*k_d*x/m))^(1/3)",
        [
            steps[-1].result,
            start,
            steps[-2].result,
            of("x", _covered(b), "length", "distance covered in the pass"),
            of("m", b.scenario.car.mass, "mass", "mass of the car"),
        ],
        ("V_hand", "speed", "speed by hand"),
        CLOSED,
    )
    return [*steps, end]


def _time_by_hand(b: Bench) -> list[Step]:
    steps = _speed_by_hand(b)
    terminal, end = steps[-2].result, steps[-1].result
    primitive = "ln((1 + u{0} + u{0}^2)/(1 - u{0})^2)/6 - atan((2*u{0} + 1)/sqrt(3))/sqrt(3)"
    shares = [
        by_hand(
            f"share of the terminal speed at the {word}",
            f"u{i} = {v.name}/V_t",
            [v, terminal],
            (f"u{i}", "", f"speed over terminal speed, {word}"),
            "definition",
        )
        for i, word, v in (
            (0, "start", of("V0", _start(b), "speed", "speed at the start")),
            (1, "end", end),
        )
    ]
    parts = [
        by_hand(
            f"integral up to the {word}",
            f"F{i} = {primitive.format(i)}",
            [share.result],
            (f"F{i}", "", "integral of u/(1 - u^3)"),
            CLOSED,
            "u below 1",
        )
        for i, (word, share) in enumerate(zip(("start", "end"), shares, strict=True))
    ]
    last = by_hand(
        "time of the pass",
        "t_hand = m/(k_d*V_t)*(F1 - F0)",
        [
            of("m", b.scenario.car.mass, "mass", "mass of the car"),
            steps[-3].result,
            terminal,
            parts[1].result,
            parts[0].result,
        ],
        ("t_hand", "time", "time by hand"),
        CLOSED,
    )
    return [*steps, *shares, *parts, last]


def pass_time(b: Bench) -> Working:
    """Working of the time of the pass."""
    found = of("t", b.figures.pass_time_s, "time", "time of the first full-power leg")
    leg = b.scenario.leg[b.scenario.first_pass]
    if leg.distance is None:
        given = read("time of the pass", found, f"leg[{b.scenario.first_pass}].duration, {READ}")
        return Working("", "time of the pass", (given,), found)
    x = of("x", _covered(b), "length", "distance of the pass")
    mean = by_hand(
        "mean speed", "V_m = x/t", [x, found], ("V_m", "speed", "mean speed"), "definition"
    )
    steps = (read("time over the distance", found, SOLVER, [x], note=DYNAMICS), mean)
    speed = _speed_by_hand(b)[-1].result.value
    hand = _time_by_hand(b) if 0.0 <= speed < terminal_steps(b)[-1].result.value else []
    return Working(
        "", "time of the pass", steps, found, tuple(hand), f"{LEFT_OUT}." if hand else ""
    )


def top_speed(b: Bench) -> Working:
    """Working of the top speed."""
    found = of("V", b.figures.pass_top_speed_m_per_s, "speed", "top speed of the pass")
    x = of("x", _covered(b), "length", "distance covered in the pass")
    steps = (read("highest speed of the pass", found, SOLVER, [x], note=DYNAMICS),)
    hand = tuple(_speed_by_hand(b)) if math.isfinite(found.value) else ()
    return Working("", "top speed", steps, found, hand, f"{LEFT_OUT}." if hand else "")


def _between_lines(b: Bench, name: str, value: float) -> Working | None:
    leg, trace = b.scenario.leg[b.scenario.first_pass], b.driving.legs[b.scenario.first_pass].trace
    if trace is None or leg.timed_from is None or leg.timed_to is None:
        return None
    found = of("V", value, "speed", "average over the timed stretch")
    times = {
        n: of(n, time_at_distance(trace, x), "time", words)
        for n, x, words in (
            ("t1", leg.timed_from, "time at the first line"),
            ("t2", leg.timed_to, "time at the second line"),
        )
    }
    lines = [
        of("x1", leg.timed_from, "length", "first line"),
        of("x2", leg.timed_to, "length", "second line"),
    ]
    if not math.isfinite(found.value):
        return None
    steps = (
        *(read(t.meaning, t, SOLVER, note=DYNAMICS) for t in times.values()),
        step(
            "average over the timed stretch",
            "V = (x2 - x1)/(t2 - t1)",
            [*lines, *times.values()],
            found,
            "definition",
        ),
    )
    return Working("", name, steps, found)


def timed_speed(b: Bench) -> Working:
    """Working of the speed over the timed stretch."""
    value = b.figures.timed_speed_m_per_s
    found = of("V", value, "speed", "average over the timed stretch")
    none = read("no timed stretch", found, "no timed_from and timed_to, or never reached")
    told = _between_lines(b, "speed over the timed stretch", value)
    return told or Working("", "speed over the timed stretch", (none,), found)


def duct_speed(b: Bench) -> Working | None:
    """Working of the speed at which the duct is judged."""
    if b.duct is None:
        return None
    value = b.duct.speed_m_per_s
    told = _between_lines(b, "speed at which the duct is judged", value)
    found = of("V", value, "speed", "speed at which the duct is judged")
    top = read("top speed of the pass", found, SOLVER, note=f"No timed stretch: {DYNAMICS}")
    return told or Working("", "speed at which the duct is judged", (top,), found)


def share_steps(b: Bench) -> list[Step]:
    """Return heat to the coolant at the stated power."""
    engine, cooling = b.scenario.engine, b.cooling
    power = of("P", peak_power(engine), "power", "brake power as stated, highest")
    q = of("Q", cooling.full_heat, "power", "heat into the coolant at that power")
    if engine.heat_power is not None:
        return [read("heat at full power", q, f"engine.heat_power, {READ}")]
    c = pure("c", cooling.heat.share, "heat into the coolant over brake power")
    if engine.fuel_heat_share is None:
        source = (
            "0.80 taken: Heywood heat balance, table 12.1 (from memory)"
            if engine.heat_share is None
            else f"engine.heat_share, {READ}"
        )
        shares = [read("share of brake power", c, source, valid="0.60 to 1.05; size at 0.95")]
    else:
        shares = [
            step(
                "share of the fuel's energy, over brake power",
                "c = bsfc*LHV*s_f",
                [
                    of("bsfc", specific_consumption(engine), "specific_consumption",
                       "fuel over brake work"),
                    of("LHV", FUELS[engine.fuel].heating_value, "specific_energy",
                       "lower heating value"),
                    pure("s_f", engine.fuel_heat_share, "heat into the coolant over fuel energy"),
                ],
                c,
                "Heywood, table 12.1 (from memory)",
                "0.17 to 0.26 at full power",
            )
        ]
    return [
        *shares, step("heat at full power", "Q = c*P", [c, power], q, "definition of the share")
    ]


def _legs(b: Bench) -> list[tuple[Symbol, Symbol, Symbol]]:
    """Return mean heat, time and heat of each piece that heats the metal."""
    rows: list[tuple[Symbol, Symbol, Symbol]] = []
    for piece in b.solved.plan:
        heat = float(metal_heat(piece.drive))
        span = float(piece.drive.duration)
        if heat == 0.0 or span == 0.0:
            continue
        n = len(rows) + 1
        label = b.scenario.leg[piece.leg].label
        rows.append((
            of(f"Q{n}", heat / span, "power", f"mean heat in '{label}'"),
            of(f"t{n}", span, "time", f"time of '{label}'"),
            of(f"H{n}", heat, "energy", f"heat in '{label}'"),
        ))
    return rows


def heat_total(b: Bench) -> Working:
    """Working of the heat into the coolant over the event."""
    found = of("H", b.figures.heat_total_J, "energy", "heat into the metal over the event")
    rows = _legs(b)
    parts = [
        step(
            f"heat in {t.meaning.removeprefix('time of ')}",
            f"{h.name} = {q.name}*{t.name}",
            [q, t],
            h,
            "mean over the leg of heat by brake power, from the driven trace",
        )
        for q, t, h in rows
    ]
    total = (
        step(
            "heat of the event", f"H = {' + '.join(h.name for _, _, h in rows)}",
            [h for _, _, h in rows], found, "sum",
        )
        if rows
        else read("heat of the event", found, "no leg heats the engine")
    )
    first = share_steps(b)
    time = of("t", b.figures.pass_time_s, "time", "time of the first pass")
    hand = by_hand(
        "heat of the pass at the stated power",
        "H_hand = Q*t",
        [first[-1].result, time],
        ("H_hand", "energy", "heat of the first pass by hand"),
        "definition",
    )
    return Working(
        "", "heat into the coolant", (*first, *parts, total), found, (hand,),
        "The estimate is the first pass alone, at the stated power. The event adds idling and "
        "other legs; gears, share of throttle, the site's air and the ram move the power.",
    )


WORKINGS = {
    "cooling.pass_time_s": pass_time,
    "cooling.pass_top_speed_m_per_s": top_speed,
    "cooling.timed_speed_m_per_s": timed_speed,
    "cooling.heat_total_J": heat_total,
    "intake.speed_m_per_s": duct_speed,
}
"""Workings of the pass, by the name of the figure."""
