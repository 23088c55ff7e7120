"""A fit begins at the scenario as it stands, and says so where it ends no better."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from tests.oracles.log_generator import write
from thermo.fit import fit
from thermo.fit_problem import FLOORS, LAG
from thermo.fit_traces import STEP, lagged, traces
from thermo.log_csv import Log, read_log
from thermo.scenario import Scenario, with_value
from thermo.scenario_io import read_scenario

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
CHANNELS = ("coolant_out", "coolant_in", "tank_out", "tank_in", "speed")
FOUR = ("heat", "ua", "metal", "drag")
CARS: dict[str, tuple[dict[str, object], tuple[str, ...]]] = {
    "as it ships": ({}, FOUR),
    "at the ends": ({
        "engine.heat_share": 1.15, "exchanger.ua": 2300.0, "engine.metal_heat_capacity": 9e3,
        "car.drag_area": 0.14}, FOUR),
    "strong pumps": ({
        "loop.flow": 60.0 / 60e3, "loop.flow_measured": False, "coolant.flow": 110.0 / 60e3,
        "coolant.flow_measured": False, "exchanger.ua": 800.0},
        ("heat", "ua", "metal", "excess", "flow", "hot-flow", "drag", "rolling")),
}
"""Cars, some far from the middle of what is usual, and what is fitted of each. Of the last, a
search that begins in the middle stops with the flow a fourteenth off."""


def scenario(car: str) -> Scenario:
    made = read_scenario(SCENARIOS / "base.toml").scenario
    for key, value in CARS[car][0].items():
        made = with_value(made, key, value)
    return made


def logged(made: Scenario, folder: Path) -> Log:
    """The scenario's own traces as a logger of usual probes writes them down: rounded."""
    told = traces(made)
    every = round(0.5 / STEP)
    columns = {}
    for name in CHANNELS:
        values = told.columns[name]
        if name == "speed":
            columns[name] = 3.6 * np.nan_to_num(values)[::every]
        else:
            columns[name] = (lagged(values, LAG) - 273.15)[::every]
    # Nobody logs the hours after: the run-on is enough.
    keep = told.time[::every] < 200.0
    return read_log(write(folder / "log.csv", told.time[::every][keep],
                          {name: c[keep] for name, c in columns.items()}))


@pytest.mark.parametrize("car", list(CARS))
def test_a_log_of_the_scenario_itself_ends_no_worse_than_it_began(
    car: str, tmp_path: Path
) -> None:
    made = scenario(car)
    found = fit(made, logged(made, tmp_path), CARS[car][1])
    for channel, (before, after) in found.misfit.items():
        # What is rounded away cannot be told: the least that a reading is held to be off by.
        assert after <= max(before, FLOORS.get(channel, 0.03)), channel
    assert not found.poor
    for one in found.fitted:
        assert one.value == pytest.approx(one.before, rel=0.02)


def test_a_fit_that_ends_no_better_is_not_to_be_trusted(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A search that goes astray and stays there is found out."""
    made = scenario("as it ships")
    log = logged(made, tmp_path)
    monkeypatch.setattr(
        "thermo.fit._least",
        lambda _problem, start, _noise, _steps: SimpleNamespace(x=start + 0.8, cost=0.0))
    found = fit(made, log, ("heat", "ua"))
    said = " ".join(found.poor)
    assert "ends no better than the scenario as it stands" in said
    assert found.misfit["coolant_out"][1] > found.misfit["coolant_out"][0]
