"""The whole cooling loop once more, by scipy, in temperatures, with its own water.

Nothing of the engine's loop, liquids or exchanger is used: the equations are written down again
with temperatures as state (the engine carries enthalpies), properties come from CoolProp through
splines made here, limits (boiling, end of ice) are found by event detection, and each smooth
stretch is one call of ``solve_ivp`` at 1e-9. Slow and plain on purpose.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from CoolProp.CoolProp import PropsSI
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq

ZERO_C = 273.15
MELTING_HEAT = 333.43e3  # J/kg, IAPWS R10-06(2009)
METAL, JACKET, WAX, OIL, COOLANT, ICE, WATER, TO_AIR, HEAT_IN, STEAM_HEAT = range(10)
CELLS = 10
LINE = 3
NUDGE = 1e-9  # K past a limit that an event waits for, so that resting at the limit is no event


@dataclass(frozen=True)
class Fluid:
    """Density, enthalpy (zero at 0 degC) and specific heat, and the heat that boils water off."""

    density: Callable[[float], float]
    enthalpy: Callable[[float], float]
    specific_heat: Callable[[float], float]
    latent: Callable[[float], float]


@lru_cache(maxsize=8)
def fluid(ethylene: float = 0.0) -> Fluid:
    """Water, or ethylene glycol in water by volume, from CoolProp.

    Water is liquid at 1 atm, saturated above its boiling point. The ASHRAE fits of glycol are
    polynomials that CoolProp shuts off at 100 degC; here they are continued by a fourth-degree
    polynomial through the whole range below.
    """
    t = np.arange(273.16, 423.2, 0.5)
    if ethylene == 0.0:
        p = np.maximum(101325.0, PropsSI("P", "T", t, "Q", 0.0, "Water") + 10.0)
        rho = PropsSI("D", "T", t, "P", p, "Water")
        cp = PropsSI("C", "T", t, "P", p, "Water")
    else:
        known = np.arange(275.0, 373.1, 1.0)
        name = f"INCOMP::AEG[{ethylene}]"
        rho = np.polyval(
            np.polyfit(known - 320.0, [PropsSI("D", "T", k, "P", 3e5, name) for k in known], 4),
            t - 320.0,
        )
        cp = np.polyval(
            np.polyfit(known - 320.0, [PropsSI("C", "T", k, "P", 3e5, name) for k in known], 4),
            t - 320.0,
        )
    heat = CubicSpline(t, cp)
    enthalpy = heat.antiderivative()
    base = float(enthalpy(ZERO_C))
    h_fg = CubicSpline(
        t, PropsSI("H", "T", t, "Q", 1.0, "Water") - PropsSI("H", "T", t, "Q", 0.0, "Water")
    )
    return Fluid(CubicSpline(t, rho), lambda x: enthalpy(x) - base, heat, h_fg)


@dataclass(frozen=True)
class Ice:
    """Mass and surface as put in, film coefficient, heat to water at 0 degC [J/kg]."""

    mass: float
    area: float
    film: float = 600.0
    heat: float = MELTING_HEAT


@dataclass(frozen=True)
class Stretch:
    """A piece of an event: what acts on the loop, linear in time between first and last."""

    duration: float
    metal_heat: tuple[float, ...] = (0.0, 0.0)
    oil_heat: tuple[float, ...] = (0.0, 0.0)
    charge_heat: tuple[float, ...] = (0.0, 0.0)
    hot_flow: tuple[float, ...] = (0.0, 0.0)
    cold_flow: Callable[[float], float] = lambda t: 0.0
    cold_pump: float = 0.0
    hot_pump: float = 0.0
    sun: float = 0.0


@dataclass(frozen=True)
class Loop:
    """The loop in plain numbers, SI."""

    ethylene: float = 0.0
    ua: float | Callable[[float, float], float] = 3600.0
    arrangement: str = "counterflow"
    metal_capacity: float = 40e3
    metal_conductance: float = 2800.0
    still_share: float = 0.2
    full_flow: float = 2e-3
    engine_air: float = 0.0
    oil_capacity: float = 8e3
    oil_cooler: float = 0.0
    oil_air: float = 0.0
    boil: float = 395.0
    tank_boil: float = 1e9
    supply_mass: float = 0.7
    return_mass: float = 0.7
    supply_air: float = 0.0
    return_air: float = 0.0
    tank_air: float = 0.0
    cells: int = 1
    wall: float = 0.0
    short: float = 0.0
    thermostat: tuple[float, float, float, float] | None = None  # opens, full, bleed, lag
    air: float = 311.15
    coolant_mass: float = 7.0
    tank_mass: float = 41.0
    coolant_start: float = 355.15
    metal_start: float = 360.15
    oil_start: float = 355.15
    tank_start: float = 307.15
    ice: Ice | None = None


@dataclass
class Result:
    """State at any time [s], first and last state, and when limits were met first (nan: never)."""

    first: np.ndarray
    last: np.ndarray
    boils_at: float = float("nan")
    tank_boils_at: float = float("nan")
    ice_gone_at: float = float("nan")
    spans: list[tuple[float, float, Callable[[float], np.ndarray]]] = field(default_factory=list)

    def at(self, when: float) -> np.ndarray:
        """State at a time, by scipy's own dense output of the stretch it lies in."""
        for begun, end, solution in self.spans:
            if when <= end:
                return solution(when - begun)
        return self.last


