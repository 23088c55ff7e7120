"""From a scenario to the loop's design, its starting state and its plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo import ice
from thermo.circuit import Circuit
from thermo.conductance import Conductance
from thermo.cooling_exchanger import conductance_of
from thermo.engine import (
    METALS,
    WETTED_METAL,
    CoolantHeat,
    metal_conductance,
)
from thermo.engine_table import coolant_heat, peak_power
from thermo.errors import Problem, RangeError, ScenarioError, about
from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.inputs.loops import Fluid, Pump
from thermo.inputs.power import Engine
from thermo.liquids import Liquid, liquid, mass_to_volume
from thermo.loop_design import NEVER, IceCharge, LoopDesign, Thermostat
from thermo.loop_flow import (
    LoopFlow,
    cold_circuit,
    given_flow,
    hot_circuit,
    line_cell_mass,
    pumped_flow,
)
from thermo.loop_state import LINE_CELLS
from thermo.ops import Real, ops_of
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.tables import Curve

HOT_FLOW_PER_POWER = Estimate(1.0 / 60e6, 0.6 / 60e6, 1.8 / 60e6, "m3/J", COMMON_PRACTICE)
"""Coolant flow over brake power [m3/s a W]; 1.0 L/min a kW."""

COLD_FLOW = Estimate(40.0 / 60e3, 20.0 / 60e3, 80.0 / 60e3, "m3/s", COMMON_PRACTICE)
"""Tank-loop flow as installed [m3/s]."""

VOLTAGE = Estimate(12.0, 11.5, 14.0, "V", COMMON_PRACTICE)
"""At the pumps, under way [V]."""

OIL_SPECIFIC_HEAT = 2100.0
"""Of engine oil near 90 degC [J/kg K]; handbook value, from memory."""

WORKING = 358.15
"""Temperature at which the coolant flow of a warm engine is taken [K]."""

VENTING = ("sealed-relief", "overflow-bottle")
"""Closures that let steam go at their set pressure."""


@dataclass(frozen=True, slots=True)
class Cooling:
    """The cooling side of one scenario, ready to run.

    Attributes
    ----------
    design : LoopDesign
    hot_flow, cold_flow : LoopFlow
    full_hot_flow : float or ndarray
        Coolant flow at working temperature and full power [m3/s].
    heat : CoolantHeat
        Heat to coolant as a function of brake power.
    full_heat : float or ndarray
        Heat to coolant at the stated power [W].
    jacket_mass, active_mass, dead_mass, ice_mass : float or ndarray
        At the start [kg].
    ice : IceCharge or None
    sealing_temperature : float or ndarray
        [K].
    notes : tuple of str
        Defaults taken and ranges left.
    """

    design: LoopDesign
    hot_flow: LoopFlow
    full_hot_flow: Any
    cold_flow: LoopFlow
    heat: CoolantHeat
    full_heat: Any
    jacket_mass: Any
    active_mass: Any
    dead_mass: Any
    ice_mass: Any
    ice: IceCharge | None
    sealing_temperature: Any
    notes: tuple[str, ...]


def liquid_of(fluid: Fluid) -> Liquid:
    """Return the liquid of a table of the scenario.

    Parameters
    ----------
    fluid : Fluid
        Table with glycol and its fraction by volume or mass.

    Returns
    -------
    Liquid

    Raises
    ------
    RangeError
        If the fraction is out of the tables' range.
    """
    share = fluid.glycol_fraction
    if fluid.glycol_mass_fraction is not None and fluid.glycol != "none":
        share = mass_to_volume(fluid.glycol, fluid.glycol_mass_fraction)
    return liquid(fluid.glycol, share)


def ice_charge(scenario: Scenario, mass: Real) -> IceCharge | None:
    """Return the ice of a mass [kg] in the form that ``[tank]`` names, or None for none."""
    if not bool(np.any(np.asarray(mass) > 0.0)):
        return None
    tank = scenario.tank
    return IceCharge(
        mass,
        ice.melting_area(mass, tank.ice_form, tank.ice_size),
        ice.FILM,
        ice.ice_heat(1.0, tank.ice_temperature),
    )


def _flows(
    scenario: Scenario, hot: Liquid, cold: Liquid, notes: list[str]
) -> tuple[Conductance, LoopFlow, LoopFlow]:
    """Return exchanger, hot flow and cold flow."""
    coolant, loop, power = scenario.coolant, scenario.loop, peak_power(scenario.engine)
    hot_given: Real | None = coolant.flow
    cold_given: Real | None = loop.flow
    if hot_given is None and coolant.pump is None:
        hot_given = HOT_FLOW_PER_POWER.value * power
        notes.append("coolant.flow: 1.0 L/min a kW of brake power taken (common practice)")
    if cold_given is None and loop.pump is None:
        cold_given = COLD_FLOW.value
        notes.append("loop.flow: 40 L/min taken (common practice)")
    guess = (
        _drawn(hot_given, HOT_FLOW_PER_POWER.value * power) * hot.density(350.0),
        _drawn(cold_given, COLD_FLOW.value) * cold.density(300.0),
    )
    with about("exchanger"):
        exchanger = conductance_of(scenario.exchanger, hot, cold, power, guess)
    warm = hot_circuit(coolant.line, coolant.restrictor_k, exchanger, hot)
    cool = cold_circuit(loop.supply, loop.return_, exchanger, cold)
    t_hot, t_cold = coolant.start_temperature, scenario.tank.start_temperature
    with about("coolant.pump" if hot_given is None else "coolant.flow"):
        hot_flow = _flow(warm, hot_given, coolant.pump, loop.voltage, hot, t_hot)
    with about("loop.pump" if cold_given is None else "loop.flow"):
        cold_flow = _flow(cool, cold_given, loop.pump, loop.voltage, cold, t_cold)
    return exchanger, hot_flow, cold_flow


def _drawn(given: Real | None, usual: Real) -> Any:
    """Return the flow given, or the usual one where none, or zero, was given [m3/s]."""
    if given is None:
        return usual
    xp = ops_of(given, usual)
    return xp.where(given == 0.0, usual, given)


def _flow(
    circuit: Circuit,
    given: Real | None,
    pump: Pump | None,
    voltage: Real,
    fluid: Liquid,
    t: Real,
) -> LoopFlow:
    """Return a loop's flow: the figure given goes before the pump's curve."""
    if given is None and pump is not None:
        return pumped_flow(circuit, pump, voltage, fluid, t)
    return given_flow(circuit, 0.0 if given is None else given, fluid, t)


def _metal_capacity(engine: Engine, power: Real, notes: list[str]) -> Real:
    if engine.metal_heat_capacity is not None:
        return engine.metal_heat_capacity
    mass: Real | None = engine.metal_mass
    if mass is None:
        mass = WETTED_METAL.value * power
        notes.append(f"engine.metal_mass: {_few(mass)} kg taken, 0.4 kg a kW (common practice)")
    return mass * METALS[engine.metal]


def _few(value: Real) -> str:
    """Write a value, or the range of an array of them, with three digits."""
    low, high = float(np.min(value)), float(np.max(value))
    return f"{low:.3g}" if low == high else f"{low:.3g} to {high:.3g}"


def _boil_limit(scenario: Scenario, air: Air, cold: Liquid) -> Real:
    """Saturation at which the closure lets steam go [K]; infinite when it never does."""
    tank = scenario.tank
    if tank.closure == "vented":
        key, pressure = "site.pressure", air.pressure
    elif tank.closure in VENTING:
        key, pressure = "tank.relief_pressure", air.pressure + tank.relief_pressure
    else:
        return NEVER
    limit: Real = within(key, cold.saturation_temperature, pressure)
    return limit


def within(key: str, curve: Curve, x: Any) -> Any:
    """Return a property at a value that an input decides; name the input where it is outside.

    Parameters
    ----------
    key : str
        Dotted key of the input.
    curve : Curve
    x : float or ndarray
        [K], or absolute [Pa].

    Returns
    -------
    float or ndarray

    Raises
    ------
    ScenarioError
        Naming the key, the value and the range, in units of the reader.
    """
    try:
        return curve.checked(x)
    except RangeError as error:
        ends = (error.value, error.low, error.high)
        if curve.x_unit == "K":
            told = [f"{v - 273.15:.1f} degC" for v in ends]
        else:
            told = [f"{v / 1e3:.1f} kPa absolute" for v in ends]
        refused = ScenarioError(
            "scenario",
            [Problem(key, told[0], f"the {curve.name} is known from {told[1]} to {told[2]}")],
        )
        refused.where = error.where
        raise refused from None


def build_cooling(scenario: Scenario, air: Air, mixing: str | None = None) -> Cooling:
    """Assemble the cooling side. [poly]

    Parameters
    ----------
    scenario : Scenario
    air : Air
        The day's air at the course.
    mixing : str, optional
        Tank mixing in place of the scenario's: 'mixed', 'plug' or 'adverse'.

    Returns
    -------
    Cooling

    Raises
    ------
    RangeError, InfeasibleError
        If a property or a part is asked for outside its range.
    """
    coolant, tank = scenario.coolant, scenario.tank
    with about("coolant"):
        hot = liquid_of(coolant)
    with about("tank"):
        cold = liquid_of(tank)
    within("coolant.start_temperature", hot.density, coolant.start_temperature)
    within("tank.start_temperature", cold.density, tank.start_temperature)
    notes = _taken(scenario)
    heat = coolant_heat(scenario.engine)
    full_heat = heat.at(peak_power(scenario.engine))
    exchanger, hot_flow, cold_flow = _flows(scenario, hot, cold, notes)
    start = coolant.start_temperature
    working = hot_flow.flow_at(ops_of(start).maximum(start, WORKING))
    mixing = mixing or tank.mixing or "mixed"
    t_seal = tank.sealing_temperature
    if t_seal is None:
        t_seal = tank.start_temperature
    water = within("tank.sealing_temperature", cold.density, t_seal) * (
        tank.fill * tank.volume - tank.ice_mass / ice.DENSITY
    )
    active = tank.active_fraction if mixing == "adverse" else 1.0
    metal = _metal_capacity(scenario.engine, peak_power(scenario.engine), notes)
    return Cooling(
        design=_design(
            scenario, air, (hot, cold), exchanger, full_heat, working, metal, mixing, t_seal
        ),
        hot_flow=hot_flow,
        full_hot_flow=working,
        cold_flow=cold_flow,
        heat=heat,
        full_heat=full_heat,
        jacket_mass=coolant.volume * hot.density(coolant.start_temperature),
        active_mass=water * active,
        dead_mass=water * (1.0 - active),
        ice_mass=tank.ice_mass,
        ice=ice_charge(scenario, tank.ice_mass),
        sealing_temperature=t_seal,
        notes=tuple(notes),
    )


def _taken(scenario: Scenario) -> list[str]:
    """Say which defaults are taken, and which inputs are not used beside others."""
    notes: list[str] = []
    table, engine = scenario.exchanger, scenario.engine
    if all(w is None for w in (table.ua, table.rated, table.double_pipe, table.plate)):
        notes.append(
            "exchanger.ua: 28 W/K a kW of brake power taken (common practice 15-45 W/K a kW)"
        )
    notes += [
        f"{key}.flow is given, so the curve of {key}.pump is not used"
        for key, loop in (("loop", scenario.loop), ("coolant", scenario.coolant))
        if loop.flow is not None and loop.pump is not None
    ]
    if engine.heat_share is None and engine.heat_power is None and engine.fuel_heat_share is None:
        notes.append(
            "engine.heat_share: 0.80 taken (Heywood heat balance, from memory); size at "
            "0.95 until measured"
        )
    return notes


def _design(
    scenario: Scenario,
    air: Air,
    liquids: tuple[Liquid, Liquid],
    exchanger: Conductance,
    full_heat: Real,
    working: Real,
    metal: Real,
    mixing: str,
    t_seal: Real,
) -> LoopDesign:
    """Return the loop with its coolant and tank liquid.

    Its full heat [W] and full coolant flow `working` [m3/s] are of the warm engine, whose metal
    holds `metal` [J/K]; the tank was filled at `t_seal` [K].
    """
    hot, cold = liquids
    engine, coolant, tank, loop = scenario.engine, scenario.coolant, scenario.tank, scenario.loop
    table = scenario.exchanger
    t = coolant.thermostat
    wall = tank.wall_mass * tank.wall_specific_heat
    return LoopDesign(
        hot=hot,
        cold=cold,
        conductance=exchanger,
        arrangement=table.arrangement,
        shells=table.shells,
        metal_capacity=metal,
        metal_conductance=metal_conductance(full_heat, engine.metal_excess),
        still_share=engine.still_conductance,
        full_flow=ops_of(working).maximum(working, 1e-9),
        engine_air=engine.air_conductance,
        oil_capacity=engine.oil_mass * OIL_SPECIFIC_HEAT,
        oil_cooler=engine.oil_cooler_ua,
        boil_temperature=within(
            "coolant.cap_pressure", hot.saturation_temperature, air.pressure + coolant.cap_pressure
        ),
        tank_boil_temperature=_boil_limit(scenario, air, cold),
        supply_mass=line_cell_mass(loop.supply, 0.0, cold, t_seal, LINE_CELLS),
        return_mass=line_cell_mass(loop.return_, table.cold_volume, cold, t_seal, LINE_CELLS),
        supply_air=loop.supply.air_conductance / LINE_CELLS,
        return_air=loop.return_.air_conductance / LINE_CELLS,
        tank_air=tank.air_conductance,
        tank_cells=tank.cells if mixing == "plug" else 1,
        wall_capacity=wall if bool(np.any(np.asarray(wall) > 0.0)) else None,
        short_circuit=tank.short_circuit if mixing == "adverse" else 0.0,
        thermostat=None
        if t is None
        else Thermostat(t.opens, t.full_open, t.bleed, t.lag, t.stuck == "shut"),
        air_temperature=air.temperature,
        oil_air=engine.oil_air_conductance,
    )
