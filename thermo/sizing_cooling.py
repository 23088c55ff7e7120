"""Sizes of the cooling side: tank, run, exchanger, flows, line, fill and ice."""

from __future__ import annotations

import numpy as np

from thermo.answers import Answer
from thermo.engine_table import peak_power
from thermo.errors import SoakboxError
from thermo.inputs.loops import Exchanger
from thermo.inputs.tank import LEAST_WIDTH, MOST_WIDTH
from thermo.scenario import Scenario, with_value
from thermo.size_search import SCAN, Search, geometric, linear, seek
from thermo.trial import COOLANT_FLOW, ENGINE_RISE, Trials


def tank_range(scenario: Scenario) -> tuple[float, float]:
    """Return the volumes looked at [m3]; a box of given sides keeps a width that is accepted."""
    tank = scenario.tank
    low, high = tank.volume / 8, tank.volume * 8
    if tank.length is not None and tank.height is not None:
        side = tank.length * tank.height
        low, high = max(low, 1.001 * LEAST_WIDTH * side), min(high, 0.999 * MOST_WIDTH * side)
    return low, high


def cooling_answers(scenario: Scenario, trials: Trials) -> list[Answer]:
    """Return the sizes of tank, run, exchanger, flow, line, fill and ice.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials
        Settled on the scenario.

    Returns
    -------
    list of Answer
    """
    asked = [_tank, _run, _conductance, _tank_flow]
    if scenario.loop.pump is not None and scenario.loop.flow is None:
        asked.append(_line_bore)
    asked += [_coolant_flow, _fill]
    if scenario.tank.glycol == "none":
        asked.append(_ice)
    return [ask(scenario, trials) for ask in asked]


def _tank(scenario: Scenario, trials: Trials) -> Answer:
    """Smallest tank."""
    return seek(
        trials,
        Search(
            "tank-volume", "smallest tank", "volume", "tank.volume", "more", scenario.tank.volume
        ),
        geometric(*tank_range(scenario)),
        lambda x: with_value(scenario, "tank.volume", x),
    )


def _run(scenario: Scenario, trials: Trials) -> Answer:
    """Longest pass, by what its leg is told by."""
    number = scenario.first_pass
    leg = scenario.leg[number]
    by = "distance" if leg.distance is not None else "duration"
    length = float(leg.distance or leg.duration or 1.0)
    return seek(
        trials,
        Search(
            f"run-{by}",
            f"longest pass, by {by}",
            "length" if by == "distance" else "time",
            f"leg[{number}].{by}",
            "less",
            length,
        ),
        geometric(max(length / 5, leg.timed_to or 0.0), length * 5),
        lambda x: with_value(scenario, f"leg.{number}.{by}", x),
    )


def _conductance(scenario: Scenario, trials: Trials) -> Answer:
    """Least conductance of the exchanger, whatever describes it now."""
    table = scenario.exchanger
    try:
        history = trials.solve(scenario).told.history
    except SoakboxError:
        ua = 28e-3 * float(peak_power(scenario.engine))
    else:
        ua = max(float(history.ua[int(np.argmax(history.exchanger_heat))]), 1.0)

    def fitted(x: float) -> Scenario:
        one = Exchanger.model_construct(
            **{
                **{n: getattr(table, n) for n in Exchanger.model_fields},
                "ua": x,
                "ua_scale": 1.0,
                "rated": None,
                "double_pipe": None,
                "plate": None,
            }
        )
        return scenario.model_copy(update={"exchanger": one})

    return seek(
        trials,
        Search(
            "exchanger-ua",
            "least exchanger conductance",
            "conductance",
            "exchanger.ua" if _told_by_ua(table) else "",
            "more",
            ua,
        ),
        geometric(ua / 12, ua * 6),
        fitted,
    )


def _told_by_ua(table: Exchanger) -> bool:
    """Whether ``exchanger.ua`` can be set: nothing else describes the exchanger."""
    described = table.rated is not None or table.double_pipe is not None or table.plate is not None
    return not described and table.ua_scale == 1.0


def _tank_flow(scenario: Scenario, trials: Trials) -> Answer:
    """Least flow of tank water, whatever gives it now."""
    loop = scenario.loop
    try:
        now = float(trials.solve(scenario).cooling.cold_flow.flow)
    except SoakboxError:
        now = 0.0
    now = max(now, 1e-5)

    def flowing(x: float) -> Scenario:
        return scenario.model_copy(
            update={"loop": loop.model_copy(update={"flow": x, "pump": None})}
        )

    return seek(
        trials,
        Search("tank-flow", "least tank flow", "volume_flow", "loop.flow", "more", now),
        geometric(now / 6, now * 4),
        flowing,
    )


def _line_bore(scenario: Scenario, trials: Trials) -> Answer:
    """Smallest bore of both tank lines, the pump's curve setting the flow."""
    loop = scenario.loop

    def bored(x: float) -> Scenario:
        lines = {
            "supply": loop.supply.model_copy(update={"bore": x}),
            "return_": loop.return_.model_copy(update={"bore": x}),
        }
        return scenario.model_copy(update={"loop": loop.model_copy(update=lines)})

    now = loop.supply.bore
    return seek(
        trials,
        Search(
            "line-bore",
            "smallest bore of both lines",
            "length",
            "loop.supply.bore, loop.return.bore",
            "more",
            now,
        ),
        geometric(max(now / 4, 0.006), now * 2.5),
        bored,
    )


def _coolant_flow(scenario: Scenario, trials: Trials) -> Answer:
    """Least flow of coolant through the engine."""
    coolant = scenario.coolant
    try:
        now = float(trials.solve(scenario).cooling.full_hot_flow)
    except SoakboxError:
        now = 0.0
    per_power = float(peak_power(scenario.engine)) / 1e3 / 60e3

    def flowing(x: float) -> Scenario:
        return scenario.model_copy(
            update={"coolant": coolant.model_copy(update={"flow": x, "pump": None})}
        )

    return seek(
        trials,
        Search(
            "coolant-flow", "least coolant flow", "volume_flow", "coolant.flow", "more",
            now if now > 0.0 else None,
        ),
        geometric(0.2 * per_power, max(4.0 * per_power, 1.5 * now)),
        flowing,
        frozenset((COOLANT_FLOW, ENGINE_RISE)),
    )


def _fill(scenario: Scenario, trials: Trials) -> Answer:
    """Range of fill that holds: more water cools, less gas bursts."""
    return seek(
        trials,
        Search("tank-fill", "highest fill", "fraction", "tank.fill", "less", scenario.tank.fill),
        [float(x) for x in np.linspace(0.35, 0.99, SCAN + 2)],
        lambda x: with_value(scenario, "tank.fill", x),
    )


def _ice(scenario: Scenario, trials: Trials) -> Answer:
    """Least ice in the tank at the start, in place of as much water."""
    tank = scenario.tank
    most = 0.8 * tank.fill * tank.volume * 916.7
    return seek(
        trials,
        Search(
            "ice-mass", "least ice at the start", "mass", "tank.ice_mass", "more", tank.ice_mass
        ),
        linear(0.0, most),
        lambda x: with_value(scenario, "tank.ice_mass", x),
    )
