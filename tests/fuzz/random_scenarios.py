"""Scenarios drawn at random over everything the inputs allow, from the models' own metadata.

A seed gives one scenario, always the same one for the same inputs. What the models refuse is drawn
anew, so that all that comes out is valid; nothing is known here of what the numbers mean, apart
from pairs that must rise and the one leg that every event needs.
"""

from __future__ import annotations

import math
import random
import types
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Le, MaxLen, MinLen
from pydantic import BaseModel, ValidationError

from thermo.cooling import build_cooling
from thermo.driving import drive_or_refuse
from thermo.errors import ScenarioError
from thermo.fields import Quantity
from thermo.fittings import FITTINGS
from thermo.inputs.air import NEEDS
from thermo.inputs.event import KINDS, Leg
from thermo.inputs.loops import Exchanger, Loop
from thermo.inputs.place import Car, Site
from thermo.inputs.power import Coolant, Engine
from thermo.inputs.tank import Tank
from thermo.keys import options_of
from thermo.scenario import Scenario
from thermo.scenario_io import read_scenario
from thermo.site_air import site_air
from thermo.units import kind_named, parse

TRIES = 4000
MENDS = 60
"""Most tables of one scenario drawn anew."""
AS_DRAWN = 6
"""One scenario in so many is left as it was drawn first, refused or not."""
TABLES: dict[str, type[BaseModel]] = {
    "site": Site, "car": Car, "engine": Engine, "coolant": Coolant, "exchanger": Exchanger,
    "tank": Tank, "loop": Loop,
}
PLAIN = {"title": "drawn at random", "shows": "", "name": "", "doubt": {}, "path": "duct"}
"""Texts that mean nothing to the engine, apart from paths, which are drawn."""

ONE_OF = (
    ("duration", "distance", "until_speed"), ("power", "power_curve", "torque_curve"),
    ("heat_share", "heat_power", "fuel_heat_share"), ("metal_mass", "metal_heat_capacity"),
    ("ua", "rated", "double_pipe", "plate"), ("relative_humidity", "dew_point"),
    ("pressure", "altimeter"), ("glycol_fraction", "glycol_mass_fraction"),
)
"""Inputs of which at most one is given; which, chance decides."""
NEEDED = {"Leg": ONE_OF[0], "Engine": ONE_OF[1]}
"""Tables that need one of them."""
WARM = ("start_temperature", "sealing_temperature")
"""Inputs mostly drawn above freezing, since plain water below it is refused at once."""
OF_KIND = {
    "swap_fraction": "service", "swap_temperature": "service", "ice_mass": "service",
    "parachute_area": "coast", "engine": "soak",
}
"""Inputs that belong to one kind of leg."""


def usual() -> dict[tuple[str, str], float]:
    """Return what the shipped scenarios have in each field, by table and name."""
    found: dict[tuple[str, str], float] = {}
    waiting: list[Any] = [read_scenario(path).scenario for path in sorted(SCENARIOS.glob("*.toml"))]
    while waiting:
        item = waiting.pop()
        if isinstance(item, tuple):
            waiting.extend(item)
        if not isinstance(item, BaseModel):
            continue
        for field in type(item).model_fields:
            value = getattr(item, field)
            if isinstance(value, float):
                found.setdefault((type(item).__name__, field), value)
            waiting.append(value)
    return found


SCENARIOS = Path(__file__).resolve().parents[2] / "scenarios"
USUAL = usual()


