"""What every event must be, whatever its inputs: trusted and sound, refused by name, or neither.

Run over many seeds: ``python -m tests.fuzz.examine FIRST COUNT``.

Done so far: 17,251 seeds from 50000 on and 1,000 from 100000 on, after some 2,500 others as drawn
at first; what broke is mended and in ``test_fuzz.py``. Nine in ten are solved, 8 in 100 without a
verdict. The slowest, 40 hours with a plate exchanger, takes 13 s; 2 in 100 take more than 2 s.
"""

from __future__ import annotations

import collections
import dataclasses
import json
import math
import re
import sys
import time
import warnings

import numpy as np

from tests.fuzz.random_scenarios import likely_scenario
from tests.fuzz.watch import told
from thermo.errors import ScenarioError, SoakboxError
from thermo.event import AUDIT_LIMIT, solve
from thermo.liquids import liquid
from thermo.results import EventResult, series_rows, to_json
from thermo.scenario import Scenario
from thermo.site_air import site_air
from tui.text_check import check_text

MAY_BE_NONE = {
    "boils_at_s", "timed_speed_m_per_s", "break_even_speed_m_per_s", "shut_off_at_finish_margin_K",
    "pass_top_speed_m_per_s", "flow_lost_boil_s", "headspace_needed_m3", "choke_flow_kg_per_s",
    "choke_flow_at_mach_max_kg_per_s", "recovery",
}
"""Figures that do not exist in every event: never boils, no timed stretch, no section to choke, no
ram gain to recover."""
NO_NUMBER = re.compile(r"(?<![\w-])(?:nan|inf|None)(?![\w-])")


def numbers(figures: object) -> dict[str, float]:
    """Return the plain numbers of a group of figures by name."""
    pairs = {f.name: getattr(figures, f.name) for f in dataclasses.fields(figures)}
    return {name: value for name, value in pairs.items() if isinstance(value, float)}


def faults(scenario: Scenario, result: EventResult) -> list[str]:
    """Return what is wrong with a result, in words."""
    found: list[str] = []
    if result.verdict == "no verdict":
        if not result.untrusted or not all(reason.strip() for reason in result.untrusted):
            found.append("no verdict without a reason")
        return found
    if result.untrusted:
        found.append(f"a verdict in spite of {result.untrusted}")
    if not abs(result.audit.residual_fraction) <= AUDIT_LIMIT:
        found.append(f"audit {result.audit.residual_fraction}")
    for group in filter(None, (result.cooling, result.intake, result.site, result.audit)):
        found += [f"{name} = {value}" for name, value in numbers(group).items()
                  if not math.isfinite(value) and name not in MAY_BE_NONE]
    h = result.history
    for field in dataclasses.fields(h):
        if not np.isfinite(getattr(h, field.name)).all():
            found.append(f"history.{field.name} holds what is no number")
    for name in ("jacket_mass", "tank_mass", "ice"):
        least = float(np.min(getattr(h, name)))
        if least < -1e-9:
            found.append(f"{name} {least} kg")
    over = float(np.max(h.coolant - h.boil_temperature))
    if over > 0.01:
        found.append(f"coolant {over} K beyond saturation")
    if scenario.tank.glycol == "none":
        inside = site_air(scenario).pressure + np.maximum(h.tank_pressure, 0.0)
        over = float(np.max(h.tank_hot - liquid().saturation_temperature(inside)))
        if over > 0.5:
            found.append(f"tank {over} K beyond saturation")
    if result.cooling.steam_lost_kg < -1e-9:
        found.append(f"steam lost {result.cooling.steam_lost_kg} kg")
    if np.any(np.diff(h.time) < 0.0):
        found.append("time runs backwards")
    return found


def examine(raw: dict[str, object]) -> tuple[str, list[str]]:
    """Solve and print one scenario; return how it ended, and its faults in words."""
    scenario = Scenario.model_validate(raw)
    try:
        result = solve(scenario)
    except SoakboxError as error:
        message = told(error)
        unnamed = not isinstance(error, ScenarioError) or not all(p.key for p in error.problems)
        nameless = [f"no key is named: {type(error).__name__}: {message}"] if unnamed else []
        return f"refused: {message}", nameless + NO_NUMBER.findall(message)
    found = faults(scenario, result)
    json.dumps(to_json(result), allow_nan=False)
    series_rows(result)
    for units in ("si", "us"):
        text = check_text(result, units)
        wide = [line for line in text.splitlines() if len(line) > 80]
        found += [f"printed: {line}" for line in text.splitlines() if NO_NUMBER.search(line)]
        found += [f"a line of {len(line)}: {line}" for line in wide]
    return result.verdict, found


def main() -> None:
    """Examine a run of seeds; print those with faults, and how all ended."""
    first, count = int(sys.argv[1]), int(sys.argv[2])
    ends: collections.Counter[str] = collections.Counter()
    slowest = (0.0, 0)
    warnings.simplefilter("error")
    for seed in range(first, first + count):
        began = time.process_time()
        try:
            raw = likely_scenario(seed)
            began = time.process_time()
            end, found = examine(raw)
        except (ArithmeticError, ValueError, TypeError, LookupError, AttributeError,
                AssertionError, RuntimeError, NameError, Warning) as error:
            end, found = "broke", [f"{type(error).__name__}: {error}"]
        slowest = max(slowest, (time.process_time() - began, seed))
        ends[end.split(":")[0]] += 1
        for words in found:
            print(f"seed {seed}: {end[:60]}: {words[:400]}", flush=True)
        if "-v" in sys.argv:
            print(seed, f"{time.process_time() - began:.2f}", end[:300].replace("\n", " | "))
        if (seed - first) % 1000 == 999:
            print(f"-- {seed - first + 1}: {dict(ends)}", flush=True)
    print(f"{count} events: {dict(ends)}; slowest {slowest[0]:.1f} s, seed {slowest[1]}")


if __name__ == "__main__":
    main()
