"""Demand of the engine, and the flow at which duct and engine agree."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from thermo.air_demand import (
    DisplacementDemand,
    PowerDemand,
    charge_density_ratio,
    compressor_temperature_ratio,
    power_ratio,
)
from thermo.duct import Supply, march
from thermo.duct_fittings import Filter, Lip
from thermo.duct_parts import FrictionTube, LossPart, Path, PlenumExit
from thermo.duct_section import Section
from thermo.gas import Gas
from thermo.induction import break_even, fixed_point
from thermo.ram import ram_state

GAS = Gas(287.05, 1.4, 1.85e-5, 0.0262)
ROUND = Section(0.06)
PATH = Path((
    Lip(name="lip", section=ROUND, k_static=0.9),
    FrictionTube(name="tube", section=ROUND, length=3.0),
    LossPart(name="bends", section=ROUND, k=0.6),
    Filter(name="filter", rated_drop=300.0, rated_flow=0.15),
    PlenumExit(name="plenum", section=ROUND),
))
PETROL = PowerDemand(130e3, 300.0 / 3.6e9, 12.8, 86.8e3, 305.0)


def through(supply: Supply, path: Path = PATH):
    def deliver(flow: np.ndarray):
        run = march(path, flow, supply, find_limit=False)
        return run.outlet_pressure, run.outlet_temperature, run.choked

    return deliver


def at_speeds(speeds: np.ndarray, wall: float | None = None) -> Supply:
    ram = ram_state(speeds, 0.0, 86.8e3, 305.0, GAS, 0.97)
    return Supply(ram.delivered_pressure, ram.stagnation_temperature, GAS, ram.air_speed, wall)


def test_displacement_demand_of_a_four_stroke() -> None:
    # 2.0 L, 6000/min, 0.90, 1.184 kg/m3: 0.10656 kg/s (Heywood, eq. 2.27); a two-stroke twice.
    pressure = 1.184 * 287.05 * 298.0
    four = DisplacementDemand(2e-3, 6000.0, 287.05, 2.0, 0.9)
    assert four.flow(pressure, 298.0) == pytest.approx(0.10656, rel=1e-6)
    two = DisplacementDemand(2e-3, 6000.0, 287.05, 1.0, 0.9)
    assert two.flow(pressure, 298.0) == pytest.approx(2.0 * 0.10656, rel=1e-6)
    boosted = DisplacementDemand(2e-3, 6000.0, 287.05, 2.0, 0.9, 1.4)
    assert boosted.flow(pressure, 298.0) == pytest.approx(1.4 * 0.10656, rel=1e-6)


def test_power_demand_at_and_beside_its_reference() -> None:
    # 130 kW x 300 g/kWh x 12.8 = 0.13867 kg/s.
    assert PETROL.flow(86.8e3, 305.0) == pytest.approx(0.138667, rel=1e-5)
    more = PETROL.flow(1.05 * 86.8e3, 305.0) / PETROL.flow(86.8e3, 305.0)
    assert more == pytest.approx(1.18 * 1.05 - 0.18, rel=1e-12)


def test_power_ratio_on_floats_and_arrays() -> None:
    assert power_ratio(90e3, 300.0, 90e3, 300.0) == pytest.approx(1.0, abs=1e-15)
    assert isinstance(power_ratio(90e3, 300.0, 90e3, 300.0), float)
    pressures = np.array([80e3, 95e3])
    both = power_ratio(pressures, 310.0, 90e3, 300.0)
    for i in range(2):
        assert both[i] == power_ratio(float(pressures[i]), 310.0, 90e3, 300.0)


def test_charger_density() -> None:
    # Isentropic, uncooled: density goes with r^(1/gamma). Cooled to the inlet: with r itself.
    assert charge_density_ratio(1.8, 1.0) == pytest.approx(1.8 ** (1.0 / 1.4), rel=1e-12)
    assert charge_density_ratio(1.8, 0.6, 1.0, 1.0) == pytest.approx(1.8, rel=1e-12)
    assert charge_density_ratio(1.0) == 1.0
    assert compressor_temperature_ratio(8.0) == pytest.approx(1.8114, rel=1e-4)  # Cengel 12-1


@pytest.mark.parametrize(
    "demand", [PETROL, DisplacementDemand(3e-3, 7000.0, 287.05)], ids=["power", "displacement"]
)
@pytest.mark.parametrize("wall", [None, 340.0])
def test_fixed_point_against_a_bracketing_root(demand, wall: float | None) -> None:
    speeds = np.array([0.0, 30.0, 60.0, 90.0])
    supply = at_speeds(speeds, wall)
    found = fixed_point(through(supply), demand, supply.pressure, supply.temperature)
    assert found.converged.all()
    assert not found.choked.any()
    assert found.rounds < 12
    assert np.abs(found.residual).max() < 1e-8
    for i in range(4):
        one = supply.at(np.arange(4) == i)

        def miss(flow: float, one: Supply = one) -> float:
            run = march(PATH, flow, one, find_limit=False)
            return float(
                demand.flow(run.outlet_pressure[0], run.outlet_temperature[0]) - flow
            )

        assert found.flow[i] == pytest.approx(brentq(miss, 0.01, 0.25, xtol=1e-13), rel=1e-8)


@settings(max_examples=40)
@given(st.floats(0.2e-3, 12e-3), st.floats(0.0, 100.0))
def test_the_answer_satisfies_both_sides_or_says_choked(litres: float, speed: float) -> None:
    demand = DisplacementDemand(litres, 8000.0, 287.05)
    supply = at_speeds(np.array([speed]))
    found = fixed_point(through(supply), demand, supply.pressure, supply.temperature)
    assert found.converged[0] != found.choked[0]
    run = march(PATH, found.flow, supply)
    assert run.outlet_pressure[0] == pytest.approx(found.pressure[0], rel=1e-12)
    asked = demand.flow(found.pressure[0], found.temperature[0])
    if found.converged[0]:
        assert asked == pytest.approx(found.flow[0], rel=1e-8)
    else:
        assert asked > found.flow[0]


def test_an_engine_that_asks_too_much_gets_the_largest_flow() -> None:
    supply = at_speeds(np.array([0.0, 90.0]))
    litres = np.array([40e-3, 2e-3])
    demand = DisplacementDemand(litres, 8000.0, 287.05)
    found = fixed_point(through(supply), demand, supply.pressure, supply.temperature)
    assert found.choked.tolist() == [True, False]
    assert found.converged.tolist() == [False, True]
    limit = march(PATH, 1.0, supply).flow_limit[0]
    assert found.flow[0] == pytest.approx(limit, rel=1e-8)
    assert found.residual[0] > 0.0


def test_a_duct_that_passes_nothing_is_choked_without_numbers() -> None:
    blocked = Path((Filter(name="f", section=ROUND, rated_drop=100e3),))
    supply = at_speeds(np.array([50.0]))
    found = fixed_point(through(supply, blocked), PETROL, supply.pressure, supply.temperature)
    assert found.choked[0]
    assert math.isnan(found.flow[0])
    assert math.isnan(found.pressure[0])


def test_an_engine_at_rest_draws_nothing() -> None:
    supply = at_speeds(np.array([0.0, 50.0]))
    found = fixed_point(
        through(supply), DisplacementDemand(3e-3, 0.0, 287.05), supply.pressure,
        supply.temperature,
    )
    assert found.flow.tolist() == [0.0, 0.0]
    assert found.converged.all()
    np.testing.assert_allclose(found.pressure, supply.pressure)


def net_at(speeds: np.ndarray) -> np.ndarray:
    """Net gain of the test duct over still air."""
    supply = at_speeds(np.atleast_1d(speeds))
    found = fixed_point(through(supply), PETROL, supply.pressure, supply.temperature)
    return found.pressure - 86.8e3


def test_break_even_speed_is_where_the_net_is_zero() -> None:
    speeds = np.linspace(0.0, 160.0, 33)
    net = net_at(speeds)
    assert net[0] < 0.0  # no ram at launch
    (crossing,) = break_even(lambda v: float(net_at(np.array([v]))[0]), speeds, net)
    assert crossing.direction == 1
    assert net_at(np.array([crossing.at]))[0] == pytest.approx(0.0, abs=0.01)
    # Slow-flow estimate: ram equals the loss at launch less the lip's share, within 20 %.
    assert 60.0 < crossing.at < 100.0


def test_no_break_even_in_a_slow_range() -> None:
    speeds = np.linspace(0.0, 20.0, 5)
    assert break_even(lambda v: float(net_at(np.array([v]))[0]), speeds, net_at(speeds)) == ()
