"""A logger's CSV file read into columns of numbers, a million rows at a time without strain.

Comma, semicolon or tab between cells; decimal point or comma; lines before the header; units in
the header or in a row beneath it; empty cells; time as seconds or as a clock. What cannot be read
is said with its line.
"""

from __future__ import annotations

import csv
import hashlib
import itertools
import os
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.errors import Problem
from thermo.log_columns import CHANNELS, Choice, choose, read_mapping
from thermo.log_layout import (
    EMPTY,
    Layout,
    LogError,
    layout_of,
    number_of,
    regular,
    seconds_of,
)
from thermo.quantity_text import printable, quoted

Floats = npt.NDArray[np.float64]

CHUNK = 20_000
"""Rows converted together: enough to be quick, few enough to be small."""

MOST_ROWS = 20_000_000
MOST_TOLD = 5
"""Lines told in which time starts anew."""

MOST_TIME = 1e12
"""Latest time that is one [s], some 30,000 years."""

MOST_UNREADABLE = 0.5
"""Share of a column's filled cells that may be unreadable before it is refused."""


@dataclass(frozen=True, slots=True)
class Note:
    """Something about a log that its reader must know, though it stops nothing.

    Attributes
    ----------
    channel : str
        Empty for the log as a whole.
    words : str
    """

    channel: str
    words: str


@dataclass(frozen=True, slots=True)
class Log:
    """A log as read.

    Attributes
    ----------
    source : str
        File name, safe to print.
    sha256 : str
        Of the file.
    time : ndarray, shape (rows,)
        Rising [s]; a recording that starts anew goes on after a pause of `PAUSE`.
    line : ndarray of int, shape (rows,)
        Line of the file behind each row.
    values : dict of str to ndarray
        By channel, SI; not a number where there is no reading.
    choices : dict of str to Choice
        Which column each channel is.
    unused : tuple of str
        Headers of columns that are no channel.
    sections : tuple of int
        First row of each recording in the file.
    notes : tuple of Note
    """

    source: str
    sha256: str
    time: Floats
    line: npt.NDArray[np.int64]
    values: dict[str, Floats]
    choices: dict[str, Choice]
    unused: tuple[str, ...]
    sections: tuple[int, ...]
    notes: tuple[Note, ...]

    def lines(self, rows: Any) -> tuple[int, int]:
        """Return first and last line of the file behind some rows (a mask or places)."""
        found = self.line[rows]
        return int(found[0]), int(found[-1])

    def without(self, channels: Sequence[str]) -> Log:
        """Return the log as if some channels had not been recorded; their columns stay named."""
        kept = {name: v for name, v in self.values.items() if name not in channels}
        return replace(self, values=kept)


PAUSE = 600.0
"""Pause put between two recordings in one file, whose distance in time is not known [s]."""


@dataclass(slots=True)
class _Gathered:
    """Columns while they are read."""

    parts: list[list[Floats]]
    bad: list[list[tuple[int, str]]]
    lines: list[Floats] = field(default_factory=list)
    ragged: list[int] = field(default_factory=list)
    rows: int = 0


def read_log(path: str | os.PathLike[str], mapping: Sequence[str] = ()) -> Log:
    """Read a log.

    Parameters
    ----------
    path : str or path-like
    mapping : sequence of str
        CHANNEL=COLUMN:UNIT texts for columns whose header does not say what they are.

    Returns
    -------
    Log

    Raises
    ------
    LogError
        The file cannot be read as a log; carries every problem found.
    """
    source = printable(os.fspath(path), 300)
    chosen, problems = read_mapping(mapping)
    if problems:
        raise LogError(source, problems)
    digest = _digest(os.fspath(path), source)
    shape = layout_of(os.fspath(path), source)
    choices, problems = choose(shape.header, shape.units, chosen, shape.header_line)
    if not any(c.channel == "time" for c in choices) and not any(
        p.key == "time" for p in problems
    ):
        problems.append(Problem("time", "", "no column is the time; name it with "
                                "--column time=COLUMN:s", shape.header_line))
    if problems:
        raise LogError(source, problems)
    if len(choices) < 2:
        heads = ", ".join(printable(h.strip(), 40) for h in shape.header[:20])
        raise LogError(source, [Problem(
            "", "", f"no column but the time is known here; name some with --column; channels "
            f"are {', '.join(CHANNELS)}; columns are {heads}", shape.header_line)])
    return _assemble(source, digest, shape, choices, _gather(path, source, shape, choices))


