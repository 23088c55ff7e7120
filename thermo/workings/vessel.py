"""Working of the tank as a vessel: water, headspace, pressure, vacuum, centre of mass."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo import ice
from thermo.headspace import NO_RELIEF, Sealed, cooled_room, most_gauge, sealed_tank, vapour_in_gas
from thermo.tank import (
    LIQUID_COMPRESSIBILITY,
    Headspace,
    Surroundings,
    gas_pressure,
    headspace_pressure,
    pressure_history,
)
from thermo.workings.bench import Bench
from thermo.workings.form import READ, SOLVER, Step, Symbol, Working, by_hand, of, pure, read, step

GAS_LAW = "ideal gas and vapour over water that expands and gives a little"
EXPANSION = "water of tank and lines by its density at each temperature, table from CoolProp"


def _absolute(name: str, value: Any, meaning: str) -> Symbol:
    return of(name, value, "pressure_absolute", meaning)


def _volume(name: str, value: Any, meaning: str) -> Symbol:
    return of(name, value, "volume", meaning)


def sealed_at(b: Bench, row: int) -> Sealed:
    """Return the tank as its lid was last shut before a row."""
    seal = int(b.seals[row])
    start = int(np.flatnonzero(b.seals == seal)[0])
    begun = (float(b.history.tank_hot[start]), float(b.history.gas_volume[start]))
    return sealed_tank(b.tank, b.air, b.cooling, seal, begun)


def around(b: Bench) -> Surroundings:
    """Return what bounds the headspace from outside."""
    lifts = b.tank.relief_pressure if b.tank.closure not in NO_RELIEF else math.inf
    return Surroundings(b.air.pressure, lifts, float(b.water_volume[0]))


def state_before(b: Bench, row: int) -> Headspace:
    """Return gas and lost liquid as a row finds them, after all rows since the lid was shut."""
    h = b.history
    rows = [i for i in np.flatnonzero(b.seals == b.seals[row]) if i < row]
    state = sealed_at(b, row).state
    if not rows:
        return state
    hot = h.tank_hot[rows]
    vapour = b.design.cold.saturation_pressure(hot)
    _, state = pressure_history(
        b.tank.closure, state, list(h.gas_volume[rows]), list(hot), list(vapour), around(b)
    )
    return state


def charge_step(b: Bench, row: int) -> Step:
    """Return the dry gas that was shut in."""
    shut = sealed_at(b, row)
    words = "when the lid was shut"
    return step(
        "dry gas shut in",
        "N = (p_s - pv_s)*V_s/T_s",
        [
            _absolute("p_s", shut.pressure, f"pressure {words}"),
            _absolute("pv_s", shut.vapour, f"vapour pressure {words}"),
            _volume("V_s", shut.gas_volume, f"gas space {words}"),
            of("T_s", shut.temperature, "temperature", f"temperature {words}"),
        ],
        pure("N", shut.state.gas, "dry gas as p V/T", "J/K"),
        "ideal gas law",
    )


def room_step(b: Bench, row: int, state: Headspace) -> Step:
    """Return the gas space at a row."""
    room = _volume("V", float(b.history.gas_volume[row]) + float(state.lost),
                   f"gas space, {b.when(row)}")
    shut = sealed_at(b, row)
    grown = float(shut.gas_volume) - float(b.history.gas_volume[row])
    return step(
        "gas space left by the water",
        "V = V_s - dV + lost",
        [
            _volume("V_s", shut.gas_volume, "gas space when the lid was shut"),
            _volume("dV", grown, "growth of the water in tank and lines since then"),
            _volume("lost", state.lost, "water that has left through relief or cap before"),
        ],
        room,
        EXPANSION,
    )


def _shut_steps(b: Bench, row: int) -> tuple[list[Step], Symbol]:
    """Return gas and vapour pressure at a row had the closure stayed shut, and that pressure."""
    tank, h = b.tank, b.history
    state = state_before(b, row)
    t = of("T", h.tank_hot[row], "temperature", f"hottest tank water, {b.when(row)}")
    pv = _absolute("pv", b.design.cold.saturation_pressure(t.value), "vapour pressure at it")
    dry = tank.closure == "bladder"
    fresh = sealed_at(b, row).state
    first = charge_step(b, row)
    steps = [first]
    gas = first.result
    if abs(float(state.gas) - float(fresh.gas)) > 1e-9 * max(float(fresh.gas), 1e-12):
        gas = pure("N", state.gas, "dry gas left as p V/T", "J/K")
        steps.append(read("dry gas left after the relief lifted", gas, SOLVER))
    room = room_step(b, row, state)
    over = 0.0 if dry else pv.value
    found = _absolute(
        "p_t", gas_pressure(state.gas, room.result.value, t.value, over, around(b)),
        "tank pressure, closure shut",
    )
    elastic = LIQUID_COMPRESSIBILITY * around(b).liquid_volume
    give = pure("c", elastic, "give of the water", "m^3/Pa")
    ambient = _absolute("p", b.air.pressure, "station pressure")
    vapour = _absolute("pv", over, "vapour pressure" if not dry else "none: the gas is dry")
    steps += [
        read("vapour pressure", pv,
             f"saturation of {b.design.cold.name}, table fitted to CoolProp's IAPWS-95", [t]),
        room,
        by_hand("gas space, the water pressed by its vapour", "r = V + c*(pv - p)",
                [room.result, give, vapour, ambient], ("r", "volume", "gas space"), GAS_LAW),
    ]
    r = steps[-1].result
    text = (
        "p_t = pv + 2*N*T/(r + sqrt(r^2 + 4*c*N*T))"
        if r.value > 0.0
        else "p_t = pv + (sqrt(r^2 + 4*c*N*T) - r)/(2*c)"
    )
    steps.append(step("gas and vapour together", text, [vapour, gas, t, r, give], found, GAS_LAW,
                      note="With gas left this is pv + N T/V."))
    return steps, found


def pressure_steps(b: Bench, row: int, gauge: Symbol) -> list[Step]:
    """Return the tank's gauge pressure at a row."""
    closure, tank, h = b.tank.closure, b.tank, b.history
    ambient = _absolute("p", b.air.pressure, "station pressure")
    if closure == "vented":
        return [read("vented", gauge, f"tank.closure, {READ}", note="A vent holds no pressure.")]
    steps, shut = _shut_steps(b, row)
    limit = of("p_set", tank.relief_pressure, "pressure_gauge", "set pressure")
    if closure == "sealed":
        text, put_in = "{0} = p_t - p", [shut, ambient]
    elif closure == "bladder":
        pv = b.design.cold.saturation_pressure(float(h.tank_hot[row]))
        put_in = [shut, _absolute("pv_w", pv, "vapour pressure of the water"), ambient]
        text = "{0} = max(p_t, pv_w) - p"
    elif closure == "overflow-bottle":
        text, put_in = "{0} = max(min(p_t, p + p_set), p) - p", [shut, ambient, limit]
    else:
        text, put_in = "{0} = min(p_t, p + p_set) - p", [shut, ambient, limit]
    note = ""
    if closure not in NO_RELIEF and shut.value > b.air.pressure + tank.relief_pressure:
        note = "Shut, the pressure would pass the setting: the relief lifts and holds it there."
    steps.append(step("gauge pressure", text.format(gauge.name), put_in, gauge,
                      f"closure {closure}", note=note))
    return steps


