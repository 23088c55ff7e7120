"""Invented logs: a car of its own equations, and instruments that lag, drift, spike and drop out.

Nothing of the engine is used. Temperatures are the state, in steps of classic Runge-Kutta of a
tenth of a second; properties are polynomials through CoolProp made here; each line is cut finer
than the engine cuts it. The numbers are those of ``scenarios/base.toml``, written down again.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache, partial
from itertools import pairwise
from pathlib import Path

import numpy as np
from CoolProp.CoolProp import PropsSI

STEP = 0.1
LINE = 5
GRAVITY = 9.80665
TEMPERATURES = ("coolant_out", "coolant_in", "tank_out", "tank_in", "tank_mid")


@dataclass(frozen=True)
class Truth:
    """A car, its day and its pass, SI."""

    power: float = 55e3
    heat_share: float = 0.75
    metal_capacity: float = 22e3
    metal_excess: float = 35.0
    metal_start: float = 5.0
    still_share: float = 0.25
    coolant_volume: float = 4e-3
    hot_flow: float = 55.0 / 60e3
    cold_flow: float = 30.0 / 60e3
    ua: float = 1050.0
    tank_volume: float = 38e-3
    fill: float = 0.85
    active: float = 1.0
    short: float = 0.0
    line_length: float = 3.67
    line_bore: float = 0.025
    coolant_start: float = 75.0
    tank_start: float = 18.0
    mass: float = 430.0
    rotating: float = 1.06
    drag_area: float = 0.17
    rolling: float = 0.022
    grip: float = 0.5
    driven_mass: float = 250.0
    efficiency: float = 0.88
    slip: float = 0.087
    air: float = 20.0
    pressure: float = 86.8e3
    distance: float = 3200.0
    start_speed: float = 13.0
    coast: float = 45.0
    soak: float = 300.0
    glycol: float = 0.0
    ducts: float = 1.0
    duct_area: float = math.pi / 4 * 0.054**2
    duct_width: float = 0.054
    duct_length: float = 2.4
    duct_bends: float = 0.5
    duct_roughness: float = 45e-6
    filter_drop: float = 250.0
    duct_scale: float = 1.0
    air_drawn: float = 55e3 * 0.3 / 3.6e6 * 12.8
    extra_heat: Callable[[float], float] | None = None


@lru_cache(maxsize=4)
def _liquid(glycol: float = 0.0) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Coefficients of density and specific heat against (T - 50)/50 in degC, highest first.

    Water, or water with a volume fraction of ethylene glycol, by the ASHRAE tables to 100 degC.
    """
    t = np.arange(1.0, 101.0 if glycol else 140.0, 1.0)
    name = f"INCOMP::AEG[{glycol}]" if glycol else "Water"
    p = np.array([max(1.3e5, PropsSI("P", "T", k + 273.15, "Q", 0.0, "Water") + 10.0) for k in t])
    x = (t - 50.0) / 50.0
    made = [
        np.polyfit(x, [PropsSI(of, "T", k + 273.15, "P", q, name)
                       for k, q in zip(t, p, strict=True)], 5)
        for of in ("D", "C")
    ]
    return tuple(map(float, made[0])), tuple(map(float, made[1]))


def _at(coefficients: Sequence[float], t: float) -> float:
    x, total = (t - 50.0) / 50.0, 0.0
    for c in coefficients:
        total = total * x + c
    return total


@dataclass
class Course:
    """What happened, at even steps from the start of the event."""

    time: np.ndarray
    columns: dict[str, np.ndarray]
    pass_time: float


def _thrust(car: Truth, v: float) -> float:
    pull = car.power * car.efficiency / ((1.0 + car.slip) * max(v, 1e-6))
    return min(pull, car.grip * car.driven_mass * GRAVITY)


