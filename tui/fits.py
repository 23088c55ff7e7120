"""What the open scenario is fitted to: a logger's file, or the crew's notebook.

Pages are imported when they are asked for.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from tui.completion import files_in, typed_path
from tui.places import shipped_scenarios
from tui.screens.dialogs import AskFile, Choose

if TYPE_CHECKING:
    from tui.logsetup import LogSetup
    from tui.screens.fit_log import LogPage
    from tui.screens.solving import SolvingScreen

MOST_OFFERED = 14


class Fits:
    """Begins fits of the scenario on the main screen, and keeps what was chosen about a log.

    Parameters
    ----------
    screen : SolvingScreen
    """

    def __init__(self, screen: SolvingScreen) -> None:
        self._screen = screen
        self._setup: LogSetup | None = None

    def ask(self) -> None:
        """Ask what to fit to."""

        def chosen(answer: str | None) -> None:
            if answer == "log":
                self.log()
            elif answer == "notebook":
                self.notebook()

        choices = (("log", "a logger's CSV file"),
                   ("notebook", "five readings of the crew, without a logger"))
        self._screen.app.push_screen(Choose("Fit the scenario to what the car has shown", choices),
                                     chosen)

    def offered(self) -> tuple[str, ...]:
        """Return logs to offer: beside the scenario, in the present folder, and the shipped one."""
        from tui.screens.fit_log import ENDINGS

        path = self._screen.desk.session.path
        folders = (*(() if path is None else (path.parent,)), Path.cwd(),
                   shipped_scenarios()[0].parent)
        return files_in(folders, ENDINGS, MOST_OFFERED)

    def log(self) -> None:
        """Ask for a log, and show it."""
        from tui.screens.fit_log import ENDINGS, NEAR

        start = "" if self._setup is None else str(self._setup.path)

        def named(name: str | None) -> None:
            if name is not None:
                self._open(typed_path(name))

        self._screen.app.push_screen(
            AskFile("Log to fit the scenario to", start, self.offered(), ENDINGS, NEAR), named
        )

    def _open(self, path: Path) -> None:
        """Show a log, with what was chosen about it when it was shown last."""
        from tui.logsetup import LogSetup
        from tui.screens.fit_log import LogPage

        if self._setup is None or self._setup.path != path:
            self._setup = LogSetup(path)
        page = LogPage(self._screen.view, self._setup, self._run, self.offered)
        self._screen.app.push_screen(page)

    def _run(self, page: LogPage) -> None:
        """Fit what has been chosen; leave the log's page with it once the fit has been put in."""
        from tui.screens.fit_run import LogFitPage

        setup, looked, session = page.setup, page.looked, self._screen.desk.session
        self._setup = setup
        if looked.log is None:
            return
        run = LogFitPage(
            self._screen.view, lambda: self._screen.desk.session.text, setup.path, looked.log,
            setup.fitted(looked), setup.passes(looked), tuple(setup.accepted), session.path,
        )

        def leave() -> None:
            page.dismiss(None)

        def left(_: None) -> None:
            if run.put_in:
                page.call_later(leave)

        self._screen.app.push_screen(run, left)

    def notebook(self) -> None:
        """Ask for the crew's readings, and fit the scenario to them."""
        from tui.notebook import notebook_of, notebook_rows
        from tui.screens.fit import FitPage
        from tui.screens.tables import TableForm

        screen = self._screen

        def commit(values: dict[str, str]) -> str:
            book = notebook_of(values)
            page = FitPage(screen.view, lambda: screen.desk.session.text, book)
            screen.call_after_refresh(screen.app.push_screen, page)
            return ""

        title = "Fit a pass: what the crew read"
        form = TableForm(title, notebook_rows(), screen.system, commit, "Enter fits it")
        screen.app.push_screen(form)
