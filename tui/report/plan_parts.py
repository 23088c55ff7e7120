"""What the scenario gives to a report: every input, what was left at its default, what is taken."""

from __future__ import annotations

from thermo.assumptions import Assumption, Audit
from thermo.results import EventResult
from thermo.scenario_io import LoadedScenario
from thermo.units import System
from tui import fieldlist
from tui.fieldlist import Row
from tui.report.document import Band, Block, Bullets, Paragraph, Section, Table
from tui.report.event_parts import sentence
from tui.text_assumptions import left_words, source_words, value_words
from tui.toml_values import texts_of
from tui.wording import CAUTIONS, localised

DEFAULT = "default"


def plan_rows(loaded: LoadedScenario) -> tuple[Row, ...]:
    """Return every input of a scenario with its overrides, group by group."""
    document = loaded.document
    return fieldlist.rows(document.unwrap(), texts_of(document))


def _value(row: Row, system: System) -> str:
    """Return a value as typed; in the other system's units that system's figure comes first."""
    told = "none" if row.text == "[]" else fieldlist.shown(row, system)
    if told == "none":
        return told
    if row.given and told != row.text:
        return f"{told} (typed {row.text})"
    return told


def inputs_section(loaded: LoadedScenario, system: System) -> Section:
    """Return every input: as typed, or its default, which is marked.

    Parameters
    ----------
    loaded : LoadedScenario
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    rows: list[Band | tuple[str, ...]] = []
    group = section = ""
    for row in plan_rows(loaded):
        if row.kind == "table" or (not row.text and not row.given) or row.key == "schema":
            continue
        if (row.group, row.section) != (group, section):
            group, section = row.group, row.section
            rows.append(Band(f"{group}: {section}" if section else group))
        rows.append((row.label, _value(row, system), "" if row.given else DEFAULT, row.key))
    blocks: list[Block] = [
        Paragraph(
            "Values as typed in the file; those marked 'default' are not in it. Inputs that are "
            "neither typed nor have a default of their own are left out."
        )
    ]
    if loaded.overrides:
        blocks += [
            Paragraph("Put in place of what the file says:"),
            Bullets(tuple(f"--set {text}" for text in loaded.overrides)),
        ]
    blocks.append(
        Table(("input", "value", "", "key"), tuple(rows), (34.0, 28.0, 9.0, 29.0))
    )
    return Section("inputs", "Scenario: every input", tuple(blocks))


def taken_section(result: EventResult, audit: Audit, system: System) -> Section:
    """Return what is taken for granted: notes of the run, and defaults with source and range.

    Parameters
    ----------
    result : EventResult
    audit : Audit
        From :func:`thermo.assumptions.assumptions_of`.
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    blocks: list[Block] = []
    out = [f for f in result.flags if f.name == "range" and f.level != "clear"]
    if out:
        blocks += [
            Paragraph("Outside the range of what the figures rest on:", "lead"),
            Bullets(tuple(sentence(localised(f.why, system)) for f in out)),
        ]
    if result.notes:
        blocks.append(Bullets(tuple(sentence(localised(n, system)) for n in result.notes)))
    blocks.append(
        Paragraph(
            f"The file leaves {len(audit.assumptions)} defaults standing. What binds is "
            f"{audit.binding}: {left_words(audit.margin, audit.unit, system)} is left of its "
            "limit; below zero it is broken."
        )
    )
    varied = tuple(_varied(a, audit, system) for a in audit.assumptions if a.levels)
    if varied:
        blocks += [
            Paragraph("Guesses put to either end of their usual range, one at a time", "lead"),
            Table(("input", "taken", "usual range", "left at low end", "left at high end",
                   "rests on"),
                  varied, (22.0, 11.0, 17.0, 15.0, 15.0, 20.0)),
        ]
    others = tuple(
        (a.key, value_words(a, a.value, system), source_words(a.source, system), a.help)
        for a in audit.assumptions
        if not a.levels
    )
    if others:
        blocks += [
            Paragraph("Taken too, not varied", "lead"),
            Table(("input", "taken", "rests on", "what it is"), others,
                  (30.0, 14.0, 26.0, 30.0)),
        ]
    return Section("assumptions", "Assumptions and ranges", tuple(blocks))


def _varied(a: Assumption, audit: Audit, system: System) -> tuple[str, ...]:
    ends = [
        f"{left_words(value, audit.unit, system)} ({level})"
        for value, level in zip((a.at_low, a.at_high), a.levels, strict=True)
    ]
    span = f"{value_words(a, a.low, system)} to {value_words(a, a.high, system)}"
    return (a.key, value_words(a, a.value, system), span, *ends, source_words(a.source, system))


def cautions_section() -> Section:
    """Return what must be said with every figure."""
    return Section("cautions", "Cautions", (Paragraph(CAUTIONS, "caution"),))
