"""One chart at a time: its margins as numbers, each line's figure at the moment, and the plot."""

from __future__ import annotations

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.message import Message
from textual.widget import Widget

from thermo.units import format_number
from tui.charts import Chart
from tui.looks import drawn, style_of
from tui.widgets.plot import MARKS, Drawing, draw, value_at
from tui.widgets.words import Words

LEAST_WIDTH, LEAST_HEIGHT = 30, 7


class PlotView(Widget):
    """The plot of a chart; a click tells where on the x axis it was."""

    class Pointed(Message):
        """The mouse pointed at a place of the x axis.

        Parameters
        ----------
        x : float
            In the chart's units.
        x_kind : str
            What the axis is of, as in :class:`tui.charts.Chart`.
        """

        def __init__(self, x: float, x_kind: str) -> None:
            self.x = x
            self.x_kind = x_kind
            super().__init__()

    def __init__(self, *, ascii_only: bool) -> None:
        super().__init__()
        self.ascii_only = ascii_only
        self._told: tuple[Chart, float | None] | None = None
        self._drawing: Drawing | None = None

    def tell(self, chart: Chart | None, moment: float | None) -> None:
        """Show a chart with the moment on it; None clears the plot."""
        told = None if chart is None else (chart, moment)
        if told != self._told:
            self._told = told
            self.refresh()

    def render(self) -> Text:
        """Return the plot for the widget's present size."""
        width, height = self.size
        if self._told is None or width < LEAST_WIDTH or height < LEAST_HEIGHT:
            self._drawing = None
            return Text("")
        chart, moment = self._told
        self._drawing = draw(chart, width, height, moment=moment, ascii_only=self.ascii_only)
        return drawn(self._drawing.lines, self.app.theme)

    def on_click(self, event: events.Click) -> None:
        """Tell where the mouse pointed."""
        if self._drawing is not None and self._told is not None:
            column = event.get_content_offset_capture(self).x
            kind = self._told[0].x_kind
            self.post_message(self.Pointed(self._drawing.x_at(column), kind))


class ChartPane(Vertical, can_focus=True):
    """A chart with its words over it."""

    DEFAULT_CSS = """
    ChartPane > #chart-title { padding: 0 1; }
    ChartPane > PlotView { height: 1fr; padding: 0 1; }
    """
    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.ascii_only = ascii_only

    def compose(self) -> ComposeResult:
        """Lay out words and plot."""
        yield Words(id="chart-title")
        yield PlotView(ascii_only=self.ascii_only)

    def wait(self, words: str) -> None:
        """Say that a chart is being made, or that there is nothing to draw."""
        self.query_one("#chart-title", Words).tell(words)
        self.query_one(PlotView).tell(None, None)

    def tell(self, chart: Chart, moment: float | None, place: str) -> None:
        """Show a chart.

        Parameters
        ----------
        chart : Chart
        moment : float or None
            Where the moment stands on the x axis.
        place : str
            Which chart this is of how many.
        """
        text = Text()
        text.append(f"{place} {chart.title}", "bold")
        for words in (chart.margins, chart.note):
            if words:
                text.append(f"\n{words}")
        text.append("\n")
        text.append_text(self._legend(chart, moment))
        self.query_one("#chart-title", Words).tell(text)
        self.query_one(PlotView).tell(chart, moment)

    def _legend(self, chart: Chart, moment: float | None) -> Text:
        """Return letter, name and figure at the moment of each line; none is broken in two."""
        text = Text()
        column = 0
        for number, series in enumerate(chart.series):
            value = None if moment is None else value_at(series, moment)
            figure = "" if value is None else f" {format_number(value, 3)}"
            length = 2 + len(series.name) + len(figure)
            if column:
                fits = column + 2 + length <= self.size.width - 2
                text.append("  " if fits else "\n")
                column = column + 2 if fits else 0
            text.append(f"{MARKS[number % len(MARKS)]} ", "bold")
            text.append(series.name, style_of(series.role, self.app.theme))
            text.append(figure, "bold")
            column += length
        return text
