"""From a result to what the screen shows: verdict, hazards, figures, and the moment in time."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from thermo.results import RANK, EventResult, Flag
from thermo.units import System
from tui.charts import (
    Chart,
    Limit,
    Margin,
    Series,
    heat_chart,
    tank_chart,
    temperature_chart,
)
from tui.comparing import CompareRow, Comparison, compare
from tui.ductcharts import duct_chart, net_size_chart, net_speed_chart, tank_run_chart
from tui.figures import FigureRow, figure_rows
from tui.timeline import timeline
from tui.wording import flag_amount, localised
from tui.words import MARKS, words_of

LEVEL_WORDS = {
    "danger": "DANGER",
    "caution": "CAUTION",
    "clear": "CLEAR",
    "no verdict": "NO VERDICT",
}
NO_MARK = "??"
"""Shape of 'no verdict'."""

HEADLINES = ("tank_peak", "boil_margin", "tank_pressure", "net_gain")
"""Figures whose change an edit is told by, most telling first."""


@dataclass(frozen=True, slots=True)
class VerdictLine:
    """The verdict in words.

    Attributes
    ----------
    level : {'clear', 'caution', 'danger', 'no verdict'}
    mark : str
        Shape of the level: ok, !, XX, ??.
    word : str
    name : str
        Flag that binds.
    limit : str
        What binds, with figure and limit: ``margin to boiling 8.51 K, at least 10 K wanted``.
    gap : str
        By how much: ``1.49 K short``; empty where there is no number.
    when : str
        ``at 90 s (coast)``; empty where it is not tied to a moment.
    row : int or None
        Row of the history at that moment.
    changes : tuple of str
        What an edit has changed: ``tank, hottest 61.2 degC, was 66.9 degC``.
    """

    level: str
    mark: str
    word: str
    name: str
    limit: str
    gap: str
    when: str
    row: int | None
    changes: tuple[str, ...] = ()

    @property
    def text(self) -> str:
        """The verdict in one line."""
        parts = [p for p in (self.limit, self.gap, self.when) if p]
        return f"{self.mark} {self.word}: {', '.join(parts)}"


@dataclass(frozen=True, slots=True)
class HazardRow:
    """One hazard in a list.

    Attributes
    ----------
    name : str
        Of the flag.
    level : {'clear', 'caution', 'danger'}
    mark, title : str
        Shape of the level, and the name in plain words.
    value, limit : str
        ``8.51 K`` and ``at least 10 K``; empty where there is none.
    figure : str
        Both: ``8.51 K, at least 10 K wanted``.
    gap : str
        By how much it is missed, or kept.
    when, where, why, remedy : str
    row : int or None
        Row of the history at its moment.
    inputs : tuple of str
        Keys of the inputs that drive it most.
    """

    name: str
    level: str
    mark: str
    title: str
    value: str
    limit: str
    figure: str
    gap: str
    when: str
    where: str
    why: str
    remedy: str
    row: int | None
    inputs: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class LegMark:
    """Where a leg begins.

    Attributes
    ----------
    label : str
    start, end : float
        [s].
    row : int or None
        Its first row in the history; None for a leg that has none, such as a service.
    """

    label: str
    start: float
    end: float
    row: int | None


def moment_at(result: EventResult, time: float) -> int:
    """Return the row of the history nearest to a time.

    Parameters
    ----------
    result : EventResult
    time : float
        [s]; a time outside the event gives its first or last row.

    Returns
    -------
    int
    """
    return int(np.argmin(np.abs(result.history.time - time)))


def step_moment(result: EventResult, row: int, by: int) -> int:
    """Return the row some moments on, or back; rows of one and the same time count once.

    Parameters
    ----------
    result : EventResult
    row : int
        Where the moment is.
    by : int
        Moments; negative is back. The event's ends are where it stops.

    Returns
    -------
    int
    """
    times = result.history.time
    firsts = np.flatnonzero(np.diff(times, prepend=-math.inf) > 1e-9)
    here = int(np.searchsorted(firsts, row, side="right")) - 1
    goal = min(max(here + by, 0), len(firsts) - 1)
    return row if goal == here else int(firsts[goal])


def leg_marks(result: EventResult) -> tuple[LegMark, ...]:
    """Return the legs with the rows at which they begin.

    Parameters
    ----------
    result : EventResult

    Returns
    -------
    tuple of LegMark
    """
    legs = result.history.leg
    out = []
    for number, (label, start, end) in enumerate(result.legs):
        rows = np.flatnonzero(legs == number)
        out.append(LegMark(label, start, end, int(rows[0]) if len(rows) else None))
    return tuple(out)


def _row_of(result: EventResult, flag: Flag) -> int | None:
    """Return the row of a flag's moment; where two rows share the time, the one of its leg."""
    if math.isnan(flag.at_s):
        return None
    row = moment_at(result, flag.at_s)
    times, legs = result.history.time, result.history.leg
    same = np.flatnonzero(np.abs(times - times[row]) < 1e-9)
    return next((int(i) for i in same if result.legs[int(legs[i])][0] == flag.leg), row)


