"""Time thousands of variants against a script by hand: python -m tests.bench.bench_ensemble.

The scenario is base.toml with tank, exchanger, heat, air, start temperature and metal excess drawn
at random. The plain script solves the cooling loop of one variant alone, with ``solve_ivp`` and
CoolProp in its right-hand side, as in :mod:`tests.bench.bench_loop`; a variant of ours has its
drive, its duct, its tank pressure, its hazards and its slacks besides. Bars: 10,000 variants in
4 s on two cores and 600 MB, a map of 1,600 in 1 s, cancelled within 0.2 s, within 0.05 K of the
single solver; a variant 5,000 times quicker than the script, at any number of variants.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from tests.bench.bench_loop import best_ms, by_hand
from tests.oracles.loop_reference import Loop, Stretch
from thermo.cooling_run import march_cooling
from thermo.driving import drive_or_refuse
from thermo.ensemble import StoppedError, VariantTable, Workers, grid, run_variants
from thermo.scenario import Scenario
from thermo.scenario_io import read_scenario
from thermo.site_air import site_air
from thermo.variant_block import solve_singly
from thermo.variants import VariantSet

BASE = Path(__file__).resolve().parents[2] / "scenarios" / "base.toml"
BARS = {"seconds": 4.0, "MB": 600.0, "map": 1.0, "cancel": 0.2, "kelvin": 0.05, "ratio": 5000.0}
STILL = ("tank.volume", "exchanger.ua", "engine.heat_share", "tank.start_temperature",
         "engine.metal_excess")


def drawn(scenario: Scenario, count: int, seed: int = 1) -> dict[str, Any]:
    """Return random changes of the six inputs."""
    rng = np.random.default_rng(seed)
    return {
        "tank.volume": scenario.tank.volume * rng.uniform(0.7, 1.5, count),
        "exchanger.ua": scenario.exchanger.ua * rng.uniform(0.6, 1.5, count),
        "engine.heat_share": rng.uniform(0.6, 1.0, count),
        "site.air_temperature": rng.uniform(278.0, 308.0, count),
        "tank.start_temperature": rng.uniform(280.0, 308.0, count),
        "engine.metal_excess": rng.uniform(20.0, 60.0, count),
    }


def script_ms(scenario: Scenario) -> float:
    """Time the plain script on the scenario's loop, as driven by ours [ms]."""
    air = site_air(scenario)
    cooling, pieces, _ = march_cooling(scenario, air, drive_or_refuse(scenario, air))
    d = cooling.design
    loop = Loop(
        ua=d.conductance.ua(0, d.hot, 0, 0, d.cold, 0), metal_capacity=d.metal_capacity,
        metal_conductance=d.metal_conductance, still_share=d.still_share, full_flow=d.full_flow,
        oil_capacity=d.oil_capacity, oil_cooler=d.oil_cooler, boil=d.boil_temperature,
        supply_mass=d.supply_mass, return_mass=d.return_mass, air=d.air_temperature,
        coolant_mass=cooling.jacket_mass, tank_mass=cooling.active_mass,
        tank_start=scenario.tank.start_temperature,
        coolant_start=scenario.coolant.start_temperature)
    legs = [
        Stretch(
            p.drive.duration, metal_heat=tuple(p.drive.metal_heat),
            hot_flow=(p.drive.hot_flow[0], p.drive.hot_flow[-1]), cold_flow=p.drive.cold_flow,
            cold_pump=p.drive.cold_pump_power, hot_pump=p.drive.hot_pump_power)
        for p in pieces
    ]
    return min(best_ms(lambda m=m: by_hand(loop, legs, m), 3) for m in ("LSODA", "RK45"))


def seconds(call: Any, repeats: int = 2) -> tuple[float, Any]:
    """Return the shortest time of a call [s], and what it returned."""
    times, found = [], None
    for _ in range(repeats):
        begun = time.perf_counter()
        found = call()
        times.append(time.perf_counter() - begun)
    return min(times), found


