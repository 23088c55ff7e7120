"""The errors Soakbox raises on purpose: one base class, one subclass for each area.

Each message names the thing, the value given and what is allowed, so that a caller can show it
as it is. A numerical run that goes wrong is a status on the result, not an exception.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any


class SoakboxError(Exception):
    """Base of every error that Soakbox raises on purpose.

    Attributes
    ----------
    where : ndarray of bool or None
        Of an array of variants, those that the error is about; None for one event, or for all.
    """

    where: Any = None


class RangeError(SoakboxError):
    """A value lies outside the range over which a property, table or correlation holds.

    Parameters
    ----------
    name : str
        What was asked for, in words ("specific heat of water").
    value : float
        The offending value, in `unit`.
    low, high : float
        The range of validity, in `unit`.
    unit : str
        Unit of the three numbers, for the message.
    """

    def __init__(self, name: str, value: float, low: float, high: float, unit: str = "") -> None:
        self.name = name
        self.value = value
        self.low = low
        self.high = high
        self.unit = unit
        tail = f" {unit}" if unit else ""
        ends = f"from {low:.6g}{tail} up" if high == math.inf else f"{low:.6g} to {high:.6g}{tail}"
        super().__init__(f"{name}: {value:.6g}{tail} is outside the range {ends}")


class UnitError(SoakboxError):
    """A quantity typed by the user cannot be read: bad number, unknown unit, wrong dimension."""


class PropertyError(SoakboxError):
    """The property tables cannot be built or read."""


class InfeasibleError(SoakboxError):
    """No value in the range searched meets the target.

    Parameters
    ----------
    message : str
        Why there is none, in words.
    best : float or None
        The best attainable value of the searched quantity's result, when there is one.
    """

    def __init__(self, message: str, best: float | None = None) -> None:
        self.best = best
        super().__init__(message)


@dataclass(frozen=True)
class Problem:
    """One thing wrong in a scenario: where, what was given, what is allowed.

    Attributes
    ----------
    key : str
        Dotted key, such as ``tank.volume`` or ``leg[2].duration``; empty for the file as a whole.
    given : str
        The offending text, already made safe to print.
    allowed : str
        What would have been accepted, in words.
    line : int or None
        Line in the file, from 1, when known.
    suggestion : str
        Nearest known name when a name was not known, else empty.
    """

    key: str
    given: str
    allowed: str
    line: int | None = None
    suggestion: str = ""


class ScenarioError(SoakboxError):
    """A scenario file or an override cannot be used; carries every problem found at once.

    Parameters
    ----------
    source : str
        File name, or "--set" for an override on the command line.
    problems : list of Problem
        All problems found; at least one.
    """

    def __init__(self, source: str, problems: list[Problem]) -> None:
        self.source = source
        self.problems = problems
        lines = []
        for p in problems:
            where = f"{source}:{p.line}" if p.line is not None else source
            key = f"{p.key}: " if p.key else ""
            given = f"given {p.given}; " if p.given else ""
            hint = f" Did you mean {p.suggestion}?" if p.suggestion else ""
            lines.append(f"{where}: {key}{given}{p.allowed}.{hint}")
        super().__init__("\n".join(lines))


@contextlib.contextmanager
def about(key: str) -> Iterator[None]:
    """Name the input that a refusal raised in a block is about.

    Parameters
    ----------
    key : str
        Dotted key of an input or a table.

    Raises
    ------
    ScenarioError
        In place of any other error of Soakbox's: its words under the key.
    """
    try:
        yield
    except ScenarioError:
        raise
    except SoakboxError as error:
        refused = ScenarioError("scenario", [Problem(key, "", str(error))])
        refused.where = error.where
        raise refused from None
