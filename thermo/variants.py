"""Many variants of one scenario, held as arrays: which inputs differ, and what is refused."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.errors import Problem, ScenarioError
from thermo.fields import Quantity, quantity_of
from thermo.keys import path_of
from thermo.scenario import Scenario, placed, tables_of, with_value

Floats = npt.NDArray[np.float64]
Indices = npt.NDArray[np.intp]

TUBES = ("tube", "box-tube", "flexible", "loss", "filter")
"""Parts of a duct whose sizes may be arrays; the others' losses are looked up one by one."""

_BY_VALUE = tuple(
    re.compile(pattern)
    for pattern in (
        r".*glycol_(mass_)?fraction",
        r"exchanger\.plate\.(chevron_angle|plates)",
        r"engine\.(power_curve|torque_curve).*",
        r".*\.pump\.curve.*",
        r"intake\.part\[\d+\]\.(angle|radius_ratio|open_share|to_bore)",
    )
)
_SIZE = re.compile(r"intake\.part\[(\d+)\]\.(bore|width|height|length)")

_STILL = tuple(
    re.compile(pattern)
    for pattern in (
        r"(tank|exchanger|loop|coolant|limits)\..*",
        r"car\.(length|centre_of_mass)",
        r"engine\.(heat_.*|fuel_heat_share|idle_heat|oil_.*|charge_cooler_heat|metal_.*)",
        r"engine\.(still_conductance|air_conductance|fuel_pressure)",
        r"leg\[\d+\]\.(swap_.*|ice_mass|tank_pump_fails_at|coolant_pump_fails_at)",
    )
)


def moves_car(key: str) -> bool:
    """Say whether an input may change how the car moves, or the air in its duct.

    Parameters
    ----------
    key : str
        Dotted key as :class:`VariantSet` writes it.

    Returns
    -------
    bool
    """
    return not any(pattern.fullmatch(key) for pattern in _STILL)


def array_key(scenario: Scenario, key: str) -> bool:
    """Say whether an input may be an array over variants; else they are grouped by its value.

    Parameters
    ----------
    scenario : Scenario
    key : str
        Dotted key as :class:`VariantSet` writes it.

    Returns
    -------
    bool
    """
    if any(pattern.fullmatch(key) for pattern in _BY_VALUE):
        return False
    size = _SIZE.fullmatch(key)
    if size is None or scenario.intake is None:
        return True
    part = scenario.intake.part[int(size[1])]
    if size[2] == "length":
        return part.kind in TUBES
    # The section of one part decides losses at its neighbours too.
    return all(p.kind in TUBES for p in scenario.intake.part if p.path == part.path)


@dataclass(frozen=True, slots=True)
class VariantSet:
    """A scenario and the inputs in which its variants differ.

    Attributes
    ----------
    scenario : Scenario
        What the variants share.
    columns : mapping of str to ndarray
        By dotted key: the SI value of each variant, shape (variants,).
    size : int
        Number of variants.
    """

    scenario: Scenario
    columns: Mapping[str, Floats]
    size: int

    @classmethod
    def of(cls, scenario: Scenario, changes: Mapping[str, Any]) -> VariantSet:
        """Check and gather the changes.

        Parameters
        ----------
        scenario : Scenario
        changes : mapping of str to array_like
            By dotted key, such as ``tank.volume`` or ``leg[0].distance``: one SI value a variant.

        Returns
        -------
        VariantSet

        Raises
        ------
        ScenarioError
            Naming each key that is no quantity of the scenario, and lists of unequal length.
        """
        problems: list[Problem] = []
        columns: dict[str, Floats] = {}
        for key, values in changes.items():
            found = placed(scenario, key)
            if found is None:
                problems.append(Problem(key, "", "no such quantity in this scenario"))
                continue
            columns[found] = np.array(values, dtype=np.float64, ndmin=1)
        sizes = {len(v) if v.ndim == 1 else -1 for v in columns.values()}
        if not problems and (len(sizes) != 1 or sizes == {-1}):
            problems.append(Problem("", "", "every input that varies takes one list of one length"))
        if problems:
            raise ScenarioError("variants", problems)
        return cls(scenario, columns, sizes.pop())

    def at(self, rows: Indices) -> Scenario:
        """Return a scenario whose inputs that vary are arrays over some of the variants.

        Parameters
        ----------
        rows : ndarray of int
            One or more variants; of a single one the inputs are floats.

        Returns
        -------
        Scenario
            Not validated; see :meth:`refusals`.
        """
        made = self.scenario
        for key, values in self.columns.items():
            chosen = values[rows]
            alike = bool(np.all(chosen == chosen[0])) and not (
                len(rows) > 1 and array_key(made, key)
            )
            made = with_value(made, _plain_key(key), float(chosen[0]) if alike else chosen)
        return made

    def part(self, rows: Indices) -> VariantSet:
        """Return some of the variants as a set of their own."""
        return VariantSet(
            self.scenario, {k: v[rows] for k, v in self.columns.items()}, len(rows)
        )

    def refusals(self) -> list[str]:
        """Return why each variant is refused as a scenario would be, empty where it is not.

        Returns
        -------
        list of str
            One a variant: out of an input's range, or inputs that contradict one another.
        """
        reasons = [""] * self.size
        for key, values in self.columns.items():
            quantity = quantity_of(Scenario, key)
            if quantity is not None:
                _note(reasons, _outside(quantity, values), f"{key}: {quantity.allowed} is expected")
        rows = np.flatnonzero([not r for r in reasons])
        if not len(rows):
            return reasons
        whole = self.at(rows)
        for place, table in tables_of(whole, ""):
            for wrong, words in table.conflicts():
                bad = np.zeros(self.size, dtype=np.bool_)
                bad[rows] = wrong
                _note(reasons, bad, f"{place}: {words}" if place else words)
        return reasons

    def groups(self) -> list[Indices]:
        """Return the variants in groups that agree in each input that cannot be an array.

        Returns
        -------
        list of ndarray of int
            Rising within a group, groups by their first variant.
        """
        keys = [k for k in self.columns if not array_key(self.scenario, k)]
        if not keys:
            return [np.arange(self.size)]
        table = np.stack([self.columns[k] for k in keys], axis=1)
        _, label = np.unique(table, axis=0, return_inverse=True)
        label = label.ravel()
        order = np.argsort(label, kind="stable")
        cuts = np.flatnonzero(np.diff(label[order])) + 1
        return sorted(np.split(order, cuts), key=lambda g: int(g[0]))

    @property
    def still(self) -> bool:
        """Whether the car moves alike in every variant, but for what groups decide."""
        return not any(moves_car(k) for k in self.columns)


def _plain_key(key: str) -> str:
    return ".".join(str(part) for part in path_of(key))


def _outside(quantity: Quantity, values: Floats) -> npt.NDArray[np.bool_]:
    low, high = quantity.range_si
    slack = 1e-12 * max(abs(low), abs(high))
    over = (values > high + slack) | ~np.isfinite(values)
    return over | ((values <= low) if quantity.open_low else (values < low - slack))


def _note(reasons: list[str], bad: npt.NDArray[np.bool_], words: str) -> None:
    """Write why into each variant that has no earlier reason."""
    for i in np.flatnonzero(bad):
        reasons[i] = reasons[i] or words
