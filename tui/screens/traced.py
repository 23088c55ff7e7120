"""A page that works in a thread and has the traces of a log beside or behind what it says."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.binding import Binding, BindingType

from tui.messages import PaneChosen
from tui.screens.background import WorkPage
from tui.widgets.traces import TracesPane


class TracedPage(WorkPage):
    """Panes to bring to the front, one of them ``traces``; its channel and moment by keys."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("c", "turn(1)", "Next channel"),
        Binding("C", "turn(-1)", "Channel before"),
        Binding("left", "step(-1)", show=False),
        Binding("right", "step(1)", show=False),
        Binding("shift+left", "step(-10)", show=False),
        Binding("shift+right", "step(10)", show=False),
    ]

    def action_pane(self, name: str) -> None:
        """Bring a pane to the front."""
        raise NotImplementedError

    def action_turn(self, by: int) -> None:
        """Show another channel."""
        traces = self.query_one(TracesPane)
        if traces.display:
            traces.turn(by)
        else:
            self.action_pane("traces")

    def action_step(self, by: int) -> None:
        """Move the moment of the chart."""
        self.query_one(TracesPane).step(by)

    @on(PaneChosen)
    def _pane_chosen(self, message: PaneChosen) -> None:
        self.action_pane(message.pane)
