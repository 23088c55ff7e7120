"""Closed forms of the loop's limiting cases, with constant properties; nothing of the engine."""

from __future__ import annotations

import math


def heated_tank(heat: float, mass: float, cp: float, t: float, start: float) -> float:
    """Well-mixed tank that loses nothing."""
    return start + heat * t / (mass * cp)


def constant_source(hot: float, start: float, g: float, capacity: float, t: float) -> float:
    """A capacity warmed by a source of constant temperature through g = eps Cmin [W/K]."""
    return hot - (hot - start) * math.exp(-g * t / capacity)


def two_capacities(
    heat: float, g: float, c1: float, c2: float, t: float, start1: float, start2: float
) -> tuple[float, float]:
    """Constant heat into the first of two capacities coupled by g [W/K]."""
    tau = c1 * c2 / (g * (c1 + c2))
    mean = (c1 * start1 + c2 * start2 + heat * t) / (c1 + c2)
    steady = heat * c2 / (g * (c1 + c2))
    gap = steady + (start1 - start2 - steady) * math.exp(-t / tau)
    return mean + gap * c2 / (c1 + c2), mean - gap * c1 / (c1 + c2)


def cooling(ua: float, mass: float, cp: float, t: float, start: float, air: float) -> float:
    """Tank cooling to the air."""
    return air + (start - air) * math.exp(-ua * t / (mass * cp))


def stirred_tanks(n: int, turns: float) -> float:
    """Step response of n equal stirred tanks in series at t over the whole residence time."""
    x = n * turns
    return 1.0 - math.exp(-x) * sum(x**i / math.factorial(i) for i in range(n))


def ring_of_tanks(n: int, after: int, turns: float, rise: float) -> float:
    """Rise of one cell of a ring of n stirred cells, the first of which is heated.

    `rise` is the heat over the ring's flow of heat capacity; `after` is how many cells the water
    has passed, the heated one and this one included; each further round adds n.
    """
    total, passed = 0.0, after
    while passed - 6.0 * math.sqrt(passed) < n * turns:
        x = n * turns
        log_terms = (i * math.log(x) - math.lgamma(i + 1) - x for i in range(passed))
        total += 1.0 - math.fsum(math.exp(v) for v in log_terms)
        passed += n
    return rise * total
