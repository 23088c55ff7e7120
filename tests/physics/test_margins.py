"""Figure and limit of each hazard: of arrays as of the flags, which other tests look after."""

import math
from pathlib import Path

import numpy as np
import pytest

from thermo.ensemble import run_variants
from thermo.flags import RANKS
from thermo.hazards.margins import MARGINS, slack_of

SHIPPED = sorted(p.stem for p in (Path(__file__).resolve().parents[2] / "scenarios").glob("*.toml"))


def alike(a, b, within):
    return (math.isnan(a) and math.isnan(b)) or a == b or abs(a - b) <= within


@pytest.mark.parametrize("name", SHIPPED)
def test_they_are_those_of_the_flags(scenario_with, solve_with, name):
    scenario, result = scenario_with(name), solve_with(name)
    volume = scenario.tank.volume
    table = run_variants(scenario, {"tank.volume": np.full(4, volume)}, workers=1, margins=True)
    assert table.ok.all()
    for flag in result.flags:
        if flag.name not in MARGINS:
            assert flag.name in ("trapped-liquid", "air-lock", "intake-choke", "range")
            continue
        if flag.name == "low-flow" and flag.unit != "K":
            continue  # a loop stands still: the flag tells a flow of 0
        unit = MARGINS[flag.name][0]
        assert flag.unit == unit, flag.name
        # 0.05 of a kelvin is what variants may be off; a share of the figure where it is larger
        within = 0.05 + 2e-3 * abs(flag.value if math.isfinite(flag.value) else 0.0)
        assert alike(table.values[flag.name][0], flag.value, within), flag.name
        held = table.limits[flag.name][0]
        assert alike(held, flag.limit, 1e-3 * (1 + abs(flag.limit))), flag.name


def test_what_is_left_has_the_sign_of_the_flag():
    assert slack_of("coolant-boil", 8.5, 10.0) == pytest.approx(-1.5)
    assert slack_of("touch", 50.0, 60.0) == pytest.approx(10.0)
    assert slack_of("fuel-reference", -3.0, 2.0) == pytest.approx(-1.0)


def test_names_are_those_of_hazards():
    assert set(MARGINS) < set(RANKS)


@pytest.mark.parametrize("name", ["base", "hot_day", "overreach"])
def test_a_caution_is_where_nothing_is_left(scenario_with, name):
    # hazards whose limit is where the caution begins, on random days
    rng = np.random.default_rng(5)
    scenario = scenario_with(name)
    changes = {"site.air_temperature": rng.uniform(283.0, 318.0, 60),
               "tank.start_temperature": rng.uniform(283.0, 308.0, 60)}
    table = run_variants(scenario, changes, workers=1, margins=True)
    for hazard in ("coolant-boil", "after-boil", "flow-lost", "tank-scald", "touch", "freeze",
                   "intake-hot", "panel-stress", "leaking-cap"):
        left = slack_of(hazard, table.values[hazard], table.limits[hazard])
        assert np.array_equal(left < 0.0, table.ranks[hazard] > 0), hazard
