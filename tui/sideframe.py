"""Where the parts of the side view stand, and the body around them."""

from __future__ import annotations

from dataclasses import dataclass

from tui.canvas import Canvas

TANK, LINE, EXCHANGER, PIPE, ENGINE = 14, 19, 10, 10, 14
"""Least columns inside each part, from the nose to the tail."""

SHARES = (3, 4, 2, 2, 2)
"""How columns to spare are shared out among them."""

BORDERS = 6
LEAST_WIDTH = TANK + LINE + EXCHANGER + PIPE + ENGINE + BORDERS
LEAST_HEIGHT = 8
LEAST_ROWS, MOST_ROWS = 3, 8
"""Rows inside the body."""

FIXED_ROWS = 4
"""Header, top, floor and duct."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Columns and rows of the picture.

    Attributes
    ----------
    width, height : int
    tank, line, exchanger, pipe, engine : tuple of (int, int)
        First column and number of columns inside each part.
    callouts : int
        Rows of hazards beneath the header.
    canopy, ground : bool
        Whether there is a row for each.
    top : int
        Row of the body's upper edge.
    rows : int
        Rows inside the body.
    """

    width: int
    height: int
    tank: tuple[int, int]
    line: tuple[int, int]
    exchanger: tuple[int, int]
    pipe: tuple[int, int]
    engine: tuple[int, int]
    callouts: int
    canopy: bool
    ground: bool
    top: int
    rows: int

    @property
    def left(self) -> int:
        """Column of the tank's front wall."""
        return self.tank[0] - 1

    @property
    def right(self) -> int:
        """Column of the engine's rear wall."""
        return self.engine[0] + self.engine[1]

    @property
    def first(self) -> int:
        """First row inside the body."""
        return self.top + 1

    @property
    def last(self) -> int:
        """Last row inside the body."""
        return self.top + self.rows

    @property
    def floor(self) -> int:
        """Row of the body's lower edge."""
        return self.last + 1

    @property
    def duct(self) -> int:
        """Row of the duct."""
        return self.floor + 1


def frame_of(width: int, height: int, callouts: int) -> Frame | None:
    """Share out the room.

    Parameters
    ----------
    width, height : int
        Columns and rows.
    callouts : int
        Rows of hazards wanted.

    Returns
    -------
    Frame or None
        None when the car does not fit. Rows go to the hazards first, then to the ground, the
        canopy and a taller body.
    """
    if width < LEAST_WIDTH or height < LEAST_HEIGHT:
        return None
    spare = width - LEAST_WIDTH
    nose = min(3, spare)
    tail = min(2, spare - nose)
    spare -= nose + tail
    nose, tail = nose + min(3, spare // 12), tail + min(2, spare // 15)
    spare = width - LEAST_WIDTH - nose - tail
    unit = sum(SHARES)
    sizes = [
        least + spare * share // unit
        for least, share in zip((TANK, LINE, EXCHANGER, PIPE, ENGINE), SHARES, strict=True)
    ]
    sizes[1] += width - nose - tail - BORDERS - sum(sizes)
    starts: list[int] = []
    column = nose + 1
    for size in sizes:
        starts.append(column)
        column += size + 1
    free = height - FIXED_ROWS - LEAST_ROWS
    shown = min(callouts, free)
    free -= shown
    ground = free > 0
    canopy = free > 1
    rows = min(LEAST_ROWS + max(free - 2, 0), MOST_ROWS)
    parts = list(zip(starts, sizes, strict=True))
    return Frame(
        width=width,
        height=height,
        tank=parts[0],
        line=parts[1],
        exchanger=parts[2],
        pipe=parts[3],
        engine=parts[4],
        callouts=shown,
        canopy=canopy,
        ground=ground,
        top=1 + shown + canopy,
        rows=rows,
    )


def _slant(frame: Frame, depth: int, row: int) -> int:
    """Return how far nose or tail reaches out in a row of the body, from 0 to depth - 1."""
    middle = (frame.rows - 1) / 2
    return round((depth - 1) * (1.0 - abs(row - middle) / max(middle, 0.5)))


def draw_body(canvas: Canvas, frame: Frame) -> None:
    """Draw nose, tail, upper and lower edge, and the walls between the parts."""
    left, right = frame.left, frame.right
    edge = "─" * (right - left - 1)
    canvas.put(frame.top, left, f"╭{edge}╮", "frame")
    canvas.put(frame.floor, left, f"╰{edge}╯", "frame")
    walls = [left, frame.tank[0] + frame.tank[1], frame.exchanger[0] - 1]
    walls += [frame.exchanger[0] + frame.exchanger[1], frame.engine[0] - 1, right]
    for row in range(frame.first, frame.last + 1):
        for wall in walls:
            canvas.put(row, wall, "│", "frame")
    for wall in walls[1:-1]:
        canvas.put(frame.top, wall, "┬", "frame")
        canvas.put(frame.floor, wall, "┴", "frame")
    _draw_ends(canvas, frame)
    if frame.canopy:
        start, size = frame.line
        middle, half = start + size // 2, min(size // 2 - 1, 6)
        canvas.put(frame.top - 1, middle - half, f"╭{'─' * (2 * half - 1)}╮", "frame")
        canvas.put(frame.top, middle - half, f"╯{' ' * (2 * half - 1)}╰", "frame")


def _draw_ends(canvas: Canvas, frame: Frame) -> None:
    nose, tail = frame.left, frame.width - 1 - frame.right
    for row in range(frame.rows):
        upper = row < (frame.rows - 1) / 2
        middle = row == (frame.rows - 1) / 2
        if nose:
            at = frame.left - 1 - _slant(frame, nose, row)
            glyph = "(" if middle else "╱" if upper else "╲"
            canvas.put(frame.first + row, at, glyph, "frame")
        if tail:
            at = frame.right + 1 + _slant(frame, tail, row)
            glyph = ")" if middle else "╲" if upper else "╱"
            canvas.put(frame.first + row, at, glyph, "frame")


def draw_ground(canvas: Canvas, frame: Frame, moving: bool) -> None:
    """Draw the ground and two wheels on it, where there is a row for it."""
    if not frame.ground:
        return
    row = frame.duct + 1
    canvas.put(row, 0, "▔" * frame.width, "dim")
    wheel = "(◉)" if moving else "(○)"
    for start, size in (frame.tank, frame.engine):
        canvas.put(row, start + size // 2 - 1, wheel, "frame")
