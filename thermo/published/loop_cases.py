"""Published cases of the loop's transients, run by the loop's own solver.

The rows state constant properties, so the loop is filled with an ideal liquid of that density and
specific heat; nothing else of the solver is set aside.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from thermo.conductance import GivenUA
from thermo.liquids import T_ZERO, Liquid, liquid
from thermo.loop_design import NEVER, LegDrive, LoopDesign
from thermo.loop_run import LoopRun, run_loop
from thermo.loop_state import CELLS, JACKET, LINE_CELLS, METAL, start_state
from thermo.published.case import Case, Expected
from thermo.stepping import State

_CP = 4186.0
_WIDE = 1e12
"""Mass [kg] that a flow does not warm."""


def ideal_liquid(density: float, specific_heat: float) -> Liquid:
    """Return a liquid of constant density and specific heat, otherwise as water.

    Parameters
    ----------
    density : float
        [kg/m3].
    specific_heat : float
        [J/(kg K)].

    Returns
    -------
    Liquid
        Its enthalpy is linear in temperature, at any temperature.
    """
    water = liquid()
    heat = replace(water.specific_heat, coefs=(specific_heat,))
    temperature = replace(
        water.temperature, coefs=(1.0 / specific_heat, T_ZERO), centre=0.0, scale=1.0
    )
    return replace(
        water,
        density=replace(water.density, coefs=(density,)),
        specific_heat=heat,
        enthalpy=heat.integral(T_ZERO, water.enthalpy.name, water.enthalpy.unit),
        temperature=temperature,
    )


_LIQUID = ideal_liquid(1000.0, _CP)


@dataclass(frozen=True, slots=True)
class _Rig:
    """A loop stripped of what a closed form leaves out; temperatures in degC."""

    coolant: float = 20.0
    metal: float = 20.0
    tank: float = 20.0
    jacket_mass: float = 1.0
    tank_mass: float = 1.0

    def start(self, design: LoopDesign) -> State:
        return start_state(
            design,
            coolant=self.coolant + T_ZERO,
            metal=self.metal + T_ZERO,
            oil=self.coolant + T_ZERO,
            tank=self.tank + T_ZERO,
            jacket_mass=self.jacket_mass,
            tank_mass=self.tank_mass,
            ice=0.0,
        )


_BARE = LoopDesign(
    hot=_LIQUID,
    cold=_LIQUID,
    conductance=GivenUA(0.0),
    arrangement="counterflow",
    shells=1,
    metal_capacity=1e3,
    metal_conductance=0.0,
    still_share=1.0,
    full_flow=1e-3,
    engine_air=0.0,
    oil_capacity=1e3,
    oil_cooler=0.0,
    boil_temperature=1e9,
    tank_boil_temperature=NEVER,
    supply_mass=1.0,
    return_mass=1.0,
    supply_air=0.0,
    return_air=0.0,
    tank_air=0.0,
    tank_cells=1,
    wall_capacity=None,
    short_circuit=0.0,
    thermostat=None,
    air_temperature=T_ZERO + 25.0,
)


def _leg(
    duration: float,
    *,
    hot_flow: float = 0.0,
    cold_flow: float = 0.0,
    metal_heat: float = 0.0,
    charge_heat: float = 0.0,
    hot_pump_power: float = 0.0,
    sun: float = 0.0,
) -> LegDrive:
    def flow(_t: Any) -> float:
        return cold_flow

    return LegDrive(
        duration=duration,
        metal_heat=[metal_heat] * 2,
        oil_heat=[0.0] * 2,
        charge_heat=[charge_heat] * 2,
        hot_flow=[hot_flow] * 2,
        cold_flow=flow,
        cold_pump_power=0.0,
        hot_pump_power=hot_pump_power,
        sun=sun,
        ice=None,
    )


def _run(design: LoopDesign, state: State, *legs: LegDrive) -> LoopRun:
    return run_loop(design, state, None, 0.0, list(enumerate(legs)))


def _celsius(h: float) -> float:
    return float(_LIQUID.temperature(h)) - T_ZERO


def _mixed_tank() -> Mapping[str, float]:
    start = _Rig(tank=25.0, tank_mass=60.0).start(_BARE)
    end = _run(_BARE, start, _leg(90.0, sun=100e3)).pieces[-1].states[-1]
    return {"temperature": _celsius(end[-1])}


def _constant_source() -> Mapping[str, float]:
    # The exchanger does not mind which loop is the warm one: here the tank loop is the source,
    # with water without end, and the coolant is what it warms. So no line delays the heat.
    # Balanced counterflow: effectiveness 0.75 is NTU 3.
    design = replace(_BARE, conductance=GivenUA(3.0 * 2.0 * _CP))
    start = _Rig(coolant=20.0, tank=90.0, jacket_mass=60.0, tank_mass=_WIDE).start(design)
    flow = {"hot_flow": 2e-3, "cold_flow": 2e-3}
    run = _run(design, start, _leg(30.0, **flow), _leg(30.0, **flow), _leg(60.0, **flow))
    at = (30, 60, 120)
    return {f"{t} s": _celsius(p.states[-1][JACKET]) for t, p in zip(at, run.pieces, strict=True)}


def _engine_and_tank() -> Mapping[str, float]:
    # Engine: coolant alone, heated by its pump. Lines of 30 g a cell stand for none.
    # NTU 2 in balanced counterflow: effectiveness 2/3 of 12 kW/K makes 8 kW/K.
    line = 0.03
    design = replace(_BARE, conductance=GivenUA(2.0 * 12e3), supply_mass=line, return_mass=line)
    tank = 80.0 - 2 * LINE_CELLS * line
    start = _Rig(jacket_mass=12.0, tank_mass=tank).start(design)
    flow = 12e3 / _CP / 1000.0
    leg = _leg(60.0, hot_flow=flow, cold_flow=flow, hot_pump_power=150e3)
    end = _run(design, start, leg).pieces[-1].states[-1]
    t1, t2 = _celsius(end[JACKET]), _celsius(end[-1])
    return {"engine": t1, "tank": t2, "engine less tank": t1 - t2}


def _metal_and_coolant() -> Mapping[str, float]:
    design = replace(_BARE, metal_capacity=12.0 * _CP, metal_conductance=8000.0)
    start = _Rig(jacket_mass=80.0).start(design)
    end = _run(design, start, _leg(60.0, metal_heat=150e3)).pieces[-1].states[-1]
    t1, t2 = float(end[METAL]) - T_ZERO, _celsius(end[JACKET])
    return {"metal": t1, "coolant": t2, "metal less coolant": t1 - t2}


def _cooling_down() -> Mapping[str, float]:
    design = replace(_BARE, tank_air=50.0)
    end = _run(design, _Rig(tank=80.0, tank_mass=50.0).start(design), _leg(3600.0))
    return {"temperature": _celsius(end.pieces[-1].states[-1][-1])}


def _plug_flow() -> Mapping[str, float]:
    # 60 L in all: lines and tank are one ring of equal cells, fine enough to keep the front
    # of each pass from the moments looked at. Heat enters where the charge cooler's would.
    ring = 150
    cells = ring - 2 * LINE_CELLS
    mass = 60.0 / ring
    design = replace(_BARE, tank_cells=cells, supply_mass=mass, return_mass=mass)
    start = _Rig(tank_mass=cells * mass).start(design)
    legs = [_leg(t, cold_flow=1.5e-3, charge_heat=100e3) for t in (20.0, 40.0, 40.0)]
    run = _run(design, start, *legs)
    out = {
        f"outlet at {t} s": _celsius(p.states[-1][-1])
        for t, p in zip((20, 60, 100), run.pieces, strict=True)
    }
    ring_h = run.pieces[-1].states[-1][CELLS:]
    return {**out, "mean at 100 s": _celsius(sum(ring_h) / ring)}


def _tanks_in_series(cells: int, turnovers: float) -> float:
    # A step of 10,000 K, so that the error allowed a step is as nothing beside it; the return
    # line holds water without end and so keeps the step up.
    step = 1e4
    design = replace(_BARE, tank_cells=cells, return_mass=_WIDE)
    state = _Rig(tank=0.0, tank_mass=10.0).start(design)
    first = CELLS + LINE_CELLS
    state[first : first + LINE_CELLS] = [step * _CP] * LINE_CELLS
    end = _run(design, state, _leg(10.0 * turnovers, cold_flow=1e-3)).pieces[-1].states[-1]
    return float(end[-1]) / (step * _CP)


def _series() -> Mapping[str, float]:
    whole = {f"N = {n}": _tanks_in_series(n, 1.0) for n in (1, 3, 10, 20)}
    return {**whole, "N = 10 at 0.8": _tanks_in_series(10, 0.8)}


CASES: tuple[Case, ...] = (
    Case(
        "TRN-01",
        "constant heat into a well-mixed adiabatic tank",
        "closed form, Q t/(m c)",
        "recomputed by hand",
        {"temperature": Expected(60.83, "degC", rel=1e-4)},
        _mixed_tank,
    ),
    Case(
        "TRN-02",
        "water warmed through an exchanger by a source of constant temperature",
        "closed form, T = Th - (Th - T0) exp(-eps Cmin t/(m c))",
        "recomputed by hand",
        {
            "30 s": Expected(56.934, "degC", rel=1e-4),
            "60 s": Expected(74.381, "degC", rel=1e-4),
            "120 s": Expected(86.515, "degC", rel=1e-4),
        },
        _constant_source,
    ),
    Case(
        "TRN-03",
        "two heat capacities coupled by a conductance, constant heat into the first",
        "closed form",
        "recomputed by hand and as an ODE; as metal and coolant to 0.01 %, as engine and tank "
        "to 0.1 %, since lines of 30 g a cell delay the heat by 0.03 s each",
        {
            "metal": Expected(57.547, "degC", rel=1e-4),
            "coolant": Expected(41.243, "degC", rel=1e-4),
            "metal less coolant": Expected(16.304, "K", rel=1e-4),
            "engine": Expected(57.547, "degC", rel=1e-3),
            "tank": Expected(41.243, "degC", rel=1e-3),
            "engine less tank": Expected(16.304, "K", rel=1e-3),
        },
        lambda: {**_metal_and_coolant(), **_engine_and_tank()},
    ),
    Case(
        "TRN-04",
        "tank cooling to the air for an hour",
        "closed form, exponential decay",
        "recomputed by hand",
        {"temperature": Expected(48.27, "degC", rel=1e-4)},
        _cooling_down,
    ),
    Case(
        "TRN-05",
        "plug flow around a closed loop with constant heat",
        "closed form: shift by a turnover of 40 s and 15.926 K a pass; mean = T0 + Q t/(m c)",
        "recomputed by hand; the row neglects the loop's volume, here it is part of the 60 L",
        {
            "outlet at 20 s": Expected(20.0, "degC", rel=2e-4),
            "outlet at 60 s": Expected(35.93, "degC", rel=2e-4),
            "outlet at 100 s": Expected(51.85, "degC", rel=2e-4),
            "mean at 100 s": Expected(59.82, "degC", rel=2e-4),
        },
        _plug_flow,
    ),
    Case(
        "TRN-06",
        "step response of N equal stirred tanks in series",
        "Erlang: F = 1 - exp(-N th) sum_{i<N} (N th)^i/i!",
        "recomputed by hand",
        {
            "N = 1": Expected(0.632121, "", abs=1e-5),
            "N = 3": Expected(0.576810, "", abs=1e-5),
            "N = 10": Expected(0.542070, "", abs=1e-5),
            "N = 20": Expected(0.529743, "", abs=1e-5),
            "N = 10 at 0.8": Expected(0.283376, "", abs=1e-5),
        },
        _series,
    ),
)
"""Area 10: the rows that are transients of the loop."""
