"""How the main figures come about, in a report."""

from __future__ import annotations

import math
from collections.abc import Iterator

from thermo.units import System
from thermo.workings import book
from thermo.workings.bench import Bench
from thermo.workings.form import Step, Working, shown
from tui.report.document import Block, Code, Paragraph, Section
from tui.report.event_parts import sentence
from tui.text_working import IN_SI, conversions, estimate, figure_words, in_brackets
from tui.wording import localised

MAIN = (
    "cooling.boil_margin_K",
    "cooling.tank_peak_degC",
    "cooling.effectiveness_at_peak",
    "cooling.tank_pressure_peak_Pa",
    "cooling.after_boil_margin_K",
    "cooling.pass_top_speed_m_per_s",
    "intake.ram_gain_Pa",
    "intake.duct_loss_Pa",
    "intake.net_Pa",
)
"""Figures whose working is in a report; ``soakbox working`` has all of them."""


def working_section(bench: Bench, system: System) -> Section:
    """Return the working of the main figures.

    Parameters
    ----------
    bench : Bench
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    known = set(book.names(bench))
    made = [book.working_of(bench, name) for name in MAIN if name in known]
    unit = "; US units stand in brackets." if system == "us" else "; usual units in brackets."
    blocks: list[Block] = [Paragraph(f"{IN_SI}{unit}")]
    for one in made:
        blocks += _blocks(one, system)
    if system == "us":
        steps = [step for one in made for step in (*one.steps, *one.hand)]
        blocks.append(Paragraph(f"US units: {conversions(steps)}.", "small"))
    blocks.append(
        Paragraph("Every other figure: 'soakbox working FILE', and the name of the figure.")
    )
    return Section("working", "Working of the main figures", tuple(blocks))


def _blocks(working: Working, system: System) -> Iterator[Block]:
    yield Paragraph(
        f"{sentence(working.title).rstrip('.')} ({working.name}): "
        f"{figure_words(working.computed, system)}",
        "lead",
    )
    for caution in working.cautions:
        yield Paragraph(f"Rough: {sentence(localised(caution, system))}")
    for number, step in enumerate(working.steps, start=1):
        yield from _step(f"{number}.", step, system)
    for number, step in enumerate(working.hand, start=1):
        yield from _step(f"By hand {number}.", step, system)
    if working.hand:
        yield Paragraph(
            f"{estimate(working, system)} {sentence(localised(working.difference, system))}"
        )


def _step(head: str, step: Step, system: System) -> Iterator[Block]:
    said = [sentence(localised(step.title, system))]
    said.append(f"Source: {sentence(localised(step.source, system))}")
    if step.range:
        said.append(f"Holds: {sentence(localised(step.range, system))}")
    if step.note:
        said.append(sentence(localised(step.note, system)))
    yield Paragraph(f"{head} {' '.join(said)}", "step")
    answer = step.result
    value = "none" if math.isnan(answer.value) else shown(answer.value, step.digits)
    lines = [step.equation] if step.equation else []
    lines += [
        f"  {s.name} = {shown(s.value, step.input_digits)} {s.unit}".rstrip()
        + f"   {localised(s.meaning, system)} {in_brackets(s, system)}".rstrip()
        for s in step.symbols
    ]
    told = f"{answer.name} = {value} {answer.unit}".rstrip()
    lines.append(f"{told}   {in_brackets(answer, system)}".rstrip())
    yield Code("\n".join(lines))
