"""How sure the verdict is, worked out in the background for a chance that is accepted."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual.binding import Binding, BindingType

from thermo.doubt import SAMPLES, assess
from thermo.errors import Problem, ScenarioError
from thermo.quantity_text import QuantityTextError
from thermo.units import parse
from tui.screens.background import Job, View, WorkPage
from tui.screens.dialogs import AskText
from tui.text_doubt import doubt_text

LEAST_CHANCE, MOST_CHANCE = 0.001, 0.5


def chance_of(text: str) -> float | None:
    """Read an accepted chance such as ``5%`` or ``0.05``; None when the text is empty.

    Parameters
    ----------
    text : str

    Returns
    -------
    float or None

    Raises
    ------
    ScenarioError
        It is no share from 0.1 % to 50 %.
    """
    if not text.strip():
        return None
    try:
        share = parse(text, "fraction")
    except QuantityTextError as error:
        raise ScenarioError("chance", [Problem("", error.given, error.allowed)]) from None
    if not LEAST_CHANCE <= share <= MOST_CHANCE:
        raise ScenarioError("chance", [Problem("", text, "from 0.1 % to 50 % is expected")])
    return share


class DoubtPage(WorkPage):
    """The chance of crossing each limit when inputs are ranges, and what drives it.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("c", "ask_chance", "Accepted chance")]

    def __init__(self, view: Callable[[], View | None]) -> None:
        super().__init__(
            view,
            f"Solving {SAMPLES} samples of the inputs in doubt",
            "There is no chance to tell.",
            "c accepted chance",
        )
        self._chance = ""

    def work(self, view: View, job: Job) -> str:
        """Return the chances."""
        found = assess(
            view.scenario,
            chance=chance_of(self._chance),
            workers=1,
            progress=job.progress,
            cancelled=job.stopped,
        )
        return doubt_text(found, view.system)

    def action_ask_chance(self) -> None:
        """Ask for the chance of a danger that is accepted; sizes that hold it are then sought."""

        def answered(text: str | None) -> None:
            if text is not None:
                self._chance = text
                self.begin()

        words = "Chance of a danger that you accept, such as 5%; tank and duct that hold it follow"
        self.app.push_screen(AskText(words, self._chance or "5%"), answered)
