"""Charts by matplotlib as line drawings for a page, imported only when one is made.

Nothing depends on colour: lines differ by dashes, each is named at its end, and the sample beside
the name has the line's dashes. matplotlib draws into :class:`thermo.picture.Picture`, so that one
drawing goes into a page of any kind with its words as words.
"""

from __future__ import annotations

import functools
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import matplotlib as mpl
from matplotlib import font_manager
from matplotlib.axes import Axes
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.transforms import Transform

from thermo.picture import Op, Picture, Stroke, Words

POINTS = 72
"""Points in an inch; one point is one pixel here."""

SIZE = 7.5
"""Type of charts [pt]."""

DASHES: tuple[tuple[float, ...], ...] = ((), (5.5, 2.0), (7.0, 1.8, 1.4, 1.8), (1.4, 1.6))
"""Dashes of the lines of a chart, in order."""

WIDTHS = (1.5, 1.3, 1.3, 1.6)
MARKS = "os^Dv"
"""Marks on the points: another for every round of dashes."""

SAMPLE, GAP = 20.0, 3.0
"""Length of the sample of a line beside its name, and space about it [pt]."""

UNKNOWN = "�"
OPS = {Path.MOVETO: "M", Path.LINETO: "L", Path.CURVE3: "Q", Path.CURVE4: "C"}


@dataclass(frozen=True, slots=True)
class Line:
    """A line of a plot: its name and points, with marks on the points if wanted."""

    name: str
    xs: tuple[float, ...]
    ys: tuple[float, ...]
    marked: bool = False


@dataclass(frozen=True, slots=True)
class Plot:
    """What is to be drawn.

    Attributes
    ----------
    x_label, y_label : str
    lines : tuple of Line
    levels : tuple of (str, float)
        Level lines with their names.
    spans : tuple of (str, float, float)
        Stretches of the x axis with their names, marked off by upright lines.
    places : tuple of (str, float)
        Places on the x axis with their names, each an upright line.
    ticks : tuple of (str, float)
        Names in place of numbers beneath the x axis.
    x_range : tuple of float
        Ends of the x axis; empty to fit the lines.
    top : float or None
        Where the y axis is cut off.
    size : tuple of float
        Width and height [pt].
    """

    x_label: str
    y_label: str
    lines: tuple[Line, ...]
    levels: tuple[tuple[str, float], ...] = ()
    spans: tuple[tuple[str, float, float], ...] = ()
    places: tuple[tuple[str, float], ...] = ()
    ticks: tuple[tuple[str, float], ...] = ()
    x_range: tuple[float, ...] = ()
    top: float | None = None
    size: tuple[float, float] = (505.0, 225.0)


@functools.cache
def font_file(style: str = "") -> FilePath:
    """Return a file of the font that comes with matplotlib, DejaVu Sans.

    Parameters
    ----------
    style : {'', '-Bold', '-Oblique', 'Mono'}
    """
    return FilePath(mpl.get_data_path(), "fonts", "ttf", f"DejaVuSans{style}.ttf")


@functools.cache
def _glyphs() -> frozenset[int]:
    font: Any = font_manager.get_font(str(font_file()))
    return frozenset(font.get_charmap())


def drawable(text: str) -> str:
    """Return text with a mark in place of every character that the font lacks."""
    known = _glyphs()
    return "".join(c if ord(c) in known or c == "\n" else UNKNOWN for c in text)


def text_length(text: str, size: float, bold: bool = False) -> float:
    """Return how long a text is in the font [pt]."""
    prop = FontProperties(fname=str(font_file("-Bold" if bold else "")), size=size)
    width, _, _ = RendererBase().get_text_width_height_descent(drawable(text), prop, False)
    return float(width)


def cut_to(text: str, room: float, size: float, bold: bool = False) -> str:
    """Return the text, or as much of its beginning as fits the room [pt], with three dots."""
    if text_length(text, size, bold) <= room:
        return text
    kept = len(text)
    while kept > 1 and text_length(f"{text[:kept].rstrip()}…", size, bold) > room:
        kept -= 1
    return f"{text[:kept].rstrip()}…"


