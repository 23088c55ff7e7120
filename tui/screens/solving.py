"""How the open scenario is solved after every change, and how its result comes back."""

from __future__ import annotations

import time
from functools import partial

from textual import on

from thermo.errors import ScenarioError
from tui import present
from tui.desk import Desk
from tui.edits import words_of
from tui.listedit import brief
from tui.messages import (
    InputChosen,
    Opened,
    SizeChosen,
    Solved,
    SolveFailed,
    TablesBuilt,
    TablesReady,
    TextMade,
)
from tui.screens.background import View, WorkPage
from tui.screens.showing import ShowingScreen
from tui.widgets.picture import Picture, TimeLine

SLOW = 0.3
"""Time after which it is said that an event is being worked out [s]."""


class SolvingScreen(ShowingScreen):
    """One scenario, solved whenever it changes.

    Parameters
    ----------
    first : Opened
        The scenario to begin with.

    Attributes
    ----------
    last_latency : float
        From the last edit to everything having been told [s].
    """

    def __init__(self, first: Opened) -> None:
        super().__init__(first)
        self.desk = Desk(self, first)
        self._pending = False
        self._asked_at = 0.0
        self.last_latency = 0.0

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
