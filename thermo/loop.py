"""The cooling loop as an ordinary differential equation: metal, jacket, exchanger, lines, tank.

State variables are temperatures of solids and specific enthalpies of liquids, so that what flows
from one cell to the next is conserved exactly and no property is evaluated on the way. Every
formula runs on floats (one event) and on arrays over variants.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from thermo import ice
from thermo.conductance import Conductance
from thermo.exchanger import heat_rate
from thermo.liquids import Liquid
from thermo.ops import Real, ops_of
from thermo.stepping import State, table_lookup

METAL, JACKET, WAX, OIL, JACKET_MASS, TANK_MASS, ICE = range(7)
TO_AIR, PUMP_WORK, STEAM_HEAT, TANK_STEAM = range(7, 11)
CELLS = 11
"""Where each state variable sits; the cells of supply line, return line and tank follow."""

LINE_CELLS = 3
"""Cells a line: its volume matters, the shape of its delay hardly."""

NEVER = float("inf")


@dataclass(frozen=True, slots=True)
class Thermostat:
    """Wax thermostat: share of the hot flow that reaches the exchanger.

    Attributes
    ----------
    opens, full_open : float
        [K].
    bleed : float
        Share passed when shut, 0 to 1.
    lag : float
        First-order time constant of the wax [s].
    stuck_shut : bool
        Whether it never opens.
    """

    opens: Real
    full_open: Real
    bleed: Real
    lag: Real
    stuck_shut: bool

    def share(self, wax: Real) -> Real:
        """Return the share of the flow that passes at wax temperature `wax` [K]."""
        if self.stuck_shut:
            return self.bleed
        xp = ops_of(wax)
        lift = xp.minimum(1.0, xp.maximum(0.0, (wax - self.opens) / (self.full_open - self.opens)))
        return self.bleed + (1.0 - self.bleed) * lift


@dataclass(frozen=True, slots=True)
class IceCharge:
    """Water ice as it was put in.

    Attributes
    ----------
    mass : float
        [kg].
    area : float
        Melting surface of that mass [m2].
    film : float
        Film coefficient between water and ice [W/m2 K].
    heat : float
        Heat that takes 1 kg from its own temperature to water at 0 degC [J/kg].
    """

    mass: Real
    area: Real
    film: Real
    heat: Real


@dataclass(frozen=True, slots=True)
class LoopDesign:
    """What does not change during an event.

    Attributes
    ----------
    hot, cold : Liquid
        Coolant and tank liquid.
    conductance : Conductance
        The exchanger's UA model; `arrangement` and `shells` its flow arrangement.
    metal_capacity, oil_capacity : float
        [J/K].
    metal_conductance : float
        Metal to coolant with full flow [W/K]; `still_share` of it with none.
    full_flow : float
        Hot flow at which `metal_conductance` holds [m3/s].
    engine_air, oil_cooler : float
        Metal to air, oil to coolant [W/K].
    boil_temperature : float
        Coolant saturation at ambient plus cap pressure [K].
    tank_boil_temperature : float
        Saturation at which the tank's closure lets steam go [K], ``inf`` when it never does.
    supply_mass, return_mass : float
        Water in one cell of each line [kg].
    supply_air, return_air, tank_air : float
        Heat loss of one line cell, and of the whole tank [W/K].
    tank_cells : int
        1 for mixed and adverse, more for plug flow.
    wall_capacity : float
        Tank wall that follows the water [J/K]; None for none.
    short_circuit : float
        Share of the return flow that goes straight to the tank's outlet.
    thermostat : Thermostat or None
    air_temperature : float
        [K].
    """

    hot: Liquid
    cold: Liquid
    conductance: Conductance
    arrangement: str
    shells: int
    metal_capacity: Real
    metal_conductance: Real
    still_share: Real
    full_flow: Real
    engine_air: Real
    oil_capacity: Real
    oil_cooler: Real
    boil_temperature: Real
    tank_boil_temperature: Real
    supply_mass: Real
    return_mass: Real
    supply_air: Real
    return_air: Real
    tank_air: Real
    tank_cells: int
    wall_capacity: Real | None
    short_circuit: Real
    thermostat: Thermostat | None
    air_temperature: Real


@dataclass(frozen=True, slots=True)
class LegDrive:
    """What the loop is subjected to during one leg, or a piece of one.

    Attributes
    ----------
    duration : float
        [s]; an array over variants when they differ.
    metal_heat, oil_heat, charge_heat : sequence
        Heat into metal, oil and the return line [W] on a uniform grid over the leg.
    hot_flow : sequence
        Coolant flow [m3/s] on the same kind of grid.
    cold_flow : callable
        ``cold_flow(T)`` is the tank-loop flow [m3/s] with water of temperature T [K].
    cold_pump_power, hot_pump_power : float
        Work put into each loop [W].
    sun : float
        Heat into the tank [W].
    ice : IceCharge or None
        Ice in the tank, when there is any.
    """

    duration: Real
    metal_heat: Sequence[Real]
    oil_heat: Sequence[Real]
    charge_heat: Sequence[Real]
    hot_flow: Sequence[Real]
    cold_flow: Callable[[Real], Real]
    cold_pump_power: Real
    hot_pump_power: Real
    sun: Real
    ice: IceCharge | None


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


def exchange(design: LoopDesign, jacket: Real, wax: Real, supply: Real, tank_out: Real,
             hot_flow: Real, cold_volume_flow: Real) -> Transfer:
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
    hot, cold = design.hot, design.cold
    share = 1.0 if design.thermostat is None else design.thermostat.share(wax)
    m_hot = hot_flow * share * hot.density(jacket)
    m_cold = cold_volume_flow * cold.density(tank_out)
    ua = design.conductance.ua(m_hot, hot, jacket, m_cold, cold, supply)
    c_hot = m_hot * hot.specific_heat(jacket)
    c_cold = m_cold * cold.specific_heat(supply)
    heat, eps, ntu = heat_rate(design.arrangement, ua, c_hot, c_cold, jacket, supply, design.shells)
    xp = ops_of(heat, c_hot, c_cold)
    return Transfer(
        heat, eps, ntu, ua, m_hot, m_cold,
        supply + heat / xp.maximum(c_cold, 1e-9), jacket - heat / xp.maximum(c_hot, 1e-9))


def tank_mean(state: Sequence[Any], cells: int) -> Real:
    """Return the mean specific enthalpy of the tank's active water [J/kg]."""
    first = CELLS + 2 * LINE_CELLS
    total = state[first]
    for i in range(first + 1, first + cells):
        total = total + state[i]
    return total / cells  # type: ignore[no-any-return]


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
        passes last unequally long march together.
    """
    hot_t, cold_t = design.hot.temperature, design.cold.temperature
    cold_cp = design.cold.specific_heat
    air = design.air_temperature
    span = drive.duration
    n_tank = design.tank_cells
    s0, r0, t0 = CELLS, CELLS + LINE_CELLS, CELLS + 2 * LINE_CELLS
    t_end = t0 + n_tank
    ms, mr = design.supply_mass, design.return_mass
    wall, short = design.wall_capacity, design.short_circuit
    conductance_span = 1.0 - design.still_share
    thermostat, charge = design.thermostat, drive.ice

    def rates(x: float, y: State) -> State:
        xp = ops_of(y[JACKET], y[METAL])
        metal, oil = y[METAL], y[OIL]
        jacket = xp.minimum(hot_t(y[JACKET]), design.boil_temperature)
        tank_h = y[t_end - 1]
        returned = y[r0 + LINE_CELLS - 1]
        out_h = tank_h + short * (returned - tank_h)
        supply = cold_t(y[s0 + LINE_CELLS - 1])
        hot_flow = table_lookup(drive.hot_flow, x)
        flow = drive.cold_flow(cold_t(out_h))
        done = exchange(design, jacket, y[WAX], supply, supply, hot_flow, flow)
        q, m = done.heat, done.cold_flow

        stir = xp.minimum(1.0, hot_flow / design.full_flow)
        g = design.metal_conductance * (design.still_share + conductance_span * stir)
        q_metal = g * (metal - jacket)
        q_oil = design.oil_cooler * (oil - jacket)
        loss = design.engine_air * (metal - air)

        dy: State = [0.0] * t_end
        dy[METAL] = (table_lookup(drive.metal_heat, x) - q_metal - loss) / design.metal_capacity
        dy[JACKET] = (q_metal + q_oil + drive.hot_pump_power - q) / y[JACKET_MASS]
        dy[WAX] = 0.0 if thermostat is None else (jacket - y[WAX]) / thermostat.lag
        dy[OIL] = (table_lookup(drive.oil_heat, x) - q_oil) / design.oil_capacity

        # Supply line: tank outlet to exchanger. Return line: exchanger to tank.
        h = out_h
        pumped = drive.cold_pump_power
        for i in range(s0, r0):
            cell = y[i]
            lost = design.supply_air * (cold_t(cell) - air)
            dy[i] = (m * (h - cell) - lost + pumped) / ms
            loss = loss + lost
            pumped = 0.0
            h = cell
        heat_in = q + table_lookup(drive.charge_heat, x)
        for i in range(r0, t0):
            cell = y[i]
            lost = design.return_air * (cold_t(cell) - air)
            dy[i] = (m * (h - cell) + heat_in - lost) / mr
            loss = loss + lost
            heat_in = 0.0
            h = cell

        # Tank: the return enters the first cell and the outlet draws from the last.
        through = m * (1.0 - short)
        cell_mass = y[TANK_MASS] / n_tank
        melt = 0.0
        mean_t = cold_t(tank_mean(y, n_tank))
        if charge is not None:
            melt = ice.melt_rate(y[ICE], charge.mass, charge.area, charge.film, mean_t)
        tank_loss = design.tank_air * (mean_t - air)
        each = (drive.sun - tank_loss) / n_tank
        melt_each = melt / n_tank
        for i in range(t0, t_end):
            cell = y[i]
            gain = through * (h - cell) + each
            if charge is not None:
                gain = gain - melt_each * (charge.heat + cell)
            mass = cell_mass if wall is None else (
                cell_mass + wall / (n_tank * cold_cp(cold_t(cell))))
            dy[i] = gain / mass
            h = cell
        dy[TANK_MASS] = melt
        dy[ICE] = -melt
        dy[TO_AIR] = loss + tank_loss - drive.sun
        dy[PUMP_WORK] = drive.cold_pump_power + drive.hot_pump_power
        return [d * span for d in dy]

    return rates


def make_projection(design: LoopDesign) -> Callable[[float, State], bool]:
    """Return the function that mends an accepted state: boiling of jacket and tank, end of ice.

    Parameters
    ----------
    design : LoopDesign

    Returns
    -------
    callable
        ``project(x, state)`` changes the state in place and says whether it did. Heat beyond
        saturation leaves as steam from the jacket; in the tank the vapour of an overheated cell
        condenses in the cooler ones and leaves only when all are at saturation. Energy is
        conserved exactly in each case.
    """
    t0 = CELLS + 2 * LINE_CELLS
    t_end = t0 + design.tank_cells
    hot_limit = design.hot.enthalpy(design.boil_temperature)
    hot_latent = design.hot.latent_heat(design.boil_temperature)
    tank_limit: Real | None = None
    tank_latent: Real = 1.0
    if not isinstance(design.tank_boil_temperature, float) or design.tank_boil_temperature < NEVER:
        tank_limit = design.cold.enthalpy(design.tank_boil_temperature)
        tank_latent = design.cold.latent_heat(design.tank_boil_temperature)
    wall_mass = 0.0 if design.wall_capacity is None or tank_limit is None else (
        design.wall_capacity / design.cold.specific_heat(design.tank_boil_temperature))

    def project(_x: float, y: State) -> bool:
        changed = False
        xp = ops_of(y[JACKET], y[METAL])
        over = y[JACKET] - hot_limit
        if xp.any_(over > 0.0):
            over = xp.maximum(over, 0.0)
            steam = y[JACKET_MASS] * over / hot_latent
            y[JACKET] = y[JACKET] - over
            y[JACKET_MASS] = y[JACKET_MASS] - steam
            y[STEAM_HEAT] = y[STEAM_HEAT] + steam * (hot_limit + hot_latent)
            changed = True
        if tank_limit is not None:
            changed = _tank_boils(y, t0, t_end, tank_limit, tank_latent, wall_mass) or changed
        if xp.any_(y[ICE] < 0.0):
            y[TANK_MASS] = y[TANK_MASS] + xp.minimum(y[ICE], 0.0)
            y[ICE] = xp.maximum(y[ICE], 0.0)
            changed = True
        return changed

    return project


def _tank_boils(y: State, t0: int, t_end: int, limit: Real, latent: Real,
                wall_mass: Real) -> bool:
    """Condense the vapour of overheated cells in cooler ones; let the rest go as steam."""
    xp = ops_of(y[t0])
    n = t_end - t0
    excess: Real = 0.0
    for i in range(t0, t_end):
        excess = excess + xp.maximum(y[i] - limit, 0.0)
    if not xp.any_(excess > 0.0):
        return False
    for i in range(t0, t_end):
        y[i] = xp.minimum(y[i], limit)
    for i in range(t_end - 1, t0 - 1, -1):
        taken = xp.minimum(excess, limit - y[i])
        y[i] = y[i] + taken
        excess = excess - taken
    steam = (y[TANK_MASS] + wall_mass) / n * excess / latent
    y[TANK_MASS] = y[TANK_MASS] - steam
    y[TANK_STEAM] = y[TANK_STEAM] + steam
    y[STEAM_HEAT] = y[STEAM_HEAT] + steam * (limit + latent)
    return True
