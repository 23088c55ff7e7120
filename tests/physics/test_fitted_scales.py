"""The two scales that a fitted log writes into a scenario: conductance and losses of the duct."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from thermo.conductance import GivenUA, RatedUA, ScaledUA
from thermo.cooling import build_cooling
from thermo.ensemble import run_variants
from thermo.errors import RangeError
from thermo.event import solve
from thermo.scenario import with_value
from thermo.scenario_io import read_scenario
from thermo.site_air import site_air

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"


def test_scaled_model_multiplies_ua_and_leaves_the_drops() -> None:
    rated = RatedUA(3000.0, 1.0, 0.8, hot_drop_rated=9e3, cold_drop_rated=7e3)
    scaled = ScaledUA(rated, 0.8)
    at = (0.7, None, 350.0, 0.6, None, 300.0)
    assert scaled.ua(*at) == pytest.approx(0.8 * rated.ua(*at), rel=1e-14)
    assert scaled.hot_drop(0.7, None, 350.0) == rated.hot_drop(0.7, None, 350.0)
    assert scaled.cold_drop(0.6, None, 300.0) == rated.cold_drop(0.6, None, 300.0)
    with pytest.raises(RangeError, match="scale of the conductance"):
        ScaledUA(rated, 0.0)


def test_given_ua_with_scale_is_the_same_car_as_the_product() -> None:
    scenario = read_scenario(SCENARIOS / "base.toml").scenario
    scaled = with_value(scenario, "exchanger.ua_scale", 0.8)
    plain = with_value(scenario, "exchanger.ua", 0.8 * 1050.0)
    assert isinstance(build_cooling(scaled, site_air(scaled)).design.conductance, GivenUA)
    assert solve(scaled).cooling.coolant_peak_degC == solve(plain).cooling.coolant_peak_degC


def test_plates_take_a_scale_too() -> None:
    scenario = read_scenario(SCENARIOS / "plate.toml").scenario
    scaled = with_value(scenario, "exchanger.ua_scale", 0.7)
    less = solve(scaled).cooling.ua_at_peak_W_per_K / solve(scenario).cooling.ua_at_peak_W_per_K
    assert less == pytest.approx(0.7, abs=0.03)  # films follow the temperatures, which differ


def test_losses_go_with_their_scale() -> None:
    scenario = read_scenario(SCENARIOS / "base.toml").scenario
    one = solve(scenario).intake
    two = solve(with_value(scenario, "intake.loss_scale", 2.0)).intake
    assert one is not None
    assert two is not None
    # A little more than twice: the air is thinner, and so faster, behind the first loss.
    assert two.duct_loss_Pa / one.duct_loss_Pa == pytest.approx(2.0, rel=0.05)
    assert two.ram_gain_Pa == pytest.approx(one.ram_gain_Pa, rel=1e-6)


def test_scales_may_be_arrays_over_variants() -> None:
    scenario = read_scenario(SCENARIOS / "base.toml").scenario
    values = np.linspace(0.8, 1.2, 5)
    table = run_variants(
        scenario, {"exchanger.ua_scale": values, "intake.loss_scale": values}, workers=1
    )
    assert set(table.status) == {"ok"}
    for i in (0, 4):
        one = with_value(scenario, "exchanger.ua_scale", float(values[i]))
        one = with_value(one, "intake.loss_scale", float(values[i]))
        alone = solve(one)
        assert alone.intake is not None
        assert table.figures["boil_margin_K"][i] == pytest.approx(
            alone.cooling.boil_margin_K, abs=0.05
        )
        assert table.figures["intake_net_Pa"][i] == pytest.approx(alone.intake.net_Pa, abs=2.0)
