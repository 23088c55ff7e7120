"""Working of the temperatures of coolant and tank water."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermo.loop_state import LINE_CELLS
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
)

BALANCE = "heat balance of metal, coolant, exchanger, lines and tank, integrated over the event"
STEADY = "steady heat balance: what enters the coolant leaves through the exchanger"


def kelvin_of(name: str, value: Any, meaning: str) -> Symbol:
    """Return a temperature [K]."""
    return of(name, value, "temperature", meaning)


def _heat_then(b: Bench, row: int) -> tuple[list[Step], Symbol]:
    """Return the heat into the metal at a row; with the engine off, that from metal to coolant."""
    h, design = b.history, b.design
    if h.heat_to_metal[row] > 0.0:
        return [], of("Q", h.heat_to_metal[row], "power", "heat into the metal")
    stir = min(1.0, float(h.hot_flow[row]) / float(design.full_flow))
    still = float(design.still_share)
    g = float(design.metal_conductance) * (still + (1.0 - still) * stir)
    passed = by_hand(
        "heat from metal to coolant",
        "Q = G*(T_m - T_c)",
        [
            of("G", g, "conductance", "metal to coolant at that flow"),
            kelvin_of("T_m", h.metal[row], "metal, from the integrated event"),
            kelvin_of("T_c", h.coolant[row], "coolant, from the integrated event"),
        ],
        ("Q", "power", "heat from metal to coolant"),
        "film law",
    )
    return [passed], passed.result


def _hand_coolant(b: Bench, row: int) -> tuple[Step, ...]:
    """Return the coolant that would pass the heat of a moment on, at rest."""
    h, done = b.history, b.transfer(row)
    c_hot = float(done.hot_flow * b.design.hot.specific_heat(float(h.coolant[row])))
    c_cold = float(done.cold_flow * b.design.cold.specific_heat(float(h.exchanger_in[row])))
    if min(c_hot, c_cold) * float(done.effectiveness) <= 0.0:
        return ()
    first, heat = _heat_then(b, row)
    rest = by_hand(
        "coolant that passes the heat of that moment on, at rest",
        "T_hand = T_w + Q/(eps*Cmin)",
        [
            kelvin_of("T_w", h.exchanger_in[row], "tank water at the exchanger"),
            heat,
            pure("eps", done.effectiveness, "effectiveness then"),
            of("Cmin", min(c_hot, c_cold), "conductance", "smaller heat capacity rate"),
        ],
        ("T_hand", "temperature", "coolant by hand"),
        STEADY,
    )
    return (*first, rest)


def _coolant(b: Bench, row: int, title: str) -> Working:
    kelvin = kelvin_of("T", b.history.coolant[row], f"coolant at engine out, {b.when(row)}")
    last = in_celsius(kelvin, "t", title)
    first = read(title, kelvin, SOLVER, note=BALANCE)
    hand = _hand_coolant(b, row)
    apart = (
        "The estimate takes all the heat of that moment through the exchanger at once. In the "
        f"event the metal stands at {float(b.history.metal[row]) - 273.15:.1f} degC then and is "
        "still taking up heat or giving it back, the coolant itself stores some, oil and the "
        "air take their share."
    )
    if not hand:
        return Working("", title, (first, last), last.result)
    hand = (*hand, in_celsius(hand[-1].result, "t_hand", "coolant by hand"))
    return Working("", title, (first, last), last.result, hand, apart)


def coolant_peak(b: Bench) -> Working:
    """Working of the coolant's highest temperature."""
    return _coolant(b, int(np.argmax(b.history.coolant)), "coolant, hottest")


def coolant_end(b: Bench) -> Working:
    """Working of the coolant at the end of the pass."""
    return _coolant(b, b.finish, "coolant at the end of the pass")