def largest_gap(scenario: Scenario, changes: dict[str, Any], table: VariantTable) -> float:
    """Return how far any temperature or margin is from the single solver's [K]."""
    one = solve_singly(VariantSet.of(scenario, changes), None)
    names = [n for n in table.figures if n.endswith(("_degC", "_margin_K"))]
    return max(float(np.max(np.abs(table.figures[n] - one.figures[n]))) for n in names)


def cancel_seconds(scenario: Scenario, workers: Any, after: float) -> float:
    """Return the time from a wish to stop to the return [s]."""
    begun = time.perf_counter()
    try:
        run_variants(scenario, drawn(scenario, 40000), workers=workers,
                     cancelled=lambda: time.perf_counter() - begun > after)
    except StoppedError:
        return time.perf_counter() - begun - after
    raise RuntimeError("the run ended before it was cancelled")


MEMORY = """
import multiprocessing, sys
from pathlib import Path
import numpy as np
from thermo.ensemble import Workers, run_variants
from thermo.scenario_io import read_scenario
path, cores, count = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
rng = np.random.default_rng(1)
changes = {"tank.volume": 0.038 * rng.uniform(0.7, 1.5, count),
           "site.air_temperature": rng.uniform(278.0, 308.0, count)}
with Workers(cores) as workers:
    run_variants(read_scenario(path).scenario, changes, workers=workers)
    ids = ["self", *(child.pid for child in multiprocessing.active_children())]
    texts = [Path(f"/proc/{i}/status").read_text().split() for i in ids]
print(sum(int(words[words.index("VmHWM:") + 1]) for words in texts) / 1024.0)
"""
"""Largest memory of a process and of all it started [MB], the libraries counted in each; Linux."""


def memory_mb(processes: int, count: int) -> float:
    """Return the memory that some variants take in a process without the script's libraries."""
    command = [sys.executable, "-c", MEMORY, str(BASE), str(processes), str(count)]
    return float(subprocess.run(command, capture_output=True, check=True, text=True).stdout)


def main() -> None:
    """Print times, ratios and the largest difference."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--most", type=int, default=100000, help="most variants in the growth")
    chosen = parser.parse_args()
    scenario = read_scenario(str(BASE)).scenario
    script = script_ms(scenario)
    print(f"plain script, cooling loop of one variant: {script:.0f} ms")
    with Workers(chosen.cores) as workers:
        workers.ready()
        run_variants(scenario, drawn(scenario, 2000), workers=workers)

        def ours(changes: dict[str, Any]) -> VariantTable:
            return run_variants(scenario, changes, workers=workers)

        print(f"growth, {chosen.cores} cores (bar: 10,000 in {BARS['seconds']:g} s):")
        for count in [n for n in (1000, 10000, 100000) if n <= chosen.most]:
            took, table = seconds(lambda n=count: ours(drawn(scenario, n)))
            each = 1e6 * took / count
            still = {k: v for k, v in drawn(scenario, count).items() if k in STILL}
            alike = 1e6 * seconds(lambda s=still: ours(s))[0] / count
            print(f"  {count}: {took:.2f} s, {each:.0f} us a variant, {1e3 * script / each:.0f} "
                  f"times below the script (bar {BARS['ratio']:g}); {alike:.0f} us with the drive "
                  f"shared, {1e3 * script / alike:.0f} times; {table.counts}")
        axes = {"tank.volume": np.linspace(0.02, 0.06, 40),
                "engine.heat_share": np.linspace(0.5, 1.1, 40)}
        took, _ = seconds(lambda: ours(grid(axes)[0]))
        print(f"map of 40 by 40: {took:.2f} s (bar {BARS['map']:g} s)")
        few = drawn(scenario, 500, seed=2)
        print(f"largest difference to the single solver, 500 variants: "
              f"{largest_gap(scenario, few, ours(few)):.4f} K (bar {BARS['kelvin']:g} K)")
        late = max(cancel_seconds(scenario, workers, after) for after in (0.1, 0.5, 1.3))
        print(f"cancelled within {late:.3f} s (bar {BARS['cancel']:g} s)")
    used = memory_mb(chosen.cores, 10000)
    print(f"memory of all processes, 10,000 variants: {used:.0f} MB (bar {BARS['MB']:g} MB)")


if __name__ == "__main__":
    main()
