"""Shapes of the drawn car: body, tank, pipes, driver, engine."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from thermo.charting import drawable, text_length
from thermo.picture import BLACK, Op, Stroke, Words

Point = tuple[float, float]
Box = tuple[float, float, float, float]
"""Left, top, width, height [pt]."""

SEAT: tuple[tuple[tuple[Point, ...], float], ...] = (
    (((197.0, 19.0), (205.0, 57.0), (176.0, 60.0)), 1.4),  # seat
    (((186.0, 25.0), (194.0, 54.0), (163.0, 52.0), (149.0, 41.0), (127.0, 56.0)), 2.0),
    (((127.0, 56.0), (125.0, 45.0)), 2.0),  # foot
    (((187.0, 31.0), (172.0, 41.0), (158.0, 35.0)), 1.3),  # arm
    (((157.0, 29.0), (161.0, 42.0)), 1.0),  # wheel
)
"""The driver, feet to the nose: lines and their widths, from the body's upper edge."""

WATER = "#dddddd"
CURVE = 0.5523
"""Handle of a Bezier quarter circle over its radius."""


class Pen:
    """Puts lines and words onto a drawing."""

    def __init__(self) -> None:
        self.items: list[Stroke | Words] = []

    def line(
        self,
        points: Sequence[Point],
        width: float = 0.8,
        *,
        colour: str = BLACK,
        dashes: tuple[float, ...] = (),
        closed: bool = False,
        fill: str = "",
    ) -> None:
        """Draw a line through points."""
        ops: list[Op] = [("M" if i == 0 else "L", point) for i, point in enumerate(points)]
        if closed:
            ops.append(("Z", ()))
        self.items.append(Stroke(tuple(ops), width, colour, dashes, fill))

    def box(
        self, x: float, y: float, wide: float, high: float, width: float, fill: str = ""
    ) -> None:
        """Draw a rectangle."""
        corners = [(x, y), (x + wide, y), (x + wide, y + high), (x, y + high)]
        self.line(corners, width, closed=True, fill=fill)

    def circle(self, x: float, y: float, radius: float, width: float, fill: str = "") -> None:
        """Draw a circle."""
        r, h = radius, radius * CURVE
        ops: tuple[Op, ...] = (
            ("M", (x + r, y)),
            ("C", (x + r, y + h, x + h, y + r, x, y + r)),
            ("C", (x - h, y + r, x - r, y + h, x - r, y)),
            ("C", (x - r, y - h, x - h, y - r, x, y - r)),
            ("C", (x + h, y - r, x + r, y - h, x + r, y)),
            ("Z", ()),
        )
        self.items.append(Stroke(ops, width, fill=fill))

    def write(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        anchor: Literal["start", "middle", "end"] = "start",
        bold: bool = False,
    ) -> None:
        """Write a line of text; what the font lacks is marked."""
        text = drawable(text)
        length = text_length(text, size, bold)
        self.items.append(Words(text, x, y, size, anchor, bold, length=length))

    def arrow(self, x: float, y: float, towards: int, size: float = 4.5) -> None:
        """Draw the head of an arrow, to the tail of the car (1) or to its nose (-1)."""
        back = x - towards * size
        self.line([(x, y), (back, y - 0.55 * size), (back, y + 0.55 * size)], 0.4, closed=True,
                  fill=BLACK)

    def pipe(self, points: Sequence[Point], still: bool, towards: int) -> None:
        """Draw a pipe; dashed and without an arrow where nothing flows."""
        self.line(points, 1.5, dashes=(3.0, 2.5) if still else ())
        if not still:
            (x0, y), (x1, _) = points[0], points[-1]
            self.arrow((x0 + x1) / 2.0 + 3.0 * towards, y, towards, 5.5)


