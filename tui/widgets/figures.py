"""Peaks and margins with the change against the last committed state."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from tui.present import FigureRow

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
        yield Static("", id="figure-rows", markup=False)

    def tell(self, rows: tuple[FigureRow, ...]) -> None:
        """Show figures."""
        self._rows = rows
        width = self.scrollable_content_region.width
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
            text.append(row.label + " " * max(end - len(row.label) - len(row.value), 1))
            text.append(row.value, "bold")
            if row.change:
                beside = end + 2 + len(row.change) <= width
                text.append("  " if beside else f"\n{' ' * max(width - len(row.change), 0)}")
                text.append(row.change, "bold")
            elif roomy and end + 2 + len(row.words) <= width:
                text.append(f"  {row.words}")
            text.append("\n")
        self.query_one("#figure-rows", Static).update(text)

    def on_resize(self) -> None:
        """Lay the lines out for the new width."""
        self.tell(self._rows)
