"""The terminal UI's shell: it paints at once, and fills in when the scenario has been read.

Nothing that takes long to import is imported here: the engine and the screens that show it come
in on a thread, after the first paint.
"""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar

from textual import events, on, work
from textual.app import App, ComposeResult, SystemCommand
from textual.binding import Binding, BindingType
from textual.command import CommandPalette
from textual.screen import Screen
from textual.widgets import Static

from thermo.errors import SoakboxError
from tui.looks import LIGHT, ORDER, THEMES
from tui.messages import Opened
from tui.places import Settings, read_settings, write_settings
from tui.typeahead import KeyQueue

if TYPE_CHECKING:
    from tui.screens.main import MainScreen
    from tui.session import Session


TERMINAL_LOOKED_FOR = 2.0
"""How often it is looked whether the terminal is still there [s]."""


def end_without_terminal() -> None:
    """End at once when the terminal has gone and no signal said so, as one that is ignored.

    Reading on from a terminal that is gone keeps a core busy for ever. Unsaved edits are in the
    recovery file, as after the signal that a closed window sends.
    """
    if not sys.__stdin__ or not os.isatty(sys.__stdin__.fileno()):
        os._exit(1)


class SoakboxApp(App[int]):
    """Soakbox in a terminal.

    Parameters
    ----------
    session : Session, optional
        The open scenario; without one, `path` is read once the screen has been painted.
    path : pathlib.Path, optional
        Scenario to read; without one too, the last scenario or the demo.
    first_start : bool
        Whether to show the hints.
    ascii_only : bool
        Whether box and braille characters are to be avoided.

    Attributes
    ----------
    failure : SoakboxError or None
        Why there is nothing to show; the app has left then.
    """

    TITLE = "Soakbox"
    CSS_PATH = "app.tcss"
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("question_mark,f1", "help", "Help"),
        Binding("t", "next_theme", "Theme"),
        Binding("ctrl+q", "leave", "Quit", priority=True),
    ]

    def __init__(
        self,
        session: Session | None = None,
        *,
        path: Path | None = None,
        first_start: bool = False,
        ascii_only: bool = False,
    ) -> None:
        super().__init__()
        self.ascii_only = ascii_only
        self.failure: SoakboxError | None = None
        self.settings, self._settings_note = read_settings()
        self._main: MainScreen | None = None
        self._keys = KeyQueue(self, super().on_event)
        self._path = path
        self._given = None if session is None else (session, first_start)
        for theme in THEMES:
            self.register_theme(theme)

    @property
    def opened(self) -> bool:
        """Whether there is a scenario on the screen."""
        return self._main is not None

    @property
    def main(self) -> MainScreen:
        """The screen of the open scenario.

        Raises
        ------
        LookupError
            If none has been read yet.
        """
        if self._main is None:
            raise LookupError("no scenario has been read yet")
        return self._main

    def compose(self) -> ComposeResult:
        """Lay out what stands on the screen until the scenario has been read."""
        name = "the last scenario" if self._path is None else self._path.name
        yield Static(f"Soakbox   reading {name} ...", id="opening", markup=False)

    def on_mount(self) -> None:
        """Paint first, then work."""
        self.theme = self.settings.theme if self.settings.theme in ORDER else LIGHT
        self.set_class(self.ascii_only, "-ascii")
        if not self.is_headless:
            self.set_interval(TERMINAL_LOOKED_FOR, end_without_terminal)
        if self._given is not None:
            session, first_start = self._given
            from thermo.properties import tables_ready

            self._show(Opened(session, first_start, tables_ready()))
        else:
            self.call_after_refresh(self._read)

    @work(thread=True)
    def _read(self) -> None:
        """Import what shows a scenario, and read the first one."""
        from tui.desk import first_scenario
        from tui.screens.main import MainScreen

        del MainScreen  # imported here so that the screen is not held up by it later
        try:
            opened = first_scenario(self._path)
        except SoakboxError as error:
            self.failure = error
            self.call_from_thread(self.exit, 2)
            return
        self.post_message(opened)

    @on(Opened)
    def _show(self, message: Opened) -> None:
        from tui.screens.main import MainScreen

        message.note = message.note or self._settings_note
        self._main = MainScreen(message)
        self.push_screen(self._main)

    def settled(self) -> None:
        """Take note that the first result is on the screen.

        What is loaded by now stays for good: the collector of garbage need not go through it
        again and again, which would hold a key up by 60 ms every now and then.
        """
        if self._given is None:
            gc.freeze()

    async def on_event(self, event: events.Event) -> None:
        """Take keys one by one, and let the hints go with the first thing that is done."""
        if isinstance(event, events.Key | events.MouseDown) and self._main is not None:
            self._main.hush()
        if isinstance(event, events.Key) and not event.is_forwarded:
            await self._keys.take(event)
        else:
            await super().on_event(event)

    def action_command_palette(self) -> None:
        """Open the list of everything that can be done, by name."""
        if not isinstance(self.screen, CommandPalette):
            self.push_screen(CommandPalette(placeholder="words of a command or of an input"))

    def action_help(self) -> None:
        """Show the help page."""
        from tui.help import HELP
        from tui.screens.dialogs import Page

        self.push_screen(Page(HELP))

    def action_next_theme(self) -> None:
        """Go to the next theme: light, dark, sunlight."""
        self.theme = ORDER[(ORDER.index(self.theme) + 1) % len(ORDER)]
        self.keep(Settings(theme=self.theme, units=self.settings.units))
        if self._main is not None:
            self._main.refresh_look()

    def keep(self, settings: Settings) -> None:
        """Keep settings for the next start; where that cannot be done, say so."""
        self.settings = settings
        note = write_settings(settings)
        if note and self._main is not None:
            self._main.say(note)

    def action_leave(self) -> None:
        """Quit; unsaved edits are asked about."""
        if self._main is None:
            self.exit(0)
        else:
            self._main.desk.leave()

    def get_system_commands(self, screen: Screen[object]) -> Iterable[SystemCommand]:
        """Every action by name, and every input to jump to."""
        yield SystemCommand("Help", "what the screen shows and what keys do", self.action_help)
        yield SystemCommand("Theme", "light, dark, sunlight", self.action_next_theme)
        yield SystemCommand("Quit", "asks about unsaved edits", self.action_leave)
        if self._main is not None and screen is self._main:
            from tui.palette import commands

            yield from commands(self._main)
