"""A grid of characters with roles, from which lines of text segments are cut."""

from __future__ import annotations

ROLES = (
    "plain",
    "dim",
    "frame",
    "water",
    "hot",
    "cold",
    "air",
    "caution",
    "danger",
    "label",
    "figure",
)
"""What a segment is, for its style; the text alone tells all that the style does."""

Segment = tuple[str, str]
"""Text and its role."""

Line = list[Segment]

ASCII = str.maketrans(
    {
        **dict.fromkeys("╭╮╰╯┬┴╥╝", "+"),
        **dict.fromkeys("─╌▔▂▃", "-"),
        **dict.fromkeys("═━▄▅", "="),
        **dict.fromkeys("│▌▐", "|"),
        **dict.fromkeys("▁", "_"),
        **dict.fromkeys("▆▇█", "#"),
        "╱": "/",
        "╲": "\\",
        "◄": "<",
        "►": ">",
        "●": "@",
        "◉": "@",
        "○": "o",
    }
)
"""What stands for each glyph where only ASCII can be shown: always one for one."""


class Canvas:
    """Characters and roles on a grid; what is put outside of it is refused.

    Parameters
    ----------
    width, height : int
        Columns and rows.
    """

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self._text = [[" "] * width for _ in range(height)]
        self._role: list[list[str]] = [["plain"] * width for _ in range(height)]

    def put(self, row: int, column: int, text: str, role: str = "plain") -> None:
        """Write text from a cell on to the right.

        Raises
        ------
        IndexError
            If it does not fit: a figure is never cut.
        """
        end = column + len(text)
        if not (0 <= row < self.height and column >= 0 and end <= self.width):
            raise IndexError(f"{text!r} does not fit at row {row}, column {column}")
        self._text[row][column:end] = text
        self._role[row][column:end] = [role] * len(text)

    def put_all(self, row: int, column: int, line: Line) -> None:
        """Write segments from a cell on to the right."""
        for text, role in line:
            self.put(row, column, text, role)
            column += len(text)

    def lines(self, ascii_only: bool = False) -> list[Line]:
        """Return the grid as lines, spaces at their ends left out.

        Parameters
        ----------
        ascii_only : bool
            Whether to put ASCII in place of every glyph.

        Returns
        -------
        list of Line
        """
        out: list[Line] = []
        for texts, roles in zip(self._text, self._role, strict=True):
            whole = "".join(texts).rstrip()
            if ascii_only:
                whole = whole.translate(ASCII).encode("ascii", "replace").decode("ascii")
            out.append(_segments(whole, roles))
        return out


def _segments(text: str, roles: list[str]) -> Line:
    line: Line = []
    start = 0
    for i in range(1, len(text) + 1):
        if i == len(text) or roles[i] != roles[start]:
            line.append((text[start:i], roles[start]))
            start = i
    return line


def width_of(line: Line) -> int:
    """Return the number of characters of a line."""
    return sum(len(text) for text, _ in line)


def text_of(lines: list[Line]) -> str:
    """Return lines as plain text."""
    return "\n".join("".join(text for text, _ in line) for line in lines)
