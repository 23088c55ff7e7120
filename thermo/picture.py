"""A line drawing as plain data: paths and words at their places, for any kind of page."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

BLACK = "#000000"
Op = tuple[str, tuple[float, ...]]
"""One step of a path: ``M``, ``L`` (x, y), ``Q`` (2 points), ``C`` (3 points) or ``Z`` ()."""


@dataclass(frozen=True, slots=True)
class Stroke:
    """A path, drawn, filled, or both.

    Attributes
    ----------
    ops : tuple of (str, tuple of float)
        Steps; coordinates in points from the upper left corner.
    width : float
        Of the line [pt]; zero for none.
    colour : str
        Of the line, as ``#rrggbb``.
    dashes : tuple of float
        On and off [pt]; empty for a solid line.
    fill : str
        As ``#rrggbb``; empty for none.
    """

    ops: tuple[Op, ...]
    width: float = 0.8
    colour: str = BLACK
    dashes: tuple[float, ...] = ()
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text.

    Attributes
    ----------
    text : str
    x, y : float
        Where the baseline begins, has its middle or ends [pt].
    size : float
        Of the type [pt].
    anchor : {'start', 'middle', 'end'}
    bold : bool
    angle : float
        By which it is turned, anticlockwise, about its place [degrees].
    length : float
        Room it takes in the font it was set for [pt]; zero where that was not measured.
    colour : str
    """

    text: str
    x: float
    y: float
    size: float
    anchor: Literal["start", "middle", "end"] = "start"
    bold: bool = False
    angle: float = 0.0
    length: float = 0.0
    colour: str = BLACK


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing.

    Attributes
    ----------
    width, height : float
        [pt].
    items : tuple of Stroke and Words
        In the order in which they are drawn.
    """

    width: float
    height: float
    items: tuple[Stroke | Words, ...]
