"""From the parts of the scenario's intake table to the parts of the duct."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from thermo.duct_fittings import LIPS, Bend, Filter, Junction, Lip, Mitre, Screen
from thermo.duct_parts import FrictionTube, LossPart, Path, PlenumExit, Transition
from thermo.duct_parts import Part as DuctPart
from thermo.duct_section import Section, cone_length
from thermo.errors import about
from thermo.friction import FLEXIBLE_DUCT_FRICTION
from thermo.inputs.air import Intake, Part

SHARED = "plenum"
"""Name of the path that all the air goes through last."""


def _or(value: Any, usual: float) -> Any:
    """Return a value of the table, or the usual one where none was given."""
    return usual if value is None else value


def _round(bore: Any) -> Section:
    return Section(_or(bore, 0.0))


def _box(part: Part) -> Section:
    return Section(_or(part.width, 0.0), _or(part.height, 0.0))


def _tube(part: Part, name: str) -> DuctPart:
    section = _box(part) if part.kind == "box-tube" else _round(part.bore)
    friction = part.friction
    if friction is None and part.kind == "flexible":
        friction = FLEXIBLE_DUCT_FRICTION.value
    return FrictionTube(
        name=name,
        section=section,
        length=_or(part.length, 0.0),
        roughness=part.roughness,
        friction=friction,
    )


def _change(part: Part, name: str) -> DuctPart:
    before = _box(part) if part.kind == "box-to-round" else _round(part.bore)
    to = _round(part.to_bore)
    if part.length is not None:
        length = part.length
    else:
        length = 0.0 if part.angle >= math.pi else cone_length(before, to, math.degrees(part.angle))
    return Transition(name=name, section=before, to=to, length=length, roughness=part.roughness)


def _bend(part: Part, name: str) -> DuctPart:
    return Bend(
        name=name,
        section=_round(part.bore),
        radius_ratio=_or(part.radius_ratio, 1.0),
        angle=math.degrees(part.angle),
    )


def _mitre(part: Part, name: str) -> DuctPart:
    return Mitre(name=name, section=_round(part.bore), angle=math.degrees(part.angle))


def _junction(part: Part, name: str) -> DuctPart:
    return Junction(
        name=name,
        section=_round(part.bore),
        leg="branch",
        share=1.0,
        angle=45.0 if part.kind == "wye" else 90.0,
    )


def _screen(part: Part, name: str) -> DuctPart:
    return Screen(name=name, section=_round(part.bore), open_fraction=_or(part.open_share, 1.0))


def _filter(part: Part, name: str) -> DuctPart:
    return Filter(name=name, rated_drop=part.drop, rated_flow=part.rated_flow)


def _loss(part: Part, name: str) -> DuctPart:
    return LossPart(name=name, section=_round(part.bore), k=_or(part.k, 0.0))


BUILDERS: dict[str, Callable[[Part, str], DuctPart]] = {
    "tube": _tube,
    "box-tube": _tube,
    "flexible": _tube,
    "bend": _bend,
    "mitre": _mitre,
    "contraction": _change,
    "expansion": _change,
    "box-to-round": _change,
    "wye": _junction,
    "tee": _junction,
    "screen": _screen,
    "filter": _filter,
    "loss": _loss,
}
"""How each kind of part of the scenario becomes a part of the duct."""


def path_of(table: Intake, name: str) -> Path:
    """Return one named path of an intake, with its lip and its end in the plenum.

    Parameters
    ----------
    table : Intake
    name : str
        A path of the table, or `SHARED`.

    Returns
    -------
    Path

    Raises
    ------
    RangeError
        If a part has an impossible size.
    """
    chosen = [(at, p) for at, p in enumerate(table.part) if p.path == name]
    built: list[DuctPart] = []
    for number, (at, part) in enumerate(chosen, start=1):
        label = part.name or (part.kind if part.kind == "filter" else f"{part.kind} {number}")
        with about(f"intake.part[{at}]"):
            built.append(BUILDERS[part.kind](part, label))
    sections = [b.section for b in built if b.section is not None]
    if sections and table.lip != "none" and name != SHARED:
        built.insert(0, Lip(name="lip", section=sections[0], k_static=LIPS[table.lip].k))
    ends = [b.outlet for b in built if b.outlet is not None]
    if ends:
        built.append(PlenumExit(name="plenum", section=ends[-1]))
    return Path(tuple(built), 1 if name == SHARED else table.copies, name)
