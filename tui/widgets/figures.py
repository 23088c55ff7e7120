"""Peaks and margins with the change against the last committed state."""

from __future__ import annotations

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.widgets import Static

from tui.present import FigureRow


class FiguresPane(VerticalScroll):
    """Figures in rows: label, value, change, meaning."""

    def compose(self) -> ComposeResult:
        """Lay out the text."""
        yield Static("", id="figure-rows", markup=False)

    def tell(self, rows: tuple[FigureRow, ...]) -> None:
        """Show figures."""
        wide = self.size.width >= 60
        text = Text()
        for row in rows:
            text.append(f"{row.label:<24}")
            text.append(f"{row.value:>14}", "bold")
            if row.change:
                text.append(f"  {row.change}", "bold")
            if wide and row.words:
                text.append(f"  {row.words}", "dim")
            text.append("\n")
        self.query_one("#figure-rows", Static).update(text)