def start(loop: Loop) -> np.ndarray:
    y = np.zeros(CELLS + 2 * LINE + loop.cells)
    y[METAL], y[JACKET], y[WAX], y[OIL] = (
        loop.metal_start,
        loop.coolant_start,
        loop.coolant_start,
        loop.oil_start,
    )
    y[COOLANT], y[WATER] = loop.coolant_mass, loop.tank_mass
    y[ICE] = 0.0 if loop.ice is None else loop.ice.mass
    y[CELLS:] = loop.tank_start
    return y


def effectiveness(arrangement: str, ntu: float, cr: float) -> float:
    """Textbook forms, with their special cases."""
    if arrangement == "parallel":
        return (1.0 - np.exp(-ntu * (1.0 + cr))) / (1.0 + cr)
    if abs(1.0 - cr) < 1e-7:
        return ntu / (1.0 + ntu)
    e = np.exp(-ntu * (1.0 - cr))
    return (1.0 - e) / (1.0 - cr * e)


def _linear(values: Sequence[float], x: float) -> float:
    return float(np.interp(x, np.linspace(0.0, 1.0, len(values)), values))


def _rates(
    loop: Loop, piece: Stretch, boiling: bool, tank_boiling: bool, melting: bool
) -> Callable[[float, np.ndarray], np.ndarray]:
    hot, cold = fluid(loop.ethylene), fluid()
    n = loop.cells

    def f(t: float, y: np.ndarray) -> np.ndarray:
        x = t / piece.duration
        d = np.zeros_like(y)
        cells = y[CELLS:]
        h = cold.enthalpy(cells)
        cp = cold.specific_heat(cells)
        tj = y[JACKET]
        # Pump at the tank's outlet: volume flow and density are those of the water there.
        h_out = h[-1] + loop.short * (h[2 * LINE - 1] - h[-1])
        t_out = cells[-1] if loop.short == 0.0 else _temperature(cold, h_out, cells[-1])
        volume = piece.cold_flow(t_out)
        m = volume * float(cold.density(t_out))
        flow = _linear(piece.hot_flow, x)
        share = 1.0
        if loop.thermostat is not None:
            opens, full, bleed, lag = loop.thermostat
            share = bleed + (1 - bleed) * float(np.clip((y[WAX] - opens) / (full - opens), 0, 1))
            d[WAX] = (tj - y[WAX]) / lag
        m_hot = flow * share * float(hot.density(tj))
        cp_hot = float(hot.specific_heat(tj))
        t_in = cells[LINE - 1]
        q = 0.0
        if m > 0.0 and m_hot > 0.0:
            c_hot, c_cold = m_hot * cp_hot, m * cp[LINE - 1]
            c_min = min(c_hot, c_cold)
            ua = loop.ua(m_hot, m) if callable(loop.ua) else loop.ua
            q = (
                effectiveness(loop.arrangement, ua / c_min, c_min / max(c_hot, c_cold))
                * c_min
                * (tj - t_in)
            )
        g = loop.metal_conductance * (
            loop.still_share + (1 - loop.still_share) * min(1.0, flow / loop.full_flow)
        )
        to_coolant = g * (y[METAL] - tj)
        engine_loss = loop.engine_air * (y[METAL] - loop.air)
        burnt = _linear(piece.metal_heat, x)
        oil, charge = _linear(piece.oil_heat, x), _linear(piece.charge_heat, x)
        d[METAL] = (burnt - to_coolant - engine_loss) / loop.metal_capacity
        from_oil = loop.oil_cooler * (y[OIL] - tj)
        oil_loss = loop.oil_air * (y[OIL] - loop.air)
        d[OIL] = (oil - from_oil - oil_loss) / loop.oil_capacity
        net = to_coolant + from_oil + piece.hot_pump - q
        if boiling:
            latent = float(hot.latent(tj))
            d[COOLANT] = -net / latent
            d[STEAM_HEAT] += net / latent * (latent + float(hot.enthalpy(tj)))
        else:
            d[JACKET] = net / (y[COOLANT] * cp_hot)

        loss = np.zeros(len(cells))
        loss[:LINE] = loop.supply_air * (cells[:LINE] - loop.air)
        loss[LINE : 2 * LINE] = loop.return_air * (cells[LINE : 2 * LINE] - loop.air)
        inlet = np.concatenate([[h_out], h[:-1]])
        through = np.full(len(cells), m)
        through[2 * LINE :] = m * (1 - loop.short)
        gain = through * (inlet - h) - loss
        gain[0] += piece.cold_pump
        gain[LINE] += q + charge
        mean = cells[-1] if n == 1 else _temperature(cold, float(np.mean(h[2 * LINE :])), cells[-1])
        tank_loss = loop.tank_air * (mean - loop.air)
        gain[2 * LINE :] += (piece.sun - tank_loss) / n
        if melting and loop.ice is not None:
            ice = loop.ice
            surface = ice.area * (max(y[ICE], 0.0) / ice.mass) ** (2 / 3)
            warmth = np.maximum(cells[2 * LINE :] - ZERO_C, 0.0)
            melts = ice.film * surface / n * warmth / MELTING_HEAT
            melt = float(np.sum(melts))
            gain[2 * LINE :] -= melts * ice.heat + melt / n * h[2 * LINE :]
            d[ICE], d[WATER] = -melt, melt
        capacity = np.empty(len(cells))
        capacity[:LINE] = loop.supply_mass * cp[:LINE]
        capacity[LINE : 2 * LINE] = loop.return_mass * cp[LINE : 2 * LINE]
        capacity[2 * LINE :] = (y[WATER] * cp[2 * LINE :] + loop.wall) / n
        d[CELLS:] = gain / capacity
        if tank_boiling:
            latent = float(cold.latent(cells[-1]))
            d[WATER] -= gain[-1] / latent
            d[STEAM_HEAT] += gain[-1] / latent * (latent + h[-1])
            d[-1] = 0.0
        d[TO_AIR] = engine_loss + oil_loss + float(np.sum(loss)) + tank_loss - piece.sun
        d[HEAT_IN] = burnt + oil + charge + piece.cold_pump + piece.hot_pump
        f.net, f.tank_net = net, gain[-1]
        return d

    return f


