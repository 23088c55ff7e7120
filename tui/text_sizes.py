"""The texts of ``soakbox size`` and ``soakbox turnaround``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from thermo.results import EventResult
from thermo.units import System
from tui.text_check import headline
from tui.wording import CAUTIONS, amount, localised, wrap

if TYPE_CHECKING:
    from thermo.answers import Answer, Sheet
    from thermo.turnaround import Turnaround


def answer_lines(answer: Answer, system: System) -> list[str]:
    """Return one size: its figure, what stands now, what binds it, how to set it."""
    if answer.value is None:
        head = f"  {answer.title:<38} none in range"
    else:
        head = f"  {answer.title:<38} {amount(answer.value, answer.kind, system, 4)}"
    lines = [wrap(head, 4)]
    if answer.now is not None:
        lines.append(f"      now {amount(answer.now, answer.kind, system, 4)}")
    if answer.binding:
        lines.append(wrap(f"      bound by {answer.binding}", 6))
    if answer.note:
        lines.append(wrap(f"      {localised(answer.note, system)}", 6))
    if answer.value != answer.now:
        lines.extend(f'      --set {key}="{text}"' for key, text in answer.settings)
    return lines


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
        wrap(
            f"  Sizes keep {amount(sheet.margin, 'temperature_difference', system)} of boil and "
            "after-boil margin, the relief shut and gas in the tank, everything else as it is.",
            2,
        ),
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
    lines.append(
        wrap(
            "Second pass with the service as it stands: boil margin "
            f"{amount(plan.margin_as_planned, kelvin, system)}."
        )
    )
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
            lines.append(
                f"  {100 * mix.swap:>4.0f} %  {ice:>12}  "
                f"{amount(mix.margin, kelvin, system):>12}  {mix.limit}"
            )
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)
