"""Variants as arrays against the same variants one by one, which other tests hold to references."""


import numpy as np
import pytest

from thermo.driving import drive_event
from thermo.ensemble import HAZARDS, StoppedError, Workers, grid, run_variants
from thermo.errors import PropertyError, RangeError, ScenarioError
from thermo.event import solve
from thermo.fields import quantity_of
from thermo.flags import RANKS
from thermo.inputs.table import Table
from thermo.loop_run import run_loop
from thermo.ops import MixedError, each, least, most, pick, plain, same, within
from thermo.scenario import Scenario, with_value
from thermo.site_air import site_air
from thermo.stepping import advance, follow
from thermo.variant_block import solve_singly
from thermo.variant_steps import halved, merged
from thermo.variants import VariantSet, array_key, moves_car

KELVIN = 0.05
ROUGH = ("boils_at_s", "audit_residual", "effectiveness_at_peak", "ntu_at_peak",
         "ua_at_peak_W_per_K")
"""Figures that hang on which row of a history is the first or the largest of nearly equal ones."""


def draw(scenario, count, seed=3):
    """Random changes of what a scenario holds of tank, exchanger, heat, air and metal."""
    rng = np.random.default_rng(seed)
    changes = {
        "tank.volume": scenario.tank.volume * rng.uniform(0.7, 1.5, count),
        "site.air_temperature": scenario.site.air_temperature + rng.uniform(-2.0, 8.0, count),
        "tank.start_temperature": scenario.tank.start_temperature + rng.uniform(-4.0, 8.0, count),
        "engine.metal_excess": rng.uniform(20.0, 60.0, count)}
    if scenario.exchanger.ua is not None:
        changes["exchanger.ua"] = scenario.exchanger.ua * rng.uniform(0.6, 1.5, count)
    if scenario.engine.heat_power is None and scenario.engine.fuel_heat_share is None:
        changes["engine.heat_share"] = rng.uniform(0.6, 1.0, count)
    return changes


def gaps(table, one):
    """Figures further from the single solver's than is allowed, as (figure, variant, both)."""
    found = []
    for name, values in table.figures.items():
        if name in ROUGH:
            continue
        other = one.figures[name]
        alike = (values == other) | (np.isnan(values) & np.isnan(other))
        gap = np.abs(np.where(alike, 0.0, values) - np.where(alike, 0.0, other))
        allowed = KELVIN
        if not name.endswith(("_K", "_degC")):
            sizes = np.abs(other[np.isfinite(other)])
            allowed = 2e-3 * max(float(sizes.max(initial=0.0)), 1e-9)
        found += [(name, int(i), float(values[i]), float(other[i]))
                  for i in np.flatnonzero(~(gap <= allowed))]
    return found


def near_limits(table, row):
    """Whether a margin of a variant is so near its limit that a hundredth of a kelvin decides."""
    return any(abs(float(v[row])) < 0.1 for v in table.slacks.values())


def hold(table, one):
    assert gaps(table, one) == []
    assert [s == "ok" for s in table.status] == [s == "ok" for s in one.status]
    for name in HAZARDS:
        for row in np.flatnonzero(table.ranks[name] != one.ranks[name]):
            assert near_limits(table, row), (name, int(row))
    for name, values in one.slacks.items():
        if "pressure" not in name and "kPa" not in name:
            assert table.slacks[name] == pytest.approx(values, abs=KELVIN, nan_ok=True)


def singles(scenario, changes):
    return solve_singly(VariantSet.of(scenario, changes), None)


# Against the single solver

def test_two_hundred_random_variants(scenario_with):
    scenario = scenario_with("base")
    changes = draw(scenario, 200)
    table = run_variants(scenario, changes, workers=1)
    hold(table, singles(scenario, changes))
    assert table.counts["no verdict"] == 0
    assert not table.singly.any()


@pytest.mark.parametrize("name", [
    "hot_day", "ice", "plate", "cold_paddock", "second_pass", "overreach", "long_course",
    "thin_duct"])
def test_random_variants_of_other_scenarios(scenario_with, name):
    # pumps with curves, plates, rated duty, gears, ice, services, boiling, plug flow, crank pump
    scenario = scenario_with(name)
    changes = draw(scenario, 12)
    hold(run_variants(scenario, changes, workers=1), singles(scenario, changes))


