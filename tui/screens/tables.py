"""A form for a table that is not in the file yet: a pump, a rated point, a leg, a duct part."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical, VerticalScroll
from textual.screen import ModalScreen
from textual.widgets import Input, Label, Static

from thermo.units import System
from tui.fieldlist import Row, allowed, unit_hint
from tui.widgets.inputs import problem_of

Commit = Callable[[dict[str, str]], str]
"""Takes key to text as typed; returns why it was refused, or an empty text."""


class TableForm(ModalScreen[None]):
    """Boxes for the inputs of one new table; what is left empty stays at its default.

    Parameters
    ----------
    title : str
    rows : tuple of Row
        From :func:`tui.fieldlist.blank_rows`.
    system : {'si', 'us'}
    commit : callable
        Puts the table in.
    enter : str
        What the key Enter does, in words.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape", "leave", "Leave"),
        Binding("down", "app.focus_next", show=False),
        Binding("up", "app.focus_previous", show=False),
    ]

    def __init__(
        self,
        title: str,
        rows: tuple[Row, ...],
        system: System,
        commit: Commit,
        enter: str = "Enter puts it in",
    ) -> None:
        super().__init__()
        self._title, self._system, self._commit, self._enter = title, system, commit, enter
        self._refused: dict[int, str] = {}
        self._rows = tuple(sorted(rows, key=lambda row: not row.required))

    def compose(self) -> ComposeResult:
        """Lay out a line for each input."""
        with Vertical(classes="dialog"):
            yield Static(self._title, markup=False)
            with VerticalScroll(can_focus=False, classes="form"):
                for number, row in enumerate(self._rows):
                    with Horizontal(classes="form-line"):
                        yield Label(row.label, markup=False)
                        yield Input(
                            placeholder=self._hint(row), id=f"box-{number}", compact=True
                        )
            yield Static("", id="form-help", markup=False)
            yield Static(
                f"{self._enter}, Tab or arrows go on, Escape leaves. Empty: the default.",
                markup=False,
            )

    def on_mount(self) -> None:
        """Start in the first box."""
        self.query_one("#box-0", Input).focus()

    def _hint(self, row: Row) -> str:
        if row.text:
            return f"{row.text} (default)"
        unit = unit_hint(row, self._system)
        words = "needed" if row.required else "may stay empty"
        return f"{words}, in {unit}" if unit else words

    def _box(self, number: int) -> Input:
        return self.query_one(f"#box-{number}", Input)

    def _say(self, words: str) -> None:
        self.query_one("#form-help", Static).update(words)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Say what the box takes."""
        if event.widget.id is not None and event.widget.id.startswith("box-"):
            number = int(event.widget.id.removeprefix("box-"))
            if number in self._refused:
                self._say(self._refused[number])
                return
            row = self._rows[number]
            limits = allowed(row, self._system)
            self._say(" ".join(w for w in (f"{limits}." if limits else "", row.help) if w))

    @on(Input.Changed)
    def _typed(self, event: Input.Changed) -> None:
        number = int((event.input.id or "box-0").removeprefix("box-"))
        self._refused.pop(number, None)
        row = self._rows[number]
        problem = problem_of(row, event.value) if event.value.strip() else ""
        self._say(f"!  {problem}" if problem else f"{row.label}: {row.help}")

    @on(Input.Submitted)
    def _put_in(self) -> None:
        values: dict[str, str] = {}
        for number, row in enumerate(self._rows):
            text = self._box(number).value.strip()
            problem = problem_of(row, text)
            if problem:
                self._refused[number] = f"XX {row.label}: {problem}"
                self._say(self._refused[number])
                self._box(number).focus()
                return
            if text:
                values[row.key] = text
        refused = self._commit(values)
        if refused:
            self._say(f"XX not taken: {refused}")
        else:
            self.dismiss(None)

    def action_leave(self) -> None:
        """Leave without putting anything in."""
        self.dismiss(None)
