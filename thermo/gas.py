"""Compressible flow of a perfect gas: isentropic and mass-flow relations.

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

MOST_STEPS = 60
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
    for _ in range(MOST_STEPS):
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
