"""Time how sure a verdict is against single events: python -m tests.bench.bench_doubt.

A single event is what ``soakbox check`` solves. Bars, after start-up on two cores: 4,096 samples
in 3 s; given up within 0.2 s of the wish.
"""

from __future__ import annotations

import time

from tests.bench.bench_maps import FOLDER, timed
from thermo.doubt import assess
from thermo.ensemble import StoppedError, Workers
from thermo.event import solve
from thermo.scenario_io import read_scenario

SAMPLES = 4096
BAR, GIVEN_UP = 3.0, 0.2


def main() -> None:
    """Print times and ratios for scenarios of every cost."""
    with Workers(2) as workers:
        workers.ready()
        for file in ("base", "hot_day", "plate", "long_course"):
            scenario = read_scenario(str(FOLDER / f"{file}.toml")).scenario
            single = timed(lambda s=scenario: solve(s))[0]
            wall, _ = timed(lambda s=scenario: assess(s, samples=SAMPLES, workers=workers), 2)
            print(f"{file}: {SAMPLES} samples in {wall:.2f} s (bar {BAR:g} s); as many single "
                  f"events would take {single * SAMPLES:.0f} s, {single * SAMPLES / wall:.0f} "
                  "times as long")
        begun = time.perf_counter()
        try:
            assess(scenario, samples=8 * SAMPLES, workers=workers,
                   cancelled=lambda: time.perf_counter() - begun > 0.5)
        except StoppedError:
            print(f"given up after {time.perf_counter() - begun - 0.5:.2f} s (bar {GIVEN_UP:g} s)")
        else:
            print("ended before it could be given up")


if __name__ == "__main__":
    main()
