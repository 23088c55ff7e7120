"""A flat panel of a box tank under pressure: its stress, and the largest that holds.

Small deflections of a flat elastic plate. Once the panel bows by more than about half its
thickness it begins to carry load as a membrane and the figures lie on the safe side.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.errors import RangeError
from thermo.estimate import Estimate
from thermo.ops import ops_of

WELDED_YIELD: dict[str, Estimate] = {
    "5052": Estimate(65e6, 60e6, 75e6, "Pa", "aluminium design handbook, from memory"),
    "6061": Estimate(
        90e6, 75e6, 105e6, "Pa", "aluminium design handbook, by filler and thickness, from memory"
    ),
}
"""Yield strength in the zone that welding has softened, by alloy."""

# Columns run over short side/long side, 0 standing for an endless strip; Poisson's ratio 0.3.
_SIDES = (0.0, 0.2, 0.25, 1.0 / 3.0, 0.5, 1.0 / 1.8, 0.625, 1.0 / 1.4, 1.0 / 1.2, 1.0)
_SUPPORTED_STRESS = (
    0.7500, 0.7476, 0.7410, 0.7134, 0.6102, 0.5688, 0.5172, 0.4530, 0.3762, 0.2874,
)
_CLAMPED_SIDES = (0.0, 0.5, 1.0 / 1.8, 0.625, 1.0 / 1.4, 1.0 / 1.2, 1.0)
_CLAMPED_STRESS = (0.5000, 0.4974, 0.4872, 0.4680, 0.4356, 0.3834, 0.3078)

_Table = tuple[tuple[float, ...], tuple[float, ...]]

EDGES: dict[str, _Table] = {
    "clamped": (_CLAMPED_SIDES, _CLAMPED_STRESS),
    "supported": (_SIDES, _SUPPORTED_STRESS),
}
"""Side ratios and stress coefficients by kind of edge. Roark's Formulas for Stress
and Strain, table 11.4, cases 8a (all edges fixed: stress at the middle of the long edge) and 1a
(all edges simply supported: stress at the centre), from memory; they agree with series solutions
of the plate equation in the tests. Timoshenko, Theory of Plates and Shells, tables 8 and 35."""


def _coefficient(ratio: Any, sides: tuple[float, ...], values: tuple[float, ...]) -> Any:
    low, high = float(np.min(ratio)), float(np.max(ratio))
    if not (low > 0.0 and high <= 1.0):
        raise RangeError("short side over long side of a panel", low if low <= 0.0 else high, 0, 1)
    found = np.interp(ratio, sides, values)
    return found if isinstance(ratio, np.ndarray) else float(found)


def panel_stress(
    pressure: Any, long_side: Any, short_side: Any, thickness: Any, edges: str
) -> Any:
    """Largest bending stress of a rectangular panel under uniform pressure. [poly]

    Parameters
    ----------
    pressure : float or ndarray
        Pressure across the panel [Pa], of either sign.
    long_side, short_side : float or ndarray
        Free span between welds or stays [m].
    thickness : float or ndarray
        Of the sheet [m].
    edges : str
        'clamped' or 'supported'.

    Returns
    -------
    float or ndarray
        Stress [Pa], positive: beta |p| b^2/t^2. The coefficient is linear between the table's
        side ratios, within 0.01 of the plate's exact one.

    Raises
    ------
    RangeError
        If the short side is not above zero, or is the longer.
    """
    sides, stress = EDGES[edges]
    factor = _coefficient(short_side / long_side, sides, stress)
    return factor * abs(pressure) * (short_side / thickness) ** 2


def worst_panel_stress(pressure: Any, long_side: Any, short_side: Any, thickness: Any) -> Any:
    """Larger of the clamped panel's edge stress and the supported panel's centre stress. [poly]

    Parameters
    ----------
    pressure : float or ndarray
        Pressure across the panel [Pa].
    long_side, short_side : float or ndarray
        Free span [m].
    thickness : float or ndarray
        Of the sheet [m].

    Returns
    -------
    float or ndarray
        Stress [Pa]. A welded corner lies between the two kinds of edge; a first check.
    """
    xp = ops_of(pressure, long_side, short_side, thickness)
    return xp.maximum(
        panel_stress(pressure, long_side, short_side, thickness, "clamped"),
        panel_stress(pressure, long_side, short_side, thickness, "supported"),
    )


def largest_span(pressure: float, thickness: float, allowable: float, side_ratio: float) -> float:
    """Short side of the largest unstayed panel that holds a pressure.

    Parameters
    ----------
    pressure : float
        Pressure across the panel [Pa]; not zero.
    thickness : float
        Of the sheet [m].
    allowable : float
        Stress allowed: welded yield over a safety factor [Pa].
    side_ratio : float
        Short side over long side of the panel [-], above 0 and up to 1.

    Returns
    -------
    float
        Short side [m]; the long one is this over the ratio.

    Raises
    ------
    RangeError
        If the ratio is out of range or the pressure is zero.
    """
    if pressure == 0.0:
        raise RangeError("pressure on a panel", pressure, 0.0, math.inf, "Pa")
    unit = worst_panel_stress(abs(pressure), 1.0 / side_ratio, 1.0, 1.0)
    return thickness * math.sqrt(allowable / unit)
