"""Working of the exchanger at the moment of its greatest heat: flows, UA, NTU, effectiveness."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from thermo.conductance import GivenUA, RatedUA, ScaledUA
from thermo.cooling_exchanger import UA_PER_POWER
from thermo.double_pipe import DoublePipe
from thermo.effectiveness import shell_and_tube
from thermo.engine_table import peak_power
from thermo.loop import Transfer
from thermo.loop_state import WAX
from thermo.workings.bench import Bench
from thermo.workings.films import pipe_steps, plate_steps
from thermo.workings.form import (
    READ,
    SOLVER,
    Step,
    Symbol,
    Working,
    by_hand,
    of,
    pure,
    read,
    step,
)

INCROPERA = "Incropera et al., Table 11.3"
FIRST_BOILING = "until something boils in it"


def transfer_at(b: Bench) -> tuple[int, Transfer]:
    """Return the row of the greatest heat, and what the exchanger does there."""
    return b.best_row, b.transfer(b.best_row)


def capacity_steps(b: Bench) -> list[Step]:
    """Return the heat capacity rates of both streams at the greatest heat, and their ratio."""
    row, done = transfer_at(b)
    h, design = b.history, b.design
    steps: list[Step] = []
    rates: dict[str, Symbol] = {}
    for side, liquid, volume, mass, t_flow, t_in in (
        ("h", design.hot, h.hot_flow, done.hot_flow, h.coolant, h.coolant),
        ("c", design.cold, h.cold_flow, done.cold_flow, h.tank_out, h.exchanger_in),
    ):
        word = "coolant" if side == "h" else "tank water"
        flow = of(f"V{side}", volume[row], "volume_flow", f"flow of the {word}")
        rho = of(f"rho{side}", liquid.density(float(t_flow[row])), "density",
                 f"density of the {word} at {float(t_flow[row]) - 273.15:.1f} degC")
        m = of(f"m{side}", mass, "mass_flow", f"mass flow of the {word} through the exchanger")
        cp = of(f"cp{side}", liquid.specific_heat(float(t_in[row])), "specific_heat",
                f"specific heat of the {word} at {float(t_in[row]) - 273.15:.1f} degC")
        rate = of(f"C{side}", float(mass) * cp.value, "conductance",
                  f"heat capacity rate of the {word}")
        rates[side] = rate
        title = f"mass flow of the {word}, {b.when(row)}"
        if side == "h" and design.thermostat is not None:
            share = pure("s", float(design.thermostat.share(float(b.states[WAX][row]))),
                         "share that the thermostat lets through")
            steps.append(
                step(title, "mh = Vh*s*rhoh", [flow, share, rho], m, "definition",
                     note="thermostat: linear between opening and full opening")
            )
        else:
            steps.append(
                step(title, f"m{side} = V{side}*rho{side}", [flow, rho], m,
                     f"definition; density of {liquid.name}, table from CoolProp")
            )
        steps.append(
            step(f"heat capacity rate of the {word}", f"C{side} = m{side}*cp{side}", [m, cp],
                 rate, f"definition; specific heat of {liquid.name}, table from CoolProp")
        )
    low, high = sorted((rates["h"].value, rates["c"].value))
    ends = [rates["h"], rates["c"]]
    steps.append(
        step("smaller rate", "Cmin = min(Ch, Cc)", ends,
             of("Cmin", low, "conductance", "smaller heat capacity rate"), "definition")
    )
    if low > 0.0:
        steps.append(
            step("ratio of the rates", "Cr = min(Ch, Cc)/max(Ch, Cc)", ends,
                 pure("Cr", low / high, "ratio of the heat capacity rates"), "definition")
        )
    return steps


def ua_steps(b: Bench) -> list[Step]:
    """Return the conductance at the greatest heat, by the model that the scenario names."""
    _, done = transfer_at(b)
    scale = b.scenario.exchanger.ua_scale
    described = Symbol("UA", float(done.ua) / scale, "W/K", "conductance of the exchanger",
                       "conductance")
    steps = _described_steps(b, done, described)
    if scale == 1.0:
        return steps
    last = steps[-1]
    plain = replace(described, name="UA_d", meaning="conductance as described")
    text = last.equation.replace("UA = ", "UA_d = ", 1)
    return [
        *steps[:-1],
        replace(last, equation=text, result=plain),
        step(
            "conductance in the car", "UA = f*UA_d",
            [pure("f", scale, "conductance in the car over that described"), plain],
            of("UA", done.ua, "conductance", "conductance of the exchanger"),
            "exchanger.ua_scale, fitted to a logged pass",
        ),
    ]


def _described_steps(b: Bench, done: Transfer, found: Symbol) -> list[Step]:
    """Return the conductance as the scenario describes the exchanger, before its scale."""
    row = b.best_row
    model: Any = b.design.conductance
    if isinstance(model, ScaledUA):
        model = model.model
    if isinstance(model, GivenUA):
        if b.scenario.exchanger.ua is not None:
            return [read("conductance", found, f"exchanger.ua, {READ}")]
        return [
            step(
                "conductance, none being given",
                "UA = u*P",
                [
                    of("u", UA_PER_POWER.value, "conductance_per_power", "conductance over power"),
                    of("P", peak_power(b.scenario.engine), "power", "brake power"),
                ],
                found,
                "common practice",
                "15 to 45 W/K a kW",
            )
        ]
    t_hot, t_cold = float(b.history.coolant[row]), float(b.history.exchanger_in[row])
    if min(float(done.hot_flow), float(done.cold_flow)) <= 0.0:
        return [read("conductance with a stream at rest", found, "films of the scenario's model",
                     note="A loop stands still: no heat is passed.")]
    if isinstance(model, RatedUA):
        return _rated_steps(model, done, found)
    if isinstance(model, DoublePipe):
        return pipe_steps(model, b.design, done, (t_hot, t_cold), found)
    return plate_steps(model, b.design, done, (t_hot, t_cold), found)


def _rated_steps(model: RatedUA, done: Transfer, found: Symbol) -> list[Step]:
    n = pure("n", model.film_exponent, "film coefficient against flow, exponent")
    ratios = [
        by_hand(
            f"{word} film against the rated one",
            f"r{side} = (m{side}/m{side}0)^n",
            [
                of(f"m{side}", m, "mass_flow", f"{word} flow"),
                of(f"m{side}0", rated, "mass_flow", f"rated {word} flow"),
                n,
            ],
            (f"r{side}", "", f"{word} film over the rated one"),
            "film coefficient goes with a power of the flow (common practice)",
            "0.3 to 3 times the rated flow",
        )
        for side, word, m, rated in (
            ("h", "hot", done.hot_flow, model.hot_flow_rated),
            ("c", "cold", done.cold_flow, model.cold_flow_rated),
        )
    ]
    rated = of("UA0", model.ua_rated, "conductance",
               "conductance at the rated point, effectiveness-NTU inverted for the rated heat")
    return [
        read("conductance at the rated point", rated, f"exchanger.rated, {READ}; {INCROPERA}"),
        *ratios,
        step(
            "films and wall in series",
            "UA = UA0/((1 - w)*(s/rh + (1 - s)/rc) + w)",
            [
                rated,
                pure("w", model.wall_share, "share of the wall in the rated resistance"),
                pure("s", model.film_split, "share of the hot film in that of both films"),
                *(r.result for r in ratios),
            ],
            found,
            "series resistances, the idea of the Wilson plot (1915)",
            "near the rated flows",
        ),
    ]


def _ntu_step(b: Bench, c_min: Symbol, ua: Symbol) -> Step:
    ntu = pure("NTU", b.figures.ntu_at_peak, "number of transfer units")
    return step("number of transfer units", "NTU = UA/Cmin", [ua, c_min], ntu, INCROPERA)


def _mixed_is_max(b: Bench) -> bool:
    """Say whether the stream that is mixed has the larger heat capacity rate."""
    _, done = transfer_at(b)
    hot, cold = (
        float(done.hot_flow * b.design.hot.specific_heat(b.history.coolant[b.best_row])),
        float(done.cold_flow * b.design.cold.specific_heat(b.history.exchanger_in[b.best_row])),
    )
    return (b.design.arrangement == "crossflow-hot-mixed") != (hot <= cold)


def effectiveness_steps(b: Bench, ntu: Symbol, cr: Symbol) -> list[Step]:
    """Return the effectiveness of the scenario's arrangement."""
    eps = pure("eps", b.figures.effectiveness_at_peak, "effectiveness")
    kind = b.design.arrangement
    put_in = [ntu, cr]
    if kind == "counterflow":
        if abs(cr.value - 1.0) < 1e-6:
            text = "eps = NTU/(1 + NTU)"
        else:
            text = "eps = (1 - exp(-NTU*(1 - Cr)))/(1 - Cr*exp(-NTU*(1 - Cr)))"
        return [step("counterflow", text, put_in, eps, INCROPERA, FIRST_BOILING)]
    if kind == "parallel":
        text = "eps = (1 - exp(-NTU*(1 + Cr)))/(1 + Cr)"
        return [step("parallel flow", text, put_in, eps, INCROPERA, FIRST_BOILING)]
    if kind == "shell-and-tube":
        return _shell_steps(b, ntu, cr, eps)
    if kind == "crossflow-unmixed":
        near = by_hand(
            "crossflow, by the usual approximation",
            "eps_near = 1 - exp(NTU^0.22/Cr*(exp(-Cr*NTU^0.78) - 1))",
            put_in,
            ("eps_near", "", "effectiveness, nearly"),
            "Incropera et al., eq. 11.32",
            "within 2 % of the series",
        )
        exact = read(
            "crossflow, both streams unmixed", eps,
            "Mason (1954), exact series; Shah & Sekulic (2003), Table 3.6", put_in, FIRST_BOILING,
        )
        return [near, exact]
    if _mixed_is_max(b):
        text = "eps = (1 - exp(-Cr*(1 - exp(-NTU))))/Cr"
        where = "crossflow, the larger stream mixed"
    else:
        text = "eps = 1 - exp(-(1 - exp(-Cr*NTU))/Cr)"
        where = "crossflow, the smaller stream mixed"
    source = "Incropera et al., eq. 11.33 and 11.34"
    return [step(where, text, put_in, eps, source, FIRST_BOILING)]