class Draw:
    """One source of chance with a habit of its own: how much it states, how far it strays.

    Parameters
    ----------
    seed : int
    """

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(seed)
        self.habit = self.chance.choice((0.05, 0.2, 0.5, 0.8))
        self.stated = self.habit
        self.wild = self.chance.choice((0.03, 0.1, 0.3, 1.0))

    def quantity(self, field: Quantity, default: float | None) -> Any:
        """Return a value in range as it is written in a file: an end, anywhere, or usual."""
        low, high = field.range_si
        roll = self.chance.random()
        if roll < 0.12 * self.wild:
            return field.high if field.open_low or self.chance.random() < 0.5 else field.low
        if default is not None and roll > self.wild:
            si = default + self.chance.gauss(0.0, 0.2) * (abs(default) or 0.02 * (high - low))
        elif low >= 0.0 and not kind_named(field.kind).is_point and self.chance.random() < 0.6:
            least = low or 1e-4 * high
            si = math.exp(self.chance.uniform(math.log(least), math.log(high)))
        else:
            si = self.chance.uniform(low, high)
        text = field.format(min(max(si, low), high), digits=9)
        return float(text) if kind_named(field.kind).is_bare else text

    def value(self, annotation: Any, metadata: tuple[Any, ...], default: Any, name: str) -> Any:
        """Return a value of a field of this type."""
        if get_origin(annotation) is Annotated:
            inner, *more = get_args(annotation)
            return self.value(inner, (*metadata, *more), default, name)
        found = next((m for m in metadata if isinstance(m, Quantity)), None)
        if found is not None:
            return self.quantity(found, default if isinstance(default, float) else None)
        if get_origin(annotation) in (Union, types.UnionType):
            (option,) = [a for a in get_args(annotation) if a is not types.NoneType]
            return self.value(option, metadata, default, name)
        if get_origin(annotation) is Literal:
            return self.chance.choice(get_args(annotation))
        if annotation is bool:
            return self.chance.random() < 0.5
        if annotation is int:
            least = next(m.ge for m in metadata if isinstance(m, Ge))
            most = next(m.le for m in metadata if isinstance(m, Le))
            return self.chance.randint(least, min(most, least + 12))
        if annotation is str:
            return self.chance.choice(("duct", "duct", "other", "plenum"))
        if get_origin(annotation) is tuple:
            return self.entries(annotation, metadata, name)
        return self.table(annotation)

    def entries(self, annotation: Any, metadata: tuple[Any, ...], name: str) -> list[Any]:
        """Return a list: pairs that rise, names of fittings, or tables."""
        element, *rest = get_args(annotation)
        if rest != [Ellipsis]:
            return [self.value(e, (), None, name) for e in (element, *rest)]
        least = next((m.min_length for m in metadata if isinstance(m, MinLen)), 0)
        most = next((m.max_length for m in metadata if isinstance(m, MaxLen)), 6)
        count = self.chance.randint(least, max(least, min(most, self.chance.choice((2, 6)))))
        if name == "fittings":
            return [self.chance.choice(sorted(FITTINGS)) for _ in range(count)]
        if element is str:
            return [f"plug {n}" for n in range(count)]
        return [self.value(element, (), None, name) for _ in range(count)]

    def table(self, model: type[BaseModel]) -> dict[str, Any]:
        """Return a table that its model accepts by itself."""
        for attempt in range(TRIES):
            self.stated = self.chance.random() if attempt else self.habit
            raw = self.attempt(model)
            self.stated = self.habit
            try:
                model.model_validate(raw)
            except ValidationError:
                continue
            return raw
        raise AssertionError(f"{model.__name__}: nothing valid in {TRIES} tries")

    def attempt(self, model: type[BaseModel]) -> dict[str, Any]:
        """Return one try at a table."""
        raw: dict[str, Any] = {}
        chosen = self.chance.choice(NEEDED.get(model.__name__, ("",)))
        kept = {self.chance.choice(group) for group in ONE_OF}
        passed = {key for group in ONE_OF for key in group} - kept
        for field, info in model.model_fields.items():
            key = info.alias or field
            if model.__name__ == "Leg" and OF_KIND.get(key, raw.get("kind")) != raw.get("kind"):
                continue
            if key != chosen and (key in passed or key in NEEDED.get(model.__name__, ())):
                continue
            if key in PLAIN and not (key == "path" and self.chance.random() < 0.3):
                continue
            needed = key == chosen or key in NEEDS.get(raw.get("kind", ""), ())
            if not info.is_required() and not needed and self.chance.random() > self.stated:
                continue
            default = USUAL.get((model.__name__, field), info.default)
            raw[key] = self.value(info.annotation, tuple(info.metadata), default, key)
            if key in WARM and self.chance.random() < 0.9:
                raw[key] = f"{self.chance.uniform(1.0, 95.0):.3f} degC"
            if key.endswith("curve"):
                raw[key] = rising(raw[key], info.annotation)
            if key == "curve" and self.chance.random() < 0.9:
                raw[key] = falling(raw[key])
        return raw


