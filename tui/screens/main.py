"""The main screen: picture, verdict, inputs, hazards, charts and figures of one scenario."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, ClassVar, cast

from rich.text import Text
from textual import events, on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import Screen
from textual.widgets import Input, OptionList, Static

from thermo.errors import ScenarioError
from thermo.results import EventResult
from thermo.scenario import Scenario
from tui import present
from tui.chartlist import NAMES
from tui.edits import words_of
from tui.looks import style_of
from tui.messages import ChartReady, EditMade, InputChosen, MomentMoved, Solved, SolveFailed
from tui.screens.dialogs import Choose
from tui.widgets.charts import ChartPane
from tui.widgets.figures import FiguresPane
from tui.widgets.hazards import HazardsPane
from tui.widgets.inputs import InputsPane
from tui.widgets.picture import Picture, TimeLine

if TYPE_CHECKING:
    from tui.app import SoakboxApp

LEAST_WIDTH, LEAST_HEIGHT = 78, 23
WIDE_WIDTH, WIDE_HEIGHT = 120, 36
PANES = (("inputs", "Inputs"), ("hazards", "Hazards"), ("chart", "Charts"), ("figures", "Figures"))
HOMES = {"inputs": "left", "hazards": "right", "chart": "middle", "figures": "middle"}


class MainScreen(Screen[None]):
    """Everything about one scenario at one moment."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "step(-1)", "Moment back", show=False),
        Binding("right", "step(1)", "Moment on", show=False),
        Binding("shift+left", "step(-10)", "Moment far back", show=False),
        Binding("shift+right", "step(10)", "Moment far on", show=False),
        Binding("left_square_bracket", "step(-100000)", "Start", show=False),
        Binding("right_square_bracket", "step(100000)", "End", show=False),
        Binding("1", "pane('inputs')", "Inputs"),
        Binding("2", "pane('hazards')", "Hazards"),
        Binding("3", "pane('chart')", "Charts"),
        Binding("4", "pane('figures')", "Figures"),
        Binding("c", "next_chart(1)", "Next chart"),
        Binding("slash", "filter", "Filter inputs"),
        Binding("escape", "leave", "Leave", show=False),
        Binding("ctrl+z", "undo", "Undo", priority=True),
        Binding("ctrl+y", "redo", "Redo", priority=True),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.result: EventResult | None = None
        self.solved_for: Scenario | None = None
        self.before: EventResult | None = None
        self.row = 0
        self.chart = 0
        self.front = "inputs"
        self.wanted_run = 0
        self.note = ""
        self.committed_at = 0.0
        self.last_latency = 0.0

    @property
    def soakbox(self) -> SoakboxApp:
        """The app, as what it is."""
        return cast("SoakboxApp", self.app)

    def compose(self) -> ComposeResult:
        """Lay out the skeleton; rows are filled in when there is something to show."""
        ascii_only = self.soakbox.ascii_only
        yield Static("", id="verdict", markup=False)
        yield Picture(ascii_only=ascii_only, id="picture")
        yield TimeLine(ascii_only=ascii_only, id="timeline")
        yield Static("", id="tabs", markup=False)
        with Horizontal(id="body"):
            with Vertical(id="left"):
                yield InputsPane(id="inputs")
            with Vertical(id="middle"):
                yield ChartPane(ascii_only=ascii_only, id="chart")
                yield FiguresPane(id="figures")
            with Vertical(id="right"):
                yield HazardsPane(id="hazards")
        yield Static(
            f"Soakbox needs a window of {LEAST_WIDTH} by {LEAST_HEIGHT} characters.",
            id="too-small",
            markup=False,
        )
        yield Static("", id="keys", classes="keys", markup=False)

    def on_mount(self) -> None:
        """Show the open scenario."""
        for pane, _ in PANES:
            self.query_one(f"#{pane}").add_class("pane")
        self._fit(self.size.width, self.size.height)
        self.call_after_refresh(self.show_session)

    def show_session(self) -> None:
        """Fill the inputs and ask for the solution of the open scenario."""
        self.result = self.before = None
        self.row = 0
        self._tell_inputs()
        self.query_one("#rows", OptionList).focus()
        self._tell_verdict()
        self.ask()

    def ask(self) -> None:
        """Ask the solver for the present scenario."""
        self.committed_at = time.perf_counter()
        self.wanted_run = self.soakbox.ask(self.soakbox.session.scenario)
        self._tell_verdict()

    # -- showing ------------------------------------------------------------------------------

    def _fit(self, width: int, height: int) -> None:
        tiny = width < LEAST_WIDTH or height < LEAST_HEIGHT
        wide = not tiny and width >= WIDE_WIDTH and height >= WIDE_HEIGHT
        self.set_class(tiny, "tiny")
        self.set_class(wide, "wide")
        self.set_class(not tiny and not wide, "narrow")
        if tiny:
            self.query_one("#too-small", Static).update(
                f"Soakbox needs {LEAST_WIDTH} by {LEAST_HEIGHT} characters; this window has "
                f"{width} by {height}. Enlarge it, or run: soakbox check FILE"
            )
        self._front(self.front, focus=False)

    def on_resize(self, event: events.Resize) -> None:
        """Choose the layout for the window."""
        self._fit(event.size.width, event.size.height)
        if self.result is not None:
            self.call_after_refresh(self._tell_result)

    def _front(self, pane: str, focus: bool = True) -> None:
        self.front = pane
        self.set_class(pane in ("chart", "figures"), "reading")
        for name, _ in PANES:
            self.query_one(f"#{name}").set_class(name == pane, "front")
        for home in ("left", "middle", "right"):
            self.query_one(f"#{home}").set_class(home == HOMES[pane], "front")
        tabs = Text()
        for number, (name, title) in enumerate(PANES, start=1):
            tabs.append(f" {number} {title} ", "bold reverse" if name == pane else "")
            tabs.append("  ")
        self.query_one("#tabs", Static).update(tabs)
        if focus:
            target = {"inputs": "#rows", "hazards": "#hazards OptionList"}.get(pane)
            if target is not None:
                self.query_one(target, OptionList).focus()
            elif pane == "figures":
                self.query_one("#figures").focus()
            else:
                self.set_focus(None)
        if self.result is not None and not self.has_class("wide"):
            self.call_after_refresh(self._tell_panes)

    def _visible(self, pane: str) -> bool:
        return self.has_class("wide") or self.front == pane

    def _tell_verdict(self) -> None:
        app = self.soakbox
        session = app.session
        name = f"{session.name}{' (unsaved edits)' if session.dirty else ''}"
        text = Text(no_wrap=False)
        level = "plain"
        if app.preparing:
            text.append("Building the property tables, once: about two seconds ... ")
        elif self.result is None:
            text.append("Working out the event ... ")
        else:
            line = present.verdict_line(self.result, app.system, self.before)
            level = {"danger": "danger", "caution": "caution"}.get(line.level, "figure")
            text.append(f"{line.mark} {line.word}", style_of(level, app.theme))
            text.append(line.text.removeprefix(f"{line.mark} {line.word}"))
            if line.changes:
                text.append(f"\n{'; '.join(line.changes)}", style_of("figure", app.theme))
        if self.wanted_run != app.told_run and self.result is not None:
            text.append("  (working ...)")
        if self.note:
            text.append(f"\n{self.note}", style_of("caution", app.theme))
        self.query_one("#verdict", Static).update(text)
        self.query_one("#keys", Static).update(
            f"{name[:24]}   1-4 panes  arrows moment  Enter edit  ctrl+s save  ? help"
        )

    def _tell_inputs(self) -> None:
        session = self.soakbox.session
        self.query_one("#inputs", InputsPane).tell(
            session.rows, session.changed_keys(), self.soakbox.system
        )

    def _tell_moment(self) -> None:
        if self.result is None or self.solved_for is None:
            return
        system = self.soakbox.system
        self.query_one("#picture", Picture).tell(self.result, self.solved_for, self.row, system)
        self.query_one("#timeline", TimeLine).tell(self.result, self.row, system)
        if self._visible("chart"):
            self._tell_chart()

    def _tell_chart(self) -> None:
        if self.result is None or self.solved_for is None:
            return
        pane = self.query_one("#chart", ChartPane)
        name = NAMES[self.chart % len(NAMES)]
        place = f"{self.chart % len(NAMES) + 1} of {len(NAMES)}"
        known, chart = self.soakbox.chart(
            name, self.result, self.solved_for, max(pane.size.width, 40)
        )
        if not known:
            pane.wait(f"{place} {name}: working it out ...")
            return
        moment = float(self.result.history.time[self.row])
        pane.tell(
            chart,
            moment if chart is not None and chart.x_kind == "time" else None,
            f"{place}{'' if chart is not None else ' ' + name}",
        )

    def _tell_panes(self) -> None:
        if self.result is None:
            return
        system = self.soakbox.system
        if self._visible("hazards"):
            self.query_one("#hazards", HazardsPane).tell(present.hazard_rows(self.result, system))
        if self._visible("figures"):
            self.query_one("#figures", FiguresPane).tell(
                present.figure_rows(self.result, system, self.before)
            )
        if self._visible("chart"):
            self._tell_chart()

    def _tell_result(self) -> None:
        self._tell_verdict()
        self._tell_moment()
        self._tell_panes()

    # -- what comes in ------------------------------------------------------------------------

    def solved(self, message: Solved) -> None:
        """Take in a result; one that has been overtaken is dropped."""
        if message.run != self.wanted_run:
            return
        kept = None if self.result is None else float(self.result.history.time[self.row])
        self.before = self.result
        self.result, self.solved_for = message.result, message.scenario
        self.soakbox.told_run = message.run
        if kept is None:
            kept = self.result.cooling.pass_time_s
        self.row = present.moment_at(self.result, kept)
        self._tell_result()
        self.last_latency = time.perf_counter() - self.committed_at

    def failed(self, message: SolveFailed) -> None:
        """Say that a scenario could not be solved; the last result stays."""
        if message.run == self.wanted_run:
            self.soakbox.told_run = message.run
            self.say(f"XX no result: {message.words}")

    @on(ChartReady)
    def _chart_ready(self) -> None:
        if self._visible("chart"):
            self._tell_chart()

    @on(MomentMoved)
    def _moved(self, message: MomentMoved) -> None:
        if self.result is not None:
            self.row = min(max(message.row, 0), len(self.result.history.time) - 1)
            self._tell_moment()

    @on(InputChosen)
    def _goes_to(self, message: InputChosen) -> None:
        self._front("inputs")
        if not self.query_one("#inputs", InputsPane).go_to(message.key):
            self.say(f"{message.key} is not in this scenario")

    @on(EditMade)
    def _edited(self, message: EditMade) -> None:
        pane = self.query_one("#inputs", InputsPane)
        try:
            edit = self.soakbox.session.edit(message.key, message.text)
        except ScenarioError as error:
            pane.refuse(words_of(error, message.key))
            return
        pane.close_editor()
        self.changed(str(edit) if edit.changed else "")

    def changed(self, words: str) -> None:
        """Show the session after a change and have it solved."""
        self.say(self.soakbox.keeper.message or words)
        self._tell_inputs()
        self.ask()

    def say(self, words: str) -> None:
        """Say something under the verdict."""
        self.note = words
        self._tell_verdict()

    def go_to(self, key: str) -> None:
        """Put the cursor on an input."""
        self.post_message(InputChosen(key))

    def refresh_units(self) -> None:
        """Show everything in the present system of units and theme."""
        self._tell_inputs()
        self._tell_result()

    def show_inputs(self) -> None:
        """Show the inputs anew, as after a save."""
        self._tell_inputs()

    # -- what keys do -------------------------------------------------------------------------

    def action_step(self, by: int) -> None:
        """Move the moment by rows of the history."""
        if self.result is not None:
            self.row = present.step_moment(self.result, self.row, by)
            self._tell_moment()

    def action_pane(self, name: str) -> None:
        """Bring a pane to the front and go there."""
        self._front(name)

    def action_next_chart(self, by: int) -> None:
        """Show the next chart."""
        self.chart = (self.chart + by) % len(NAMES)
        if not self._visible("chart"):
            self._front("chart")
        self._tell_chart()

    def action_filter(self) -> None:
        """Open the filter of the inputs."""
        self._front("inputs", focus=False)
        self.query_one("#inputs", InputsPane).open_filter()

    def action_leave(self) -> None:
        """Leave the editor or the filter."""
        pane = self.query_one("#inputs", InputsPane)
        if pane.has_class("editing"):
            pane.close_editor()
        elif isinstance(self.focused, Input):
            self.focused.value = ""
            self._front("inputs")
        else:
            self.say("")

    def action_undo(self) -> None:
        """Take back the last change."""
        edit = self.soakbox.session.undo()
        self.changed(f"undone: {edit}") if edit is not None else self.say("nothing to undo")

    def action_redo(self) -> None:
        """Make the change again."""
        edit = self.soakbox.session.redo()
        self.changed(f"done again: {edit}") if edit is not None else self.say("nothing to redo")

    @on(OptionList.OptionSelected, "#rows")
    def _open_choice(self) -> None:
        """Choices and optional tables open a dialog in place of the editor."""
        pane = self.query_one("#inputs", InputsPane)
        row = pane.chosen
        if row is None or row.kind not in ("choice", "yes-no"):
            return
        pane.close_editor()
        options = row.options or ("yes", "no")
        extra = () if row.required else (("", "back to the default"),)

        def chosen(answer: str | None) -> None:
            if answer is not None:
                self.post_message(EditMade(row.key, answer))

        self.app.push_screen(
            Choose(f"{row.label}: {row.help}", (*((o, o) for o in options), *extra), row.text),
            chosen,
        )
