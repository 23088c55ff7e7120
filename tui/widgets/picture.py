"""The car from the side at one moment, and the line of time beneath it."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.widget import Widget

from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System
from tui.looks import drawn, style_of
from tui.messages import MomentMoved
from tui.present import moment_at, timeline
from tui.sideview import side_view


class Picture(Widget):
    """The side view."""

    DEFAULT_CSS = "Picture { height: 10; }"

    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.ascii_only = ascii_only
        self._told: tuple[EventResult, Scenario, int, System] | None = None

    def tell(self, result: EventResult, scenario: Scenario, row: int, system: System) -> None:
        """Show an event at a row of its history."""
        self._told = (result, scenario, row, system)
        self.refresh()

    def clear(self) -> None:
        """Show nothing until there is another event."""
        self._told = None
        self.refresh()

    def render(self) -> Text:
        """Return the picture for the widget's present size."""
        if self._told is None:
            return Text("  working out the event ...")
        result, scenario, row, system = self._told
        lines = side_view(
            result,
            scenario,
            row,
            self.size.width,
            self.size.height,
            system=system,
            ascii_only=self.ascii_only,
        )
        return drawn(lines, self.app.theme)


class TimeLine(Widget):
    """The legs along the time axis with the moment on it; a click moves the moment."""

    DEFAULT_CSS = "TimeLine { height: 2; }"

    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.ascii_only = ascii_only
        self._told: tuple[EventResult, int, System] | None = None

    def tell(self, result: EventResult, row: int, system: System) -> None:
        """Show the legs and the moment."""
        self._told = (result, row, system)
        self.refresh()

    def clear(self) -> None:
        """Show nothing until there is another event."""
        self._told = None
        self.refresh()

    def render(self) -> Text:
        """Return the two lines: legs, and the moment with its time, leg and speed."""
        if self._told is None:
            return Text("")
        result, row, system = self._told
        lines = timeline(result, row, self.size.width, system, ascii_only=self.ascii_only)
        return Text("\n".join(lines), style=style_of("label", self.app.theme), no_wrap=True, end="")

    def on_click(self, event: events.Click) -> None:
        """Move the moment to where the mouse pointed."""
        if self._told is None or self.size.width < 2:
            return
        result = self._told[0]
        at = event.get_content_offset_capture(self).x
        share = min(max(at / (self.size.width - 1), 0.0), 1.0)
        self.post_message(MomentMoved(moment_at(result, share * float(result.history.time[-1]))))
