"""The flow at which duct and engine agree, and the speed from which the duct helps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.air_demand import (
    Demand,
    DisplacementDemand,
    PowerDemand,
    charge_density_ratio,
    compressor_temperature_ratio,
    power_ratio,
)
from thermo.gas import BoolArray, FloatArray
from thermo.ops import Real
from thermo.roots import Crossing, crossings

__all__ = [
    "FLOW_TOLERANCE", "Delivery", "Demand", "DisplacementDemand", "FixedPoint", "PowerDemand",
    "break_even", "charge_density_ratio", "compressor_temperature_ratio", "fixed_point",
    "power_ratio",
]

Delivery = Callable[[FloatArray], tuple[FloatArray, FloatArray, BoolArray]]
"""From a mass flow [kg/s] to the stagnation pressure [Pa] and temperature [K] at the plenum, and
whether the duct is choked, each of shape (n,)."""

FLOW_TOLERANCE = 1e-9
"""Relative change of flow at which duct and engine agree."""

_MAX_ROUNDS = 60
"""Rounds of the fixed point: three to seven are usual, forty beside choking."""


@dataclass(frozen=True, slots=True)
class FixedPoint:
    """Flow at which duct and engine agree, for n operating points.

    Attributes
    ----------
    flow : ndarray, shape (n,)
        Mass flow [kg/s]. Where choked, the largest flow that the duct passes; NaN, as the other
        results, where it passes none at all.
    pressure : ndarray, shape (n,)
        Stagnation pressure delivered to the plenum [Pa]. Where choked, that of the largest flow;
        the plenum then drops below it until the engine asks for no more.
    temperature : ndarray, shape (n,)
        Stagnation temperature delivered [K].
    residual : ndarray, shape (n,)
        Demand less flow, over flow [-]; positive where choked.
    converged : ndarray of bool, shape (n,)
        Whether duct and engine agree; False where choked.
    choked : ndarray of bool, shape (n,)
        Whether the engine asks for more than the duct passes.
    rounds : int
        Marches made.
    """

    flow: FloatArray
    pressure: FloatArray
    temperature: FloatArray
    residual: FloatArray
    converged: BoolArray
    choked: BoolArray
    rounds: int


def fixed_point(
    deliver: Delivery, demand: Demand, pressure: Real, temperature: Real
) -> FixedPoint:
    """Return the flow at which the engine's demand equals what the duct delivers.

    Parameters
    ----------
    deliver : callable
        The duct: flow of shape (n,) to plenum pressure, temperature and choking.
    demand : Demand
        The engine.
    pressure : float or ndarray, shape (n,)
        Stagnation pressure at the opening [Pa].
    temperature : float or ndarray, shape (n,)
        Stagnation temperature at the opening [K].

    Returns
    -------
    FixedPoint
        Flow and plenum state with residual, convergence and choking. A demand of zero
        gives zero flow.

    Notes
    -----
    Secant on demand less flow, kept in a bracket: a flow at which the demand is larger is too
    small, one at which the demand is smaller, or which chokes, is too large. Steps that leave
    the bracket are replaced by its middle.
    """
    start = np.asarray(demand.flow(pressure, temperature), dtype=np.float64)
    start = np.atleast_1d(np.broadcast_arrays(start, np.asarray(pressure))[0])
    state = _Bracket(np.array(start, dtype=np.float64))
    rounds = 0
    while rounds < _MAX_ROUNDS and not np.all(state.done | state.chokes):
        delivered = deliver(state.trial)
        state.update(delivered, _demanded(demand, delivered, pressure, temperature))
        rounds += 1
    return state.result(rounds)


def _demanded(demand: Demand, delivered: tuple[Any, Any, Any], pressure: Real,
              temperature: Real) -> FloatArray:
    """Return the demand [kg/s] at the delivered state, NaN where choked."""
    at, warm, choked = delivered
    # Choked entries are asked at the opening's state, so that NaN never enters the engine.
    asked = demand.flow(np.where(choked, pressure, at), np.where(choked, temperature, warm))
    return np.asarray(np.where(choked, np.nan, asked), dtype=np.float64)


class _Bracket:
    """Safeguarded secant of all operating points at once."""

    def __init__(self, start: FloatArray) -> None:
        self.trial = start
        self.low = np.zeros(start.shape)
        self.high = np.full(start.shape, np.inf)
        self.before = np.full(start.shape, np.nan)
        self.excess_before = np.full(start.shape, np.nan)
        self.high_chokes = np.zeros(start.shape, dtype=np.bool_)
        self.done = np.zeros(start.shape, dtype=np.bool_)
        self.flow = np.full(start.shape, np.nan)
        self.pressure = np.full(start.shape, np.nan)
        self.temperature = np.full(start.shape, np.nan)
        self.residual = np.full(start.shape, np.nan)

    def update(self, delivered: tuple[Any, Any, Any], asked: FloatArray) -> None:
        """Take in what the duct delivers at the trial flows, and choose the next ones."""
        pressure, temperature, choked = delivered
        excess = asked - self.trial
        passes = ~choked & ~self.done
        # The best state known: the last for a converged point, the largest flow if it chokes.
        for held, new in ((self.flow, self.trial), (self.pressure, pressure),
                          (self.temperature, temperature),
                          (self.residual, excess / np.maximum(self.trial, 1e-30))):
            held[passes] = np.asarray(new)[passes]
        with np.errstate(invalid="ignore"):
            self.done |= ~choked & (np.abs(excess) <= FLOW_TOLERANCE * self.trial)
            low = ~choked & (excess > 0.0)
            step = self.trial - self.before
            slope = (excess - self.excess_before) / np.where(step == 0.0, np.nan, step)
        lowers = ~low & ~self.done
        self.high_chokes = np.where(lowers, choked, self.high_chokes)
        self.low = np.where(low, self.trial, self.low)
        self.high = np.where(lowers, self.trial, self.high)
        # Demand falls or holds as flow grows, so the slope is -1 or steeper.
        slope = np.where(np.isfinite(slope) & (slope < -0.5), slope, -1.0)
        wanted = self.trial - excess / slope
        with np.errstate(invalid="ignore"):
            inside = (wanted > self.low) & (wanted < self.high)
            middle = np.where(np.isfinite(self.high), 0.5 * (self.low + self.high), 2.0 * self.low)
        self.before = np.where(choked, self.before, self.trial)
        self.excess_before = np.where(choked, self.excess_before, excess)
        self.trial = np.where(self.done, self.trial, np.where(inside, wanted, middle))

    @property
    def chokes(self) -> BoolArray:
        """Where the bracket has closed under a choking flow: the engine asks for more."""
        closed = self.high - self.low <= 1e-10 * self.high
        return ~self.done & self.high_chokes & closed

    def result(self, rounds: int) -> FixedPoint:
        """Return what was found; where nothing passes at all that is choking too."""
        return FixedPoint(
            flow=self.flow,
            pressure=self.pressure,
            temperature=self.temperature,
            residual=self.residual,
            converged=self.done,
            choked=self.chokes | (~self.done & self.high_chokes & (self.low == 0.0)),
            rounds=rounds,
        )


def break_even(
    net: Callable[[float], float], speeds: FloatArray, net_at_speeds: FloatArray
) -> tuple[Crossing, ...]:
    """Return the speeds at which the duct begins, or ceases, to help.

    Parameters
    ----------
    net : callable
        Net gain [Pa] at a car speed [m/s].
    speeds : ndarray, shape (n,)
        Car speeds of the scan, rising [m/s].
    net_at_speeds : ndarray, shape (n,)
        Net gain there [Pa]; NaN where the duct chokes.

    Returns
    -------
    tuple of Crossing
        Every crossing of zero, rising speed; direction 1 where the duct begins to help. Empty
        when it helps, or fails to, over the whole scan.
    """
    return crossings(speeds, net_at_speeds, net)
