"""The hot-weather table: verdict by air temperature and tank start, or time in the queue.

Everything but the two inputs stays as the scenario has it, as with ``--set``. That holds for the
humidity too: a relative humidity is kept, so that hotter air carries more water; a dew point is
kept, and air below it is refused.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from thermo.axes import Axis, now_of, stepped
from thermo.digest import digest_of
from thermo.ensemble import VariantTable, Workers, run_variants
from thermo.errors import Problem, ScenarioError
from thermo.hazards.context import LEVELS
from thermo.hazards.margins import MARGINS
from thermo.scenario import Scenario
from thermo.site_air import DEFAULT_HUMIDITY
from thermo.survival import AIR, Days, Survival, points_of, scan_airs, survivals

TANK = "tank.start_temperature"
SHORTEST = 0.1
"""Shortest leg that can be solved [s]; it stands for a queue of no time."""

MOST_AIRS, MOST_COLUMNS = 12, 8
"""Rows and columns that one page holds."""

DEFAULT_AIRS = {"si": "20degC:45degC:5", "us": "70degF:110degF:10"}
DEFAULT_TANKS = {"si": "15degC:35degC:5", "us": "60degF:100degF:10"}
"""Ranges that are taken when none are given, by system of units."""


@dataclass(frozen=True, slots=True)
class Cell:
    """One day.

    Attributes
    ----------
    air : float
        [K].
    column : float
        Tank start [K] or time in the queue [s].
    verdict : str
        ``clear``, ``caution``, ``danger``, ``no verdict``, or ``refused``: the inputs contradict
        one another, and nothing was solved.
    binding : str
        The hazard that decides; empty without a verdict.
    value, limit : float
        Its figure and limit, in `unit`; not a number where it has none.
    unit : str
    boil_margin, after_boil_margin : float
        [K].
    reason : str
        Why there is no verdict; else empty.
    """

    air: float
    column: float
    verdict: str
    binding: str
    value: float
    limit: float
    unit: str
    boil_margin: float
    after_boil_margin: float
    reason: str


@dataclass(frozen=True, slots=True)
class WeatherTable:
    """The hot-weather table of one scenario.

    Attributes
    ----------
    title, digest : str
        Of the scenario; the digest names its content.
    airs : Axis
        Rows.
    columns : Axis
        Tank start temperatures, or times of one queue leg.
    queue : str
        Which leg waits, in words; empty when the columns are tank temperatures.
    cells : tuple of (tuple of Cell)
        Row by row.
    planned : Cell
        The scenario as it stands.
    survivals : tuple of Survival
        By hazard and level, in the order of the hazards; one entry a column, and last one whose
        tank starts with the air, as far from it as the scenario has it.
    offset : float
        How far the tank starts above the air in that last one [K].
    scanned : tuple of float
        Lowest and highest air looked at [K].
    assumed : tuple of str
        What is taken for granted, in words.
    """

    title: str
    digest: str
    airs: Axis
    columns: Axis
    queue: str
    cells: tuple[tuple[Cell, ...], ...]
    planned: Cell
    survivals: tuple[Survival, ...]
    offset: float
    scanned: tuple[float, float]
    assumed: tuple[str, ...]

    @property
    def counts(self) -> dict[str, int]:
        """How many cells have each verdict."""
        words = [cell.verdict for row in self.cells for cell in row]
        return {name: words.count(name) for name in (*LEVELS, "no verdict", "refused")}

    @property
    def exit_status(self) -> int:
        """Of the scenario as it stands: 0 no danger, 1 danger, 3 not to be trusted."""
        return {"danger": 1, "no verdict": 3, "refused": 3}.get(self.planned.verdict, 0)


def air_axis(text: str, option: str = "--air") -> Axis:
    """Read air temperatures as LO:HI:STEP; see :func:`thermo.axes.stepped`."""
    return stepped(text, AIR, option)


def tank_axis(text: str, option: str = "--tank") -> Axis:
    """Read tank start temperatures as LO:HI:STEP; see :func:`thermo.axes.stepped`."""
    return stepped(text, TANK, option)


def queue_axis(scenario: Scenario, text: str, option: str = "--queue") -> Axis:
    """Read times as LO:HI:STEP for the leg that waits before the first pass.

    Parameters
    ----------
    scenario : Scenario
    text : str
        Such as ``0min:40min:10``. No time at all is solved as 0.1 s, the shortest leg there is.
    option : str
        For messages.

    Returns
    -------
    Axis

    Raises
    ------
    ScenarioError
        The scenario has no leg of kind 'queue' before its first pass, or the text cannot be read.
    """
    number = queue_leg(scenario)
    if number is None:
        words = (
            "the scenario has no leg of kind 'queue' before its first pass; put one in front of "
            "the pass ([[leg]], kind = \"queue\", duration = \"10 min\"), or use --tank"
        )
        raise ScenarioError(option, [Problem("", "", words)])
    return stepped(text, f"leg[{number}].duration", option, SHORTEST)


def queue_leg(scenario: Scenario) -> int | None:
    """Return the last queue before the first pass, or None."""
    first = scenario.first_pass
    queues = [i for i in range(first) if scenario.leg[i].kind == "queue"]
    return queues[-1] if queues else None


def weather_table(
    scenario: Scenario,
    *,
    airs: Axis,
    columns: Axis,
    workers: Workers | int | None = 1,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> WeatherTable:
    """Solve the days of a hot-weather table, and find the hottest air for each limit.

    Parameters
    ----------
    scenario : Scenario
    airs : Axis
        Rows, by :func:`air_axis`.
    columns : Axis
        By :func:`tank_axis` or :func:`queue_axis`.
    workers : Workers or int, optional
        As in :func:`thermo.ensemble.run_variants`. Starting processes for so few variants takes
        longer than they save: one process unless some are up already.
    progress, cancelled : callable, optional
        As in :func:`thermo.ensemble.run_variants`; progress is told of each of the looks anew.

    Returns
    -------
    WeatherTable

    Raises
    ------
    ScenarioError
        More rows or columns than a page holds.
    StoppedError
        If `cancelled` said so.
    """
    _hold(airs, MOST_AIRS, "air temperatures")
    _hold(columns, MOST_COLUMNS, "columns")
    start, given = scenario.tank.start_temperature, now_of(scenario, columns.key)
    own = columns.values[0] if given is None else given
    offset = start - scenario.site.air_temperature
    last = len(columns)

    def look(days: Days) -> VariantTable:
        changes = {AIR: [air for air, _ in days]}
        if columns.key != TANK:
            changes[columns.key] = [own if i == last else columns.values[i] for _, i in days]
        changes[TANK] = [
            air + offset if i == last else columns.values[i] if columns.key == TANK else start
            for air, i in days
        ]
        return run_variants(
            scenario, changes,
            workers=workers, progress=progress, cancelled=cancelled, margins=True,
        )

    scan = scan_airs(airs.values)
    days = [(air, i) for i in range(last + 1) for air in scan]
    table = look([*days, (scenario.site.air_temperature, last)])
    size = len(scan)
    scans = [points_of(table, range(i * size, (i + 1) * size)) for i in range(last + 1)]
    place = {air: i for i, air in enumerate(scan)}
    return WeatherTable(
        title=scenario.title,
        digest=digest_of(scenario),
        airs=airs,
        columns=columns,
        queue=_queue_words(scenario, columns),
        cells=tuple(
            tuple(
                _cell(table, columns.key, j * size + place[air]) for j in range(len(columns))
            )
            for air in airs.values
        ),
        planned=_cell(table, columns.key, len(days)),
        survivals=survivals(scans, look),
        offset=offset,
        scanned=(scan[0], scan[-1]),
        assumed=_assumed(scenario, columns),
    )


def _hold(axis: Axis, most: int, words: str) -> None:
    if len(axis) > most:
        raise ScenarioError("weather", [Problem(
            axis.key, f"{len(axis)} {words}", f"a page holds at most {most}; take a larger step, "
            "or use soakbox map")])


def _cell(table: VariantTable, key: str, row: int) -> Cell:
    status = table.status[row]
    name = table.binding_names[row] if status == "ok" else ""
    margin = name in MARGINS
    return Cell(
        air=float(table.columns[AIR][row]),
        column=float(table.columns[key][row]),
        verdict=(
            LEVELS[int(table.level[row])] if status == "ok"
            else "refused" if table.refused[row] else "no verdict"
        ),
        binding=name,
        value=float(table.values[name][row]) if margin else math.nan,
        limit=float(table.limits[name][row]) if margin else math.nan,
        unit=MARGINS[name][0] if margin else "",
        boil_margin=float(table.figures["boil_margin_K"][row]),
        after_boil_margin=float(table.figures["after_boil_margin_K"][row]),
        reason="" if status == "ok" else status.removeprefix("no verdict: "),
    )


def _queue_words(scenario: Scenario, columns: Axis) -> str:
    if columns.key == TANK:
        return ""
    number = queue_leg(scenario)
    leg = scenario.leg[number or 0]
    name = "" if leg.label == leg.kind else f" '{leg.label}'"
    shortest = " (0 is solved as 0.1 s)" if columns.values[0] == SHORTEST else ""
    return f"time in the queue{name}, leg[{number}], the last before the first pass{shortest}"


def _assumed(scenario: Scenario, columns: Axis) -> tuple[str, ...]:
    site, tank = scenario.site, scenario.tank
    varied = "tank start" if columns.key == TANK else "time in the queue"
    start = (
        "" if columns.key == TANK
        else f" The tank starts the event at {tank.start_temperature - 273.15:.1f} degC."
    )
    if site.dew_point is not None:
        humid = (
            f"The dew point stays {site.dew_point - 273.15:.1f} degC; air cooler than that is "
            "refused."
        )
    else:
        given = site.relative_humidity
        share = DEFAULT_HUMIDITY if given is None else given
        humid = (
            f"The relative humidity stays {100.0 * share:.0f} %"
            f"{' (none is given)' if given is None else ''}, so that hotter air carries more water."
        )
    mixed = () if tank.mixing is not None else (
        "The tank's water is taken as mixed; tank.mixing is not chosen.",
    )
    return (
        f"All but air temperature and {varied} is as in the scenario, coolant "
        f"{scenario.coolant.start_temperature - 273.15:.0f} degC at the start.{start}",
        humid,
        "Tank start is the water when the event starts, air is in the shade at the course. "
        f"Legs: {', '.join(leg.label for leg in scenario.leg)}.",
        *mixed,
    )
