"""The states that an open scenario has gone through, to be undone and done again."""

from __future__ import annotations

from collections import deque

from tui.edits import Edit, State, edit_between

LIMIT = 300
"""Most steps that can be undone."""


class Steps:
    """The present state, and those before and after it.

    Parameters
    ----------
    state : State
        The first.

    Attributes
    ----------
    state : State
        The present one.
    """

    def __init__(self, state: State) -> None:
        self.state = state
        self._past: deque[tuple[State, Edit]] = deque(maxlen=LIMIT)
        self._future: list[tuple[State, Edit]] = []

    @property
    def can_undo(self) -> bool:
        """Whether there is a step to undo."""
        return bool(self._past)

    @property
    def can_redo(self) -> bool:
        """Whether there is an undone step to do again."""
        return bool(self._future)

    def go(self, state: State) -> Edit:
        """Go to a new state, keeping the one before; nothing happens when the text is the same.

        Parameters
        ----------
        state : State

        Returns
        -------
        Edit
            What changed.
        """
        if state.text == self.state.text:
            return Edit(())
        edit = edit_between(self.state, state)
        self._past.append((self.state, edit))
        self._future.clear()
        self.state = state
        return edit

    def undo(self) -> Edit | None:
        """Go back one step; return it, or None when there is none."""
        if not self._past:
            return None
        before, edit = self._past.pop()
        self._future.append((self.state, edit))
        self.state = before
        return edit

    def redo(self) -> Edit | None:
        """Do the step again that was undone last; return it, or None when there is none."""
        if not self._future:
            return None
        after, edit = self._future.pop()
        self._past.append((self.state, edit))
        self.state = after
        return edit
