"""The texts of ``soakbox size`` and ``soakbox turnaround``."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from thermo.results import EventResult
from thermo.units import System
from tui.text_check import headline
from tui.wording import CAUTIONS, amount, localised, wrap

if TYPE_CHECKING:
    from thermo.answers import Answer, Sheet
    from thermo.turnaround import Turnaround


def holds_words(answer: Answer, system: System) -> str:
    """Return in which ranges every limit holds, where that is not simply all that is safer."""
    spans = answer.holds
    if answer.value is None or not spans:
        return ""
    beyond = spans[-1][1] if answer.better == "more" else spans[0][0]
    if len(spans) == 1 and math.isinf(beyond):
        return ""

    def told(low: float, high: float) -> str:
        ends = (
            "" if math.isinf(low) else amount(low, answer.kind, system, 4, "more"),
            "" if math.isinf(high) else amount(high, answer.kind, system, 4, "less"),
        )
        if ends[0] and ends[1]:
            return f"from {ends[0]} to {ends[1]}"
        return f"from {ends[0]} up" if ends[0] else f"up to {ends[1]}"

    words = "all limits hold " + " and ".join(told(*span) for span in spans)
    return words + ("; not between" if len(spans) > 1 else ", not beyond")


def size_words(answer: Answer, system: System) -> str:
    """Return the figure of a size, rounded to its safe side."""
    if answer.value is None:
        return "none in range"
    return amount(answer.value, answer.kind, system, 4, answer.better)


def answer_lines(answer: Answer, system: System) -> list[str]:
    """Return one size: its figure, what stands now, what binds it, how to set it."""
    lines = [wrap(f"  {answer.title:<38} {size_words(answer, system)}", 4)]
    if answer.now is not None:
        lines.append(f"      now {amount(answer.now, answer.kind, system, 4)}")
    if answer.binding:
        lines.append(wrap(f"      bound by {answer.binding}", 6))
    holds = holds_words(answer, system)
    if holds:
        lines.append(wrap(f"      {holds}", 6))
    if answer.note:
        lines.append(wrap(f"      {localised(answer.note, system)}", 6))
    if answer.value != answer.now:
        lines.extend(f'      --set {s.key}="{s.text(system)}"' for s in answer.put)
    return lines


def kept_words(sheet: Sheet, system: System) -> list[str]:
    """Return what the sizes keep, and what they do not, a paragraph each.

    Parameters
    ----------
    sheet : Sheet
    system : {'si', 'us'}

    Returns
    -------
    list of str
    """
    margin = amount(sheet.margin, "temperature_difference", system)
    pressure = localised(sheet.pressure, system)
    tank = f", the tank's pressure under {pressure} and gas in the tank" if pressure else ""
    told = [
        f"Sizes keep {margin} of boil and after-boil margin{tank}, everything else as it is; and "
        "of suction head, the return line's boiling, the time a lost pump leaves and the flow "
        "rules what the plan keeps now. Put back, a size is clear of these."
    ]
    if sheet.mixing:
        told.append(
            "tank.mixing is not chosen: sizes hold whether the tank mixes, flows as a plug or "
            f"short-circuits (mixed, plug, adverse); {sheet.mixing} leaves least. `check` takes "
            "it as mixed."
        )
    if sheet.not_kept:
        told.append(f"Not kept, since the plan is over them now: {', '.join(sheet.not_kept)}.")
    return told


def sheet_text(result: EventResult, sheet: Sheet, system: System = "si") -> str:
    """Return the whole text of ``soakbox size``.

    Parameters
    ----------
    result : EventResult
    sheet : Sheet
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    lines = [
        *headline(result, system),
        "",
        "BUILD SHEET",
        *(wrap(f"  {words}", 2) for words in kept_words(sheet, system)),
    ]
    for group in ("cooling", "day", "intake"):
        lines += ["", {"cooling": "COOLING", "day": "THE DAY", "intake": "INTAKE"}[group]]
        for answer in (a for a in sheet.answers if a.group == group):
            lines.extend(answer_lines(answer, system))
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)


def turnaround_text(title: str, plan: Turnaround, system: System = "si") -> str:
    """Return the whole text of ``soakbox turnaround``.

    Parameters
    ----------
    title : str
    plan : Turnaround
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    kelvin = "temperature_difference"
    lines = [wrap(title or "scenario"), ""]
    if plan.made_up:
        lines.append(
            wrap(
                "The scenario has one pass: the same pass is made again after a service of 15 min."
            )
        )
    margin = plan.margin_as_planned
    held = "not reached" if math.isnan(margin) else f"boil margin {amount(margin, kelvin, system)}"
    lines.append(wrap(f"Second pass with the service as it stands: {held}."))
    lines += ["", "EACH BY ITSELF"]
    for answer in plan.answers:
        lines.extend(answer_lines(answer, system))
    if plan.mixes:
        lines += [
            "",
            "WATER AND ICE TOGETHER",
            f"  {'swap':>6}  {'least ice':>12}  {'margin then':>12}  bound by",
        ]
        for mix in plan.mixes:
            ice = "none fits" if mix.ice is None else amount(mix.ice, "mass", system)
            left = "-" if math.isnan(mix.margin) else amount(mix.margin, kelvin, system)
            lines.append(f"  {100 * mix.swap:>4.0f} %  {ice:>12}  {left:>12}  {mix.limit}")
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)
