"""Logs read and fitted: coverage over seeded trials, time of a fit, a million rows.

    python -m tests.bench.bench_fit trials [COUNT]   coverage of the stated 95 % intervals
    python -m tests.bench.bench_fit fit              four parameters on the base event
    python -m tests.bench.bench_fit rows             a million rows
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from tests.oracles.log_generator import Sensors, Truth, measure, run, write
from thermo.fit import fit
from thermo.log_checks import blocking, check_log
from thermo.log_csv import read_log
from thermo.scenario_io import read_scenario

BASE = Path(__file__).resolve().parents[2] / "scenarios" / "base.toml"
KEYS = {
    "engine.heat_share": "heat_share", "exchanger.ua": "ua",
    "engine.metal_heat_capacity": "metal_capacity", "car.drag_area": "drag_area",
    "loop.flow": "cold_flow", "engine.metal_excess": "metal_excess",
}
FULL = ("coolant_out", "coolant_in", "tank_out", "tank_in", "speed")


@dataclass(frozen=True)
class Kind:
    """One set of parameters on one set of sensors."""

    names: tuple[str, ...]
    channels: tuple[str, ...]
    tail: float
    identifiable: bool


SETS = {
    "heat ua metal drag": Kind(("heat", "ua", "metal", "drag"), FULL, 150.0, True),
    "heat drag": Kind(("heat", "drag"), ("coolant_out", "tank_out", "speed"), 120.0, True),
    "heat ua flow drag": Kind(("heat", "ua", "flow", "drag"), FULL, 120.0, True),
    "metal excess by a tank probe": Kind(
        ("heat", "metal", "excess", "drag"), ("tank_out", "speed"), 10.0, False),
}


def car_of(kind: Kind, rng: np.random.Generator) -> Truth:
    """Draw the truth of what is fitted; the rest is as the scenario has it."""
    drawn = {
        "heat": ("heat_share", rng.uniform(0.62, 1.02)), "ua": ("ua", rng.uniform(860, 1600)),
        "metal": ("metal_capacity", rng.uniform(11e3, 38e3)),
        "drag": ("drag_area", rng.uniform(0.13, 0.22)),
        "flow": ("cold_flow", rng.uniform(27.3, 32.7) / 60e3),
        "excess": ("metal_excess", rng.uniform(21.0, 58.0)),
    }
    return Truth(**dict(drawn[n] for n in kind.names), coolant_start=rng.uniform(70, 80),
                 tank_start=rng.uniform(14, 28))


def sensors_of(kind: Kind, rng: np.random.Generator) -> Sensors:
    """Draw instruments: noise, lag, bias, drift, dropouts, spikes, uneven steps."""
    waters = [c for c in kind.channels if c != "speed"]
    return Sensors(
        channels=kind.channels, tail=kind.tail, noise=rng.uniform(0.1, 0.5),
        lag=rng.uniform(0.8, 4.0), bias={c: rng.normal(0, 0.8) for c in waters},
        drift={c: rng.normal(0, 0.4) for c in waters}, dropouts=rng.uniform(0, 0.1),
        spikes=rng.uniform(0, 0.01), uneven=0.5, rate=rng.choice((2.0, 5.0, 10.0)),
        lead=rng.uniform(5.0, 30.0),
    )


def trials(count: int) -> None:
    """Print how many intervals hold the truth."""
    base = read_scenario(BASE).scenario
    with tempfile.TemporaryDirectory() as folder:
        for title, kind in SETS.items():
            inside = dict.fromkeys(KEYS, 0)
            said, stopped, begun = 0, 0, time.perf_counter()
            for seed in range(count):
                rng = np.random.default_rng(1000 + seed)
                car = car_of(kind, rng)
                clock, columns = measure(run(car), sensors_of(kind, rng), rng)
                log = read_log(write(Path(folder) / "log.csv", clock, columns))
                stopped += bool(blocking(check_log(log, base), ()))
                found = fit(base, log, kind.names)
                said += bool(found.words)
                for one in found.fitted:
                    true = getattr(car, KEYS[one.key])
                    inside[one.key] += one.low95 <= true <= one.high95
            fitted = [k for k, n in KEYS.items() if any(f.key == k for f in found.fitted)]
            print(f"{title}: {count} trials, {time.perf_counter() - begun:.0f} s, "
                  f"{'identifiable' if kind.identifiable else 'not identifiable'}")
            for key in fitted:
                print(f"    {key:<30}{100 * inside[key] / count:>6.1f} % within the 95 % interval")
            print(f"    said what cannot be told: {said}; called out though clean: {stopped}",
                  flush=True)


def one_fit() -> None:
    """Print the time of a fit of four parameters."""
    base = read_scenario(BASE).scenario
    rng = np.random.default_rng(3)
    truth = Truth(heat_share=0.88, ua=900.0, metal_capacity=17e3, drag_area=0.19)
    clock, columns = measure(run(truth), Sensors(channels=FULL), rng)
    with tempfile.TemporaryDirectory() as folder:
        log = read_log(write(Path(folder) / "log.csv", clock, columns))
    wall, cpu = time.perf_counter(), time.process_time()
    found = fit(base, log, ("heat", "ua", "metal", "drag"))
    print(f"fit of four parameters: {time.perf_counter() - wall:.2f} s, "
          f"{time.process_time() - cpu:.2f} s of processor, {found.solves} events solved")


def million() -> None:
    """Print time and memory of a million rows of eleven columns."""
    count = 1_000_000
    rng = np.random.default_rng(1)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "big.csv"
        head = ("Time (s),ECT (degC),Coolant In (degC),Tank Out (degC),tank_in [degC],"
                "Speed (km/h),RPM,TPS (%),MAP (kPa),Ambient (degC),extra\n")
        with path.open("w", encoding="utf-8") as file:
            file.write(head)
            for begin in range(0, count, 50_000):
                block = np.column_stack([
                    np.arange(begin, begin + 50_000) * 1e-3, 20.0 + 60.0 * rng.random((50_000, 10))
                ])
                np.savetxt(file, block, delimiter=",", fmt="%.3f")
        wall, cpu = time.perf_counter(), time.process_time()
        log = read_log(path)
        print(f"{len(log.time)} rows, {path.stat().st_size / 1e6:.0f} MB: "
              f"{time.perf_counter() - wall:.2f} s, {time.process_time() - cpu:.2f} s of processor,"
              f" {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB at most")


if __name__ == "__main__":
    what = sys.argv[1] if len(sys.argv) > 1 else "fit"
    if what == "trials":
        trials(int(sys.argv[2]) if len(sys.argv) > 2 else 200)
    elif what == "rows":
        million()
    else:
        one_fit()
