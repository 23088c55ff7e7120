"""Pictures for paper: the only module that imports matplotlib, and that when a picture is made.

A picture is plain data in shown units and words; greys, hatching, line styles and labels tell
everything, so that a copy in black and white loses nothing.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

FORMATS = ("svg", "png", "pdf")

CLEAR, CAUTION, DANGER = 0, 1, 2
HATCHES = {DANGER: "////", -1: "xxxx"}
"""Hatching of places by level; -1 has no verdict."""

STYLES: dict[str, tuple[Literal["--", "-"], float]] = {
    "caution": ("--", 1.6), "danger": ("-", 2.6),
}
"""Dashes and width [pt] of a limit line by its level."""

SETTINGS: dict[Any, Any] = {
    "hatch.linewidth": 0.4, "hatch.color": "#555555", "svg.hashsalt": "soakbox",
    "font.size": 9.0, "font.family": "DejaVu Sans",
}

GREYS = ("#ffffff", "#e4e4e4", "#c4c4c4")
"""Fill by level where levels are shown: clear, caution, danger."""


@dataclass(frozen=True, slots=True)
class LimitLine:
    """One limit.

    Attributes
    ----------
    label : str
        What begins there.
    level : {'caution', 'danger'}
    parts : tuple of (sequence of (float, float))
        Lines, in shown units.
    """

    label: str
    level: str
    parts: tuple[Sequence[tuple[float, float]], ...]


@dataclass(frozen=True, slots=True)
class Field:
    """A result over two inputs.

    Attributes
    ----------
    title, x_label, y_label, value_label : str
    notes : tuple of str
        Lines under the picture.
    x, y : sequence of float
        Rising, in shown units.
    values : ndarray, shape (y, x)
        In shown units, or levels where `by_level`.
    levels : ndarray of int, shape (y, x)
        Level of what the lines are about; -1 where there is no verdict.
    by_level : bool
        Whether levels are shown, not figures.
    lines : tuple of LimitLine
    mark : tuple of (float, float) or None
        The scenario as it stands.
    """

    title: str
    x_label: str
    y_label: str
    value_label: str
    notes: tuple[str, ...]
    x: Sequence[float]
    y: Sequence[float]
    values: Any
    levels: Any
    by_level: bool
    lines: tuple[LimitLine, ...]
    mark: tuple[float, float] | None


def field_picture(field: Field, form: str) -> bytes:
    """Draw a result over two inputs.

    Parameters
    ----------
    field : Field
    form : {'svg', 'png', 'pdf'}

    Returns
    -------
    bytes
        The file; the same data gives the same bytes.
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(SETTINGS):
        figure = Figure(figsize=(7.2, 6.0), layout="constrained")
        axes = figure.add_subplot()
        _areas(axes, field)
        if not field.by_level:
            _contours(axes, field)
        for line in field.lines:
            _limit(axes, line, field)
        if field.mark is not None:
            _mark(axes, field.mark, field)
        axes.set_xlim(field.x[0], field.x[-1])
        axes.set_ylim(field.y[0], field.y[-1])
        axes.set_xlabel(field.x_label)
        axes.set_ylabel(field.y_label)
        axes.set_title(f"{field.title}\n{field.value_label}", fontsize=10.0)
        _legend(axes, field)
        figure.supxlabel("\n".join(field.notes), fontsize=6.8, x=0.02, ha="left")
        return _saved(figure, form)


def _areas(axes: Any, field: Field) -> None:
    """Shade levels, and hatch danger and what has no verdict."""
    from matplotlib.colors import ListedColormap

    x, y = np.asarray(field.x), np.asarray(field.y)
    levels = np.asarray(field.levels)
    if field.by_level:
        axes.pcolormesh(
            x, y, np.ma.masked_less(levels, CLEAR), cmap=ListedColormap(list(GREYS)),
            vmin=-0.5, vmax=2.5, shading="nearest", rasterized=True,
        )
    for level, hatch in HATCHES.items():
        if bool((levels == level).any()):
            axes.contourf(
                x, y, (levels == level).astype(np.float64), levels=[0.5, 1.5], colors="none",
                hatches=[hatch],
            )


def _contours(axes: Any, field: Field) -> None:
    """Draw the figure as thin labelled lines; nothing where it does not vary."""
    values = np.ma.masked_invalid(np.asarray(field.values, dtype=np.float64))
    if values.count() < 4 or float(values.max() - values.min()) <= 1e-9 * (
        1.0 + abs(float(values.max()))
    ):
        return
    drawn = axes.contour(
        field.x, field.y, values, levels=9, colors="#555555", linewidths=0.7,
        negative_linestyles=":",
    )
    axes.clabel(drawn, fontsize=7.0, inline=True)