def _temperature(liquid: Fluid, h: float, guess: float) -> float:
    for _ in range(4):
        guess -= (float(liquid.enthalpy(guess)) - h) / float(liquid.specific_heat(guess))
    return guess


def march(loop: Loop, pieces: Sequence[Stretch], state: np.ndarray | None = None) -> Result:
    """Integrate piece by piece, and within a piece from limit to limit.

    The water of a tank of several cells must stay below its boiling point.
    """
    y = start(loop) if state is None else state
    out = Result(y, y)
    begun = 0.0
    for piece in pieces:
        now = 0.0
        while now < piece.duration:
            melting = y[ICE] > 0.0
            boiling, tank_boiling = _at_limits(loop, piece, now, y, melting)
            f = _rates(loop, piece, boiling, tank_boiling, melting)
            # LSODA keeps its order over smooth stretches only; limits end a stretch.
            got = solve_ivp(
                f,
                (now, piece.duration),
                y,
                "LSODA",
                rtol=1e-9,
                atol=1e-8,
                first_step=1e-3,
                max_step=5.0,
                dense_output=True,
                events=_limits(loop, f, boiling, tank_boiling, melting),
            )
            assert got.success, got.message
            end = float(got.t[-1])
            y = got.y[:, -1].copy()
            out.spans.append((begun, begun + end, got.sol))
            hit = [len(e) > 0 for e in got.t_events]
            if hit[0] and not boiling:
                y[JACKET] = loop.boil
                if np.isnan(out.boils_at):
                    out.boils_at = begun + end
            if hit[1] and not tank_boiling:
                y[-1] = loop.tank_boil
                if np.isnan(out.tank_boils_at):
                    out.tank_boils_at = begun + end
            if hit[2]:
                y[WATER] += y[ICE]
                y[ICE] = 0.0
                out.ice_gone_at = begun + end
            now = end
        begun += piece.duration
    out.last = y
    return out


