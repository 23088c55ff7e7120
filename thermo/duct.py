"""March of the air's stagnation pressure and temperature through the parts of a duct.

The march integrates d ln p0 = -(gamma M^2/2)(f dx/Dh + dK + dT0/T0) part by part, with the Mach
number from the mass-flow function. Each part is exact where it is adiabatic: its coefficient
acts like a friction length on the Fanno line of its reference section. Between sections the
flow is isentropic. Every argument may be a float or an array over operating points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.duct_flow import fanno_length, fanno_mach, rayleigh_mach
from thermo.duct_parts import Local, Part, Path
from thermo.duct_section import Section
from thermo.errors import RangeError
from thermo.films import ROUND_LAMINAR_NU, nusselt_duct, rectangular_laminar_nu
from thermo.gas import (
    BoolArray,
    FloatArray,
    Gas,
    choked_mass_flow_function,
    speed_of_sound,
    stagnation_pressure_ratio,
    stagnation_temperature_ratio,
    subsonic_mach,
)
from thermo.ops import Real, same

HEAT_STEPS = 2
"""Steps in which a heated part alternates heat and friction. Two bring the loss of 3 m of 60 mm
tube, 60 K hotter than the air, within 3e-4 of itself of the differential equation to Mach 0.5."""

_MOST_UNITS = 1e3
"""Transfer units counted at most: exp(-1000) is zero in floating point, as for air at rest."""

_PARTS, _SECTIONS = 64, 7
"""Parts into which the bracket of one operating point is cut, and how often: 2e-13."""

_BISECTIONS = 44
"""Halvings of the flow in the search for the largest one: 6e-14 of the upper bound."""


@dataclass(frozen=True, slots=True)
class MarchResult:
    """Air at every station of a path, for n operating points.

    Station 0 is the opening; station i + 1 lies behind part i. Where the path is choked the
    entries from the choking part on are NaN.

    Attributes
    ----------
    names : tuple of str, length k
        Station names; the first is ``opening``.
    stagnation_pressure : ndarray, shape (k, n)
        Stagnation pressure [Pa].
    stagnation_temperature : ndarray, shape (k, n)
        Stagnation temperature [K].
    mach : ndarray, shape (k, n)
        Mach number [-].
    mach_peak : ndarray, shape (n,)
        Largest Mach number anywhere, inside the parts too [-]; 1 where choked.
    flow : ndarray, shape (n,)
        Mass flow of all copies of the path together [kg/s].
    heat : ndarray, shape (n,)
        Heat picked up from the wall by all copies [W].
    choked : ndarray of bool, shape (n,)
        Whether the path cannot pass this flow.
    choked_at : ndarray of int, shape (n,)
        Station behind the part that chokes first; -1 where none does.
    flow_limit : ndarray, shape (n,)
        Where choked, the largest flow that the path passes from this opening [kg/s]; NaN
        elsewhere, or when the limit was not asked for.
    gas : Gas
        The air.
    """

    names: tuple[str, ...]
    stagnation_pressure: FloatArray
    stagnation_temperature: FloatArray
    mach: FloatArray
    mach_peak: FloatArray
    flow: FloatArray
    heat: FloatArray
    choked: BoolArray
    choked_at: npt.NDArray[np.intp]
    flow_limit: FloatArray
    gas: Gas

    @property
    def pressure(self) -> FloatArray:
        """Static pressure at every station [Pa], shape (k, n)."""
        ratio = stagnation_pressure_ratio(self.mach, self.gas.gamma)
        return np.asarray(self.stagnation_pressure / ratio)

    @property
    def velocity(self) -> FloatArray:
        """Velocity at every station [m/s], shape (k, n)."""
        ratio = stagnation_temperature_ratio(self.mach, self.gas.gamma)
        static = self.stagnation_temperature / ratio
        return np.asarray(
            self.mach * speed_of_sound(static, self.gas.gas_constant, self.gas.gamma)
        )

    @property
    def outlet_pressure(self) -> FloatArray:
        """Stagnation pressure at the end [Pa], shape (n,)."""
        return np.asarray(self.stagnation_pressure[-1])

    @property
    def outlet_temperature(self) -> FloatArray:
        """Stagnation temperature at the end [K], shape (n,)."""
        return np.asarray(self.stagnation_temperature[-1])

    @property
    def loss(self) -> FloatArray:
        """Loss of stagnation pressure from end to end [Pa], shape (n,)."""
        return np.asarray(self.stagnation_pressure[0] - self.stagnation_pressure[-1])


@dataclass(frozen=True, slots=True)
class Supply:
    """What a duct draws from and lies beside; each a float or an array over operating points.

    Attributes
    ----------
    pressure : float or ndarray
        Stagnation pressure handed over at the opening [Pa].
    temperature : float or ndarray
        Stagnation temperature there [K].
    gas : Gas
        The air.
    air_speed : float or ndarray
        Speed of the car through the air, for the lip [m/s].
    wall_temperature : float, ndarray or None
        Temperature of the duct wall [K]; None is an adiabatic duct.
    loss_factor : float or ndarray
        Multiplies every loss, for a pulsating draw, 1 or more [-].
    """

    pressure: Real
    temperature: Real
    gas: Gas
    air_speed: Real = 0.0
    wall_temperature: Real | None = None
    loss_factor: Real = 1.0

    def __post_init__(self) -> None:
        _all_above("stagnation pressure at the opening", self.pressure, "Pa")
        _all_above("stagnation temperature at the opening", self.temperature, "K")
        if self.wall_temperature is not None:
            _all_above("temperature of the duct wall", self.wall_temperature, "K")
        _all_above("loss factor", self.loss_factor)

    def at(self, chosen: BoolArray) -> Supply:
        """Return the supply of the chosen operating points only."""
        gas = Gas(
            _take(self.gas.gas_constant, chosen), _take(self.gas.gamma, chosen),
            _take(self.gas.viscosity, chosen), _take(self.gas.conductivity, chosen),
        )
        wall = self.wall_temperature
        return Supply(
            pressure=_take(self.pressure, chosen),
            temperature=_take(self.temperature, chosen),
            gas=gas,
            air_speed=_take(self.air_speed, chosen),
            wall_temperature=None if wall is None else _take(wall, chosen),
            loss_factor=_take(self.loss_factor, chosen),
        )


def march(path: Path, flow: Real, supply: Supply, find_limit: bool = True) -> MarchResult:
    """March the air through a path, or through its equal copies side by side.

    Parameters
    ----------
    path : Path
        Parts in order from the opening.
    flow : float or ndarray, shape (n,)
        Mass flow of all copies together, 0 or more [kg/s].
    supply : Supply
        The air at the opening and the wall.
    find_limit : bool, optional
        Whether to search the largest flow of the operating points that choke; costs about
        forty marches of those.

    Returns
    -------
    MarchResult
        Arrays over the operating points, shape (1,) from floats.

    Raises
    ------
    RangeError
        A flow that is negative or not finite.

    Notes
    -----
    Friction and lumped losses: Fanno line (Shapiro, ch. 6); heat: Rayleigh line (ch. 7), both
    alternating in a heated part, with T0 = Tw - (Tw - T0) exp(-NTU). The wall is taken to act
    on the stagnation temperature, which is within 2 K of the recovery temperature up to M 0.4.
    """
    inputs = np.broadcast_arrays(
        np.atleast_1d(np.asarray(flow, dtype=np.float64)),
        np.asarray(supply.pressure, dtype=np.float64),
        np.asarray(supply.temperature, dtype=np.float64),
        *(np.asarray(x) for x in (
            supply.air_speed, supply.loss_factor, supply.gas.gamma, supply.gas.gas_constant,
            supply.gas.viscosity, supply.gas.conductivity,
            1.0 if supply.wall_temperature is None else supply.wall_temperature,
        )),
    )
    total = inputs[0]
    if not np.all((total >= 0.0) & (total < np.inf)):
        raise RangeError("mass flow", float(np.min(total)), 0.0, np.inf, "kg/s")
    stream = _Stream(total / path.count, inputs[1], inputs[2], supply)
    stream.open(path.parts[0])
    for index, part in enumerate(path.parts):
        stream.cross(part, index + 1)
    limit = np.full(total.shape, np.nan)
    if find_limit and np.any(stream.choked):
        chosen = stream.choked
        limit[chosen] = largest_flow(path, supply.at(chosen), int(np.count_nonzero(chosen)))
    with np.errstate(invalid="ignore"):
        heat = total * supply.gas.specific_heat * (stream.temperature - inputs[2])
    return MarchResult(
        names=("opening", *(p.name for p in path.parts)),
        stagnation_pressure=np.array(stream.pressures),
        stagnation_temperature=np.array(stream.temperatures),
        mach=np.array(stream.machs),
        mach_peak=np.where(stream.choked, 1.0, stream.peak),
        flow=total,
        heat=heat,
        choked=stream.choked,
        choked_at=stream.choked_at,
        flow_limit=limit,
        gas=supply.gas,
    )


def largest_flow(path: Path, supply: Supply, points: int = 1) -> FloatArray:
    """Return the largest flow that a path passes: the flow at which it just chokes.

    Parameters
    ----------
    path : Path
        The parts.
    supply : Supply
        The air at the opening and the wall; floats, or arrays of `points` entries.
    points : int, optional
        Number of operating points.

    Returns
    -------
    ndarray, shape (points,)
        Mass flow of all copies [kg/s]: the largest that was found to pass, within 1e-13 of what
        the bare least area would pass. Infinite when no part has a section.

    Notes
    -----
    Bisection, between no flow and the choked flow of the least area without loss.
    """
    gas = supply.gas
    bare = choked_mass_flow_function(gas.gamma) * path.least_area * path.count * (
        supply.pressure / (gas.gas_constant * supply.temperature) ** 0.5
    )
    low = np.zeros(points)
    high = np.array(np.broadcast_to(bare, (points,)), dtype=np.float64)
    if not np.isfinite(path.least_area):
        return high
    if points == 1:
        return _largest_of_one(path, supply, float(high[0]))
    for _ in range(_BISECTIONS):
        middle = 0.5 * (low + high)
        choked = march(path, middle, supply, find_limit=False).choked
        low, high = np.where(choked, low, middle), np.where(choked, middle, high)
    return low


def _largest_of_one(path: Path, supply: Supply, high: float) -> FloatArray:
    """Largest flow of one operating point: the bracket is cut into many parts at a time."""
    low = 0.0
    for _ in range(_SECTIONS):
        trial = np.linspace(low, high, _PARTS + 1)
        choked = march(path, trial, supply, find_limit=False).choked
        if not np.any(choked):
            low = float(trial[-1])
            break
        first = int(np.argmax(choked))
        low, high = float(trial[max(first - 1, 0)]), float(trial[first])
    return np.array([low])


class _Stream:
    """The air on its way through one path: changes as it crosses parts."""

    __slots__ = (
        "choked", "choked_at", "flow", "mach", "machs", "peak", "pressure", "pressures",
        "section", "stale", "supply", "temperature", "temperatures",
    )

    def __init__(
        self, flow: FloatArray, pressure: FloatArray, temperature: FloatArray, supply: Supply
    ) -> None:
        self.flow = flow
        self.pressure: Any = pressure
        self.temperature: Any = temperature
        self.supply = supply
        self.section: Section | None = None
        self.stale = False
        self.mach: Any = np.zeros(flow.shape)
        self.peak = self.mach
        self.choked: BoolArray = np.zeros(flow.shape, dtype=np.bool_)
        self.choked_at = np.full(flow.shape, -1, dtype=np.intp)
        self.pressures: list[FloatArray] = []
        self.temperatures: list[FloatArray] = []
        self.machs: list[FloatArray] = []

    def open(self, first: Part) -> None:
        """Record station 0, the opening; choking there counts against the first part."""
        if first.section is not None:
            self.enter(first.section)
        self._record(1)

    def enter(self, section: Section | None) -> None:
        """Bring the air into a section without loss."""
        if section is None:
            section = self.section
        if section is None or (section.matches(self.section) and not self.stale):
            return
        gas = self.supply.gas
        function = self.flow * (gas.gas_constant * self.temperature) ** 0.5 / (
            section.area * self.pressure
        )
        self.mach = subsonic_mach(function, gas.gamma)
        self.section, self.stale = section, False
        self.peak = np.fmax(self.peak, self.mach)

    def cross(self, part: Part, station: int) -> None:
        """Take the air through a part and record the station behind it."""
        reference = part.reference
        if reference is not None:
            self.enter(reference)
        supply = self.supply
        local = Local(
            self.flow, self.mach, self.pressure, self.temperature, supply.air_speed, supply.gas
        )
        loss = part.loss(local) * supply.loss_factor
        if reference is not None:
            if supply.wall_temperature is None or same(part.wetted_length == 0.0):
                self._rub(loss)
            else:
                units = _transfer_units(local, reference, part.wetted_length) / HEAT_STEPS
                to_mean = np.log(units / -np.expm1(-units))
                for _ in range(HEAT_STEPS):
                    self._warm(to_mean)
                    self._rub(loss / HEAT_STEPS)
                    self._warm(units - to_mean)
            self.peak = np.fmax(self.peak, self.mach)
        drop = part.drop(local)
        if drop is not None:
            left = self.pressure - drop * supply.loss_factor
            self.pressure = np.where(left > 0.0, left, np.nan)
            self.stale = True
        if part.into_plenum:
            self.mach = np.where(np.isnan(self.pressure), np.nan, 0.0)
            self.section = None
        else:
            self.enter(part.outlet)
        self._record(station)

    def _rub(self, loss: Real) -> None:
        """Lose stagnation pressure by a coefficient at constant area, along the Fanno line."""
        gamma = self.supply.gas.gamma
        moving = self.mach != 0.0
        before = np.where(moving, self.mach, 1.0)
        after = fanno_mach(np.where(moving, fanno_length(before, gamma) - loss, 0.0), gamma)
        self.pressure = self.pressure * _pressure_share(before, after, gamma)
        self.mach = np.where(moving, after, 0.0)

    def _warm(self, units: Real) -> None:
        """Exchange heat with the wall over some transfer units, along the Rayleigh line."""
        wall, gamma = self.supply.wall_temperature, self.supply.gas.gamma
        temperature = wall - (wall - self.temperature) * np.exp(-units)
        ratio = temperature / self.temperature
        moving = self.mach != 0.0
        before = np.where(moving, self.mach, 0.1)
        after = np.where(moving, rayleigh_mach(before, ratio, gamma), before)
        share = _pressure_share(before, after, gamma) * ratio**0.5
        self.pressure = np.where(moving, self.pressure * share, self.pressure)
        self.mach = np.where(moving, after, 0.0)
        self.temperature = temperature

    def _record(self, station: int) -> None:
        """Note the state, and which operating points have choked in the part before."""
        lost = np.isnan(self.mach) | np.isnan(self.pressure)
        self.choked_at = np.where(lost & ~self.choked, station, self.choked_at)
        self.choked = self.choked | lost
        self.pressure = np.where(lost, np.nan, self.pressure)
        self.temperature = np.where(lost, np.nan, self.temperature)
        self.pressures.append(self.pressure)
        self.temperatures.append(self.temperature)
        self.machs.append(np.where(lost, np.nan, self.mach))


def _pressure_share(before: Any, after: Any, gamma: Real) -> Any:
    """Return p0 after over before at constant flow, area and T0, from the Mach numbers [-]."""
    power = 0.5 * (gamma + 1.0) / (gamma - 1.0)
    warmth = stagnation_temperature_ratio(after, gamma) / stagnation_temperature_ratio(
        before, gamma
    )
    return before / after * warmth**power


def _transfer_units(local: Local, section: Section, length: float) -> Any:
    """Return NTU of the air against the wall of a length [m] [-]."""
    gas = local.gas
    laminar = ROUND_LAMINAR_NU
    if not section.is_round:
        laminar = rectangular_laminar_nu(section.side_ratio)
    nusselt = nusselt_duct(local.reynolds(section), gas.prandtl, laminar)
    conductance = nusselt * gas.conductivity / section.hydraulic_diameter
    conductance = conductance * section.perimeter * length
    moving = np.asarray(local.mass_flow) > 0.0
    rate = np.where(moving, local.mass_flow, 1.0) * gas.specific_heat
    return np.where(moving, np.minimum(conductance / rate, _MOST_UNITS), _MOST_UNITS)


def _take(value: Real, chosen: BoolArray) -> Real:
    """Return the chosen entries of an array; a float, or one entry for all, as it is."""
    if isinstance(value, np.ndarray) and value.ndim > 0 and value.size > 1:
        return value[chosen]
    return value


def _all_above(name: str, value: Real, unit: str = "") -> None:
    """Raise RangeError unless every entry [in `unit`] is finite and above zero."""
    entries = np.atleast_1d(np.asarray(value, dtype=np.float64))
    bad = ~((entries > 0.0) & (entries < np.inf))
    if np.any(bad):
        error = RangeError(name, float(entries[bad][0]), 0.0, np.inf, unit)
        error.where = bad if isinstance(value, np.ndarray) else None
        raise error