def drive(car: Truth) -> tuple[list[float], float]:
    """Return speed at every half step, and the time of the pass."""
    rho = car.pressure / (287.05 * (car.air + 273.15))

    def pulls(v: float, powered: bool) -> float:
        force = _thrust(car, v) if powered else 0.0
        force -= 0.5 * rho * car.drag_area * v * v + car.rolling * car.mass * GRAVITY
        return force / (car.mass * car.rotating)

    def gone(v: float, h: float, powered: bool) -> float:
        a = pulls(v, powered)
        b = pulls(v + 0.5 * h * a, powered)
        c = pulls(v + 0.5 * h * b, powered)
        d = pulls(v + h * c, powered)
        return max(v + h / 6.0 * (a + 2 * b + 2 * c + d), 0.0)

    v, x, t, done, h = car.start_speed, 0.0, 0.0, math.nan, 0.5 * STEP
    speeds = [v]
    total = None
    while total is None or t < total - 1e-9:
        powered = math.isnan(done)
        new = gone(v, h, powered)
        before, x = x, x + 0.5 * h * (v + new)
        if powered and x >= car.distance:
            # Power goes off at the line, not at the end of the step in which it is crossed.
            part = (car.distance - before) / (x - before)
            done = t + part * h
            total = done + car.coast + car.soak
            new = gone(gone(v, part * h, True), (1.0 - part) * h, False)
        v, t = new, t + h
        if not math.isnan(done) and t > done + car.coast:
            v = 0.0
        speeds.append(v)
    return speeds, done


def run(car: Truth) -> Course:
    """March car and water through pass, coast with the pumps on, and soak without."""
    speeds, pass_time = drive(car)
    density, heat = _liquid()
    hot_density, hot_heat = _liquid(car.glycol)
    jacket = car.coolant_volume * _at(hot_density, car.coolant_start)
    line = car.line_length * math.pi / 4 * car.line_bore**2 * _at(density, car.tank_start) / LINE
    water = car.tank_volume * car.fill * _at(density, car.tank_start) * car.active
    full = car.heat_share * car.power
    g = full / car.metal_excess
    cells = 2 + 2 * LINE + 1

    def rates(t: float, y: list[float], phase: int) -> list[float]:
        pumps = phase < 2
        metal, coolant, tank = y[0], y[1], y[-1]
        d = [0.0] * cells
        burnt = full if phase == 0 else 0.0
        if car.extra_heat is not None:
            burnt += car.extra_heat(t)
        flow = g * (1.0 if pumps else car.still_share) * (metal - coolant)
        d[0] = (burnt - flow) / car.metal_capacity
        q = 0.0
        if pumps:
            drawn = tank + car.short * (y[-2] - tank)
            m = car.cold_flow * _at(density, drawn)
            q = _exchanged(car, m, coolant, y[1 + LINE])
            came = drawn
            for i in range(2, 2 + 2 * LINE):
                d[i] = m * (came - y[i]) / line
                came = y[i]
            d[2 + LINE] += q / (line * _at(heat, y[2 + LINE]))
            d[-1] = m * (1.0 - car.short) * (came - tank) / water
        d[1] = (flow - q) / (jacket * _at(hot_heat, coolant))
        return d

    y = [car.coolant_start + car.metal_start, car.coolant_start] + [car.tank_start] * (2 * LINE + 1)
    count = len(speeds) // 2
    marks = (pass_time, pass_time + car.coast)
    rows: list[tuple[float, ...]] = []
    for i in range(count):
        t = i * STEP
        rows.append(_row(car, t, y, speeds[2 * i], pass_time))
        for begin, end in pairwise([t, *(m for m in marks if t < m < t + STEP), t + STEP]):
            phase = sum(m <= 0.5 * (begin + end) for m in marks)
            y = _step(partial(rates, phase=phase), begin, end - begin, y)
    columns = np.array(rows).T
    names = (*TEMPERATURES, "speed", "plenum", "throttle")
    return Course(columns[0], dict(zip(names, columns[1:], strict=True)), pass_time)