def coolant_least(b: Bench) -> Working:
    """Working of the coolant's lowest temperature at full power."""
    full = np.flatnonzero(b.moments.full)
    row = int(full[int(np.argmin(b.history.coolant[full]))])
    kelvin = kelvin_of("T", b.history.coolant[row], f"coolant at engine out, {b.when(row)}")
    last = in_celsius(kelvin, "t", "least coolant at full power")
    first = read("least of the full-power rows", kelvin, SOLVER, note=BALANCE)
    return Working("", "coolant, coldest at full power", (first, last), last.result)


def _since(b: Bench, row: int) -> int:
    """Return the first row since the start, or since the last service before a row."""
    h, legs = b.history, b.scenario.leg
    served = [
        i for i in range(1, row + 1)
        if h.leg[i] != h.leg[i - 1]
        and (legs[int(h.leg[i])].swap_fraction > 0.0 or legs[int(h.leg[i])].ice_mass > 0.0)
    ]
    return served[-1] if served else 0


def _taken_up(b: Bench, first: int, row: int) -> str:
    """Say where heat went that the lumped estimate counts into the water."""
    h, design = b.history, b.design
    metal = float(design.metal_capacity) * float(h.metal[row] - h.metal[first])
    jacket = float(h.jacket_mass[row]) * float(
        design.hot.enthalpy(float(h.coolant[row])) - design.hot.enthalpy(float(h.coolant[first]))
    )
    parts = [("the engine's metal", metal), ("the coolant", jacket)]
    if design.wall_capacity is not None:
        rise = float(h.tank_mean[row] - h.tank_mean[first])
        parts.append(("the tank's wall", float(design.wall_capacity) * rise))
    taken = "; ".join(f"{name} {heat / 1e3:.0f} kJ" for name, heat in parts)
    return (
        f"Of that heat, between the two moments, other bodies keep (minus: give up): {taken}. "
        "The rest of the difference is what oil and charge cooler bring or take, pump work, sun, "
        "and what lines, tank and engine lose to the air; and in the event the water of the "
        f"lines runs ahead of the tank's, which is {b.tank.mixing or 'mixed'}"
    )


def _water(b: Bench, row: int) -> tuple[Symbol, Symbol]:
    """Return the water that is heated: in the tank, and in the lines."""
    h, design = b.history, b.design
    tank = float(h.tank_mass[row]) + float(b.cooling.dead_mass)
    lines = LINE_CELLS * (float(design.supply_mass) + float(design.return_mass))
    return of("m_t", tank, "mass", "water in the tank"), of("m_l", lines, "mass", "in the lines")


def _lumped(b: Bench, row: int) -> tuple[tuple[Step, ...], str]:
    """Return the tank's temperature at a row by heat over mass times specific heat."""
    h, first = b.history, _since(b, row)
    heat = float(np.trapezoid(h.heat_to_metal[first : row + 1], h.time[first : row + 1]))
    if row <= first or heat <= 0.0:
        return (), ""
    start = kelvin_of("T0", h.tank_mean[first], f"tank water {b.when(first)}")
    m_tank, m_lines = _water(b, row)
    cp = of("cp", b.design.cold.specific_heat(0.5 * float(h.tank_mean[first] + h.tank_mean[row])),
            "specific_heat", "specific heat of the water")
    energy = of("H", heat, "energy", "heat into the metal up to then")
    melted = float(h.ice[first] - h.ice[row])
    text, put_in = "T_hand = T0 + H/((m_t + m_l)*cp)", [start, energy, m_tank, m_lines, cp]
    if melted > 1e-6 and b.cooling.ice is not None:
        text = "T_hand = T0 + (H - m_i*(L + cp*(T0 - 273.15)))/((m_t + m_l)*cp)"
        put_in += [
            of("m_i", melted, "mass", "ice melted"),
            of("L", b.cooling.ice.heat, "specific_energy", "heat that a kilogram of ice takes"),
        ]
    rise = by_hand(
        "all the heat into tank and lines", text, put_in,
        ("T_hand", "temperature", "tank water by hand"), "heat = mass x specific heat x rise",
    )
    return (
        (rise, in_celsius(rise.result, "t_hand", "tank water by hand")),
        f"{_taken_up(b, first, row)}.",
    )


