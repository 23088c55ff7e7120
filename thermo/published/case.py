"""The form of a published case, and the list of all of them."""

from __future__ import annotations

import importlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass

AREAS = (
    "water", "exchangers", "convection", "friction", "fittings", "gas", "moist_air",
    "engines", "burns", "transients", "pumps", "course", "networks", "loop_cases",
)


@dataclass(frozen=True)
class Expected:
    """One expected number.

    Attributes
    ----------
    value : float
        The published value, in `unit`.
    unit : str
        Unit as printed.
    rel, abs : float
        Tolerances; the comparison passes when either holds.
    """

    value: float
    unit: str = ""
    rel: float = 0.0
    abs: float = 0.0

    def holds(self, got: float) -> bool:
        """Say whether `got` agrees within the tolerance (NaN never does)."""
        return abs(got - self.value) <= max(self.rel * abs(self.value), self.abs)


@dataclass(frozen=True)
class Case:
    """One published case.

    Attributes
    ----------
    id : str
        Short name, such as ``HX-11``.
    what : str
        What is checked, in words.
    source : str
        Standard, book and example, or 'closed form', 'common practice'.
    provenance : str
        How the number came here: seen, from memory, recomputed.
    expected : mapping of str to Expected
        The published numbers by label.
    compute : callable
        Runs the engine's own functions and returns a number for each label.
    """

    id: str
    what: str
    source: str
    provenance: str
    expected: Mapping[str, Expected]
    compute: Callable[[], Mapping[str, float]]


def all_cases() -> list[Case]:
    """Return every published case, in the order of the areas.

    Returns
    -------
    list of Case
        Ids are unique across areas.
    """
    cases: list[Case] = []
    for area in AREAS:
        module = importlib.import_module(f"thermo.published.{area}")
        cases.extend(module.CASES)
    return cases
