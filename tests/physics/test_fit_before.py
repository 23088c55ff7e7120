"""The ice of a notebook: what is there at the reading before counts, against events solved."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from thermo.errors import ScenarioError
from thermo.event import solve
from thermo.fit_notebook import Notebook, NotebookFit, fit_notebook
from thermo.inputs.event import Leg
from thermo.scenario import Scenario, with_value
from thermo.scenario_io import read_scenario

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
BELIEVED = 0.75
WARM_UP = {"straight": (), "queue": ("queue",), "warm-up": ("warm-up", "queue"),
           "served": ("warm-up", "service")}
"""What comes before the pass, by name."""


def scenario(before: str, share: float = BELIEVED) -> Scenario:
    """The shipped car with ice, a warm-up put first; or nothing before its pass."""
    base = with_value(read_scenario(SCENARIOS / "ice.toml").scenario, "engine.heat_share", share)
    made = {
        "queue": base.leg[0],
        "warm-up": Leg.model_validate({"kind": "warm-up", "duration": "5 min"}),
        "service": Leg.model_validate({"kind": "service", "duration": "2 min", "ice_mass": "2 kg"}),
    }
    number = base.first_pass
    legs = (*(made[kind] for kind in WARM_UP[before]), *base.leg[number : number + 2])
    return base.model_copy(update={"leg": legs})


@cache
def seen(before: str, share: float, run_on: float) -> tuple[Notebook, float, float]:
    """What perfect instruments show of an event, and the ice at both readings [kg]."""
    truth = scenario(before, share)
    number = truth.first_pass
    result = solve(with_value(truth, f"leg.{number + 1}.duration", run_on))
    h = result.history
    at = int(np.flatnonzero(h.leg == number)[0])
    book = Notebook(
        float(h.tank_mean[at]), float(h.tank_mean[-1]), float(h.coolant[at]),
        float(h.coolant[-1]), result.cooling.pass_time_s, run_on)
    return book, float(h.ice[at]), float(h.ice[-1])


def ice_term(found: NotebookFit) -> tuple[float, str]:
    """Heat of the ice in the balance [J], and the words about it."""
    term = next(t for t in found.terms if t.name.startswith("ice"))
    return term.heat, "".join(p if isinstance(p, str) else f"{p[0]:.2f}" for p in term.how)


@pytest.mark.parametrize("share", [0.6, 0.9])
@pytest.mark.parametrize("before", list(WARM_UP))
def test_share_of_the_event_is_found_whatever_melted_before(before: str, share: float) -> None:
    book, there, left = seen(before, share, 300.0)
    assert left < 0.02 * 5.44
    found = fit_notebook(scenario(before), book)
    # 2 % is what mean temperatures for the loss to the air, and the metal, leave.
    assert found.share == pytest.approx(share, rel=0.02)
    assert f"{there:.2f} of " in ice_term(found)[1]
    assert any("is taken to be there" in note for note in found.notes)


def test_ice_that_melted_in_the_warm_up_does_not_count() -> None:
    """All ice counted would make the share of this event half as much again."""
    book, there, _ = seen("warm-up", 0.6, 300.0)
    assert there < 1.0
    heat, _ = ice_term(fit_notebook(scenario("warm-up"), book))
    assert heat == pytest.approx(there * (333.43e3 + 4.19e3 * (book.tank_after - 273.15)), rel=0.03,
                                 abs=0.02 * 5.44 * 400e3)


def test_ice_left_at_the_reading_after_is_asked_for_and_does_not_count() -> None:
    book, there, left = seen("queue", 0.6, 80.0)
    assert 0.3 < left < there
    with pytest.raises(ScenarioError, match="ice may be left at this reading"):
        fit_notebook(scenario("queue"), book)
    found = fit_notebook(scenario("queue"), replace(book, ice_after=left))
    # 80 s leave some heat in the metal yet.
    assert found.share == pytest.approx(0.6, rel=0.03)
    assert "at that after" in ice_term(found)[1]


def test_ice_as_read_goes_before_the_model() -> None:
    """Believed to be one block, which the queue hardly melts: the crew's word puts it right."""
    book, there, _ = seen("queue", 0.6, 300.0)
    block = with_value(with_value(scenario("queue"), "tank.ice_form", "block"),
                       "tank.ice_size", None)
    found = fit_notebook(block, replace(book, ice_before=there, ice_after=0.0))
    # The loss to the air is that of the block's colder tank.
    assert found.share == pytest.approx(0.6, rel=0.04)
    assert "as read" in ice_term(found)[1]


def test_the_interval_widens_by_what_the_tank_is_apart_from_the_model() -> None:
    book, there, _ = seen("queue", 0.6, 300.0)
    near = fit_notebook(scenario("queue"), book)
    apart = fit_notebook(scenario("queue"), replace(book, tank_before=book.tank_before + 2.0))
    # 2 K in the tank's water are so much ice, which would have been melted and warmed.
    water = 17.199 - there
    doubt = water * 4190.0 * 2.0 / 333.43e3 * (333.43e3 + 4185.0 * (book.tank_after - 273.15))
    grown = math.sqrt(apart.share_error**2 - near.share_error**2)
    assert grown == pytest.approx(doubt / near.brake_energy, rel=0.08)


@pytest.mark.parametrize(
    ("before", "change", "words"),
    [
        ("queue", {"tank_before": 288.15}, "how much ice was left at tank-before cannot be told"),
        ("straight", {"tank_before": 273.65}, "cannot be told: in the model 5.4 kg of ice is left"),
        ("queue", {"ice_before": 9.0}, "0 kg to the 5.44 kg that the scenario puts in"),
        ("queue", {"ice_before": -1.0}, "0 kg to the 5.44 kg"),
        ("queue", {"ice_before": 1.0, "ice_after": 2.0}, "at most what was there before the pass"),
        ("queue", {"ice_before": 0.0, "tank_after": 273.2}, "a pass warms the tank"),
    ],
)
def test_ice_that_cannot_be_told_is_refused(
    before: str, change: dict[str, float], words: str
) -> None:
    book, _, _ = seen("queue", 0.6, 300.0)
    with pytest.raises(ScenarioError, match=words):
        fit_notebook(scenario(before), replace(book, **change))


def test_warm_tank_with_no_ice_left_in_the_model_counts_none() -> None:
    """A longer queue on a warm day melts all; a tank read warmer than the model's says the same."""
    base = with_value(scenario("queue"), "leg.0.duration", 6000.0)
    found = fit_notebook(base, Notebook(295.15, 320.0, 340.0, 322.0, 60.0, 300.0))
    assert ice_term(found)[0] == 0.0


def test_ice_without_ice_in_the_scenario_is_refused() -> None:
    base = with_value(scenario("queue"), "tank.ice_mass", 0.0)
    with pytest.raises(ScenarioError, match="0 kg to the 0 kg"):
        fit_notebook(base, Notebook(285.15, 315.0, 348.15, 320.0, 60.0, ice_before=2.0))
