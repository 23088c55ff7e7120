"""The book of workings: every figure of ``check`` and ``size`` by its name."""

from __future__ import annotations

import difflib
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from thermo.errors import SoakboxError
from thermo.workings import (
    account,
    air,
    breathing,
    car,
    duct,
    exchanger,
    flows,
    hazards,
    loop,
    margins,
    pass_air,
    sizes,
    sweep,
    vessel,
)
from thermo.workings.bench import Bench
from thermo.workings.form import Step, Symbol, Working

Maker = Callable[[Bench], Working | None]

SUBJECTS = (
    loop, margins, exchanger, flows, vessel, car, duct, pass_air, sweep, breathing, air, account,
    hazards,
)
"""Modules whose workings belong to figures of ``check``."""

SIZES = "sizes."
"""How the names of the build sheet's answers begin."""


class UnknownFigureError(SoakboxError):
    """No figure goes by that name.

    Parameters
    ----------
    name : str
        As asked for.
    near : list of str
        Names that come near.
    """

    def __init__(self, name: str, near: list[str]) -> None:
        self.near = near
        hint = f" Did you mean {', '.join(near)}?" if near else ""
        super().__init__(
            f"no figure is called {name!r}.{hint} Without a name, 'working' lists all of them."
        )


@dataclass(frozen=True, slots=True)
class Entry:
    """One figure that a working can be asked for.

    Attributes
    ----------
    name : str
    title : str
    figure : Symbol or None
        None where it is worked out only when asked for.
    """

    name: str
    title: str
    figure: Symbol | None


def makers() -> dict[str, Maker]:
    """Return what makes the working of each figure of ``check``, by its name in the JSON.

    Returns
    -------
    dict of str to callable
        Of a bench; None where the scenario has no such figure.
    """
    found: dict[str, Maker] = {}
    for subject in SUBJECTS:
        table: Mapping[str, Any] = subject.WORKINGS
        found.update(table)
    return found


def names(b: Bench) -> list[str]:
    """Return the names of all figures of a scenario: of ``check``, then of ``size``."""
    mine = [n for n in makers() if b.duct is not None or not n.startswith("intake.")]
    return [*mine, *(SIZES + n for n in sizes.names(b))]


def resolve(b: Bench, asked: str) -> str:
    """Return the full name of a figure that was asked for.

    Parameters
    ----------
    b : Bench
    asked : str
        The full name, or its last part, such as ``boil_margin_K`` or ``tank-volume``.

    Returns
    -------
    str

    Raises
    ------
    UnknownFigureError
        If there is none, or more than one.
    """
    known = names(b)
    if asked in known:
        return asked
    ends = [n for n in known if n.partition(".")[2] == asked]
    if len(ends) == 1:
        return ends[0]
    if ends:
        raise UnknownFigureError(asked, ends)
    short = {n.partition(".")[2]: n for n in known}
    told = asked.partition(".")[2] or asked
    near = [short[s] for s in difflib.get_close_matches(told, short, 3, 0.5)]
    near += [n for n in known if told.replace("-", "_") in n.replace("-", "_") and n not in near]
    raise UnknownFigureError(asked, near[:5])


def working_of(b: Bench, asked: str) -> Working:
    """Return the working of a figure.

    Parameters
    ----------
    b : Bench
    asked : str
        As of :func:`resolve`.

    Returns
    -------
    Working

    Raises
    ------
    UnknownFigureError
        If no figure goes by that name.
    """
    name = resolve(b, asked)
    if name.startswith(SIZES):
        made: Working | None = sizes.working(b, name.removeprefix(SIZES))
    else:
        made = makers()[name](b)
    if made is None:
        raise UnknownFigureError(asked, [])
    cautions = (*b.result.rough.get(name, ()), *made.cautions)
    return replace(made, name=name, cautions=tuple(dict.fromkeys(cautions)))


def entries(b: Bench) -> list[Entry]:
    """Return every figure that can be asked for; sizes without figures, which take longer."""
    found = []
    for name in names(b):
        if name.startswith(SIZES):
            found.append(Entry(name, sizes.title_of(name.removeprefix(SIZES)), None))
        else:
            made = working_of(b, name)
            found.append(Entry(name, made.title, made.computed))
    return found


def _number(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _symbol(s: Symbol) -> dict[str, Any]:
    return {"name": s.name, "value": _number(s.value), "unit": s.unit, "meaning": s.meaning,
            "kind": s.kind}


def _step(s: Step) -> dict[str, Any]:
    return {
        "title": s.title, "equation": s.equation, "symbols": [_symbol(x) for x in s.symbols],
        "result": _symbol(s.result), "source": s.source, "range": s.range, "note": s.note,
        "digits": s.digits, "input_digits": s.input_digits,
    }


def to_data(w: Working) -> dict[str, Any]:
    """Return a working in the form of ``soakbox working --json``.

    Parameters
    ----------
    w : Working

    Returns
    -------
    dict
        SI; a number that does not exist is null.
    """
    estimate = w.hand_estimate
    return {
        "schema": 1,
        "name": w.name,
        "title": w.title,
        "computed": _symbol(w.computed),
        "steps": [_step(s) for s in w.steps],
        "hand_estimate": None if estimate is None else _symbol(estimate),
        "hand_steps": [_step(s) for s in w.hand],
        "difference": w.difference,
        "cautions": list(w.cautions),
    }


def list_to_data(b: Bench, found: list[Entry]) -> dict[str, Any]:
    """Return what can be asked for in the form of ``soakbox working --json`` without a name."""
    return {
        "schema": 1,
        "scenario": b.result.title,
        "figures": [
            {
                "name": e.name,
                "title": e.title,
                "figure": None if e.figure is None else _symbol(e.figure),
            }
            for e in found
        ],
    }
