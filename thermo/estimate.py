"""A default that is only an estimate: the figure, its range and what it rests on."""

from __future__ import annotations

from dataclasses import dataclass

COMMON_PRACTICE = "common practice"
"""Basis of a rule of thumb that has no source to cite."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A default value with the range within which the truth may well lie.

    Attributes
    ----------
    value : float
        The default, in `unit`.
    low, high : float
        Its plausible range, in `unit`.
    unit : str
        SI unit of the three numbers; empty for a pure number.
    basis : str
        What the figure rests on: a source, or 'common practice'.
    """

    value: float
    low: float
    high: float
    unit: str
    basis: str
