"""Working of the build sheet's answers: what binds each, and an estimate by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np

from thermo.answer_scan import limit_unit
from thermo.answers import Answer
from thermo.engine_table import peak_power
from thermo.errors import InfeasibleError
from thermo.exchanger import ntu_for
from thermo.figures import equalised
from thermo.hazards.flowing import LEAST_COOLANT, MOST_ENGINE_RISE
from thermo.headspace import most_gauge, sealed_tank, vapour_in_gas
from thermo.ice import LATENT_HEAT
from thermo.scenario import Scenario, with_value
from thermo.trial import COOLANT_FLOW, ENGINE_RISE
from thermo.workings.balance import Balance
from thermo.workings.bench import Bench
from thermo.workings.form import Step, Symbol, Working, by_hand, of, pure, read
from thermo.workings.margins import boil_steps
from thermo.workings.sweep import break_even

ALONE = (
    "The estimate looks at the boil margin alone, at the end of the pass, with the heat that the "
    "exchanger passes as things stand; the search solves the whole event for each size, so that "
    "heat and temperatures follow the size, keeps every limit, and holds for every way in which "
    "the tank may mix"
)
SCAN = "scan of sizes, each a whole event, then halving of an interval on the tightest limit"

TITLES = {
    "tank-volume": "smallest tank",
    "run-distance": "longest pass, by distance",
    "run-duration": "longest pass, by duration",
    "exchanger-ua": "least exchanger conductance",
    "tank-flow": "least tank flow",
    "line-bore": "smallest bore of both lines",
    "coolant-flow": "least coolant flow",
    "tank-fill": "highest fill",
    "ice-mass": "least ice at the start",
    "run-on": "least run-on of both pumps",
    "idle-time": "longest idle before the pass",
    "hottest-air": "hottest air, tank water with it",
    "hottest-tank-start": "hottest tank start",
    "duct-size": "smallest duct",
    "lowest-useful-speed": "lowest speed at which it helps",
    "highest-useful-speed": "highest speed at which it helps",
}
"""Answers of the build sheet, in their order."""


def names(b: Bench) -> list[str]:
    """Return the names of the answers that the build sheet of a scenario has."""
    loop, leg = b.scenario.loop, b.scenario.leg[b.scenario.first_pass]
    missing = {"run-duration" if leg.distance is not None else "run-distance"}
    if loop.pump is None or loop.flow is not None:
        missing.add("line-bore")
    if b.tank.glycol != "none":
        missing.add("ice-mass")
    if b.duct is None:
        missing |= {"duct-size", "lowest-useful-speed", "highest-useful-speed"}
    return [n for n in TITLES if n not in missing]


def title_of(name: str) -> str:
    """Return what an answer is, in words."""
    return TITLES[name]


def _sought(b: Bench, answer: Answer) -> list[Step]:
    """Return how the answer was found, and what it leaves of each limit."""
    found = _figure(answer)
    now = [] if answer.now is None else [of("now", answer.now, answer.kind, "in the scenario")]
    bound = f"bound by {answer.binding}" if answer.binding else "no limit binds"
    steps = [read(f"{answer.title}: {bound}", found, SCAN, now, note=answer.note)]
    left = _left(b, answer)
    if left:
        tightest = min(left, key=lambda s: s.value)
        steps.append(
            read(
                "what is left of each limit at that size",
                Symbol("least", tightest.value, tightest.unit, f"tightest: {tightest.meaning}"),
                "the event solved once more with that size, for every way of mixing in question",
                left,
                note="Below zero a limit is broken; the size was chosen where the tightest is met.",
            )
        )
    return steps


def _figure(answer: Answer) -> Symbol:
    value = math.nan if answer.value is None else answer.value
    return of("x", value, answer.kind, answer.title)


def _variant(b: Bench, answer: Answer) -> Scenario | None:
    """Return the scenario with the answer in place; None where no input holds it."""
    if answer.value is None or not answer.put or answer.group == "intake":
        return None
    scenario = b.scenario
    for setting in answer.put:
        key = setting.key.replace("[", ".").replace("]", "")
        scenario = with_value(scenario, key, setting.value)
    return scenario


def _left(b: Bench, answer: Answer) -> list[Symbol]:
    variant = _variant(b, answer)
    if variant is None:
        return []
    b.trials.settle(b.scenario)
    keep = frozenset((COOLANT_FLOW, ENGINE_RISE)) if answer.name == "coolant-flow" else frozenset()
    slacks = b.trials.all_slacks(variant, keep)
    return [
        Symbol(f"s{i}", float(left), limit_unit(words), words)
        for i, (words, left) in enumerate(slacks.items(), start=1)
    ]


Hand = Callable[[Bench, Balance], list[Step]]


def _tank(b: Bench, m: Balance) -> list[Step]:
    if m.water_allowed()[-1].result.value <= m.start.value:
        return []
    return m.lump(
        "tank that takes the heat", "V_hand = (H/(cp*(T_wm - T0)) - m_l)/(rho*fill)",
        [m.heat, m.cp, m.start, m.lines, m.rho,
         pure("fill", b.tank.fill, "share that is filled")],
        ("V_hand", "volume", "smallest tank by hand"),
    )


def _time(_: Bench, m: Balance) -> list[Step]:
    return m.lump(
        "time until the water is as hot as allowed",
        "t_hand = (m_t + m_l)*cp*(T_wm - T0)/Q",
        [m.tank, m.lines, m.cp, m.start, m.power],
        ("t_hand", "time", "longest pass by hand"),
    )


def _run_distance(b: Bench, m: Balance) -> list[Step]:
    first = _time(b, m)
    leg = b.scenario.leg[b.scenario.first_pass]
    mean = (leg.distance or 0.0) / b.figures.pass_time_s
    return [*first, by_hand(
        "distance at the mean speed", "x_hand = V_m*t_hand",
        [of("V_m", mean, "speed", "mean speed of the pass"), first[-1].result],
        ("x_hand", "length", "longest pass by hand"), "definition")]


def _conductance(b: Bench, m: Balance) -> list[Step]:
    need = by_hand(
        "effectiveness needed", "eps_n = Q/(Cmin*(T_cm - T_w))",
        [m.power, m.c_min, m.coolant.result, m.water],
        ("eps_n", "", "effectiveness needed at the finish"), "heat passed = eps*Cmin*(Th - Tc)",
    )
    value = need.result.value
    if not 0.0 < value < 1.0:
        return []
    try:
        units = ntu_for(b.design.arrangement, value, m.c_r.value, b.design.shells,
                        m.rates[0] <= m.rates[1])
    except InfeasibleError:
        return []
    ntu = read("transfer units for it", pure("NTU_n", units, "number of transfer units"),
               f"{b.design.arrangement}, inverse of effectiveness-NTU", [need.result, m.c_r])
    last = by_hand("conductance", "UA_hand = NTU_n*Cmin", [ntu.result, m.c_min],
                   ("UA_hand", "conductance", "least conductance by hand"), "definition")
    return [*m.allowed, need, ntu, last]


def _flow(_: Bench, m: Balance) -> list[Step]:
    if m.coolant.result.value <= m.water.value:
        return []
    return [*m.allowed, by_hand(
        "flow that an endless exchanger would need", "V_hand = Q/(rho*cp*(T_cm - T_w))",
        [m.power, m.rho, m.cp, m.coolant.result, m.water],
        ("V_hand", "volume_flow", "least flow by hand"), "heat balance of the stream")]


def _coolant_flow(b: Bench, m: Balance) -> list[Step]:
    hot = b.design.hot
    t = float(b.history.coolant[b.finish])
    per = LEAST_COOLANT / 60e6
    return [by_hand(
        "flow that carries the heat, and the rule of thumb",
        "V_hand = max(Q/(rho_h*cp_h*dT), f*P)",
        [
            of("Q", b.cooling.full_heat, "power", "heat at full power"),
            of("rho_h", hot.density(t), "density", "density of the coolant"),
            of("cp_h", hot.specific_heat(t), "specific_heat", "its specific heat"),
            of("dT", MOST_ENGINE_RISE, "temperature_difference", "rise allowed in the engine"),
            of("f", per, "flow_per_power", "least flow over power"),
            of("P", peak_power(b.scenario.engine), "power", "brake power"),
        ],
        ("V_hand", "volume_flow", "least coolant flow by hand"),
        "heat balance of the stream; common practice")]


def _bore(b: Bench, m: Balance) -> list[Step]:
    first, now = _flow(b, m), b.figures.tank_flow_m3_per_s
    if not first or now <= 0.0:
        return []
    return [*first, by_hand(
        "bore for that flow at the same pressure", "d_hand = d*(V_hand/V)^0.4",
        [of("d", b.scenario.loop.supply.bore, "length", "bore as it is"), first[-1].result,
         of("V", now, "volume_flow", "tank flow as it is")],
        ("d_hand", "length", "smallest bore by hand"), "flow ~ d^2.5 at one friction factor")]


def _fill(b: Bench, m: Balance) -> list[Step]:
    tank, cold = b.tank, b.design.cold
    if tank.closure in ("vented", "overflow-bottle"):
        return []
    hot = float(np.max(b.history.tank_hot))
    shut = sealed_tank(tank, b.air, b.cooling, 0)
    gauge = most_gauge(tank)
    grown = float(m.rho.value / cold.density(hot)) - 1.0
    pv = cold.saturation_pressure(hot)
    pv = float(vapour_in_gas(tank, pv, b.air.pressure + gauge))
    warm = float(shut.pressure - shut.vapour) * hot / float(shut.temperature)
    a = of("a", b.air.pressure + gauge - pv, "pressure_absolute", "allowed to the dry gas")
    w = of("w", warm, "pressure_absolute", "the gas shut in, warmed, in an endless headspace")
    if a.value <= w.value:
        return []
    return [by_hand(
        "fill that leaves room for the growth",
        "fill_hand = 1 - a*(V + V_l)*g/(a*(1 + g) - w)/V",
        [a, w, of("V", tank.volume, "volume", "volume of the tank"),
         of("V_l", m.lines.value / m.rho.value, "volume", "water in the lines"),
         pure("g", grown, f"growth of the water to {hot - 273.15:.1f} degC")],
        ("fill_hand", "fraction", "highest fill by hand"),
        "gas law of the headspace, solved for the fill")]


def _ice(_: Bench, m: Balance) -> list[Step]:
    return m.lump(
        "ice for the heat that the water does not take",
        "m_hand = max(0, (H - (m_t + m_l)*cp*(T_wm - T0))/(L + cp*(T0 - 273.15)))",
        [m.heat, m.tank, m.lines, m.cp, m.start,
         of("L", LATENT_HEAT, "specific_energy", "melting heat of ice")],
        ("m_hand", "mass", "least ice by hand"),
    )


def _run_on(b: Bench, m: Balance) -> list[Step]:
    h, design, row = b.history, b.design, b.finish
    jacket = float(h.jacket_mass[row]) * float(design.hot.specific_heat(float(h.coolant[row])))
    heat = float(h.exchanger_heat[row])
    if heat <= 0.0:
        return []
    return [*boil_steps(b), by_hand(
        "time in which the exchanger takes what is too much",
        "t_hand = max(0, (T_e - T_b + mg)*(C_m + C_j)/q)",
        [
            of("T_e", float(equalised(design, h)[row]), "temperature",
               "metal and coolant left together at the finish"),
            of("T_b", float(design.boil_temperature), "temperature", "boiling point"),
            of("mg", b.scenario.limits.caution_margin, "temperature_difference", "margin kept"),
            of("C_m", design.metal_capacity, "heat_capacity", "wetted metal"),
            of("C_j", jacket, "heat_capacity", "coolant in the jacket"),
            of("q", heat, "power", "heat that the exchanger passes at the finish"),
        ],
        ("t_hand", "time", "least run-on by hand"), "heat balance of metal and coolant")]


def _idle(b: Bench, m: Balance) -> list[Step]:
    idle = b.scenario.engine.idle_heat * b.scenario.engine.displacement
    if idle <= 0.0:
        return []
    return m.lump(
        "time until idling has used what the pass leaves",
        "t_hand = max(0, ((m_t + m_l)*cp*(T_wm - T0) - H)/Q_i)",
        [m.tank, m.lines, m.cp, m.start, m.heat, of("Q_i", idle, "power", "heat at idle")],
        ("t_hand", "time", "longest idle by hand"),
    )


def _start(_: Bench, m: Balance) -> list[Step]:
    return m.lump(
        "water that may begin the pass", "T_hand = T_wm - H/((m_t + m_l)*cp)",
        [m.heat, m.tank, m.lines, m.cp], ("T_hand", "temperature", "hottest start by hand"),
    )


def _air(b: Bench, m: Balance) -> list[Step]:
    first = _start(b, m)
    offset = b.tank.start_temperature - b.scenario.site.air_temperature
    return [*first, by_hand(
        "air with it", "T_air = T_hand - d",
        [first[-1].result, of("d", offset, "temperature_difference", "tank over air, as now")],
        ("T_air", "temperature", "hottest air by hand"), "definition")]


def _duct(b: Bench, _: Balance) -> list[Step]:
    duct, answer = b.duct, b.answer("duct-size")
    if duct is None or answer.now is None or duct.duct_loss_Pa <= 0.0 or duct.ram_gain_Pa <= 0.0:
        return []
    return [by_hand(
        "loss goes with the fourth power of the bore", "d_hand = d*(loss/(gain*(1 - k)))^0.25",
        [
            of("d", answer.now, "length", "as it is"),
            of("loss", duct.duct_loss_Pa, "pressure_difference", "loss as it is"),
            of("gain", duct.ram_gain_Pa, "pressure_difference", "full ram"),
            pure("k", b.scenario.limits.ram_share, "share of the ram to keep"),
        ],
        ("d_hand", "length", "smallest duct by hand"), "velocity head at equal flow ~ d^-4")]


def _useful(b: Bench, _: Balance) -> list[Step]:
    made = break_even(b)
    return [] if made is None else list(made.hand)


HANDS: dict[str, tuple[Hand, str]] = {
    "tank-volume": (_tank, ALONE),
    "run-distance": (_run_distance, ALONE),
    "run-duration": (_time, ALONE),
    "exchanger-ua": (_conductance, ALONE),
    "tank-flow": (
        _flow,
        f"{ALONE}. A real exchanger needs more flow than an endless one; slower water also meets "
        "a cooler mix",
    ),
    "coolant-flow": (
        _coolant_flow,
        "The estimate passes all the heat on at once and looks at the engine alone; the boil "
        "margin may want more",
    ),
    "line-bore": (
        _bore,
        f"{ALONE}. The exchanger's and fittings' losses do not scale so, and the pump makes more "
        "head at less flow",
    ),
    "tank-fill": (
        _fill,
        "The estimate takes the hottest water of the event as it stands; with more fill the water "
        "stays cooler, and cooling limits may bind first",
    ),
    "ice-mass": (_ice, f"{ALONE}. Ice takes the place of water, and some may be left unmelted"),
    "run-on": (
        _run_on,
        "The estimate keeps the exchanger's heat as it is at the finish; in the event it falls as "
        "the coolant cools and the tank warms",
    ),
    "idle-time": (_idle, f"{ALONE}. While it idles the engine's metal and coolant are cooled too"),
    "hottest-air": (_air, f"{ALONE}. Hotter air also costs power, and heat with it"),
    "hottest-tank-start": (_start, ALONE),
    "duct-size": (
        _duct,
        "Filter, lip and what the opening misses do not scale with the bore, friction scales with "
        "more than the fourth power",
    ),
    "lowest-useful-speed": (
        _useful, "The estimate has the loss at the timed speed at every speed",
    ),
}
"""Hand estimate of each answer, and why it differs."""


def working(b: Bench, name: str) -> Working:
    """Return the working of one answer of the build sheet.

    Parameters
    ----------
    b : Bench
    name : str
        A name in :func:`names`.

    Returns
    -------
    Working
        Its steps tell how the size was found and what it leaves of each limit.
    """
    answer = b.answer(name)
    made = Working("", answer.title, tuple(_sought(b, answer)), _figure(answer))
    if name not in HANDS:
        return made
    hand, words = HANDS[name]
    balance = Balance(b)
    if not balance.flows and name not in ("duct-size", "lowest-useful-speed", "tank-fill"):
        return made
    steps = tuple(hand(b, balance))
    return replace(made, hand=steps, difference=f"{words}." if steps else "")
