"""The hot-weather table of the open scenario, with ranges that can be changed, and its page."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

import click
from textual.binding import Binding, BindingType

from thermo.axes import Axis
from thermo.scenario import Scenario
from thermo.units import System
from thermo.weather import (
    DEFAULT_AIRS,
    DEFAULT_TANKS,
    WeatherTable,
    air_axis,
    queue_axis,
    tank_axis,
    weather_table,
)
from tui.completion import typed_path
from tui.options import out_path, write_file
from tui.page_weather import ENDINGS, weather_page
from tui.screens.background import Job, View, WorkPage
from tui.screens.dialogs import AskText
from tui.text_weather import weather_text

QUEUE = "queue "
"""Begins the columns' range where they are times in the queue."""


def columns_of(scenario: Scenario, text: str, system: System) -> Axis:
    """Read the columns: tank temperatures, or times with ``queue`` before them.

    Parameters
    ----------
    scenario : Scenario
    text : str
        Such as ``15degC:35degC:5`` or ``queue 0min:40min:10``; the usual ones when empty.
    system : {'si', 'us'}

    Returns
    -------
    Axis

    Raises
    ------
    ScenarioError
        It cannot be read, or there is no queue.
    """
    if text.startswith(QUEUE):
        return queue_axis(scenario, text.removeprefix(QUEUE).strip(), "columns")
    return tank_axis(text or DEFAULT_TANKS[system], "columns")


class WeatherPage(WorkPage):
    """Verdict by air temperature and tank start, or time in the queue.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    path : pathlib.Path or None
        The scenario's file, which no page is written over.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("a", "ask_airs", "Air temperatures"),
        Binding("c", "ask_columns", "Columns"),
        Binding("o", "ask_file", "Write the page"),
    ]

    def __init__(self, view: Callable[[], View | None], path: Path | None) -> None:
        super().__init__(
            view,
            "Solving the days of the hot-weather table",
            "There is no table.",
            "a air  c columns  o write",
        )
        self._path = path
        self._airs = self._columns = ""
        self._table: WeatherTable | None = None

    def work(self, view: View, job: Job) -> str:
        """Return the table."""
        self._table = None
        table = weather_table(
            view.scenario,
            airs=air_axis(self._airs or DEFAULT_AIRS[view.system], "air"),
            columns=columns_of(view.scenario, self._columns, view.system),
            progress=job.progress,
            cancelled=job.stopped,
        )
        self._table = table
        return weather_text(table, view.system)

    def action_ask_airs(self) -> None:
        """Ask for the air temperatures of the rows."""

        def answered(text: str | None) -> None:
            if text is not None:
                self._airs = text
                self.begin()

        shown = self._airs or DEFAULT_AIRS[self.system]
        self.app.push_screen(AskText("Air temperatures, lowest:highest:step", shown), answered)

    def action_ask_columns(self) -> None:
        """Ask for the tank temperatures, or the times in the queue, of the columns."""

        def answered(text: str | None) -> None:
            if text is not None:
                self._columns = text
                self.begin()

        shown = self._columns or DEFAULT_TANKS[self.system]
        words = (
            "Columns, lowest:highest:step. Tank start, such as 15degC:35degC:5; or time in the "
            "queue before the pass, such as queue 0min:40min:10"
        )
        self.app.push_screen(AskText(words, shown), answered)

    def action_ask_file(self) -> None:
        """Ask for a file and write the table to it."""
        if self._table is not None and self.state == "done":
            words = f"Write the table as {', '.join(ENDINGS)}; .html is the page to print"
            self.app.push_screen(AskText(words, "weather.html"), self._write)

    def _write(self, name: str | None) -> None:
        if name is None or self._table is None:
            return
        target = typed_path(name)
        try:
            out_path(target, self._path or Path(), "the page", ENDINGS)
            write_file(target, weather_page(self._table, target.suffix.lower(), self.system))
        except click.ClickException as error:
            self.say(f"XX not written: {error.message}")
        else:
            self.say(f"written: {target.resolve()}")
