"""Keys one after the other: each has had its effect before the next is looked at.

A key's effect passes through the queues of several widgets; what is typed on quickly, or comes
in one burst from a slow line, would otherwise still go to the widget that is about to be left.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING

from textual import events
from textual.message_pump import MessagePump

if TYPE_CHECKING:
    from textual.app import App

ROUNDS = 4
"""Times the queues are gone through: key, widget's message, pane's message, change of focus."""

LONGEST = 0.25
"""Wait after which the next key is taken in any case, as where a widget was taken away [s]."""


class KeyQueue:
    """Holds keys back until the one before them has been dealt with.

    Parameters
    ----------
    app : App
    deliver : callable
        Deals with a key; awaited in the app's own task.
    """

    def __init__(self, app: App[int], deliver: Callable[[events.Key], Awaitable[None]]) -> None:
        self._app = app
        self._deliver = deliver
        self._waiting: deque[events.Key] = deque()
        self._turn = 0
        self._busy = False

    @property
    def idle(self) -> bool:
        """Whether every key has been dealt with."""
        return not self._busy and not self._waiting

    async def take(self, event: events.Key) -> None:
        """Deal with a key now, or once it is its turn."""
        if self._busy:
            self._waiting.append(event)
        else:
            await self._go(event)

    async def _go(self, event: events.Key) -> None:
        self._busy = True
        self._turn += 1
        turn = self._turn
        await self._deliver(event)
        self._app.set_timer(LONGEST, lambda: self._next(turn))
        self._round(turn, ROUNDS)

    def _round(self, turn: int, left: int) -> None:
        """Go through the queues from the focused widget up to the app, once more or to an end."""
        if turn != self._turn or not self._app.is_running:
            return
        if left == 0:
            self._app.call_later(self._next, turn)
            return
        screen = self._app.screen
        focused = screen.focused or screen
        self._hop(turn, left, [*focused.ancestors_with_self, self._app], 0)

    def _hop(self, turn: int, left: int, path: list[MessagePump], at: int) -> None:
        """Wait until a queue has come this far, then go on with the next one."""
        while at < len(path):
            if path[at].call_later(self._hop, turn, left, path, at + 1):
                return
            at += 1
        self._round(turn, left - 1)

    async def _next(self, turn: int) -> None:
        if turn != self._turn:
            return
        self._turn += 1
        self._busy = False
        if self._waiting:
            await self._go(self._waiting.popleft())