def _carried(car: Truth, coolant: float) -> float:
    """Return the heat capacity flow of the coolant [W/K]."""
    density, heat = _liquid(car.glycol)
    return car.hot_flow * _at(density, coolant) * _at(heat, coolant)


def _exchanged(car: Truth, m: float, coolant: float, enters: float) -> float:
    """Return what a counterflow exchanger passes [W]."""
    _, heat = _liquid()
    hot = _carried(car, coolant)
    cold = m * _at(heat, enters)
    least, ratio = min(hot, cold), min(hot, cold) / max(hot, cold)
    units = car.ua / least
    e = math.exp(-units * (1.0 - ratio))
    return (1.0 - e) / (1.0 - ratio * e) * least * (coolant - enters)


def _step(
    rates: Callable[[float, list[float]], list[float]], t: float, h: float, y: list[float]
) -> list[float]:
    a = rates(t, y)
    b = rates(t + h / 2, [u + h / 2 * v for u, v in zip(y, a, strict=True)])
    c = rates(t + h / 2, [u + h / 2 * v for u, v in zip(y, b, strict=True)])
    d = rates(t + h, [u + h * v for u, v in zip(y, c, strict=True)])
    return [u + h / 6 * (p + 2 * q + 2 * r + s)
            for u, p, q, r, s in zip(y, a, b, c, d, strict=True)]


def _row(car: Truth, t: float, y: list[float], v: float, pass_time: float) -> tuple[float, ...]:
    density, _ = _liquid()
    pumps = t < pass_time + car.coast
    coolant, tank = y[1], y[-1]
    back = coolant
    out = tank
    if pumps:
        out = tank + car.short * (y[-2] - tank)
        m = car.cold_flow * _at(density, out)
        back = coolant - _exchanged(car, m, coolant, y[1 + LINE]) / _carried(car, coolant)
    mach2 = v * v / (1.4 * 287.05 * (car.air + 273.15))
    ram = car.pressure * ((1.0 + 0.2 * mach2) ** 3.5 - 1.0)
    powered = t < pass_time
    plenum = car.pressure + (ram - _lost(car, v) if powered else -30e3)
    return t, coolant, back, out, y[-2], tank, v, plenum, 1.0 if powered else 0.0


def _lost(car: Truth, v: float) -> float:
    """Return what the duct takes of the ram at full power [Pa], the air as incompressible.

    Bends and a whole velocity head lost into the plenum, friction by Haaland's formula, the
    filter's drop at its rated flow, and at less speed than in the duct the rounded lip's 0.14
    (Idelchik, diagram 3-4, radius 0.08 of the bore) by the momentum theorem.
    """
    kelvin = car.air + 273.15
    density = car.pressure / (287.05 * kelvin)
    viscosity = 1.716e-5 * (kelvin / 273.15) ** 1.5 * 383.55 / (kelvin + 110.4)
    u = car.air_drawn / (density * car.ducts * car.duct_area)
    reynolds = density * u * car.duct_width / viscosity
    rough = (car.duct_roughness / car.duct_width / 3.7) ** 1.11
    friction = (-1.8 * math.log10(rough + 6.9 / reynolds)) ** -2
    heads = car.duct_bends + friction * car.duct_length / car.duct_width + 1.0
    heads += 0.14 * max(1.0 - v / u, 0.0) ** 2
    return car.duct_scale * (heads * 0.5 * density * u * u + car.filter_drop)


@dataclass(frozen=True)
class Sensors:
    """Instruments: each temperature lags, is off, drifts and is noisy in its own way."""

    channels: tuple[str, ...] = ("coolant_out", "tank_out", "tank_in", "speed")
    rate: float = 5.0
    noise: float = 0.3
    lag: float = 2.0
    bias: dict[str, float] = field(default_factory=dict)
    drift: dict[str, float] = field(default_factory=dict)
    resolution: float = 0.1
    speed_noise: float = 0.2
    speed_scale: float = 0.0
    plenum_zero: float = 0.0
    dropouts: float = 0.0
    spikes: float = 0.0
    lead: float = 12.0
    tail: float = 240.0
    clock: float = 0.0
    uneven: float = 0.0


