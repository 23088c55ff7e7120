"""How a logger's file is laid out: encoding, separator, header, row of units, decimal sign."""

from __future__ import annotations

import contextlib
import csv
import datetime
import functools
import io
import itertools
import os
import re
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import BufferedReader

from thermo.errors import Problem, ScenarioError
from thermo.log_columns import CHANNELS, measure
from thermo.quantity_text import QuantityTextError, quoted

SAMPLE = 200
"""Lines looked at to find separator, header and decimal sign."""

SAMPLE_BYTES = 256_000

EMPTY = frozenset({"", "nan", "na", "n/a", "null", "none", "-", "--", "---", "inf", "-inf"})
"""Cells that stand for no reading."""

_CLOCK = re.compile(r"^(?:(\d{1,3}):)?(\d{1,3}):(\d{1,2}(?:[.,]\d+)?)$")


class LogError(ScenarioError):
    """A log cannot be used; carries every problem found, with its line where there is one."""


@dataclass(slots=True)
class Layout:
    """How a file is laid out; `sample` is the first filled cell of each column."""

    encoding: str
    delimiter: str
    header: list[str]
    header_line: int
    units: list[str]
    skip: int
    comma: bool
    sample: list[str]


@contextlib.contextmanager
def regular(path: str, source: str) -> Iterator[BufferedReader]:
    """Open a regular file to read bytes.

    Parameters
    ----------
    path : str
    source : str
        The same, safe to print.

    Yields
    ------
    binary file

    Raises
    ------
    LogError
        It cannot be opened, or is a folder or a device.
    """
    try:
        mode = os.stat(path).st_mode
        if not stat.S_ISREG(mode):
            words = "this is a folder" if stat.S_ISDIR(mode) else "this is not a regular file"
            raise LogError(source, [Problem("", "", f"{words}; a CSV file is expected")])
        with open(path, "rb") as file:
            yield file
    except FileNotFoundError:
        raise LogError(source, [Problem("", "", "there is no such file")]) from None
    except OSError as error:
        raise LogError(source, [Problem("", "", f"cannot be read: {error.strerror}")]) from None
    except ValueError:
        raise LogError(source, [Problem("", "", "this is not the name of a file")]) from None


def layout_of(path: str, source: str) -> Layout:
    """Find encoding, separator, header, row of units and decimal sign."""
    with open(path, "rb") as file:
        raw = file.read(SAMPLE_BYTES)
    encoding = _encoding(raw, source)
    # The last line may be cut off by the size of the sample.
    text = raw.decode(encoding, errors="replace")
    # Parted as the reader of the rows parts them: other signs that end a line are text.
    lines = [line.rstrip("\n") for line in itertools.islice(
        io.StringIO(text, newline=None), SAMPLE + 1)]
    if len(lines) > 1:
        lines = lines[:-1] if len(raw) == SAMPLE_BYTES or len(lines) > SAMPLE else lines
    filled = [i for i, line in enumerate(lines) if line.strip()]
    if not filled:
        raise LogError(source, [Problem("", "", "the file is empty")])
    delimiter = _delimiter([lines[i] for i in filled])
    if not delimiter:
        raise LogError(source, [Problem(
            "", "", "no columns are found; cells parted by comma, semicolon or tab are expected",
            filled[0] + 1)])
    rows = {i: _cells(lines[i], delimiter) for i in filled}
    first = next((i for i in filled if _is_data(rows[i])), None)
    if first is None:
        raise LogError(source, [Problem(
            "", "", f"no line of numbers is found in the first {len(lines)} lines")])
    width = len(rows[first])
    above = [i for i in filled if i < first and len(rows[i]) >= min(width, 2)]
    if not above:
        raise LogError(source, [Problem(
            "", quoted(lines[first][:60]), "a line of column names is expected before the numbers",
            first + 1)])
    head, units = above[-1], [""] * max(width, len(rows[above[-1]]))
    if len(above) > 1 and _are_units(rows[head]) and len(rows[above[-2]]) >= len(rows[head]) - 1:
        units, head = rows[head] + units, above[-2]
    header = rows[head]
    _check_width(source, header, rows, [i for i in filled if i >= first])
    comma = delimiter != "," and _comma([rows[i] for i in filled if i >= first])
    units = (units + [""] * len(header))[: len(header)]
    data = [rows[i] for i in filled if i >= first]
    sample = [next((r[at].strip() for r in data if at < len(r) and r[at].strip()), "")
              for at in range(len(header))]
    return Layout(encoding, delimiter, header, head + 1, units, first, comma, sample)