def test_hot_walls_and_ducts_side_by_side(scenario_with):
    scenario = scenario_with("frame_tubes")
    changes = {"site.air_temperature": np.array([295.0, 300.0, 305.0, 308.0]),
               "intake.wall_temperature": np.array([310.0, 325.0, 320.0, 330.0]),
               "car.mass": scenario.car.mass * np.array([1.0, 0.9, 1.1, 1.2])}
    hold(run_variants(scenario, changes, workers=1), singles(scenario, changes))


def quantities(table, place=""):
    """Every quantity that a scenario holds, by dotted key, with its value."""
    for name, value in table:
        key = f"{place}.{type(table).model_fields[name].alias or name}".lstrip(".")
        if isinstance(value, Table):
            yield from quantities(value, key)
        elif isinstance(value, tuple):
            for i, entry in enumerate(value):
                if isinstance(entry, Table):
                    yield from quantities(entry, f"{key}[{i}]")
        elif isinstance(value, float) and quantity_of(Scenario, key) is not None:
            yield key, value


def moved(key, value):
    low, high = quantity_of(Scenario, key).range_si
    step = 0.03 * (high - low) if value == 0.0 else 0.04 * abs(value)
    if quantity_of(Scenario, key).kind == "temperature":
        step = 3.0
    return value + step if value + step <= high else value - step


@pytest.mark.long
def test_every_quantity_may_vary(scenario_with):
    scenario = scenario_with("plate")
    known = dict(quantities(scenario))
    changes = {k: np.full(len(known), v) for k, v in known.items()}
    for i, (key, value) in enumerate(known.items()):
        changes[key][i] = moved(key, value)
    table, one = run_variants(scenario, changes, workers=1), singles(scenario, changes)
    # a loose solver is not asked whether inputs contradict one another
    kept = np.flatnonzero(table.ok)
    assert len(kept) > 0.9 * len(known)
    assert [g for g in gaps(table, one) if g[1] in kept] == []
    for hazard in HAZARDS:
        assert np.array_equal(table.ranks[hazard][kept], one.ranks[hazard][kept]), hazard


@pytest.mark.parametrize("name", ["base", "hot_day", "second_pass"])
def test_what_is_said_not_to_move_the_car_does_not(scenario_with, name):
    scenario = scenario_with(name)
    plain_drive = drive_event(scenario, site_air(scenario))
    for key, value in quantities(scenario):
        if moves_car(key):
            continue
        other = with_value(
            scenario, key.replace("[", ".").replace("]", ""), moved(key, value))
        drive = drive_event(other, site_air(other))
        for a, b in zip(plain_drive.legs, drive.legs, strict=True):
            assert a.duration == b.duration, key
            assert a.trace is None or np.array_equal(a.trace.speed, b.trace.speed), key


@pytest.mark.parametrize("name", [
    "base", "hot_day", "ice", "plate", "cold_paddock", "overreach", "thin_duct"])
def test_level_and_what_binds_are_those_of_the_event(scenario_with, name):
    scenario = scenario_with(name)
    volume = scenario.tank.volume
    table = run_variants(scenario, {"tank.volume": [volume, 1.2 * volume]}, workers=1)
    result = solve(scenario)
    assert ("clear", "caution", "danger")[table.level[0]] == result.verdict
    assert table.binding_names[0] == result.binding.name
    levels = {flag.name: flag.level for flag in result.flags}
    assert list(levels) == list(RANKS)
    assert {n: ("clear", "caution", "danger")[table.ranks[n][0]] for n in RANKS} == levels


# Variants that fail, that boil dry, that must be taken apart

def test_failing_variants_are_told_and_harm_no_other(scenario_with):
    scenario = scenario_with("base")
    changes = {
        "car.grip": np.array([0.5, 0.5, 0.5, 0.5, 0.02, 0.5]),
        "site.air_temperature": np.array([293.15, 400.0, 293.15, 293.15, 293.15, np.nan]),
        "tank.start_temperature": np.array([291.15, 291.15, 291.15, 291.15, 291.15, 291.15]),
        "coolant.cap_pressure": np.array([90e3, 90e3, 90e3, 100e3, 90e3, 90e3])}
    changes["car.grip"] = np.clip(changes["car.grip"], 0.1, None)
    changes["car.rolling_resistance"] = np.array([0.022, 0.022, 0.022, 0.022, 0.4, 0.022])
    table = run_variants(scenario, changes, workers=1)
    assert len(table) == 6
    assert table.status[0] == table.status[2] == table.status[3] == "ok"
    assert "site.air_temperature" in table.status[1]
    assert "never covers the leg" in table.status[4] or "rolling_resistance" in table.status[4]
    assert "site.air_temperature" in table.status[5]
    assert table.counts["no verdict"] == 3
    assert list(table.level[[1, 4, 5]]) == [-1, -1, -1]
    assert all(np.isnan(table.figures[n][[1, 4, 5]]).all() for n in table.figures)
    assert table.binding_names[1] == ""
    # those that can be solved are as without the others
    kept = np.array([0, 2, 3])
    alone = run_variants(scenario, {k: v[kept] for k, v in changes.items()}, workers=1)
    for name, values in alone.figures.items():
        assert table.figures[name][kept] == pytest.approx(values, rel=1e-3, abs=2e-2, nan_ok=True)


