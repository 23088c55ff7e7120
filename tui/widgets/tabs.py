"""The names of the panes in a line, for windows that show one pane at a time."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.widget import Widget

from tui.messages import PaneChosen

PANES = (("inputs", "Inputs"), ("hazards", "Hazards"), ("chart", "Charts"), ("figures", "Figures"))
"""Identity and title of each pane, in the order of their keys."""


class PaneTabs(Widget):
    """Tabs; the one in front is marked by brackets, a click chooses.

    Parameters
    ----------
    panes : tuple of (str, str)
        Identity and title of each, in the order of their keys.
    """

    def __init__(
        self,
        panes: tuple[tuple[str, str], ...] = PANES,
        *,
        id: str | None = None,  # noqa: A002
    ) -> None:
        super().__init__(id=id)
        self._panes = panes
        self._front = panes[0][0]

    def name_them(self, panes: tuple[tuple[str, str], ...]) -> None:
        """Give the panes other titles."""
        if panes != self._panes:
            self._panes = panes
            self.refresh()

    def tell(self, front: str) -> None:
        """Mark the pane in front."""
        if front != self._front:
            self._front = front
            self.refresh()

    def _spans(self) -> list[tuple[str, int, str]]:
        """Return each pane with its first column and its text."""
        spans = []
        column = 0
        for number, (pane, title) in enumerate(self._panes, start=1):
            words = f"[{number} {title}]" if pane == self._front else f" {number} {title} "
            spans.append((pane, column, words))
            column += len(words) + 2
        return spans

    def render(self) -> Text:
        """Return the line."""
        text = Text(no_wrap=True)
        for pane, column, words in self._spans():
            text.append(" " * (column - len(text)))
            text.append(words, "bold reverse" if pane == self._front else "")
        return text

    def on_click(self, event: events.Click) -> None:
        """Choose the pane that was pointed at."""
        at = event.get_content_offset(self)
        for pane, column, words in self._spans():
            if at is not None and column <= at.x < column + len(words):
                self.post_message(PaneChosen(pane))