def _shell_steps(b: Bench, ntu: Symbol, cr: Symbol, eps: Symbol) -> list[Step]:
    source, shells = "Incropera et al., eq. 11.30 and 11.31", b.design.shells
    n = pure("n", shells, "shells in series")
    one = pure("eps1", float(shell_and_tube(ntu.value / shells, cr.value, 1)),
               "effectiveness of one shell")
    first = by_hand(
        "exponential of one shell", "E = exp(-NTU/n*sqrt(1 + Cr^2))", [ntu, n, cr],
        ("E", "", "exponential"), source,
    )
    single = step(
        "one shell", "eps1 = 2/(1 + Cr + sqrt(1 + Cr^2)*(1 + E)/(1 - E))", [cr, first.result],
        one, source, FIRST_BOILING,
    )
    ratio = by_hand(
        "all shells", "r = ((1 - eps1*Cr)/(1 - eps1))^n", [one, cr, n],
        ("r", "", "ratio of the shells"), source,
    )
    if abs(cr.value - 1.0) < 1e-6:
        text, put_in = "eps = n*eps1/(1 + (n - 1)*eps1)", [n, one]
    else:
        text, put_in = "eps = (r - 1)/(r - Cr)", [ratio.result, cr]
    return [first, single, ratio, step("effectiveness", text, put_in, eps, source, FIRST_BOILING)]


