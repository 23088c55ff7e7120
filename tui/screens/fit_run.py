"""The fit of a log: what it says of the car, over the traces, and the next pass."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import ClassVar

import click
from textual import events
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal
from textual.widgets import Static

from thermo.errors import Problem, ScenarioError
from thermo.fit import Fit, fit
from thermo.log_checks import blocking, check_log
from thermo.log_csv import Log
from thermo.quantity_text import printable
from thermo.scenario import Scenario
from thermo.scenario_io import LoadedScenario, from_text
from tui.completion import typed_path
from tui.fitting import log_name, log_samples, outlooks_of, put_in, save_fitted
from tui.logcharts import farthest, log_charts
from tui.messages import TextMade
from tui.options import out_path
from tui.screens.background import READING, STATE, Job, View
from tui.screens.dialogs import AskPath, Body, Choose, Paper
from tui.screens.fit_day import Day, ask_day
from tui.screens.map import NotWrittenError
from tui.screens.showing import WIDE_WIDTH
from tui.screens.traced import TracedPage
from tui.text_fit import fit_text, untold_text
from tui.widgets.tabs import PaneTabs
from tui.widgets.traces import TracesPane

TRACING = "Escape goes back, left right move the moment"
PANES = (("told", "What it says"), ("traces", "Traces"))


class LogFitPage(TracedPage):
    """A log fitted on the scenario.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    text : callable
        Returns the scenario's text now.
    source : pathlib.Path
        The log's file, which no scenario is written over.
    log : Log
        As it is to be fitted, without what is left out.
    names : tuple of str
        What to fit.
    passes : tuple of int
        Numbers of the passes to use.
    accepted : tuple of str
        Tags of call-outs to go on regardless of.
    path : pathlib.Path or None
        The scenario's file.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("p", "put", "Put the fit in"),
        Binding("o", "ask_file", "Write the fitted scenario"),
        Binding("n", "ask_day", "The next pass on another day"),
        Binding("1", "pane('told')", "What it says"),
        Binding("2", "pane('traces')", "Traces"),
    ]

    def __init__(
        self,
        view: Callable[[], View | None],
        text: Callable[[], str],
        source: Path,
        log: Log,
        names: tuple[str, ...],
        passes: tuple[int, ...],
        accepted: tuple[str, ...],
        path: Path | None,
    ) -> None:
        super().__init__(
            view, "Fitting the log", "The log does not fit.",
            "p puts the fit in   o writes it to a file   n other day   c next channel"
        )
        self._text_of, self._source, self._log, self._path = text, source, log, path
        self._names, self._passes, self._accepted = names, passes, accepted
        self._name = printable(source.name, 60)
        self._day = Day()
        self._from = ""
        self._kept: tuple[Scenario, Fit] | None = None
        self._made: LoadedScenario | None = None
        self._front = "told"
        self.put_in = False

    def compose(self) -> ComposeResult:
        """Lay out text and traces, side by side or one at a time."""
        yield Static(self._head, id="head", classes="head", markup=False)
        yield PaneTabs(PANES, id="log-tabs")
        with Horizontal(id="log-body"):
            with Paper(classes="paper", id="paper"):
                yield Body(self._text, id="page", markup=False)
            yield TracesPane(ascii_only=self.main.soakbox.ascii_only, id="traces")
        yield Static(self._keys, id="page-keys", classes="keys", markup=False)

    def begin(self) -> None:
        """Fit, or only look at the next pass where the scenario is as it was."""
        self._from, self._made = self._text_of(), None
        self._waiting = f"Fitting {', '.join(self._names)} to {self._name}"
        super().begin()

    def work(self, view: View, job: Job) -> str:
        """Fit, and return what that says of the car and of the next pass."""
        findings = check_log(self._log, view.scenario)
        stopping = blocking(findings, self._accepted)
        if stopping:
            raise ScenarioError(self._log.source, [
                Problem(f.tag, "", f.why, line=f.lines[0]) for f in stopping])
        loaded = from_text(self._from, view.name)
        if self._kept is None or self._kept[0] is not view.scenario:
            found = fit(view.scenario, self._log, self._names, passes=self._passes,
                        progress=job.progress, cancelled=job.stopped)
            self._kept = view.scenario, found
        found = self._kept[1]
        self._waiting = "Solving the next pass over samples of the fit"
        after = put_in(loaded, found.fitted, log_name(self._source.name, self._log))
        told, untold = outlooks_of(
            loaded, after, lambda: log_samples(found), self._day.airs, self._day.tank,
            view.system, job.progress, job.stopped,
        )
        self._made = after
        text = fit_text(view.scenario.title, self._log, found, findings, told, view.system)
        return text + untold_text(untold)

    def _end(self, state: STATE, text: str) -> None:
        super()._end(state, text)
        if not self.is_mounted:
            return
        seen = self._kept[1].previews if self._kept is not None and state == "done" else ()
        self.query_one(TracesPane).put(
            log_charts(seen, self.system), farthest(seen[0]) if seen else None
        )
        self._show()

    # -- showing ------------------------------------------------------------------------------

    def on_resize(self, event: events.Resize) -> None:
        """Put text and traces side by side where there is room."""
        self.set_class(event.size.width >= WIDE_WIDTH, "side-by-side")
        self._show()

    def _show(self) -> None:
        wide = self.has_class("side-by-side")
        self.query_one("#paper").display = wide or self._front == "told"
        self.query_one(TracesPane).display = wide or self._front == "traces"
        self.query_one(PaneTabs).display = not wide
        self.query_one(PaneTabs).tell(self._front)
        if self.state == "done":
            reading = READING if self._front == "told" or wide else TRACING
            self._put_keys(f"{reading}   {self._more}")

    def action_pane(self, name: str) -> None:
        """Bring the text or the traces to the front."""
        self._front = name
        self._show()

    # -- what is done with the fit ------------------------------------------------------------

    def _usable(self) -> LoadedScenario | None:
        """Return the fitted scenario if it is that of the open one; say why not else."""
        if self.state != "done" or self._made is None:
            return None
        if self._text_of() != self._from:
            self.say("XX the scenario has changed since; it is fitted anew in a moment")
            return None
        return self._made

    def action_put(self) -> None:
        """Put the fitted inputs and their ranges into the scenario; undo takes them out."""
        made = self._usable()
        if made is None:
            return
        if self._kept is None or not self._kept[1].poor:
            self._put_in(made)
            return

        def chosen(answer: str | None) -> None:
            if answer == "put":
                self._put_in(made)

        words = f"This fit is not to be trusted: {'; '.join(self._kept[1].poor)}."
        choices = (("stay", "leave the scenario as it is"), ("put", "put it in regardless"))
        self.app.push_screen(Choose(words, choices, "stay"), chosen)

    def _put_in(self, made: LoadedScenario) -> None:
        self.put_in = True
        self.put(TextMade(f"fitted to {self._name}", made.text))
        self.dismiss(None)

    def action_ask_day(self) -> None:
        """Ask for the air and the tank of another day."""
        if self.state != "working":
            ask_day(self.app, self.system, self._day_told)

    def _day_told(self, day: Day) -> None:
        self._day = day
        self.begin()

    def action_ask_file(self) -> None:
        """Ask for a file and write the fitted scenario to it."""
        made = self._usable()
        if made is None:
            return
        name = "scenario" if self._path is None else self._path.stem

        def named(text: str | None) -> None:
            if text is not None:
                self._ask_over(typed_path(text), made)

        self.app.push_screen(
            AskPath("Write the fitted scenario to", f"{name}_fitted.toml"), named
        )

    def _ask_over(self, target: Path, made: LoadedScenario) -> None:
        if not target.is_file():
            self._write(target, made)
            return

        def chosen(answer: str | None) -> None:
            if answer == "force":
                self._write(target, made)
            elif answer == "other":
                self.action_ask_file()

        choices = (("stay", "leave the file as it is"), ("other", "write to another file"),
                   ("force", "write over it"))
        self.app.push_screen(Choose(f"There is such a file: {target}", choices, "stay"), chosen)

    def _write(self, target: Path, made: LoadedScenario) -> None:
        self.say(f"writing {target} ...")
        self.aside(partial(self._written, target, made))

    def _written(self, target: Path, made: LoadedScenario) -> str:
        """Write the fitted scenario; called in a thread."""
        try:
            out_path(target, self._path or Path(), "the fitted scenario", (".toml",))
        except click.ClickException as error:
            raise NotWrittenError(f"not written: {error.message}") from None
        if target.resolve() == self._source.resolve():
            raise NotWrittenError(f"not written: {target} is the log")
        save_fitted(made, target)
        return f"written: {target.resolve()}; the open scenario is as it was"
