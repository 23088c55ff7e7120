"""Every published case run on this machine, number by number, against the installed libraries."""

from __future__ import annotations

import importlib.metadata
import platform
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

from thermo import __version__
from thermo.errors import SoakboxError
from thermo.properties import load_tables
from thermo.published.case import Case, Expected, all_cases
from thermo.units import format_number

LIBRARIES = ("CoolProp", "numpy", "scipy", "pydantic", "pint")
"""Libraries that the numbers rest on."""

FAILURES = (SoakboxError, ArithmeticError, ValueError, TypeError, LookupError)
"""What a spoilt engine or library may raise in a case; each counts as a miss, and is told."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One published number beside what this machine makes of it.

    Attributes
    ----------
    id, what, source, provenance : str
        Of the case.
    label, unit : str
        Of the number.
    expected : float
        As published, in `unit`.
    got : float or None
        Computed here, in `unit`; None where there was an error.
    tolerance : str
        In words; the comparison holds when any of its parts does.
    holds : bool
    error : str
        What was raised, or empty.
    """

    id: str
    what: str
    source: str
    provenance: str
    label: str
    unit: str
    expected: float
    got: float | None
    tolerance: str
    holds: bool
    error: str = ""


def tolerance_words(expected: Expected) -> str:
    """Return the tolerance of a published number in words."""
    parts = []
    if expected.rel > 0.0:
        parts.append(f"{format_number(100.0 * expected.rel, 2)} %")
    if expected.abs > 0.0:
        parts.append(f"{format_number(expected.abs, 2)} {expected.unit.strip('-')}".strip())
    return " or ".join(parts) or "exact"


def _checked(case: Case, label: str, expected: Expected, got: float | None, error: str) -> Checked:
    return Checked(
        case.id,
        case.what,
        case.source,
        case.provenance,
        label,
        expected.unit.strip("-"),
        expected.value,
        got,
        tolerance_words(expected),
        got is not None and expected.holds(got),
        error,
    )


def check_case(case: Case) -> list[Checked]:
    """Run one case.

    Parameters
    ----------
    case : Case

    Returns
    -------
    list of Checked
        One a published number. A number that is not computed, and a case that ends in an error,
        is a miss.
    """
    try:
        numbers = case.compute()
    except FAILURES as error:
        words = f"{type(error).__name__}: {error}"
        return [_checked(case, k, e, None, words) for k, e in case.expected.items()]
    return [
        _checked(case, k, e, float(numbers[k]), "")
        if k in numbers
        else _checked(case, k, e, None, "not computed")
        for k, e in case.expected.items()
    ]


def verify(cases: Iterable[Case] | None = None) -> list[Checked]:
    """Run published cases on this machine.

    Parameters
    ----------
    cases : iterable of Case, optional
        All of them when not given.

    Returns
    -------
    list of Checked
    """
    return [c for case in (all_cases() if cases is None else cases) for c in check_case(case)]


def versions() -> dict[str, str]:
    """Return versions of Soakbox, Python and the libraries, and where the property tables are."""
    try:
        origin = load_tables().origin
    except SoakboxError as error:
        origin = str(error)
    return {
        "Soakbox": __version__,
        "Python": platform.python_version(),
        **{name: importlib.metadata.version(name) for name in LIBRARIES},
        "machine": f"{platform.system()} {platform.machine()}",
        "property tables": origin,
    }


def to_data(checked: list[Checked]) -> dict[str, Any]:
    """Return the run in the form of ``soakbox verify --json``.

    Parameters
    ----------
    checked : list of Checked

    Returns
    -------
    dict
        A number that is not finite, or not there, is null.
    """
    rows = [asdict(c) for c in checked]
    for row in rows:
        got = row["got"]
        row["got"] = got if got is not None and abs(got) < float("inf") else None
    return {
        "schema": 1,
        "versions": versions(),
        "cases": len({c.id for c in checked}),
        "numbers": len(checked),
        "missed": sum(not c.holds for c in checked),
        "checked": rows,
    }
