"""The build sheet in a report, and sizes drawn against each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

from thermo.scenario import Scenario
from thermo.units import System
from tui.report.document import Band, Block, Paragraph, Section, Table
from tui.report.event_parts import sentence
from tui.report.plots import size_figures
from tui.text_sizes import holds_words, kept_words, size_words
from tui.wording import amount, localised

if TYPE_CHECKING:
    from thermo.answers import Answer, Sheet

GROUPS = {"cooling": "Cooling", "day": "The day", "intake": "Intake"}


def _words(answer: Answer, system: System) -> str:
    """Return what binds a size, what else there is to say, and how to set it, a line each."""
    lines = [f"bound by {answer.binding}"] if answer.binding else []
    lines += [localised(answer.note, system)] if answer.note else []
    holds = holds_words(answer, system)
    lines = [sentence(line) for line in ([*lines, holds] if holds else lines)]
    if answer.value != answer.now:
        lines += [f'--set {s.key}="{s.text(system)}"' for s in answer.put]
    return "\n".join(lines)


def sheet_section(sheet: Sheet, scenario: Scenario, system: System) -> Section:
    """Return every size with the limit that binds it, and drawings of two of them.

    Parameters
    ----------
    sheet : Sheet
        From :func:`thermo.sizing.build_sheet`.
    scenario : Scenario
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    rows: list[Band | tuple[str, ...]] = []
    for group, title in GROUPS.items():
        inside = [a for a in sheet.answers if a.group == group]
        if inside:
            rows.append(Band(title))
        for a in inside:
            size = size_words(a, system)
            now = "" if a.now is None else amount(a.now, a.kind, system, 4)
            rows.append((a.title, size, now, _words(a, system)))
    blocks: list[Block] = [
        *(Paragraph(words) for words in kept_words(sheet, system)),
        Table(("size", "found", "now", "what binds it, and how to set it"), tuple(rows),
              (26.0, 14.0, 12.0, 48.0), figures=frozenset({1, 2}), bold=frozenset({1})),
        *size_figures(scenario, system),
    ]
    return Section("sizes", "Build sheet", tuple(blocks))