def test_a_car_that_cannot_cover_the_leg_is_counted(scenario_with):
    scenario = scenario_with("base")
    table = run_variants(scenario, {"car.grade": np.array([0.0, 0.09, 0.0, 0.05])}, workers=1)
    never = [i for i, words in enumerate(table.status) if "never covers" in words]
    for i in range(4):
        one = singles(scenario, {"car.grade": [[0.0, 0.09, 0.0, 0.05][i]]})
        assert (i in never) == ("never covers" in one.status[0])


def test_variants_that_boil_dry_are_solved_singly(scenario_with):
    scenario = scenario_with("overreach")
    changes = {"coolant.volume": np.array([0.3e-3, 6e-3, 0.4e-3, 7e-3]),
               "engine.heat_share": np.array([1.2, 0.8, 1.2, 0.8])}
    table, one = run_variants(scenario, changes, workers=1), singles(scenario, changes)
    assert list(table.singly) == [True, False, True, False]
    hold(table, one)


def test_inputs_that_cannot_be_arrays_are_grouped(scenario_with):
    scenario = scenario_with("hot_day", "coolant.glycol=ethylene", "coolant.glycol_fraction=0.3")
    share = np.array([0.3, 0.5, 0.3, 0.3, 0.3, 0.5])
    changes = {"coolant.glycol_fraction": share,
               "tank.volume": scenario.tank.volume * np.linspace(0.8, 1.2, 6)}
    assert not array_key(scenario, "coolant.glycol_fraction")
    table = run_variants(scenario, changes, workers=1)
    assert list(table.singly) == list(share == 0.5)
    hold(table, singles(scenario, changes))


def test_pumps_that_fail_inside_some_passes_only(scenario_with):
    scenario = scenario_with("base", "leg[0].coolant_pump_fails_at=55 s")
    changes = {"leg[0].distance": np.array([2800.0, 3200.0, 3600.0, 4000.0, 2600.0]),
               "tank.volume": np.full(5, scenario.tank.volume)}
    hold(run_variants(scenario, changes, workers=1), singles(scenario, changes))


def test_some_services_put_ice_in_and_some_do_not(scenario_with):
    scenario = scenario_with("second_pass")
    number = next(i for i, leg in enumerate(scenario.leg) if leg.kind == "service")
    changes = {f"leg[{number}].ice_mass": np.array([0.0, 4.0, 0.0, 6.0]),
               f"leg[{number}].swap_fraction": np.array([0.0, 0.0, 0.5, 0.3])}
    hold(run_variants(scenario, changes, workers=1), singles(scenario, changes))


# What is asked for

def test_keys_and_lists_are_checked(scenario_with):
    scenario = scenario_with("base")
    with pytest.raises(ScenarioError, match="no such quantity"):
        run_variants(scenario, {"tank.colour": [1.0]})
    with pytest.raises(ScenarioError, match=r"leg\[9\]"):
        run_variants(scenario, {"leg[9].distance": [1.0]})
    with pytest.raises(ScenarioError, match="one length"):
        run_variants(scenario, {"tank.volume": [0.03, 0.04], "exchanger.ua": [900.0]})
    with pytest.raises(ScenarioError, match="one list"):
        run_variants(scenario, {})


def test_a_leg_may_be_named(scenario_with):
    scenario = scenario_with("base")
    named = run_variants(scenario, {"leg[pass].distance": [3000.0, 3300.0]}, workers=1)
    numbered = run_variants(scenario, {"leg[0].distance": [3000.0, 3300.0]}, workers=1)
    assert np.array_equal(named.figures["pass_time_s"], numbered.figures["pass_time_s"])
    assert list(named.columns) == ["leg[0].distance"]


