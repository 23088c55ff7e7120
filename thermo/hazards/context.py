"""What a hazard may look at, and small helpers to make a flag."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from thermo.driving import Driving
from thermo.gas import FloatArray
from thermo.ops import most, ops_of
from thermo.results import Audit, CoolingFigures, Flag, IntakeFigures, Level
from thermo.scenario import Scenario
from thermo.site import Air

if TYPE_CHECKING:
    from thermo.cooling_run import Solved

CELSIUS = 273.15


@dataclass(frozen=True)
class Context:
    """One solved event, or an array of variants, as the hazards see it.

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


CLEAR, CAUTION, DANGER = 0, 1, 2
LEVELS: tuple[Level, Level, Level] = ("clear", "caution", "danger")
"""Levels by their rank."""


def level_of(rank: Any) -> Level:
    """Return the level of one event's rank, 0 to 2."""
    return LEVELS[int(rank)]


def below(value: Any, caution: Any, danger: Any = -math.inf) -> Any:
    """Return the rank of a figure that must not fall: 2 under `danger`, 1 under `caution`. [poly]

    Parameters
    ----------
    value, caution, danger : float or ndarray
        In one unit.

    Returns
    -------
    int or ndarray of int
        Rank of the level, 0 to 2.
    """
    xp = ops_of(value, caution, danger)
    return xp.where(value < danger, DANGER, xp.where(value < caution, CAUTION, CLEAR))


def above(value: Any, caution: Any, danger: Any = math.inf) -> Any:
    """Return the rank of a figure that must not rise: 2 over `danger`, 1 over `caution`. [poly]

    Parameters
    ----------
    value, caution, danger : float or ndarray
        In one unit.

    Returns
    -------
    int or ndarray of int
        Rank of the level, 0 to 2.
    """
    xp = ops_of(value, caution, danger)
    return xp.where(value > danger, DANGER, xp.where(value > caution, CAUTION, CLEAR))


def worst(*ranks: Any) -> Any:
    """Return the highest of some ranks. [poly]"""
    return most(ranks)


def when(condition: Any, rank: int, otherwise: Any = CLEAR) -> Any:
    """Return a rank where a condition holds, else another. [poly]"""
    return ops_of(condition, otherwise).where(condition, rank, otherwise)


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