def _at_row(b: Bench, row: int, value: float, title: str) -> Working:
    gauge = of("p_g", value, "pressure_gauge", f"tank pressure, gauge, {b.when(row)}")
    _, after = headspace_pressure(
        b.tank.closure, state_before(b, row), float(b.history.gas_volume[row]),
        float(b.history.tank_hot[row]),
        float(b.design.cold.saturation_pressure(float(b.history.tank_hot[row]))), around(b),
    )
    steps = pressure_steps(b, row, gauge)
    hand = _boyle(b, row) if b.tank.closure in ("sealed", "sealed-relief") else ()
    words = (
        "The estimate leaves out that the water gives, and that a relief lets gas go"
        f"; {float(after.lost) * 1e3:.2f} L of liquid have left." if hand else ""
    )
    return Working("", title, tuple(steps), gauge, hand, words)


def _boyle(b: Bench, row: int) -> tuple[Step, ...]:
    """Return the gas compressed by the water's growth, plus vapour."""
    shut, h = sealed_at(b, row), b.history
    room = float(h.gas_volume[row])
    if room <= 0.0:
        return ()
    return (
        by_hand(
            "gas squeezed and warmed, plus vapour",
            "p_hand = (p_s - pv_s)*V_s/V*T/T_s + pv - p",
            [
                _absolute("p_s", shut.pressure, "pressure when the lid was shut"),
                _absolute("pv_s", shut.vapour, "vapour pressure then"),
                _volume("V_s", shut.gas_volume, "gas space then"),
                _volume("V", room, "gas space now"),
                of("T", h.tank_hot[row], "temperature", "hottest tank water"),
                of("T_s", shut.temperature, "temperature", "temperature when shut"),
                _absolute("pv", b.design.cold.saturation_pressure(float(h.tank_hot[row])),
                          "vapour pressure"),
                _absolute("p", b.air.pressure, "station pressure"),
            ],
            ("p_hand", "pressure_gauge", "gauge pressure by hand"),
            "ideal gas law; Dalton's law",
        ),
    )


