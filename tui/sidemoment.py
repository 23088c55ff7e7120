"""What the machine is doing at one moment of the event: the quantities the picture shows."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from rich.cells import cell_len

from thermo.cooling import liquid_of
from thermo.results import EventResult
from thermo.scenario import Scenario
from tui.tags import STILL


@dataclass(frozen=True, slots=True)
class Moment:
    """One row of the history.

    Attributes
    ----------
    row, leg_number : int
        Position in the history; number of the leg from 1.
    time : float
        [s].
    leg : str
    speed : float
        [m/s].
    brake_power, heat : float
        Of the engine, and through the exchanger [W].
    engine : {'on', 'idle', 'off'}
    effectiveness : float
    coolant_out, coolant_in : float
        At the engine [K]; `coolant_in` is NaN while the coolant stands still.
    metal, boils : float
        Metal, and the coolant's boiling point under the cap [K].
    margin : float
        Left to boiling after the hot-spot allowance [K].
    tank, supply, return_ : float
        Hottest tank water, and what enters exchanger and tank [K].
    pressure : float
        Of the headspace, gauge [Pa].
    gas_share : float
        Gas over the tank's volume; zero or less when the water fills it.
    water, ice : float
        In the tank [kg].
    iced : bool
        Whether the event has ice at all.
    hot_flow, cold_flow : float
        [m3/s].
    net : float
        What the duct gains at this speed [Pa]; NaN when the engine is not at full power or
        there is no duct.
    """

    row: int
    leg_number: int
    time: float
    leg: str
    speed: float
    brake_power: float
    heat: float
    engine: str
    effectiveness: float
    coolant_out: float
    coolant_in: float
    metal: float
    boils: float
    margin: float
    tank: float
    supply: float
    return_: float
    pressure: float
    gas_share: float
    water: float
    ice: float
    iced: bool
    hot_flow: float
    cold_flow: float
    net: float

    @property
    def coolant_still(self) -> bool:
        """Whether the coolant stands still."""
        return self.hot_flow <= STILL

    @property
    def tank_still(self) -> bool:
        """Whether the tank's water stands still."""
        return self.cold_flow <= STILL


def named(text: str) -> str:
    """Return a name from a scenario with a mark in place of each glyph not one cell wide."""
    return "".join(c if cell_len(c) == 1 else "?" for c in text)


def moment_of(result: EventResult, scenario: Scenario, row: int) -> Moment:
    """Return the moment of a row of the history.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario
    row : int

    Returns
    -------
    Moment

    Raises
    ------
    IndexError
        If the history has no such row.
    """
    h = result.history
    if not 0 <= row < len(h.time):
        raise IndexError(f"row {row} is not one of the {len(h.time)} rows of the history")
    hot, flow = float(h.coolant[row]), float(h.hot_flow[row])
    heat, brake = float(h.exchanger_heat[row]), float(h.brake_power[row])
    liquid = liquid_of(scenario.coolant)
    capacity = flow * float(liquid.density(hot)) * float(liquid.specific_heat(hot))
    leg = int(h.leg[row])
    duct = result.intake
    net = math.nan
    if duct is not None and brake > 0.0:
        net = float(np.interp(h.speed[row], duct.speeds_m_per_s, duct.net_against_speed_Pa))
    boils = float(h.boil_temperature[row])
    return Moment(
        row=row,
        leg_number=leg + 1,
        time=float(h.time[row]),
        leg=named(result.legs[leg][0]),
        speed=float(h.speed[row]),
        brake_power=brake,
        heat=heat,
        engine="on" if brake > 0.0 else "idle" if float(h.heat_to_metal[row]) > 0.0 else "off",
        effectiveness=float(h.effectiveness[row]),
        coolant_out=hot,
        coolant_in=hot - heat / capacity if flow > STILL else math.nan,
        metal=float(h.metal[row]),
        boils=boils,
        margin=boils - hot - scenario.limits.hot_spot_allowance,
        tank=float(h.tank_hot[row]),
        supply=float(h.exchanger_in[row]),
        return_=float(h.tank_in[row]),
        pressure=float(h.tank_pressure[row]),
        gas_share=float(h.gas_volume[row]) / scenario.tank.volume,
        water=float(h.tank_mass[row]),
        ice=float(h.ice[row]),
        iced=bool(h.ice.max() > 0.0),
        hot_flow=flow,
        cold_flow=float(h.cold_flow[row]),
        net=net,
    )
