"""How long the coolant takes to boil once its pump has stopped and the heat stays on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.gas import FloatArray
from thermo.loop_design import LoopDesign
from thermo.results import History

Mask = npt.NDArray[np.bool_]
HOUR = 3600.0
"""Longest time looked ahead from a stopped coolant pump [s]."""


def seconds_to_boil(design: LoopDesign, history: History, rows: Mask) -> FloatArray:
    """Return the time from a stopped coolant pump to boiling, with the heat kept on [s].

    Parameters
    ----------
    design : LoopDesign
    history : History
    rows : ndarray of bool
        Rows to look at.

    Returns
    -------
    ndarray
        One entry a chosen row; infinite where the heat never gets there within an hour.

    Notes
    -----
    Metal and jacket as two capacities with conductance G, heat Q into the metal:
    x = Tm - Tj relaxes to Q/(Cm lambda), lambda = G (1/Cm + 1/Cj), and Tj rises by
    (G/Cj) times the integral of x. The conductance with flow is used, which errs early.
    """
    return Warming.of(design, history, rows).seconds()


@dataclass(frozen=True, slots=True)
class Warming:
    """Metal and jacket left alone, from each of some rows.

    Attributes
    ----------
    gain : ndarray
        Conductance over the jacket's heat capacity [1/s].
    final, first : ndarray
        Lead of the metal over the coolant in the end, and at first [K].
    rate : ndarray
        At which it goes from one to the other [1/s].
    needed : ndarray
        Warmth from the coolant to boiling [K].
    """

    gain: Any
    final: Any
    first: Any
    rate: Any
    needed: Any

    @classmethod
    def of(cls, design: LoopDesign, history: History, rows: Mask) -> Warming:
        """Return the two bodies as they stand in some rows of a history."""
        cj = history.jacket_mass[rows] * design.hot.specific_heat(history.coolant[rows])
        cm, g = design.metal_capacity, design.metal_conductance
        rate = g * (1.0 / cm + 1.0 / cj)
        return cls(
            g / cj,
            history.heat_to_metal[rows] / (cm * rate),
            history.metal[rows] - history.coolant[rows],
            rate,
            np.maximum(history.boil_temperature[rows] - history.coolant[rows], 0.0),
        )

    def rise(self, t: Any) -> Any:
        """Return the rise of the coolant after a time [s], in [K]."""
        decay = (self.first - self.final) * np.expm1(-self.rate * t) / self.rate
        return self.gain * (self.final * t - decay)

    def seconds(self) -> FloatArray:
        """Return the time to boiling [s], infinite when it takes over an hour."""
        low, high = np.zeros(np.shape(self.needed)), np.full(np.shape(self.needed), HOUR)
        never = self.rise(high) < self.needed
        for _ in range(50):
            middle = 0.5 * (low + high)
            reached = self.rise(middle) >= self.needed
            high, low = np.where(reached, middle, high), np.where(reached, low, middle)
        return np.where(never, np.inf, np.where(self.needed > 0.0, high, 0.0))

    def guess(self) -> FloatArray:
        """Return about `seconds`, quicker, by three steps of Newton's method."""
        lead = np.maximum(self.first, self.final)
        t = np.minimum(self.needed / np.maximum(self.gain * lead, 1e-12), HOUR)
        for _ in range(3):
            decay = np.exp(-self.rate * t)
            slope = self.gain * (self.final + (self.first - self.final) * decay)
            away = self.final * t + (self.first - self.final) * (1.0 - decay) / self.rate
            t = t + (self.needed - self.gain * away) / np.maximum(slope, 1e-12)
            t = np.minimum(np.maximum(t, 0.0), HOUR)
        return np.asarray(t)

    def at(self, row: Any) -> Warming:
        """Return one row of each variant."""
        return Warming(
            *(np.take_along_axis(np.broadcast_to(v, np.shape(self.needed)), row[None], axis=0)
              for v in (self.gain, self.final, self.first, self.rate, self.needed))
        )


def soonest_boil(design: LoopDesign, history: History, rows: Mask) -> Any:
    """Return the least of :func:`seconds_to_boil` over some rows [s].

    Parameters
    ----------
    design : LoopDesign
    history : History
    rows : ndarray of bool
        At least one row.

    Returns
    -------
    float or ndarray
        Of variants the row is chosen by a quicker estimate, and the time is then found for it.
    """
    warming = Warming.of(design, history, rows)
    if np.ndim(warming.needed) == 1:
        return float(np.min(warming.seconds()))
    row = np.argmin(warming.guess(), axis=0)
    return warming.at(row).seconds()[0]
