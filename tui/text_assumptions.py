"""The text of ``soakbox working FILE assumptions``: defaults left standing, what matters first."""

from __future__ import annotations

import math
import re

from thermo.assumptions import Assumption, Audit
from thermo.units import System, format_number
from tui.wording import CAUTIONS, amount, flag_amount, localised, wrap


def value_words(a: Assumption, value: float | str, system: System) -> str:
    """Return a value of an assumption in the user's units."""
    if isinstance(value, str):
        return value
    if a.kind in ("", "number"):
        return format_number(value, 4)
    return amount(value, a.kind, system, 4)


_SPAN = re.compile(r"(\d[\d.]*)-(\d[\d.]*) (mm|K|kPa|MPa|degC)(?![\w/])")


def source_words(words: str, system: System) -> str:
    """Return a source in the user's units; "25-44 mm" holds two figures."""
    return localised(_SPAN.sub(r"\1 \3 to \2 \3", words), system)


def left_words(value: float, unit: str, system: System) -> str:
    """Return what is left of a limit; words where there is no verdict."""
    return "no verdict" if math.isnan(value) else flag_amount(value, unit, system)


def varied_lines(a: Assumption, unit: str, system: System) -> list[str]:
    """Return one assumption that was varied: value, range, what either end leaves, source."""
    span = f"{value_words(a, a.low, system)} to {value_words(a, a.high, system)}"
    moves = "no verdict at one end" if math.isnan(a.moves) else (
        f"moves it by {flag_amount(a.moves, unit, system)}"
    )
    ends = (
        f"{left_words(a.at_low, unit, system)} left at the low end ({a.levels[0]}), "
        f"{left_words(a.at_high, unit, system)} at the high ({a.levels[1]})"
    )
    return [
        wrap(f"  {a.key} = {value_words(a, a.value, system)} ({span}): {moves}", 6),
        wrap(f"      {ends}", 6),
        wrap(f"      {source_words(a.source, system)}", 6),
    ]


def other_line(a: Assumption, system: System) -> str:
    """Return one assumption that was not varied: value, what is allowed, source."""
    allowed = f" ({a.allowed})" if a.allowed and system == "si" else ""
    words = f"  {a.key} = {value_words(a, a.value, system)}{allowed}"
    return wrap(f"{words}; {source_words(a.source, system)}", 6)


def assumptions_text(audit: Audit, scenario: str, system: System = "si") -> str:
    """Return the whole text of ``soakbox working FILE assumptions``.

    Parameters
    ----------
    audit : Audit
    scenario : str
        Title of the scenario.
    system : {'si', 'us'}

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    varied = [a for a in audit.assumptions if a.levels]
    others = [a for a in audit.assumptions if not a.levels]
    lines = [
        wrap(scenario or "scenario"),
        "",
        wrap(
            f"The file leaves {len(audit.assumptions)} defaults standing. The binding hazard is "
            f"{audit.binding}: {left_words(audit.margin, audit.unit, system)} is left of its limit "
            "(below zero it is broken)."
        ),
        "",
        "WITH A USUAL RANGE, ONE AT A TIME, THOSE THAT MATTER MOST FIRST",
    ]
    for a in varied:
        lines += varied_lines(a, audit.unit, system)
    if not varied:
        lines.append("  none: the file sets every input that is a guess")
    lines += ["", "TAKEN TOO, NOT VARIED (in brackets what is accepted)"
              if system == "si" else "TAKEN TOO, NOT VARIED"]
    lines += [other_line(a, system) for a in others]
    return "\n".join([*lines, "", wrap(CAUTIONS)])
