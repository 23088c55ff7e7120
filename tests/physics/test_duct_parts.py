"""Each part's loss against its handbook formula; paths and their joints."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from thermo.duct_fittings import LIPS, Bend, Filter, Junction, Lip, Mitre, Screen
from thermo.duct_parts import (
    FrictionTube,
    Local,
    LossPart,
    Part,
    Path,
    PlenumExit,
    Transition,
    area_jumps,
)
from thermo.duct_section import Section, cone_length
from thermo.errors import RangeError
from thermo.gas import Gas

GAS = Gas(287.05, 1.4, 1.85e-5, 0.0262)
ROUND = Section(0.05)
WIDE = Section(0.08)


def local(mach: float = 0.2, air_speed: float = 0.0, flow: float = 0.15) -> Local:
    return Local(flow, mach, 88e3, 305.0, air_speed, GAS)


def test_sections() -> None:
    # 100 x 50 mm: Dh 66.67 mm by definition; f Re 62.19 for a side ratio of 0.5 (Shah & London).
    box = Section(0.1, 0.05)
    assert box.hydraulic_diameter == pytest.approx(0.066667, rel=1e-4)
    assert box.laminar == pytest.approx(62.19, rel=1e-3)
    assert Section(0.05, 0.1).laminar == box.laminar
    assert ROUND.laminar == 64.0
    assert ROUND.hydraulic_diameter == pytest.approx(0.05)
    assert box.equal_area_diameter == pytest.approx(math.sqrt(4.0 * 0.005 / math.pi))


def test_velocity_of_the_air_from_its_mach_number() -> None:
    # Energy: V^2/2 = cp (T0 - T).
    air = local(mach=0.5)
    static = 305.0 / 1.05
    assert air.velocity == pytest.approx(math.sqrt(2.0 * GAS.specific_heat * (305.0 - static)))


def test_lip_costs_only_while_the_duct_swallows_faster_than_the_car_moves() -> None:
    lip = Lip(name="lip", section=ROUND, k_static=0.9)
    inlet = float(local().velocity)
    assert lip.loss(local(air_speed=0.0)) == pytest.approx(0.9)
    assert lip.loss(local(air_speed=0.5 * inlet)) == pytest.approx(0.9 * 0.25)
    assert lip.loss(local(air_speed=inlet)) == 0.0
    assert lip.loss(local(air_speed=2.0 * inlet)) == 0.0
    assert lip.loss(local(mach=0.0, air_speed=-3.0)) == 0.0


def test_lip_shapes_are_in_order_and_named() -> None:
    order = [LIPS[name].k for name in ("none", "bellmouth", "rounded", "flush", "sharp")]
    assert order == sorted(order)
    assert 0.78 <= LIPS["sharp"].k <= 1.0  # Crane, and the momentum theorem
    assert all(shape.source for shape in LIPS.values())


def test_sudden_changes_are_borda_and_crane() -> None:
    beta = 0.05 / 0.08
    out = Transition(name="e", section=ROUND, to=WIDE)
    back = Transition(name="c", section=WIDE, to=ROUND)
    assert out.loss(local()) == pytest.approx((1.0 - beta**2) ** 2)
    assert back.loss(local()) == pytest.approx(0.5 * (1.0 - beta**2))
    assert out.reference == ROUND
    assert back.reference == ROUND
    assert out.outlet == WIDE


def test_cones_are_cranes_plus_friction() -> None:
    # Crane TP-410, 0.05 -> 0.08 at 10 degrees: 0.0841; contraction at 30 degrees: 0.1262.
    length = cone_length(ROUND, WIDE, 10.0)
    out = Transition(name="e", section=ROUND, to=WIDE, length=length)
    assert out.change_loss == pytest.approx(0.0841, rel=1e-3)
    back = Transition(
        name="c", section=WIDE, to=ROUND, length=cone_length(WIDE, ROUND, 30.0)
    )
    assert back.change_loss == pytest.approx(0.1262, rel=1e-3)
    # Friction of the cone, integrated over its length with the local diameter.
    f = FrictionTube(name="t", section=ROUND, length=0.05).loss(local())
    total, _ = quad(
        lambda x: f / 0.05 * (0.05 / (0.05 + 0.03 * x / length)) ** 5, 0.0, length
    )
    assert out.loss(local()) - out.change_loss == pytest.approx(total, rel=1e-9)
    assert cone_length(ROUND, WIDE, 180.0) == 0.0


def test_rectangle_to_round_of_one_area_costs_its_shape_and_friction_only() -> None:
    box = Section(0.05, math.pi / 4.0 * 0.05)
    change = Transition(name="r", section=box, to=ROUND, length=0.1)
    straight = FrictionTube(name="t", section=change.reference, length=0.1).loss(local())
    assert change.loss(local()) - straight == pytest.approx(0.05, abs=1e-6)


def test_tube_takes_its_own_friction_factor() -> None:
    hose = FrictionTube(
        name="hose", section=WIDE, length=1.6, friction=0.08
    )
    assert hose.loss(local()) == pytest.approx(0.08 * 1.6 / 0.08)
    rough, smooth = (
        FrictionTube(name="t", section=ROUND, length=1.0, roughness=e) for e in (1e-4, 0.0)
    )
    assert rough.loss(local()) > smooth.loss(local())


def test_bends_and_mitres_are_cranes_multipliers() -> None:
    # K/f_T = 12 at r/d 2 and 60 for a square mitre; f_T from the rough-pipe law.
    f_t = (2.0 * math.log10(3.7 * 0.05 / 4.57e-5)) ** -2
    assert Bend(name="b", section=ROUND, radius_ratio=2.0).loss(local()) == pytest.approx(
        12.0 * f_t, rel=1e-6
    )
    assert Mitre(name="m", section=ROUND).loss(local()) == pytest.approx(60.0 * f_t, rel=1e-6)
    quarter = Bend(name="b", section=ROUND, radius_ratio=2.0).wetted_length
    assert quarter == pytest.approx(0.5 * math.pi * 0.1)


def test_junctions_are_cranes() -> None:
    # Crane TP-410, Example 7-35: run 300, branch 100 gpm of an equal tee.
    share = 0.25
    branch = Junction(name="j", section=ROUND, leg="branch", share=share)
    run = Junction(name="j", section=ROUND, leg="run", share=share)
    assert branch.loss(local()) == pytest.approx(-0.0422, abs=1e-3)
    assert run.loss(local()) == pytest.approx(0.325, abs=1e-3)
    away = Junction(name="j", section=ROUND, share=share, angle=45.0, diverging=True)
    assert away.loss(local()) > 0.0
    with pytest.raises(ValueError, match="'branch' or 'run', not 'side'"):
        Junction(name="j", section=ROUND, leg="side")


def test_screen_by_open_area() -> None:
    # Idelchik: 1.3 (1 - a) + (1/a - 1)^2 at 0.6 is 0.9644.
    screen = Screen(name="s", section=ROUND, open_fraction=0.6)
    assert screen.loss(local()) == pytest.approx(0.9644, abs=1e-4)


def test_filter_scales_with_flow_density_and_dirt() -> None:
    rated = Filter(name="f", rated_drop=300.0, rated_flow=0.15, rated_density=1.2)
    density = 88e3 / (287.05 * 305.0)
    assert rated.drop(local()) == pytest.approx(300.0 * 1.2 / density)
    assert rated.drop(local(flow=0.3)) == pytest.approx(300.0 * 2.0**1.5 * 1.2 / density)
    dirty = Filter(name="f", rated_drop=300.0, dirty_factor=3.0)
    assert dirty.drop(local()) == pytest.approx(900.0)
    assert rated.loss(local()) == 0.0


def test_plain_part_and_exit() -> None:
    plain = Part(name="flange", section=ROUND)
    assert plain.loss(local()) == 0.0
    assert plain.drop(local()) is None
    assert not plain.into_plenum
    leave = PlenumExit(name="plenum", section=ROUND)
    # Slow: the whole rho V^2/2 (Crane, K = 1), within M^2/4.
    slow = local(mach=0.05)
    q = 0.5 * 88e3 / (287.05 * 305.0) * float(slow.velocity) ** 2
    assert leave.drop(slow) == pytest.approx(q, rel=2e-3)
    assert leave.into_plenum


def test_path_sums_and_joints() -> None:
    path = Path((
        FrictionTube(name="a", section=ROUND, length=1.0),
        Filter(name="f", rated_drop=300.0),
        FrictionTube(name="b", section=WIDE, length=0.5),
    ), count=2)
    assert path.length == pytest.approx(1.5)
    assert path.least_area == pytest.approx(ROUND.area)
    assert path.wall_area == pytest.approx(2.0 * math.pi * (0.05 * 1.0 + 0.08 * 0.5))
    ((before, after, ratio),) = area_jumps(path)
    assert (before, after) == ("a", "b")
    assert ratio == pytest.approx((0.08 / 0.05) ** 2)
    mended = Path((
        FrictionTube(name="a", section=ROUND, length=1.0),
        Transition(name="cone", section=ROUND, to=WIDE, length=0.1),
        FrictionTube(name="b", section=WIDE, length=0.5),
    ))
    assert area_jumps(mended) == ()
    assert Path((Filter(name="f", rated_drop=1.0),)).least_area == math.inf


@given(st.floats(0.02, 0.2), st.floats(0.02, 0.2), st.floats(0.01, 2.0))
def test_a_longer_cone_never_beats_lossless(before: float, after: float, length: float) -> None:
    change = Transition(name="c", section=Section(before), to=Section(after), length=length)
    assert change.loss(local()) > 0.0
    assert np.isfinite(change.loss(local()))


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: Section(0.0), "bore or width"),
        (lambda: Section(0.05, -0.1), "height of a duct"),
        (lambda: FrictionTube(name="t", section=ROUND, length=-1.0), "length of a tube"),
        (lambda: FrictionTube(name="t", section=ROUND, length=1.0, friction=0.0), "friction"),
        (lambda: LossPart(name="k", section=ROUND, k=math.nan), "loss coefficient"),
        (lambda: Bend(name="b", section=ROUND, radius_ratio=0.5), "bend radius"),
        (lambda: Mitre(name="m", section=ROUND, angle=120.0), "mitre bend"),
        (lambda: Screen(name="s", section=ROUND, open_fraction=0.0), "open fraction"),
        (lambda: Filter(name="f", rated_drop=-1.0), "rated drop"),
        (lambda: Filter(name="f", rated_drop=1.0, exponent=3.0), "exponent"),
        (lambda: Filter(name="f", rated_drop=1.0, dirty_factor=0.5), "dirty factor"),
        (lambda: cone_length(ROUND, WIDE, 0.0), "full angle of a cone"),
        (lambda: Path((LossPart(name="k", section=ROUND, k=1.0),), count=0), "equal paths"),
    ],
)
def test_impossible_parts_are_refused_by_name(make, match: str) -> None:
    with pytest.raises(RangeError, match=match):
        make()


def test_a_path_needs_a_part() -> None:
    with pytest.raises(ValueError, match="at least one part"):
        Path(())
