"""The short, seeded form of what the fuzzers do at length, and what they have found."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.fuzz import examine_variants
from tests.fuzz.examine import examine
from tests.fuzz.random_scenarios import likely_scenario, raw_scenario
from tests.fuzz.watch import SCENARIOS, told
from thermo.driving import drive_or_refuse
from thermo.errors import ScenarioError, SoakboxError
from thermo.event import solve
from thermo.scenario import Scenario
from thermo.scenario_io import from_text
from thermo.site_air import site_air
from thermo.stepping import StepError, advance
from thermo.units import QuantityTextError, parse
from tui.text_check import check_text

SHORT = settings(max_examples=60, derandomize=True, database=None)
BASE = (SCENARIOS / "base.toml").read_text(encoding="utf-8")
HOT = (SCENARIOS / "hot_day.toml").read_text(encoding="utf-8")


@SHORT
@given(st.binary(max_size=400))
def test_any_bytes_are_refused_in_words(data):
    with pytest.raises(SoakboxError) as refused:
        from_text(data.decode("utf-8", "surrogateescape"), "any.toml")
    told(refused.value)


@SHORT
@given(st.integers(0, BASE.count("\n")), st.text(max_size=60))
def test_any_line_is_read_or_refused_in_words(number, line):
    lines = BASE.split("\n")
    lines[number] = line
    try:
        from_text("\n".join(lines), "base.toml")
    except SoakboxError as error:
        told(error)


@SHORT
@given(st.text(max_size=80))
def test_any_setting_is_read_or_refused_in_words(text):
    try:
        from_text(BASE, "base.toml", (text,))
    except SoakboxError as error:
        told(error)


@pytest.mark.parametrize("unit", ["kNp", "kdegF", "mdegC", "kdB"])
def test_a_prefix_before_a_scale_with_an_offset_is_refused(unit):
    with pytest.raises(QuantityTextError, match=r"not known|read|expected"):
        parse(f"3 {unit}", "volume")


# Seeds with which a fault was found: steam that came back, a timed stretch beyond the end of its
# leg, the dew point at the end of its range, refusals that named no key or an endless range, a car
# that runs away, a gain of none, hours of short steps.
@pytest.mark.parametrize("seed", [
    400, 401, 403, 404, 405, 408, 413, 12, 23, 25, 48, 89, 103, 219, 2045, 31020, 31041, 31046,
])
def test_a_scenario_drawn_at_random_is_sound_or_refused_by_name(seed):
    end, found = examine(raw_scenario(seed))
    assert found == [], end


# Seeds with which a fault was found: tanks boiled dry and beyond, liquids off their scale, paths
# of a duct that cannot lose the same, days of short steps, ice that does not fit at a service.
@pytest.mark.parametrize("seed", [
    40015, 40037, 40046, 40142, 40161, 40185, 40254, 50720, 51880, 52619, 53643, 53846,
    100307, 54012,
])
def test_a_scenario_likely_to_be_driven_is_sound_or_refused_by_name(seed):
    end, found = examine(likely_scenario(seed))
    assert found == [], end


def test_most_scenarios_likely_to_be_driven_are():
    refused = 0
    for seed in range(300, 340):
        scenario = Scenario.model_validate(likely_scenario(seed))
        try:
            drive_or_refuse(scenario, site_air(scenario))
        except SoakboxError:
            refused += 1
    assert 1 <= refused <= 12


def test_a_car_held_back_ever_less_is_refused():
    settings_ = ("car.rolling_resistance=0.1", "car.rolling_resistance_at_100mps=0.001",
                 "car.mass=6000 kg", "car.drag_area=0.054 m^2")
    with pytest.raises(ScenarioError, match=r"car\.rolling_resistance_at_100mps: .* up"):
        solve(from_text(BASE, "base.toml", settings_).scenario)


@pytest.mark.parametrize("name", ["power_curve", "torque_curve"])
def test_an_engine_without_power_is_refused(name):
    unit = "kW" if name == "power_curve" else "N*m"
    points = f'{name} = [["1000 rpm", "0 {unit}"], ["6000 rpm", "0 {unit}"]]'
    text = re.sub(r"(?m)^(power|power_curve|torque_curve) *=.*$", points, BASE, count=1)
    with pytest.raises(ScenarioError, match=f"{name} gives no power anywhere"):
        from_text(text, "base.toml")


def test_liquids_off_their_scale_are_refused_before_the_car_is_driven(monkeypatch):
    monkeypatch.setattr("thermo.lasting.drive_or_refuse", lambda *_: pytest.fail("driven"))
    scenario = from_text(BASE, "base.toml", ("tank.start_temperature=-28.8 degC",)).scenario
    with pytest.raises(ScenarioError, match=r"tank\.start_temperature: given -28\.8 degC"):
        solve(scenario)


def test_the_same_seed_draws_the_same_scenario():
    assert raw_scenario(7) == raw_scenario(7)
    assert raw_scenario(7) != raw_scenario(8)


def test_a_stretch_beyond_the_end_of_a_timed_leg_is_refused():
    text = HOT.replace('distance = "6440 m"', 'duration = "20 s"')
    settings_ = ("leg[0].timed_from=1 km", "leg[0].timed_to=90 km")
    with pytest.raises(ScenarioError, match=r"leg\[0\].*timed_to lies beyond the end of the leg, "):
        solve(from_text(text, "hot_day.toml", settings_).scenario)


def test_the_lowest_dew_point_is_taken():
    dry = re.sub(r"(?m)^relative_humidity.*$", 'dew_point = "-35 degC"', BASE)
    scenario = from_text(dry, "base.toml").scenario
    assert scenario.site.dew_point == pytest.approx(238.15)
    assert solve(scenario).verdict != "no verdict"


def test_coolant_that_starts_beyond_saturation_flashes_and_is_counted():
    settings_ = ("coolant.start_temperature=125 degC", "coolant.cap_pressure=20 kPa")
    result = solve(from_text(BASE, "base.toml", settings_).scenario)
    assert result.cooling.steam_lost_kg > 0.0
    assert "nan" not in check_text(result, "si").split()


def test_endless_steps_are_given_up():
    with pytest.raises(StepError, match="500 steps do not reach the end of the leg"):
        advance(lambda x, y: [-1e6 * y[0]], [1.0], 1.0, [1e-3], first=1e-6, largest=2e-6, most=500,
                project=lambda x, y: False, record=lambda x, y, k: False)


# Together and alone alike: arrays, hours of short steps that only one event can take, and refusals.
@pytest.mark.parametrize("seed", [50004, 50026])
def test_variants_of_a_scenario_drawn_at_random_are_as_each_alone(seed):
    ends, found = examine_variants.examine(likely_scenario(seed))
    assert found == [], ends
