"""Flow in a duct of one section with friction (Fanno) or with heat (Rayleigh)."""

from __future__ import annotations

import numpy as np

from thermo.gas import MOST_STEPS, area_ratio, stagnation_temperature_ratio
from thermo.ops import Real


def fanno_length(mach: Real, gamma: Real) -> Real:
    """Return f L*/D, the friction length left to choking (Darcy friction factor).

    Parameters
    ----------
    mach : float or ndarray
        Mach number at the start, above 0 and up to 1 [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        f L*/D [-].

    Notes
    -----
    The usual form (1 - M^2)/(gamma M^2) + (gamma + 1)/(2 gamma) ln(...) of the Fanno line
    (Shapiro, eq. 6.21, from memory) is (z - c ln(1 + z/c))/gamma with z = 1/M^2 - 1 and
    c = (gamma + 1)/2, which keeps its digits near M = 1 and can be inverted.
    """
    half = 0.5 * (gamma + 1.0)
    excess = 1.0 / (mach * mach) - 1.0
    length: Real = (excess - half * np.log1p(excess / half)) / gamma
    return length


def fanno_mach(friction_length: Real, gamma: Real) -> Real:
    """Return the subsonic Mach number from which f L/D leads just to choking.

    Parameters
    ----------
    friction_length : float or ndarray
        f L*/D with the Darcy friction factor, 0 or more [-]; infinity gives M = 0.
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Mach number [-], within 1e-10; NaN where the argument is negative or NaN.

    Notes
    -----
    Newton on t - ln(1 + t) = gamma F/c from the upper bound t = G + sqrt(2 G) (Chatzigeorgiou,
    IEEE Communications Letters 17 (2013) 1505, from memory). The left side is convex, so the
    steps descend to the root and never pass it.
    """
    length, g = np.broadcast_arrays(
        np.asarray(friction_length, dtype=np.float64), np.asarray(gamma, dtype=np.float64)
    )
    half = 0.5 * (g + 1.0)
    with np.errstate(invalid="ignore"):
        open_ = (length > 0.0) & np.isfinite(length)
    scaled = np.where(open_, length, 1.0) * g / half
    root = scaled + np.sqrt(2.0 * scaled)
    for _ in range(MOST_STEPS):
        step = (root - np.log1p(root) - scaled) * (1.0 + root) / root
        root = np.where(step < root, root - step, 0.5 * root)
        if not np.any(np.abs(step) > 1e-14 * (1.0 + root)):
            break
    with np.errstate(invalid="ignore"):
        known = np.where(length == 0.0, 1.0, np.where(length == np.inf, 0.0, np.nan))
    result: Real = np.where(open_, (1.0 + half * root) ** -0.5, known)[()]
    return result


def fanno_temperature_ratio(mach: Real, gamma: Real) -> Real:
    """Return T/T* of adiabatic duct flow with friction.

    Parameters
    ----------
    mach : float or ndarray
        Mach number, 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Static temperature over that at choking [-].

    Notes
    -----
    Shapiro, eq. 6.23 (from memory).
    """
    return 0.5 * (gamma + 1.0) / stagnation_temperature_ratio(mach, gamma)


def fanno_velocity_ratio(mach: Real, gamma: Real) -> Real:
    """Return V/V* of adiabatic duct flow with friction.

    Parameters
    ----------
    mach : float or ndarray
        Mach number, 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Velocity over that at choking, M sqrt(T/T*) [-].
    """
    ratio: Real = mach * fanno_temperature_ratio(mach, gamma) ** 0.5
    return ratio


def fanno_pressure_ratio(mach: Real, gamma: Real) -> Real:
    """Return p/p* of adiabatic duct flow with friction.

    Parameters
    ----------
    mach : float or ndarray
        Mach number, above 0 [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Static pressure over that at choking, sqrt(T/T*)/M [-].
    """
    ratio: Real = fanno_temperature_ratio(mach, gamma) ** 0.5 / mach
    return ratio


def fanno_stagnation_pressure_ratio(mach: Real, gamma: Real) -> Real:
    """Return p0/p0* of adiabatic duct flow with friction.

    Parameters
    ----------
    mach : float or ndarray
        Mach number, above 0 [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Stagnation pressure over that at choking [-]. Flow, area and stagnation temperature are
        constant, so it equals A/A* of :func:`area_ratio`.
    """
    return area_ratio(mach, gamma)


def rayleigh_mach(mach: Real, temperature_ratio: Real, gamma: Real) -> Real:
    """Return the subsonic Mach number after heating at constant area without friction.

    Parameters
    ----------
    mach : float or ndarray
        Mach number before, 0 to 1 [-].
    temperature_ratio : float or ndarray
        Stagnation temperature after over before [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Mach number after [-]; NaN where the heat is more than chokes the flow.

    Notes
    -----
    Momentum p (1 + gamma M^2) and mass flow are constant, which is a quadratic in M^2
    (Shapiro, ch. 7, from memory). Exact form of d ln p0 = -(gamma M^2/2) d ln T0.
    """
    square = mach * mach
    impulse = square * (1.0 + 0.5 * (gamma - 1.0) * square) / (1.0 + gamma * square) ** 2
    impulse = impulse * temperature_ratio
    inside = 1.0 - 2.0 * (gamma + 1.0) * impulse
    with np.errstate(invalid="ignore"):
        root = np.sqrt(np.where(np.asarray(inside) >= 0.0, inside, np.nan))
    after: Real = np.sqrt(2.0 * impulse / (1.0 - 2.0 * gamma * impulse + root))
    return after
