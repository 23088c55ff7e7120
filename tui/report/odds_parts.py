"""What many variants of the scenario give to a report: the hot-weather table, and doubt."""

from __future__ import annotations

import math

from thermo.doubt import FIGURES, Doubt, assess
from thermo.errors import ScenarioError
from thermo.scenario import Scenario
from thermo.units import System, format_number
from thermo.weather import (
    DEFAULT_AIRS,
    DEFAULT_TANKS,
    WeatherTable,
    air_axis,
    tank_axis,
    weather_table,
)
from tui import text_weather as told
from tui.report.document import Block, Bullets, Paragraph, Section, Table
from tui.text_doubt import METHOD, chance_words
from tui.wording import amount, localised

SAMPLES = 512
"""Samples for a report; ``soakbox doubt`` takes more."""

DRIVERS = 3
"""Drivers told of each limit."""


def weather_section(scenario: Scenario, system: System) -> Section:
    """Return the hot-weather table by air and tank start, and the hottest air of each limit.

    Parameters
    ----------
    scenario : Scenario
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    table = weather_table(
        scenario, airs=air_axis(DEFAULT_AIRS[system]), columns=tank_axis(DEFAULT_TANKS[system])
    )
    column = told.column_title(table, system)
    blocks: list[Block] = [
        Paragraph(told.planned_text(table, system)),
        Paragraph(f"Rows: air, {told.degree(system)}. Columns: {column}."),
        _days(table, system),
        *(Paragraph(words) for words in told.reasons(table, system)),
        *_hottest(table, system),
        Paragraph("How to read it", "lead"),
        Bullets(tuple(told.steps_text(table))),
        Paragraph("Taken for granted in it", "lead"),
        Bullets(tuple(localised(words, system) for words in table.assumed)),
    ]
    return Section("weather", "Hot-weather table", tuple(blocks))


def _days(table: WeatherTable, system: System) -> Table:
    heads = [told.column_text(table, v, system) for v in table.columns.values]
    rows = tuple(
        (
            told.air_text(air, system),
            *("\n".join(told.cell_lines(cell, system)) for cell in cells),
        )
        for air, cells in zip(table.airs.values, table.cells, strict=True)
    )
    wide = 90.0 / max(len(heads), 1)
    return Table(("air", *heads), rows, (10.0, *[wide] * len(heads)), bold=frozenset({0}))


def _hottest(table: WeatherTable, system: System) -> list[Block]:
    limits = told.limits_told(table)
    if not limits:
        return []
    low, high = (told.air_text(x, system) for x in table.scanned)
    heads = [told.column_text(table, v, system) for v in table.columns.values]
    rows = tuple(
        (
            told.survival_name(s),
            *(told.reach_text(r, system) for r in (s.reaches[-1], *s.reaches[:-1])),
        )
        for s in limits
    )
    wide = 60.0 / max(len(heads), 1)
    missing = tuple(
        f"{words}." for words in (told.missing_text(table, s, system) for s in limits) if words
    )
    return [
        Paragraph(f"Hottest air that each limit survives, {told.degree(system)}", "lead"),
        Paragraph(
            f"Looked for from {low} to {high}. 'With air': the tank starts "
            f"{told.with_air_text(table, system)}, as planned; then by tank start. "
            f"{told.marks_text(table, system)}"
        ),
        Table(("limit", "with air", *heads), rows, (27.0, 13.0, *[wide] * len(heads)),
              figures=frozenset(range(1, len(heads) + 2))),
        *([Bullets(missing)] if missing else []),
        Paragraph(" ".join(told.limits_open(table))),
    ]


def doubt_section(scenario: Scenario, system: System) -> Section:
    """Return the chance of crossing each limit, what drives it, and what was in doubt.

    Parameters
    ----------
    scenario : Scenario
    system : {'si', 'us'}

    Returns
    -------
    Section
        Words alone where no input is in doubt.
    """
    title = "How sure it is"
    try:
        found = assess(scenario, samples=SAMPLES, workers=1)
    except ScenarioError as error:
        return Section("doubt", title, (Paragraph(f"Not told: {error}."),))
    failed = "every one has a verdict"
    if found.failed:
        failed = f"{found.failed} have no verdict, and chances are given with them for and against"
    count = sum(r.shape != "exact" for r in found.ranges)
    blocks: list[Block] = [
        Paragraph(f"Chance of a danger: {chance_words(found.any_danger)}", "lead"),
        Paragraph(
            f"Chance of a caution or worse: {chance_words(found.any_caution)}. As planned: "
            f"{found.planned.verdict}. In brackets the interval that holds 95 %. "
            f"{found.samples} samples of {count} inputs in doubt; {failed}. 'soakbox doubt' takes "
            "more samples and tells narrower intervals."
        ),
        *_chances(found),
        _spreads(found, system),
        Paragraph("Inputs in doubt, and what their ranges rest on", "lead"),
        _ranges(found, system),
        *([Bullets(tuple(localised(n, system) for n in found.notes))] if found.notes else []),
        Paragraph(METHOD.format(replicates=found.replicates, seed=found.seed), "small"),
    ]
    return Section("doubt", title, tuple(blocks))


def _chances(found: Doubt) -> list[Block]:
    unsure = [x for x in found.limits if not (x.danger.certain and x.caution.certain)]
    rows = tuple(
        (
            limit.name,
            chance_words(limit.danger),
            chance_words(limit.caution),
            ", ".join(f"{d.key} {d.correlation:+.2f}" for d in limit.drivers[:DRIVERS]),
        )
        for limit in sorted(unsure, key=lambda x: (-x.danger.most, -x.caution.most))
    )
    blocks: list[Block] = []
    if rows:
        blocks.append(
            Table(("limit", "danger", "caution or worse", "driven by (+ more is nearer it)"), rows,
                  (16.0, 23.0, 23.0, 38.0))
        )
    certain = (
        ("A danger in every sample", [x for x in found.limits if x.danger.least == 1.0]),
        ("A caution in every sample", [
            x for x in found.limits
            if x.danger.certain and x.danger.least < 1.0 and x.caution.least == 1.0
        ]),
        ("Clear in every sample", [x for x in found.limits if x.caution.most == 0.0]),
    )
    said = tuple(f"{words}: {', '.join(x.name for x in some)}." for words, some in certain if some)
    return [*blocks, *([Bullets(said)] if said else [])]


def _spreads(found: Doubt, system: System) -> Table:
    rows = []
    for spread in found.spreads:
        label, kind, offset = FIGURES[spread.name]
        cells = [
            "none" if math.isnan(v) else amount(v + offset, kind, system)
            for v in (*spread.values, spread.planned)
        ]
        rows.append((label, *cells))
    return Table(("figure", "5 % are below", "half are below", "95 % are below", "as planned"),
                 tuple(rows), (30.0, 17.0, 17.0, 17.0, 19.0), figures=frozenset(range(1, 5)))


def _ranges(found: Doubt, system: System) -> Table:
    def shown(value: float, kind: str) -> str:
        if math.isnan(value):
            return "none"
        return format_number(value, 4) if kind == "number" else amount(value, kind, system)

    rows = tuple(
        (
            r.key,
            shown(r.value, r.kind),
            "exact" if r.shape == "exact"
            else f"{shown(r.low, r.kind)} to {shown(r.high, r.kind)}",
            "from [doubt]" if r.source == "[doubt]" else localised(r.source, system),
        )
        for r in found.ranges
    )
    return Table(("input", "as planned", "range", "rests on"), rows, (30.0, 16.0, 26.0, 28.0))
