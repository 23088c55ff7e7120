"""The pages that the main screen opens over itself: sizes, tables, maps, fits, workings.

They are imported when they are asked for, so that the first picture does not wait for them.
"""

from __future__ import annotations

from textual import on
from textual.widgets import OptionList

from tui.fits import Fits
from tui.forgetting import let_go
from tui.messages import Opened
from tui.screens.compare import ComparePage, Side
from tui.screens.dialogs import AskFile, Page
from tui.screens.solving import SolvingScreen
from tui.text_check import check_text
from tui.widgets.figures import FiguresPane
from tui.widgets.hazards import HazardsPane, told


class PagesScreen(SolvingScreen):
    """One scenario, and what can be asked about it on pages of their own.

    Parameters
    ----------
    first : Opened
        The scenario to begin with.
    """

    def __init__(self, first: Opened) -> None:
        super().__init__(first)
        self._fits = Fits(self)

    def action_report(self) -> None:
        """Show the whole text of the check."""
        if self.result is not None:
            self.app.push_screen(Page(check_text(self.result, self.system), self.verdict()))

    def action_sizes(self) -> None:
        """Show the build sheet."""
        if self.view() is not None:
            from tui.screens.sizes import SizesPage

            self.app.push_screen(SizesPage(self.view))

    def action_weather(self) -> None:
        """Show the hot-weather table."""
        if self.view() is not None:
            from tui.screens.weather import WeatherPage

            self.app.push_screen(WeatherPage(self.view, self.desk.session.path))

    def action_write_report(self) -> None:
        """Ask where a report goes, and write it."""
        if self.view() is None:
            return
        from pathlib import Path

        from tui.screens.dialogs import AskText
        from tui.screens.report import ReportPage

        def named(name: str | None) -> None:
            if name is not None:
                session = self.desk.session
                page = ReportPage(self.view, lambda: session.text, session.path, Path(name))
                self.app.push_screen(page)

        words = "Write a report: the ending says whether .html, .pdf or .md"
        self.app.push_screen(AskText(words, "report.html"), named)

    def action_doubt(self) -> None:
        """Show how sure the verdict is."""
        if self.view() is not None:
            from tui.screens.doubt import DoubtPage

            self.app.push_screen(DoubtPage(self.view))

    def action_map(self) -> None:
        """Show a map of two inputs."""
        if self.view() is not None:
            from tui.screens.map import MapPage

            self.app.push_screen(MapPage(self.view, self.desk.session.path))

    def action_fit(self) -> None:
        """Ask what the scenario is to be fitted to: a log, or the crew's readings."""
        if self.view() is not None:
            self._fits.ask()

    def action_fit_log(self) -> None:
        """Ask for a logger's file, and fit the scenario to it."""
        if self.view() is not None:
            self._fits.log()

    def action_fit_notebook(self) -> None:
        """Ask for the crew's readings of a pass, and fit the scenario to them."""
        if self.view() is not None:
            self._fits.notebook()

    @on(OptionList.OptionSelected, "#figures")
    def _figure_picked(self) -> None:
        self._show_working()

    def action_why(self) -> None:
        """Show the hazard under the cursor in full, or the working of the figure under it."""
        if self.front == "figures":
            self._show_working()
            return
        row = self.query_one("#hazards", HazardsPane).chosen
        if row is not None:
            from tui.screens.working import HazardPage

            text = told(row, self.app.theme).plain
            self.app.push_screen(HazardPage(text, self.verdict(), self.view, row.name))

    def _show_working(self) -> None:
        row = self.query_one("#figures", FiguresPane).figure
        if row is not None and self.view() is not None:
            from tui.screens.working import WORKINGS, WorkingPage

            self.app.push_screen(WorkingPage(self.view, WORKINGS[row.name]))

    def action_compare(self) -> None:
        """Compare the open scenario with other files."""
        offered = self.desk.offered()

        def chosen(other: str | None) -> None:
            if other is None or self.result is None or self.solved_for is None:
                return
            mine = Side(self.desk.session.name, self.solved_for, self.result)
            self.app.push_screen(
                ComparePage(mine, other, offered, self.system, self.verdict())
            )

        self.app.push_screen(AskFile("Compare with", "", offered), chosen)

    def on_screen_resume(self) -> None:
        """Let go what a page drew that has just been left."""
        let_go()
