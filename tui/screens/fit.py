"""What the car has shown: the heat share from five readings of the crew, and the next pass."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType

from thermo.fit_notebook import Notebook, fit_notebook
from thermo.scenario_io import from_text
from tui.fitting import NOTEBOOK, outlooks_of, put_in
from tui.messages import TextMade
from tui.notebook import samples_of
from tui.screens.background import Job, View, WorkPage
from tui.text_fit import notebook_text, untold_text


class FitPage(WorkPage):
    """The fit of a notebook, beside the scenario as it stands.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    text : callable
        Returns the scenario's text now.
    book : Notebook
        What the crew wrote down.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("p", "put", "Put the fit in")]

    def __init__(
        self, view: Callable[[], View | None], text: Callable[[], str], book: Notebook
    ) -> None:
        super().__init__(
            view, "Fitting the notebook", "The notebook does not fit.", "p puts the fit in"
        )
        self._text_of, self._book = text, book
        self._fitted = ""

    def work(self, view: View, job: Job) -> str:
        """Return heat balance, fitted inputs, and what they say of the next pass."""
        self._fitted = ""
        found = fit_notebook(view.scenario, self._book)
        loaded = from_text(self._text_of(), view.name)
        after = put_in(loaded, found.fitted, NOTEBOOK)
        told, untold = outlooks_of(
            loaded, after, lambda: samples_of(found), (), None, view.system, job.progress,
            job.stopped,
        )
        self._fitted = after.text
        text = notebook_text(view.scenario.title, found, told, view.system)
        return text + untold_text(untold)

    def action_put(self) -> None:
        """Put the fitted inputs and their ranges into the scenario; undo takes them out."""
        if self.state == "done" and self._fitted:
            self.put(TextMade(f"fitted to {NOTEBOOK}", self._fitted))
            self.dismiss(None)