def test_inputs_that_contradict_one_another_are_refused(scenario_with):
    scenario = scenario_with("base")
    table = run_variants(scenario, {"tank.ice_mass": [0.0, 2.0, 40.0]}, workers=1)
    assert table.status[:2] == ("ok", "ok")
    assert "does not fit" in table.status[2]


def test_grid_is_every_combination():
    changes, shape = grid({"tank.volume": [0.02, 0.03], "exchanger.ua": [1e3, 2e3, 3e3]})
    assert shape == (2, 3)
    assert changes["tank.volume"].reshape(shape)[1].tolist() == [0.03] * 3
    assert changes["exchanger.ua"].reshape(shape)[:, 2].tolist() == [3e3] * 2


def test_map_of_margins_falls_and_rises_as_it_must(scenario_with):
    scenario = scenario_with("base")
    axes = {"tank.volume": np.linspace(0.02, 0.06, 5),
            "engine.heat_share": np.linspace(0.6, 1.1, 4)}
    changes, shape = grid(axes)
    table = run_variants(scenario, changes, workers=1)
    margin = table.figures["boil_margin_K"].reshape(shape)
    assert np.all(np.diff(margin, axis=1) <= 1e-6)
    peak = table.figures["tank_peak_degC"].reshape(shape)
    assert np.all(np.diff(peak, axis=0) < 0.0)
    assert np.all(np.diff(peak, axis=1) > 0.0)
    assert table.tightest(0)[1] == min(float(v[0]) for v in table.slacks.values())


def test_progress_rises_to_the_end_and_cancelling_is_prompt(scenario_with):
    scenario = scenario_with("base")
    told = []
    changes = draw(scenario, 900)
    changes["site.air_temperature"][5] = 1.0
    run_variants(scenario, changes, workers=1, block=300,
                 progress=lambda done, total: told.append((done, total)))
    assert told[-1] == (900, 900)
    assert [d for d, _ in told] == sorted(d for d, _ in told)
    told.clear()
    asked = []

    def cancelled():
        asked.append(len(told))
        return len(asked) > 5

    with pytest.raises(StoppedError):
        run_variants(scenario, draw(scenario, 20000), workers=1, cancelled=cancelled,
                     progress=lambda done, total: told.append((done, total)))
    # Asked between the stages of a block; no stage is begun once it was wished (one more look as
    # the block is left). The bar of 0.2 s is the benchmark's.
    assert len(asked) <= 7
    assert told[-1][0] < 20000


def test_processes_give_the_same_to_the_last_digit_and_stop(scenario_with):
    scenario = scenario_with("base")
    changes = draw(scenario, 700)
    here = run_variants(scenario, changes, workers=1)
    with Workers(2) as workers:
        there = run_variants(scenario, changes, workers=workers, block=150)
        told = []
        with pytest.raises(StoppedError):
            run_variants(scenario, draw(scenario, 20000), workers=workers, block=500,
                         cancelled=lambda: len(told) > 2,
                         progress=lambda done, _: told.append(done))
        assert told[-1] < 20000
        after = run_variants(scenario, changes, workers=workers)
    for table in (there, after):
        for name, values in here.figures.items():
            assert np.array_equal(values, table.figures[name], equal_nan=True), name
        assert here.status == table.status
    assert not workers.usable


# Steps that are shared

def test_follow_is_advance_where_the_steps_are_the_same():
    def rates(x, y):
        return [-3.0 * y[0] + np.sin(x), y[0]]

    grid_, states = [], []

    def record(x, state, _slopes):
        grid_.append(x)
        states.append(list(state))
        return False

    advance(rates, [1.0, 0.0], 1.0, [1e-5, 1e-5], first=0.1, largest=0.3,
            project=lambda x, y: False, record=record)
    again = []
    error = follow(rates, [1.0, 0.0], grid_, [1e-5, 1e-5], project=lambda x, y: False,
                   record=lambda x, y, k: again.append(list(y)) or False)
    assert np.array(again) == pytest.approx(np.array(states), rel=1e-12)
    assert 0.0 < error <= 1.0
    coarse = follow(rates, [1.0, 0.0], [0.0, 0.5, 1.0], [1e-5, 1e-5],
                    project=lambda x, y: False, record=lambda x, y, k: False)
    assert coarse > 10.0


