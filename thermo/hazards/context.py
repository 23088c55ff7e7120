"""What a hazard may look at, and small helpers to make a flag."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from thermo.driving import Driving
from thermo.gas import FloatArray
from thermo.results import Audit, CoolingFigures, Flag, IntakeFigures, Level
from thermo.scenario import Scenario
from thermo.site import Air

if TYPE_CHECKING:
    from thermo.event import Solved

CELSIUS = 273.15


@dataclass(frozen=True)
class Context:
    """One solved event, as the hazards see it.

    Attributes
    ----------
    scenario : Scenario
    air : Air
    driving : Driving
    solved : Solved
    cooling : CoolingFigures
    intake : IntakeFigures or None
    audit : Audit
    """

    scenario: Scenario
    air: Air
    driving: Driving
    solved: Solved
    cooling: CoolingFigures
    intake: IntakeFigures | None
    audit: Audit

    def leg_at(self, row: int) -> str:
        """Return the label of the leg of a history row."""
        return self.scenario.leg[int(self.solved.told.history.leg[row])].label

    def time_at(self, row: int) -> float:
        """Return the time of a history row [s]."""
        return float(self.solved.told.history.time[row])

    def peak(self, values: FloatArray) -> int:
        """Return the row at which an array is largest."""
        return int(np.argmax(values))


def below(value: float, caution: float, danger: float) -> Level:
    """Return the level of a figure that must not fall: danger under one, caution under another."""
    if value < danger:
        return "danger"
    return "caution" if value < caution else "clear"


def above(value: float, caution: float, danger: float = math.inf) -> Level:
    """Return the level of a figure that must not rise: danger over one, caution over another."""
    if value > danger:
        return "danger"
    return "caution" if value > caution else "clear"


def flag(
    context: Context,
    name: str,
    level: Level,
    figures: tuple[float, float, str],
    words: tuple[str, str, str],
    *,
    row: int | None = None,
    inputs: tuple[str, ...] = (),
) -> Flag:
    """Make a flag.

    Parameters
    ----------
    context : Context
    name : str
    level : Level
    figures : tuple of (float, float, str)
        Figure, limit and their unit.
    words : tuple of str
        Where it happens, why it matters, what would clear it.
    row : int, optional
        Row of the history at which it happens.
    inputs : tuple of str
        Keys that drive it most.

    Returns
    -------
    Flag
    """
    at = math.nan if row is None else context.time_at(row)
    leg = "" if row is None else context.leg_at(row)
    return Flag(
        name,
        level,
        float(figures[0]),
        float(figures[1]),
        figures[2],
        at,
        leg,
        words[0],
        words[1],
        words[2],
        inputs,
    )
