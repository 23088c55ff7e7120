"""Time the hot-weather table and a map against single events: python -m tests.bench.bench_maps.

A single event is what ``soakbox check`` solves, all three tank mixings, hazards and words
included. Bars, after start-up: the table of six by five with its hottest air 1 s, a map of 40 by
40 with its limit line 1 s. Processor time is told too: other work on the machine leaves it alone.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from thermo.axes import spaced
from thermo.event import solve
from thermo.map_results import shown_of
from thermo.maps import map_of
from thermo.scenario_io import read_scenario
from thermo.weather import DEFAULT_AIRS, DEFAULT_TANKS, air_axis, tank_axis, weather_table

FOLDER = Path(__file__).resolve().parents[2] / "scenarios"
BAR = 1.0
MAPS = (
    ("tank.volume", "30 L:60 L:40", "engine.heat_share", "0.6:1:40"),
    ("site.air_temperature", "15 degC:45 degC:40", "tank.start_temperature", "10 degC:40 degC:40"),
)


def timed(call: Callable[[], object], repeats: int = 3) -> tuple[float, float]:
    """Return the shortest wall and processor time of a call [s]."""
    walls, works = [], []
    for _ in range(repeats):
        wall, work = time.perf_counter(), time.process_time()
        call()
        walls.append(time.perf_counter() - wall)
        works.append(time.process_time() - work)
    return min(walls), min(works)


def tell(name: str, took: tuple[float, float], single: float, count: int) -> None:
    """Print a time and its ratio to as many single events."""
    wall, work = took
    print(f"{name}: {wall:.2f} s, {work:.2f} s of processor (bar {BAR:g} s); {count} single events "
          f"would take {single * count:.1f} s, {single * count / wall:.0f} times as long")


def main() -> None:
    """Print times and ratios for the comfortable and the marginal scenario."""
    for file in ("base", "hot_day"):
        scenario = read_scenario(str(FOLDER / f"{file}.toml")).scenario
        solve(scenario)
        single = timed(lambda s=scenario: solve(s))[0]
        airs, tanks = air_axis(DEFAULT_AIRS["si"]), tank_axis(DEFAULT_TANKS["si"])
        took = timed(lambda s=scenario, a=airs, t=tanks: weather_table(s, airs=a, columns=t))
        tell(f"{file}: hot-weather table", took, single, len(airs) * len(tanks))
        for x, xs, y, ys in MAPS:
            across, down = spaced(scenario, f"{x}={xs}", "x"), spaced(scenario, f"{y}={ys}", "y")
            for outline in (False, True):
                took = timed(lambda s=scenario, a=across, d=down, o=outline: map_of(
                    s, a, d, shown_of("verdict"), outline=o))
                words = f"{file}: {x} by {y}{', with its outline' if outline else ''}"
                tell(words, took, single, len(across) * len(down))


if __name__ == "__main__":
    main()
