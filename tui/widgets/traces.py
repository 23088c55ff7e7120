"""The channels of a log, one chart at a time, over what the scenario says of them."""

from __future__ import annotations

from textual import on

from tui.charts import Chart
from tui.widgets.charts import ChartPane, PlotView

STEPS = 100
"""Steps of the moment along a chart."""


class TracesPane(ChartPane):
    """Charts to turn through, with a moment that reads them off."""

    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:  # noqa: A002
        super().__init__(ascii_only=ascii_only, id=id)
        self._charts: tuple[Chart, ...] = ()
        self._at = 0
        self._moment: float | None = None

    def on_mount(self) -> None:
        """Follow the theme: the names of the lines have its colours."""
        self.watch(self.app, "theme", self._show, init=False)

    @property
    def channel(self) -> str:
        """Channel of the chart in sight; empty when there is none."""
        return self._charts[self._at].name if self._charts else ""

    def put(self, charts: tuple[Chart, ...], moment: float | None = None) -> None:
        """Show charts; the channel in sight and the moment stay where there is one.

        Parameters
        ----------
        charts : tuple of Chart
        moment : float, optional
            Where the moment stands at first [s].
        """
        kept, self._charts = self.channel, charts
        self._at = next((i for i, chart in enumerate(charts) if chart.name == kept), 0)
        if self._moment is None:
            self._moment = moment
        self._show()

    def see(self, channel: str) -> None:
        """Show a channel if there is a chart of it."""
        if channel != self.channel:
            for number, chart in enumerate(self._charts):
                if chart.name == channel:
                    self._at = number
                    self._show()
                    break

    def turn(self, by: int) -> None:
        """Show another channel."""
        if self._charts:
            self._at = (self._at + by) % len(self._charts)
            self._show()

    def step(self, by: int) -> None:
        """Move the moment by hundredths of the chart."""
        if not self._charts:
            return
        low, high = self._span()
        now = low if self._moment is None else self._moment
        self._moment = min(max(now + by * (high - low) / STEPS, low), high)
        self._show()

    def on_resize(self) -> None:
        """Lay the words out for the new width."""
        self._show()

    def _span(self) -> tuple[float, float]:
        xs = [x for series in self._charts[self._at].series for x in series.xs]
        return min(xs, default=0.0), max(xs, default=1.0)

    def _show(self) -> None:
        if self._charts:
            place = f"{self._at + 1}/{len(self._charts)}"
            self.tell(self._charts[self._at], self._moment, place)
        else:
            self.wait("There is nothing to draw yet.")

    @on(PlotView.Pointed)
    def _pointed(self, message: PlotView.Pointed) -> None:
        message.stop()
        self._moment = message.x
        self._show()