def _limit(axes: Any, line: LimitLine, field: Field) -> None:
    dashes, width = STYLES[line.level]
    for part in line.parts:
        xs, ys = zip(*part, strict=True)
        axes.plot(xs, ys, color="black", linestyle=dashes, linewidth=width)
    longest = max(line.parts, key=lambda part: _length(part, field), default=())
    if not longest:
        return
    at = longest[len(longest) // (2 if line.level == "danger" else 3)]
    axes.annotate(
        line.label, at, ha="center", va="center", fontsize=8.0, fontweight="bold",
        bbox={"boxstyle": "square,pad=0.2", "fc": "white", "ec": "black", "lw": 0.5},
        annotation_clip=True,
    )


def _length(part: Sequence[tuple[float, float]], field: Field) -> float:
    """Return the length of a line over the sides of the picture."""
    points = np.asarray(part)
    span = (field.x[-1] - field.x[0], field.y[-1] - field.y[0])
    return float(np.hypot(*(np.diff(points, axis=0) / span).T).sum()) if len(points) > 1 else 0.0


def _mark(axes: Any, at: tuple[float, float], field: Field) -> None:
    inside = field.x[0] <= at[0] <= field.x[-1] and field.y[0] <= at[1] <= field.y[-1]
    if inside:
        axes.plot(*at, marker="o", color="white", markeredgecolor="black", markersize=9.0)
        axes.plot(*at, marker="+", color="black", markersize=8.0)


def _legend(axes: Any, field: Field) -> None:
    """Say what hatching, dashes and the mark mean, those that are there."""
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    levels = np.asarray(field.levels)
    entries: list[Any] = []
    names = {CLEAR: "clear", CAUTION: "caution", DANGER: "danger", -1: "no verdict or refused"}
    for level, name in names.items():
        if bool((levels == level).any()) and (field.by_level or level in HATCHES):
            grey = GREYS[level] if field.by_level and level >= 0 else "white"
            entries.append(
                Patch(facecolor=grey, edgecolor="#555555", hatch=HATCHES.get(level), label=name)
            )
    for line in field.lines:
        if line.parts:
            dashes, width = STYLES[line.level]
            entries.append(
                Line2D([], [], color="black", linestyle=dashes, linewidth=width, label=line.label)
            )
    if field.mark is not None:
        entries.append(
            Line2D([], [], color="white", markeredgecolor="black", marker="o", markersize=7.0,
                   label="as planned")
        )
    if entries:
        axes.legend(
            handles=entries, loc="upper center", bbox_to_anchor=(0.5, -0.1), ncols=4,
            fontsize=7.5, handleheight=1.2, frameon=False,
        )


def _saved(figure: Any, form: str) -> bytes:
    """Return a figure as a file without the time of day in it."""
    out = io.BytesIO()
    without = {"svg": {"Date": None}, "pdf": {"CreationDate": None}, "png": {"Software": None}}
    figure.savefig(out, format=form, metadata=without[form], dpi=150)
    return out.getvalue()


@dataclass(frozen=True, slots=True)
class Panel:
    """One channel over time: readings, the model before and after, and what is left over.

    Attributes
    ----------
    title, y_label : str
    left_label : str
        Of what is left over.
    time : sequence of float
        [s].
    readings, before, after : sequence of float
        In shown units.
    left : sequence of float
        Readings less the model after, in shown units.
    """

    title: str
    y_label: str
    left_label: str
    time: Sequence[float]
    readings: Sequence[float]
    before: Sequence[float]
    after: Sequence[float]
    left: Sequence[float]


def panels_picture(title: str, panels: Sequence[Panel], form: str) -> bytes:
    """Draw channels of a log over the model, with what is left over beside each.

    Parameters
    ----------
    title : str
    panels : sequence of Panel
        At least one.
    form : {'svg', 'png', 'pdf'}

    Returns
    -------
    bytes
        The file; the same data gives the same bytes.
    """
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context(SETTINGS):
        figure = Figure(figsize=(8.3, 1.0 + 2.0 * len(panels)), layout="constrained")
        rows = figure.subplots(
            len(panels), 2, sharex="col", squeeze=False, gridspec_kw={"width_ratios": (2, 1)}
        )
        for (axes, beside), panel in zip(rows, panels, strict=True):
            axes.plot(panel.time, panel.readings, ".", color="#777777", ms=2.5, label="log")
            axes.plot(panel.time, panel.before, "--", color="black", lw=1.0, label="before")
            axes.plot(panel.time, panel.after, "-", color="black", lw=1.4, label="fitted")
            axes.set_title(panel.title, fontsize=9.0)
            axes.set_ylabel(panel.y_label)
            beside.axhline(0.0, color="black", lw=0.8)
            beside.plot(panel.time, panel.left, ".", color="#555555", ms=2.5)
            beside.set_ylabel(panel.left_label)
        rows[0, 0].legend(fontsize=7.0)
        rows[0, 1].set_title("log less fitted model", fontsize=9.0)
        for axes in rows[-1]:
            axes.set_xlabel("time from the start of the event [s]")
        figure.suptitle(title, fontsize=10.0)
        return _saved(figure, form)
