"""The text of ``soakbox compare``: verdicts on top, then only what differs."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from tui.comparing import Comparison
from tui.wording import CAUTIONS, WIDTH, wrap

GROUPS = {
    "verdict": "verdict",
    "hazard": "hazards that differ",
    "figure": "figures that differ",
    "input": "inputs that differ",
}
"""Headings of the comparison."""

GAP = 2
"""Spaces between columns."""

ABREAST = 3
"""Scenarios side by side on a page of 80 columns; with more, further ones follow below, each
time beside the first."""

LEAST_LABEL, MOST_LABEL = 12, 30


def side_by_side(names: tuple[str, ...], told: Comparison, width: int | None = None) -> str:
    """Return a comparison as text, a column a scenario.

    Parameters
    ----------
    names : tuple of str
        What to call each scenario.
    told : Comparison
    width : int, optional
        Columns of text to keep to, by running cells on; without it the columns are as wide as
        they need be.

    Returns
    -------
    str
    """
    first = max(len(row.label) for row in told.rows) + GAP
    widths = [
        max(len(name), *(len(row.values[i]) for row in told.rows)) + GAP
        for i, name in enumerate(names)
    ]
    if width is not None and first + sum(widths) > width:
        first = min(first, max(LEAST_LABEL, min(MOST_LABEL, width // 3)))
        widths = [(width - first) // len(names)] * len(names)
    lines = list(_cells("", names, first, widths))
    group = ""
    for row in told.rows:
        if row.group != group:
            group = row.group
            lines += ["", GROUPS[group].upper()]
        lines += _cells(row.label, row.values, first, widths)
    return "\n".join(lines)


def _cells(label: str, values: tuple[str, ...], first: int, widths: list[int]) -> Iterator[str]:
    """Yield the lines of one row: what is longer than its column runs on below."""
    columns = [
        textwrap.wrap(text, wide - GAP) or [""]
        for text, wide in zip((label, *values), (first, *widths), strict=True)
    ]
    for number in range(max(map(len, columns))):
        parts = (
            f"{cells[number] if number < len(cells) else '':<{wide}}"
            for cells, wide in zip(columns, (first, *widths), strict=True)
        )
        yield "".join(parts).rstrip()


def compare_text(names: tuple[str, ...], told: Comparison) -> str:
    """Return the whole text of ``soakbox compare``.

    Parameters
    ----------
    names : tuple of str
        What to call each scenario.
    told : Comparison

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    lines = [wrap(f"{name}: {label}") for name, label in zip(names, told.labels, strict=True)]
    for start in range(1, len(names), ABREAST - 1):
        chosen = (0, *range(start, min(start + ABREAST - 1, len(names))))
        lines += ["", side_by_side(tuple(names[i] for i in chosen), told.of(chosen), WIDTH)]
    return "\n".join([*lines, "", wrap(CAUTIONS)])
