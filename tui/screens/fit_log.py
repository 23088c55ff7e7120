"""A logger's file before it is fitted: what its columns are, what was found, what to fit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.widgets import OptionList, Static

from thermo.errors import Problem
from thermo.event import OvertakenError
from thermo.fit_parameters import Parameter
from thermo.log_checks import Finding
from thermo.quantity_text import printable
from tui.completion import typed_path
from tui.logcharts import farthest, log_charts
from tui.logsetup import ColumnRow, LogSetup, Looked, fittable, look
from tui.screens.background import STATE, Job, View
from tui.screens.dialogs import AskFile, Body, Choose, Paper
from tui.screens.log_column import ask_column
from tui.screens.showing import WIDE_WIDTH
from tui.screens.traced import TracedPage
from tui.text_log import mend_words, summary
from tui.widgets.loglists import Item, Left, LogLists
from tui.widgets.tabs import PaneTabs
from tui.widgets.traces import TracesPane
from tui.widgets.words import Words
from tui.wording import localised

ENDINGS = (".csv", ".txt", ".tsv", ".log")
"""Endings of a logger's files."""
NEAR = "Found near"

KEYS = {
    "columns": "Enter says what a column is   x leaves it out   f fits",
    "found": "Enter settles it   a accepts   x leaves the channel out   f fits",
    "chosen": "Enter or space ticks   f fits",
    "traces": "left right moment   c next channel   f fits",
}
EVERYWHERE = "1-4 panes   o other file   r reads again   Escape back"
UNREADABLE = "o other file   r reads again   Escape back"


