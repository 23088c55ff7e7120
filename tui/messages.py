"""Messages between the solver, the widgets and the screens."""

from __future__ import annotations

from textual.message import Message

from thermo.results import EventResult
from thermo.scenario import Scenario


class Solved(Message):
    """A scenario has been solved.

    Parameters
    ----------
    run : int
        Number of the request; an older one is stale.
    scenario : Scenario
    result : EventResult
    """

    def __init__(self, run: int, scenario: Scenario, result: EventResult) -> None:
        self.run = run
        self.scenario = scenario
        self.result = result
        super().__init__()


class SolveFailed(Message):
    """A scenario could not be solved.

    Parameters
    ----------
    run : int
    words : str
        Why, for the reader.
    """

    def __init__(self, run: int, words: str) -> None:
        self.run = run
        self.words = words
        super().__init__()


class TablesReady(Message):
    """The property tables are there, or `words` says why not."""

    def __init__(self, words: str = "") -> None:
        self.words = words
        super().__init__()


class ChartReady(Message):
    """A chart that was made in the background is there."""


class MomentMoved(Message):
    """The user has moved the moment to a row of the history."""

    def __init__(self, row: int) -> None:
        self.row = row
        super().__init__()


class InputChosen(Message):
    """The user wants to go to an input."""

    def __init__(self, key: str) -> None:
        self.key = key
        super().__init__()


class EditMade(Message):
    """The user has committed a text for an input."""

    def __init__(self, key: str, text: str) -> None:
        self.key = key
        self.text = text
        super().__init__()
