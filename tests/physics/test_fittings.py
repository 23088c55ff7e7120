"""Loss coefficients: limits, ranges, ordering and error messages."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.errors import RangeError
from thermo.fittings import (
    ENTRANCE_BELL_MOUTH,
    ENTRANCE_REENTRANT,
    ENTRANCE_SHARP,
    FITTINGS,
    FittingError,
    conical_contraction,
    conical_diffuser,
    crane_friction,
    entrance_rounded,
    fitting_loss,
    included_angle,
    mitre_bend,
    on_other_bore,
    smooth_bend,
    sudden_contraction,
    sudden_expansion,
    wire_screen,
)
from thermo.tees import converging_tee, diverging_tee

RATIO = st.floats(0.0, 1.0)


@given(bore=st.floats(0.005, 0.3), other=st.floats(0.005, 0.3), k=st.floats(0.0, 20.0))
def test_change_of_bore_round_trip(bore: float, other: float, k: float) -> None:
    assert on_other_bore(on_other_bore(k, bore, other), other, bore) == pytest.approx(k)


def test_no_change_of_bore_loses_nothing() -> None:
    for angle in (10.0, 60.0, 180.0):
        assert conical_diffuser(1.0, angle) == 0.0
        assert conical_contraction(1.0, angle) == 0.0


@given(beta=RATIO, angle=st.floats(0.0, 180.0))
def test_cone_never_loses_more_than_the_step(beta: float, angle: float) -> None:
    assert conical_diffuser(beta, angle) <= sudden_expansion(beta)
    assert conical_contraction(beta, angle) <= sudden_contraction(beta) + 1e-15


def test_cone_of_180_degrees_is_the_step() -> None:
    # Crane TP-410: formulas 2 and 4 reach the sudden change.
    assert conical_contraction(0.5, 180.0) == pytest.approx(sudden_contraction(0.5), rel=1e-12)
    assert conical_diffuser(0.5, 180.0) == sudden_expansion(0.5)


def test_diffuser_is_nearly_continuous_where_crane_changes_formula() -> None:
    # 2.6 sin(22.5 deg) = 0.995: the formulas of Crane TP-410 meet within 0.5 %.
    assert conical_diffuser(0.5, 45.0) == pytest.approx(conical_diffuser(0.5, 45.01), rel=6e-3)


def test_included_angle_of_a_known_cone() -> None:
    # Half angle 45 deg when the radius grows by the length.
    assert included_angle(0.05, 0.09, 0.02) == pytest.approx(90.0)


def test_entrances_rank_by_shape() -> None:
    assert ENTRANCE_BELL_MOUTH < entrance_rounded(0.1) < ENTRANCE_SHARP < ENTRANCE_REENTRANT


@given(a=st.floats(0.0, 0.5), b=st.floats(0.0, 0.5))
def test_rounder_entrance_loses_no_more(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert entrance_rounded(high) <= entrance_rounded(low) + 1e-15


def test_entrance_interpolates_between_rows() -> None:
    # Idelchik, diagram 3-4: 0.15 at 0.08 and 0.09 at 0.12, so 0.12 half way.
    assert entrance_rounded(0.10) == pytest.approx(0.12, rel=1e-12)


def test_bend_of_180_degrees_by_cranes_formula() -> None:
    # K = (n - 1)(0.25 pi f_T r/d + 0.5 K90) + K90 with n = 2, r/d = 3, K90 = 12 f_T.
    f_t = crane_friction(0.025)
    by_hand = (0.25 * math.pi * 3.0 + 6.0 + 12.0) * f_t
    assert smooth_bend(3.0, 0.025, 180.0) == pytest.approx(by_hand, rel=1e-12)


@given(r=st.floats(1.0, 20.0), a=st.floats(15.0, 180.0), b=st.floats(15.0, 180.0))
def test_bend_loses_more_the_further_it_turns(r: float, a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert 0.0 < smooth_bend(r, 0.05, low) <= smooth_bend(r, 0.05, high) * (1.0 + 1e-12)


def test_mitre_loses_several_times_a_smooth_bend() -> None:
    assert mitre_bend(90.0, 0.05) / smooth_bend(2.0, 0.05) == pytest.approx(5.0)


def test_screen_of_half_open_area_by_hand() -> None:
    # Idelchik, diagram 8-6: 1.3 x 0.5 + (2 - 1)^2.
    assert wire_screen(0.5) == pytest.approx(1.65, rel=1e-12)
    assert wire_screen(1.0) == 0.0


@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 1.0])
@pytest.mark.parametrize("angle", [30.0, 45.0, 60.0])
def test_wye_of_less_angle_loses_less_in_the_branch(share: float, angle: float) -> None:
    # Crane TP-410: turning less loses less, whichever way the flow goes.
    tee = diverging_tee(share, 0.6)
    wye = diverging_tee(share, 0.6, angle)
    assert wye.branch <= tee.branch + 1e-12


def test_tee_with_no_branch_flow() -> None:
    # Nothing enters the branch: Crane's run losses vanish; the still branch sees the run's
    # velocity head as a loss of one head when it diverges.
    assert converging_tee(0.0).run == 0.0
    assert diverging_tee(0.0).run == 0.0
    assert diverging_tee(0.0).branch == pytest.approx(1.0)


def test_equal_tee_with_all_flow_in_the_branch_is_near_the_textbook() -> None:
    # Crane: (1 + 0.3)(1 + 0.3); Cengel & Cimbala, Table 8-4, threaded: 2.0, flanged: 1.0.
    k = diverging_tee(1.0).branch
    assert k == pytest.approx(1.69, rel=1e-12)
    assert fitting_loss("tee-branch") < k < fitting_loss("tee-branch-threaded")


def test_hose_barb_default_is_crane_through_its_bore() -> None:
    # A bore of 0.85 of the hose, contraction and expansion, referred to the hose.
    k = on_other_bore(sudden_contraction(0.85) + sudden_expansion(0.85), 0.85, 1.0)
    assert fitting_loss("hose-barb") == pytest.approx(k, abs=0.02)


def test_swept_bend_default_is_crane_at_25_mm() -> None:
    assert fitting_loss("bend-90") == pytest.approx(smooth_bend(2.5, 0.025), abs=0.01)


def test_every_fitting_lies_in_its_spread_and_names_a_source() -> None:
    for name, fitting in FITTINGS.items():
        assert 0.0 < fitting.low <= fitting.k <= fitting.high, name
        assert fitting.source, name


def test_unknown_fitting_gets_the_nearest_names() -> None:
    with pytest.raises(FittingError, match=r"no fitting is called 'elbow90'; known: elbow-90"):
        fitting_loss("elbow90")
    with pytest.raises(FittingError, match=r"known: angle-valve, ball-valve"):
        fitting_loss("qqqq")


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: sudden_expansion(1.2), "smaller over larger bore"),
        (lambda: sudden_contraction(-0.1), "smaller over larger bore"),
        (lambda: conical_diffuser(0.5, 200.0), "full angle of a diffuser"),
        (lambda: conical_contraction(0.5, -1.0), "full angle of a contraction"),
        (lambda: entrance_rounded(-0.1), "edge radius over bore"),
        (lambda: smooth_bend(0.5, 0.05), "bend radius over bore"),
        (lambda: smooth_bend(2.0, 0.05, 10.0), "angle of a bend"),
        (lambda: mitre_bend(100.0, 0.05), "angle of a mitre bend"),
        (lambda: wire_screen(0.01), "open fraction of a screen"),
        (lambda: crane_friction(1e-4), "bore for Crane's friction factor"),
        (lambda: converging_tee(1.1), "share of the flow"),
        (lambda: diverging_tee(0.5, 1.5), "branch over run bore"),
        (lambda: diverging_tee(0.5, 1.0, 75.0), "angle of a wye"),
        (lambda: smooth_bend(math.nan, 0.05), "bend radius over bore"),
    ],
)
def test_out_of_range_is_refused_by_name(call: object, words: str) -> None:
    with pytest.raises(RangeError, match=words):
        call()  # type: ignore[operator]