def _tank(b: Bench, column: str, row: int, title: str) -> Working:
    values = getattr(b.history, column)
    kelvin = kelvin_of("T", values[row], f"tank water {b.when(row)}")
    last = in_celsius(kelvin, "t", title)
    hand, words = _lumped(b, row)
    return Working(
        "", title, (read(title, kelvin, SOLVER, note=BALANCE), last), last.result, hand, words
    )


def tank_peak(b: Bench) -> Working:
    """Working of the tank's highest temperature."""
    row = int(np.argmax(b.history.tank_hot))
    return _tank(b, "tank_hot", row, "tank, hottest")


def tank_end(b: Bench) -> Working:
    """Working of the tank at the end of the event."""
    return _tank(b, "tank_mean", len(b.history.time) - 1, "tank at the end of the event")


def tank_end_of_pass(b: Bench) -> Working:
    """Working of the tank at the end of the pass."""
    return _tank(b, "tank_mean", b.finish, "tank at the end of the pass")


def return_peak(b: Bench) -> Working:
    """Working of the hottest water in the return line."""
    h = b.history
    row = int(np.argmax(h.tank_in))
    kelvin = kelvin_of("T", h.tank_in[row], f"end of the return line, {b.when(row)}")
    last = in_celsius(kelvin, "t", "hottest water in the return line")
    done = b.transfer(row)
    hand: tuple[Step, ...] = ()
    words = ""
    if float(done.cold_flow) > 0.0:
        cp = b.design.cold.specific_heat(float(h.exchanger_in[row]))
        out = by_hand(
            "water leaving the exchanger then",
            "T_hand = T_w + q/(m*cp)",
            [
                kelvin_of("T_w", h.exchanger_in[row], "water at the exchanger's inlet"),
                of("q", done.heat, "power", "heat from the coolant"),
                of("m", done.cold_flow, "mass_flow", "tank flow"),
                of("cp", cp, "specific_heat", "specific heat of the water"),
            ],
            ("T_hand", "temperature", "water at the exchanger's outlet"),
            "heat balance of the stream",
        )
        hand = (out, in_celsius(out.result, "t_hand", "at the exchanger's outlet"))
        words = (
            "The line holds water that left the exchanger earlier, mixes it on the way in "
            f"{LINE_CELLS} cells, and loses heat to the air; a charge cooler adds some."
        )
    steps = (read("end of the return line", kelvin, SOLVER, note=BALANCE), last)
    return Working("", "return line, hottest", steps, last.result, hand, words)


def ice_left(b: Bench) -> Working:
    """Working of the ice that is left."""
    found = of("m", b.figures.ice_left_kg, "mass", "ice left at the end")
    put_in = b.tank.ice_mass + sum(leg.ice_mass for leg in b.scenario.leg)
    if put_in <= 0.0:
        none = read("no ice", found, f"tank.ice_mass, {READ}")
        return Working("", "ice left", (none,), found)
    words = (
        "film coefficient times surface times warmth of the water, over the latent heat; the "
        "surface falls as the mass to the two thirds"
    )
    return Working("", "ice left", (read("ice left at the end", found, SOLVER, note=words),), found)


WORKINGS = {
    "cooling.coolant_peak_degC": coolant_peak,
    "cooling.coolant_end_of_pass_degC": coolant_end,
    "cooling.coolant_least_full_power_degC": coolant_least,
    "cooling.tank_peak_degC": tank_peak,
    "cooling.tank_end_degC": tank_end,
    "cooling.tank_end_of_pass_degC": tank_end_of_pass,
    "cooling.return_line_peak_degC": return_peak,
    "cooling.ice_left_kg": ice_left,
}
"""Workings of temperatures, by the name of the figure."""
