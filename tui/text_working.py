"""The text of ``soakbox working``: a hand calculation for 80 columns, and as Markdown."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterable

from thermo.units import System, convert, format_number, kind_named
from thermo.workings.book import Entry
from thermo.workings.form import Step, Symbol, Working, shown
from tui.wording import CAUTIONS, WIDTH, amount, flag_amount, localised, wrap

IN_SI = (
    "Numbers stand in SI units, without prefixes, so that the equations need no factors and come "
    "out on a calculator (^ is power, ln the natural logarithm)"
)


def told(symbol: Symbol, system: System) -> str:
    """Return a figure as the other texts tell it; empty where that says nothing new."""
    if symbol.unit == "degC":
        return amount(symbol.value + 273.15, "temperature", system, 5)
    if not symbol.kind or math.isnan(symbol.value):
        return ""
    text = amount(symbol.value, symbol.kind, system, 5)
    kind = kind_named(symbol.kind)
    same = (kind.us_display if system == "us" else kind.si_display) == kind.si_unit
    metres = symbol.kind == "length" and abs(symbol.value) < 0.5
    return "" if same and not metres else text


def in_brackets(symbol: Symbol, system: System) -> str:
    """Return a figure in the user's units, in brackets."""
    text = told(symbol, system)
    return f"[{text}]" if text and text not in (f"{symbol.value:g} degC", "none") else ""


def symbol_line(symbol: Symbol, digits: int, system: System) -> str:
    """Return one number put in: name, value, unit, meaning, and what it is in the user's units."""
    head = f"      {symbol.name} = {shown(symbol.value, digits)} {symbol.unit}".rstrip()
    tail = f"{symbol.meaning} {in_brackets(symbol, system)}".rstrip()
    return textwrap.fill(
        f"{head:<38}  {tail}", WIDTH, subsequent_indent=" " * 40, break_long_words=False,
        break_on_hyphens=False, drop_whitespace=True,
    )


def _filled(words: str, indent: int) -> str:
    pad = " " * indent
    return textwrap.fill(
        pad + words, WIDTH, subsequent_indent=pad + "    ", break_long_words=False,
        break_on_hyphens=False,
    )


def step_lines(number: int, step: Step, system: System) -> list[str]:
    """Return one step: what, equation, numbers, answer, source, range."""
    lines = [wrap(f"{number}. {localised(step.title, system)}", 3)]
    if step.equation:
        lines.append(_filled(step.equation, 4))
    lines += [symbol_line(s, step.input_digits, system) for s in step.symbols]
    answer = step.result
    value = f"{answer.name} = {shown(answer.value, step.digits)} {answer.unit}".rstrip()
    value = f"so {value}" if step.equation else f"{value}  {answer.meaning}"
    lines.append(_filled(f"{value}  {in_brackets(answer, system)}".rstrip(), 4))
    lines.append(_filled(f"source: {localised(step.source, system)}", 4))
    if step.range:
        lines.append(_filled(f"holds: {localised(step.range, system)}", 4))
    if step.note:
        lines.append(_filled(f"note: {localised(step.note, system)}", 4))
    return lines


def figure_words(symbol: Symbol, system: System) -> str:
    """Return a figure for a reader: in the user's units where it has any."""
    if math.isnan(symbol.value):
        return "none"
    if system == "us" and not symbol.kind:
        return flag_amount(symbol.value, symbol.unit, system, 5)
    return told(symbol, system) or f"{shown(symbol.value, 5)} {symbol.unit}".rstrip()


def conversions(steps: Iterable[Step]) -> str:
    """Return how the US units beside the numbers follow from SI."""
    used = {s.kind for step in steps for s in (*step.symbols, step.result) if s.kind}
    parts = []
    for name in sorted(used):
        kind = kind_named(name)
        if kind.is_point:
            parts.append("degF = 1.8*(K - 273.15) + 32")
        elif name == "temperature_difference":
            parts.append("F deg = 1.8*K")
        elif kind.us_display != kind.si_unit:
            size = 1.0 / convert(1.0, name, kind.us_display)
            parts.append(f"1 {kind.us_display} = {format_number(size, 7)} {kind.si_unit}".rstrip())
    return "; ".join(dict.fromkeys(p for p in parts if not p.startswith("1 %")))


def estimate(working: Working, system: System) -> str:
    """Return the hand estimate beside the computed figure; empty without one."""
    hand = working.hand_estimate
    if hand is None:
        return ""
    return (
        f"By hand {figure_words(hand, system)}, computed "
        f"{figure_words(_counterpart(working, hand), system)}."
    )


