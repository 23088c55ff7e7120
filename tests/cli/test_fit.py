"""``soakbox fit`` as a builder runs it."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from thermo.errors import InfeasibleError

READINGS = (
    "--notebook", "--tank-before", "18 degC", "--tank-after", "40 degC",
    "--coolant-before", "75 degC", "--coolant-after", "52 degC", "--pass-time", "60 s",
)


def test_notebook_tells_share_balance_and_next_pass(soakbox, shipped) -> None:
    ran = soakbox("fit", shipped("base"), *READINGS, "--next-air", "40 degC",
                  "--next-tank", "35 degC")
    assert ran.status == 0
    for words in ("HEAT SHARE", "THE HEAT BALANCE", "share = heat / brake energy", "FITTED",
                  "engine.heat_share", "in air of 40 degC, tank at 35 degC", "boil margin"):
        assert words in ran.out
    assert max(map(len, ran.out.splitlines())) <= 80


def test_notebook_in_us_units_has_no_si_left(soakbox, shipped) -> None:
    ran = soakbox("fit", shipped("base"), *READINGS, "--units", "us", "--next-air", "100 degF",
                  "--plenum", "12.85 psia")
    assert ran.status == 0
    for unit in (" kJ", " K ", "degC", " kg", " Pa", "m/s", " K\n", "kPa"):
        assert unit not in ran.out


def test_notebook_as_json_and_scenario(soakbox, shipped, tmp_path: Path) -> None:
    target = tmp_path / "fitted.toml"
    ran = soakbox("fit", shipped("base"), *READINGS, "--json", "--out", target)
    assert ran.status == 0
    told = json.loads(ran.out)
    assert told["fitted"][0]["key"] == "engine.heat_share"
    assert told["heat_share"] == pytest.approx(
        sum(t["heat_J"] for t in told["balance"]) / told["brake_energy_J"])
    assert soakbox("check", target).status == 0
    assert "wrote" in ran.err


@pytest.mark.parametrize(
    ("options", "words"),
    [
        (("--notebook",), "--tank-before, --tank-after"),
        ((), "--notebook"),
        ((*READINGS[:2], "warm", *READINGS[3:]), "--tank-before"),
        ((*READINGS[:4], "17 degC", *READINGS[5:]), "more than tank-before"),
    ],
)
def test_what_is_missing_or_wrong_is_said(soakbox, shipped, options, words) -> None:
    ran = soakbox("fit", shipped("base"), *options)
    assert ran.status == 2
    assert words in ran.err
    assert not ran.out


def test_scenario_is_never_written_over(soakbox, shipped) -> None:
    ran = soakbox("fit", shipped("base"), *READINGS, "--out", shipped("base"))
    assert ran.status == 2
    assert "would write over it" in ran.err


@pytest.fixture(scope="module")
def log(tmp_path_factory) -> Path:
    import numpy as np

    from tests.oracles.log_generator import Sensors, Truth, measure, run, write

    course = run(Truth(heat_share=0.85))
    clock, columns = measure(course, Sensors(tail=100.0), np.random.default_rng(4))
    return write(tmp_path_factory.mktemp("log") / "pass.csv", clock, columns)


def test_log_is_fitted_and_written(soakbox, shipped, log: Path, tmp_path: Path) -> None:
    target = tmp_path / "fitted.toml"
    ran = soakbox("fit", shipped("base"), log, "--fit", "heat,drag", "--out", target,
                  "--next-air", "38 degC", "--units", "us", "--plots", tmp_path / "fit.svg")
    assert ran.status == 0
    for words in ("FITTED", "SHA-256", "engine.heat_share", "THE NEXT PASS", "in air of 100 degF"):
        assert words in ran.out
    for unit in ("degC", " K ", " K\n", "m/s", "m^2"):
        assert unit not in ran.out
    drawn = (tmp_path / "fit.svg").read_text(encoding="utf-8")
    assert drawn.startswith("<?xml")
    text = target.read_text(encoding="utf-8")
    assert "SHA-256" in text.splitlines()[0]
    assert "# bucket and watch, in the car" in text
    assert soakbox("check", target).status == 0


def test_a_next_pass_that_cannot_be_told_does_not_lose_the_fit(
    soakbox, shipped, log: Path, tmp_path: Path, monkeypatch
) -> None:
    def refuse(*_):
        raise InfeasibleError("the fit lies at the ends of what its inputs may be")

    monkeypatch.setattr("tui.verbs.fit.log_samples", refuse)
    target = tmp_path / "fitted.toml"
    ran = soakbox("fit", shipped("base"), log, "--fit", "drag", "--out", target)
    assert ran.status == 3
    assert "car.drag_area" in ran.out
    assert "It cannot be told: the fit lies at the ends" in " ".join(ran.out.split())
    assert target.exists()


def swapped(head: list[str], rows: list[list[str]]) -> None:
    a, b = head.index("Tank Out (degC)"), head.index("Tank In (degC)")
    head[a], head[b] = head[b], head[a]


def stuck(head: list[str], rows: list[list[str]]) -> None:
    at = head.index("Tank Out (degC)")
    for row in rows[150:]:
        row[at] = "25.0"


def fahrenheit(head: list[str], rows: list[list[str]]) -> None:
    at = head.index("Tank In (degC)")
    for row in rows:
        row[at] = f"{1.8 * float(row[at]) + 32.0:.1f}"


@pytest.mark.parametrize(
    ("change", "tag"),
    [(swapped, "swapped:tank_out"), (stuck, "stuck:tank_out"), (fahrenheit, "unit:tank_in")],
)
def test_what_is_wrong_with_a_log_is_refused_with_lines(
    soakbox, shipped, log: Path, tmp_path: Path, change, tag: str
) -> None:
    head, *rows = (line.split(",") for line in log.read_text(encoding="utf-8").splitlines())
    change(head, rows)
    bad, target = tmp_path / "bad.csv", tmp_path / "fitted.toml"
    bad.write_text("\n".join(map(",".join, [head, *rows])) + "\n", encoding="utf-8")
    ran = soakbox("fit", shipped("base"), bad, "--out", target)
    assert ran.status == 2
    assert not ran.out
    assert not target.exists()
    assert "lines" in ran.err
    assert f"--accept {tag}" in ran.err


def test_a_log_of_another_car_is_not_to_be_trusted(soakbox, shipped) -> None:
    log = Path(shipped("base")).with_name("base_pass.csv")
    ran = soakbox("fit", shipped("hot_day"), log, "--fit", "heat", "--accept", "unit:speed")
    assert ran.status == 3
    assert ran.out.index("?? NOT TO BE TRUSTED") < ran.out.index("FITTED")
    assert "the model does not follow speed" in ran.out


def test_passes_are_listed(soakbox, shipped, log: Path) -> None:
    ran = soakbox("fit", shipped("base"), log, "--list")
    assert ran.status == 0
    assert "by speed" in ran.out


@pytest.mark.parametrize(
    ("options", "words"),
    [(("--fit", "hat"), "Did you mean heat"), (("--leave-out", "x"), "channels are"),
     (("--pass", "4"), "passes 1 to 1"), (("--column", "tank_in=ECT:K"), "no column has this")],
)
def test_wrong_wishes_are_said(soakbox, shipped, log: Path, options, words) -> None:
    ran = soakbox("fit", shipped("base"), log, *options)
    assert ran.status == 2
    assert words in " ".join(ran.err.split())