def _at_limits(
    loop: Loop, piece: Stretch, now: float, y: np.ndarray, melting: bool
) -> tuple[bool, bool]:
    """Say whether coolant and tank go on boiling from here: at the limit and still heated."""
    f = _rates(loop, piece, False, False, melting)
    f(now, y)
    return y[JACKET] >= loop.boil and f.net > 1e-6, y[-1] >= loop.tank_boil and f.tank_net > 1e-6


def _limits(
    loop: Loop,
    f: Callable[[float, np.ndarray], np.ndarray],
    boiling: bool,
    tank_boiling: bool,
    melting: bool,
) -> list[Callable[[float, np.ndarray], float]]:
    def jacket(t: float, y: np.ndarray) -> float:
        if not boiling:
            return float(y[JACKET] - loop.boil - NUDGE)
        f(t, y)
        return float(f.net)

    def tank(t: float, y: np.ndarray) -> float:
        if not tank_boiling:
            return float(y[-1] - loop.tank_boil - NUDGE)
        f(t, y)
        return float(f.tank_net)

    def ice(_t: float, y: np.ndarray) -> float:
        # The melting surface goes with m^(2/3): ended a milligram early, before the kink.
        return float(y[ICE] - 1e-6) if melting else 1.0

    for limit, rising in ((jacket, not boiling), (tank, not tank_boiling), (ice, False)):
        limit.terminal = True
        limit.direction = 1.0 if rising else -1.0
    return [jacket, tank, ice]


def stored(loop: Loop, y: np.ndarray) -> float:
    """Energy held by all parts, against liquid and metal at 0 degC [J]."""
    hot, cold = fluid(loop.ethylene), fluid()
    h = cold.enthalpy(y[CELLS:])
    n = loop.cells
    total = loop.metal_capacity * (y[METAL] - ZERO_C) + loop.oil_capacity * (y[OIL] - ZERO_C)
    total += y[COOLANT] * float(hot.enthalpy(y[JACKET]))
    total += loop.supply_mass * h[:LINE].sum() + loop.return_mass * h[LINE : 2 * LINE].sum()
    total += y[WATER] * h[2 * LINE :].mean() + loop.wall * (y[-n:].mean() - ZERO_C)
    if loop.ice is not None:
        total -= y[ICE] * loop.ice.heat
    return float(total)


def refill(loop: Loop, y: np.ndarray, share: float, temperature: float) -> np.ndarray:
    """Swap a share of the tank's water; wall and water then agree at one temperature."""
    cold, n = fluid(), loop.cells
    tank = y[-n:]
    fresh = float(cold.enthalpy(temperature))
    heat = y[WATER] * ((1 - share) * float(np.mean(cold.enthalpy(tank))) + share * fresh)
    heat += loop.wall * float(np.mean(tank))

    def excess(t: float) -> float:
        return y[WATER] * float(cold.enthalpy(t)) + loop.wall * t - heat

    y = y.copy()
    y[-n:] = brentq(excess, 274.0, 420.0, xtol=1e-10)
    return y


def creep(loop: Loop, piece: Stretch, y: np.ndarray, step: float) -> np.ndarray:
    """March a tank of several cells that boils, in steps so short that their size is as nothing.

    After each step the vapour of overheated cells condenses in those cooler, first in the cell
    nearest the outlet, and what is left over goes as steam. Returns the state at the end.
    """
    f = _rates(loop, piece, False, False, False)
    cold, n, limit = fluid(), loop.cells, loop.tank_boil
    cp, latent, h = (float(p(limit)) for p in (cold.specific_heat, cold.latent, cold.enthalpy))
    y = y.copy()
    for i in range(round(piece.duration / step)):
        t = i * step
        y += step * f(t + step / 2, y + step / 2 * f(t, y))
        tank = y[-n:]
        excess = float(np.sum(np.maximum(tank - limit, 0.0)))
        if excess > 0.0:
            np.minimum(tank, limit, out=tank)
            for j in range(n - 1, -1, -1):
                taken = min(excess, limit - tank[j])
                tank[j] += taken
                excess -= taken
            heat = (y[WATER] * cp + loop.wall) / n * excess
            y[WATER] -= heat / latent
            y[STEAM_HEAT] += heat / latent * (latent + h)
    return y
