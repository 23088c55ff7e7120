"""A scenario: everything the engine needs to know about one car, one day and one event.

The file format is TOML; see :mod:`thermo.scenario_io`. Values are SI floats; what the user typed
stays in the file. ``Scenario`` is frozen: a variant is a copy made by :func:`with_value`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from pydantic import Field

from thermo.errors import Problem, ScenarioError
from thermo.fields import quantity_of
from thermo.inputs.air import Intake
from thermo.inputs.event import DoubtRange, Leg, Limits
from thermo.inputs.loops import Exchanger, Loop
from thermo.inputs.place import Car, Site
from thermo.inputs.power import Coolant, Engine
from thermo.inputs.table import Conflict, Table
from thermo.inputs.tank import Tank
from thermo.keys import key_of, path_of


class Scenario(Table):
    """One car, one day, one event."""

    schema_: Literal[1] = Field(alias="schema", description="Format of the file: 1.")
    title: str = Field("", max_length=120, description="What to call the scenario.")
    shows: str = Field("", max_length=1000, description="What the scenario is there to show.")
    site: Site
    car: Car
    engine: Engine
    coolant: Coolant
    exchanger: Exchanger = Exchanger()
    tank: Tank
    loop: Loop = Loop()
    intake: Intake | None = None
    limits: Limits = Limits()
    doubt: dict[str, DoubtRange] = Field(
        default_factory=dict, description="Ranges of uncertain inputs, by dotted key."
    )
    leg: tuple[Leg, ...] = Field(description="Legs of the event, in order.", min_length=1)

    @property
    def first_pass(self) -> int:
        """Place of the first leg at full power in the list of legs."""
        return next(i for i, leg in enumerate(self.leg) if leg.kind == "full-power")

    def conflicts(self) -> list[Conflict]:
        """Return contradictions between tables; see :class:`Table`. [poly]"""
        found: list[Conflict] = [
            (
                all(leg.kind != "full-power" for leg in self.leg),
                "the event needs at least one leg of kind 'full-power'",
            ),
            (len(self.leg) > 60, "at most 60 legs"),
            (
                self.engine.curve is not None and self.car.rolling_radius is None,
                "a curve of power or torque needs car.rolling_radius",
            ),
        ]
        for position, leg in enumerate(self.leg):
            found.append((
                (leg.ice_mass > 0.0) & (self.tank.glycol != "none"),
                f"leg[{position}]: ice in a tank with glycol is not modelled; use plain water",
            ))
            found.append((
                leg.ice_mass / 916.72 > 0.950001 * self.tank.fill * self.tank.volume,
                f"leg[{position}].ice_mass does not fit into the tank with any water left",
            ))
        return found


def with_value(scenario: Scenario, key: str, value: object) -> Scenario:
    """Return a copy of `scenario` with one input replaced by an SI value, without validation.

    Parameters
    ----------
    scenario : Scenario
        The original; it is not changed.
    key : str
        Dotted key, such as ``tank.volume`` or ``leg.2.distance``.
    value : object
        The SI value.

    Returns
    -------
    Scenario
        A copy that shares every other table with the original.

    Raises
    ------
    ScenarioError
        If there is no such key.
    """
    changed = _changed(scenario, key, value)
    if not isinstance(changed, Scenario):
        raise TypeError("the copy of a scenario is a scenario")
    return changed


def _changed(table: Any, key: str, value: object) -> Any:
    """Return a copy of a table, or of a list of them, with one value replaced."""
    head, _, rest = key.partition(".")
    if isinstance(table, tuple):
        position = int(head)
        return (*table[:position], _changed(table[position], rest, value), *table[position + 1 :])
    name = {"return": "return_", "schema": "schema_"}.get(head, head)
    if not hasattr(table, name):
        raise ScenarioError("with_value", [Problem(key, "", "no such input")])
    new = value if not rest else _changed(getattr(table, name), rest, value)
    return table.model_copy(update={name: new})


def placed(scenario: Scenario, key: str) -> str | None:
    """Return a key with its places in lists as numbers.

    Parameters
    ----------
    scenario : Scenario
    key : str
        Dotted key; an entry of a list by its place or its name.

    Returns
    -------
    str or None
        None when it names no quantity of the scenario.
    """
    if quantity_of(Scenario, key) is None:
        return None
    table: Any = scenario
    path: list[str | int] = []
    for part in path_of(key):
        if isinstance(table, tuple):
            if isinstance(part, str):
                labels = [str(getattr(entry, "label", None) or entry.name) for entry in table]
                if part not in labels:
                    return None
                part = labels.index(part)
            if part >= len(table):
                return None
            table = table[part]
        else:
            name = {"return": "return_"}.get(str(part), str(part))
            if not isinstance(table, Table) or not hasattr(table, name):
                return None
            table = getattr(table, name)
        path.append(part)
    return None if isinstance(table, Table | tuple) else key_of(tuple(path))


def tables_of(table: Table, place: str = "") -> Iterator[tuple[str, Table]]:
    """Return a table and all in it, innermost first, each with its key.

    Parameters
    ----------
    table : Table
        Such as a scenario.
    place : str
        Its own dotted key.

    Returns
    -------
    iterator of (str, Table)
    """
    for name, value in table:
        key = f"{place}.{name.rstrip('_')}".lstrip(".")
        if isinstance(value, Table):
            yield from tables_of(value, key)
        elif isinstance(value, tuple):
            for i, entry in enumerate(value):
                if isinstance(entry, Table):
                    yield from tables_of(entry, f"{key}[{i}]")
    yield place, table


def held_values(scenario: Scenario) -> dict[str, float | None]:
    """Return every quantity that a scenario may hold, by dotted key.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    dict of str to (float or None)
        The value [SI]; None where it is not given.
    """
    found: dict[str, float | None] = {}
    for place, table in tables_of(scenario):
        for name, value in table:
            key = f"{place}.{name.rstrip('_')}".lstrip(".")
            single = value is None or isinstance(value, float)
            if single and quantity_of(Scenario, key) is not None:
                found[key] = value
    return found
