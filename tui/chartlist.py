"""The charts in their order, and which of them take more solving than a key press may wait for."""

from __future__ import annotations

from collections.abc import Callable

from thermo.curves import net_against_size, tank_against_run
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.trial import Trials
from thermo.units import System
from tui.charts import Chart, heat_chart, tank_chart, temperature_chart
from tui.ductcharts import duct_chart, net_size_chart, net_speed_chart, tank_run_chart

Maker = Callable[[EventResult, Scenario, int, System], Chart | None]


def _net_size(
    _result: EventResult, scenario: Scenario, _width: int, system: System
) -> Chart | None:
    curve = net_against_size(scenario, Trials())
    return None if curve is None else net_size_chart(curve, system)


CHARTS: dict[str, Maker] = {
    "temperatures": lambda r, s, w, u: temperature_chart(r, s, u, w),
    "heat": lambda r, s, w, u: heat_chart(r, u, w),
    "tank": lambda r, s, w, u: tank_chart(r, s, u, w),
    "duct": lambda r, s, w, u: duct_chart(r, u),
    "net against speed": lambda r, s, w, u: net_speed_chart(r, u, w),
    "net against size": _net_size,
    "tank against run": lambda r, s, w, u: tank_run_chart(tank_against_run(s, Trials()), u),
}
"""What each chart is made by."""

NAMES = tuple(CHARTS)
SLOW = frozenset({"net against size", "tank against run"})
"""Charts that need the event solved many times: they are made in the background."""


def make_chart(
    name: str, result: EventResult, scenario: Scenario, width: int, system: System
) -> Chart | None:
    """Return a chart by its name.

    Parameters
    ----------
    name : str
        One of `NAMES`.
    result : EventResult
    scenario : Scenario
    width : int
        Columns to draw on.
    system : {'si', 'us'}

    Returns
    -------
    Chart or None
        None where the scenario has nothing to draw.
    """
    return CHARTS[name](result, scenario, width, system)