def pressure_peak(b: Bench) -> Working:
    """Working of the tank's highest pressure."""
    row = int(np.argmax(b.history.tank_pressure))
    return _at_row(b, row, b.figures.tank_pressure_peak_Pa, "tank pressure, highest")


def pressure_end_of_pass(b: Bench) -> Working:
    """Working of the tank's pressure at the end of the pass."""
    value = b.figures.tank_pressure_end_of_pass_Pa
    return _at_row(b, b.finish, value, "tank pressure at the end of the pass")


def vacuum(b: Bench) -> Working:
    """Working of the lowest tank pressure, in the event and after cooling."""
    found = of("p_v", b.figures.tank_vacuum_Pa, "pressure_gauge", "lowest tank pressure, gauge")
    if b.tank.closure == "vented":
        none = read("vented", found, f"tank.closure, {READ}", note="A vent holds no vacuum.")
        return Working("", "lowest tank pressure", (none,), found)
    last = len(b.history.time) - 1
    state = state_before(b, last)
    room, t = cooled_room(b.tank, b.air, b.cooling, b.solved.told.water)
    pv = b.design.cold.saturation_pressure(t)
    end, _ = headspace_pressure(
        b.tank.closure, _after(b, last, state), room, t, pv,
        Surroundings(b.air.pressure, math.inf, float(b.water_volume[-1])),
    )
    cooled = of("p_c", float(end) - b.air.pressure, "pressure_gauge", "after cooling")
    least = of("p_m", float(np.min(b.history.tank_pressure)), "pressure_gauge",
               "lowest in the event")
    shut = read(
        "cooled to the air's temperature with the lid shut", cooled, GAS_LAW,
        [
            pure("N", _after(b, last, state).gas, "dry gas left as p V/T", "J/K"),
            _volume("V", room, "gas space when cool"),
            of("T", t, "temperature", "temperature when cool"),
            _absolute("pv", pv, "vapour pressure then"),
        ],
        note=f"closure {b.tank.closure}",
    )
    both = step("lowest of all", "p_v = min(p_c, p_m, 0)", [cooled, least], found, "definition")
    return Working("", "lowest tank pressure", (charge_step(b, last), shut, both), found)


def _after(b: Bench, row: int, state: Headspace) -> Headspace:
    hot = float(b.history.tank_hot[row])
    vapour = float(b.design.cold.saturation_pressure(hot))
    room = float(b.history.gas_volume[row])
    return headspace_pressure(b.tank.closure, state, room, hot, vapour, around(b))[1]


def headspace_needed(b: Bench) -> Working:
    """Working of the headspace that keeps the pressure at the setting."""
    found = _volume("V_n", b.figures.headspace_needed_m3, "headspace needed at sealing")
    tank = b.tank
    if tank.closure == "vented":
        none = read("vented", found, f"tank.closure, {READ}", note="A vent needs none.")
        return Working("", "headspace needed", (none,), found)
    h, shut = b.history, sealed_tank(tank, b.air, b.cooling, 0)
    hot = float(np.max(h.tank_hot))
    gauge = most_gauge(tank)
    vapour = float(b.design.cold.saturation_pressure(hot))
    vapour = float(vapour_in_gas(tank, vapour, b.air.pressure + gauge))
    dry = tank.closure == "bladder"
    pressed = f"vapour pressure at {hot - 273.15:.1f} degC, the hottest water"
    allowed = by_hand(
        "pressure allowed to the dry gas",
        "a = p + p_set - pv",
        [
            _absolute("p", b.air.pressure, "station pressure"),
            of("p_set", gauge, "pressure_gauge",
               "set pressure" if tank.closure not in NO_RELIEF
               else "what a tank without relief may see"),
            _absolute("pv", vapour, "none: the bladder's gas is dry" if dry and not vapour
                      else pressed),
        ],
        ("a", "pressure_absolute", "pressure allowed to the dry gas"),
        "Dalton's law",
    )
    warm = by_hand(
        "pressure of that gas in an endless headspace",
        "w = (p_s - pv_s)*T/T_s",
        [
            _absolute("p_s", shut.pressure, "pressure when the lid was shut"),
            _absolute("pv_s", shut.vapour, "vapour pressure then"),
            of("T", hot, "temperature", "hottest tank water"),
            of("T_s", shut.temperature, "temperature", "temperature when shut"),
        ],
        ("w", "pressure_absolute", "pressure of the warmed gas"),
        "ideal gas law",
    )
    growth = _volume("dV", max(float(b.solved.told.pressure.expansion), 0.0),
                     "largest growth of the water in tank and lines")
    if math.isinf(found.value):
        last = read("no headspace suffices", found, GAS_LAW, [allowed.result, warm.result],
                    note="Even endless, the warmed gas is over what is allowed.")
    else:
        last = step("headspace", "V_n = a*dV/(a - w)", [allowed.result, growth, warm.result],
                    found, "(p_set - pv)(V - dV) = (p_s - pv_s)(T/T_s) V, solved for V")
    return Working("", "headspace needed", (allowed, warm, last), found)


