"""Any two inputs against any result, with the limit as a line, and its picture for paper."""

from __future__ import annotations

import json
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import ClassVar

import click
from textual.binding import Binding, BindingType

from thermo.axes import spaced
from thermo.drawing import field_picture
from thermo.errors import SoakboxError
from thermo.map_results import known_results, shown_of
from thermo.maps import Map, map_of, rows_of, to_json
from thermo.scenario import Scenario
from thermo.units import System, format_value
from tui.completion import typed_path
from tui.options import csv_text, out_path, write_file
from tui.screens.background import Job, View, WorkPage
from tui.screens.dialogs import AskText
from tui.text_map import map_field, map_text

PICTURES = (".svg", ".png", ".pdf")
ENDINGS = (".csv", ".json", *PICTURES)
AIRS = {"si": "20 degC:45 degC:11", "us": "70 degF:110 degF:9"}
TANKS = (0.6, 1.6, 11)
"""Ends of the usual axis of tank volumes, as shares of the volume as it is, and how many."""


def usual_axes(scenario: Scenario, system: System) -> tuple[str, str]:
    """Return the axes taken when none are given: tank volumes around the present one, and air.

    Parameters
    ----------
    scenario : Scenario
    system : {'si', 'us'}

    Returns
    -------
    tuple of (str, str)
        As :func:`thermo.axes.spaced` reads them.
    """
    low, high, count = TANKS
    ends = (format_value(k * scenario.tank.volume, "volume", system, 3) for k in (low, high))
    return f"tank.volume={':'.join(ends)}:{count}", f"site.air_temperature={AIRS[system]}"


class NotWrittenError(SoakboxError):
    """A file could not be written."""


class MapPage(WorkPage):
    """A map.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    path : pathlib.Path or None
        The scenario's file, which no picture is written over.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("x", "ask('x')", "Input across"),
        Binding("y", "ask('y')", "Input down"),
        Binding("v", "ask('shown')", "Result shown"),
        Binding("o", "ask_file", "Write the map"),
    ]

    def __init__(self, view: Callable[[], View | None], path: Path | None) -> None:
        super().__init__(
            view, "Solving the map", "There is no map.", "x y axes  v result  o write"
        )
        self._path = path
        self._texts = {"x": "", "y": "", "shown": "boil_margin_K"}

    def _axes(self, view: View) -> tuple[str, str]:
        usual = usual_axes(view.scenario, view.system)
        return self._texts["x"] or usual[0], self._texts["y"] or usual[1]

    def _solved(self, view: View, outline: bool, job: Job) -> Map:
        x, y = self._axes(view)
        return map_of(
            view.scenario,
            spaced(view.scenario, x, "x"),
            spaced(view.scenario, y, "y"),
            shown_of(self._texts["shown"], "result"),
            outline=outline,
            workers=1,
            progress=job.progress,
            cancelled=job.stopped,
        )

    def work(self, view: View, job: Job) -> str:
        """Return the map as text."""
        return map_text(self._solved(view, False, job), view.system)

    def action_ask(self, what: str) -> None:
        """Ask for an axis, or for the result that is shown."""
        if self._of is None:
            return
        x, y = self._axes(self._of)
        asked = {
            "x": ("Input across, key=lowest:highest:how many", x, ()),
            "y": ("Input down, key=lowest:highest:how many", y, ()),
            "shown": ("Result that is shown", self._texts["shown"], known_results()),
        }

        def answered(text: str | None) -> None:
            if text is not None:
                self._texts[what] = text
                self.begin()

        self.app.push_screen(AskText(*asked[what]), answered)

    def action_ask_file(self) -> None:
        """Ask for a file and write the map to it."""
        if self.state == "done":
            words = f"Write the map as {', '.join(ENDINGS)}; .pdf and .svg are for paper"
            self.app.push_screen(AskText(words, "map.svg"), self._write)

    def _write(self, name: str | None) -> None:
        if name is not None and self._of is not None:
            target = typed_path(name)
            self.say(f"writing {target} ...")
            self.aside(partial(self._written, target, self._of))

    def _written(self, target: Path, view: View) -> str:
        """Write the map, solved with its outline where it is a picture; called in a thread."""
        kind = target.suffix.lower()
        try:
            out_path(target, self._path or Path(), "the map", ENDINGS)
            found = self._solved(view, kind in PICTURES, Job(lambda *_: None))
            content: str | bytes
            if kind in PICTURES:
                content = field_picture(map_field(found, view.system), kind[1:])
            elif kind == ".csv":
                content = csv_text(rows_of(found))
            else:
                content = json.dumps(to_json(found), indent=2, allow_nan=False) + "\n"
            write_file(target, content)
        except click.ClickException as error:
            raise NotWrittenError(f"not written: {error.message}") from None
        return f"written: {target.resolve()}"
