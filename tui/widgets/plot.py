"""A chart drawn in characters: lines in braille or letters, limits by name, the moment on it.

Lines that meet share a cell and neither is erased; each line carries a letter where it stands
clear of the others, and each limit its name and figure, so that a picture without colour tells
the same. In ASCII each point of a line is its letter.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from tui.canvas import Canvas, Line
from tui.charts import Chart, Limit, Series

MARKS = "abcdefgh"
"""Letter of each line, in the order of the chart."""

DOTS = ((0x01, 0x08), (0x02, 0x10), (0x04, 0x20), (0x40, 0x80))
"""Bit of each dot of a braille cell, by row and column."""

BRAILLE = 0x2800
HEAD, FOOT = 1, 2
"""Rows above the plot for the name of the y axis, and beneath it for the x axis."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A chart as drawn, and where its x axis lies.

    Attributes
    ----------
    lines : list of Line
        Segments of text and role.
    left : int
        Column at which the plot begins.
    columns : int
        Columns of the plot.
    x_low, x_high : float
        What the first and the last column stand for, in the chart's units.
    """

    lines: list[Line]
    left: int
    columns: int
    x_low: float
    x_high: float

    def x_at(self, column: int) -> float:
        """Return the x of a column of the drawing; one outside the plot counts as its end."""
        share = (column - self.left) / max(self.columns - 1, 1)
        return self.x_low + min(max(share, 0.0), 1.0) * (self.x_high - self.x_low)


@dataclass(frozen=True, slots=True)
class Scale:
    """A range of values over a number of cells, each of so many dots."""

    low: float
    high: float
    cells: int
    dots: int

    def dot(self, value: float) -> int:
        """Return the dot of a value, from the low end; it may lie outside."""
        share = (value - self.low) / (self.high - self.low)
        return round(share * (self.cells * self.dots - 1))

    def cell(self, value: float) -> int:
        """Return the cell of a value, from the low end; it may lie outside."""
        return self.dot(value) // self.dots


def draw(
    chart: Chart, width: int, height: int, *, moment: float | None = None, ascii_only: bool = False
) -> Drawing:
    """Draw a chart.

    Parameters
    ----------
    chart : Chart
    width, height : int
        Columns and rows there are, at least 30 and 7.
    moment : float, optional
        Where the moment stands on the x axis, in its units.
    ascii_only : bool
        Whether only ASCII may be used.

    Returns
    -------
    Drawing
        Of `height` lines, none wider than `width`.
    """
    low, high = _y_range(chart)
    rows = height - HEAD - FOOT
    ticks = nice_ticks(low, high, max(rows // 3 + 1, 3))
    gutter = max(len(f"{tick:.6g}") for tick in ticks) + 1
    columns = width - gutter - 1
    y = Scale(low, high, rows, 1 if ascii_only else len(DOTS))
    x = Scale(*_x_range(chart), columns, 1 if ascii_only else len(DOTS[0]))
    canvas = Canvas(width, height)
    canvas.put(0, 0, chart.y_label[:width], "label")
    plot = _Plot(canvas, gutter + 1, x, y, ascii_only)
    plot.frame(ticks)
    plot.lines(chart.series)
    plot.limits(chart.limits)
    plot.letters(chart.series)
    plot.axis(chart, moment)
    return Drawing(canvas.lines(False), gutter + 1, columns, x.low, x.high)


def nice_ticks(low: float, high: float, most: int) -> list[float]:
    """Return round values within a range, apart by 1, 2 or 5 times a power of ten.

    Parameters
    ----------
    low, high : float
        `low` under `high`.
    most : int
        How many there should be at most, at least 1.

    Returns
    -------
    list of float
        Rising; at least one where a round value lies in the range.
    """
    rough = (high - low) / most
    power = 10.0 ** math.floor(math.log10(rough))
    step = next(m * power for m in (1.0, 2.0, 5.0, 10.0, 20.0) if m * power >= rough)
    first = math.ceil(low / step - 1e-9)
    last = math.floor(high / step + 1e-9)
    return [round(n * step, 12) for n in range(first, last + 1)] or [low]


def value_at(series: Series, x: float) -> float | None:
    """Return a line's value at an x, straight between its points; None outside of them."""
    if not series.xs or not series.xs[0] <= x <= series.xs[-1]:
        return None
    for i, right in enumerate(series.xs):
        if right >= x:
            if i == 0 or right == x:
                return series.ys[i]
            share = (x - series.xs[i - 1]) / (right - series.xs[i - 1])
            return series.ys[i - 1] + share * (series.ys[i] - series.ys[i - 1])
    return None


