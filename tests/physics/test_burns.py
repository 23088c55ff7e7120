"""Burn times: the published table, what lies beyond it, and the contact curve both ways."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from thermo.burns import (
    CONTACT_CURVES,
    CONTACT_TIMES,
    SCALD_LIMIT,
    TOUCH_LIMIT,
    ZERO_C,
    contact_limit,
    contact_time,
    scald_time,
)
from thermo.errors import RangeError


def test_beyond_the_table_there_are_only_bounds():
    hot = scald_time(70.0 + ZERO_C)
    assert (hot.seconds, hot.kind, str(hot)) == (2.0, "under", "under 2 s")
    assert str(scald_time(95.0 + ZERO_C)) == "under 2 s"
    cool = scald_time(45.0 + ZERO_C)
    assert (cool.seconds, cool.kind, str(cool)) == (300.0, "over", "over 300 s")


def test_halfway_between_rows_is_the_geometric_mean():
    middle = scald_time(0.5 * (54.4 + 60.0) + ZERO_C)
    assert middle.seconds == pytest.approx((30.0 * 6.0) ** 0.5, rel=1e-9)
    assert str(middle) == "about 13 s"
    assert str(scald_time(62.8 + ZERO_C)) == "about 3.5 s"


@given(st.floats(280.0, 400.0), st.floats(0.01, 5.0))
def test_hotter_water_never_takes_longer(temperature, more):
    assert scald_time(temperature + more).seconds <= scald_time(temperature).seconds


@given(
    st.floats(*CONTACT_TIMES), st.sampled_from(sorted(CONTACT_CURVES)),
)
def test_contact_time_inverts_the_curve(time, injury):
    back = contact_time(contact_limit(time, injury), injury)
    assert back.seconds == pytest.approx(time, rel=1e-6)


@given(st.floats(1.0, 14000.0))
def test_longer_contact_bears_less_and_reversible_injury_comes_first(time):
    assert contact_limit(2.0 * time) < contact_limit(time)
    assert contact_limit(time, "reversible") < contact_limit(time)


def test_contact_beyond_the_curve():
    assert str(contact_time(75.0 + ZERO_C)) == "under 1 s"
    assert str(contact_time(40.0 + ZERO_C)) == "over 28800 s"
    with pytest.raises(RangeError, match="time of contact"):
        contact_limit(0.5)


def test_flags_lie_below_the_figures_they_guard():
    # just above the coolest row of the scald table; at ten minutes' contact
    assert scald_time(SCALD_LIMIT).seconds > 250.0
    assert contact_time(TOUCH_LIMIT).seconds > 600.0
