"""One chart at a time, with its limits named, its margins as numbers, and the moment on it."""

from __future__ import annotations

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Static
from textual_plot import HiResMode, PlotWidget

from tui.charts import Chart, Series
from tui.looks import SERIES_STYLES

MARKS = "abcdefgh"
"""Letter at the end of each line: shape tells them apart, not colour."""


class Plot(PlotWidget, can_focus=False):
    """A plot that leaves the arrow keys to the moment."""


class ChartPane(Vertical):
    """A chart with a line of words over it."""

    DEFAULT_CSS = """
    ChartPane > #chart-title { height: auto; max-height: 6; padding: 0 1; }
    ChartPane > Plot { height: 1fr; }
    """

    def __init__(self, *, ascii_only: bool, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self.ascii_only = ascii_only

    def compose(self) -> ComposeResult:
        """Lay out words and plot."""
        yield Static("", id="chart-title", markup=False)
        yield Plot(allow_pan_and_zoom=False)

    def wait(self, words: str) -> None:
        """Say that a chart is being made."""
        self.query_one("#chart-title", Static).update(words)
        self.query_one(Plot).clear()

    def tell(self, chart: Chart | None, moment: float | None, place: str) -> None:
        """Show a chart.

        Parameters
        ----------
        chart : Chart or None
            None while it is being worked out, or where the scenario has none.
        moment : float or None
            Where the moment stands on the x axis.
        place : str
            Which chart this is of how many.
        """
        title = self.query_one("#chart-title", Static)
        plot = self.query_one(Plot)
        plot.clear()
        if chart is None:
            title.update(f"{place}: nothing to draw")
            return
        styles = SERIES_STYLES.get(self.app.theme, SERIES_STYLES["light"])
        legend = []
        xs = [x for series in chart.series for x in series.xs]
        for number, series in enumerate(chart.series):
            mark = MARKS[number % len(MARKS)]
            self._draw(plot, series, mark, styles[number % len(styles)])
            legend.append(f"{mark} {series.name}")
        for limit in chart.limits:
            if xs:
                ends = Series(limit.name, (min(xs), max(xs)), (limit.y, limit.y), "figure")
                self._draw(plot, ends, "-", "bold")
            legend.append(f"-- {limit.name}")
        if chart.top is not None:
            plot.set_ylimits(None, chart.top)
        else:
            plot.set_ylimits(None, None)
        if moment is not None:
            plot.add_v_line(moment, "bold")
        plot.set_xlabel(chart.x_label)
        plot.set_ylabel(chart.y_label)
        words = [f"{place}: {chart.title}", chart.margins, chart.note, ", ".join(legend)]
        title.update(". ".join(w for w in words if w))

    def _draw(self, plot: Plot, series: Series, mark: str, style: str) -> None:
        """Draw one line with its letter where it ends."""
        if not series.xs:
            return
        if self.ascii_only:
            plot.scatter(series.xs, series.ys, marker=mark, marker_style=style)
            return
        plot.plot(series.xs, series.ys, line_style=style, hires_mode=HiResMode.BRAILLE)
        if mark != "-":
            plot.scatter(
                [series.xs[-1]], [series.ys[-1]], marker=mark, marker_style=f"bold {style}"
            )