def _when(flag: Flag) -> str:
    return "" if math.isnan(flag.at_s) else f"at {flag.at_s:.0f} s ({flag.leg})"


def gap_of(flag: Flag, system: System = "si") -> str:
    """Return by how much a flag's figure misses its limit, or keeps it, in words.

    Parameters
    ----------
    flag : Flag
    system : {'si', 'us'}

    Returns
    -------
    str
        ``1.49 K short``, ``27.4 K over``, ``21.4 K to spare``; empty where there is no number.
    """
    gap = 0.0 if math.isclose(flag.value, flag.limit) else flag.value - flag.limit
    if not math.isfinite(gap):
        return ""
    if not flag.is_floor:
        gap = -gap
    unit = "K" if flag.unit == "degC" else flag.unit
    told = flag_amount(abs(gap), unit, system).replace(" gauge", "").replace("psig", "psi")
    if gap >= 0.0:
        return f"{told} to spare"
    return f"{told} {'short' if flag.is_floor else 'over'}"


def hazard_row(result: EventResult, flag: Flag, system: System = "si") -> HazardRow:
    """Return one hazard as a row of the list."""
    value = flag_amount(flag.value, flag.unit, system) if not math.isnan(flag.value) else ""
    sense = "at least" if flag.is_floor else "at most"
    limit = ""
    if not math.isnan(flag.limit):
        limit = f"{sense} {flag_amount(flag.limit, flag.unit, system)}"
    figure = f"{value}, {limit} wanted" if value and limit else value or "no figure"
    return HazardRow(
        name=flag.name,
        level=flag.level,
        mark=MARKS[flag.level],
        title=words_of(flag.name).title,
        value=value,
        limit=limit,
        figure=figure,
        gap=gap_of(flag, system),
        when=_when(flag),
        where=flag.where,
        why=localised(flag.why, system),
        remedy=flag.remedy,
        row=_row_of(result, flag),
        inputs=flag.inputs,
    )


def hazard_rows(result: EventResult, system: System = "si") -> tuple[HazardRow, ...]:
    """Return every hazard, dangers first; clear ones too, so that one sees what was checked.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    tuple of HazardRow
    """
    ranked = sorted(result.flags, key=lambda f: -RANK[f.level])
    return tuple(hazard_row(result, flag, system) for flag in ranked)


def verdict_line(
    result: EventResult, system: System = "si", previous: EventResult | None = None
) -> VerdictLine:
    """Return the verdict: the word, the limit that binds, by how much, when, and what changed.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}
    previous : EventResult, optional
        The event before an edit.

    Returns
    -------
    VerdictLine
    """
    row = hazard_row(result, result.binding, system)
    word = result.verdict.upper()
    line = VerdictLine(
        level=result.verdict,
        mark=MARKS.get(result.verdict, NO_MARK),
        word=word,
        name=row.name,
        limit=f"{row.title} {row.figure}",
        gap=row.gap,
        when=row.when,
        row=row.row,
    )
    if result.untrusted:
        why = localised("; ".join(result.untrusted), system)
        line = replace(line, limit=f"the figures cannot be trusted: {why}", gap="")
    if previous is None:
        return line
    return replace(line, changes=_changes(result, previous, system))


def _changes(result: EventResult, previous: EventResult, system: System) -> tuple[str, ...]:
    """Return what an edit has changed: the verdict, what binds, and the telling figures."""
    out: list[str] = []
    if result.verdict != previous.verdict:
        out.append(f"{result.verdict.upper()}, was {previous.verdict.upper()}")
    if result.binding.name != previous.binding.name:
        now, was = (words_of(r.binding.name).title for r in (result, previous))
        out.append(f"{now} binds, was {was}")
    rows = {r.name: r for r in figure_rows(result, system, previous)}
    out += [
        f"{rows[name].label} {rows[name].value}, {rows[name].change}"
        for name in HEADLINES
        if name in rows and rows[name].change
    ]
    return tuple(out)


__all__ = [
    "Chart",
    "CompareRow",
    "Comparison",
    "FigureRow",
    "HazardRow",
    "LegMark",
    "Limit",
    "Margin",
    "Series",
    "VerdictLine",
    "compare",
    "duct_chart",
    "figure_rows",
    "gap_of",
    "hazard_row",
    "hazard_rows",
    "heat_chart",
    "leg_marks",
    "moment_at",
    "net_size_chart",
    "net_speed_chart",
    "step_moment",
    "tank_chart",
    "tank_run_chart",
    "temperature_chart",
    "timeline",
    "verdict_line",
]
