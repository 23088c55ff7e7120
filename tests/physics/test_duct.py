"""The march against the Fanno relation, an independent integration, and slow-flow formulas."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from thermo.duct import MarchResult, Supply, largest_flow, march
from thermo.duct_fittings import Filter, Lip
from thermo.duct_parts import FrictionTube, LossPart, Path, PlenumExit, Transition
from thermo.duct_section import Section
from thermo.errors import RangeError
from thermo.films import nusselt_duct
from thermo.friction import friction_factor
from thermo.gas import Gas

GAS = Gas(287.05, 1.4, 1.85e-5, 0.0262)
ROUND = Section(0.06)
SQUARE = Section(0.052, 0.052)
AIR = Supply(88e3, 305.0, GAS)


def tube(length: float = 3.0, section: Section = ROUND, **kwargs: float) -> FrictionTube:
    return FrictionTube(name="tube", section=section, length=length, **kwargs)


def whole_duct() -> Path:
    return Path((
        Lip(name="lip", section=Section(0.09), k_static=0.9),
        Transition(name="cone", section=Section(0.09), to=SQUARE, length=0.1),
        tube(2.0, SQUARE),
        LossPart(name="bend", section=SQUARE, k=0.3),
        Transition(name="to round", section=SQUARE, to=ROUND, length=0.08),
        Filter(name="filter", rated_drop=300.0, rated_flow=0.2),
        tube(0.5),
        PlenumExit(name="plenum", section=ROUND),
    ))


def area_over_throat(m: float, g: float) -> float:
    """A/A* in the textbook form (NACA 1135, eq. 80), which is also p0/p0* of Fanno flow."""
    return (1.0 / m) * (2.0 / (g + 1.0) * (1.0 + 0.5 * (g - 1.0) * m * m)) ** (
        0.5 * (g + 1.0) / (g - 1.0)
    )


def mach_of(flow: float, pressure: float, temperature: float, area: float, gas: Gas) -> float:
    """Subsonic Mach number by plain bisection of continuity, independent of the engine."""
    low, high = 0.0, 1.0
    for _ in range(60):
        m = 0.5 * (low + high)
        t = temperature / (1.0 + 0.5 * (gas.gamma - 1.0) * m * m)
        p = pressure * (t / temperature) ** (gas.gamma / (gas.gamma - 1.0))
        passes = p / (gas.gas_constant * t) * m * math.sqrt(gas.gamma * gas.gas_constant * t)
        low, high = (m, high) if passes * area < flow else (low, m)
    return 0.5 * (low + high)


def integrated(flow: float, length: float, wall: float | None) -> tuple[float, float]:
    """Outlet p0 and T0 of the differential form by an independent integration."""
    bore, area = ROUND.width, ROUND.area
    re = flow * bore / (area * GAS.viscosity)
    f = friction_factor(re, 4.5e-5 / bore)
    film = nusselt_duct(re, GAS.prandtl) * GAS.conductivity / bore
    per_metre = 0.0 if wall is None else film * math.pi * bore / (flow * GAS.specific_heat)

    def rhs(_x: float, y: np.ndarray) -> list[float]:
        m = mach_of(flow, math.exp(y[0]), y[1], area, GAS)
        heating = 0.0 if wall is None else per_metre * (wall - y[1])
        return [-0.5 * GAS.gamma * m * m * (f / bore + heating / y[1]), heating]

    run = solve_ivp(rhs, (0.0, length), [math.log(88e3), 305.0], rtol=1e-9, atol=1e-11)
    return math.exp(run.y[0, -1]), float(run.y[1, -1])


@pytest.mark.parametrize("flow", [0.02, 0.2, 0.35])
def test_long_tube_obeys_the_fanno_relation(flow: float) -> None:
    run = march(Path((tube(6.0, friction=0.02),)), flow, AIR)
    before, after = float(run.mach[0, 0]), float(run.mach[1, 0])

    def left(m: float) -> float:
        log = math.log(2.4 * m * m / (2.0 + 0.4 * m * m))
        return (1.0 - m * m) / (1.4 * m * m) + 2.4 / 2.8 * log

    assert left(before) - left(after) == pytest.approx(0.02 * 6.0 / 0.06, rel=1e-9)
    share = area_over_throat(after, 1.4) / area_over_throat(before, 1.4)
    assert run.outlet_pressure[0] / 88e3 == pytest.approx(share, rel=1e-12)
    assert before == pytest.approx(mach_of(flow, 88e3, 305.0, ROUND.area, GAS), rel=1e-9)


@pytest.mark.parametrize("flow", [0.1, 0.3])
def test_adiabatic_tube_against_an_integration(flow: float) -> None:
    pressure, _ = integrated(flow, 3.0, None)
    run = march(Path((tube(),)), flow, AIR)
    assert run.outlet_pressure[0] == pytest.approx(pressure, abs=1e-3)  # solver's tolerance


@pytest.mark.parametrize("wall", [365.0, 280.0])
@pytest.mark.parametrize("flow", [0.1, 0.2, 0.3])
def test_heated_tube_against_an_integration(flow: float, wall: float) -> None:
    # Stated accuracy: 3e-4 of the loss. The temperature is exact in the exponential.
    pressure, temperature = integrated(flow, 3.0, wall)
    supply = Supply(88e3, 305.0, GAS, wall_temperature=wall)
    run = march(Path((tube(),)), flow, supply)
    assert run.loss[0] == pytest.approx(88e3 - pressure, rel=3e-4)
    assert run.outlet_temperature[0] == pytest.approx(temperature, abs=1e-5)
    rise = temperature - 305.0
    assert run.heat[0] == pytest.approx(flow * GAS.specific_heat * rise, rel=1e-6)


def test_slow_flow_is_darcy_weisbach_and_velocity_heads() -> None:
    # At Mach 0.02 compressibility changes a loss by about M^2 and the loss over p: under 1e-3.
    path = Path((tube(2.0), LossPart(name="k", section=ROUND, k=1.7)))
    density = 88e3 / (287.05 * 305.0)
    flow = density * 7.0 * ROUND.area
    re = flow * 0.06 / (ROUND.area * GAS.viscosity)
    f = friction_factor(re, 4.5e-5 / 0.06)
    expected = (f * 2.0 / 0.06 + 1.7) * 0.5 * density * 7.0**2
    assert march(path, flow, AIR).loss[0] == pytest.approx(expected, rel=1e-3)


def test_order_of_parts_matters_little_and_parts_add_up() -> None:
    # On one area a coefficient and a friction length are the same thing: order is free.
    k = LossPart(name="k", section=ROUND, k=0.8)
    t = tube(2.0, friction=0.02)
    one = march(Path((k, t)), 0.25, AIR).outlet_pressure[0]
    other = march(Path((t, k)), 0.25, AIR).outlet_pressure[0]
    lumped = LossPart(name="all", section=ROUND, k=0.8 + 0.02 * 2.0 / 0.06)
    assert one == pytest.approx(other, rel=1e-12)
    assert march(Path((lumped,)), 0.25, AIR).outlet_pressure[0] == pytest.approx(one, rel=1e-12)


def test_the_plenum_stands_at_the_static_pressure_of_the_exit() -> None:
    run = march(Path((tube(1.0), PlenumExit(name="plenum", section=ROUND))), 0.3, AIR)
    assert run.outlet_pressure[0] == pytest.approx(run.pressure[1, 0], rel=1e-13)
    assert run.mach[-1, 0] == 0.0
    assert run.velocity[-1, 0] == 0.0
    assert run.pressure[-1, 0] == run.stagnation_pressure[-1, 0]


def test_stations_are_named_and_consistent() -> None:
    run = march(whole_duct(), np.array([0.1, 0.2]), AIR)
    assert run.names == (
        "opening", "lip", "cone", "tube", "bend", "to round", "filter", "tube", "plenum",
    )
    assert run.stagnation_pressure.shape == (9, 2)
    assert np.all(np.diff(run.stagnation_pressure, axis=0) <= 1e-9)
    # Continuity at every station inside the duct: rho V A is the flow.
    areas = np.array([0.25 * math.pi * 0.09**2] * 2 + [SQUARE.area] * 3 + [ROUND.area] * 3)
    static = run.stagnation_temperature / (1.0 + 0.2 * run.mach**2)
    density = run.pressure / (287.05 * static)
    flux = (density * run.velocity)[:-1] * areas[:, None]
    np.testing.assert_allclose(flux, np.broadcast_to([0.1, 0.2], flux.shape), rtol=1e-11)
    assert np.all(run.mach_peak >= run.mach.max(axis=0))


def test_arrays_equal_floats() -> None:
    speeds, flows = np.array([0.0, 40.0, 90.0]), np.array([0.05, 0.12, 0.2])
    pressures = 86e3 + 0.5 * speeds**2
    supply = Supply(pressures, 305.0, GAS, speeds, np.array([300.0, 330.0, 360.0]), 1.2)
    together = march(whole_duct(), flows, supply)
    for i in range(3):
        alone = march(whole_duct(), float(flows[i]), Supply(
            float(pressures[i]), 305.0, GAS, float(speeds[i]), (300.0, 330.0, 360.0)[i], 1.2))
        assert alone.outlet_pressure[0] == pytest.approx(together.outlet_pressure[i], rel=1e-12)
        assert alone.heat[0] == pytest.approx(together.heat[i], rel=1e-9)


def test_the_gas_may_differ_between_operating_points() -> None:
    # A case an operating point: gas constant and viscosity as arrays.
    gases = Gas(np.array([287.05, 290.0]), np.array([1.4, 1.395]), np.array([1.8e-5, 1.9e-5]),
                np.array([0.025, 0.027]))
    both = march(whole_duct(), 0.15, Supply(88e3, 305.0, gases))
    second = march(whole_duct(), 0.15, Supply(88e3, 305.0, Gas(290.0, 1.395, 1.9e-5, 0.027)))
    assert both.outlet_pressure[1] == pytest.approx(second.outlet_pressure[0], rel=1e-12)
    assert both.outlet_pressure[0] != both.outlet_pressure[1]


def test_no_flow_loses_nothing_but_takes_the_wall_temperature() -> None:
    run = march(whole_duct(), 0.0, Supply(88e3, 305.0, GAS, 30.0, 340.0))
    rated_constant = march(Path((Filter(name="f", section=ROUND, rated_drop=250.0),)), 0.1, AIR)
    assert run.loss[0] == 0.0
    assert run.outlet_temperature[0] == pytest.approx(340.0)
    assert run.heat[0] == 0.0
    assert rated_constant.loss[0] == pytest.approx(250.0)


def test_choking_is_flagged_with_its_limit_and_leaks_nowhere() -> None:
    path = whole_duct()
    flows = np.array([0.1, 0.2, 0.9, 0.15])
    run = march(path, flows, AIR)
    assert run.choked.tolist() == [False, False, True, False]
    good = march(path, flows[[0, 1, 3]], AIR)
    np.testing.assert_allclose(run.outlet_pressure[[0, 1, 3]], good.outlet_pressure, rtol=1e-13)
    assert np.isnan(run.outlet_pressure[2])
    assert run.mach_peak[2] == 1.0
    assert np.isnan(run.flow_limit).tolist() == [True, True, False, True]
    limit = float(run.flow_limit[2])
    assert not march(path, limit, AIR).choked[0]
    beyond = march(path, limit * (1.0 + 1e-9), AIR)
    assert beyond.choked[0]
    assert beyond.names[int(beyond.choked_at[0])] in run.names[1:]
    assert run.choked_at.tolist()[0] == -1


def test_a_bare_throat_chokes_at_the_textbook_flow() -> None:
    # m = 0.68473 A p0/sqrt(R T0) for gamma 1.4.
    expected = 0.68473 * ROUND.area * 88e3 / math.sqrt(287.05 * 305.0)
    bare = Path((LossPart(name="throat", section=ROUND, k=0.0),), count=2)
    assert largest_flow(bare, AIR)[0] == pytest.approx(2.0 * expected, rel=1e-5)


def test_a_filter_that_eats_all_pressure_is_choking_too() -> None:
    run = march(
        Path((Filter(name="f", section=ROUND, rated_drop=5e3, rated_flow=0.01),)), 0.3, AIR
    )
    assert run.choked[0]
    assert 0.0 < run.flow_limit[0] < 0.3


def test_equal_copies_share_the_flow_evenly() -> None:
    parts = (tube(2.0), LossPart(name="k", section=ROUND, k=1.0))
    one = march(Path(parts), 0.1, Supply(88e3, 305.0, GAS, 0.0, 340.0))
    two = march(Path(parts, count=2), 0.2, Supply(88e3, 305.0, GAS, 0.0, 340.0))
    assert two.outlet_pressure[0] == pytest.approx(one.outlet_pressure[0], rel=1e-14)
    assert two.heat[0] == pytest.approx(2.0 * one.heat[0], rel=1e-12)


def test_a_pulsating_draw_multiplies_the_loss() -> None:
    slow = 0.01  # a small loss, so that doubling it does not change the Mach number
    steady = march(Path((tube(1.0),)), slow, AIR).loss[0]
    pulsed = march(Path((tube(1.0),)), slow, Supply(88e3, 305.0, GAS, loss_factor=3.7)).loss[0]
    assert pulsed == pytest.approx(3.7 * steady, rel=1e-3)


@settings(max_examples=60)
@given(st.floats(0.01, 0.24), st.floats(0.001, 0.05), st.floats(0.0, 100.0))
def test_loss_rises_and_net_falls_with_flow(flow: float, more: float, speed: float) -> None:
    supply = Supply(88e3, 305.0, GAS, speed)
    run: MarchResult = march(whole_duct(), np.array([flow, flow + more]), supply)
    if not run.choked.any():
        assert run.loss[1] > run.loss[0]
        assert run.outlet_pressure[1] < run.outlet_pressure[0]


@settings(max_examples=30)
@given(st.floats(0.02, 0.2), st.floats(250.0, 400.0))
def test_heat_goes_from_the_hotter_to_the_colder(flow: float, wall: float) -> None:
    run = march(whole_duct(), flow, Supply(88e3, 305.0, GAS, 0.0, wall))
    assert np.sign(run.heat[0]) == np.sign(wall - 305.0)
    low, high = sorted((305.0, wall))
    assert low - 1e-9 <= run.outlet_temperature[0] <= high + 1e-9


@pytest.mark.parametrize("flow", [-0.1, math.nan, math.inf])
def test_an_impossible_flow_is_refused(flow: float) -> None:
    with pytest.raises(RangeError, match="mass flow"):
        march(whole_duct(), flow, AIR)


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        ((0.0, 300.0, GAS), "stagnation pressure"),
        ((88e3, -1.0, GAS), "stagnation temperature"),
        ((88e3, 300.0, GAS, 0.0, 0.0), "duct wall"),
        ((88e3, 300.0, GAS, 0.0, None, 0.0), "loss factor"),
    ],
)
def test_an_impossible_supply_is_refused(arguments: tuple, match: str) -> None:
    with pytest.raises(RangeError, match=match):
        Supply(*arguments)