def _digest(path: str, source: str) -> str:
    """Return the SHA-256 of a regular file."""
    with regular(path, source) as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _gather(
    path: str | os.PathLike[str], source: str, shape: Layout, choices: Sequence[Choice]
) -> _Gathered:
    """Read the cells of the columns chosen."""
    width = len(shape.header)
    got = _Gathered([[] for _ in choices], [[] for _ in choices])
    try:
        with open(path, encoding=shape.encoding, errors="replace", newline="") as file:
            reader = csv.reader(file, delimiter=shape.delimiter)
            for line, rows in _chunks(reader, shape.skip):
                _take(got, choices, width, line, rows, shape.comma)
                if got.rows > MOST_ROWS:
                    raise LogError(source, [Problem("", "", f"at most {MOST_ROWS} rows", line)])
    except OSError as error:
        raise LogError(source, [Problem("", "", f"cannot be read: {error.strerror}")]) from None
    except csv.Error as error:
        raise LogError(source, [Problem("", "", f"cannot be read as CSV: {error}",
                                        reader.line_num)]) from None
    return got


def _chunks(reader: Any, skip: int) -> Iterator[tuple[int, list[list[str]]]]:
    """Return rows in chunks, each with the line before its first."""
    while reader.line_num < skip and next(reader, None) is not None:
        pass
    while True:
        before = reader.line_num
        rows = list(itertools.islice(reader, CHUNK))
        if not rows:
            return
        yield before, rows


def _take(
    got: _Gathered,
    choices: Sequence[Choice],
    width: int,
    before: int,
    rows: list[list[str]],
    comma: bool,
) -> None:
    """Convert some rows; blank lines and comments are left out, short rows filled up."""
    need = max(c.place for c in choices) + 1
    lines = np.arange(before + 1, before + 1 + len(rows), dtype=np.int64)
    if min(map(len, rows)) < need:
        kept = [i for i, row in enumerate(rows) if "".join(row).strip() and row[0][:1] != "#"]
        got.ragged += [int(lines[i]) for i in kept if len(rows[i]) < min(need, width)]
        rows = [rows[i] + [""] * (need - len(rows[i])) for i in kept]
        lines = lines[kept]
    if not rows:
        return
    across = list(zip(*rows, strict=False))
    for column, choice in enumerate(choices):
        cells = across[choice.place]
        values, bad = _floats(cells, comma, choice.channel == "time")
        got.parts[column].append(values)
        got.bad[column] += [(int(lines[i]), cells[i]) for i in bad]
    got.lines.append(lines.astype(np.float64))
    got.rows += len(rows)


def _floats(cells: Sequence[str], comma: bool, clock: bool) -> tuple[Floats, list[int]]:
    """Return cells as numbers, and the places of those that are neither number nor empty."""
    if comma:
        cells = [c.replace(",", ".") for c in cells]
    try:
        return np.fromiter(map(float, cells), np.float64, len(cells)), []
    except ValueError:
        pass
    try:
        filled = (float(c) if c else np.nan for c in cells)
        return np.fromiter(filled, np.float64, len(cells)), []
    except ValueError:
        pass
    out = np.full(len(cells), np.nan)
    bad: list[int] = []
    for i, cell in enumerate(cells):
        text = cell.strip()
        value = number_of(text)
        if value is None and clock:
            value = seconds_of(text)
        if value is not None:
            out[i] = value
        elif text.casefold() not in EMPTY:
            bad.append(i)
    return out, bad


