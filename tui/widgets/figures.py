"""Peaks and margins with the change against the last committed state."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from tui.present import FigureRow
from tui.widgets.words import Words

LEAST_WORDS = 24
"""Columns beside the figures from which on changes and meanings stand there."""


class FiguresPane(VerticalScroll):
    """Figures in rows: label, value, change, meaning."""

    # The arrow keys move the moment everywhere: there is nothing to scroll sideways here.
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "screen.step(-1)", show=False),
        Binding("right", "screen.step(1)", show=False),
    ]

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: tuple[FigureRow, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out the text."""
        yield Words(id="figure-rows", keeps=True)

    def tell(self, rows: tuple[FigureRow, ...]) -> None:
        """Show figures."""
        self._rows = rows
        width = self.query_one("#figure-rows", Words).content_size.width
        if width <= 0:
            return
        label = max((len(r.label) for r in rows), default=0) + 1
        value = max((len(r.value) for r in rows), default=0)
        roomy = width >= label + value + LEAST_WORDS
        text = Text()
        group = ""
        for row in rows:
            if row.group != group:
                group = row.group
                text.append(f"{group.upper()}\n", "bold underline")
            end = label + value if roomy else width
            told = row.value
            if row.change and not roomy:
                told = f"{row.value}, {row.change}"
                if len(row.label) + 1 + len(told) > width:
                    text.append(f"{row.label}\n")
                    text.append(f"{told.rjust(width)}\n", "bold")
                    continue
            text.append(row.label + " " * max(end - len(row.label) - len(told), 1))
            text.append(told, "bold")
            beside = row.change or row.words
            if roomy and end + 2 + len(beside) <= width:
                text.append(f"  {beside}", "bold" if row.change else "")
            elif roomy and row.change:
                text.append(f"\n{row.change.rjust(width)}", "bold")
            text.append("\n")
        self.query_one("#figure-rows", Words).tell(text)

    def on_resize(self) -> None:
        """Lay the lines out for the new width, once the text has taken it."""
        self.call_after_refresh(lambda: self.tell(self._rows))
