"""Hazards packed into rows of text: as many as fit, the least pressing left over, none cut."""

from __future__ import annotations

from collections.abc import Sequence

from tui.canvas import Line, Segment
from tui.tags import Tag

GAP = 2
STEP = 4
"""Columns between the places at which the two columns may be parted."""

LEFT = ("tank", "line")
"""Places whose hazards stand at the left; the others' stand at the right."""


def segment_of(tag: Tag, text: str | None = None) -> Segment:
    """Return a tag as a segment: in its level's role now, dim when it is not now."""
    role: str = "dim" if not tag.active else "danger" if tag.level == "danger" else "caution"
    return (tag.text if text is None else text, role)


def packed(tags: Sequence[Tag], width: int, rows: int) -> list[list[Tag]] | None:
    """Return tags in rows of a width, each in the first with room; None when they need more."""
    out: list[list[Tag]] = [[] for _ in range(rows)]
    used = [0] * rows
    for tag in tags:
        size = len(tag.text)
        at = next((i for i in range(rows) if used[i] + (GAP if used[i] else 0) + size <= width), -1)
        if at < 0:
            return None
        used[at] += (GAP if used[at] else 0) + size
        out[at].append(tag)
    return out


def _line(tags: Sequence[Tag]) -> Line:
    line: Line = []
    for tag in tags:
        if line:
            line.append((" " * GAP, "plain"))
        line.append(segment_of(tag))
    return line


def _columns(tags: Sequence[Tag], width: int, rows: int) -> list[tuple[int, Line]] | None:
    """Return pieces of rows as (row * width + column, line), or None when they do not fit."""
    left = [t for t in tags if t.place in LEFT]
    right = [t for t in tags if t.place not in LEFT]
    middle = width // 2
    for at in sorted(range(0, width + 1, STEP), key=lambda c: abs(c - middle)):
        a = packed(left, at, rows)
        b = packed(right, width - at - GAP, rows) if a is not None else None
        if a is None or b is None:
            continue
        room = max((sum(len(t.text) + GAP for t in row) - GAP for row in b if row), default=0)
        start = width - room
        pieces = [(i * width, _line(row)) for i, row in enumerate(a) if row]
        return pieces + [(i * width + start, _line(row)) for i, row in enumerate(b) if row]
    whole = packed([*left, *right], width, rows)
    if whole is None:
        return None
    return [(i * width, _line(row)) for i, row in enumerate(whole) if row]


def rows_needed(tags: Sequence[Tag], width: int, most: int) -> int:
    """Return how many rows of a width hold all tags; `most` when not even those do."""
    return next((n for n in range(most) if _columns(tags, width, n) is not None), most)


def laid_out(
    tags: Sequence[Tag], width: int, rows: int
) -> tuple[list[tuple[int, int, Line]], list[Tag]]:
    """Lay tags out in rows: tank and lines to the left, exchanger and engine to the right.

    Parameters
    ----------
    tags : sequence of Tag
        Most pressing first.
    width, rows : int
        Room for them.

    Returns
    -------
    tuple of (list of (int, int, Line), list of Tag)
        Row, column and text of each piece; and the tags left over, the least pressing ones.
    """
    for count in range(len(tags), -1, -1):
        pieces = _columns(tags[:count], width, rows)
        if pieces is not None:
            return [(p // width, p % width, line) for p, line in pieces], list(tags[count:])
    return [], list(tags)
