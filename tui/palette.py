"""What the command palette offers on the main screen."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import TYPE_CHECKING

from textual.app import SystemCommand

from tui.chartlist import NAMES
from tui.widgets.tabs import PANES

if TYPE_CHECKING:
    from tui.screens.main import MainScreen


def commands(screen: MainScreen) -> Iterator[SystemCommand]:
    """Yield every action by name, every pane and chart, and every input to jump to.

    Parameters
    ----------
    screen : MainScreen

    Yields
    ------
    SystemCommand
    """
    for words, hint, action in (
        ("Open", "another scenario", screen.action_open),
        ("New", "begin from the starter", screen.action_new),
        ("Save", "the scenario", screen.action_save),
        ("Save as", "under another name", screen.action_save_as),
        ("Read again", "the file, where it was changed outside", screen.action_reload),
        ("Undo", "the last change", screen.action_undo),
        ("Redo", "the change taken back", screen.action_redo),
        ("Put in", "a leg or a duct part, behind the one under the cursor", screen.action_insert),
        ("Double", "the leg or duct part under the cursor", screen.action_double),
        ("Take out", "the leg, part or table under the cursor", screen.action_remove),
        ("Filter inputs", "by words", screen.action_filter),
        ("Hazard in full", "or the working of the figure, under the cursor", screen.action_why),
        ("Sizes", "the build sheet", screen.action_sizes),
        ("Hot weather", "verdict by air and tank temperature", screen.action_weather),
        ("Doubt", "how sure the verdict is: odds of each limit", screen.action_doubt),
        ("Map", "two inputs against a result", screen.action_map),
        ("Fit a log", "a logger's CSV file on this scenario", screen.action_fit_log),
        ("Fit the notebook", "what the crew read before and after", screen.action_fit_notebook),
        ("Compare", "with other scenarios", screen.action_compare),
        ("Write a report", "all of it, to hand over", screen.action_write_report),
        ("Whole check", "every figure as text", screen.action_report),
        ("Units", "SI or US on the screen", screen.action_units),
    ):
        yield SystemCommand(words, hint, action)
    for number, (pane, title) in enumerate(PANES, start=1):
        yield SystemCommand(f"Pane {title}", f"key {number}", partial(screen.action_pane, pane))
    for number, name in enumerate(NAMES):
        yield SystemCommand(f"Chart {name}", "", partial(screen.show_chart, number))
    for row in screen.desk.session.rows:
        where = f"{row.group}, {row.section}" if row.section else row.group
        words = f"Go to {row.label}"
        yield SystemCommand(words, f"{where}: {row.key}", partial(screen.go_to, row.key))
