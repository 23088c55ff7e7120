"""Time the cooling loop against a script written by hand: python -m tests.bench.bench_loop.

The event is a quarter of an hour: sun in the queue, a full-power pass, coast, heat soak. The plain
script solves the same equations with ``solve_ivp`` at rtol 1e-6, leg by leg, and asks CoolProp for
specific heat and density in its right-hand side. Then the growth of our time with the length of
the event and with the number of tank cells. Bars: at most 80 ms, at least 30 times faster than
the script, and within 0.1 K of it.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp

from tests.oracles.loop_bridge import design, drive, run, temperatures
from tests.oracles.loop_reference import Loop, Stretch
from thermo.loop_run import run_loop
from thermo.loop_state import start_state

MOST_MS = 80.0
LEAST_RATIO = 30.0
MOST_KELVIN = 0.1
FLOW = 38.0 / 60e3

EVENT = Loop(
    cells=12,
    tank_mass=41.0,
    boil=393.0,
    supply_air=1 / 3,
    return_air=1 / 3,
    tank_air=2.0,
    engine_air=10.0,
    oil_cooler=200.0,
)
PUMPS = {"hot_flow": (2e-3, 2e-3), "cold_flow": lambda t: FLOW, "cold_pump": 60.0, "hot_pump": 40.0}
LEGS = (
    Stretch(420.0, sun=350.0),
    Stretch(90.0, metal_heat=(70e3, 95e3, 100e3, 98e3), oil_heat=(9e3, 9e3), **PUMPS),
    Stretch(60.0, **PUMPS),
    Stretch(330.0),
)


def by_hand(loop: Loop, legs: Sequence[Stretch], method: str) -> np.ndarray:
    """Solve the event as a plain script would; return temperatures at the leg ends [K]."""
    p_hot, p_cold = 2.2e5, 1.5e5

    def rhs(t: float, y: np.ndarray, leg: Stretch) -> np.ndarray:
        metal, jacket, oil, cells = y[0], y[1], y[2], y[3:]
        hot_flow = np.interp(t / leg.duration, (0, 1), leg.hot_flow)
        cp_hot = PropsSI("C", "T", jacket, "P", p_hot, "Water")
        cp = PropsSI("C", "T", cells, "P", p_cold, "Water")
        m_hot = hot_flow * PropsSI("D", "T", jacket, "P", p_hot, "Water")
        m = leg.cold_flow(cells[-1]) * PropsSI("D", "T", cells[-1], "P", p_cold, "Water")
        q = 0.0
        if m > 0.0 and m_hot > 0.0:
            c_hot, c_cold = m_hot * cp_hot, m * cp[2]
            c_min, c_max = min(c_hot, c_cold), max(c_hot, c_cold)
            ntu, cr = loop.ua / c_min, c_min / c_max
            e = np.exp(-ntu * (1 - cr))
            q = (1 - e) / (1 - cr * e) * c_min * (jacket - cells[2])
        heat = np.interp(t / leg.duration, np.linspace(0, 1, len(leg.metal_heat)), leg.metal_heat)
        g = loop.metal_conductance * (
            loop.still_share + (1 - loop.still_share) * min(1.0, hot_flow / loop.full_flow)
        )
        d = np.empty_like(y)
        d[0] = (
            heat - g * (metal - jacket) - loop.engine_air * (metal - loop.air)
        ) / loop.metal_capacity
        from_oil = loop.oil_cooler * (oil - jacket)
        d[1] = (g * (metal - jacket) + from_oil + leg.hot_pump - q) / (loop.coolant_mass * cp_hot)
        d[2] = (np.interp(t / leg.duration, (0, 1), leg.oil_heat) - from_oil) / loop.oil_capacity
        mass = np.repeat(
            (loop.supply_mass, loop.return_mass, loop.tank_mass / loop.cells), (3, 3, loop.cells)
        )
        loss = np.repeat(
            (loop.supply_air, loop.return_air, loop.tank_air / loop.cells), (3, 3, loop.cells)
        ) * (cells - loop.air)
        source = -loss
        source[0] += leg.cold_pump
        source[3] += q
        source[6:] += leg.sun / loop.cells
        d[3:] = (m * (np.roll(cells, 1) - cells) + source / cp) / mass
        return d

    y = np.concatenate(
        [
            [loop.metal_start, loop.coolant_start, loop.oil_start],
            np.full(6 + loop.cells, loop.tank_start),
        ]
    )
    ends = []
    for leg in legs:
        got = solve_ivp(rhs, (0, leg.duration), y, method=method, rtol=1e-6, atol=1e-6, args=(leg,))
        y = got.y[:, -1]
        ends.append(y)
    return np.array(ends)


def ours(loop: Loop, legs: Sequence[Stretch]) -> np.ndarray:
    """Solve the event with the engine; return the same as :func:`by_hand`."""
    got = run(loop, legs)
    d = design(loop)
    return np.array([temperatures(d, piece.states[-1]) for piece in got.pieces])


def best_ms(call: Callable[[], object], repeats: int) -> float:
    """Return the shortest of several timings [ms], after one call to warm up."""
    call()
    times = []
    for _ in range(repeats):
        begun = time.perf_counter()
        call()
        times.append(time.perf_counter() - begun)
    return 1e3 * min(times)


def march_ms(loop: Loop, legs: Sequence[Stretch]) -> float:
    """Time the march alone [ms]: the design is built before."""
    d = design(loop)
    state = start_state(
        d,
        coolant=loop.coolant_start,
        metal=loop.metal_start,
        oil=loop.oil_start,
        tank=loop.tank_start,
        jacket_mass=loop.coolant_mass,
        tank_mass=loop.tank_mass,
        ice=0.0,
    )
    plan = [(i, drive(leg)) for i, leg in enumerate(legs)]
    return best_ms(lambda: run_loop(d, state, None, 0.0, plan), 9)


def main() -> None:
    """Print times, ratios and the largest difference."""
    mine = march_ms(EVENT, LEGS)
    scripts = {m: best_ms(lambda m=m: by_hand(EVENT, LEGS, m), 2) for m in ("LSODA", "RK45")}
    plain = min(scripts.values())
    gap = float(np.max(np.abs(ours(EVENT, LEGS) - by_hand(EVENT, LEGS, "LSODA"))))
    print(f"15-minute event, 12 tank cells, both lines: {mine:.1f} ms (bar {MOST_MS:g} ms)")
    for method, ms in scripts.items():
        print(f"plain script, {method}: {ms:.0f} ms")
    print(f"ratio to the faster script: {plain / mine:.0f} (bar {LEAST_RATIO:g})")
    print(f"largest difference at the leg ends: {gap:.3f} K (bar {MOST_KELVIN:g} K)")
    print("growth with length, pumps running:")
    mild = (replace(LEGS[1], metal_heat=(20e3, 20e3)),)
    base = march_ms(EVENT, mild)
    for factor in (1, 2, 4):
        ms = march_ms(EVENT, mild * factor)
        print(f"  x{factor}: {ms:.2f} ms, {ms / base:.2f} times")
    print("growth with tank cells:")
    base = march_ms(EVENT, LEGS)
    for cells in (12, 24, 48):
        ms = march_ms(replace(EVENT, cells=cells), LEGS)
        print(f"  {cells}: {ms:.2f} ms, {ms / base:.2f} times")


if __name__ == "__main__":
    main()
