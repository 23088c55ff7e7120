"""Working of the margins of the coolant: boiling point, boil and after-boil, flow lost."""

from __future__ import annotations

import math

import numpy as np

from thermo.boil_times import Warming
from thermo.figures import BOILS, equalised, moments
from thermo.workings.bench import Bench
from thermo.workings.form import (
    READ,
    SOLVER,
    Step,
    Symbol,
    Working,
    by_hand,
    in_celsius,
    of,
    pure,
    read,
    step,
)
from thermo.workings.loop import BALANCE, coolant_peak, kelvin_of


def boil_steps(b: Bench, cap: float | None = None, name: str = "T_b") -> list[Step]:
    """Return the coolant's boiling point under a cap pressure, gauge [Pa]."""
    coolant, hot = b.scenario.coolant, b.design.hot
    gauge = coolant.cap_pressure if cap is None else cap
    p_cap = of("p_cap", gauge, "pressure_gauge", "pressure of the cap")
    total = of("p_abs", b.air.pressure + gauge, "pressure_absolute", "pressure over the coolant")
    boils = kelvin_of(name, hot.saturation_temperature(b.air.pressure + gauge), "boiling point")
    source = (
        "table of the saturation of water, fitted to CoolProp's IAPWS-95"
        if hot.glycol == "none"
        else "Raoult's law on the water of the mix, table fitted to CoolProp's IAPWS-95"
    )
    return [
        step(
            "pressure over the coolant",
            "p_abs = p + p_cap",
            [of("p", b.air.pressure, "pressure_absolute", "station pressure"), p_cap],
            total,
            "definition of gauge pressure",
        ),
        read(f"boiling point of {hot.name}", boils, source, [total],
             f"to {hot.t_high - 273.15:.0f} degC"),
    ]


def boil_temperature(b: Bench) -> Working:
    """Working of the coolant's boiling point under the cap."""
    first = boil_steps(b)
    last = in_celsius(first[-1].result, "t", "boiling point under the cap")
    return Working("", "boiling point of the coolant", (*first, last), last.result)


def _margin(
    b: Bench, first: list[Step], row: int, coolant: float, found: Symbol
) -> list[Step]:
    peak = kelvin_of("T_c", coolant, f"coolant at engine out, {b.when(row)}")
    allowance = of("dT", b.scenario.limits.hot_spot_allowance, "temperature_difference",
                   "allowance for hot spots")
    return [
        *first,
        read("hottest coolant", peak, SOLVER, note=BALANCE),
        read("allowance", allowance, f"limits.hot_spot_allowance, {READ} (10 K by default, common "
             "practice)"),
        step(
            "margin", f"{found.name} = {first[-1].result.name} - T_c - dT",
            [first[-1].result, peak, allowance], found, "definition of the margin",
        ),
    ]


def _hottest_working(b: Bench) -> int:
    rows = np.flatnonzero(b.moments.working)
    return int(rows[int(np.argmax(b.history.coolant[rows]))])


def boil_margin(b: Bench) -> Working:
    """Working of the boil margin."""
    row = _hottest_working(b)
    found = of("margin", b.figures.boil_margin_K, "temperature_difference", "boil margin")
    steps = _margin(b, boil_steps(b), row, float(b.history.coolant[row]), found)
    coolant = coolant_peak(b)
    if not coolant.hand:
        return Working("", "boil margin", tuple(steps), found)
    *first, _ = coolant.hand
    hand = by_hand(
        "margin by hand", "margin_hand = T_b - T_hand - dT",
        [steps[1].result, first[-1].result, steps[3].result],
        ("margin_hand", "temperature_difference", "boil margin by hand"),
        "definition of the margin",
    )
    return Working("", "boil margin", tuple(steps), found, (*first, hand), coolant.difference)


