"""A page whose text is worked out in the background: how far it is, stopping it, doing it anew."""

from __future__ import annotations

import contextlib
import threading
from abc import abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Literal, cast

from rich.text import Text
from textual import on
from textual.binding import Binding, BindingType
from textual.message import Message
from textual.widgets import Static

from thermo.errors import SoakboxError
from thermo.event import OvertakenError
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System
from tui.looks import bar
from tui.screens.dialogs import Page

if TYPE_CHECKING:
    from tui.app import SoakboxApp
    from tui.screens.main import MainScreen

READING = "Escape goes back, arrows scroll"
STATE = Literal["working", "done", "stopped"]


@dataclass(frozen=True, slots=True)
class View:
    """What a page is worked out from.

    Attributes
    ----------
    name : str
        Of the scenario.
    scenario : Scenario
    result : EventResult
        Of that scenario.
    system : {'si', 'us'}
    head : Text
        The verdict.
    """

    name: str
    scenario: Scenario
    result: EventResult
    system: System
    head: Text


class Job:
    """One piece of work: tells how far it is, and learns that it is not wanted any more.

    Parameters
    ----------
    tell : callable
        Is told how much is done, and of how much.
    """

    def __init__(self, tell: Callable[[Job, int, int], object]) -> None:
        self._tell = tell
        self._stopped = threading.Event()

    def stop(self) -> None:
        """Let the work end soon."""
        self._stopped.set()

    def stopped(self) -> bool:
        """Say whether the work is not wanted any more."""
        return self._stopped.is_set()

    def progress(self, done: int, of: int) -> None:
        """Tell how much is done, and of how much."""
        if not self.stopped():
            self._tell(self, done, of)


class WorkPage(Page):
    """A page that is worked out in a thread while the screen goes on.

    Escape stops the work; once nothing is being worked out it goes back. When the scenario, its
    result or the units change under the page, it is worked out anew.

    Parameters
    ----------
    view : callable
        Returns what the page is about now, or None while there is no result.
    waiting : str
        What is being done, such as ``Working out the sizes``.
    failing : str
        What an error means for the page, such as ``The sizes could not be found.``
    keys : str
        What keys do beside those of every page.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("ctrl+z", "of_main('undo')", "Undo", priority=True),
        Binding("ctrl+y", "of_main('redo')", "Redo", priority=True),
        Binding("r", "again", "Work out again"),
        Binding("u", "of_main('units')", "SI or US units"),
    ]

    class Told(Message):
        """How far a piece of work is."""

        def __init__(self, job: Job, done: int, of: int) -> None:
            super().__init__()
            self.job, self.done, self.of = job, done, of

    class Found(Message):
        """A piece of work has ended with a text."""

        def __init__(self, job: Job, text: str) -> None:
            super().__init__()
            self.job, self.text = job, text

    class Said(Message):
        """Something beside the page has come to an end."""

        def __init__(self, words: str) -> None:
            super().__init__()
            self.words = words

    def __init__(
        self, view: Callable[[], View | None], waiting: str, failing: str, keys: str = ""
    ) -> None:
        self._view, self._waiting, self._failing, self._more = view, waiting, failing, keys
        self._of: View | None = view()
        self._job: Job | None = None
        self.state: STATE = "stopped"
        super().__init__(f"{waiting} ...", Text() if self._of is None else self._of.head)

    @property
    def main(self) -> MainScreen:
        """The screen of the open scenario."""
        return cast("SoakboxApp", self.app).main

    @abstractmethod
    def work(self, view: View, job: Job) -> str:
        """Return the page's text; called in a thread of its own.

        Parameters
        ----------
        view : View
        job : Job
            To be told how far it is, and to be asked whether to stop.

        Returns
        -------
        str

        Raises
        ------
        SoakboxError
            If there is no such text; the page then says why.
        """

    def on_mount(self) -> None:
        """Begin."""
        self.begin()

    def on_unmount(self) -> None:
        """Leave no thread at work."""
        self._give_up()

    def _post(self, message: Message) -> None:
        """Post a message from a thread; the page, or the app, may have gone meanwhile."""
        with contextlib.suppress(RuntimeError):  # textual has no app to hand it to any more
            self.post_message(message)

    def _give_up(self) -> None:
        if self._job is not None:
            self._job.stop()
            self._job = None

    @property
    def system(self) -> System:
        """Units of the page."""
        return "si" if self._of is None else self._of.system

    def aside(self, work: Callable[[], str]) -> None:
        """Do something in a thread beside the page, and say what came of it.

        Parameters
        ----------
        work : callable
            Returns the words; it may raise a SoakboxError.
        """

        def carry_out() -> None:
            try:
                words = work()
            except SoakboxError as error:
                words = f"XX {error}"
            self._post(self.Said(words))

        threading.Thread(target=carry_out, name="aside", daemon=True).start()

    @on(Said)
    def _tell_said(self, message: Said) -> None:
        self.say(message.words)

    def say(self, words: str) -> None:
        """Say something at the foot until the page is worked out again."""
        self._put_keys(words)

    def begin(self) -> None:
        """Work the page out, in place of what is being worked out."""
        self._give_up()
        self._of = self._view()
        if self._of is None:
            self._end("stopped", "There is no result to work from.")
            return
        for head in self.query("#head").results(Static):
            head.update(self._of.head)
        self.state = "working"
        self._job = Job(lambda job, done, of: self._post(self.Told(job, done, of)))
        self._put_keys("Escape stops it")
        self.tell(f"{self._waiting} ...")
        threading.Thread(
            target=self._carry_out, args=(self._of, self._job), name="page", daemon=True
        ).start()

    def _carry_out(self, view: View, job: Job) -> None:
        from thermo.variant_figures import StoppedError

        try:
            text = self.work(view, job)
        except (StoppedError, OvertakenError):
            return
        except SoakboxError as error:
            text = f"{self._failing}\n\n{error}"
        except (ArithmeticError, ValueError, LookupError, TypeError) as error:
            fault = f"{type(error).__name__}: {error}"
            text = f"{self._failing}\n\nA fault in Soakbox itself: {fault}"
        self._post(self.Found(job, text))

    def renew(self) -> None:
        """Work the page out anew if what it is about has changed."""
        now, of = self._view(), self._of
        if now is None or of is None or now.result is not of.result or now.system != of.system:
            self.begin()

    @on(Told)
    def _tell_progress(self, message: Told) -> None:
        if message.job is self._job:
            counted = f"{message.done} of {message.of}"
            self.tell(f"{self._waiting} ...\n{bar(message.done, message.of)}  {counted}")

    @on(Found)
    def _take(self, message: Found) -> None:
        if message.job is self._job:
            self._job = None
            self._end("done", message.text)

    def _end(self, state: STATE, text: str) -> None:
        self.state = state
        self._put_keys("   ".join(words for words in (READING, self._more) if words))
        self.tell(text)

    def _put_keys(self, words: str) -> None:
        self._keys = words
        self._tell_place()

    def action_leave(self) -> None:
        """Stop the work, or go back when nothing is being worked out."""
        if self.state == "working":
            self._give_up()
            self._end("stopped", "Stopped. r works it out, Escape goes back.")
        else:
            self.dismiss(None)

    def action_again(self) -> None:
        """Work the page out again after it was stopped."""
        if self.state == "stopped":
            self.begin()

    def put(self, message: Message) -> None:
        """Give a message to the main screen."""
        self.main.post_message(message)

    async def action_of_main(self, name: str) -> None:
        """Do what a key does on the main screen: what it changes, the page follows."""
        await self.main.run_action(name)
