"""The open scenario and what is done with its file: open, save, recover, leave, with questions."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from thermo.errors import SoakboxError
from thermo.properties import tables_ready
from thermo.scenario import Scenario
from thermo.scenario_io import ScenarioFileError
from thermo.starter import STARTER
from tui.completion import typed_path
from tui.messages import Opened, TablesBuilt
from tui.places import (
    demo_path,
    demo_text,
    forget_recent,
    note_recent,
    reason_of,
    recent_files,
    shipped_scenarios,
)
from tui.recovery import Recovery, RecoveryKeeper, discard, pending_recoveries, restore
from tui.scenario_file import SaveRefusedError
from tui.screens.dialogs import AskFile, AskPath, Choose, Page
from tui.session import Session
from tui.solver import Solver, prepare_tables

if TYPE_CHECKING:
    from tui.screens.solving import SolvingScreen

MOST_OFFERED = 14
"""Files that are offered when a name is asked for."""


def first_scenario(path: Path | None) -> Opened:
    """Read what the program starts with.

    Parameters
    ----------
    path : pathlib.Path or None
        A scenario; without one the last that was open, or the demo when there is none that can
        be used.

    Returns
    -------
    Opened

    Raises
    ------
    SoakboxError
        If `path` cannot be used, or the demo is missing.
    """
    ready = tables_ready()
    if path is not None:
        session = Session.open(path)
        return Opened(session, False, ready, note_recent(path))
    recent, note = recent_files()
    if recent:
        try:
            return Opened(Session.open(recent[0]), False, ready, note)
        except SoakboxError as error:
            note = f"the last scenario was not opened: {error}"
    return Opened(Session(demo_text(), None, demo_path().stem), not recent, ready, note)


def opened(name: str) -> Session:
    """Open a file; a scenario that was shipped is opened as a copy that has no file yet.

    Raises
    ------
    SoakboxError
        If it cannot be used.
    """
    path = typed_path(name)
    session = Session.open(path)
    if session.path in shipped_scenarios():
        return Session(session.text, None, path.stem)
    return session


class Desk:
    """What the main screen works on.

    Parameters
    ----------
    screen : SolvingScreen
        Shows the scenario and takes the solver's answers.
    first : Opened
        The scenario to begin with.

    Attributes
    ----------
    session : Session
    keeper : RecoveryKeeper
    preparing : bool
        Whether the property tables are still being built.
    building : TablesBuilt or None
        How far that is; None before the first step.
    """

    def __init__(self, screen: SolvingScreen, first: Opened) -> None:
        self._screen = screen
        self.session = first.session
        self.preparing = not first.ready
        self.building: TablesBuilt | None = None
        self.keeper = RecoveryKeeper()
        self.keeper.watch(self.session)
        self._solver = Solver(screen.post_message)
        if self.preparing:
            prepare_tables(screen.post_message)

    def close(self) -> None:
        """Leave no thread behind."""
        self._solver.close()

    def ask(self, scenario: Scenario) -> int:
        """Have a scenario solved; return the number of the request, or -1 while it must wait."""
        return -1 if self.preparing else self._solver.ask(scenario)

    # -- opening ------------------------------------------------------------------------------

    def _take(self, session: Session) -> None:
        self.keeper.unwatch(self.session)
        self.session = session
        self.keeper.watch(session)
        note = "" if session.path is None else note_recent(session.path)
        self._screen.show_session(note or self.keeper.message)

    def offered(self) -> tuple[str, ...]:
        """Return the files to offer where a name is asked for: recent ones, then those shipped."""
        recent, _ = recent_files()
        paths = dict.fromkeys(str(p) for p in (*recent, *shipped_scenarios()))
        return tuple(paths)[:MOST_OFFERED]

    def open(self) -> None:
        """Ask for a file and open it."""
        self._unless_dirty(
            lambda: self._push(AskFile("Open a scenario", "", self.offered()), self._open)
        )

    def _open(self, name: str | None) -> None:
        if name is None:
            return
        try:
            session = opened(name)
        except SoakboxError as error:
            if not typed_path(name).exists():
                forget_recent(typed_path(name))
            self._screen.app.push_screen(Page(f"This file was not opened.\n\n{error}"))
        else:
            self._take(session)

    def new(self) -> None:
        """Begin from the commented starter."""
        self._unless_dirty(lambda: self._take(Session(STARTER, None, "new scenario")))

    def reload(self) -> None:
        """Read the file again; what was unsaved can be brought back with undo."""
        try:
            edit = self.session.reload()
        except SoakboxError as error:
            self._screen.say(f"XX not read again: {error}")
        else:
            self._screen.changed(f"read again: {edit}" if edit.changed else "the file is the same")

    def offer_recovery(self) -> bool:
        """Offer unsaved edits that an earlier run left behind; say whether there are any."""
        pending, note = pending_recoveries()
        if pending:
            self._offer(pending[0])
        elif note:
            self._screen.say(note)
        return bool(pending)

    def _offer(self, found: Recovery) -> None:
        when = found.time.strftime("%d %B, %H:%M")
        choices = (
            ("take", "take them up again"),
            ("later", "ask again at the next start"),
            ("drop", "throw them away"),
        )
        words = f"Unsaved edits of {found.name} from {when} were left behind."
        self._push(Choose(words, choices, "take"), partial(self._recover, found))

    def _recover(self, found: Recovery, answer: str | None) -> None:
        if answer == "take":
            try:
                session = restore(found)
            except SoakboxError as error:
                words = f"The edits could not be taken up; they stay in {found.file}.\n\n{error}"
                self._screen.app.push_screen(Page(words))
                return
            self._take(session)
            note = discard(found)
            self._screen.say(note or f"unsaved edits of {found.name} taken up again")
        elif answer == "drop":
            self._screen.say(discard(found))
            self.offer_recovery()

    # -- saving -------------------------------------------------------------------------------

    def save(self) -> None:
        """Save; a name is asked for when there is none."""
        self._save(None)

    def save_as(self, then: Callable[[], object] | None = None) -> None:
        """Ask for another name and save under it."""
        path = self.session.path
        start = f"{self.session.name.replace(' ', '_')}.toml" if path is None else str(path)
        answer = partial(self._save_under, then=then)
        self._push(AskPath("Save the scenario as", start), answer)

    def _save_under(self, name: str | None, then: Callable[[], object] | None) -> None:
        if name is not None:
            self._save(name, then=then)

    def _save(
        self,
        name: str | None,
        *,
        force: bool = False,
        then: Callable[[], object] | None = None,
    ) -> None:
        """Save, ask what stands in the way, and go on with `then` once it is saved."""
        try:
            self.session.save(name, force=force)
        except SaveRefusedError as error:
            if error.reason == "no-name":
                self.save_as(then)
            else:
                self._ask_force(name, error, then)
            return
        except (ScenarioFileError, OSError) as error:
            words = f"not saved: {reason_of(error)}" if isinstance(error, OSError) else str(error)
            self._screen.say(f"XX {words}; the edits are kept here")
            return
        note = "" if self.session.path is None else note_recent(self.session.path)
        self._screen.saved(note or f"saved: {self.session.path}")
        if then is not None:
            then()

    def _ask_force(
        self, name: str | None, error: SaveRefusedError, then: Callable[[], object] | None
    ) -> None:
        choices = [("stay", "leave the file as it is"), ("other", "save under another name")]
        if error.reason == "changed":
            choices.append(("read", "read the file; the edits here can be brought back by undo"))
        choices.append(("force", "write over it"))

        def chosen(answer: str | None) -> None:
            if answer == "force":
                self._save(name, force=True, then=then)
            elif answer == "other":
                self.save_as(then)
            elif answer == "read":
                self.reload()

        self._push(Choose(str(error), tuple(choices), "stay"), chosen)

    # -- leaving ------------------------------------------------------------------------------

    def _unless_dirty(self, go: Callable[[], object]) -> None:
        if not self.session.dirty:
            go()
            return
        choices = (("stay", "stay here"), ("save", "save first"), ("drop", "drop the edits"))

        def chosen(answer: str | None) -> None:
            if answer == "save":
                self._save(None, then=go)
            elif answer == "drop":
                go()

        words = f"{self.session.name} has edits that are not saved."
        self._push(Choose(words, choices, "save"), chosen)

    def leave(self) -> None:
        """Quit; unsaved edits are asked about."""
        if not isinstance(self._screen.app.screen, Choose):
            self._unless_dirty(self._quit)

    def _quit(self) -> None:
        self.keeper.unwatch(self.session)
        self._screen.app.exit(0)

    def _push(
        self, dialog: AskPath | Choose, answer: Callable[[str | None], object]
    ) -> None:
        def told(value: str | None) -> None:
            answer(value)

        self._screen.app.push_screen(dialog, told)