def boil_margin_by_mixing(b: Bench) -> Working:
    """Working of the boil margin for each kind of tank mixing."""
    first = boil_steps(b)
    steps = list(first)
    worst = math.inf
    for name, history in sorted(b.whole.others.items()):
        working = np.flatnonzero(moments(b.scenario, history).working)
        row = int(working[int(np.argmax(history.coolant[working]))])
        margin = b.figures.boil_margin_by_mixing_K[name]
        found = of(f"margin_{name}", margin, "temperature_difference", f"margin, tank {name}")
        steps += [
            read(f"hottest coolant, tank {name}",
                 kelvin_of("T_c", history.coolant[row], f"coolant, tank {name}"), SOLVER),
            step(
                f"margin, tank {name}", f"margin_{name} = T_b - T_c - dT",
                [
                    first[-1].result,
                    kelvin_of("T_c", history.coolant[row], f"coolant, tank {name}"),
                    of("dT", b.scenario.limits.hot_spot_allowance, "temperature_difference",
                       "allowance for hot spots"),
                ],
                found, "definition of the margin",
            ),
        ]
        worst = min(worst, margin)
    least = of("margin", worst if b.whole.others else math.nan, "temperature_difference",
               "least of the margins")
    if not b.whole.others:
        steps = [read("one kind of mixing", least, f"tank.mixing, {READ}",
                      note="The scenario names the mixing, so only that one is looked at.")]
    return Working("", "boil margin by tank mixing", tuple(steps), least)


def leaking_cap(b: Bench) -> Working:
    """Working of the boil margin with a cap that leaks."""
    row = _hottest_working(b)
    found = of("margin", b.figures.leaking_cap_margin_K, "temperature_difference",
               "boil margin with a leaking cap")
    first = boil_steps(b, b.scenario.coolant.leaking_cap_pressure)
    steps = _margin(b, first, row, float(b.history.coolant[row]), found)
    return Working("", "boil margin, cap leaking", tuple(steps), found)


def _equalised(b: Bench, rows: tuple[int, ...], found: Symbol, title: str) -> Working:
    first = boil_steps(b)
    if not rows:
        none = read("the flow never stops", found, SOLVER)
        return Working("", title, (none,), found)
    h, design = b.history, b.design
    shared = equalised(design, h)
    row = max(rows, key=lambda i: float(shared[i]))
    together = kelvin_of("T_e", shared[row], "temperature that both would share")
    jacket = of("m", h.jacket_mass[row], "mass", "coolant in the jacket")
    cp = of("cp", design.hot.specific_heat(float(h.coolant[row])), "specific_heat",
            "specific heat of the coolant")
    mix = step(
        f"metal and coolant left together, {b.when(row)}",
        "T_e = (C_m*T_m + m*cp*T_c)/(C_m + m*cp)",
        [
            of("C_m", design.metal_capacity, "heat_capacity", "heat capacity of the wetted metal"),
            kelvin_of("T_m", h.metal[row], "metal, from the integrated event"),
            jacket,
            cp,
            kelvin_of("T_c", h.coolant[row], "coolant, from the integrated event"),
        ],
        together,
        "heat balance of two bodies; loss to the air neglected, which errs hot",
    )
    last = step(
        "margin", f"{found.name} = T_b - T_e", [first[-1].result, together], found,
        "definition of the margin",
    )
    return Working("", title, (*first, mix, last), found)


def after_boil(b: Bench) -> Working:
    """Working of the after-boil margin."""
    found = of("margin", b.figures.after_boil_margin_K, "temperature_difference",
               "after-boil margin")
    return _equalised(b, b.moments.stops, found, "after-boil margin")


def shut_off(b: Bench) -> Working:
    """Working of the margin with everything stopped at the finish."""
    found = of("margin", b.figures.shut_off_at_finish_margin_K, "temperature_difference",
               "margin when stopped at the finish")
    return _equalised(b, b.moments.finishes, found, "margin when stopped at the finish")


