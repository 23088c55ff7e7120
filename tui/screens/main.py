"""The main screen: what its keys and widgets do with the open scenario.

Pages are imported when they are asked for, so that the first picture does not wait for them.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from functools import partial
from typing import ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.widgets import OptionList

from thermo.errors import ScenarioError
from thermo.units import System
from tui import present
from tui.chartlist import NAMES
from tui.desk import Desk
from tui.edits import Edit, words_of
from tui.fits import Fits
from tui.forgetting import let_go
from tui.help import HINTS
from tui.listedit import ListEdits, brief
from tui.messages import (
    ChartReady,
    EditMade,
    InputChosen,
    MomentMoved,
    Opened,
    PaneChosen,
    SizeChosen,
    Solved,
    SolveFailed,
    TablesBuilt,
    TablesReady,
    TextMade,
)
from tui.places import Settings
from tui.screens.background import View, WorkPage
from tui.screens.compare import ComparePage, Side
from tui.screens.dialogs import AskFile, Choose, Page
from tui.screens.showing import ShowingScreen
from tui.text_check import check_text
from tui.widgets.charts import PlotView
from tui.widgets.figures import FiguresPane
from tui.widgets.hazards import HazardsPane, told
from tui.widgets.inputs import InputsPane
from tui.widgets.picture import Picture, TimeLine
from tui.widgets.tabs import PANES, PaneTabs

SLOW = 0.3
"""Time after which it is said that an event is being worked out [s]."""


class MainScreen(ShowingScreen):
    """Everything about one scenario at one moment.

    Parameters
    ----------
    first : Opened
        The scenario to begin with.

    Attributes
    ----------
    last_latency : float
        From the last edit to everything having been told [s].
    """

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
        Binding("C", "next_chart(-1)", "Chart before"),
        Binding("w", "why", "Hazard in full, working of a figure"),
        Binding("slash", "filter", "Filter inputs"),
        Binding("i", "insert", "Put in a leg or part"),
        Binding("d", "double", "Double a leg or part"),
        Binding("delete", "remove", "Take out"),
        Binding("u", "units", "SI or US units"),
        Binding("s", "sizes", "Sizes"),
        Binding("h", "weather", "Hot weather"),
        Binding("o", "doubt", "Doubt"),
        Binding("m", "map", "Map"),
        Binding("l", "fit", "Fit a pass"),
        Binding("k", "compare", "Compare"),
        Binding("r", "report", "Whole check"),
        Binding("escape", "leave", "Leave", show=False),
        Binding("ctrl+z", "undo", "Undo", priority=True),
        Binding("ctrl+y", "redo", "Redo", priority=True),
        Binding("ctrl+s", "save", "Save", priority=True),
        Binding("ctrl+w", "save_as", "Save as", priority=True),
        Binding("ctrl+o", "open", "Open", priority=True),
        Binding("ctrl+n", "new", "New", priority=True),
    ]

    def __init__(self, first: Opened) -> None:
        super().__init__(first)
        self.desk = Desk(self, first)
        self._lists = ListEdits(self)
        self._fits = Fits(self)
        self._pending = False
        self._asked_at = 0.0
        self.last_latency = 0.0

    def on_mount(self) -> None:
        """Show the open scenario."""
        self._fit(self.app.size.width, self.app.size.height)
        self.call_after_refresh(self._begin)

    def _begin(self) -> None:
        self.show_session(HINTS if self._hinting else self._first.note)
        self.desk.offer_recovery()

    def on_unmount(self) -> None:
        """Leave no thread behind."""
        self._shelf.give_up()
        self.desk.close()

    # -- the scenario -------------------------------------------------------------------------

    def show_session(self, note: str = "") -> None:
        """Show another scenario and ask for its solution."""
        self.result = self.before = self.solved_for = None
        self.row = 0
        self.note = note
        self._tell_inputs()
        self.query_one("#picture", Picture).clear()
        self.query_one("#timeline", TimeLine).clear()
        self._front("inputs")
        self._ask()

    def changed(self, words: str, go_to: str = "") -> None:
        """Have the session solved after a change; go to an input if one is named.

        It is shown together with its result, in one repaint, or by itself when that takes long.
        """
        self.note = self.desk.keeper.message or words
        self._ask()
        if go_to:
            self._tell_inputs()
            self.post_message(InputChosen(go_to))

    def saved(self, words: str) -> None:
        """Show that the scenario has been saved."""
        self._tell_inputs()
        self.say(words)

    def _ask(self) -> None:
        self._asked_at = time.perf_counter()
        self._shelf.give_up()
        self._wanted_run = self.desk.ask(self.desk.session.scenario)
        self._pending = True
        if self.result is None:
            self._tell_verdict()
        self.set_timer(SLOW, partial(self._still, self._wanted_run))

    def _still(self, run: int) -> None:
        """Say that the event is being worked out, when that takes long."""
        if run == self._wanted_run and self._pending:
            self._slow = True
            self._tell_inputs()
            self._tell_verdict()

    @on(Solved)
    def _solved(self, message: Solved) -> None:
        if message.run != self._wanted_run:
            return
        if self.result is None:
            self.call_after_refresh(self.soakbox.settled)
        kept = None if self.result is None else float(self.result.history.time[self.row])
        self.before = self.result
        self.result, self.solved_for = message.result, message.scenario
        self._pending = self._slow = False
        self._failure = ""
        if kept is None:
            kept = self.result.cooling.pass_time_s
        self.row = present.moment_at(self.result, kept)
        with self.app.batch_update():
            self._tell_inputs()
            self._tell_result()
        self._renew_pages()
        self.last_latency = time.perf_counter() - self._asked_at

    @on(SolveFailed)
    def _failed(self, message: SolveFailed) -> None:
        if message.run == self._wanted_run:
            self._pending = self._slow = False
            self._failure = message.words
            self._tell_inputs()
            self._tell_verdict()
            self._renew_pages()

    def view(self) -> View | None:
        """Return what a page is worked out from now; None without a result of the inputs."""
        if self._failure or self.result is None or self.solved_for is None:
            return None
        name = self.desk.session.name
        return View(name, self.solved_for, self.result, self.system, self.verdict())

    def _renew_pages(self) -> None:
        """Let pages over this screen follow what has changed."""
        for screen in self.app.screen_stack:
            if isinstance(screen, WorkPage):
                screen.renew()

    @on(TextMade)
    def _text_made(self, message: TextMade) -> None:
        try:
            edit = self.desk.session.replace(message.text)
        except ScenarioError as error:
            self.say(f"XX not put in: {error}")
        else:
            self.changed(f"{message.words}: {brief(edit)}" if edit.changed else "nothing changed")

    @on(SizeChosen)
    def _size_chosen(self, message: SizeChosen) -> None:
        try:
            edit = self.desk.session.edit_many(message.settings)
        except ScenarioError as error:
            self.say(f"XX {message.title} was not put in: {words_of(error)}")
        else:
            self.changed(f"put in: {brief(edit)}")

    @on(TablesBuilt)
    def _building(self, message: TablesBuilt) -> None:
        self.desk.building = message
        self._tell_verdict()

    @on(TablesReady)
    def _tables(self, message: TablesReady) -> None:
        self.desk.preparing = False
        if message.words:
            self.note = f"XX the property tables could not be built: {message.words}"
        self._ask()

    def on_screen_resume(self) -> None:
        """Let go what a page drew that has just been left."""
        let_go()

    # -- what widgets tell --------------------------------------------------------------------

    @on(ChartReady)
    def _chart_ready(self) -> None:
        if self._visible("chart"):
            self._tell_chart()

    @on(MomentMoved)
    def _moved(self, message: MomentMoved) -> None:
        if self.result is not None:
            self.row = min(max(message.row, 0), len(self.result.history.time) - 1)
            self._tell_moment()

    @on(PlotView.Pointed)
    def _pointed(self, message: PlotView.Pointed) -> None:
        if self.result is not None and message.x_kind == "time":
            self.row = present.moment_at(self.result, message.x)
            self._tell_moment()

    @on(PaneChosen)
    def _pane_chosen(self, message: PaneChosen) -> None:
        self._front(message.pane)

    def on_descendant_focus(self, event: events.DescendantFocus) -> None:
        """Let the key line follow the cursor."""
        for pane, _ in PANES:
            if self.query_one(f"#{pane}") in event.widget.ancestors_with_self:
                self.front = pane
                self.query_one("#tabs", PaneTabs).tell(pane)
                self._tell_keys()

    @on(InputChosen)
    def _goes_to(self, message: InputChosen) -> None:
        self._front("inputs")
        if not self.query_one("#inputs", InputsPane).go_to(message.key):
            self.say(f"{message.key} is not among this scenario's inputs")

    @on(EditMade)
    def _edited(self, message: EditMade) -> None:
        pane = self.query_one("#inputs", InputsPane)
        try:
            edit = self.desk.session.edit(message.key, message.text)
        except ScenarioError as error:
            words = words_of(error, message.key)
            if message.leaving:
                self.say(f"XX {message.key} stays as it was, not taken: {words}")
            else:
                pane.refuse(words)
            return
        pane.close_editor()
        if edit.changed:
            self.changed(brief(edit))
        else:
            self.say("")

    @on(InputsPane.Asked)
    def _asked(self, message: InputsPane.Asked) -> None:
        row = message.row
        if row.kind == "table":
            self._lists.add_table(row)
            return
        options = row.options or ("yes", "no")
        extra = () if row.required else (("", "back to the default"),)

        def chosen(answer: str | None) -> None:
            if answer is not None and answer != (row.text if row.given else None):
                self.post_message(EditMade(row.key, answer))

        choices = (*((o, o) for o in options), *extra)
        self.app.push_screen(Choose(f"{row.label}. {row.help}", choices, row.text), chosen)

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
        self.show_chart((self.chart + by) % len(NAMES))

    def show_chart(self, number: int) -> None:
        """Show a chart by its place in the list."""
        self.chart = number
        self._shelf.give_up()
        if self._visible("chart"):
            self._tell_chart()
        else:
            self._front("chart")

    def action_why(self) -> None:
        """Show the hazard under the cursor in full, or the working of the figure under it."""
        if self.front == "figures":
            self._show_working()
            return
        row = self.query_one("#hazards", HazardsPane).chosen
        if row is not None:
            from tui.screens.working import HazardPage

            text = told(row, self.app.theme).plain
            self.app.push_screen(HazardPage(text, self.verdict(), self.view, row.name))

    def action_filter(self) -> None:
        """Open the filter of the inputs."""
        self._front("inputs", focus=False)
        self.query_one("#inputs", InputsPane).open_filter()

    def action_leave(self) -> None:
        """Leave the editor, the filter, or what was said."""
        pane = self.query_one("#inputs", InputsPane)
        if pane.editing:
            pane.close_editor()
        elif pane.has_class("filtering"):
            pane.close_filter()
            self.query_one("#rows", OptionList).focus()
        else:
            self.say("")

    def action_insert(self) -> None:
        """Put in a leg or a duct part."""
        self._lists.insert(self.query_one("#inputs", InputsPane).chosen)

    def action_double(self) -> None:
        """Double the leg or duct part under the cursor."""
        self._lists.double(self.query_one("#inputs", InputsPane).chosen)

    def action_remove(self) -> None:
        """Take out the leg, duct part or optional table under the cursor."""
        self._lists.remove(self.query_one("#inputs", InputsPane).chosen)

    def action_undo(self) -> None:
        """Take back the last change; while a value is being typed, only the typing."""
        if not self._typing_left():
            self._go_back(self.desk.session.undo(), "undone", "nothing to undo")

    def action_redo(self) -> None:
        """Make the change again."""
        if not self._typing_left():
            self._go_back(self.desk.session.redo(), "done again", "nothing to do again")

    def _typing_left(self) -> bool:
        pane = self.query_one("#inputs", InputsPane)
        typing = pane.editing
        pane.close_editor()
        return typing

    def _go_back(self, edit: Edit | None, words: str, nothing: str) -> None:
        if edit is None:
            self.say(nothing)
        else:
            self.changed(f"{words}: {brief(edit)}")

    def _taken(self, go: Callable[[], None]) -> None:
        """Take what is being typed, and go on unless it is refused."""
        pane = self.query_one("#inputs", InputsPane)
        typed = pane.typed
        if typed is not None:
            self._edited(typed)
        if not pane.editing:
            go()

    def action_save(self) -> None:
        """Save; a name is asked for when there is none."""
        self._taken(self.desk.save)

    def action_save_as(self) -> None:
        """Save under another name."""
        self._taken(self.desk.save_as)

    def action_open(self) -> None:
        """Ask for a file and open it."""
        self._taken(self.desk.open)

    def action_new(self) -> None:
        """Begin from the commented starter."""
        self._taken(self.desk.new)

    def action_reload(self) -> None:
        """Read the file again."""
        self._taken(self.desk.reload)

    def action_units(self) -> None:
        """Switch between SI and US units on the screen."""
        settings = self.soakbox.settings
        units: System = "us" if settings.units == "si" else "si"
        self.soakbox.keep(Settings(theme=settings.theme, units=units))
        self.refresh_look()
        self._renew_pages()

    def action_report(self) -> None:
        """Show the whole text of the check."""
        if self.result is not None:
            self.app.push_screen(Page(check_text(self.result, self.system), self.verdict()))

    def action_sizes(self) -> None:
        """Show the build sheet."""
        if self.view() is not None:
            from tui.screens.sizes import SizesPage

            self.app.push_screen(SizesPage(self.view))

    def action_weather(self) -> None:
        """Show the hot-weather table."""
        if self.view() is not None:
            from tui.screens.weather import WeatherPage

            self.app.push_screen(WeatherPage(self.view, self.desk.session.path))

    def action_write_report(self) -> None:
        """Ask where a report goes, and write it."""
        if self.view() is None:
            return
        from pathlib import Path

        from tui.screens.dialogs import AskText
        from tui.screens.report import ReportPage

        def named(name: str | None) -> None:
            if name is not None:
                session = self.desk.session
                page = ReportPage(self.view, lambda: session.text, session.path, Path(name))
                self.app.push_screen(page)

        words = "Write a report: the ending says whether .html, .pdf or .md"
        self.app.push_screen(AskText(words, "report.html"), named)

    def action_doubt(self) -> None:
        """Show how sure the verdict is."""
        if self.view() is not None:
            from tui.screens.doubt import DoubtPage

            self.app.push_screen(DoubtPage(self.view))

    def action_map(self) -> None:
        """Show a map of two inputs."""
        if self.view() is not None:
            from tui.screens.map import MapPage

            self.app.push_screen(MapPage(self.view, self.desk.session.path))

    def action_fit(self) -> None:
        """Ask what the scenario is to be fitted to: a log, or the crew's readings."""
        if self.view() is not None:
            self._fits.ask()

    def action_fit_log(self) -> None:
        """Ask for a logger's file, and fit the scenario to it."""
        if self.view() is not None:
            self._fits.log()

    def action_fit_notebook(self) -> None:
        """Ask for the crew's readings of a pass, and fit the scenario to them."""
        if self.view() is not None:
            self._fits.notebook()

    @on(OptionList.OptionSelected, "#figures")
    def _figure_picked(self) -> None:
        self._show_working()

    def _show_working(self) -> None:
        row = self.query_one("#figures", FiguresPane).figure
        if row is not None and self.view() is not None:
            from tui.screens.working import WORKINGS, WorkingPage

            self.app.push_screen(WorkingPage(self.view, WORKINGS[row.name]))

    def action_compare(self) -> None:
        """Compare the open scenario with other files."""
        offered = self.desk.offered()

        def chosen(other: str | None) -> None:
            if other is None or self.result is None or self.solved_for is None:
                return
            mine = Side(self.desk.session.name, self.solved_for, self.result)
            self.app.push_screen(
                ComparePage(mine, other, offered, self.system, self.verdict())
            )

        self.app.push_screen(AskFile("Compare with", "", offered), chosen)

    def go_to(self, key: str) -> None:
        """Put the cursor on an input."""
        self.post_message(InputChosen(key))