def _idle(title: str, found: Symbol) -> Working:
    still = read("no flow", found, SOLVER, note="A loop stands still: no heat is passed.")
    return Working("", title, (still,), found)


def ua(b: Bench) -> Working:
    """Working of the conductance at the greatest heat."""
    steps = ua_steps(b)
    return Working("", "conductance of the exchanger", tuple(steps), steps[-1].result)


def ntu(b: Bench) -> Working:
    """Working of the number of transfer units at the greatest heat."""
    rates, conductance = capacity_steps(b), ua_steps(b)
    if len(rates) < 6:
        return _idle("number of transfer units",
                     pure("NTU", b.figures.ntu_at_peak, "number of transfer units"))
    last = _ntu_step(b, rates[4].result, conductance[-1].result)
    return Working("", "number of transfer units", (*rates, *conductance, last), last.result)


def effectiveness(b: Bench) -> Working:
    """Working of the effectiveness at the greatest heat."""
    found = pure("eps", b.figures.effectiveness_at_peak, "effectiveness")
    rates, conductance = capacity_steps(b), ua_steps(b)
    if len(rates) < 6:
        return _idle("effectiveness", found)
    units = _ntu_step(b, rates[4].result, conductance[-1].result)
    eps = effectiveness_steps(b, units.result, rates[5].result)
    row, done = transfer_at(b)
    heat = step(
        "heat that it passes then",
        "q = eps*Cmin*(Th - Tc)",
        [
            found,
            rates[4].result,
            of("Th", b.history.coolant[row], "temperature", "coolant at the inlet"),
            of("Tc", b.history.exchanger_in[row], "temperature", "tank water at the inlet"),
        ],
        of("q", done.heat, "power", "heat from coolant to tank water"),
        INCROPERA,
        FIRST_BOILING,
    )
    return Working(
        "", "effectiveness of the exchanger", (*rates, *conductance, units, *eps, heat), found
    )


WORKINGS = {
    "cooling.ua_at_peak_W_per_K": ua,
    "cooling.ntu_at_peak": ntu,
    "cooling.effectiveness_at_peak": effectiveness,
}
"""Workings of the exchanger, by the name of the figure."""
