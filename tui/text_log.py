"""Words of the page of a log: columns, call-outs, passes, what is fitted."""

from __future__ import annotations

import re
import textwrap
from typing import TYPE_CHECKING

from thermo.log_columns import CHANNELS
from thermo.quantity_text import printable
from thermo.units import System
from tui.text_fit import interval, value_of
from tui.wording import localised

if TYPE_CHECKING:
    from collections.abc import Sequence

    from thermo.errors import Problem
    from thermo.fit_parameters import Parameter
    from thermo.log_checks import Finding
    from thermo.log_columns import Mapped
    from thermo.log_passes import Pass
    from tui.logsetup import ColumnRow, LogSetup, Looked

UNITS = {
    "temperature": ("degC", "degF", "K"),
    "speed": ("km/h", "mph", "m/s", "ft/s", "knot"),
    "time": ("s", "ms", "min", "h"),
    "rotational_speed": ("rpm", "krpm"),
    "fraction": ("%",),
    "pressure_absolute": ("kPa", "bar", "mbar", "psi", "inHg", "kPa gauge", "bar gauge", "psig"),
}
"""Units that loggers write, by kind of quantity."""

PARTS = (0.3, 0.46)
"""Shares of a line for header and meaning of a column."""


def cut(text: str, width: int) -> str:
    """Return a text that is no longer than so many columns, and says so where it was."""
    return text if len(text) <= width else f"{text[: max(width - 2, 0)]}.."


def filled(text: str, width: int, indent: int = 3) -> str:
    """Return a text in lines of a width, all but the first indented."""
    return textwrap.fill(
        text, max(width, 20), subsequent_indent=" " * indent, break_on_hyphens=False
    )


def without_options(words: str) -> str:
    """Return words meant for the command line without the option that they advise."""
    if "--column" not in words:
        return words
    return re.sub(r"[,:;][^,:;]*$", "", words.split("--column")[0])


def column_line(row: ColumnRow, out: bool, width: int) -> str:
    """Return one column of the file: mark, header, what it is, unit, first reading."""
    means = CHANNELS[row.channel].means if row.channel else "not used"
    mark = "XX" if row.problem else "- " if out or not row.channel else "  "
    if out:
        means = f"left out: {means}"
    unit = "unit?" if row.problem and "unit" in row.problem else row.unit
    header = printable(row.header, 80) or f"column {row.place + 1}"
    return f"{mark} {_cells(header, means, unit, printable(row.sample, 40), width)}"


def column_head(width: int) -> str:
    """Return what stands over the columns of the file."""
    return f"   {_cells('COLUMN', 'TAKEN FOR', 'UNIT', 'FIRST', width)}"


def _cells(header: str, means: str, unit: str, sample: str, width: int) -> str:
    first, second = (int(share * (width - 3)) for share in PARTS)
    tail = f"{cut(unit, 9):<7} {cut(sample, 9)}"
    left = cut(tail, width - 3 - first - second)
    return f"{cut(header, first - 1):<{first}}{cut(means, second - 1):<{second}}{left}"


def column_words(row: ColumnRow, out: bool) -> str:
    """Return what the column under the cursor is, in full."""
    header = f'"{printable(row.header, 80)}"'
    if row.problem:
        words = without_options(row.problem)
        return f"XX {header} as {row.channel}: {words}. Enter says what it is, and its unit."
    if not row.channel:
        return f"{header} is not used. Enter says what it is."
    told = f"{header} is {CHANNELS[row.channel].means} ({row.channel}), in {row.unit}"
    if out:
        return f"{told}; it is left out of everything. x takes it back."
    by = "as you said" if row.by_hand else "by its name"
    leaves = "" if row.channel == "time" else ", x leaves it out"
    return f"{told}, {by}. Enter changes that{leaves}."


def problem_line(problem: Problem, width: int) -> str:
    """Return what keeps a log from being read or compared."""
    where = "" if problem.line is None else f"line {problem.line}: "
    given = f"given {problem.given}; " if problem.given else ""
    key = f"{problem.key}: " if problem.key else ""
    return filled(f"XX {where}{key}{given}{without_options(problem.allowed)}", width)


def finding_line(finding: Finding, accepted: bool, system: System, width: int) -> str:
    """Return one call-out: how it stands, what, where, why."""
    mark = "ok" if accepted else "XX" if finding.stops else "- "
    first, last = finding.lines
    where = f"line {first}" if first == last else f"lines {first} to {last}"
    stands = " (accepted)" if accepted else ""
    column = printable(finding.column, 80)
    return filled(
        f"{mark} {finding.name}{stands}: {column} ({finding.channel}), {where}: "
        f"{localised(finding.why, system)}", width)


def mend_words(columns: Sequence[Mapped]) -> str:
    """Return in words how columns would be taken."""
    return " and ".join(
        f'"{printable(one.header, 40)}" for {one.channel} in {one.unit}' for one in columns
    )


def pass_line(found: Pass, used: bool, width: int) -> str:
    """Return one pass of a log with its tick."""
    by = f"found by {found.by}" if found.by else "a whole recording"
    first, last = found.lines
    return cut(
        f"[{'x' if used else ' '}] pass {found.number}, from {found.start:.0f} s to "
        f"{found.end:.0f} s (lines {first} to {last}), {by}", width)


def parameter_line(name: str, known: Parameter | str, used: bool, system: System,
                   width: int) -> str:
    """Return one thing to fit with its tick: name, words, value now."""
    if isinstance(known, str):
        return cut(f" -  {name:<9}{known}", width)
    now = value_of(known.value, known.kind, system)
    return cut(f"[{'x' if used else ' '}] {name:<9}{known.title:<34}{now}", width)


def parameter_words(known: Parameter, system: System) -> str:
    """Return what is known of a parameter before the fit."""
    ends = interval(known.low, known.high, known.kind, system)
    return (f"{known.title} ({known.key}): before the fit most likely {ends}; "
            f"{localised(known.source, system)}. Enter ticks it.")


def summary(setup: LogSetup, looked: Looked) -> str:
    """Return where the log stands, and what is to be done next.

    Parameters
    ----------
    setup : LogSetup
    looked : Looked

    Returns
    -------
    str
    """
    name = printable(setup.path.name, 60)
    if looked.log is None:
        return f"{name}: not read yet, {_count(len(looked.problems), 'fault')}; press 2"
    log = looked.log
    span = float(log.time[-1] - log.time[0])
    told = f"{name}: {len(log.time)} rows over {span:.0f} s, {len(log.values)} channels"
    if looked.problems:
        return f"{told}. It cannot be compared: press 2"
    told += f", {_count(len(looked.passes), 'pass', 'passes')}"
    stopping = setup.stopping(looked)
    if stopping:
        verb = "stops" if len(stopping) == 1 else "stop"
        return f"{told}. {_count(len(stopping), 'call-out')} {verb} the fit: press 2"
    return f"{told}. Ready: f fits {', '.join(setup.fitted(looked)) or 'nothing'}"


def _count(number: int, one: str, many: str = "") -> str:
    return f"{number} {one if number == 1 else many or f'{one}s'}"