def flow_lost(b: Bench) -> Working:
    """Working of the seconds from a stopped pump to boiling."""
    design, h = b.design, b.history
    found = of("t", b.figures.flow_lost_boil_s, "time", "time from pump stop to boiling")
    rows = np.flatnonzero(b.moments.full)
    warming = Warming.of(design, h, b.moments.full)
    i = int(np.argmin(warming.seconds()))
    row = int(rows[i])
    if not math.isfinite(found.value):
        none = read("it never boils within an hour", found, SOLVER)
        return Working("", "pump lost, boils after", (none,), found)
    cj = of("C_j", float(h.jacket_mass[row]) * float(design.hot.specific_heat(
        float(h.coolant[row]))), "heat_capacity", "heat capacity of the coolant in the jacket")
    cm = of("C_m", design.metal_capacity, "heat_capacity", "of the wetted metal")
    g = of("G", design.metal_conductance, "conductance", "metal to coolant, with flow")
    q = of("Q", h.heat_to_metal[row], "power", "heat into the metal, kept on")
    rate = pure("lam", warming.rate[i], "rate at which metal and coolant level out", "1/s")
    final = of("x_f", warming.final[i], "temperature_difference", "lead of the metal in the end")
    first = of("x_0", warming.first[i], "temperature_difference", "lead of the metal at first")
    needed = of("rise", warming.rise(found.value)[i] if found.value > 0.0 else 0.0,
                "temperature_difference", "rise of the coolant in that time")
    two = "metal and jacket as two capacities with a conductance; the flow's conductance errs early"
    steps = (
        step("rate", "lam = G*(1/C_m + 1/C_j)", [g, cm, cj], rate, two),
        step("lead of the metal in the end", "x_f = Q/(C_m*lam)", [q, cm, rate], final, two),
        read("time that makes the rise", found, "halving of an interval", [
            of("need", warming.needed[i], "temperature_difference", "coolant to boiling point"),
        ], note=f"Worst moment of full power, {b.when(row)}."),
        step(
            "rise of the coolant in that time",
            "rise = G/C_j*(x_f*t - (x_0 - x_f)*(exp(-lam*t) - 1)/lam)",
            [g, cj, final, found, first, rate],
            needed,
            two,
        ),
    )
    if float(warming.needed[i]) <= 0.0 or q.value <= 0.0:
        return Working("", "pump lost, boils after", steps, found)
    hand = by_hand(
        "all the heat into metal and coolant alike",
        "t_hand = need*(C_m + C_j)/Q",
        [of("need", warming.needed[i], "temperature_difference", "coolant to boiling point"),
         cm, cj, q],
        ("t_hand", "time", "time by hand"),
        "heat = heat capacity x rise",
    )
    return Working(
        "", "pump lost, boils after", steps, found, (hand,),
        "In the estimate metal and coolant warm alike. The metal leads the coolant by "
        f"{first.value:.0f} K when the pump stops and gives that up to it.",
    )


def boils_at(b: Bench) -> Working:
    """Working of the moment at which the coolant first boils."""
    h = b.history
    found = of("t", b.figures.boils_at_s, "time", "when the coolant first boils")
    row = int(np.argmax(h.coolant))
    at = row if not math.isfinite(found.value) else int(np.searchsorted(h.time, found.value))
    lead = of("left", float(h.boil_temperature[at] - h.coolant[at]), "temperature_difference",
              f"warmth left to the boiling point, {b.when(at)}")
    words = (
        f"The coolant counts as boiling once it is within {BOILS:g} K of saturation."
        if math.isfinite(found.value)
        else "It never boils: the least warmth left is the one told here."
    )
    steps = (
        *boil_steps(b),
        step(
            "warmth left", "left = T_b - T_c",
            [
                kelvin_of("T_b", h.boil_temperature[at], "boiling point"),
                kelvin_of("T_c", h.coolant[at], "coolant, from the integrated event"),
            ],
            lead, "definition",
        ),
        read("first boiling", found, SOLVER, note=words),
    )
    return Working("", "first boiling of the coolant", steps, found)


WORKINGS = {
    "cooling.boil_temperature_degC": boil_temperature,
    "cooling.boil_margin_K": boil_margin,
    "cooling.boil_margin_by_mixing_K": boil_margin_by_mixing,
    "cooling.after_boil_margin_K": after_boil,
    "cooling.shut_off_at_finish_margin_K": shut_off,
    "cooling.leaking_cap_margin_K": leaking_cap,
    "cooling.flow_lost_boil_s": flow_lost,
    "cooling.boils_at_s": boils_at,
}
"""Workings of the margins, by the name of the figure."""
