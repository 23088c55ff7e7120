"""Logs read and fitted: coverage over seeded trials, time of a fit, a million rows.

    python -m tests.bench.bench_fit trials [COUNT [SET [FIRST]]]   coverage of the 95 % intervals
    python -m tests.bench.bench_fit fit                            four parameters, base event
    python -m tests.bench.bench_fit rows                           a million rows

SET is a key of `SETS` (all without it) and FIRST the first seed, so that runs may be split; set
OPENBLAS_NUM_THREADS=1 for runs side by side. Bars: of 200 seeded trials each interval holds the
truth in 90 % at least, what a log cannot tell is said, and four parameters are fitted in 10 s.

Counted over seeds 0 to 199 of each set, in per cent held (and how many standard errors off by the
root of the mean square, 1 where an interval is as wide as it should be):

- heat ua metal drag: heat 97.5 (0.89), UA 98.0 (0.85), metal 97.0 (0.94), drag 94.5 (1.02)
- heat ua flow drag: heat 97.5 (0.89), UA 96.5 (0.92), flow 97.0 (0.86), drag 95.5 (0.98)
- heat drag: heat 99.0 (0.77), drag 96.5 (0.97)
- metal excess by a tank probe, not identifiable and said so in 200 of 200: heat 91.0 (1.09),
  metal 100 (0.90), excess 99.5 (0.79), drag 96.5 (0.91)

No clean log was called out. A trial takes 2 to 3 s of processor, the fit of four parameters 3.4 s.
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
from thermo.fit_parameters import NORMAL_95, Fitted
from thermo.log_checks import blocking, check_log
from thermo.log_csv import Log, read_log
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
        lead=rng.uniform(5.0, 30.0), speed_scale=rng.normal(0, 0.008),
    )


def logged(kind: Kind, seed: int, folder: Path) -> tuple[Truth, Log]:
    """Return the car of a seed, and its log as read."""
    rng = np.random.default_rng(1000 + seed)
    car = car_of(kind, rng)
    clock, columns = measure(run(car), sensors_of(kind, rng), rng)
    return car, read_log(write(folder / "log.csv", clock, columns))


def errors_off(one: Fitted, car: Truth) -> float:
    """Return how many standard errors a fitted input is off the truth."""
    error = np.log(one.high95 / one.low95) / (2.0 * NORMAL_95)
    return float(np.log(one.value / getattr(car, KEYS[one.key])) / error)


def trials(count: int, wanted: str = "", first: int = 0) -> None:
    """Print how many intervals hold the truth, over seeds from `first`, of one set or of all."""
    base = read_scenario(BASE).scenario
    with tempfile.TemporaryDirectory() as folder:
        for title, kind in SETS.items():
            if wanted not in ("", title):
                continue
            apart: dict[str, list[float]] = {}
            said, stopped, begun = 0, 0, time.process_time()
            for seed in range(first, first + count):
                car, log = logged(kind, seed, Path(folder))
                stopped += bool(blocking(check_log(log, base), ()))
                found = fit(base, log, kind.names)
                said += bool(found.words)
                for one in found.fitted:
                    z = errors_off(one, car)
                    apart.setdefault(one.key, []).append(z)
                    if abs(z) > NORMAL_95:
                        print(f"    seed {seed}: {one.key} {z:+.2f} standard errors off",
                              flush=True)
            print(f"{title}: {count} trials from seed {first}, "
                  f"{time.process_time() - begun:.0f} s of processor, "
                  f"{'identifiable' if kind.identifiable else 'not identifiable'}")
            for key, z in apart.items():
                held = 100.0 * np.mean(np.abs(z) <= NORMAL_95)
                print(f"    {key:<30}{held:>6.1f} % within the 95 % interval, "
                      f"{np.sqrt(np.mean(np.square(z))):.2f} standard errors off on average")
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
        given = sys.argv[2:]
        trials(int(given[0]) if given else 200, given[1] if len(given) > 1 else "",
               int(given[2]) if len(given) > 2 else 0)
    elif what == "rows":
        million()
    else:
        one_fit()
