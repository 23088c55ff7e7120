"""Stock sizes of tube: a table that the user may replace, and the next size up."""

from __future__ import annotations

import difflib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from thermo.duct_section import Section
from thermo.errors import InfeasibleError, Problem, RangeError, ScenarioError
from thermo.toml_text import MAX_BYTES, line_of, lines_of, parse_toml
from thermo.units import QuantityTextError, parse, printable

SHAPES = ("round", "square")
"""Shapes of stock tube."""

KEYS = ("shape", "outside", "wall", "name")
"""Keys of a size in a file."""


@dataclass(frozen=True, slots=True)
class StockTube:
    """One size of tube.

    Attributes
    ----------
    shape : str
        ``round`` or ``square``.
    outside : float
        Outside diameter or width [m].
    wall : float
        Wall thickness [m].
    name : str
        As it is ordered.
    """

    shape: str
    outside: float
    wall: float
    name: str

    def __post_init__(self) -> None:
        if self.shape not in SHAPES:
            raise ValueError(f"shape of a tube is one of {', '.join(SHAPES)}, not {self.shape!r}")
        if not 0.001 <= self.outside <= 1.0:
            raise RangeError("outside size of a tube", self.outside, 0.001, 1.0, "m")
        if not 0.0 < self.wall < 0.5 * self.outside:
            raise RangeError("wall of a tube", self.wall, 0.0, 0.5 * self.outside, "m")

    @property
    def bore(self) -> float:
        """Inside diameter or width [m]; the corner radius of a square tube is not counted."""
        return self.outside - 2.0 * self.wall

    @property
    def section(self) -> Section:
        """Flow section."""
        return Section(self.bore, self.bore if self.shape == "square" else 0.0)


_INCH = 0.0254

_INCH_ROUND = (
    (1.0, 0.065), (1.25, 0.065), (1.5, 0.065), (1.5, 0.095), (1.625, 0.083), (1.625, 0.120),
    (1.75, 0.065), (1.75, 0.095), (1.75, 0.120), (2.0, 0.065), (2.0, 0.083), (2.0, 0.120),
    (2.25, 0.065), (2.25, 0.083), (2.5, 0.065), (2.5, 0.083), (2.5, 0.120), (3.0, 0.065),
    (3.0, 0.083), (3.0, 0.120), (3.5, 0.065), (3.5, 0.083), (4.0, 0.065), (4.0, 0.083),
    (5.0, 0.065), (6.0, 0.065),
)
_MM_ROUND = (
    (25.0, 1.5), (30.0, 1.5), (35.0, 1.5), (38.0, 1.5), (40.0, 1.5), (42.4, 2.0), (45.0, 1.5),
    (48.3, 2.0), (50.0, 1.5), (60.0, 2.0), (63.5, 1.5), (70.0, 2.0), (76.1, 2.0), (80.0, 2.0),
    (88.9, 2.0), (101.6, 2.0), (114.3, 2.0), (129.0, 2.0), (154.0, 2.0),
)
_INCH_SQUARE = (
    (1.0, 0.065), (1.25, 0.065), (1.5, 0.065), (1.5, 0.083), (1.5, 0.120), (1.75, 0.083),
    (2.0, 0.065), (2.0, 0.083), (2.0, 0.120), (2.5, 0.083), (2.5, 0.120), (3.0, 0.083),
    (3.0, 0.120), (3.5, 0.120), (4.0, 0.120),
)
_MM_SQUARE = (
    (25.0, 1.5), (30.0, 2.0), (35.0, 2.0), (40.0, 2.0), (45.0, 2.0), (50.0, 2.0), (60.0, 2.0),
    (60.0, 3.0), (70.0, 3.0), (80.0, 2.0), (80.0, 3.0), (90.0, 3.0), (100.0, 3.0), (120.0, 3.0),
)


def _sizes() -> tuple[StockTube, ...]:
    """Return the default table."""
    tubes = []
    for shape, unit, label, rows in (
        ("round", _INCH, "in", _INCH_ROUND), ("round", 1e-3, "mm", _MM_ROUND),
        ("square", _INCH, "in", _INCH_SQUARE), ("square", 1e-3, "mm", _MM_SQUARE),
    ):
        for outside, wall in rows:
            name = f"{shape} {outside:g} x {wall:g} {label}"
            tubes.append(StockTube(shape, outside * unit, wall * unit, name))
    return tuple(tubes)


STOCK: tuple[StockTube, ...] = _sizes()
"""Usual catalogue sizes of mechanical and frame tube, inch and metric (common practice). What a
yard holds differs: :func:`read_stock` takes a list of one's own."""


