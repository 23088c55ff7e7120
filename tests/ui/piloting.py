"""The app under a pilot: scenarios of its own, waiting without sleeping, the screen as text."""

from __future__ import annotations

import asyncio
import shutil
import time
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from pathlib import Path

from textual import events
from textual.pilot import Pilot
from textual.widgets import Input, OptionList

from tui.app import SoakboxApp
from tui.messages import EditMade
from tui.session import Session
from tui.widgets.inputs import InputsPane
from tui.widgets.words import Words

SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
NARROW, WIDE = (80, 24), (140, 45)
NAMED = {" ": "space", "/": "slash", ".": "full_stop", "C": "C", "?": "question_mark"}
CHARACTERS = {"space": " ", "slash": "/", "question_mark": "?", "left_square_bracket": "[",
              "right_square_bracket": "]"}
PATIENCE = 90.0
"""Longest that a test waits for what it expects [s]; a busy machine may need long."""

ROUNDS = 3
"""Times that all widgets are waited for: key, widget's message, what it changes elsewhere."""

class Driven:
    """An app with its pilot, and shorthands for what tests do."""

    def __init__(self, app: SoakboxApp, pilot: Pilot[int]) -> None:
        self.app, self.pilot = app, pilot

    async def calm(self) -> None:
        """Let all widgets deal with what they were told, and paint; so often that all is done.

        It waits for messages, not for a time: a busy machine makes it slow and not wrong.
        """
        for _ in range(ROUNDS):
            await self.pilot.pause(0.0)

    async def until(self, met: Callable[[], bool], what: str = "") -> None:
        """Let the app work until a condition is met."""
        end = time.perf_counter() + PATIENCE
        while not met():
            assert time.perf_counter() < end, f"{what}\n{self.text()}"
            await self.pilot.pause(0.01)
        await self.calm()

    async def tells_of(self, path: Path) -> None:
        """Wait until a path is on the screen, wherever it was parted to fit the lines."""
        await self.until(
            lambda: "".join(str(path).split()) in "".join(self.text().split()), f"{path} not shown"
        )

    async def shows(self, *words: str) -> None:
        """Wait until all the words are on the screen."""
        await self.until(
            lambda: all(w in " ".join(self.text().split()) for w in words), f"{words} not shown"
        )

    async def solved(self) -> None:
        """Wait until the result of the present inputs is shown."""
        main = self.app.main
        await self.until(
            lambda: main.result is not None and main.solved_for is main.desk.session.scenario
        )

    async def press(self, *keys: str) -> None:
        """Press keys one after the other, as a terminal sends them."""
        for key in keys:
            name = NAMED.get(key, key)
            character = key if len(key) == 1 else CHARACTERS.get(key)
            self.app.post_message(events.Key(name, character))
        await self.calm()
        await self.until(lambda: self.app._keys.idle or self.app._exit)

    async def type(self, text: str) -> None:
        """Type text into the box that has the cursor."""
        box = self.app.screen.focused
        assert isinstance(box, Input), box
        box.value = text
        await self.calm()

    async def edit(self, key: str, text: str) -> None:
        """Commit a text for an input and wait for the result."""
        self.app.main.post_message(EditMade(key, text))
        await self.pilot.pause(0.0)
        await self.solved()

    async def choose(self, words: str) -> None:
        """Choose a line of the dialog by its words."""
        table = self.app.screen.query_one(OptionList)
        prompts = [str(o.prompt) for o in table.options]
        table.highlighted = prompts.index(words)
        await self.press("enter")

    async def go_to(self, key: str) -> None:
        """Put the cursor on an input."""
        self.app.main.go_to(key)
        await self.until(lambda: self.cursor == key)

    @property
    def session(self) -> Session:
        return self.app.main.desk.session

    @property
    def cursor(self) -> str:
        """Key of the input under the cursor."""
        row = self.app.main.query_one(InputsPane).chosen
        return "" if row is None else row.key

    @property
    def moment(self) -> float:
        """The moment [s]."""
        result = self.app.main.result
        assert result is not None
        return float(result.history.time[self.app.main.row])

    def words(self, name: str) -> str:
        """Text of one of the main screen's text widgets."""
        return self.app.main.query_one(f"#{name}", Words).text

    def text(self) -> str:
        """The screen as lines."""
        return screen_text(self.app)


def screen_text(app: SoakboxApp) -> str:
    """Return what is on the screen as lines without trailing spaces."""
    update = app.screen._compositor.render_full_update()
    rows = ("".join(segment.text for strip in strips for segment in strip)
            for strips in update.strips)
    return "\n".join(row.rstrip() for row in rows)


@asynccontextmanager
async def driving(
    path: Path | Session,
    size: tuple[int, int] = NARROW,
    *,
    first_start: bool = False,
    ascii_only: bool = False,
    solved: bool = True,
) -> AsyncIterator[Driven]:
    """Run the app on a scenario until the block ends."""
    session = path if isinstance(path, Session) else Session.open(path)
    app = SoakboxApp(session, first_start=first_start, ascii_only=ascii_only)
    async with app.run_test(size=size) as pilot:
        driven = Driven(app, pilot)
        if solved:
            await driven.solved()
        yield driven


def run(test: Callable[[], Awaitable[None]]) -> None:
    """Run an asynchronous test."""

    async def whole() -> None:
        await test()

    asyncio.run(whole())


def copy_of(name: str, folder: Path) -> Path:
    """Return a copy of a shipped scenario that may be written to."""
    target = folder / f"{name}.toml"
    shutil.copy(SCENARIOS / f"{name}.toml", target)
    return target
