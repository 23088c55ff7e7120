"""Days of the build sheet: the hottest air, and the hottest tank start, that the plan survives."""

from __future__ import annotations

from dataclasses import replace

from thermo.answers import Answer, Setting
from thermo.scenario import Scenario, with_value
from thermo.size_search import Search, linear, seek
from thermo.trial import Trials
from thermo.units import format_number

HOTTEST_DAY = 333.15
"""Hottest air looked at [K]: the upper end of what a scenario may state."""


WARMEST_START = 368.15
"""Hottest tank start looked at [K]."""


def day_answers(scenario: Scenario, trials: Trials) -> list[Answer]:
    """Return the hottest air and the hottest tank start that the plan survives.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials
        Settled on the scenario.

    Returns
    -------
    list of Answer
    """
    return [_air(scenario, trials), _tank_start(scenario, trials)]


def _air(scenario: Scenario, trials: Trials) -> Answer:
    """Hottest air, the tank starting as far from it as now."""
    air = scenario.site.air_temperature
    offset = scenario.tank.start_temperature - air

    # Humidity follows the air as it is given: a relative humidity stays, and a dew point stays,
    # so that air cooler than that is no day at all and is not looked at.
    dew = scenario.site.dew_point
    damp = 0.0 if dew is None else dew + 0.01

    def day(x: float) -> Scenario:
        warm = with_value(scenario, "site.air_temperature", x)
        return with_value(warm, "tank.start_temperature", x + offset)

    hottest = seek(
        trials,
        Search(
            "hottest-air",
            "hottest air, tank water with it",
            "temperature",
            "site.air_temperature",
            "less",
            air,
            "day",
        ),
        linear(max(air - 25.0, 274.15 - min(offset, 0.0), 253.15, damp), HOTTEST_DAY),
        day,
    )
    if hottest.value is None:
        return hottest
    both = Setting("tank.start_temperature", hottest.value + offset, "temperature", "less")
    return replace(
        hottest,
        put=(*hottest.put, both),
        note=(
            f"the tank starts {format_number(abs(offset), 3)} K "
            f"{'below' if offset < 0.0 else 'above'} the air, as now; the "
            f"{'relative humidity' if dew is None else 'dew point'} stays; {hottest.note}"
            .rstrip("; ")
        ),
    )


def _tank_start(scenario: Scenario, trials: Trials) -> Answer:
    """Hottest water in the tank at the start."""
    now = scenario.tank.start_temperature
    return seek(
        trials,
        Search(
            "hottest-tank-start",
            "hottest tank start",
            "temperature",
            "tank.start_temperature",
            "less",
            now,
            "day",
        ),
        linear(max(now - 25.0, 274.15), WARMEST_START),
        lambda x: with_value(scenario, "tank.start_temperature", x),
    )
