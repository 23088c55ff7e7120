"""Two scenarios side by side: verdicts on top, then only what differs."""

from __future__ import annotations

from thermo.event import solve
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System
from tui.comparing import compare
from tui.session import Session


def compare_page(mine: tuple[str, Scenario, EventResult], other: str, system: System) -> str:
    """Return the text of a comparison with another file.

    Parameters
    ----------
    mine : tuple of (str, Scenario, EventResult)
        Name, inputs and result of the open scenario.
    other : str
        Path of the other.
    system : {'si', 'us'}

    Returns
    -------
    str

    Raises
    ------
    SoakboxError
        If the other file cannot be used.
    """
    session = Session.open(other)
    theirs = (session.name, session.scenario, solve(session.scenario))
    told = compare((mine[2], theirs[2]), (mine[1], theirs[1]), system)
    lines = [f"{'':<28}{mine[0][:24]:<26}{theirs[0][:24]}", ""]
    group = ""
    for row in told.rows:
        if row.group != group:
            group = row.group
            lines.append(GROUPS.get(group, group).upper())
        label = row.label if len(row.label) <= 27 else row.label[:26] + "~"
        lines.append(f"{label:<28}" + "".join(f"{v:<26}" for v in row.values).rstrip())
    return "\n".join(lines)


GROUPS = {
    "verdict": "verdict",
    "hazard": "hazards that differ",
    "figure": "figures that differ",
    "input": "inputs that differ",
}
"""Headings of the comparison."""
