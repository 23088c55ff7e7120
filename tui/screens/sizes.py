"""The build sheet, worked out in the background."""

from __future__ import annotations

from rich.text import Text
from textual import work

from thermo.errors import SoakboxError
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.sizing import build_sheet
from thermo.units import System
from tui.screens.dialogs import Page
from tui.text_sizes import sheet_text


class SizesPage(Page):
    """Every size, each with the limit that binds it.

    Parameters
    ----------
    scenario : Scenario
    result : EventResult
        Of that scenario.
    system : {'si', 'us'}
    head : Text
        The verdict.
    """

    def __init__(
        self, scenario: Scenario, result: EventResult, system: System, head: Text
    ) -> None:
        super().__init__("Working out the sizes: a few seconds ...", head)
        self._scenario, self._result, self._system = scenario, result, system

    def on_mount(self) -> None:
        """Start the work."""
        self._find()

    @work(thread=True, exclusive=True)
    def _find(self) -> None:
        try:
            sheet = build_sheet(self._scenario, self._result)
            text = sheet_text(self._result, sheet, self._system)
        except SoakboxError as error:
            text = f"The sizes could not be found.\n\n{error}"
        self.app.call_from_thread(self.tell, text)
