"""Circuits: drop, operating point, split, pressure along the profile, suction head, air."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.air_clearing import air_clearing, bubble_drift_velocity, clearing_velocity
from thermo.circuit import Circuit, Device, Segment, circuit_drop, segment_drop, segment_flows
from thermo.errors import InfeasibleError, RangeError
from thermo.hydraulics import (
    circuit_operating_point,
    flow_for_drop,
    npsh_available,
    operating_point,
    parallel_split,
)
from thermo.pumps import GRAVITY, pump_curve

RHO, MU, T = 998.0, 1.0e-3, 293.15
CURVE = pump_curve([(0.0, 8.0), (1.0e-3, 6.0), (1.8e-3, 2.0), (2.2e-3, 0.0)])
SUPPLY = Segment("supply", 4.0, 0.025, 1e-5, k=4.0, rise=0.6)
RETURN = Segment("return", 4.0, 0.025, 1e-5, k=4.0, rise=-0.6)
EXCHANGER = Device("exchanger", lambda m, temperature: 2e4 * m * m, volume=1.5e-3)
LOOP = Circuit((SUPPLY, EXCHANGER, RETURN))


def test_volume_of_a_circuit_by_hand() -> None:
    # 2 x 4 m of 25 mm bore hold 3.927 L; the exchanger 1.5 L.
    assert LOOP.volume == pytest.approx(3.92699e-3 + 1.5e-3, rel=1e-5)


def test_drop_of_a_segment_with_fittings_only() -> None:
    # K rho V^2 / 2 with V = 2 m/s.
    segment = Segment("fitting", 0.0, 0.02, 0.0, k=3.0)
    assert segment_drop(segment, 2.0 * segment.area, RHO, MU) == pytest.approx(3.0 * RHO * 2.0)


def test_drop_of_a_circuit_is_the_sum_of_its_parts() -> None:
    flow = 0.7e-3
    parts = [segment_drop(s, flow, RHO, MU) for s in (SUPPLY, RETURN)]
    total = sum(parts) + 2e4 * (flow * RHO) ** 2
    assert circuit_drop(LOOP, flow, RHO, MU, T) == pytest.approx(total, rel=1e-12)


def test_device_is_given_mass_flow_and_temperature() -> None:
    seen = []
    device = Device("probe", lambda m, temperature: seen.append((m, temperature)) or 0.0)
    circuit_drop(Circuit((device,)), 2e-3, 500.0, MU, 300.0)
    assert seen == [(1.0, 300.0)]


@given(count=st.integers(1, 5), flow=st.floats(1e-5, 2e-3))
def test_equal_lines_share_the_flow(count: int, flow: float) -> None:
    one = Segment("one", 3.0, 0.02, 1e-5, k=2.0)
    many = Segment("many", 3.0, 0.02, 1e-5, k=2.0, count=count)
    assert segment_drop(many, count * flow, RHO, MU) == pytest.approx(
        segment_drop(one, flow, RHO, MU), rel=1e-9
    )
    assert many.volume == pytest.approx(count * one.volume)


def test_drop_of_arrays_is_the_same_as_of_floats() -> None:
    flow = np.array([0.0, 2e-5, 1e-4, 1e-3])
    density, viscosity = np.array([998.0, 990.0, 980.0, 970.0]), np.array([1e-3, 6e-4, 5e-4, 4e-4])
    got = circuit_drop(LOOP, flow, density, viscosity, T)
    one = [
        circuit_drop(LOOP, float(q), float(r), float(m), T)
        for q, r, m in zip(flow, density, viscosity, strict=True)
    ]
    assert got == pytest.approx(one, rel=1e-13)


def test_operating_point_balances_head_and_drop() -> None:
    point = circuit_operating_point(LOOP, CURVE, RHO, MU, T)
    drop = circuit_drop(LOOP, point.flow, RHO, MU, T)
    assert point.condition == "on the curve"
    assert point.head == pytest.approx(drop / (RHO * GRAVITY), rel=1e-9)
    assert point.head == pytest.approx(CURVE.head(point.flow), rel=1e-12)
    supply, back = point.segments
    assert (supply.name, supply.regime, back.regime) == ("supply", "turbulent", "turbulent")
    assert supply.velocity == pytest.approx(point.flow / SUPPLY.area)
    assert supply.reynolds == pytest.approx(RHO * supply.velocity * 0.025 / MU)


@given(slow=st.floats(0.4, 1.0), gain=st.floats(1.01, 1.5))
def test_more_speed_gives_more_flow(slow: float, gain: float) -> None:
    low = circuit_operating_point(LOOP, CURVE, RHO, MU, T, speed_ratio=slow)
    high = circuit_operating_point(LOOP, CURVE, RHO, MU, T, speed_ratio=slow * gain)
    assert high.flow > low.flow


@given(extra=st.floats(0.5, 50.0))
def test_more_loss_gives_less_flow(extra: float) -> None:
    tighter = Circuit((*LOOP.parts, Segment("valve", 0.0, 0.025, 0.0, k=extra)))
    free = circuit_operating_point(LOOP, CURVE, RHO, MU, T)
    assert circuit_operating_point(tighter, CURVE, RHO, MU, T).flow < free.flow


def test_pump_that_cannot_lift_gives_no_flow_and_says_so() -> None:
    point = circuit_operating_point(LOOP, CURVE, RHO, MU, T, static_head=9.0)
    assert (point.flow, point.head, point.condition) == (0.0, 8.0, "no flow")
    assert [s.velocity for s in point.segments] == [0.0, 0.0]


def test_operating_point_outside_the_given_points_is_said() -> None:
    catalogue = pump_curve([(0.5e-3, 7.0), (0.8e-3, 6.0), (1.0e-3, 5.0)])
    free = operating_point(catalogue, lambda q: 1e3 * q * q, RHO)
    assert free.condition == "past the last point"
    assert free.flow > 1.0e-3
    tight = operating_point(catalogue, lambda q: 1e12 * q * q, RHO)
    assert tight.condition == "before the first point"
    assert 0.0 < tight.flow < 0.5e-3


def test_circuit_without_drop_on_a_curve_that_ends_flat_has_no_answer() -> None:
    # The last piece of this curve levels out at its end, and nothing else stops the flow.
    flat = pump_curve([(0.0, 10.0), (1e-3, 1.0), (2e-3, 0.9)])
    assert flat.head(1e3) == pytest.approx(0.9)
    with pytest.raises(InfeasibleError, match="nothing limits the flow"):
        operating_point(flat, lambda q: 0.0, RHO)


def test_flow_for_drop_is_the_inverse_of_the_drop() -> None:
    flow = flow_for_drop(lambda q: segment_drop(SUPPLY, q, RHO, MU), 12e3)
    assert segment_drop(SUPPLY, flow, RHO, MU) == pytest.approx(12e3, rel=1e-9)
    assert flow_for_drop(lambda q: q, 0.0) == 0.0


def test_flow_for_drop_that_is_never_reached() -> None:
    with pytest.raises(InfeasibleError, match="never reaches 10 Pa"):
        flow_for_drop(lambda q: math.tanh(q), 10.0)


@given(
    total=st.floats(1e-5, 5e-3),
    bores=st.lists(st.floats(0.008, 0.04), min_size=1, max_size=4),
)
def test_split_conserves_flow_at_one_drop(total: float, bores: list[float]) -> None:
    lines = [Segment(f"{b}", 2.0, b, 1e-5, k=1.5) for b in bores]
    drops = [lambda q, s=s: float(segment_drop(s, q, RHO, MU)) for s in lines]
    split = parallel_split(total, drops)
    assert sum(split.flows) == pytest.approx(total, rel=1e-7)
    for drop, flow in zip(drops, split.flows, strict=True):
        assert drop(flow) == pytest.approx(split.drop, rel=1e-6)


def test_split_that_is_not_determined_is_refused() -> None:
    with pytest.raises(InfeasibleError, match="split is not determined"):
        parallel_split(1e-3, [lambda q: 0.0, lambda q: q])
    with pytest.raises(RangeError, match="flow to be shared"):
        parallel_split(0.0, [lambda q: q])


def test_suction_head_of_a_flooded_pump_by_hand() -> None:
    # (100 - 20 - 10) kPa over rho g, plus 0.5 m.
    assert npsh_available(100e3, 20e3, 1000.0, 0.5, 10e3, 9.81) == pytest.approx(
        70e3 / 9810.0 + 0.5
    )


def test_regime_of_a_slow_line_is_named() -> None:
    oil = segment_flows(Circuit((SUPPLY,)), 1e-4, 900.0, 0.1)[0]
    assert oil.regime == "laminar"


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"length": -1.0}, "length of hose"),
        ({"bore": 0.0}, "bore of hose"),
        ({"roughness": 0.002}, "roughness of hose"),
        ({"k": -0.1}, "loss coefficient of hose"),
        ({"rise": 3.0}, "rise of hose"),
        ({"count": 0}, "number of lines of hose"),
        ({"k": math.nan}, "loss coefficient of hose"),
    ],
)
def test_impossible_segment_is_refused(change: dict[str, float], words: str) -> None:
    good = {"length": 2.0, "bore": 0.02, "roughness": 1e-5}
    with pytest.raises(RangeError, match=words):
        Segment("hose", **{**good, **change})  # type: ignore[arg-type]


def test_clearing_velocity_by_hand() -> None:
    # Wisner et al. (1975): 0.825 sqrt(g D) level, 1.075 sqrt(g D) straight down.
    root = math.sqrt(GRAVITY * 0.025)
    assert clearing_velocity(0.025, 0.0) == pytest.approx(0.825 * root)
    assert clearing_velocity(0.025, 90.0) == pytest.approx(1.075 * root)


def test_bubble_drift_by_hand() -> None:
    # Dumitrescu (1943): 0.35 upright; Benjamin (1968): 0.54 level.
    root = math.sqrt(GRAVITY * 0.05)
    assert bubble_drift_velocity(0.05, 90.0) == pytest.approx(0.35 * root)
    assert bubble_drift_velocity(0.05, 0.0) == pytest.approx(0.54 * root)


def test_air_check_of_a_rising_and_a_falling_line() -> None:
    circuit = Circuit((SUPPLY, EXCHANGER, RETURN, Segment("valve", 0.0, 0.025, 0.0, k=1.0)))
    up, down = air_clearing(circuit, 1e-4)
    assert up.cleared
    assert up.needed == 0.0
    slope = math.degrees(math.asin(0.6 / 4.0))
    climb = 1.2 * up.velocity + bubble_drift_velocity(0.025, slope)
    assert up.seconds == pytest.approx(4.0 / climb)
    assert not down.cleared
    assert down.needed == pytest.approx(clearing_velocity(0.025, slope))
    assert down.seconds is None
    assert air_clearing(circuit, 1e-3)[1].cleared


def test_slope_out_of_range_is_refused() -> None:
    with pytest.raises(RangeError, match="slope of a line"):
        clearing_velocity(0.025, 91.0)
    with pytest.raises(RangeError, match="slope of a line"):
        bubble_drift_velocity(0.025, -1.0)
