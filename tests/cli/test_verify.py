"""``soakbox verify``: passes on a sound engine, and says so when a constant is spoilt."""

from __future__ import annotations

import json

import pytest

from thermo.published.case import Case, Expected, all_cases
from thermo.published.verification import tolerance_words, verify


def test_every_case_holds_and_the_table_fits(soakbox):
    ran = soakbox("verify")
    assert ran.status == 0
    assert ran.err == ""
    lines = ran.out.splitlines()
    numbers = sum(len(c.expected) for c in all_cases())
    assert sum(line.startswith("  ok ") for line in lines) == numbers
    assert "MISS" not in ran.out
    assert max(map(len, lines)) <= 80
    assert lines[-1].startswith(f"ALL HOLD: {numbers} published numbers")
    for name in ("Python 3.", "CoolProp ", "numpy ", "scipy "):
        assert name in ran.out
    for case in all_cases():
        assert " ".join(case.source.split()) in " ".join(ran.out.split())


@pytest.mark.parametrize(
    ("place", "factor"),
    [("thermo.ice.LATENT_HEAT", 1.02), ("thermo.moist_air.R_MOLAR", 0.98)],
)
def test_a_spoilt_constant_is_a_miss(soakbox, monkeypatch, place, factor):
    module, _, name = place.rpartition(".")
    sound = getattr(__import__(module, fromlist=[name]), name)
    monkeypatch.setattr(place, factor * sound)
    ran = soakbox("verify", "--brief")
    assert ran.status == 3
    assert "  MISS " in ran.out
    assert "MISSED: " in ran.out
    assert "cannot be trusted" in " ".join(ran.out.split())
    got = json.loads(soakbox("verify", "--json").out)
    assert got["missed"] == sum(not row["holds"] for row in got["checked"]) > 0
    assert got["missed"] < got["numbers"]


def test_a_function_that_raises_is_a_miss_and_is_told(soakbox, monkeypatch):
    def broken(*_):
        raise ZeroDivisionError("spoilt")

    monkeypatch.setattr("thermo.published.gas.fanno_length", broken)
    ran = soakbox("verify", "--brief")
    assert ran.status == 3
    assert "ZeroDivisionError: spoilt" in ran.out
    assert "none" in ran.out


def test_json_tells_versions_and_every_number(soakbox):
    got = json.loads(soakbox("verify", "--json").out)
    assert got["schema"] == 1
    assert got["missed"] == 0
    assert got["cases"] == len(all_cases())
    assert {"Soakbox", "Python", "CoolProp", "numpy", "scipy"} <= set(got["versions"])
    row = got["checked"][0]
    assert {"id", "what", "source", "label", "expected", "got", "unit", "tolerance",
            "holds"} <= set(row)


def test_numbers_left_out_or_not_finite_never_hold():
    case = Case("X-1", "x", "closed form", "made up", {"a": Expected(1.0, "m", rel=0.01),
                "b": Expected(2.0, "m", abs=0.5)}, lambda: {"a": float("nan")})
    first, second = verify([case])
    assert (first.holds, second.holds) == (False, False)
    assert second.error == "not computed"
    assert first.tolerance == "1 %"
    assert second.tolerance == "0.5 m"
    assert tolerance_words(Expected(1.0)) == "exact"
