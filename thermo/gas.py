"""Compressible flow of a perfect gas: isentropic, mass-flow, Fanno and Rayleigh relations.

Every relation takes the ratio of specific heats as an argument and works on floats and on
arrays. Mach numbers are subsonic (0 to 1) wherever an inverse is taken.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from thermo.errors import RangeError
from thermo.ops import Real

BoolArray = npt.NDArray[np.bool_]
FloatArray = npt.NDArray[np.float64]

_MAX_STEPS = 60
"""Newton converges from one side in 3 to 8 steps; the bound only ends a hopeless loop."""

_ROUNDING = 1e-15
"""Relative distance from the choked flow function that is rounding and counts as M = 1."""


@dataclass(frozen=True, slots=True)
class Gas:
    """A perfect gas with constant properties over the duct.

    Attributes
    ----------
    gas_constant : float or ndarray
        Specific gas constant [J/(kg K)].
    gamma : float or ndarray
        Ratio of specific heats [-].
    viscosity : float or ndarray
        Dynamic viscosity at the stagnation temperature [Pa s].
    conductivity : float or ndarray
        Thermal conductivity at the stagnation temperature [W/(m K)].
    """

    gas_constant: Real
    gamma: Real
    viscosity: Real
    conductivity: Real

    def __post_init__(self) -> None:
        for name, value, low, unit in (
            ("specific gas constant", self.gas_constant, 0.0, "J/(kg K)"),
            ("ratio of specific heats", self.gamma, 1.0, ""),
            ("viscosity of the gas", self.viscosity, 0.0, "Pa s"),
            ("conductivity of the gas", self.conductivity, 0.0, "W/(m K)"),
        ):
            least = float(np.min(value))
            if not low < least < np.inf:
                raise RangeError(name, least, low, np.inf, unit)

    @property
    def specific_heat(self) -> Real:
        """Specific heat at constant pressure, gamma R/(gamma - 1) [J/(kg K)]."""
        return self.gamma * self.gas_constant / (self.gamma - 1.0)

    @property
    def prandtl(self) -> Real:
        """Prandtl number [-]."""
        return self.viscosity * self.specific_heat / self.conductivity

    def density(self, pressure: Real, temperature: Real) -> Real:
        """Return p/(R T) [kg/m3] for a pressure [Pa] and a temperature [K]."""
        return pressure / (self.gas_constant * temperature)


def speed_of_sound(temperature: Real, gas_constant: Real, gamma: Real) -> Real:
    """Return the speed of sound, sqrt(gamma R T).

    Parameters
    ----------
    temperature : float or ndarray
        Static temperature [K].
    gas_constant : float or ndarray
        Specific gas constant [J/(kg K)].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Speed of sound [m/s].

    Notes
    -----
    NACA Report 1135 (1953), definitions.
    """
    speed: Real = (gamma * gas_constant * temperature) ** 0.5
    return speed


def stagnation_temperature_ratio(mach: Real, gamma: Real) -> Real:
    """Return T0/T = 1 + (gamma - 1)/2 M^2.

    Parameters
    ----------
    mach : float or ndarray
        Mach number, 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Stagnation over static temperature [-]; adiabatic flow.

    Notes
    -----
    NACA Report 1135 (1953), eq. 43.
    """
    return 1.0 + 0.5 * (gamma - 1.0) * mach * mach


def stagnation_pressure_ratio(mach: Real, gamma: Real) -> Real:
    """Return p0/p = (T0/T)^(gamma/(gamma - 1)).

    Parameters
    ----------
    mach : float or ndarray
        Mach number, 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Stagnation over static pressure [-]; isentropic flow.

    Notes
    -----
    NACA Report 1135 (1953), eq. 44.
    """
    ratio: Real = stagnation_temperature_ratio(mach, gamma) ** (gamma / (gamma - 1.0))
    return ratio


def stagnation_density_ratio(mach: Real, gamma: Real) -> Real:
    """Return rho0/rho = (T0/T)^(1/(gamma - 1)).

    Parameters
    ----------
    mach : float or ndarray
        Mach number, 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Stagnation over static density [-]; isentropic flow.

    Notes
    -----
    NACA Report 1135 (1953), eq. 45.
    """
    ratio: Real = stagnation_temperature_ratio(mach, gamma) ** (1.0 / (gamma - 1.0))
    return ratio


def mass_flow_function(mach: Real, gamma: Real) -> Real:
    """Return the mass-flow function m sqrt(R T0)/(A p0).

    Parameters
    ----------
    mach : float or ndarray
        Mach number, 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        sqrt(gamma) M (T0/T)^(-(gamma + 1)/(2 (gamma - 1))) [-].

    Notes
    -----
    Continuity with the isentropic ratios; Shapiro, Compressible Fluid Flow, eq. 4.17
    (from memory).
    """
    exponent = -0.5 * (gamma + 1.0) / (gamma - 1.0)
    value: Real = gamma**0.5 * mach * stagnation_temperature_ratio(mach, gamma) ** exponent
    return value


def choked_mass_flow_function(gamma: Real) -> Real:
    """Return the largest value of the mass-flow function, at M = 1.

    Parameters
    ----------
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        0.68473 for gamma = 1.4 [-].
    """
    return mass_flow_function(1.0, gamma)


def area_ratio(mach: Real, gamma: Real) -> Real:
    """Return A/A*, the area over the area that the same flow would choke.

    Parameters
    ----------
    mach : float or ndarray
        Mach number, above 0 [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Area ratio, 1 or more [-].

    Notes
    -----
    NACA Report 1135 (1953), eq. 80.
    """
    return choked_mass_flow_function(gamma) / mass_flow_function(mach, gamma)


def subsonic_mach(flow_function: Real, gamma: Real) -> Real:
    """Return the subsonic Mach number at a value of the mass-flow function.

    Parameters
    ----------
    flow_function : float or ndarray
        m sqrt(R T0)/(A p0), 0 or more [-].
    gamma : float or ndarray
        Ratio of specific heats [-].

    Returns
    -------
    float or ndarray
        Mach number, 0 to 1 [-]; NaN where the flow is more than the area passes (beyond
        choking), and where the argument is negative or NaN.

    Notes
    -----
    Newton on the logarithm of :func:`mass_flow_function`, which is concave in M: started below
    the root (series for a slow flow, parabola at the throat) it climbs to the root and never
    passes it. The function is met to 1e-12; at choking itself the slope is zero, so M then
    carries half the digits.
    """
    phi, g = np.broadcast_arrays(
        np.asarray(flow_function, dtype=np.float64), np.asarray(gamma, dtype=np.float64)
    )
    limit = choked_mass_flow_function(g)
    with np.errstate(invalid="ignore"):
        at_throat = np.abs(phi - limit) <= _ROUNDING * limit
        open_ = (phi > 0.0) & (phi < limit) & ~at_throat
    # A dummy of half the limit stands where the answer is known or does not exist.
    target = np.log(np.where(open_, phi, 0.5 * limit) / limit)
    slow = np.exp(target) * limit / np.sqrt(g)
    slow = slow * (1.0 + 0.25 * (g + 1.0) * slow * slow)
    mach = np.maximum(slow, 1.0 - np.sqrt(-0.5 * (g + 1.0) * target))
    half, power = 0.5 * (g - 1.0), 0.5 * (g + 1.0) / (g - 1.0)
    log_throat = -power * np.log(0.5 * (g + 1.0))
    for _ in range(_MAX_STEPS):
        square = mach * mach
        stagnation = 1.0 + half * square
        excess = np.log(mach) - power * np.log(stagnation) - log_throat - target
        slope = (1.0 - square) / (mach * stagnation)
        step = np.where(slope > 0.0, -excess / np.where(slope > 0.0, slope, 1.0), 0.0)
        mach = np.minimum(mach + step, 1.0)
        if not np.any((np.abs(step) > 1e-13 * mach) & (np.abs(excess) > 1e-15)):
            break
    known = np.where(phi == 0.0, 0.0, np.where(at_throat, 1.0, np.nan))
    result: Real = np.where(open_, mach, known)[()]
    return result


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
    for _ in range(_MAX_STEPS):
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
