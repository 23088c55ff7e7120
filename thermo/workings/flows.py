"""Working of the flows: given, or where the pump's curve meets the line."""

from __future__ import annotations

import math

from thermo.circuit import Device, Segment, segment_drop
from thermo.cooling import COLD_FLOW, HOT_FLOW_PER_POWER
from thermo.engine_table import peak_power
from thermo.friction import friction_factor, reynolds
from thermo.liquids import Liquid
from thermo.loop_flow import LoopFlow
from thermo.pumps import pump_curve
from thermo.workings.bench import Bench
from thermo.workings.form import READ, Step, Symbol, Working, by_hand, of, pure, read, step

GRAVITY = 9.80665
WITHIN = (
    "The flow is found at three temperatures where pump and line agree, and follows a parabola "
    "between them: the two heads agree within 0.5 %."
)


MADE = "A pump has to make that head at that flow; catalogue flow is not installed flow."


def segment_steps(
    segment: Segment, number: int, flow: Symbol, liquid: Liquid, t: float
) -> list[Step]:
    """Return the pressure that one line takes at a flow."""
    i = number
    rho = of("rho", liquid.density(t), "density", f"density of {liquid.name}")
    mu = pure("mu", liquid.viscosity(t), f"viscosity of {liquid.name}", "Pa s")
    bore = of(f"d{i}", segment.bore, "length", f"bore of the {segment.name}")
    speed = flow.value / float(segment.area)
    v = of(f"v{i}", speed, "speed", f"speed in the {segment.name}")
    re = pure(f"Re{i}", reynolds(rho.value, speed, segment.bore, mu.value), "Reynolds number")
    f = pure(
        f"f{i}", friction_factor(re.value, segment.roughness / segment.bore),
        "Darcy friction factor",
    )
    rough = pure("e", segment.roughness / segment.bore, "roughness over bore")
    return [
        step(
            f"speed in the {segment.name}", f"{v.name} = {flow.name}/(n*pi/4*{bore.name}^2)",
            [flow, pure("n", segment.count, "lines side by side"), bore], v, "continuity",
        ),
        step(
            "Reynolds number", f"{re.name} = rho*{v.name}*{bore.name}/mu", [rho, v, bore, mu], re,
            "definition",
        ),
        read(
            "friction factor", f, "Colebrook (1939), solved for f; 64/Re when laminar",
            [re, rough], "bridged between Re 2300 and 4000",
        ),
        step(
            f"pressure lost in the {segment.name}",
            f"dp{i} = (f{i}*L{i}/{bore.name} + K{i})*rho/2*{v.name}^2",
            [
                f,
                of(f"L{i}", segment.length, "length", "length of the line"),
                bore,
                pure(f"K{i}", segment.k, "sum of the fittings' coefficients"),
                rho,
                v,
            ],
            of(f"dp{i}", segment_drop(segment, flow.value, rho.value, mu.value),
               "pressure_difference", f"lost in the {segment.name}"),
            "Darcy-Weisbach; fittings by Crane TP-410",
        ),
    ]


def line_steps(
    loop: LoopFlow, flow: Symbol, liquid: Liquid, t: float, note: str = ""
) -> list[Step]:
    """Return the head that a circuit takes at a flow, part by part."""
    steps: list[Step] = []
    drops: list[Symbol] = []
    for part in loop.circuit.parts:
        number = len(drops) + 1
        if isinstance(part, Device):
            mass_flow = flow.value * float(liquid.density(t))
            lost = of(f"dp{number}", part.drop(mass_flow, t), "pressure_difference",
                      f"lost in the {part.name}")
            steps.append(read(f"pressure lost in the {part.name}", lost,
                              "its rating, carried with flow^1.8, or its geometry", [flow]))
        else:
            steps.extend(segment_steps(part, number, flow, liquid, t))
        drops.append(steps[-1].result)
    rho = of("rho", liquid.density(t), "density", f"density of {liquid.name}")
    total = f"({' + '.join(d.name for d in drops)})/(rho*g)"
    steps.append(
        by_hand(
            "head that the circuit takes", f"h_line = {total}",
            [*drops, rho, pure("g", GRAVITY, "acceleration of gravity", "m/s2")],
            ("h_line", "head", "head of the circuit"), "sum; head = pressure over rho g", note=note,
        )
    )
    return steps


