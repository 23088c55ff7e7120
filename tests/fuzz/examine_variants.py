"""Variants of scenarios drawn at random, solved together and one by one: the same, and no NaN.

Run over many seeds: ``python -m tests.fuzz.examine_variants FIRST COUNT``.

Done so far: 60 seeds from 50000 on, 240 variants.
"""

from __future__ import annotations

import collections
import math
import sys
import time
import warnings
from typing import Any

import numpy as np

from tests.fuzz.random_scenarios import likely_scenario
from thermo.ensemble import VariantTable, run_variants
from thermo.errors import SoakboxError
from thermo.event import solve
from thermo.flags import RANKS
from thermo.results import EventResult
from thermo.scenario import Scenario, with_value

SHARES = (0.8, 1.0, 1.1, 1.4)
KEYS = ("tank.volume", "car.drag_area", "coolant.volume")
"""Inputs varied together; each has a value in every scenario."""
GAP = 0.3
"""Widest gap of a temperature between the ways [K]: each may be off by what its steps are allowed,
0.0135 K a step among variants."""
FIGURES = ("boil_margin_K", "coolant_peak_degC", "tank_peak_degC")


def changes_of(scenario: Scenario) -> dict[str, Any]:
    """Return the inputs that vary."""
    found = {}
    for key in KEYS:
        table, field = key.split(".")
        found[key] = getattr(getattr(scenario, table), field) * np.array(SHARES)
    return found


def alone(scenario: Scenario, changes: dict[str, Any], row: int) -> EventResult | None:
    """Return the event of one variant by itself, or None where it is refused."""
    for key, values in changes.items():
        scenario = with_value(scenario, key, float(values[row]))
    try:
        return solve(scenario)
    except SoakboxError:
        return None


def compared(table: VariantTable, row: int, one: EventResult | None) -> list[str]:
    """Return what is wrong with a variant beside the event by itself, in words."""
    status = table.status[row]
    if one is None:
        return [] if status != "ok" else ["refused alone, together ok"]
    if bool(table.refused[row]):  # out of an input's range, which is not asked of one alone here
        return []
    if (status == "ok") != (one.verdict != "no verdict"):
        return [f"together {status[:90]}, alone {one.verdict} {' '.join(one.untrusted)[:90]}"]
    if status != "ok":
        return []
    found = []
    for name in FIGURES:
        a, b = float(table.figures[name][row]), float(getattr(one.cooling, name))
        if not math.isclose(a, b, abs_tol=GAP, rel_tol=0.0):
            found.append(f"{name}: together {a:.3f}, alone {b:.3f}")
    levels = {flag.name: flag.level for flag in one.flags}
    ranks = ("clear", "caution", "danger")
    for name in RANKS:
        rank = int(table.ranks[name][row])
        if name in levels and ranks[rank] != levels[name]:
            found.append(f"{name}: together {ranks[rank]}, alone {levels[name]}")
    return found


def examine(raw: dict[str, Any]) -> tuple[collections.Counter[str], list[str]]:
    """Solve variants of one scenario both ways; return how they ended, and what differs."""
    scenario = Scenario.model_validate(raw)
    changes = changes_of(scenario)
    try:
        table = run_variants(scenario, changes, workers=1)
    except SoakboxError as error:
        refused = all(alone(scenario, changes, row) is None for row in range(len(SHARES)))
        return collections.Counter(["refused"]), [] if refused else [f"refused together: {error}"]
    found = []
    for row in range(len(SHARES)):
        found += [f"variant {row}: {words}"
                  for words in compared(table, row, alone(scenario, changes, row))]
    ends = collections.Counter(words.split(":")[0] for words in table.status)
    ends["singly"] += int(table.singly.sum())
    return ends, found


def main() -> None:
    """Examine a run of seeds; print those with faults, and how all ended."""
    first, count = int(sys.argv[1]), int(sys.argv[2])
    warnings.simplefilter("error")
    ends: collections.Counter[str] = collections.Counter()
    for seed in range(first, first + count):
        began = time.process_time()
        try:
            end, found = examine(likely_scenario(seed))
        except (ArithmeticError, ValueError, TypeError, LookupError, AttributeError,
                AssertionError, RuntimeError, NameError, Warning) as error:
            end, found = collections.Counter(["broke"]), [f"{type(error).__name__}: {error}"]
        ends += end
        for words in found:
            print(f"seed {seed}: {words[:300]}", flush=True)
        if "-v" in sys.argv:
            print(seed, f"{time.process_time() - began:.2f}", dict(end), flush=True)
    print(f"{count} scenarios, {count * len(SHARES)} variants: {dict(ends)}")


if __name__ == "__main__":
    main()
