"""The loop's state: how it is laid out, what it is at the start, and the energy it holds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from thermo.loop_design import IceCharge, LoopDesign
from thermo.ops import Real
from thermo.stepping import State

METAL, JACKET, WAX, OIL, JACKET_MASS, TANK_MASS, ICE = range(7)
TO_AIR, PUMP_WORK, STEAM_HEAT, TANK_STEAM = range(7, 11)
CELLS = 11
"""Where each state variable sits; the cells of supply line, return line and tank follow."""

LINE_CELLS = 3
"""Cells a line: its volume matters, the shape of its delay hardly."""

TINY_ICE = 1e-9
"""Mass that stands for no ice where a charge is divided by its own mass [kg]."""


def start_state(
    design: LoopDesign,
    *,
    coolant: Real,
    metal: Real,
    oil: Real,
    tank: Real,
    jacket_mass: Real,
    tank_mass: Real,
    ice: Real,
) -> State:
    """Return the state at the start of an event.

    Parameters
    ----------
    design : LoopDesign
    coolant, metal, oil, tank : float or ndarray
        Temperatures [K]; the lines are as the tank.
    jacket_mass, tank_mass, ice : float or ndarray
        Coolant, active tank water and ice [kg]. To run variants make at least one of these an
        array with one entry a variant.

    Returns
    -------
    list
    """
    y: State = [0.0] * (CELLS + 2 * LINE_CELLS + design.tank_cells)
    y[METAL], y[OIL], y[WAX] = metal, oil, coolant
    y[JACKET] = design.hot.enthalpy(coolant)
    y[JACKET_MASS], y[TANK_MASS], y[ICE] = jacket_mass, tank_mass, ice
    for i in range(CELLS, len(y)):
        y[i] = design.cold.enthalpy(tank)
    alike = 0.0 * (coolant + metal + oil + tank + jacket_mass + tank_mass + ice)
    return [value + alike for value in y]


def tank_mean(state: Sequence[Any], cells: int) -> Real:
    """Return the mean specific enthalpy of the tank's active water [J/kg]; `cells` of them."""
    first = CELLS + 2 * LINE_CELLS
    total = state[first]
    for i in range(first + 1, first + cells):
        total = total + state[i]
    return total / cells  # type: ignore[no-any-return]


def stored_energy(
    design: LoopDesign, y: State, ice: IceCharge | None, dead_mass: Real, dead_enthalpy: Real
) -> Real:
    """Return the energy held by all parts, against liquid at 0 degC and metal at 0 degC [J].

    Parameters
    ----------
    design : LoopDesign
    y : list
        The state.
    ice : IceCharge or None
        In the tank.
    dead_mass, dead_enthalpy : float or ndarray
        Tank water that takes no part [kg], and its specific enthalpy [J/kg].

    Returns
    -------
    float or ndarray
    """
    n = design.tank_cells
    t0 = CELLS + 2 * LINE_CELLS
    cold_t = design.cold.temperature
    total = design.metal_capacity * (y[METAL] - 273.15) + design.oil_capacity * (y[OIL] - 273.15)
    total = total + y[JACKET_MASS] * y[JACKET] + dead_mass * dead_enthalpy
    for i in range(CELLS, CELLS + LINE_CELLS):
        total = total + design.supply_mass * y[i]
    for i in range(CELLS + LINE_CELLS, t0):
        total = total + design.return_mass * y[i]
    for i in range(t0, t0 + n):
        total = total + y[TANK_MASS] / n * y[i]
        if design.wall_capacity is not None:
            total = total + design.wall_capacity / n * (cold_t(y[i]) - 273.15)
    if ice is not None:
        total = total - y[ICE] * ice.heat
    return total  # type: ignore[no-any-return]