def _y_range(chart: Chart) -> tuple[float, float]:
    values = [y for series in chart.series for y in series.ys] + [m.y for m in chart.limits]
    low, high = min(values, default=0.0), max(values, default=1.0)
    if chart.top is not None:
        high = min(high, chart.top)
    margin = 0.04 * (high - low) or 0.5 * abs(high) or 1.0
    return low - margin, high + margin


def _x_range(chart: Chart) -> tuple[float, float]:
    values = [x for series in chart.series for x in series.xs]
    low, high = min(values, default=0.0), max(values, default=1.0)
    return (low, high) if high > low else (low - 1.0, high + 1.0)


class _Plot:
    """The parts of a drawing, put onto its canvas one after the other."""

    def __init__(self, canvas: Canvas, left: int, x: Scale, y: Scale, ascii_only: bool) -> None:
        self.canvas, self.left, self.x, self.y = canvas, left, x, y
        self.ascii = ascii_only
        self.bar, self.dash, self.tick, self.point, self.corner, self.under = (
            "|-+^+|" if ascii_only else "│╌┤▲└┴"
        )
        self.cells: dict[tuple[int, int], int] = {}
        """Dots that are set in each cell, by row from the top and column of the plot."""
        self.taken: set[tuple[int, int]] = set()
        """Cells that hold words."""

    def row(self, y: float) -> int | None:
        """Return the row of a value, from the top of the plot; None outside."""
        cell = self.y.cell(y)
        return self.y.cells - 1 - cell if 0 <= cell < self.y.cells else None

    def put(self, row: int, column: int, text: str, role: str) -> None:
        """Write into the plot."""
        self.canvas.put(HEAD + row, self.left + column, text, role)

    def frame(self, ticks: Sequence[float]) -> None:
        """Draw the y axis with its figures."""
        for down in range(self.y.cells):
            self.canvas.put(HEAD + down, self.left - 1, self.bar, "frame")
        for tick in ticks:
            row = self.row(tick)
            if row is not None:
                text = f"{tick:.6g}"
                self.canvas.put(HEAD + row, self.left - 1 - len(text), text, "label")
                self.canvas.put(HEAD + row, self.left - 1, self.tick, "frame")

    def lines(self, series: Sequence[Series]) -> None:
        """Draw the lines; where two meet, the cell has the dots of both."""
        roles: dict[tuple[int, int], str] = {}
        letters: dict[tuple[int, int], str] = {}
        for number, one in enumerate(series):
            for dot_x, dot_y in _path(one, self.x, self.y):
                if not 0 <= dot_y < self.y.cells * self.y.dots:
                    continue
                down = self.y.cells * self.y.dots - 1 - dot_y
                cell = (down // self.y.dots, dot_x // self.x.dots)
                bit = 1 if self.ascii else DOTS[down % self.y.dots][dot_x % self.x.dots]
                self.cells[cell] = self.cells.get(cell, 0) | bit
                roles.setdefault(cell, one.role)
                letters.setdefault(cell, MARKS[number % len(MARKS)])
        for (row, column), dots in self.cells.items():
            glyph = letters[row, column] if self.ascii else chr(BRAILLE + dots)
            self.put(row, column, glyph, roles[row, column])

    def limits(self, limits: Sequence[Limit]) -> None:
        """Draw each limit as dashes with its name and figure where fewest points are hidden."""
        for limit in limits:
            row = self.row(limit.y)
            if row is None:
                continue
            for column in range(self.x.cells):
                if (row, column) not in self.cells and (row, column) not in self.taken:
                    self.put(row, column, self.dash, "frame")
            name = f" {limit.name} {limit.y:.4g} "
            at = self._clearest(row, len(name))
            if at is not None:
                self.write(row, at, name, "figure")

    def write(self, row: int, column: int, text: str, role: str) -> None:
        """Write words and keep their cells."""
        self.put(row, column, text, role)
        self.taken |= {(row, column + i) for i in range(len(text))}

    def _clearest(self, row: int, length: int) -> int | None:
        """Return where in a row so many cells hide the fewest points, the right end first."""
        best: tuple[int, int] | None = None
        for at in range(self.x.cells - length - 1, 0, -1):
            cells = [(row, at + i) for i in range(length)]
            if any(cell in self.taken for cell in cells):
                continue
            hidden = sum(cell in self.cells for cell in cells)
            if best is None or hidden < best[0]:
                best = (hidden, at)
        return None if best is None else best[1]

    def letters(self, series: Sequence[Series]) -> None:
        """Put each line's letter where it stands farthest from the other lines."""
        if self.ascii:
            return
        tracks = [_track(one, self.x, self.y) for one in series]
        placed: list[tuple[int, int]] = []
        for number, track in enumerate(tracks):
            best: tuple[float, int, int] | None = None
            others = [t for i, t in enumerate(tracks) if i != number]
            for column, line in track.items():
                around = {(line, column + i) for i in (-1, 0, 1)}
                if around & self.taken or not 1 <= column < self.x.cells - 1:
                    continue
                near = [float(abs(line - t[column])) for t in others if column in t]
                near += [abs(line - r) + abs(column - c) / 4.0 for r, c in placed]
                clear = min(near, default=0.0) + column / (2.0 * self.x.cells)
                if best is None or clear > best[0]:
                    best = (clear, line, column)
            if best is not None:
                placed.append(best[1:])
                self.write(best[1], best[2], MARKS[number % len(MARKS)], "figure")

    def axis(self, chart: Chart, moment: float | None) -> None:
        """Draw the x axis: figures or stations beneath it, other marks as named verticals."""
        foot = HEAD + self.y.cells
        self.canvas.put(foot, self.left - 1, self.corner, "frame")
        self.canvas.put(foot, self.left, ("-" if self.ascii else "─") * self.x.cells, "frame")
        if chart.x_kind == "station":
            self._below(foot, [(at, name) for name, at in chart.marks], "")
        else:
            ticks = nice_ticks(self.x.low, self.x.high, max(self.x.cells // 9, 2))
            self._below(foot, [(at, f"{at:.6g}") for at in ticks], chart.x_label)
            if chart.x_kind != "time":
                for name, at in chart.marks:
                    self._vertical(at, name)
        if moment is not None and self.x.low <= moment <= self.x.high:
            column = self.x.cell(moment)
            self._upright(column, self.bar, "figure")
            self.canvas.put(foot, self.left + column, self.point, "figure")

    def _below(self, foot: int, marks: Sequence[tuple[float, str]], label: str) -> None:
        """Write figures or names beneath the axis, as many as there is room for, and its name."""
        end = self.canvas.width - (len(label) + 1 if label else 0)
        if label:
            self.canvas.put(foot + 1, end + 1, label, "label")
        free = 0
        for at, text in marks:
            column = self.x.cell(at)
            if not 0 <= column < self.x.cells:
                continue
            self.canvas.put(foot, self.left + column, self.under, "frame")
            start = max(self.left + column - len(text) // 2, free)
            if marks[-1][0] == at and not label:
                start = max(min(start, end - len(text)), free)
            if start + len(text) <= end and start <= self.left + column:
                self.canvas.put(foot + 1, start, text, "label")
                free = start + len(text) + 1

    def _upright(self, column: int, glyph: str, role: str) -> None:
        for row in range(self.y.cells):
            if (row, column) not in self.cells and (row, column) not in self.taken:
                self.put(row, column, glyph, role)

    def _vertical(self, at: float, name: str) -> None:
        """Draw a named place of the x axis: a vertical with its name beside it."""
        column = self.x.cell(at)
        if not 0 <= column < self.x.cells:
            return
        self._upright(column, ":" if self.ascii else "┊", "label")
        choices = []
        for start in (column + 1, column - len(name) - 2):
            if start < 0 or start + len(name) + 2 > self.x.cells:
                continue
            for row in range(self.y.cells):
                cells = [(row, start + i) for i in range(len(name) + 2)]
                if not any(cell in self.taken for cell in cells):
                    choices.append((sum(c in self.cells for c in cells), row, start))
        if choices:
            _, row, start = min(choices)
            self.write(row, start, f" {name} ", "label")


def _path(series: Series, x: Scale, y: Scale) -> list[tuple[int, int]]:
    """Return the dots of a line from point to point."""
    ends = [(x.dot(a), y.dot(b)) for a, b in zip(series.xs, series.ys, strict=True)]
    out = ends[:1]
    for (x0, y0), (x1, y1) in pairwise(ends):
        steps = max(abs(x1 - x0), abs(y1 - y0))
        out += [
            (round(x0 + (x1 - x0) * n / steps), round(y0 + (y1 - y0) * n / steps))
            for n in range(1, steps + 1)
        ]
    return out


def _track(series: Series, x: Scale, y: Scale) -> dict[int, int]:
    """Return the row of a line in each column it passes, from the top; only rows of the plot."""
    rows: dict[int, int] = {}
    for dot_x, dot_y in _path(series, x, y):
        row = y.cells - 1 - dot_y // y.dots
        if 0 <= row < y.cells:
            rows.setdefault(dot_x // x.dots, row)
    return rows
