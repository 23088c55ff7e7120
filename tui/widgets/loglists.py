"""What is known and chosen of a log, as lists: columns, call-outs, passes and what to fit."""

from __future__ import annotations

from dataclasses import dataclass

from rich.text import Text
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.message import Message
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from thermo.errors import Problem
from thermo.fit_parameters import Parameter
from thermo.log_checks import Finding
from thermo.units import System
from tui.logsetup import ColumnRow, LogSetup, Looked
from tui.text_log import (
    column_head,
    column_line,
    column_words,
    filled,
    finding_line,
    parameter_line,
    parameter_words,
    pass_line,
    problem_line,
)

LISTS = ("columns", "found", "chosen")
BESIDE = 3
"""Columns of padding and scroll bar beside a line."""


@dataclass(frozen=True, slots=True)
class Left:
    """A channel that is left out."""

    channel: str


Item = ColumnRow | Problem | Finding | Left | int | str
"""What a line stands for: a column, a problem, a call-out, a channel left out, the number of a
pass, the name of something to fit."""


class LogLists(Vertical):
    """Three lists, of which one is in sight."""

    DEFAULT_CSS = "LogLists > OptionList, LogLists > OptionList:focus { height: 1fr; }"

    class Pointed(Message):
        """The cursor has come to another line, or the lines are new."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._items: dict[str, dict[str, Item]] = {name: {} for name in LISTS}
        self._told: tuple[LogSetup, Looked, dict[str, Parameter | str], System] | None = None

    def compose(self) -> ComposeResult:
        """Lay out the lists."""
        for name in LISTS:
            yield OptionList(id=name, markup=False)

    def table(self, name: str) -> OptionList:
        """Return one of the lists."""
        return self.query_one(f"#{name}", OptionList)

    def front(self, name: str) -> None:
        """Bring a list into sight."""
        for other in LISTS:
            self.table(other).display = other == name

    def item(self, name: str) -> Item | None:
        """Return what the cursor of a list stands on."""
        table = self.table(name)
        if table.highlighted is None or not table.option_count:
            return None
        option = table.get_option_at_index(table.highlighted)
        return self._items[name].get(option.id or "")

    def point(self, name: str, item: Item) -> None:
        """Put the cursor of a list on a line."""
        for key, other in self._items[name].items():
            if other == item:
                self.table(name).highlighted = self.table(name).get_option_index(key)

    def tell(
        self, setup: LogSetup, looked: Looked, known: dict[str, Parameter | str], system: System
    ) -> None:
        """Show how a log stands; cursors stay on the lines they are on."""
        self._told = setup, looked, known, system
        width = max((self.size.width or 80) - BESIDE, 30)
        for name, lines in (
            ("columns", self._columns(setup, width)),
            ("found", self._found(setup, looked, system, width)),
            ("chosen", self._chosen(setup, looked, known, system, width)),
        ):
            table = self.table(name)
            kept = table.highlighted
            self._items[name] = {key: item for key, _, item in lines if item is not None}
            table.clear_options()
            table.add_options(
                Option(Text(words), id=key, disabled=item is None) for key, words, item in lines
            )
            usable = [i for i, (_, _, item) in enumerate(lines) if item is not None]
            if usable:
                table.highlighted = kept if kept in usable else usable[0]
        self.post_message(self.Pointed())

    def on_resize(self) -> None:
        """Lay the lines out for the new width."""
        if self._told is not None:
            self.tell(*self._told)

    def on_option_list_option_highlighted(self) -> None:
        """Tell that the cursor has moved."""
        self.post_message(self.Pointed())

    def words(self, name: str) -> str:
        """Return what is to be said of the line under the cursor."""
        item = self.item(name)
        if self._told is None or item is None:
            return ""
        setup, _, known, system = self._told
        if isinstance(item, ColumnRow):
            return column_words(item, item.channel in setup.left_out)
        if isinstance(item, Finding):
            if item.tag in setup.accepted:
                return "Accepted: it does not stop the fit. a takes that back."
            if item.stops:
                return ("This stops the fit. Enter shows what settles it; a accepts it as it is, "
                        "x leaves the channel out.")
            return "Good to know; it does not stop the fit. x leaves the channel out."
        if isinstance(item, Left):
            return f"{item.channel} is left out. Enter or x takes it back."
        if isinstance(item, Problem):
            return "This keeps the log from being fitted. Enter goes to its column."
        if isinstance(item, int):
            return "Enter ticks the pass: only passes with a tick are fitted."
        parameter = known.get(item)
        return "" if parameter is None or isinstance(parameter, str) else parameter_words(
            parameter, system)

    def _columns(self, setup: LogSetup, width: int) -> list[tuple[str, str, Item | None]]:
        lines: list[tuple[str, str, Item | None]] = [("head", column_head(width), None)]
        lines += [
            (f"c{row.place}", column_line(row, row.channel in setup.left_out, width), row)
            for row in setup.rows()
        ]
        return lines

    def _found(
        self, setup: LogSetup, looked: Looked, system: System, width: int
    ) -> list[tuple[str, str, Item | None]]:
        lines: list[tuple[str, str, Item | None]] = [
            (f"p{n}", problem_line(problem, width), problem)
            for n, problem in enumerate(looked.problems)
        ]
        lines += [
            (f"f{n}", finding_line(f, f.tag in setup.accepted, system, width), f)
            for n, f in enumerate(looked.findings)
        ]
        lines += [(f"l-{name}", f"-  left out: {name}", Left(name))
                  for name in sorted(setup.left_out)]
        notes = () if looked.log is None else looked.log.notes
        lines += [(f"n{n}", filled(f"-  {note.words}", width), None)
                  for n, note in enumerate(notes)]
        return lines or [("none", "Nothing was found that stands in the way.", None)]

    def _chosen(
        self, setup: LogSetup, looked: Looked, known: dict[str, Parameter | str], system: System,
        width: int,
    ) -> list[tuple[str, str, Item | None]]:
        lines: list[tuple[str, str, Item | None]] = [("h1", "PASSES TO USE", None)]
        lines += [
            (f"p{found.number}", pass_line(found, found.number not in setup.passes_off, width),
             found.number)
            for found in looked.passes
        ]
        lines += [("gap", "", None), ("h2", "WHAT TO FIT", None)]
        chosen = setup.fitted(looked)
        lines += [
            (f"w-{name}", parameter_line(name, about, name in chosen, system, width),
             None if isinstance(about, str) else name)
            for name, about in known.items()
        ]
        return lines
