"""What tests of the screen share: terminals that are closed at the end."""

from __future__ import annotations

import pytest


@pytest.fixture
def open_terminal(tmp_path):
    """Return what starts the command in a pseudo-terminal; each is closed at the end."""
    from tests.ui.terminal import Terminal  # which other systems and installations lack

    opened = []

    def start(*arguments, **options):
        terminal = Terminal(*map(str, arguments), state=tmp_path / "state", **options)
        opened.append(terminal)
        return terminal

    yield start
    for terminal in opened:
        terminal.kill()