def _flow(b: Bench, loop: LoopFlow, found: Symbol, t: float, liquid: Liquid, key: str) -> Working:
    """Working of a flow: what was given, or what pump and line agree on."""
    title = f"{key} flow"
    note = "" if loop.pump is not None else MADE
    line = line_steps(loop, found, liquid, t, note) if found.value > 0.0 else []
    if loop.pump is None:
        return Working("", title, (*_given(b, found, key), *line), found)
    curve, ratio = pump_curve(loop.pump.curve), b.scenario.loop.voltage / loop.pump.rated_voltage
    pump = read(
        "head that the pump makes at that flow",
        of("h_pump", curve.head(found.value, ratio), "head", "head of the pump"),
        "the pump's curve; flow goes with volts and head with their square (affinity laws)",
        [
            found,
            of("U", b.scenario.loop.voltage, "voltage", "volts at the pump"),
            of("U0", loop.pump.rated_voltage, "voltage", "volts of the curve"),
        ],
    )
    meet = read("flow at which both heads are equal", found, "pump curve against line", note=WITHIN)
    return Working("", title, (*line, pump, meet), found)


def _given(b: Bench, found: Symbol, key: str) -> list[Step]:
    scenario = b.scenario
    if key == "tank":
        if scenario.loop.flow is not None:
            return [read("tank flow", found, f"loop.flow, {READ}")]
        return [read("tank flow, none being given", found,
                     f"{COLD_FLOW.value * 60e3:.0f} L/min: common practice",
                     valid="20 to 80 L/min")]
    if scenario.coolant.flow is None:
        given = of("V0", b.cooling.full_hot_flow, "volume_flow", "coolant flow at full power")
        steps = [
            step(
                "coolant flow, none being given", "V0 = u*P",
                [
                    of("u", HOT_FLOW_PER_POWER.value, "flow_per_power", "flow over power"),
                    of("P", peak_power(scenario.engine), "power", "brake power"),
                ],
                given, "common practice", "0.6 to 1.8 L/min a kW",
            )
        ]
    else:
        given = of("V0", scenario.coolant.flow, "volume_flow", "coolant flow at full power")
        steps = [read("coolant flow at full power", given, f"coolant.flow, {READ}")]
    share = found.value / given.value if given.value > 0.0 else math.nan
    if given.value > 0.0 and abs(share - 1.0) > 1e-9:
        steps.append(
            step(
                "coolant flow at that moment", f"{found.name} = s*V0",
                [pure("s", share, "turns of the crank over those at full power"), given], found,
                "a pump on the crank turns with the engine",
            )
        )
    else:
        steps.append(read("coolant flow at that moment", found, "it runs at that flow", [given]))
    return steps


def tank_flow(b: Bench) -> Working:
    """Working of the tank flow at the greatest heat."""
    row = b.best_row
    t = float(b.history.tank_out[row])
    found = of("Vc", b.figures.tank_flow_m3_per_s, "volume_flow", f"tank flow, {b.when(row)}")
    return _flow(b, b.cooling.cold_flow, found, t, b.design.cold, "tank")


def coolant_flow(b: Bench) -> Working:
    """Working of the coolant flow at the greatest heat."""
    row = b.best_row
    t = float(b.history.coolant[row])
    found = of("Vh", b.figures.coolant_flow_m3_per_s, "volume_flow", f"coolant flow, {b.when(row)}")
    if b.scenario.coolant.drive == "crank" and b.cooling.hot_flow.pump is not None:
        full = of("V0", b.cooling.full_hot_flow, "volume_flow", "coolant flow at full power")
        base = _flow(b, b.cooling.hot_flow, full, t, b.design.hot, "coolant")
        share = found.value / full.value if full.value > 0.0 else math.nan
        last = step(
            "coolant flow at that moment", "Vh = s*V0",
            [pure("s", share, "turns of the crank over those at full power"), full], found,
            "a pump on the crank turns with the engine",
        )
        return Working("", base.title, (*base.steps, last), found)
    return _flow(b, b.cooling.hot_flow, found, t, b.design.hot, "coolant")


WORKINGS = {
    "cooling.tank_flow_m3_per_s": tank_flow,
    "cooling.coolant_flow_m3_per_s": coolant_flow,
}
"""Workings of the flows, by the name of the figure."""