def _encoding(raw: bytes, source: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    if b"\0" in raw:
        raise LogError(source, [Problem("", "", "text is expected, this is a binary file; "
                                        "export it as CSV from the logger's own program")])
    cut = raw[: raw.rfind(b"\n") + 1] or raw
    try:
        cut.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def _delimiter(lines: Sequence[str]) -> str:
    """Return what parts the cells: the first sign that parts most lines into as many."""
    tail = lines[len(lines) // 3 :]
    for sign in (";", "\t", ",", "|"):
        counts = [len(_cells(line, sign)) for line in tail]
        usual = max(set(counts), key=counts.count)
        if usual > 1 and counts.count(usual) > 0.6 * len(counts):
            return sign
    return ""


def _cells(line: str, sign: str) -> list[str]:
    """Return the cells of one line; a line that is none, such as of a cell too long, whole."""
    try:
        return next(csv.reader([line], delimiter=sign))
    except csv.Error:
        return [line]


def _is_data(row: Sequence[str]) -> bool:
    """Say whether a row holds readings: at least two numbers, or one and a clock, no words."""
    cells = [c.strip() for c in row if c.strip().casefold() not in EMPTY]
    numbers = [c for c in cells if number_of(c) is not None or seconds_of(c) is not None]
    return bool(numbers) and 2 * len(numbers) > len(cells) and _first_is_time(row, numbers)


def _first_is_time(row: Sequence[str], numbers: Sequence[str]) -> bool:
    return len(numbers) > 1 or len(row) <= 2 or any(not c.strip() for c in row)


def _are_units(row: Sequence[str]) -> bool:
    """Say whether every filled cell of a row is a unit that some channel may have."""
    cells = [c.strip().strip("[]()") for c in row if c.strip() not in ("", "-")]
    return bool(cells) and all(any(_fits(c, name) for name in CHANNELS) for c in cells)


@functools.lru_cache(maxsize=1024)
def _fits(unit: str, channel: str) -> bool:
    try:
        measure(unit, channel)
    except QuantityTextError:
        return False
    return True


def _check_width(
    source: str, header: Sequence[str], rows: dict[int, list[str]], data: Sequence[int]
) -> None:
    widths = [len([*rows[i]]) for i in data]
    usual = max(set(widths), key=widths.count)
    if usual <= len(header) or all(not "".join(rows[i][len(header) :]).strip() for i in data):
        return
    line = next(i for i, w in zip(data, widths, strict=True) if w == usual) + 1
    raise LogError(source, [Problem(
        "", f"{usual} cells", f"{len(header)} are expected, as in the header; where the decimal "
        "sign is a comma, part the cells by semicolons", line)])


def _comma(rows: Sequence[Sequence[str]]) -> bool:
    cells = [c.strip() for row in rows for c in row]
    return any(re.fullmatch(r"[+-]?\d*,\d+(?:[eE][+-]?\d+)?", c) for c in cells)


def number_of(cell: str) -> float | None:
    """Return the number that a cell holds, with decimal point or comma, or None."""
    try:
        return float(cell)
    except ValueError:
        try:
            return float(cell.replace(",", ".", 1)) if cell.count(",") == 1 else None
        except ValueError:
            return None


def seconds_of(cell: str) -> float | None:
    """Return the seconds of a clock or date text, or None."""
    found = _CLOCK.match(cell)
    if found is not None:
        hours, minutes, seconds = found.groups()
        return 3600.0 * int(hours or 0) + 60.0 * int(minutes) + float(seconds.replace(",", "."))
    if len(cell) < 10 or cell[4:5] != "-":
        return None
    try:
        moment = datetime.datetime.fromisoformat(cell.replace(",", "."))
    except ValueError:
        return None
    if moment.tzinfo is None:
        moment = moment.replace(tzinfo=datetime.UTC)
    return moment.timestamp()
