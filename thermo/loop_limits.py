"""What an integration step may not know of: boiling of coolant and tank, end and growth of ice.

Within a step the heat beyond saturation stays in the cell's enthalpy, where it is counted exactly;
after the step, and at any point between two steps, :func:`make_projection` turns it into steam.
"""

from __future__ import annotations

from collections.abc import Callable

from thermo.ice import T_MELT
from thermo.loop import any_over
from thermo.loop_design import NEVER, IceCharge, LoopDesign, tank_limit
from thermo.loop_state import (
    CELLS,
    ICE,
    JACKET,
    JACKET_MASS,
    LINE_CELLS,
    METAL,
    STEAM_HEAT,
    TANK_MASS,
    TANK_STEAM,
    TINY_ICE,
)
from thermo.ops import Real, ops_of
from thermo.stepping import State


def make_projection(
    design: LoopDesign,
    ice: IceCharge | None = None,
    dry_mass: Real = 0.0,
    dry_tank: Real = 0.0,
) -> Callable[[float, State], bool]:
    """Return the function that mends an accepted state: boiling of jacket and tank, end of ice.

    Parameters
    ----------
    design : LoopDesign
    ice : IceCharge or None
        The charge in the tank.
    dry_mass : float
        Coolant at which the jacket counts as dry [kg]. No less is left: heat beyond goes as steam
        without mass, so that one variant run dry does not spoil the others of an array.
    dry_tank : float
        The same of the tank's active water [kg].

    Returns
    -------
    callable
        ``project(x, state)`` changes the state in place and says whether it did. Heat beyond
        saturation leaves as steam from the jacket; in the tank the vapour of an overheated cell
        condenses in the cooler ones and leaves only when all are at saturation. Ice melted beyond
        the last gives its heat back, and water about ice freezes onto it where it would be colder
        than ice melts. Energy is conserved exactly in each case.
    """
    hot_limit = design.hot.enthalpy(design.boil_temperature)
    hot_latent = design.hot.latent_heat(design.boil_temperature)
    cold_limit, cold_latent = tank_limit(design), 1.0
    melting = design.cold.enthalpy(T_MELT) if ice is not None else 0.0
    cells = range(CELLS + 2 * LINE_CELLS, CELLS + 2 * LINE_CELLS + design.tank_cells)
    if not (isinstance(cold_limit, float) and cold_limit == NEVER):
        cold_latent = design.cold.latent_heat(design.tank_boil_temperature)

    def project(_x: float, y: State) -> bool:
        changed = False
        xp = ops_of(y[JACKET], y[METAL])
        over = y[JACKET] - hot_limit
        if xp.any_(over > 0.0):
            mass = y[JACKET_MASS]
            over = xp.maximum(over, 0.0)
            steam = xp.minimum(mass * over / hot_latent, xp.maximum(mass - dry_mass, 0.0))
            y[JACKET] = xp.minimum(y[JACKET], hot_limit)
            y[JACKET_MASS] = mass - steam
            y[STEAM_HEAT] = y[STEAM_HEAT] + mass * over + steam * hot_limit
            changed = True
        if ice is not None and xp.any_((y[ICE] < TINY_ICE) & (y[ICE] != 0.0)):
            _unmelt(design, y, ice)
            changed = True
        if ice is not None and any(xp.any_((y[i] < melting) & (y[ICE] > 0.0)) for i in cells):
            _freeze_on(design, y, ice, melting)
            changed = True
        return _tank_boils(design, y, cold_limit, cold_latent, dry_tank) or changed

    return project


def _tank_boils(design: LoopDesign, y: State, limit: Real, latent: Real, dry: Real) -> bool:
    """Condense the vapour of overheated cells in cooler ones; let the rest go as steam."""
    first, n = CELLS + 2 * LINE_CELLS, design.tank_cells
    if not any_over(y[first : first + n], limit):
        return False
    xp = ops_of(y[first])
    excess: Real = 0.0
    for i in range(first, first + n):
        excess = excess + xp.maximum(y[i] - limit, 0.0)
    # All cells are of one mass, so enthalpy per kilogram may be handed from one to another.
    for i in range(first + n - 1, first - 1, -1):
        cell = xp.minimum(y[i], limit)
        taken = xp.minimum(excess, limit - cell)
        y[i] = xp.minimum(cell + taken, limit)
        excess = excess - taken
    heat = excess * _cell_mass(design, y, limit)
    mass = y[TANK_MASS]
    steam = xp.minimum(heat / latent, xp.maximum(mass - dry, 0.0))
    y[TANK_MASS] = mass - steam
    y[TANK_STEAM] = y[TANK_STEAM] + steam
    y[STEAM_HEAT] = y[STEAM_HEAT] + heat + steam * limit
    return True


def _unmelt(design: LoopDesign, y: State, ice: IceCharge) -> None:
    """Take back the water of ice that was not there, and give each cell its heat again.

    A trace that is left is melted.
    """
    xp = ops_of(y[ICE])
    n = design.tank_cells
    back = xp.where(y[ICE] < TINY_ICE, -y[ICE], 0.0)
    y[ICE] = xp.where(y[ICE] < TINY_ICE, 0.0, y[ICE])
    y[TANK_MASS] = y[TANK_MASS] - back
    for i in range(CELLS + 2 * LINE_CELLS, CELLS + 2 * LINE_CELLS + n):
        y[i] = y[i] + back / n * (ice.heat + y[i]) / _cell_mass(design, y, y[i])


def _freeze_on(design: LoopDesign, y: State, ice: IceCharge, melting: Real) -> None:
    """Freeze as much water onto the ice as brings each cell back to where ice melts."""
    xp = ops_of(y[ICE])
    n = design.tank_cells
    cells = range(CELLS + 2 * LINE_CELLS, CELLS + 2 * LINE_CELLS + n)
    wet = xp.where(y[ICE] > 0.0, 1.0 / (ice.heat + melting), 0.0)
    each = [xp.maximum(melting - y[i], 0.0) * _cell_mass(design, y, y[i]) * wet for i in cells]
    frozen = sum(each)
    y[ICE] = y[ICE] + frozen
    y[TANK_MASS] = y[TANK_MASS] - frozen
    for i, own in zip(cells, each, strict=True):
        y[i] = y[i] + (own * ice.heat + frozen / n * y[i]) / _cell_mass(design, y, y[i])


def _cell_mass(design: LoopDesign, y: State, h: Real) -> Real:
    """Return the mass of one tank cell at enthalpy `h`, its share of wall counted as water [kg]."""
    mass = y[TANK_MASS]
    if design.wall_capacity is not None:
        cold = design.cold
        mass = mass + design.wall_capacity / cold.specific_heat(cold.temperature(h))
    return mass / design.tank_cells  # type: ignore[no-any-return]
