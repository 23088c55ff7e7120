"""From the scenario's tables to the model of its intake."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from thermo.gas import Gas
from thermo.inputs.air import Intake
from thermo.inputs.power import Engine
from thermo.intake import IntakeModel
from thermo.intake_parts import SHARED, path_of
from thermo.ops import ops_of
from thermo.site import Air

STEEL_DENSITY = 7850.0
WALL_THICKNESS = 2e-3
"""Of a duct whose mass is not given [m]: common practice for frame tube."""


def _spread(
    table: Intake,
    engine: Engine,
    air: Air,
    head_wind: Any,
    power: tuple[Callable[[Any], Any], Callable[[Any], Any]],
    fuel: tuple[Any, Any],
) -> Any:
    """Return zero, with one entry a variant where anything that the intake hangs on has."""
    given = [v for part in (table, *table.part) for _, v in part if isinstance(v, np.ndarray)]
    parts = (
        *given, air.pressure, air.temperature, head_wind, power[0](1.0), power[1](1.0), *fuel,
        engine.displacement, engine.boost_ratio, engine.volumetric_efficiency,
    )
    return 0.0 * sum(parts)


def build_intake(
    table: Intake,
    engine: Engine,
    air: Air,
    head_wind: Any,
    power: tuple[Callable[[Any], Any], Callable[[Any], Any]],
    fuel: tuple[Any, Any],
) -> IntakeModel:
    """Assemble the intake of a scenario.

    Parameters
    ----------
    table : Intake
    engine : Engine
    air : Air
    head_wind : float or ndarray
        [m/s].
    power : tuple of callable
        Brake power at this site without ram [W] and engine speed [rev/s], at a car speed.
    fuel : tuple of (float or ndarray)
        Specific consumption [kg/J] and air-fuel ratio [-].

    Returns
    -------
    IntakeModel

    Raises
    ------
    RangeError
        If a part has an impossible size.
    """
    names = list(dict.fromkeys(p.path for p in table.part if p.path != SHARED))
    ducts = tuple(path_of(table, name) for name in names)
    shared = path_of(table, SHARED) if any(p.path == SHARED for p in table.part) else None
    mass = table.wall_mass
    if mass is None:
        mass = sum((p.wall_area for p in ducts), 0.0) * WALL_THICKNESS * STEEL_DENSITY
    gas = Gas(air.gas_constant, air.gamma, air.viscosity, air.conductivity)
    return IntakeModel(
        table,
        engine,
        air,
        gas,
        head_wind,
        ducts,
        shared,
        power[0],
        power[1],
        fuel[0],
        fuel[1],
        ops_of(mass).maximum(mass, 0.01) * table.wall_specific_heat,
        _spread(table, engine, air, head_wind, power, fuel),
    )