def next_stock_size(
    least_bore: float, shape: str = "round", stock: tuple[StockTube, ...] = STOCK
) -> StockTube:
    """Return the stock tube with the smallest bore that is not below a given one.

    Parameters
    ----------
    least_bore : float
        Inside diameter or width needed [m].
    shape : str, optional
        ``round`` or ``square``.
    stock : tuple of StockTube, optional
        The table to choose from.

    Returns
    -------
    StockTube
        Of two with the same bore, the one with the smaller outside.

    Raises
    ------
    InfeasibleError
        No tube of that shape is large enough; carries the largest bore.
    """
    bores = [t for t in stock if t.shape == shape]
    fits = [t for t in bores if t.bore >= least_bore * (1.0 - 1e-12)]
    if not fits:
        largest = max((t.bore for t in bores), default=None)
        held = (
            f"the largest bore is {largest * 1e3:.1f} mm"
            if largest is not None
            else "the table holds none of that shape"
        )
        raise InfeasibleError(
            f"no {shape} stock tube has a bore of {least_bore * 1e3:.1f} mm: {held}", largest
        )
    return min(fits, key=lambda t: (t.bore, t.outside))


def read_stock(path: Path) -> tuple[StockTube, ...]:
    """Read stock sizes from a file.

    Parameters
    ----------
    path : Path
        TOML file with one ``[[tube]]`` for each size: ``shape = "round"`` or ``"square"``,
        ``outside = "2 in"``, ``wall = "0.065 in"``, and a ``name`` if wanted.

    Returns
    -------
    tuple of StockTube
        In the order of the file.

    Raises
    ------
    ScenarioError
        The file cannot be read, is no TOML, or has problems; carries all of them.
    """
    source = printable(path.name)
    try:
        with path.open("rb") as file:
            raw = file.read(MAX_BYTES + 1)
        text = raw.decode("utf-8")
    except OSError as error:
        reason = f"cannot be read: {error.strerror}"
        raise ScenarioError(source, [Problem("", "", reason)]) from error
    except UnicodeDecodeError as error:
        raise ScenarioError(source, [Problem("", "", "is no UTF-8 text")]) from error
    content = parse_toml(text, source)
    rows = content.get("tube")
    if set(content) != {"tube"} or not isinstance(rows, list) or not rows:
        given = printable(", ".join(content))
        raise ScenarioError(source, [Problem("", given, "expected [[tube]] tables only")])
    lines = lines_of(text)
    tubes: list[StockTube] = []
    problems: list[Problem] = []
    for number, row in enumerate(rows):
        tube = _tube(row, f"tube[{number}]", line_of(lines, ("tube", number)), problems)
        if tube is not None:
            tubes.append(tube)
    if problems:
        raise ScenarioError(source, problems)
    return tuple(tubes)


def stock_as_toml(stock: tuple[StockTube, ...] = STOCK) -> str:
    """Return a table of sizes as the text of a file that :func:`read_stock` reads.

    Parameters
    ----------
    stock : tuple of StockTube, optional
        The table.

    Returns
    -------
    str
        TOML text, to be edited.
    """
    lines = ["# Stock sizes of tube. Delete what your yard does not hold; add what it does."]
    for tube in stock:
        lines += [
            "", "[[tube]]", f'name = "{tube.name}"', f'shape = "{tube.shape}"',
            f'outside = "{tube.outside * 1e3:.10g} mm"', f'wall = "{tube.wall * 1e3:.10g} mm"',
        ]
    return "\n".join(lines) + "\n"


def _tube(
    row: Any, key: str, line: int | None, problems: list[Problem]
) -> StockTube | None:
    """Return one size of the file, or None after noting what is wrong with it."""
    before = len(problems)

    def note(at: str, given: str, allowed: str, suggestion: str = "") -> None:
        problems.append(Problem(at, given, allowed, line, suggestion))

    if not isinstance(row, dict):
        note(key, printable(str(row)), "expected a table")
        return None
    for unknown in (k for k in row if k not in KEYS):
        near = difflib.get_close_matches(unknown, KEYS, n=1)
        note(f"{key}.{printable(unknown)}", "", f"unknown key; known: {', '.join(KEYS)}",
             near[0] if near else "")
    sizes = {}
    for name in ("outside", "wall"):
        if name not in row:
            note(f"{key}.{name}", "", 'is missing, such as "2 in"')
            continue
        try:
            sizes[name] = parse(row[name], "length")
        except QuantityTextError as error:
            note(f"{key}.{name}", error.given, error.allowed)
    shape = row.get("shape", "")
    if shape not in SHAPES:
        note(f"{key}.shape", printable(str(shape)), f"expected {' or '.join(SHAPES)}")
    if len(problems) > before:
        return None
    label = printable(str(row.get("name", f"{shape} {row['outside']} x {row['wall']}")))
    try:
        return StockTube(shape, sizes["outside"], sizes["wall"], label)
    except RangeError as error:
        note(key, "", str(error))
        return None
