"""Scenarios side by side: verdicts on top, then only what differs; more can be added."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from rich.text import Text
from textual import work
from textual.binding import Binding, BindingType

from thermo.errors import SoakboxError
from thermo.event import solve
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System
from tui.comparing import compare
from tui.screens.dialogs import AskFile, Page
from tui.session import Session
from tui.text_compare import side_by_side


@dataclass(frozen=True, slots=True)
class Side:
    """One scenario of a comparison.

    Attributes
    ----------
    name : str
    scenario : Scenario
    result : EventResult
    """

    name: str
    scenario: Scenario
    result: EventResult


class ComparePage(Page):
    """The open scenario beside others.

    Parameters
    ----------
    first : Side
        The open scenario.
    other : str
        Path of the one to compare with.
    offered : tuple of str
        Paths to offer when another one is added.
    system : {'si', 'us'}
    head : Text
        The verdict of the open scenario.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "add", "Add another"),
        Binding("left", "across(-8)", show=False),
        Binding("right", "across(8)", show=False),
    ]

    def __init__(
        self, first: Side, other: str, offered: tuple[str, ...], system: System, head: Text
    ) -> None:
        super().__init__(
            "Working out the other event ...", head, "Escape goes back  arrows scroll  a adds one"
        )
        self._sides = [first]
        self._other, self._offered, self._system = other, offered, system

    def on_mount(self) -> None:
        """Start the work."""
        self._add(self._other)

    @work(thread=True, exclusive=True)
    def _add(self, path: str) -> None:
        try:
            session = Session.open(path)
            side = Side(session.name, session.scenario, solve(session.scenario))
            sides = [*self._sides, side]
            told = compare(
                [s.result for s in sides], [s.scenario for s in sides], self._system
            )
            text = side_by_side(tuple(s.name for s in sides), told)
        except SoakboxError as error:
            text = f"{path} cannot be compared with.\n\n{error}"
        else:
            self._sides = sides
        self.app.call_from_thread(self.tell, text)

    def action_add(self) -> None:
        """Ask for another file to put beside these."""

        def chosen(path: str | None) -> None:
            if path is not None:
                self._add(path)

        self.app.push_screen(AskFile("Compare with another one", "", self._offered), chosen)

    def action_across(self, columns: int) -> None:
        """Scroll sideways."""
        self.query_one("#paper").scroll_relative(x=columns, animate=False)
