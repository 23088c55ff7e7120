"""Working of the hazards of flow: suction head, air in falling lines, rises in one go through."""

from __future__ import annotations

import math

import numpy as np

from thermo.air_clearing import air_clearing
from thermo.circuit import segment_drop
from thermo.figures import peak_of
from thermo.hazards.suction import LEAST_SPARE
from thermo.hydraulics import npsh_available
from thermo.loop_flow import segment_of
from thermo.vehicle import STANDARD_GRAVITY
from thermo.workings import flows
from thermo.workings.bench import Bench
from thermo.workings.form import (
    SOLVER,
    Step,
    Working,
    of,
    read,
    step,
)
from thermo.workings.hazard_flag import flag_of, told


def cavitation(b: Bench) -> Working:
    """Working of the suction head of the tank pump."""
    loop_, pump, cold = b.scenario.loop, b.scenario.loop.pump, b.design.cold
    if pump is None or loop_.flow is not None:
        return told(b, "cavitation", [])
    t = float(peak_of(b.history.tank_out))
    line = segment_of(loop_.supply, "supply line")
    flow = of("Vc", b.cooling.cold_flow.flow_at(t), "volume_flow", "tank flow, hottest water drawn")
    rho = of("rho", cold.density(t), "density", f"{cold.name} at {t - 273.15:.1f} degC")
    loss = segment_drop(line, flow.value, rho.value, cold.viscosity(t))
    pv = of("pv", cold.saturation_pressure(t), "pressure_absolute", "vapour pressure of it")
    available = npsh_available(b.air.pressure, pv.value, rho.value, pump.below_surface, loss)
    steps = flows.segment_steps(line, 1, flow, cold, t)
    steps.append(
        step(
            "suction head available",
            "NPSH = (p - pv - dp1)/(rho*g) + z",
            [
                of("p", b.air.pressure, "pressure_absolute", "air over the tank; its own pressure "
                   "is not counted on"),
                pv,
                steps[-1].result,
                rho,
                of("g", STANDARD_GRAVITY, "acceleration", "gravity"),
                of("z", pump.below_surface, "length", "pump below the surface"),
            ],
            of("NPSH", available, "head", "suction head available"),
            "definition of net positive suction head",
            note=f"A high point of the lines should keep {LEAST_SPARE / 1e3:.0f} kPa over boiling.",
        )
    )
    return told(b, "cavitation", steps)


def air_lock(b: Bench) -> Working:
    """Working of the speed that carries air down each falling line."""
    flow = b.cooling.cold_flow
    steps = [
        read(
            f"speed that clears air, {k.name}",
            of("v_n", k.needed, "speed", "speed needed; zero in a rising line"),
            "clearing velocity by bore and slope, published correlation for falling lines",
            [of("v", k.velocity, "speed", "speed in the line")],
        )
        for k in air_clearing(flow.circuit, flow.flow)
    ]
    return told(b, "air-lock", steps)


def low_flow(b: Bench) -> Working:
    """Working of the rise of the tank water in one go through the exchanger."""
    found = flag_of(b, "low-flow")
    h = b.history
    if found.unit != "K" or math.isnan(found.at_s):
        return told(b, "low-flow", [])
    row = int(np.argmin(np.abs(h.time - found.at_s)))
    if found.where == "coolant through the engine":
        return told(b, "low-flow", [_engine_rise(b, row, found.value)])
    rise = step(
        "rise in one go through the exchanger", "dT = T_2 - T_1",
        [of("T_2", h.tank_in[row], "temperature", "end of the return line"),
         of("T_1", h.exchanger_in[row], "temperature", "exchanger's inlet")],
        of("dT", found.value, "temperature_difference", "rise"),
        SOLVER,
    )
    return told(b, "low-flow", [rise])


def _engine_rise(b: Bench, row: int, value: float) -> Step:
    h, design = b.history, b.design
    t = float(h.coolant[row])
    return step(
        "rise in one go through the engine", "dT = G*(T_m - T_c)/(V*rho*cp)",
        [
            of("G", design.metal_conductance, "conductance", "metal to coolant, with flow"),
            of("T_m", h.metal[row], "temperature", "metal"),
            of("T_c", t, "temperature", "coolant"),
            of("V", h.hot_flow[row], "volume_flow", "coolant flow"),
            of("rho", design.hot.density(t), "density", "density of the coolant"),
            of("cp", design.hot.specific_heat(t), "specific_heat", "its specific heat"),
        ],
        of("dT", value, "temperature_difference", "rise"),
        "heat that the metal gives, over the flow's heat capacity rate",
    )
