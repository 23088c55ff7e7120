"""Messages between the threads, the widgets and the screens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from thermo.results import EventResult
    from thermo.scenario import Scenario
    from tui.session import Session


@dataclass
class Opened(Message):
    """The first scenario has been read.

    Parameters
    ----------
    session : Session
    first_start : bool
        Whether there has been no scenario before this one, so that hints are welcome.
    ready : bool
        Whether the property tables are at hand.
    note : str
        What could not be done on the way.
    """

    session: Session
    first_start: bool
    ready: bool
    note: str = ""


@dataclass
class Solved(Message):
    """A scenario has been solved.

    Parameters
    ----------
    run : int
        Number of the request; an older one is stale.
    scenario : Scenario
    result : EventResult
    """

    run: int
    scenario: Scenario
    result: EventResult


@dataclass
class SolveFailed(Message):
    """A scenario could not be solved.

    Parameters
    ----------
    run : int
    words : str
        Why, for the reader.
    """

    run: int
    words: str


@dataclass
class TablesBuilt(Message):
    """The property tables are being built.

    Parameters
    ----------
    done, of : int
        Steps.
    what : str
        What is being worked out now.
    """

    done: int
    of: int
    what: str


@dataclass
class TablesReady(Message):
    """The property tables are there, or `words` says why not."""

    words: str = ""


class ChartReady(Message):
    """A chart that was made in the background is there."""


@dataclass
class MomentMoved(Message):
    """The user has moved the moment to a row of the history."""

    row: int


@dataclass
class InputChosen(Message):
    """The user wants to go to an input."""

    key: str


@dataclass
class PaneChosen(Message):
    """The user wants to see a pane."""

    pane: str


@dataclass
class SizeChosen(Message):
    """The user wants a size of the build sheet in the scenario.

    Parameters
    ----------
    title : str
        Of the size.
    settings : dict of str to str
        Texts by dotted key.
    """

    title: str
    settings: dict[str, str]


@dataclass
class TextMade(Message):
    """The scenario shall have another text, in one step that can be undone.

    Parameters
    ----------
    words : str
        What has been done.
    text : str
    """

    words: str
    text: str


@dataclass
class EditMade(Message):
    """The user has committed a text for an input, with Enter or by `leaving` the editor."""

    key: str
    text: str
    leaving: bool = False