class LogPage(TracedPage):
    """A log beside the scenario as it stands, and everything that is chosen before the fit.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    setup : LogSetup
        The log, and what was chosen about it before.
    fit : callable
        Begins the fit of what has been chosen; given this page.
    offered : callable
        Returns the files to offer where another one is asked for.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("1", "pane('columns')", "Columns"),
        Binding("2", "pane('found')", "Call-outs"),
        Binding("3", "pane('chosen')", "Passes and inputs"),
        Binding("4", "pane('traces')", "Traces"),
        Binding("space", "tick", show=False),
        Binding("a", "accept", "Accept a call-out"),
        Binding("x", "leave_out", "Leave a channel out"),
        Binding("f", "run", "Fit"),
        Binding("o", "other", "Another file"),
    ]

    def __init__(
        self,
        view: Callable[[], View | None],
        setup: LogSetup,
        fit: Callable[[LogPage], object],
        offered: Callable[[], tuple[str, ...]],
    ) -> None:
        words = f"Reading {printable(setup.path.name, 60)}"
        super().__init__(view, words, "This log cannot be used.")
        self.setup, self._fit, self._offered = setup, fit, offered
        self.looked = Looked()
        self._known: dict[str, Parameter | str] = {}
        self._wanted: tuple[Path, tuple[str, ...], tuple[str, ...]] = (setup.path, (), ())
        self._made: tuple[Looked, dict[str, Parameter | str]] | None = None
        self._front = "columns"
        self._note = ""
        self._noted_at: Item | None = None

    def compose(self) -> ComposeResult:
        """Lay out summary, panes and key line; the text is for files that have no columns."""
        yield Static(self._head, id="head", classes="head", markup=False)
        yield Words(id="log-name")
        yield PaneTabs(self._titles(), id="log-tabs")
        with Horizontal(id="log-body"):
            with Vertical(id="log-left"):
                yield LogLists(id="log-lists")
                with Paper(classes="paper", id="paper"):
                    yield Body(self._text, id="page", markup=False)
            yield TracesPane(ascii_only=self.main.soakbox.ascii_only, id="traces")
        yield Words(id="log-help")
        yield Static(self._keys, id="page-keys", classes="keys", markup=False)

    @property
    def lists(self) -> LogLists:
        """The lists of columns, call-outs and choices."""
        return self.query_one(LogLists)

    @property
    def _item(self) -> Item | None:
        """What the cursor of the list in front stands on."""
        return None if self._front == "traces" else self.lists.item(self._front)

    def begin(self) -> None:
        """Read the log anew with what has been chosen by now."""
        setup = self.setup
        self._wanted = (setup.path, setup.mapping(), tuple(sorted(setup.left_out)))
        self._made = None
        super().begin()

    def work(self, view: View, job: Job) -> str:
        """Read the log and lay it over the scenario."""
        looked = look(*self._wanted, view.scenario)
        known = fittable(view.scenario)
        if job.stopped():
            raise OvertakenError("the log is no longer wanted")
        self._made = looked, known
        return ""

    def _end(self, state: STATE, text: str) -> None:
        self.looked, self._known = self._made or (Looked(), {})
        if self.looked.survey is not None:
            self.setup.survey = self.looked.survey
        elif state == "done":
            text += "\n\no asks for another file, r reads this one again."
        super()._end(state, text)
        self._tell_panes()
        wrong = [row for row in self.setup.rows() if row.problem]
        if wrong and self.looked.log is None:
            self.lists.point("columns", wrong[0])

    def renew(self) -> None:
        """Read the log anew if the scenario has changed; other units need no reading."""
        now, of = self._view(), self._of
        if self.state == "done" and now is not None and of is not None and (
            now.result is of.result
        ):
            self._of = now
            self._tell_panes()
        else:
            super().renew()

    # -- showing ------------------------------------------------------------------------------

    def _titles(self) -> tuple[tuple[str, str], ...]:
        stops = len(self.looked.problems) + len(self.setup.stopping(self.looked))
        found = f"Call-outs ({stops} XX)" if stops else "Call-outs"
        return (("columns", "Columns"), ("found", found), ("chosen", "What to fit"),
                ("traces", "Traces"))

    def _tell_panes(self) -> None:
        """Show how the log stands now."""
        if not self.is_mounted:
            return
        self.query_one("#log-name", Words).tell(
            summary(self.setup, self.looked) if self.looked.survey is not None
            else printable(str(self.setup.path), 300)
        )
        self.query_one(PaneTabs).name_them(self._titles())
        self.lists.tell(self.setup, self.looked, self._known, self.system)
        charts = log_charts(self.looked.previews, self.system)
        moment = farthest(self.looked.previews[0]) if charts else None
        self.query_one(TracesPane).put(charts, moment)
        self._show()

    def on_resize(self, event: events.Resize) -> None:
        """Put panes side by side where there is room."""
        self.set_class(event.size.width >= WIDE_WIDTH, "side-by-side")
        self.set_class(event.size.width < WIDE_WIDTH, "one-by-one")
        self._show()

    def _show(self) -> None:
        """Bring the pane in front into sight, or the text where there are no columns."""
        wide, readable = self.has_class("side-by-side"), self.looked.survey is not None
        traces = self._front == "traces"
        self.query_one("#log-left").display = wide or not traces or not readable
        self.query_one("#paper").display = not readable
        self.lists.display = readable
        self.query_one(TracesPane).display = readable and (wide or traces)
        if not traces:
            self.lists.front(self._front)
        self.query_one(PaneTabs).tell(self._front)
        if readable:
            target = self.query_one(TracesPane) if traces else self.lists.table(self._front)
            if self.is_current:
                target.focus()
        self._tell_help()

    def _tell_help(self) -> None:
        words = self._note or ("" if self._front == "traces" else self.lists.words(self._front))
        told = self.query_one("#log-help", Words)
        told.tell(words)
        # On a chart that stands alone its rows are needed more.
        told.display = bool(words) or self.has_class("side-by-side")
        if self.state == "done":
            readable = self.looked.survey is not None
            self._put_keys(f"{KEYS[self._front]}   {EVERYWHERE}" if readable else UNREADABLE)

    def say(self, words: str) -> None:
        """Say something over the key line until the cursor moves."""
        self._note, self._noted_at = words, self._item
        self._tell_help()

    @on(LogLists.Pointed)
    def _pointed(self) -> None:
        item = self._item
        if item != self._noted_at:
            self._note = ""
        self.query_one(TracesPane).see(getattr(item, "channel", ""))
        self._tell_help()

    # -- what keys do -------------------------------------------------------------------------

    def action_pane(self, name: str) -> None:
        """Bring a pane to the front and go there."""
        self._front, self._note = name, ""
        self._show()

    def action_again(self) -> None:
        """Read the file again."""
        if self.state != "working":
            self.begin()

    def action_other(self) -> None:
        """Ask for another file."""

        def chosen(name: str | None) -> None:
            if name is not None:
                self.setup = LogSetup(typed_path(name))
                self._waiting = f"Reading {printable(self.setup.path.name, 60)}"
                self._front = "columns"
                self.begin()

        self.app.push_screen(
            AskFile("Log to fit", str(self.setup.path), self._offered(), ENDINGS, NEAR), chosen
        )

    @on(OptionList.OptionSelected)
    def _picked(self) -> None:
        item = self._item
        if isinstance(item, ColumnRow):
            ask_column(self.app, self.setup, item, self.begin)
        elif isinstance(item, Finding):
            self._settle(item)
        elif isinstance(item, Left):
            self._leave_out(item.channel)
        elif isinstance(item, Problem):
            self._go_to_column(item.key)
        else:
            self.action_tick()

    def _go_to_column(self, channel: str) -> None:
        self.action_pane("columns")
        for row in self.setup.rows():
            if row.channel == channel and (row.problem or not self.looked.problems):
                self.lists.point("columns", row)
                break

    def _settle(self, finding: Finding) -> None:
        """Ask what is to be done about a call-out."""
        choices = []
        if finding.mend:
            choices.append(("mend", f"take {mend_words(finding.mend)}"))
        choices += [("leave", f"leave {finding.channel} out"), ("columns", "see its column")]
        if finding.stops:
            back = finding.tag in self.setup.accepted
            words = "do not accept it after all" if back else "accept it: fit regardless"
            choices.append(("accept", words))

        def chosen(answer: str | None) -> None:
            if answer == "mend":
                self.setup.mend(finding.mend)
                self.begin()
            elif answer == "leave":
                self._leave_out(finding.channel)
            elif answer == "columns":
                self._go_to_column(finding.channel)
            elif answer == "accept":
                self._accept(finding)

        title = f"{finding.name}: {printable(finding.column, 80)} ({finding.channel})"
        why = localised(finding.why, self.system)
        self.app.push_screen(Choose(f"{title}: {why}", tuple(choices)), chosen)

    def _accept(self, finding: Finding) -> None:
        self.setup.accepted ^= {finding.tag}
        self._tell_panes()

    def action_accept(self) -> None:
        """Accept the call-out under the cursor, or take that back."""
        item = self.lists.item("found") if self._front == "found" else None
        if isinstance(item, Finding) and item.stops:
            self._accept(item)
        else:
            self.say("a accepts a call-out that stops the fit: 2 goes there")

    def _leave_out(self, channel: str) -> None:
        self.setup.left_out ^= {channel}
        self.begin()

    def action_leave_out(self) -> None:
        """Leave the channel under the cursor out, or take it back."""
        item = self.lists.item(self._front) if self._front in ("columns", "found") else None
        channel = getattr(item, "channel", "")
        if channel and channel != "time":
            self._leave_out(channel)
        else:
            self.say("x leaves a channel out: not time, and not a column that is not used")

    def action_tick(self) -> None:
        """Tick the pass or the input under the cursor, or take the tick away."""
        item = self.lists.item("chosen") if self._front == "chosen" else None
        if isinstance(item, int):
            self.setup.passes_off ^= {item}
        elif isinstance(item, str):
            self.setup.names = set(self.setup.fitted(self.looked)) ^ {item}
        self._tell_panes()

    def action_run(self) -> None:
        """Fit what has been chosen, once nothing stands in the way."""
        if self.state != "done":
            self.say("The log has not been read yet; r reads it.")
        elif self.looked.log is None or self.looked.problems:
            self.action_pane("found")
            self.say("XX nothing is fitted: this log cannot be used as it stands")
        elif stopping := self.setup.stopping(self.looked):
            self.action_pane("found")
            self.lists.point("found", stopping[0])
            self.say(f"XX nothing is fitted until this is settled: Enter shows how "
                     f"({len(stopping)} to settle)")
        elif not self.setup.passes(self.looked) or not self.setup.fitted(self.looked):
            self.action_pane("chosen")
            self.say("XX nothing is fitted: tick at least one pass and one input")
        else:
            self._fit(self)
