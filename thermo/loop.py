"""The cooling loop as an ordinary differential equation: metal, jacket, exchanger, lines, tank.

State variables are temperatures of solids and specific enthalpies of liquids, so that what flows
from one cell to the next is conserved exactly and no property is evaluated on the way. Every
formula runs on floats (one event) and on arrays over variants.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from thermo import ice
from thermo.exchanger import heat_rate
from thermo.loop_design import LegDrive, LoopDesign, tank_limit
from thermo.loop_state import (
    CELLS,
    ICE,
    JACKET,
    JACKET_MASS,
    LINE_CELLS,
    METAL,
    OIL,
    PUMP_WORK,
    TANK_MASS,
    TINY_ICE,
    TO_AIR,
    WAX,
    tank_mean,
)
from thermo.ops import FLOATS, Real, ops_of
from thermo.stepping import State, table_lookup


@dataclass(frozen=True, slots=True)
class Transfer:
    """What the exchanger does at one state.

    Attributes
    ----------
    heat : float
        [W].
    effectiveness, ntu, ua : float
        Effectiveness, number of transfer units, conductance [W/K].
    hot_flow, cold_flow : float
        Mass flows through the exchanger [kg/s].
    cold_outlet : float
        Tank water leaving the exchanger [K].
    hot_outlet : float
        Coolant leaving it [K].
    """

    heat: Real
    effectiveness: Real
    ntu: Real
    ua: Real
    hot_flow: Real
    cold_flow: Real
    cold_outlet: Real
    hot_outlet: Real


def exchange(
    design: LoopDesign,
    jacket: Real,
    wax: Real,
    supply: Real,
    tank_out: Real,
    hot_flow: Real,
    cold_volume_flow: Real,
) -> Transfer:
    """Return what the exchanger transfers, quasi-steady.

    Parameters
    ----------
    design : LoopDesign
    jacket, wax, supply, tank_out : float or ndarray
        Coolant, thermostat, water at the exchanger's inlet and at the pump [K].
    hot_flow, cold_volume_flow : float or ndarray
        [m3/s].

    Returns
    -------
    Transfer
        Film coefficients are taken at the inlet temperatures: the cold film is then a little low.
    """
    heat, eps, ntu, ua, m_hot, m_cold, c_hot, c_cold = _transfer(
        design, jacket, wax, supply, tank_out, hot_flow, cold_volume_flow
    )
    xp = ops_of(heat, c_hot, c_cold)
    return Transfer(
        heat,
        eps,
        ntu,
        ua,
        m_hot,
        m_cold,
        supply + heat / xp.maximum(c_cold, 1e-9),
        jacket - heat / xp.maximum(c_hot, 1e-9),
    )


def _transfer(
    design: LoopDesign,
    jacket: Real,
    wax: Real,
    supply: Real,
    tank_out: Real,
    hot_flow: Real,
    cold_volume_flow: Real,
) -> tuple[Real, ...]:
    """Return heat, effectiveness, NTU, UA, mass flows and heat capacity rates (hot, cold)."""
    hot, cold = design.hot, design.cold
    share = 1.0 if design.thermostat is None else design.thermostat.share(wax)
    m_hot = hot_flow * share * hot.density(jacket)
    m_cold = cold_volume_flow * cold.density(tank_out)
    ua = design.conductance.ua(m_hot, hot, jacket, m_cold, cold, supply)
    if isinstance(ua, complex):
        # A power of a property below zero, at a trial step too far out: a shorter one is taken.
        raise ArithmeticError("the exchanger's films have no value so far out")
    c_hot = m_hot * hot.specific_heat(jacket)
    c_cold = m_cold * cold.specific_heat(supply)
    heat, eps, ntu = heat_rate(design.arrangement, ua, c_hot, c_cold, jacket, supply, design.shells)
    return heat, eps, ntu, ua, m_hot, m_cold, c_hot, c_cold


def any_over(cells: State, limit: Real) -> bool:
    """Say whether any cell, of any variant, is over a limit.

    Parameters
    ----------
    cells : list of float or ndarray
        Specific enthalpies [J/kg].
    limit : float or ndarray
        [J/kg].

    Returns
    -------
    bool
    """
    if ops_of(cells[0]) is FLOATS:
        return bool(max(cells) > limit)
    return any(np.any(cell > limit) for cell in cells)


def make_rates(design: LoopDesign, drive: LegDrive) -> Callable[[float, State], State]:
    """Return the right-hand side over normalised time 0..1 of one leg.

    Parameters
    ----------
    design : LoopDesign
    drive : LegDrive

    Returns
    -------
    callable
        ``rates(x, state)``; each rate is multiplied by the leg's duration, so that variants whose
        passes last unequally long march together. Water leaves a cell at saturation at most: what
        a cell holds beyond it within a step is vapour; :mod:`thermo.loop_limits` sees to that.
    """
    hot_t, cold_t = design.hot.temperature, design.cold.temperature
    air, boil, limit = design.air_temperature, design.boil_temperature, tank_limit(design)
    s0, r0, t0 = CELLS, CELLS + LINE_CELLS, CELLS + 2 * LINE_CELLS
    t_end = t0 + design.tank_cells
    short, span = design.short_circuit, drive.duration
    stirred = 1.0 - design.still_share
    thermostat = design.thermostat
    march_supply = _line(design, s0, design.supply_mass, design.supply_air)
    march_return = _line(design, r0, design.return_mass, design.return_air)
    march_tank = _tank(design, drive)

    def rates(x: float, y: State) -> State:
        xp = ops_of(y[JACKET], y[METAL])
        metal, oil = y[METAL], y[OIL]
        jacket = xp.minimum(hot_t(y[JACKET]), boil)
        tank_h = xp.minimum(y[t_end - 1], limit)
        out_h = tank_h + short * (y[t0 - 1] - tank_h)
        out_t = cold_t(out_h)
        hot_flow = table_lookup(drive.hot_flow, x)
        done = _transfer(
            design, jacket, y[WAX], cold_t(y[r0 - 1]), out_t, hot_flow, drive.cold_flow(out_t)
        )
        q, m = done[0], done[5]

        stir = xp.minimum(1.0, hot_flow / design.full_flow)
        g = design.metal_conductance * (design.still_share + stirred * stir)
        q_metal = g * (metal - jacket)
        q_oil = design.oil_cooler * (oil - jacket)
        lost_metal = design.engine_air * (metal - air)
        lost_oil = design.oil_air * (oil - air)

        dy: State = [0.0] * t_end
        dy[METAL] = (
            table_lookup(drive.metal_heat, x) - q_metal - lost_metal
        ) / design.metal_capacity
        dy[JACKET] = (q_metal + q_oil + drive.hot_pump_power - q) / y[JACKET_MASS]
        dy[WAX] = 0.0 if thermostat is None else (jacket - y[WAX]) / thermostat.lag
        dy[OIL] = (table_lookup(drive.oil_heat, x) - q_oil - lost_oil) / design.oil_capacity
        charge = table_lookup(drive.charge_heat, x)
        loss = lost_metal + lost_oil + march_supply(y, dy, m, out_h, drive.cold_pump_power)
        loss = loss + march_return(y, dy, m, y[r0 - 1], q + charge)
        loss = loss + march_tank(y, dy, m * (1.0 - short), out_t)
        dy[TO_AIR] = loss - drive.sun
        dy[PUMP_WORK] = drive.cold_pump_power + drive.hot_pump_power
        return [d * span for d in dy]

    return rates


def _line(
    design: LoopDesign, first: int, mass: Real, conductance: Real
) -> Callable[[State, State, Real, Real, Real], Real]:
    """Return the function that sets the rates of a line's cells and returns their heat loss [W].

    It takes state, rates, mass flow [kg/s], enthalpy at the inlet [J/kg] and the heat that enters
    the first cell [W].
    """
    cold_t, air = design.cold.temperature, design.air_temperature
    loses = bool(np.any(np.asarray(conductance) != 0.0))

    def march(y: State, dy: State, m: Real, h: Real, heat: Real) -> Real:
        loss: Real = 0.0
        for i in range(first, first + LINE_CELLS):
            cell = y[i]
            gain = m * (h - cell)
            if loses:
                lost = conductance * (cold_t(cell) - air)
                loss = loss + lost
                gain = gain - lost
            dy[i] = gain / mass
            h = cell
        dy[first] = dy[first] + heat / mass
        return loss

    return march


def _tank(design: LoopDesign, drive: LegDrive) -> Callable[[State, State, Real, Real], Real]:
    """Return the function that sets the rates of tank and ice and returns the tank's loss [W].

    It takes state, rates, the mass flow through the tank [kg/s] and the temperature of the water
    drawn [K]. The return line enters the first cell, the outlet draws from the last.
    """
    cold_t, cold_cp = design.cold.temperature, design.cold.specific_heat
    air, limit = design.air_temperature, tank_limit(design)
    wall, charge = design.wall_capacity, drive.ice
    n, t0 = design.tank_cells, CELLS + 2 * LINE_CELLS
    t_end = t0 + n
    cells = range(t0, t_end)
    still = n == 1 and isinstance(design.short_circuit, float) and design.short_circuit == 0.0
    # A variant without ice has a charge of no mass: no surface, and no division by it.
    first_ice = 1.0 if charge is None else ops_of(charge.mass).maximum(charge.mass, TINY_ICE)

    def march(y: State, dy: State, m: Real, out_t: Real) -> Real:
        xp = ops_of(y[t0])
        mean_t = out_t if still else cold_t(xp.minimum(tank_mean(y, n), limit))
        loss = design.tank_air * (mean_t - air)
        each = (drive.sun - loss) / n
        cell_mass = y[TANK_MASS] / n
        melt_each: Real = 0.0
        melts: State = []
        if charge is not None:
            # Each cell holds its share of the ice and melts it by its own warmth: none is
            # chilled below the melting point by ice that warmer water melts.
            area, film = charge.area / n, charge.film
            melts = [ice.melt_rate(y[ICE], first_ice, area, film, cold_t(y[i])) for i in cells]
            melt = sum(melts)
            dy[TANK_MASS], dy[ICE] = melt, -melt
            melt_each = melt / n
        boils = any_over(y[t0:t_end], limit)
        h = y[t0 - 1]
        for i in cells:
            cell = y[i]
            kept = xp.minimum(cell, limit) if boils else cell
            gain = m * (h - kept) + each
            if charge is not None:
                gain = gain - melts[i - t0] * charge.heat - melt_each * cell
            mass = cell_mass
            if wall is not None:
                mass = mass + wall / (n * cold_cp(cold_t(cell)))
            dy[i] = gain / mass
            h = kept
        return loss

    return march