def body(pen: Pen, top: float, height: float, moving: bool) -> None:
    """Draw the outline of the car, its wheels and the ground."""
    ground = top + height
    upper, lower = top + 16.0, ground - 14.0
    outline: tuple[Op, ...] = (
        ("M", (6.0, ground - 38.0)),
        ("C", (14.0, upper + 16.0, 48.0, upper + 1.0, 112.0, upper)),
        ("L", (134.0, upper)),
        ("C", (150.0, upper - 1.0, 160.0, top - 1.0, 190.0, top)),
        ("C", (214.0, top, 222.0, upper, 246.0, upper)),
        ("L", (444.0, upper)),
        ("C", (466.0, upper, 474.0, top + 2.0, 486.0, top)),
        ("L", (498.0, top)),
        ("L", (494.0, upper + 26.0)),
        ("C", (486.0, lower - 8.0, 470.0, lower, 446.0, lower)),
        ("L", (58.0, lower)),
        ("C", (34.0, lower, 16.0, lower - 8.0, 6.0, ground - 38.0)),
    )
    pen.items.append(Stroke(outline, 1.3))
    canopy: tuple[Op, ...] = (
        ("M", (156.0, top + 8.5)),
        ("C", (164.0, top + 15.0, 196.0, top + 15.0, 222.0, top + 11.0)),
    )
    pen.items.append(Stroke(canopy, 0.6))
    for x in (78.0, 405.0):
        pen.circle(x, ground - 11.0, 10.5, 1.3, fill="#ffffff")
        pen.circle(x, ground - 11.0, 3.5, 0.8)
    pen.line([(0.0, ground), (505.0, ground)], 0.7)
    if moving:
        for i in range(3):
            y = upper + 12.0 + 12.0 * i
            pen.line([(499.0 - 2.0 * i, y), (505.0, y)], 0.6)


def water(pen: Pen, box: Box, share: float, ice: bool) -> None:
    """Draw the tank, its water up to a share of the height, and ice on it."""
    x, y, wide, high = box
    share = min(max(share, 0.0), 1.0)
    level = y + high * (1.0 - share)
    if share > 0.0:
        pen.box(x, level, wide, y + high - level, 0.0, fill=WATER)
        lines = int((y + high - level) / 6.0)
        for i in range(1, lines + 1):
            dashed = (7.0, 4.0) if i % 2 else (3.0, 6.0)
            pen.line([(x + 3.0, level + 6.0 * i - 2.0), (x + wide - 3.0, level + 6.0 * i - 2.0)],
                     0.35, dashes=dashed)
        pen.line([(x, level), (x + wide, level)], 0.8)
    if ice:
        for i in range(4):
            pen.box(x + 8.0 + 13.0 * i, level - 3.0, 7.0, 7.0, 0.7, fill="#ffffff")
    pen.box(x, y, wide, high, 1.5)


def engine_shape(pen: Pen, box: Box, running: bool, boiling: bool) -> None:
    """Draw the engine: block, cylinders, and steam where the coolant boils."""
    x, y, wide, high = box
    pen.line(
        [
            (x, y + 14.0), (x + 8.0, y), (x + wide - 8.0, y), (x + wide, y + 14.0),
            (x + wide, y + high - 8.0), (x + wide - 10.0, y + high), (x + 10.0, y + high),
            (x, y + high - 8.0),
        ],
        1.4,
        closed=True,
    )
    for i in range(4):
        left = x + 9.0 + 13.0 * i
        pen.box(left, y + 8.0, 9.0, 20.0, 0.8)
        piston = y + 12.0 + (5.0 * (i % 2) if running else 3.0)
        pen.box(left, piston, 9.0, 6.0, 0.6, fill="#999999")
    pen.circle(x + wide / 2.0, y + high - 12.0, 7.0, 0.8)
    if boiling:
        for i in range(3):
            at = x + 16.0 + 16.0 * i
            points = [(at + 2.5 * math.sin(k), y - 3.0 - 2.0 * k) for k in range(6)]
            pen.line(points, 0.9)