def rising(pairs: list[list[Any]], annotation: Any) -> list[list[Any]]:
    """Return pairs in the order of their first quantity."""
    (whole,) = options_of(annotation)
    first = get_args(get_args(whole)[0])[0]
    field = next(m for m in get_args(first)[1:] if isinstance(m, Quantity))
    return sorted(pairs, key=lambda pair: field.parse(pair[0]))


def falling(pairs: list[list[str]]) -> list[list[str]]:
    """Return points of a pump curve as makers give them: from no flow on, the head falling."""
    heads = sorted((head for _, head in pairs), key=lambda head: -parse(head, "length"))
    flows = ["0 L/min", *(flow for flow, _ in pairs[1:])]
    return [list(pair) for pair in zip(flows, heads, strict=True)]


def raw_scenario(seed: int) -> dict[str, Any]:
    """Return the tables of one valid scenario, as they would be read from a file.

    Parameters
    ----------
    seed : int
        Which one.

    Returns
    -------
    dict
    """
    return _drawn(Draw(seed), seed)


def likely_scenario(seed: int) -> dict[str, Any]:
    """Return the tables of one valid scenario, seldom refused for a leg that cannot be driven.

    Parameters
    ----------
    seed : int
        Which one. Of most, tables and legs that an event without its duct is refused for are
        drawn anew, over the same ranges; one in `AS_DRAWN` is left as :func:`raw_scenario` has it.

    Returns
    -------
    dict
    """
    draw = Draw(seed)
    raw = _drawn(draw, seed)
    if seed % AS_DRAWN == 0:
        return raw
    tries = 0
    while (keys := _refused(raw)) and tries < MENDS:
        tries += 1
        key = draw.chance.choice(keys)
        new = _redrawn(draw, raw, key)
        try:
            Scenario.model_validate(new)
        except ValidationError:
            continue
        raw = new
    return raw


def _refused(raw: dict[str, Any]) -> list[str]:
    """Return the keys that day, loop or drive of an event are refused for."""
    scenario = Scenario.model_validate(raw).model_copy(update={"intake": None})
    try:
        air = site_air(scenario)
        build_cooling(scenario, air)
        drive_or_refuse(scenario, air)
    except ScenarioError as error:
        return [problem.key for problem in error.problems]
    return []


def _redrawn(draw: Draw, raw: dict[str, Any], key: str) -> dict[str, Any]:
    """Return the tables with one drawn anew that a key names, or that decides what it names."""
    if not key.startswith("leg["):
        table = key.split(".")[0]
        return {**raw, table: draw.table(TABLES[table])}
    number = int(key[4:-1])
    other = draw.chance.choice(("car", "engine", "leg", "leg"))
    if other != "leg":
        return {**raw, other: draw.table(TABLES[other])}
    legs = list(raw["leg"])
    for _ in range(TRIES):
        leg = draw.table(Leg)
        if leg["kind"] == legs[number]["kind"]:
            legs[number] = leg
            break
    return {**raw, "leg": legs}


def _drawn(draw: Draw, seed: int) -> dict[str, Any]:
    """Return the first valid scenario of a source of chance."""
    for _ in range(TRIES):
        raw = draw.attempt(Scenario)
        if all(leg["kind"] != "full-power" for leg in raw["leg"]):
            continue
        if draw.wild < 1.0:  # as on the day; else in any order
            raw["leg"].sort(key=lambda leg: KINDS.index(leg["kind"]))
        try:
            Scenario.model_validate(raw)
        except ValidationError:
            continue
        return raw
    raise AssertionError(f"seed {seed}: nothing valid in {TRIES} tries")
