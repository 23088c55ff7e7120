"""The main screen: what its keys and widgets do with the open scenario."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from textual import events, on
from textual.binding import Binding, BindingType
from textual.widgets import OptionList

from thermo.errors import ScenarioError
from thermo.units import System
from tui import present
from tui.chartlist import NAMES
from tui.edits import Edit, words_of
from tui.help import HINTS
from tui.listedit import ListEdits, brief
from tui.messages import (
    ChartReady,
    EditMade,
    InputChosen,
    MomentMoved,
    Opened,
    PaneChosen,
)
from tui.places import Settings
from tui.screens.dialogs import Choose
from tui.screens.pages import PagesScreen
from tui.widgets.charts import PlotView
from tui.widgets.inputs import InputsPane
from tui.widgets.tabs import PANES, PaneTabs


class MainScreen(PagesScreen):
    """Everything about one scenario at one moment.

    Parameters
    ----------
    first : Opened
        The scenario to begin with.
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
        self._lists = ListEdits(self)

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

    # -- what widgets tell ---------------------------------------------------------------------

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

    # -- what keys do --------------------------------------------------------------------------

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

    def go_to(self, key: str) -> None:
        """Put the cursor on an input."""
        self.post_message(InputChosen(key))
