"""The report as a whole: which sections there are, in which order, and what each is made from."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from thermo import __version__
from thermo.assumptions import assumptions_of
from thermo.digest import digest_of
from thermo.event import Whole
from thermo.quantity_text import printable
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.scenario_io import LoadedScenario
from thermo.sizing import build_sheet
from thermo.stock import STOCK
from thermo.units import System
from thermo.workings.bench import Bench
from tui.report.document import Paragraph, Report, Section, printed
from tui.report.event_parts import (
    figures_section,
    hazard_section,
    side_figure,
    verdict_card,
)
from tui.report.odds_parts import doubt_section, weather_section
from tui.report.plan_parts import cautions_section, inputs_section, taken_section
from tui.report.plots import event_figures
from tui.report.size_parts import sheet_section
from tui.report.working_parts import working_section
from tui.wording import CAUTIONS

MOST = 1000
"""Most characters of a text from the file; the file's own limits are below that."""


@dataclass(frozen=True, slots=True)
class Made:
    """What sections are made from.

    Attributes
    ----------
    loaded : LoadedScenario
    whole : Whole
        The event solved for that scenario.
    system : {'si', 'us'}
    """

    loaded: LoadedScenario
    whole: Whole
    system: System

    @property
    def scenario(self) -> Scenario:
        """The scenario."""
        return self.loaded.scenario

    @property
    def result(self) -> EventResult:
        """The solved event."""
        return self.whole.result


def _plots(made: Made) -> Section:
    figures = tuple(event_figures(made.result, made.scenario, made.system))
    return Section("plots", "Over time, and along the duct", figures)


def _sizes(made: Made) -> Section:
    sheet = build_sheet(made.scenario, made.result, STOCK)
    return sheet_section(sheet, made.scenario, made.system)


SECTIONS: dict[str, Callable[[Made], Section]] = {
    "hazards": lambda m: hazard_section(m.result, m.system),
    "figures": lambda m: figures_section(m.result, m.system),
    "plots": _plots,
    "sizes": _sizes,
    "weather": lambda m: weather_section(m.scenario, m.system),
    "doubt": lambda m: doubt_section(m.scenario, m.system),
    "working": lambda m: working_section(Bench(m.whole), m.system),
    "assumptions": lambda m: taken_section(
        m.result, assumptions_of(m.scenario, m.result), m.system
    ),
    "inputs": lambda m: inputs_section(m.loaded, m.system),
    "cautions": lambda _: cautions_section(),
}
"""What makes each section, in their order."""

KEPT = ("hazards", "cautions")
"""Sections that no report goes without."""

OPTIONAL = tuple(name for name in SECTIONS if name not in KEPT)


def report_of(
    loaded: LoadedScenario,
    whole: Whole,
    system: System = "si",
    *,
    without: frozenset[str] = frozenset(),
    day: datetime.date | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Report:
    """Make the report on a scenario.

    Parameters
    ----------
    loaded : LoadedScenario
    whole : Whole
        The event solved for that scenario, by :func:`thermo.event.solve_whole`.
    system : {'si', 'us'}
    without : frozenset of str
        Sections to leave out, of `OPTIONAL`.
    day : datetime.date, optional
        What to date it; today when not given.
    progress : callable, optional
        Told how many sections are made, and of how many.

    Returns
    -------
    Report
    """
    made, result = Made(loaded, whole, system), whole.result
    digest = digest_of(loaded.scenario)
    title = printable(result.title, MOST) or "Scenario"
    facts = [
        ("scenario", f"{digest} (of its content, overrides and defaults included)"),
        ("file", printable(loaded.path.name, MOST) if loaded.path else loaded.source),
        *([("overrides", "; ".join(loaded.overrides))] if loaded.overrides else []),
        ("made by", f"Soakbox {__version__}, {(day or datetime.date.today()).isoformat()}"),
    ]
    if loaded.scenario.shows:
        facts.append(("shows", printable(loaded.scenario.shows, MOST)))
    left_out = [name for name in SECTIONS if name in without and name not in KEPT]
    if left_out:
        facts.append(("left out", ", ".join(left_out)))
    return Report(
        title=title,
        facts=tuple(facts),
        foot=f"Soakbox {__version__}  scenario {digest}",
        opening=(
            printed(verdict_card(result, system)),
            Paragraph(CAUTIONS, "caution"),
            side_figure(result, loaded.scenario, system),
        ),
        sections=tuple(_made(made, left_out, progress)),
    )


def _made(
    made: Made, left_out: list[str], progress: Callable[[int, int], None] | None
) -> Iterator[Section]:
    wanted = [make for name, make in SECTIONS.items() if name not in left_out]
    for number, make in enumerate(wanted):
        if progress is not None:
            progress(number, len(wanted))
        section = make(made)
        typed = section.name == "inputs"
        yield section if typed else replace(section, blocks=tuple(map(printed, section.blocks)))
