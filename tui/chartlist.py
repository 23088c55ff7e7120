"""The charts in their order, and which of them take more solving than a key press may wait for."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass

from thermo.curves import net_against_size, tank_against_run
from thermo.driving import Driving
from thermo.errors import SoakboxError
from thermo.event import OvertakenError
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.trial import Trials
from thermo.units import System
from tui.charts import Chart, heat_chart, tank_chart, temperature_chart
from tui.ductcharts import duct_chart, net_size_chart, net_speed_chart, tank_run_chart


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a chart is to be made of.

    Attributes
    ----------
    name : str
        One of `NAMES`.
    result : EventResult
    scenario : Scenario
        What the event was solved for.
    width : int
        Columns to draw on.
    system : {'si', 'us'}
    """

    name: str
    result: EventResult
    scenario: Scenario
    width: int
    system: System

    @property
    def key(self) -> tuple[str, int, int, System]:
        """What tells one chart from another while its result is kept."""
        return self.name, id(self.result), self.width, self.system


@dataclass(slots=True)
class Watched(Trials):
    """Trials that are given up when `overtaken` says so."""

    overtaken: Callable[[], bool] = bool

    def driven(self, scenario: Scenario) -> tuple[Air, Driving]:
        """Return air and driven event of a variant, unless it is not wanted any more."""
        if self.overtaken():
            raise OvertakenError("another chart is wanted")
        # The two-argument form: slots make a new class, which a bare super() does not know.
        return super(Watched, self).driven(scenario)


Maker = Callable[[Wanted, Trials], Chart | None]


def _net_size(wanted: Wanted, trials: Trials) -> Chart | None:
    curve = net_against_size(wanted.scenario, trials)
    return None if curve is None else net_size_chart(curve, wanted.system)


CHARTS: dict[str, Maker] = {
    "temperatures": lambda w, _: temperature_chart(w.result, w.scenario, w.system, w.width),
    "heat": lambda w, _: heat_chart(w.result, w.system, w.width),
    "tank": lambda w, _: tank_chart(w.result, w.scenario, w.system, w.width),
    "duct": lambda w, _: duct_chart(w.result, w.system),
    "net against speed": lambda w, _: net_speed_chart(w.result, w.system, w.width),
    "net against size": _net_size,
    "tank against run": lambda w, t: tank_run_chart(tank_against_run(w.scenario, t), w.system),
}
"""What each chart is made by."""

NAMES = tuple(CHARTS)
SLOW = frozenset({"net against size", "tank against run"})
"""Charts that need the event solved many times: they are made in the background."""


class ChartShelf:
    """Charts of one result, each made once.

    Parameters
    ----------
    ready : callable
        Called, from another thread, when a chart that was made in the background is there.
    """

    def __init__(self, ready: Callable[[], object]) -> None:
        self._ready = ready
        self._of: EventResult | None = None
        self._made: dict[tuple[str, int, int, System], Chart | None] = {}
        self._making: Wanted | None = None

    def get(self, wanted: Wanted) -> tuple[bool, Chart | None]:
        """Return whether a chart is there, and the chart; None where there is nothing to draw.

        Parameters
        ----------
        wanted : Wanted
            One that takes long is begun in the background in place of any other.

        Returns
        -------
        tuple of (bool, Chart or None)
        """
        if self._of is not wanted.result:
            self._of = wanted.result
            self._made.clear()
        if wanted.key in self._made:
            return True, self._made[wanted.key]
        if wanted.name in SLOW:
            if self._making is None or self._making.key != wanted.key:
                self._making = wanted
                threading.Thread(
                    target=self._make, args=(wanted,), name="chart", daemon=True
                ).start()
            return False, None
        self._made[wanted.key] = CHARTS[wanted.name](wanted, Trials())
        return True, self._made[wanted.key]

    def give_up(self) -> None:
        """Stop what is being made."""
        self._making = None

    def _make(self, wanted: Wanted) -> None:
        trials = Watched(overtaken=lambda: self._making is not wanted)
        try:
            chart = CHARTS[wanted.name](wanted, trials)
        except SoakboxError:
            chart = None
        if self._making is wanted:
            self._made[wanted.key] = chart
            self._making = None
            self._ready()
