"""A report on the open scenario, written in the background."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import click

from thermo.event import solve_whole
from thermo.scenario_io import from_text
from thermo.variant_figures import StoppedError
from tui.completion import typed_path
from tui.screens.background import Job, View, WorkPage


class ReportPage(WorkPage):
    """Writes a report, and says where it is and what is in it.

    Parameters
    ----------
    view : callable
        Returns what the report is about now.
    text : callable
        Returns the scenario's text as it would be saved.
    path : pathlib.Path or None
        The scenario's file, which no report is written over.
    out : pathlib.Path
        Where the report goes.
    """

    def __init__(
        self,
        view: Callable[[], View | None],
        text: Callable[[], str],
        path: Path | None,
        out: Path,
    ) -> None:
        super().__init__(view, "Writing the report", "There is no report.")
        self._text_of, self._path, self._out = text, path, typed_path(str(out))

    def work(self, view: View, job: Job) -> str:
        """Write the report."""
        from tui.options import out_path
        from tui.report.build import report_of
        from tui.report.writers import ENDINGS, write

        scenario = self._path or Path()

        def told(done: int, of: int) -> None:
            if job.stopped():
                raise StoppedError("the report is not wanted any more")
            job.progress(done, of)

        try:
            out_path(self._out, scenario, "the report", ENDINGS)
            loaded = from_text(self._text_of(), view.name, path=self._path)
            report = report_of(
                loaded, solve_whole(loaded.scenario), view.system, progress=told
            )
            written = write(report, self._out, scenario)
        except click.ClickException as error:
            return f"{self._failing}\n\nXX not written: {error.message}"
        held = ", ".join(section.title for section in report.sections)
        return f"Written: {written[0]}\n\nIn it: {held}."