def _assemble(
    source: str, digest: str, shape: Layout, choices: Sequence[Choice], got: _Gathered
) -> Log:
    """Put columns together, refuse what cannot be used, and note what was mended."""
    notes: list[Note] = []
    problems: list[Problem] = []
    values: dict[str, Floats] = {}
    if not got.rows:
        raise LogError(source, [Problem(
            "", "", "no rows are found below the names of the columns; a quotation mark that is "
            "never closed takes all lines into one cell", shape.header_line)])
    for column, choice in enumerate(choices):
        raw = np.concatenate(got.parts[column])
        got.parts[column] = []
        raw[~np.isfinite(raw)] = np.nan
        _judge(choice, raw, got.bad[column], notes, problems)
        if choice.scale != 1.0:
            with np.errstate(over="ignore"):  # what is beyond all numbers is no reading
                raw *= choice.scale
            raw[~np.isfinite(raw)] = np.nan
        raw += choice.zero
        values[choice.channel] = raw
    if problems:
        raise LogError(source, problems)
    if got.ragged:
        notes.append(Note("", f"{len(got.ragged)} rows are short of cells, the first in line "
                          f"{got.ragged[0]}: what is missing counts as no reading"))
    line = np.concatenate(got.lines).astype(np.int64)
    time = values.pop("time")
    keep, time, sections = _timeline(time, line, notes)
    if np.count_nonzero(keep) < 10:
        raise LogError(source, [Problem(
            "", f"{np.count_nonzero(keep)} rows with a time", "at least 10 are expected")])
    if not bool(keep.all()):
        values = {name: column[keep] for name, column in values.items()}
        line = line[keep]
    used = {c.place for c in choices}
    unused = tuple(printable(h.strip(), 60) for i, h in enumerate(shape.header)
                   if i not in used and h.strip())
    notes += [Note(c.channel, f"{quoted(c.header)} names no unit: {c.unit} is taken")
              for c in choices if c.assumed and c.channel != "rpm"]
    return Log(source, digest, time, line, values, {c.channel: c for c in choices}, unused,
               sections, tuple(notes))


def _judge(
    choice: Choice,
    raw: Floats,
    bad: Sequence[tuple[int, str]],
    notes: list[Note],
    problems: list[Problem],
) -> None:
    """Refuse a column without readings or with mostly unreadable ones; note a few."""
    readings = int(np.count_nonzero(np.isfinite(raw)))
    if bad and len(bad) > MOST_UNREADABLE * (readings + len(bad)):
        line, cell = bad[0]
        problems.append(Problem(
            choice.channel, quoted(cell.strip()[:40]), f"numbers are expected in column "
            f"{quoted(choice.header)}; {len(bad)} cells are none", line))
    elif not readings:
        problems.append(Problem(choice.channel, quoted(choice.header), "the column is empty"))
    elif bad:
        line, cell = bad[0]
        notes.append(Note(choice.channel, f"{len(bad)} cells are no number, the first in line "
                          f"{line} ({quoted(cell.strip()[:40])}): they count as no reading"))


def _timeline(
    time: Floats, line: npt.NDArray[np.int64], notes: list[Note]
) -> tuple[npt.NDArray[np.bool_], Floats, tuple[int, ...]]:
    """Return which rows are kept, their rising time, and where recordings begin."""
    keep = np.isfinite(time) & (np.abs(np.nan_to_num(time)) < MOST_TIME)
    if not bool(keep.all()):
        notes.append(Note("time", f"{np.count_nonzero(~keep)} rows have no time, the first in "
                          f"line {int(line[~keep][0])}: they are left out"))
    t, lines = time[keep], line[keep]
    step = np.diff(t)
    usual = float(np.median(step[step > 0.0])) if bool(np.any(step > 0.0)) else 1.0
    midnight = (step < -43200.0) & (step >= -86400.0)
    anew = ~midnight & (step < -20.0 * usual) & (np.arange(len(step)) < len(t) - 10)
    shift = np.where(midnight, 86400.0, np.where(anew, PAUSE - step, 0.0))
    t = t + np.concatenate(([0.0], np.cumsum(shift)))
    starts = [0, *(np.flatnonzero(anew) + 1).tolist()]
    again = ", ".join(str(int(lines[place])) for place in starts[1 : 1 + MOST_TOLD])
    if len(starts) > 1:
        dots = ", ..." if len(starts) > 1 + MOST_TOLD else ""
        what = "another recording" if len(starts) == 2 else f"{len(starts) - 1} more recordings"
        notes.append(Note("time", f"time starts anew in line {again}{dots}: taken as {what}"))
    rising = np.ones(len(t), dtype=np.bool_)
    rising[1:] = t[1:] > np.maximum.accumulate(t)[:-1]
    if not bool(rising.all()):
        notes.append(Note("time", f"{np.count_nonzero(~rising)} rows do not go on in time, the "
                          f"first in line {int(lines[~rising][0])}: they are left out"))
        keep[np.flatnonzero(keep)[~rising]] = False
    counts = np.cumsum(rising)
    sections = tuple(sorted({int(counts[s]) - int(rising[s]) for s in starts}))
    return keep, t[rising], sections