def tank_water(b: Bench) -> Working:
    """Working of the water in the tank."""
    tank, cooling = b.tank, b.cooling
    found = of("m", b.figures.tank_water_kg, "mass", "water in the tank at the start")
    rho = of("rho", b.design.cold.density(cooling.sealing_temperature), "density",
             f"{b.design.cold.name} at {float(cooling.sealing_temperature) - 273.15:.1f} degC")
    last = step(
        "water in the tank",
        "m = rho*(fill*V - m_i/rho_i)",
        [
            rho,
            pure("fill", tank.fill, "share of the tank that is filled"),
            _volume("V", tank.volume, "volume of the tank"),
            of("m_i", tank.ice_mass, "mass", "ice in the tank"),
            of("rho_i", ice.DENSITY, "density", "density of ice"),
        ],
        found,
        "definition; density by the table from CoolProp",
    )
    return Working("", "water in the tank", (last,), found)


def mass_shift(b: Bench) -> Working:
    """Working of the shift of the car's centre of mass."""
    car, tank = b.scenario.car, b.tank
    found = of("dx", b.figures.centre_of_mass_shift_m, "length", "shift, to the rear positive")
    carried = by_hand(
        "water and ice carried", "m = m_w + m_i",
        [of("m_w", b.figures.tank_water_kg, "mass", "water in the tank"),
         of("m_i", tank.ice_mass, "mass", "ice in the tank")],
        ("m", "mass", "water and ice"), "sum",
    )
    centre = 0.55 * car.length if car.centre_of_mass is None else car.centre_of_mass
    last = step(
        "shift of the centre of mass",
        "dx = m*(x_t - x_c)/M",
        [
            carried.result,
            of("x_t", tank.position, "length", "middle of the tank behind the nose"),
            of("x_c", centre, "length", "centre of mass of the car without water"
               if car.centre_of_mass is not None
               else "centre of mass: 0.55 of the length taken (common practice)"),
            of("M", max(car.mass, carried.result.value + 1.0), "mass", "car with water"),
        ],
        found,
        "moments about the nose",
    )
    return Working("", "shift of the centre of mass", (carried, last), found)


def steam_lost(b: Bench) -> Working:
    """Working of the steam that left."""
    h = b.history
    found = of("m", b.figures.steam_lost_kg, "mass", "steam lost over the event")
    tank = found.value - float(h.jacket_mass[0] - h.jacket_mass[-1])
    last = step(
        "steam lost",
        "m = m_0 - m_1 + m_t",
        [
            of("m_0", h.jacket_mass[0], "mass", "coolant in the jacket at the start"),
            of("m_1", h.jacket_mass[-1], "mass", "coolant in the jacket at the end"),
            of("m_t", tank, "mass", "steam that left the tank"),
        ],
        found,
        "mass balance; heat beyond saturation over the latent heat, from the integrated event",
    )
    return Working("", "steam lost", (last,), found)


WORKINGS = {
    "cooling.tank_pressure_peak_Pa": pressure_peak,
    "cooling.tank_pressure_end_of_pass_Pa": pressure_end_of_pass,
    "cooling.tank_vacuum_Pa": vacuum,
    "cooling.headspace_needed_m3": headspace_needed,
    "cooling.tank_water_kg": tank_water,
    "cooling.centre_of_mass_shift_m": mass_shift,
    "cooling.steam_lost_kg": steam_lost,
}
"""Workings of the tank, by the name of the figure."""
