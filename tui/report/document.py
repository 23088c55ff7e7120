"""What a report holds, whatever kind of file it goes into."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from thermo.picture import Picture


def clean(text: str) -> str:
    """Return text with control characters, and others that do not print, written as escapes."""
    if text.isprintable():
        return text
    return "".join(
        c if c.isprintable() or c == "\n" else c.encode("unicode_escape").decode("ascii")
        for c in text
    )


TYPED = "--"
"""How a line begins that is to be typed."""

_SIGNS = (
    (re.compile(r"(?<=[\d\[,] )deg([CF])\b"), r"°\1"),
    (re.compile(r"(?<=\[)deg([CF])\b"), r"°\1"),
    (re.compile(r"\b(m|mm|in|ft)\^2\b"), r"\1²"),
    (re.compile(r"\b(m|mm|in|ft)\^3\b"), r"\1³"),
    (re.compile(r">=(?=[\s\d-])"), "≥"),
    (re.compile(r"<=(?=[\s\d-])"), "≤"),
)


def signs(text: str) -> str:
    """Return text with the signs that paper has, but for lines that are to be typed."""
    lines = text.split("\n")
    for pattern, sign in _SIGNS:
        lines = [x if x.startswith(TYPED) else pattern.sub(sign, x) for x in lines]
    return "\n".join(lines)


Style = Literal["plain", "lead", "step", "small", "caution"]


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Words; `lead` is bold, `step` stays with what follows, `small`, `caution` in a frame."""

    text: str
    style: Style = "plain"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of words."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Code:
    """Lines whose columns matter, such as an equation."""

    text: str


@dataclass(frozen=True, slots=True)
class Band:
    """A heading across a table."""

    text: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table; its head is repeated on every page.

    Attributes
    ----------
    head : tuple of str
    rows : tuple of (Band or tuple of str)
    shares : tuple of float
        Widths of the columns, as shares of the page.
    figures : frozenset of int
        Columns that hold figures and stand to the right.
    bold : frozenset of int
        Columns in bold type.
    """

    head: tuple[str, ...]
    rows: tuple[Band | tuple[str, ...], ...]
    shares: tuple[float, ...]
    figures: frozenset[int] = frozenset()
    bold: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class Card:
    """Something to act on, kept together on a page.

    Attributes
    ----------
    level : {'clear', 'caution', 'danger', 'no verdict'}
        It tells the frame: the more pressing the heavier.
    title : str
    lines : tuple of (str, str)
        What each is, in a word or two, and the words.
    """

    level: str
    title: str
    lines: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing.

    Attributes
    ----------
    name : str
        Short, for the name of a file.
    title : str
    picture : Picture
    caption : str
        What is to be read from it; also for who cannot see it.
    """

    name: str
    title: str
    picture: Picture
    caption: str


Block = Paragraph | Bullets | Code | Table | Card | Figure


def printed(block: Block) -> Block:
    """Return a block with the signs that paper has."""
    if isinstance(block, Paragraph):
        return replace(block, text=signs(block.text))
    if isinstance(block, Bullets):
        return Bullets(tuple(signs(item) for item in block.items))
    if isinstance(block, Card):
        return replace(block, lines=tuple((a, signs(b)) for a, b in block.lines))
    if isinstance(block, Table):
        rows = tuple(
            row if isinstance(row, Band) else tuple(signs(cell) for cell in row)
            for row in block.rows
        )
        return replace(block, head=tuple(signs(text) for text in block.head), rows=rows)
    if isinstance(block, Figure):
        return replace(block, title=signs(block.title), caption=signs(block.caption))
    return block


@dataclass(frozen=True, slots=True)
class Section:
    """A section.

    Attributes
    ----------
    name : str
        Does not change; for links and for leaving it out.
    title : str
    blocks : tuple of Block
    """

    name: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Report:
    """A report.

    Attributes
    ----------
    title : str
    facts : tuple of (str, str)
        What tells this report from others: scenario, digest, version, day.
    foot : str
        At the foot of every page.
    opening : tuple of Block
        Before the sections: the verdict.
    sections : tuple of Section
    """

    title: str
    facts: tuple[tuple[str, str], ...]
    foot: str
    opening: tuple[Block, ...]
    sections: tuple[Section, ...]

    @property
    def figures(self) -> tuple[Figure, ...]:
        """Every drawing, in order."""
        blocks = [*self.opening, *(b for s in self.sections for b in s.blocks)]
        return tuple(b for b in blocks if isinstance(b, Figure))
