"""Walls between two films, and the overall coefficient of films, fouling and wall in series."""

from __future__ import annotations

import math
from typing import Any

from thermo.ops import ops_of


def wall_resistance(thickness: float, conductivity: float) -> float:
    """Thermal resistance of a flat wall.

    Parameters
    ----------
    thickness : float
        Wall thickness [m].
    conductivity : float
        Thermal conductivity of the wall, above 0 [W/(m K)].

    Returns
    -------
    float
        Resistance times area [m2 K/W].

    References
    ----------
    Fourier's law; Incropera et al., eq. 3.6.
    """
    return thickness / conductivity


def tube_wall_resistance(bore: Any, wall: Any, length: Any, conductivity: Any) -> Any:
    """Thermal resistance of the wall of a tube.

    Parameters
    ----------
    bore, wall, length : float or ndarray
        Inner diameter, wall thickness and length, above 0 [m].
    conductivity : float or ndarray
        Thermal conductivity of the wall, above 0 [W/(m K)].

    Returns
    -------
    float or ndarray
        Resistance [K/W].

    References
    ----------
    Incropera et al., eq. 3.33.
    """
    ratio = (bore + 2.0 * wall) / bore
    return ops_of(ratio).log(ratio) / (2.0 * math.pi * conductivity * length)


def overall(h_hot: Any, h_cold: Any, resistance: Any = 0.0) -> Any:
    """Overall coefficient of two films and what lies between them, on one common area.

    Parameters
    ----------
    h_hot, h_cold : float or ndarray
        Film coefficients, above 0 [W/(m2 K)].
    resistance : float or ndarray
        Wall and fouling together [m2 K/W].

    Returns
    -------
    float or ndarray
        Overall coefficient [W/(m2 K)].

    References
    ----------
    Series resistances; Incropera et al., eq. 11.1.
    """
    return 1.0 / (1.0 / h_hot + resistance + 1.0 / h_cold)