HEADERS = {
    "coolant_out": "Coolant Out (degC)", "coolant_in": "Coolant In (degC)",
    "tank_out": "Tank Out (degC)", "tank_in": "Tank In (degC)", "tank_mid": "Tank Mid (degC)",
    "speed": "Speed (km/h)", "plenum": "Plenum (kPa)", "throttle": "TPS (%)",
}
SCALES = {"speed": 3.6, "plenum": 1e-3, "throttle": 100.0}


def lagged(t: np.ndarray, x: np.ndarray, lag: float) -> np.ndarray:
    """First-order response, by its own plain recursion."""
    if lag <= 0.0:
        return x.copy()
    out = np.empty_like(x)
    out[0] = x[0]
    k = 1.0 - math.exp(-float(t[1] - t[0]) / lag)
    for i in range(1, len(x)):
        out[i] = out[i - 1] + k * (0.5 * (x[i] + x[i - 1]) - out[i - 1])
    return out


def measure(
    course: Course, sensors: Sensors, rng: np.random.Generator
) -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Return the clock of the logger and its columns in the units of `HEADERS`."""
    lead, t = sensors.lead, course.time
    begin, end = -lead, min(course.pass_time + sensors.tail, float(t[-1]))
    clock = np.arange(begin, end, 1.0 / sensors.rate)
    clock = clock + sensors.uneven / sensors.rate * rng.uniform(-0.5, 0.5, len(clock))
    found: dict[str, np.ndarray] = {}
    for name in sensors.channels:
        true = course.columns[name]
        if name in TEMPERATURES:
            # Before the start the car stands: the probes have settled.
            true = lagged(t, true, sensors.lag)
        seen = np.interp(clock, t, true)
        if name in TEMPERATURES:
            seen += sensors.bias.get(name, 0.0)
            seen += sensors.drift.get(name, 0.0) * (clock - begin) / (end - begin)
            seen += sensors.noise * rng.standard_normal(len(clock))
            seen = np.round(seen / sensors.resolution) * sensors.resolution
        elif name == "speed":
            before = clock < 0.0
            seen = np.where(before, np.maximum(0.0, true[0] * (1.0 + clock / 6.0)), seen)
            seen = seen * (1.0 + sensors.speed_scale)
            seen = np.maximum(seen + sensors.speed_noise * rng.standard_normal(len(clock)), 0.0)
        elif name == "throttle":
            seen = np.where(clock < 0.0, 0.1, seen)
        elif name == "plenum":
            seen = np.where(clock < 0.0, course.columns["plenum"].min(), seen)
            seen = seen + sensors.plenum_zero + 40.0 * rng.standard_normal(len(clock))
        seen = seen * SCALES.get(name, 1.0)
        spiked = rng.random(len(clock)) < sensors.spikes
        seen = np.where(spiked, seen + 80.0 * rng.choice((-1.0, 1.0), len(clock)), seen)
        found[name] = np.where(rng.random(len(clock)) < sensors.dropouts, np.nan, seen)
    return clock - begin + sensors.clock, found


def write(path: Path, clock: np.ndarray, columns: dict[str, np.ndarray], sep: str = ",") -> Path:
    """Write a log as a logger would."""
    lines = [sep.join(["Time (s)", *(HEADERS[n] for n in columns)])]
    for i, t in enumerate(clock):
        cells = [f"{t:.2f}"]
        cells += ["" if np.isnan(c[i]) else f"{c[i]:.{2 if n in SCALES else 1}f}"
                  for n, c in columns.items()]
        lines.append(sep.join(cells))
    text = "\n".join(lines) + "\n"
    path.write_text(text.replace(".", ",") if sep == ";" else text, encoding="utf-8")
    return path
