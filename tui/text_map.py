"""The text of ``soakbox map``, and its picture in the user's words and units."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

import numpy as np

from thermo import __version__
from thermo.axes import Axis
from thermo.drawing import Field, LimitLine
from thermo.map_results import Shown
from thermo.maps import Map
from thermo.units import System, convert, counterpart, format_number, kind_named
from tui.wording import CAUTIONS, WIDTH, flag_amount, localised, wrap
from tui.words import words_of

SIGNS = {0: "", 1: "!", 2: "X"}
"""Mark behind a figure by the level of what the line is about."""

WORDS = {0: "ok", 1: "!", 2: "XX"}
MOST_ROWS = 40
"""Rows of the text; more are thinned."""

NOTE_WIDTH = 125
"""Columns of the notes under a picture."""

CELSIUS = 273.15


def axis_unit(axis: Axis, system: System) -> str:
    """Return the unit in which an axis is shown: as typed, or of the US system."""
    if not axis.unit:
        return ""
    if system == "us":
        us = kind_named(axis.kind).us_display
        return us if axis.unit == us else counterpart(axis.unit, axis.kind)
    return axis.unit if _is_si(axis) else kind_named(axis.kind).si_display


def _is_si(axis: Axis) -> bool:
    """Whether the typed unit belongs to the metric system."""
    what = kind_named(axis.kind)
    us = {what.us_display, *(counterpart(u, axis.kind) for u in (what.si_display, axis.unit))}
    return axis.unit not in us or axis.unit == what.si_display


def in_unit(axis: Axis, values: Sequence[float], system: System) -> list[float]:
    """Return SI values of an axis in the unit shown."""
    unit = axis_unit(axis, system)
    return [convert(v, axis.kind, unit) if unit else v for v in values]


def axis_texts(axis: Axis, values: Sequence[float], system: System) -> list[str]:
    """Return SI values of an axis as numbers."""
    return [format_number(v, 4) for v in in_unit(axis, values, system)]


def axis_title(axis: Axis, system: System) -> str:
    """Return key and unit of an axis."""
    unit = axis_unit(axis, system)
    return f"{axis.key}, {unit}" if unit else axis.key


def value_number(value: float, shown: Shown, system: System) -> float:
    """Return a value of a map as a number in the user's system."""
    if not math.isfinite(value):
        return value
    if shown.kind:
        kind = kind_named(shown.kind)
        unit = kind.us_display if system == "us" else kind.si_display
        si = value + (CELSIUS if shown.unit == "degC" else 0.0)
        if shown.kind == "temperature_difference":
            return 1.8 * value if system == "us" else value
        return convert(si, shown.kind, unit) if unit else si
    if system == "us" and shown.unit:
        number = flag_amount(value, shown.unit, system).split(" ")[0].replace(",", "")
        return float(number) if number not in ("-", "endless") else math.nan
    return value


def value_unit(shown: Shown, system: System) -> str:
    """Return the unit in which values are told; empty where there is none."""
    if shown.kind == "temperature_difference":
        return "F deg" if system == "us" else "K"
    if shown.kind:
        kind = kind_named(shown.kind)
        return kind.us_display if system == "us" else kind.si_display
    return flag_amount(1.0, shown.unit, system).partition(" ")[2] if shown.unit else ""


def shown_title(shown: Shown, system: System) -> str:
    """Return what is shown, with its unit."""
    if shown.form == "verdict":
        return "verdict"
    if shown.form == "level":
        return f"level of {shown.source}"
    unit = value_unit(shown, system)
    words = {
        "figure": shown.name,
        "value": f"{shown.name} ({words_of(shown.source).title})",
        "slack": f"{shown.name}, what is left of the limit",
    }[shown.form]
    return f"{words}, {unit}" if unit else words


def line_name(found: Map) -> str:
    """Return what the limit line is about."""
    return found.shown.hazard or "verdict"


def _thinned(count: int, most: int) -> list[int]:
    """Return places evenly spread, both ends among them."""
    if count <= most:
        return list(range(count))
    return [round(i * (count - 1) / (most - 1)) for i in range(most)]


