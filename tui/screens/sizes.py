"""The build sheet, worked out in the background; a size of it can be put into the scenario."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType

from thermo.answers import Answer, Sheet
from thermo.sizing import build_sheet
from tui.chartlist import Watched
from tui.messages import SizeChosen
from tui.screens.background import Job, View, WorkPage
from tui.screens.dialogs import Choose
from tui.text_sizes import sheet_text, size_words
from tui.wording import amount


class SizesPage(WorkPage):
    """Every size, each with the limit that binds it.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("p", "put", "Put a size in")]

    def __init__(self, view: Callable[[], View | None]) -> None:
        super().__init__(
            view, "Working out the sizes", "The sizes could not be found.", "p puts a size in"
        )
        self._sheet: Sheet | None = None

    def work(self, view: View, job: Job) -> str:
        """Return the build sheet."""
        self._sheet = None
        sheet = build_sheet(
            view.scenario,
            view.result,
            trials=Watched(overtaken=job.stopped),
            progress=job.progress,
        )
        self._sheet = sheet
        return sheet_text(view.result, sheet, view.system)

    def _told(self, answer: Answer) -> str:
        kind, system = answer.kind, self.system
        now = "" if answer.now is None else f", now {amount(answer.now, kind, system, 4)}"
        size = size_words(answer, system)
        return f"{answer.title}: {size}{now}"

    def action_put(self) -> None:
        """Ask which size is to be put into the scenario."""
        sheet = self._sheet
        if sheet is None or self.state != "done":
            return
        sizes = {a.name: a for a in sheet.answers if a.settings and a.value != a.now}

        def chosen(name: str | None) -> None:
            if name is not None:
                answer = sizes[name]
                self.put(SizeChosen(answer.title, dict(answer.settings)))

        choices = tuple((name, self._told(answer)) for name, answer in sizes.items())
        self.app.push_screen(Choose("Put a size into the scenario", choices), chosen)
