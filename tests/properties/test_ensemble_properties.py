"""What must hold of variants whatever is drawn: no neighbour matters, energy is kept, order."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from thermo.ensemble import run_variants
from thermo.scenario_io import from_text
from thermo.variants import VariantSet

FEW = settings(max_examples=4, derandomize=True, database=None,
               suppress_health_check=[HealthCheck.function_scoped_fixture])
NAMES = ("base", "hot_day", "overreach", "ice")


@pytest.fixture(scope="module")
def scenarios():
    folder = Path(__file__).resolve().parents[2] / "scenarios"
    return {n: from_text((folder / f"{n}.toml").read_text(encoding="utf-8"), n).scenario
            for n in NAMES}


def drawn(scenario, seed, count):
    rng = np.random.default_rng(seed)
    return {
        "tank.volume": scenario.tank.volume * rng.uniform(0.5, 2.0, count),
        "tank.fill": rng.uniform(0.5, 0.98, count),
        "coolant.volume": rng.uniform(2e-3, 10e-3, count),
        "coolant.cap_pressure": rng.uniform(20e3, 120e3, count),
        "engine.metal_start_excess": rng.uniform(0.0, 20.0, count),
        "site.air_temperature": rng.uniform(283.0, 310.0, count),
        "loop.flow": rng.uniform(2e-4, 1.5e-3, count)}


seeds = st.integers(0, 10_000)


@FEW
@given(st.sampled_from(NAMES), seeds, st.integers(7, 30), st.integers(31, 90))
def test_size_of_the_blocks_changes_nothing(scenarios, name, seed, small, large):
    scenario = scenarios[name]
    changes = drawn(scenario, seed, 40)
    one = run_variants(scenario, changes, workers=1, block=large)
    other = run_variants(scenario, changes, workers=1, block=small)
    for figure, values in one.figures.items():
        assert values == pytest.approx(other.figures[figure], rel=1e-9, abs=1e-9, nan_ok=True)
    for hazard, ranks in one.ranks.items():
        assert np.array_equal(ranks, other.ranks[hazard]), hazard
    assert one.status == other.status
    assert np.array_equal(one.binding, other.binding)


@FEW
@given(st.sampled_from(NAMES), seeds)
def test_energy_is_kept_and_figures_are_numbers(scenarios, name, seed):
    table = run_variants(scenarios[name], drawn(scenarios[name], seed, 40), workers=1)
    assert sum(table.counts.values()) == len(table) == 40
    good = table.ok
    assert np.all(np.abs(table.figures["audit_residual"][good]) < 2e-3)
    for figure in ("boil_margin_K", "tank_peak_degC", "tank_pressure_peak_Pa", "pass_time_s"):
        assert np.all(np.isfinite(table.figures[figure][good])), figure
    assert np.all(table.figures["tank_end_degC"][good]
                  <= table.figures["tank_peak_degC"][good] + 1e-6)
    worst = np.max([table.ranks[h] for h in table.ranks], axis=0)
    assert np.array_equal(table.level[good], worst[good])


@FEW
@given(st.sampled_from(("base", "hot_day")), seeds, st.floats(1.1, 2.0))
def test_more_water_never_makes_a_hotter_tank(scenarios, name, seed, factor):
    scenario = scenarios[name]
    changes = drawn(scenario, seed, 30)
    changes["tank.volume"] = np.minimum(changes["tank.volume"], 0.9)
    more = dict(changes, **{"tank.volume": changes["tank.volume"] * factor})
    less, most = (run_variants(scenario, c, workers=1) for c in (changes, more))
    both = less.ok & most.ok
    assert np.all(most.figures["tank_peak_degC"][both]
                  <= less.figures["tank_peak_degC"][both] + 0.02)


@FEW
@given(seeds, st.lists(st.integers(0, 29), min_size=1, max_size=30))
def test_parts_of_a_set_are_that_part(scenarios, seed, rows):
    scenario = scenarios["base"]
    whole = VariantSet.of(scenario, drawn(scenario, seed, 30))
    part = whole.part(np.array(rows))
    assert part.size == len(rows)
    for key, values in part.columns.items():
        assert np.array_equal(values, whole.columns[key][rows])
    assert sorted(int(i) for g in part.groups() for i in g) == list(range(len(rows)))