def test_errors_of_variants_are_their_own():
    def rates(x, y):
        return [np.array([-1.0, -9.0]) * y[0]]

    error = follow(rates, [np.ones(2)], [0.0, 0.25, 0.5, 0.75, 1.0], [1e-3],
                   project=lambda x, y: False, record=lambda x, y, k: False)
    assert error[0] < 1.0 < error[1]


def test_merged_grids_are_as_fine_as_the_finest():
    a = np.array([0.0, 0.1, 0.2, 0.6, 1.0])
    b = np.array([0.0, 0.4, 0.45, 0.5, 1.0])
    both = merged([a, b])
    assert both[0] == 0.0
    assert both[-1] == 1.0
    steps = np.diff(both)
    assert np.all(steps > 0.0)
    middle = np.asarray(both[:-1]) + 0.5 * steps
    for grid_ in (a, b):
        allowed = np.diff(grid_)[np.searchsorted(grid_, middle) - 1]
        # a step that lies across an edge may be as long as the longer of the two sides
        assert np.mean(steps <= allowed * 1.001) > 0.8
    assert merged([a]) == pytest.approx(a.tolist())
    assert halved([[0.0, 0.5, 1.0]], 1) == [[0.0, 0.25, 0.5, 0.75, 1.0]]
    assert halved(None, 3) is None


def test_a_step_given_is_a_step_taken():
    from tests.oracles.loop_bridge import design, drive
    from tests.oracles.loop_reference import Loop, Stretch
    from thermo.loop_state import start_state

    loop = Loop(tank_mass=30.0)
    made = design(loop)
    state = start_state(made, coolant=350.0, metal=355.0, oil=350.0, tank=290.0, jacket_mass=5.0,
                        tank_mass=30.0, ice=0.0)
    flow = {"hot_flow": (2e-3, 2e-3), "cold_flow": lambda t: 6e-4}
    plan = [(0, drive(Stretch(20.0, metal_heat=(5e4, 5e4), **flow)))]
    points = np.linspace(0.0, 1.0, 90).tolist()
    run = run_loop(made, state, None, 0.0, plan, grids=[points])
    free = run_loop(made, state, None, 0.0, plan)
    assert run.pieces[0].x == points
    assert free.error == 0.0
    assert run.error > 0.0
    assert run.pieces[0].states[-1][1] == pytest.approx(free.pieces[0].states[-1][1], abs=100.0)


# One formula for floats and arrays

def test_same_says_so_or_parts_the_variants():
    assert same(True)
    assert not same(np.array([False, False]))
    assert same(np.array([True, True]))
    with pytest.raises(MixedError) as mixed:
        same(np.array([True, False]))
    assert list(mixed.value.which) == [True, False]


def test_within_says_which():
    within("x", 1.0, 0.0, 2.0)
    with pytest.raises(RangeError, match="x: 3 m is outside the range 0 to 2 m"):
        within("x", 3.0, 0.0, 2.0, "m")
    with pytest.raises(RangeError, match="x: 3 ") as error:
        within("x", np.array([1.0, 3.0, np.nan]), 0.0, 2.0)
    assert list(error.value.where) == [False, True, True]
    with pytest.raises(RangeError, match="x: 0 "):
        within("x", 0.0, 0.0, 2.0, open_low=True)
    with pytest.raises(RangeError, match="x: inf "):
        within("x", np.inf, 0.0, np.inf, finite=True)


def test_each_applies_a_function_of_floats():
    assert each(lambda a, b: a + b, 1.0, 2.0) == 3.0
    assert each(lambda a, b: a * b, np.array([1.0, 2.0]), 3.0).tolist() == [3.0, 6.0]

    def refuses(a):
        if a > 1.0:
            raise PropertyError("too much")
        return a

    with pytest.raises(PropertyError, match="too much") as error:
        each(refuses, np.array([1.0, 2.0]))
    assert list(error.value.where) == [False, True]


def test_small_helpers():
    column = np.array([[1.0, 5.0], [2.0, 4.0], [3.0, 6.0]])
    assert pick(column, np.array([2, 1])).tolist() == [3.0, 4.0]
    assert pick(column, -1).tolist() == [3.0, 6.0]
    assert pick(column[:, 0], np.int64(1)) == 2.0
    assert isinstance(plain(np.float64(2.0)), float)
    assert least([3.0, 1.0, 2.0]) == 1.0
    assert most([np.array([1.0, 5.0]), 2.0]).tolist() == [2.0, 5.0]
