"""Peaks and margins with the change against the last committed state."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.widgets import Static

from tui.present import FigureRow

ROOM_FOR_WORDS = 76
"""Columns from which on the meaning stands beside each figure."""


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
        label = max((len(r.label) for r in rows), default=0)
        value = max((len(r.value) for r in rows), default=0)
        text = Text()
        group = ""
        for row in rows:
            if row.group != group:
                group = row.group
                text.append(f"{group.upper()}\n", "bold underline")
            text.append(f"{row.label:<{label}} ")
            text.append(f"{row.value:>{value}}", "bold")
            words = row.words if self.size.width >= ROOM_FOR_WORDS else ""
            if row.change and label + value + 4 + len(row.change) > self.size.width:
                text.append(f"\n{row.change:>{label + value + 1}}", "bold")
            elif row.change:
                text.append(f"  {row.change}", "bold")
            if words and not row.change:
                text.append(f"  {words}")
            text.append("\n")
        self.query_one("#figure-rows", Static).update(text)

    def on_resize(self) -> None:
        """Lay the lines out for the new width."""
        self.tell(self._rows)