class _Recorder(RendererBase):
    """Takes down what matplotlib draws."""

    def __init__(self, width: float, height: float) -> None:
        super().__init__()
        self.width, self.height = width, height
        self.items: list[Stroke | Words] = []

    def flipy(self) -> bool:
        """Return that y rises, as in matplotlib itself."""
        return False

    def get_canvas_width_height(self) -> tuple[float, float]:
        """Return the size of the drawing."""
        return self.width, self.height

    def draw_path(
        self,
        gc: GraphicsContextBase,
        path: Path,
        transform: Transform,
        rgbFace: Any = None,
    ) -> None:
        """Take down a path."""
        width = float(gc.get_linewidth())
        clip: Any = gc.get_clip_rectangle()
        limits = None if clip is None or rgbFace is not None else clip.extents
        ops = tuple(self._ops(path, transform, limits))
        if not ops or (width == 0.0 and rgbFace is None):
            return
        dashes: Any = gc.get_dashes()[1]
        self.items.append(
            Stroke(
                ops,
                width,
                to_hex(gc.get_rgb()),
                tuple(float(d) for d in dashes or ()),
                "" if rgbFace is None else to_hex(rgbFace),
            )
        )

    def _ops(self, path: Path, transform: Transform, limits: Any) -> list[Op]:
        ops: list[Op] = []
        for points, code in path.iter_segments(transform, remove_nans=True, clip=limits):
            if code == Path.CLOSEPOLY:
                ops.append(("Z", ()))
            elif code in OPS:
                flipped = [
                    float(v) if i % 2 == 0 else self.height - float(v)
                    for i, v in enumerate(points)
                ]
                ops.append((OPS[code], tuple(flipped)))
        return ops

    def draw_text(
        self,
        gc: GraphicsContextBase,
        x: float,
        y: float,
        s: str,
        prop: FontProperties,
        angle: float,
        ismath: Any = False,
        mtext: Any = None,
    ) -> None:
        """Take down a line of text."""
        length, _, _ = self.get_text_width_height_descent(s, prop, ismath)
        self.items.append(
            Words(
                s,
                float(x),
                self.height - float(y),
                float(prop.get_size_in_points()),
                bold=prop.get_weight() == "bold",
                angle=float(angle),
                length=float(length),
                colour=to_hex(gc.get_rgb()),
            )
        )


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places as near as may be to those wanted, none closer than a gap to the next.

    Parameters
    ----------
    wanted : sequence of float
        In any order.
    gap : float
        Least distance; where there is no room for it, a smaller one that fits.
    low, high : float
        Ends of the room.

    Returns
    -------
    list of float
        In the order given.
    """
    if not wanted:
        return []
    gap = min(gap, (high - low) / max(len(wanted) - 1, 1))
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    groups: list[list[float]] = []  # [middle of the group, members]
    for i in order:
        groups.append([min(max(wanted[i], low), high), 1.0])
        while len(groups) > 1:
            (a, n), (b, m) = groups[-2:]
            if b - a >= gap * (n + m) / 2.0:
                break
            half = gap * (n + m - 1.0) / 2.0
            middle = (a * n + b * m) / (n + m)
            groups[-2:] = [[min(max(middle, low + half), high - half), n + m]]
    flat = [mid + gap * (k - (n - 1.0) / 2.0) for mid, n in groups for k in range(int(n))]
    placed = [0.0] * len(wanted)
    for i, y in zip(order, flat, strict=True):
        placed[i] = y
    return placed


def draw(plot: Plot) -> Picture:
    """Draw a plot.

    Parameters
    ----------
    plot : Plot

    Returns
    -------
    Picture
    """
    width, height = plot.size
    settings: dict[Any, Any] = {
        **mpl.rcParamsDefault,
        "font.family": "DejaVu Sans",
        "font.size": SIZE,
        "axes.linewidth": 0.7,
        "text.parse_math": False,
        "axes.formatter.use_mathtext": False,
        "axes.unicode_minus": False,
        "path.simplify": True,
    }
    with mpl.rc_context(settings):
        figure = Figure(figsize=(width / POINTS, height / POINTS), dpi=POINTS)
        names = [drawable(line.name) for line in plot.lines] + [n for n, _ in plot.levels]
        room = max(text_length(n, SIZE) for n in names) + SAMPLE + 3.0 * GAP
        low = 54.0 if plot.ticks else 32.0
        left, right, top = 44.0, width - room, height - (14.0 if plot.spans or plot.places else 6.0)
        axes = figure.add_axes(
            (left / width, low / height, (right - left) / width, (top - low) / height)
        )
        _draw_lines(axes, plot)
        _name_lines(figure, axes, plot)
        _name_places(figure, axes, plot)
        recorder = _Recorder(width, height)
        figure.draw(recorder)
    return Picture(width, height, tuple(recorder.items))


def _draw_lines(axes: Axes, plot: Plot) -> None:
    for i, line in enumerate(plot.lines):
        dashes = DASHES[i % len(DASHES)]
        axes.plot(
            line.xs,
            line.ys,
            color="black",
            linewidth=WIDTHS[i % len(WIDTHS)],
            linestyle=(0, dashes) if dashes else "-",
            marker=MARKS[i // len(DASHES) % len(MARKS)] if line.marked else "None",
            markersize=2.6 if i < len(DASHES) else 3.6,
            markerfacecolor="white",
            markeredgewidth=0.7,
            dash_capstyle="butt",
            solid_joinstyle="round",
        )
    for _, y in plot.levels:
        axes.axhline(y, color="black", linewidth=0.45)
    axes.set_xlabel(plot.x_label, labelpad=2.0)
    axes.set_ylabel(plot.y_label, labelpad=3.0)
    if plot.x_range:
        axes.set_xlim(*plot.x_range)
    else:
        axes.margins(x=0.02)
    if plot.top is not None:
        ys = [y for line in plot.lines for y in line.ys] + [y for _, y in plot.levels]
        axes.set_ylim(min(ys) - 0.05 * (plot.top - min(ys)), plot.top)
    axes.tick_params(width=0.6, length=2.5)
    axes.grid(visible=True, color="#cccccc", linewidth=0.3)
    axes.set_axisbelow(True)
    if plot.ticks:
        names = [drawable(cut_to(name, 80.0, SIZE)) for name, _ in plot.ticks]
        axes.set_xticks([x for _, x in plot.ticks], names, rotation=24.0, ha="right",
                        rotation_mode="anchor")


def _end(line: Line, axes: Axes) -> float:
    """Return where a line leaves the axes at the right."""
    right = axes.get_xlim()[1]
    seen = [y for x, y in zip(line.xs, line.ys, strict=True) if x <= right]
    return seen[-1] if seen else axes.get_ylim()[0]


def _name_lines(figure: Figure, axes: Axes, plot: Plot) -> None:
    """Write the names of lines and levels at the right, each with a sample led to its end."""
    box = axes.get_position()
    width, height = plot.size
    low, high = axes.get_ylim()
    ends = [_end(line, axes) for line in plot.lines] + [y for _, y in plot.levels]
    names = [line.name for line in plot.lines] + [name for name, _ in plot.levels]
    marked = [(n, y) for n, y in zip(names, ends, strict=True)]
    share = (box.y1 - box.y0) / (high - low)
    at = [min(max(box.y0 + (y - low) * share, box.y0), box.y1) for _, y in marked]
    placed = spread(at, 1.35 * SIZE / height, box.y0, box.y1)
    for i, ((name, _), start, y) in enumerate(zip(marked, at, placed, strict=True)):
        level = i >= len(plot.lines)
        dashes = () if level else DASHES[i % len(DASHES)]
        xs = [box.x1, box.x1 + 2.0 * GAP / width, box.x1 + (2.0 * GAP + SAMPLE) / width]
        figure.add_artist(_thin(xs[:2], [start, y]))
        figure.add_artist(
            mpl.lines.Line2D(
                xs[1:], [y, y], color="black", linewidth=0.45 if level else WIDTHS[i % 4],
                linestyle=(0, dashes) if dashes else "-", dash_capstyle="butt",
                marker="None" if level or not plot.lines[i].marked
                else MARKS[i // len(DASHES) % len(MARKS)],
                markersize=3.0, markerfacecolor="white", markeredgewidth=0.7, markevery=[0],
            )
        )
        figure.text(xs[2] + GAP / width, y, drawable(name), va="center_baseline", ha="left")


def _thin(xs: Sequence[float], ys: Sequence[float]) -> mpl.lines.Line2D:
    return mpl.lines.Line2D(list(xs), list(ys), color="#777777", linewidth=0.4)


def _name_places(figure: Figure, axes: Axes, plot: Plot) -> None:
    """Mark stretches and places of the x axis, with their names above."""
    box = axes.get_position()
    width, height = plot.size
    low, high = axes.get_xlim()
    share = (box.x1 - box.x0) / (high - low)

    def at(x: float) -> float:
        return float(box.x0 + (min(max(x, low), high) - low) * share)

    above = box.y1 + 4.0 / height
    for name, start, end in plot.spans:
        if end <= low or start >= high:
            continue
        if start > low:
            axes.axvline(start, color="black", linewidth=0.4, linestyle=(0, (1.0, 2.0)))
        room = (at(end) - at(start)) * width - 4.0
        told = next((n for n in (name, name.partition(" ")[0]) if text_length(n, SIZE) <= room), "")
        figure.text((at(start) + at(end)) / 2.0, above, drawable(told), ha="center")
    inside = [(n, x) for n, x in plot.places if low <= x <= high]
    lengths = [text_length(n, SIZE) / width for n, _ in inside]
    placed = spread([at(x) for _, x in inside], max(lengths, default=0.0) + 6.0 / width,
                    box.x0, box.x1)
    for (name, x), middle in zip(inside, placed, strict=True):
        axes.axvline(x, color="black", linewidth=0.4, linestyle=(0, (1.0, 2.0)))
        figure.text(middle, above, drawable(name), ha="center")


__all__ = [
    "Line",
    "Plot",
    "cut_to",
    "draw",
    "drawable",
    "font_file",
    "spread",
    "text_length",
]
