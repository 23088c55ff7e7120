"""The terminal UI. The app holds what all screens share; it computes nothing itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import ClassVar

from textual import on, work
from textual.app import App, SystemCommand
from textual.binding import Binding, BindingType
from textual.screen import Screen

from thermo.errors import SoakboxError
from thermo.properties import tables_ready
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.scenario_io import ScenarioFileError
from thermo.units import System
from tui.chartlist import SLOW, make_chart
from tui.charts import Chart
from tui.help import HELP, HINTS
from tui.looks import LIGHT, ORDER, THEMES
from tui.messages import ChartReady, Solved, SolveFailed, TablesReady
from tui.places import (
    Settings,
    note_recent,
    read_settings,
    recent_files,
    shipped_scenarios,
    write_settings,
)
from tui.recovery import Recovery, RecoveryKeeper, discard, pending_recoveries, restore
from tui.screens.compare import compare_page
from tui.screens.dialogs import AskPath, Choose, Page
from tui.screens.main import MainScreen
from tui.screens.sizes import SizesPage
from tui.session import SaveRefusedError, Session
from tui.solver import Solver, prepare_tables
from tui.text import check_text

ChartKey = tuple[str, int, int, System]
"""Name, identity of the result, width and units of a chart."""


class SoakboxApp(App[int]):
    """Soakbox in a terminal.

    Parameters
    ----------
    session : Session
        The scenario to open.
    first_start : bool
        Whether to show the hints.
    ascii_only : bool
        Whether box and braille characters are to be avoided.
    """

    TITLE = "Soakbox"
    CSS_PATH = "app.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "help", "Help"),
        Binding("ctrl+s", "save", "Save", priority=True),
        Binding("ctrl+w", "save_as", "Save as", priority=True),
        Binding("ctrl+o", "open", "Open", priority=True),
        Binding("ctrl+n", "new", "New", priority=True),
        Binding("ctrl+q", "leave", "Quit", priority=True),
        Binding("u", "units", "SI or US units"),
        Binding("t", "next_theme", "Theme"),
        Binding("s", "sizes", "Sizes"),
        Binding("k", "compare", "Compare"),
        Binding("r", "report", "Whole check"),
    ]

    def __init__(
        self, session: Session, *, first_start: bool = False, ascii_only: bool = False
    ) -> None:
        super().__init__()
        self.session = session
        self.ascii_only = ascii_only
        self.first_start = first_start
        self.settings, self._settings_note = read_settings()
        self.system: System = self.settings.units
        self.keeper = RecoveryKeeper()
        self.preparing = False
        self.told_run = 0
        self.main = MainScreen()
        self._solver: Solver | None = None
        self._charts: dict[ChartKey, Chart | None] = {}
        self._charts_of: EventResult | None = None
        for theme in THEMES:
            self.register_theme(theme)

    def on_mount(self) -> None:
        """Paint first, then work."""
        self.theme = self.settings.theme if self.settings.theme in ORDER else LIGHT
        self._solver = Solver(self.post_message)
        self.keeper.watch(self.session)
        if not tables_ready():
            self.preparing = True
            prepare_tables(self.post_message)
        self.push_screen(self.main)
        self.call_after_refresh(self._greet)

    def on_unmount(self) -> None:
        """Leave no thread behind."""
        if self._solver is not None:
            self._solver.close()

    def _greet(self) -> None:
        pending, note = pending_recoveries()
        if pending:
            self._offer(pending[0])
        elif self.first_start:
            self.main.say(HINTS)
        elif note or self._settings_note:
            self.main.say(note or self._settings_note)

    # -- solving ------------------------------------------------------------------------------

    def ask(self, scenario: Scenario) -> int:
        """Have a scenario solved; the answer goes to the main screen."""
        if self._solver is None or self.preparing:
            return -1
        return self._solver.ask(scenario)

    @on(Solved)
    def _solved(self, message: Solved) -> None:
        self.main.solved(message)

    @on(SolveFailed)
    def _failed(self, message: SolveFailed) -> None:
        self.main.failed(message)

    @on(TablesReady)
    def _tables(self, message: TablesReady) -> None:
        self.preparing = False
        if message.words:
            self.main.say(f"XX the property tables could not be built: {message.words}")
        self.main.ask()

    def chart(
        self, name: str, result: EventResult, scenario: Scenario, width: int
    ) -> tuple[bool, Chart | None]:
        """Return whether a chart is there, and the chart.

        It is made once for each result, width and system of units; one that takes long is made
        in the background and told by a :class:`ChartReady`.
        """
        key = (name, id(result), width, self.system)
        if self._charts_of is not result:
            self._charts_of = result
            self._charts.clear()
        if key not in self._charts:
            if name in SLOW:
                self._make_slow(key, name, result, scenario, width)
                return False, None
            self._charts[key] = make_chart(name, result, scenario, width, self.system)
        return True, self._charts[key]

    @work(thread=True, exclusive=True, group="chart")
    def _make_slow(
        self, key: ChartKey, name: str, result: EventResult, scenario: Scenario, width: int
    ) -> None:
        try:
            made = make_chart(name, result, scenario, width, key[3])
        except SoakboxError:
            made = None
        if self._charts_of is result:
            self._charts[key] = made
            self.main.post_message(ChartReady())

    # -- files --------------------------------------------------------------------------------

    def _take(self, session: Session) -> None:
        self.keeper.unwatch(self.session)
        self.session = session
        self.keeper.watch(session)
        if session.path is not None:
            note_recent(session.path)
        self.main.note = ""
        self.main.show_session()

    def action_open(self) -> None:
        """Ask for a file and open it."""
        recent, _ = recent_files()
        offered = tuple(dict.fromkeys(str(p) for p in (*recent, *shipped_scenarios())))
        self._unless_dirty(
            lambda: self.push_screen(AskPath("Open a scenario", recent=offered[:14]), self._open)
        )

    def _open(self, name: str | None) -> None:
        if name is None:
            return
        try:
            self._take(Session.open(name))
        except (SoakboxError, OSError) as error:
            self.push_screen(Page(f"This file was not opened.\n\n{error}"))

    def action_new(self) -> None:
        """Begin from the commented starter."""
        from thermo.starter import STARTER

        self._unless_dirty(lambda: self._take(Session(STARTER, None, "new scenario")))

    def action_save(self) -> None:
        """Save; a name is asked for when there is none."""
        self._save(None, force=False)

    def action_save_as(self) -> None:
        """Save under another name."""
        start = "" if self.session.path is None else str(self.session.path)
        self.push_screen(AskPath("Save the scenario as", start), self._save_under)

    def _save_under(self, name: str | None) -> None:
        if name is not None:
            self._save(name, force=False)

    def _save(self, name: str | None, *, force: bool) -> None:
        try:
            if name is None:
                self.session.save(force=force)
            else:
                self.session.save_as(name, force=force)
        except SaveRefusedError as error:
            if error.reason == "no-name":
                self.action_save_as()
            else:
                self._ask_force(name, str(error))
            return
        except (ScenarioFileError, OSError) as error:
            self.main.say(f"XX not saved, nothing is lost: {error}")
            return
        if self.session.path is not None:
            note_recent(self.session.path)
        self.main.say(f"saved: {self.session.path}")
        self.main.show_inputs()

    def _ask_force(self, name: str | None, words: str) -> None:
        choices = (
            ("stay", "leave the file as it is"),
            ("force", "write over it"),
            ("other", "save under another name"),
        )

        def chosen(answer: str | None) -> None:
            if answer == "force":
                self._save(name, force=True)
            elif answer == "other":
                self.action_save_as()

        self.push_screen(Choose(words, choices, "stay"), chosen)

    def _unless_dirty(self, go: Callable[[], object]) -> None:
        if not self.session.dirty:
            go()
            return
        choices = (("stay", "stay here"), ("save", "save first"), ("drop", "drop the edits"))

        def chosen(answer: str | None) -> None:
            if answer == "save":
                self.action_save()
                if not self.session.dirty:
                    go()
            elif answer == "drop":
                go()

        self.push_screen(Choose("There are unsaved edits.", choices, "save"), chosen)

    def action_leave(self) -> None:
        """Quit; unsaved edits are asked about."""
        self._unless_dirty(self._quit)

    def _quit(self) -> None:
        self.keeper.unwatch(self.session)
        self.exit(0)

    def _offer(self, found: Recovery) -> None:
        when = found.time.strftime("%d %B, %H:%M")
        choices = (
            ("take", "take them up again"),
            ("later", "ask again at the next start"),
            ("drop", "throw them away"),
        )

        def chosen(answer: str | None) -> None:
            if answer == "take":
                try:
                    session = restore(found)
                except SoakboxError as error:
                    self.push_screen(Page(f"The edits could not be taken up.\n\n{error}"))
                    return
                self._take(session)
                discard(found)
                self.main.say(f"unsaved edits of {found.name} taken up again")
            elif answer == "drop":
                discard(found)

        self.push_screen(
            Choose(f"Unsaved edits of {found.name} from {when} were left behind.", choices, "take"),
            chosen,
        )

    # -- what else keys do --------------------------------------------------------------------

    def action_help(self) -> None:
        """Show the help page."""
        self.push_screen(Page(HELP))

    def action_report(self) -> None:
        """Show the whole text of the check."""
        if self.main.result is not None:
            self.push_screen(Page(check_text(self.main.result, self.system)))

    def action_units(self) -> None:
        """Switch between SI and US units on the screen."""
        self.system = "us" if self.system == "si" else "si"
        self._keep_settings()
        self.main.refresh_units()

    def action_next_theme(self) -> None:
        """Go to the next theme: light, dark, sunlight."""
        self.theme = ORDER[(ORDER.index(self.theme) + 1) % len(ORDER)]
        self._keep_settings()
        self.main.refresh_units()

    def _keep_settings(self) -> None:
        note = write_settings(Settings(theme=self.theme, units=self.system))
        if note:
            self.main.say(note)

    def action_sizes(self) -> None:
        """Show the build sheet."""
        if self.main.result is not None:
            self.push_screen(SizesPage(self.session.scenario, self.main.result, self.system))

    def action_compare(self) -> None:
        """Compare the open scenario with another file."""
        recent, _ = recent_files()
        offered = tuple(dict.fromkeys(str(p) for p in (*recent, *shipped_scenarios())))
        self.push_screen(AskPath("Compare with", recent=offered[:14]), self._compare)

    def _compare(self, name: str | None) -> None:
        if name is None or self.main.result is None or self.main.solved_for is None:
            return
        try:
            text = compare_page(
                (self.session.name, self.main.solved_for, self.main.result), name, self.system
            )
        except (SoakboxError, OSError) as error:
            text = f"These cannot be compared.\n\n{error}"
        self.push_screen(Page(text))

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Every action by name, and every input to jump to."""
        for words, hint, action in (
            ("Open", "another scenario", self.action_open),
            ("New", "begin from the starter", self.action_new),
            ("Save", "the scenario", self.action_save),
            ("Save as", "under another name", self.action_save_as),
            ("Sizes", "the build sheet", self.action_sizes),
            ("Compare", "with another scenario", self.action_compare),
            ("Whole check", "every figure as text", self.action_report),
            ("Units", "SI or US on the screen", self.action_units),
            ("Theme", "light, dark, sunlight", self.action_next_theme),
            ("Undo", "the last change", self.main.action_undo),
            ("Redo", "the change taken back", self.main.action_redo),
            ("Filter inputs", "by words", self.main.action_filter),
            ("Help", "what the screen shows and what keys do", self.action_help),
            ("Quit", "asks about unsaved edits", self.action_leave),
        ):
            yield SystemCommand(words, hint, action)
        for row in self.session.rows:
            yield SystemCommand(
                f"Go to {row.label}", row.key, lambda key=row.key: self.main.go_to(key)
            )
