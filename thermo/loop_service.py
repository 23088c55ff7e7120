"""What the crew does to the tank between two pieces: fresh water, ice, the lid."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from thermo.errors import InfeasibleError
from thermo.loop_design import IceCharge, LoopDesign
from thermo.loop_state import (
    CELLS,
    ICE,
    LINE_CELLS,
    METAL,
    TANK_MASS,
    TINY_ICE,
    stored_energy,
    tank_mean,
)
from thermo.ops import Real, ops_of
from thermo.stepping import State

MOST_ICE = 0.95
"""Share of the tank's water that the ice of a service may take the place of."""


@dataclass(frozen=True, slots=True)
class Service:
    """What the crew does to the tank between two pieces.

    Attributes
    ----------
    swap_fraction : float
        Share of the tank's water drained and refilled.
    swap_temperature : float
        Of the fresh water [K].
    ice : IceCharge or None
        Ice put in, displacing as much water.
    ice_mass : float
        [kg].
    reseal : bool
        Whether the lid is opened and shut anew.
    """

    swap_fraction: Real
    swap_temperature: Real
    ice: IceCharge | None
    ice_mass: Real
    reseal: bool


def serve(
    design: LoopDesign,
    y: State,
    service: Service,
    ice: IceCharge | None,
    dead_mass: Real,
    dead_enthalpy: Real,
) -> tuple[State, IceCharge | None, Real, Real]:
    """Do what the crew does to the tank.

    Parameters
    ----------
    design : LoopDesign
    y : list
        The state before; it is not changed.
    service : Service
    ice : IceCharge or None
        In the tank before.
    dead_mass, dead_enthalpy : float or ndarray
        Tank water that takes no part [kg], and its specific enthalpy [J/kg].

    Returns
    -------
    tuple of (list, IceCharge or None, float or ndarray, float or ndarray)
        State, ice and enthalpy of the dead water [J/kg] after it, and the energy added [J].

    Raises
    ------
    InfeasibleError
        If the ice takes the place of more than ``MOST_ICE`` of the tank's water.
    """
    xp = ops_of(y[METAL])
    n = design.tank_cells
    t0 = CELLS + 2 * LINE_CELLS
    before = stored_energy(design, y, ice, dead_mass, dead_enthalpy)
    y = list(y)
    fresh = design.cold.enthalpy(service.swap_temperature)
    active = y[TANK_MASS]
    mean = (active * tank_mean(y, n) + dead_mass * dead_enthalpy) / (active + dead_mass)
    mixed = mean + service.swap_fraction * (fresh - mean)
    stirred = service.swap_fraction > 0.0
    if service.ice is not None:
        over = service.ice_mass > MOST_ICE * active
        if xp.any_(over):
            error = InfeasibleError(
                "the ice of a service does not fit: it takes the place of more water than the "
                f"tank then holds; {_most(active, over)} fits",
                float(np.min(active)),
            )
            error.where = over if isinstance(over, np.ndarray) else None
            raise error
        # The ice takes the place of as much water of the mixture; what was left of an older
        # charge joins the new one at its own state.
        y[TANK_MASS] = active - service.ice_mass
        total = xp.maximum(service.ice_mass + y[ICE], TINY_ICE)
        old = 0.0 if ice is None else ice.heat
        heat = (service.ice_mass * service.ice.heat + y[ICE] * old) / total
        area = service.ice.area + (0.0 if ice is None else ice.area * _left(y[ICE], ice.mass))
        y[ICE] = service.ice_mass + y[ICE]
        ice = IceCharge(total, area, service.ice.film, heat)
        stirred = stirred | (service.ice_mass > 0.0)
    if xp.any_(stirred):
        mixed = _with_wall(design, y, y[TANK_MASS] + dead_mass, mixed)
        dead_enthalpy = xp.where(stirred, mixed, dead_enthalpy)
        for i in range(t0, t0 + n):
            y[i] = xp.where(stirred, mixed, y[i])
    return y, ice, dead_enthalpy, stored_energy(design, y, ice, dead_mass, dead_enthalpy) - before


def _most(active: Real, over: Real) -> str:
    """Say how much ice fits where too much was put in, from the tank's active water [kg]."""
    held = np.broadcast_to(active, np.shape(over))[np.asarray(over)]
    # Rounded down, so that the figure as told fits.
    low, high = (math.floor(100.0 * MOST_ICE * float(kg) + 1e-6) / 100.0
                 for kg in (np.min(held), np.max(held)))
    return f"at most {low:g} kg" if low == high else f"at most {low:g} to {high:g} kg, by variant,"


def _with_wall(design: LoopDesign, y: State, mass: Real, mixed: Real) -> Real:
    """Return the enthalpy [J/kg] of water put into the tank once the wall is as warm as it."""
    if design.wall_capacity is None:
        return mixed
    cold, n = design.cold, design.tank_cells
    t0 = CELLS + 2 * LINE_CELLS
    wall_t: Real = 0.0
    for i in range(t0, t0 + n):
        wall_t = wall_t + cold.temperature(y[i]) / n
    h = mixed
    for _ in range(3):
        t = cold.temperature(h)
        gap = mass * (h - mixed) + design.wall_capacity * (t - wall_t)
        h = h - gap / (mass + design.wall_capacity / cold.specific_heat(t))
    return h


def _left(mass: Real, first: Real) -> Real:
    """Return the share of its first surface that a charge of ice still has."""
    xp = ops_of(mass, first)
    share = xp.maximum(mass, 0.0) / xp.maximum(first, TINY_ICE)
    return share ** (2.0 / 3.0)  # type: ignore[no-any-return]
