"""The figure of a hazard, as its flag has it."""

from __future__ import annotations

import math
from collections.abc import Callable

from thermo.results import Flag
from thermo.workings.bench import Bench
from thermo.workings.form import (
    Step,
    Symbol,
    Working,
    pure,
    read,
)


def flag_of(b: Bench, name: str) -> Flag:
    """Return the flag of a name."""
    return next(f for f in b.result.flags if f.name == name)


def figure(b: Bench, name: str) -> Symbol:
    """Return a flag's figure in the flag's own unit."""
    found = flag_of(b, name)
    return pure("figure", found.value, f"figure of the hazard '{name}'", found.unit)


def told(b: Bench, name: str, steps: list[Step]) -> Working:
    """Return the working of a hazard: some steps, and what its flag says."""
    found = flag_of(b, name)
    limit = "" if math.isnan(found.limit) else f"; held against {found.limit:.4g} {found.unit}"
    last = read(
        f"hazard '{name}': {found.level}", figure(b, name), f"{found.where}{limit}",
        note=f"{found.why[0].upper()}{found.why[1:]}.",
    )
    return Working("", f"hazard {name}", (*steps, last), figure(b, name))


def borrowed(b: Bench, name: str, maker: Callable[[Bench], Working | None]) -> Working:
    """Working of a hazard whose figure is one of the event's figures."""
    made = maker(b)
    own = told(b, name, [])
    if made is None:
        return own
    return Working("", own.title, (*made.steps, *own.steps), own.computed, made.hand,
                   made.difference, made.cautions)