def _cell(found: Map, row: int, column: int, system: System) -> str:
    if int(found.levels[row, column]) < 0:
        return "/" if found.refused[row, column] else "?"
    value = float(found.values[row, column])
    if found.shown.is_level:
        return WORDS[int(value)]
    sign = SIGNS[int(found.ranks[row, column])]
    if math.isnan(value):
        return f"-{sign}"
    number = "endless" if math.isinf(value) else format_number(
        value_number(value, found.shown, system), 3
    )
    return f"{number}{sign}"


def _grid(found: Map, system: System) -> list[str]:
    """Return the table, thinned to 80 columns; it says so."""
    rows = _thinned(len(found.y), MOST_ROWS)
    heads = axis_texts(found.x, found.x.values, system)
    labels = axis_texts(found.y, found.y.values, system)
    cells = [[_cell(found, j, i, system) for i in range(len(found.x))] for j in rows]
    label = max(len(labels[j]) for j in rows) + 2
    wide = max(len(t) for t in (*heads, *(c for row in cells for c in row))) + 1
    columns = _thinned(len(found.x), max((WIDTH + 2 - label) // wide, 2))
    lines = [wrap(f"{axis_title(found.x, system)} across, {axis_title(found.y, system)} down")]
    lines.append(" " * label + "".join(f"{heads[i]:>{wide}}" for i in columns))
    lines += [
        f"{labels[j]:<{label}}" + "".join(f"{row[i]:>{wide}}" for i in columns)
        for j, row in zip(rows, cells, strict=True)
    ]
    if len(columns) < len(found.x) or len(rows) < len(found.y):
        lines.append(wrap(
            f"Thinned: {len(columns)} of {len(found.x)} columns and {len(rows)} of {len(found.y)} "
            "rows are shown; --json and --out have all."
        ))
    return lines


def _row_words(found: Map, row: int, system: System) -> str:
    """Return where the limit lies along one row."""
    told = [c for c in found.crossings if c.along == "x" and c.line == row]
    unit = axis_unit(found.x, system)
    parts = [
        f"{c.level} {'above' if c.worse_above else 'below'} "
        f"{axis_texts(found.x, [c.at], system)[0]} {unit}".rstrip()
        for c in sorted(told, key=lambda c: (c.at, c.level))
    ]
    ranks = found.ranks[row]
    if not parts:
        known = ranks[ranks >= 0]
        if not len(known):
            return "no verdict"
        parts = [f"{('clear', 'caution', 'danger')[int(known[0])]} throughout"]
    elif int(ranks[ranks >= 0].min()) > 0:
        parts.append("else caution")
    if bool((ranks < 0).any()):
        parts.append("no verdict in places")
    return "; ".join(parts)


def _limits(found: Map, system: System) -> list[str]:
    """Return where the limit lies in every row that is shown."""
    rows = _thinned(len(found.y), MOST_ROWS)
    labels = axis_texts(found.y, found.y.values, system)
    label = max(len(labels[j]) for j in rows) + 2
    lines = [wrap(
        f"WHERE THE LIMIT LIES: {line_name(found)} by {axis_title(found.x, system)}, for each "
        f"{axis_title(found.y, system)}"
    )]
    words = [_row_words(found, j, system) for j in rows]
    if len(set(words)) == 1 and "throughout" in words[0]:
        return [*lines, f"  {words[0]}, in every row"]
    return lines + [
        wrap(f"  {labels[j]:<{label}}{text}", label + 4)
        for j, text in zip(rows, words, strict=True)
    ]


def counts_text(found: Map) -> str:
    """Return how many places have each verdict."""
    c = found.counts
    return (
        f"{sum(c.values())} places: {c['clear']} clear, {c['caution']} caution, {c['danger']} "
        f"danger, {c['no verdict']} without a verdict, {c['refused']} refused."
    )


def standing_text(found: Map, system: System) -> str:
    """Return the scenario as it stands."""
    at = [
        f"{axis.key} {axis_texts(axis, [now], system)[0]} {axis_unit(axis, system)}".rstrip()
        for axis, now in zip((found.x, found.y), found.now, strict=True) if now is not None
    ]
    return f"As planned ({', '.join(at)}): {found.standing.upper()}.".replace(" ()", "")


def binding_text(found: Map) -> str:
    """Return which hazards bind, and in how many places that are not clear."""
    counts: dict[str, int] = {}
    for names, levels in zip(found.binding, found.levels, strict=True):
        for name, level in zip(names, levels, strict=True):
            if level > 0:
                counts[name] = counts.get(name, 0) + 1
    told = sorted(counts.items(), key=lambda item: -item[1])
    return "Binding there: " + ", ".join(f"{name} {count}" for name, count in told) + "."


def reasons(found: Map, system: System) -> list[str]:
    """Return why places have no verdict, each reason once with the number of its places."""
    counts: dict[tuple[str, str], int] = {}
    for j, row in enumerate(found.reasons):
        for i, reason in enumerate(row):
            if reason:
                key = (found.verdict(j, i), reason)
                counts[key] = counts.get(key, 0) + 1
    return [
        f"{verdict} ({count} of {found.levels.size}): {localised(reason, system)}."
        for (verdict, reason), count in sorted(counts.items(), key=lambda item: -item[1])
    ]


def map_text(found: Map, system: System = "si") -> str:
    """Return the whole text of ``soakbox map``.

    Parameters
    ----------
    found : Map
    system : {'si', 'us'}

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    marks = (
        "ok clear, ! caution, XX danger" if found.shown.is_level
        else f"! caution and X danger of {line_name(found)}"
    )
    lines = [
        wrap(found.title or "scenario"),
        wrap(f"MAP of {shown_title(found.shown, system)}"),
        f"soakbox {__version__}   scenario {found.digest}",
        "",
        wrap(standing_text(found, system)),
        wrap(counts_text(found)),
        *([wrap(binding_text(found))] if bool((found.levels > 0).any()) else []),
        "",
        *_grid(found, system),
        wrap(f"({marks}; ? no verdict, / refused: never safe)"),
        *(wrap(f"  {words}", 4) for words in reasons(found, system)[:6]),
        "",
        *_limits(found, system),
        "",
        wrap(CAUTIONS),
    ]
    return "\n".join(lines)


def map_field(found: Map, system: System = "si") -> Field:
    """Return the picture of a map with an outline.

    Parameters
    ----------
    found : Map
    system : {'si', 'us'}

    Returns
    -------
    Field
    """

    def placed(line: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
        xs = in_unit(found.x, [a for a, _ in line], system)
        ys = in_unit(found.y, [b for _, b in line], system)
        return list(zip(xs, ys, strict=True))

    shown = [[value_number(float(v), found.shown, system) for v in row] for row in found.values]
    now = found.now
    mark = None
    if now[0] is not None and now[1] is not None:
        mark = placed([(now[0], now[1])])[0]
    about = line_name(found)
    return Field(
        title=found.title or "scenario",
        x_label=axis_title(found.x, system),
        y_label=axis_title(found.y, system),
        value_label=f"{shown_title(found.shown, system)}; limit lines: {about}",
        notes=(
            *textwrap.wrap(
                f"soakbox {__version__}, scenario {found.digest}. {standing_text(found, system)} "
                f"{counts_text(found)}", NOTE_WIDTH,
            ),
            *textwrap.wrap(CAUTIONS, NOTE_WIDTH),
        ),
        x=in_unit(found.x, found.x.values, system),
        y=in_unit(found.y, found.y.values, system),
        values=np.array(shown),
        levels=np.where(found.levels < 0, -1, found.ranks),
        by_level=found.shown.is_level,
        lines=tuple(
            LimitLine(
                f"{about}: {level}", level, tuple(placed(part) for part in found.lines(level))
            )
            for level in ("caution", "danger")
        ),
        mark=mark,
    )