def _counterpart(working: Working, hand: Symbol) -> Symbol:
    """Return the figure that the estimate stands beside: the last in the same unit."""
    alike = [s.result for s in working.steps if s.result.unit == hand.unit]
    same = working.computed.unit == hand.unit
    return working.computed if same else (alike or [working.computed])[-1]


def working_text(working: Working, scenario: str, system: System = "si") -> str:
    """Return the whole text of ``soakbox working FILE RESULT``.

    Parameters
    ----------
    working : Working
    scenario : str
        Title of the scenario.
    system : {'si', 'us'}
        Units in brackets, and of the answer; the calculation itself is in SI.

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    lines = [
        wrap(scenario or "scenario"),
        "",
        wrap(f"{working.title.upper()} ({working.name})"),
        f"  {figure_words(working.computed, system)}",
    ]
    lines += [wrap(f"  ROUGH: {localised(c, system)}.", 4) for c in working.cautions]
    unit = "; US units stand in brackets." if system == "us" else "; usual units in brackets."
    lines += ["", wrap(IN_SI + unit), ""]
    for number, step in enumerate(working.steps, start=1):
        lines += [*step_lines(number, step, system), ""]
    if working.hand:
        lines += ["HAND ESTIMATE", ""]
        for number, step in enumerate(working.hand, start=1):
            lines += [*step_lines(number, step, system), ""]
        lines += [wrap(estimate(working, system)), ""]
        lines += [wrap(f"Why they differ: {localised(working.difference, system)}"), ""]
    if system == "us":
        told_units = conversions((*working.steps, *working.hand))
        lines += [wrap(f"US units: {told_units}."), ""] if told_units else []
    return "\n".join([*lines, wrap(CAUTIONS)])


def _table(step: Step, system: System) -> list[str]:
    rows = ["| symbol | value | unit | meaning |", "|---|---|---|---|"]
    for s in step.symbols:
        words = f"{s.meaning} {in_brackets(s, system)}".rstrip()
        rows.append(f"| {s.name} | {shown(s.value, step.input_digits)} | {s.unit} | {words} |")
    return rows


def _step_markdown(number: int, step: Step, system: System) -> list[str]:
    lines = [f"{number}. **{localised(step.title, system)}**", ""]
    if step.equation:
        lines += [f"   `{step.equation}`", ""]
    if step.symbols:
        lines += [*(f"   {row}" for row in _table(step, system)), ""]
    s = step.result
    value = f"{s.name} = {shown(s.value, step.digits)} {s.unit}".rstrip()
    lines += [f"   **{value}** {in_brackets(s, system)}".rstrip(), ""]
    notes = [f"Source: {step.source}."]
    if step.range:
        notes.append(f"Holds: {step.range}.")
    if step.note:
        notes.append(step.note)
    return [*lines, f"   {localised(' '.join(notes), system)}", ""]


def working_markdown(working: Working, scenario: str, system: System = "si") -> str:
    """Return a working as Markdown.

    Parameters
    ----------
    working : Working
    scenario : str
        Title of the scenario.
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    lines = [f"# {working.title}", "", f"{scenario}; `{working.name}`", ""]
    lines += [f"**{figure_words(working.computed, system)}**", ""]
    lines += [f"> Rough: {localised(c, system)}." for c in working.cautions]
    if working.cautions:
        lines.append("")
    lines += [f"{IN_SI}.", ""]
    for number, step in enumerate(working.steps, start=1):
        lines += _step_markdown(number, step, system)
    if working.hand:
        lines += ["## Hand estimate", ""]
        for number, step in enumerate(working.hand, start=1):
            lines += _step_markdown(number, step, system)
        lines += [estimate(working, system), ""]
        lines += [f"Why they differ: {localised(working.difference, system)}", ""]
    if system == "us":
        lines += [f"US units: {conversions((*working.steps, *working.hand))}.", ""]
    return "\n".join([*lines, CAUTIONS, ""])


def list_text(entries: list[Entry], scenario: str, system: System = "si") -> str:
    """Return what can be asked for, with figures.

    Parameters
    ----------
    entries : list of Entry
    scenario : str
        Title of the scenario.
    system : {'si', 'us'}

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    lines = [
        wrap(scenario or "scenario"),
        "",
        wrap("Ask for the working of any of these by its name, or by its last part:"),
    ]
    group = ""
    for e in entries:
        head = e.name.partition(".")[0]
        if head != group:
            group = head
            lines.append("")
        figure = "sought when asked" if e.figure is None else figure_words(e.figure, system)
        line = f"  {figure:>18}  {e.name}"
        whole = f"{line}: {e.title}"
        lines.append(whole if len(whole) <= WIDTH else line)
    return "\n".join(lines)
