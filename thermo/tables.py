"""Fitted property curves: what they are, how they are made, and how they are stored as plain data.

Nothing here knows where the numbers come from; :mod:`thermo.properties` builds the tables and
keeps them on disk.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.errors import RangeError
from thermo.ops import Real, ops_of

Floats = npt.NDArray[np.float64]

_CHUNK = 8192
"""Entries of a large array that are worked on at a time: 64 KiB."""

_SLACK = 1e-9
"""Share of the range by which rounding may overstep an end before it counts as outside."""


@dataclass(frozen=True, slots=True)
class Curve:
    """A polynomial in one scaled variable, with its range and its measured fit error.

    With u = x, 1/x or ln x (`variable`) and z = (u - centre) scale, the value is the polynomial
    in z, or its exponential when `log_value` is true.

    Attributes
    ----------
    name : str
        Property and substance, in words.
    unit : str
        Unit of the value.
    low, high : float
        Range of the argument [`x_unit`].
    coefs : tuple of float
        Coefficients, highest power first.
    centre, scale : float
        Scaling of the variable.
    variable : str
        ``"x"``, ``"1/x"`` or ``"ln x"``.
    log_value : bool
        Whether the polynomial gives the logarithm of the value.
    fit_error : float
        Largest deviation from the fitted source on a grid denser than the fitted points:
        relative, or in `unit` when `error_kind` is ``"absolute"``.
    error_kind : str
        ``"relative"`` or ``"absolute"``.
    x_unit : str
        Unit of the argument.
    """

    name: str
    unit: str
    low: float
    high: float
    coefs: tuple[float, ...]
    centre: float
    scale: float
    variable: str = "x"
    log_value: bool = False
    fit_error: float = 0.0
    error_kind: str = "relative"
    x_unit: str = "K"

    def __call__(self, x: Any) -> Any:
        """Return the value at `x`, a float or an array; the range is not checked."""
        if isinstance(x, np.ndarray) and x.size > 2 * _CHUNK:
            return self._by_chunks(x)
        if self.variable == "x":
            z = (x - self.centre) * self.scale
        elif self.variable == "1/x":
            z = (1.0 / x - self.centre) * self.scale
        else:
            z = (ops_of(x).log(x) - self.centre) * self.scale
        if isinstance(z, np.ndarray) and len(self.coefs) > 1:
            # The same steps in place: an array for each would cost more than its sum.
            y: Any = z * self.coefs[0]
            y += self.coefs[1]
            for c in self.coefs[2:]:
                y *= z
                y += c
            return np.exp(y, out=y) if self.log_value else y
        y = 0.0
        for c in self.coefs:
            y = y * z + c
        if self.log_value:
            return ops_of(y).exp(y)
        return y

    def _by_chunks(self, x: Floats) -> Floats:
        """Return the values of a large array, a piece that stays in the cache at a time."""
        flat = x.reshape(-1)
        out = np.empty(flat.shape)
        for begin in range(0, len(flat), _CHUNK):
            out[begin : begin + _CHUNK] = self(flat[begin : begin + _CHUNK])
        return out.reshape(x.shape)

    def check(self, x: Real) -> None:
        """Refuse an argument outside the range.

        Parameters
        ----------
        x : float or ndarray
            Argument [`x_unit`].

        Raises
        ------
        RangeError
            Some entry lies outside [low, high] or is not a number; the worst is reported.
        """
        slack = _SLACK * (self.high - self.low)
        values = np.atleast_1d(np.asarray(x, dtype=float))
        excess = np.maximum(self.low - values, values - self.high)
        excess = np.where(np.isnan(values), np.inf, excess)
        worst = int(np.argmax(excess))
        if excess.flat[worst] > slack:
            error = RangeError(
                self.name, float(values.flat[worst]), self.low, self.high, self.x_unit
            )
            error.where = excess > slack if isinstance(x, np.ndarray) else None
            raise error

    def checked(self, x: Any) -> Any:
        """Return the value at `x` after :meth:`check`."""
        self.check(x)
        return self(x)

    def integral(self, origin: float, name: str, unit: str) -> Curve:
        """Return the exact antiderivative that is zero at `origin`.

        Parameters
        ----------
        origin : float
            Argument at which the result is zero [`x_unit`].
        name, unit : str
            Name and unit of the result.

        Returns
        -------
        Curve
            Over the same range.
        """
        self._must_be_plain()
        n = len(self.coefs)
        raised = tuple(c / ((n - i) * self.scale) for i, c in enumerate(self.coefs))
        loose = replace(self, name=name, unit=unit, coefs=(*raised, 0.0))
        return replace(loose, coefs=(*raised, -float(loose(origin))))

    def slope(self, name: str, unit: str) -> Curve:
        """Return the exact derivative; its fit error is not carried over (set to NaN).

        Parameters
        ----------
        name, unit : str
            Name and unit of the result.

        Returns
        -------
        Curve
            Over the same range.
        """
        self._must_be_plain()
        n = len(self.coefs) - 1
        lowered = tuple(c * (n - i) * self.scale for i, c in enumerate(self.coefs[:-1]))
        return replace(self, name=name, unit=unit, coefs=lowered, fit_error=math.nan)

    def _must_be_plain(self) -> None:
        if self.variable != "x" or self.log_value:
            raise ValueError(f"{self.name} is not a plain polynomial in its argument")


@dataclass(frozen=True, slots=True)
class Surface:
    """A polynomial in a volume fraction v [-] and a temperature T [K].

    Attributes
    ----------
    name, unit : str
        Property in words and unit of the value.
    v_centre, v_scale, t_centre, t_scale : float
        Scaling of the two variables.
    coefs : tuple of tuple of float
        Row by power of the scaled v, column by power of the scaled T, both highest first.
    log_value : bool
        Whether the polynomial gives the logarithm of the value.
    fit_error : float
        Largest relative deviation from the fitted source on a denser grid.
    """

    name: str
    unit: str
    v_centre: float
    v_scale: float
    t_centre: float
    t_scale: float
    coefs: tuple[tuple[float, ...], ...]
    log_value: bool
    fit_error: float

    def curve(self, v: float, name: str, low: float, high: float) -> Curve:
        """Return the curve of temperature at one volume fraction.

        Parameters
        ----------
        v : float
            Volume fraction [-].
        name : str
            Name of the curve.
        low, high : float
            Range of temperature to state [K].

        Returns
        -------
        Curve
        """
        z = (v - self.v_centre) * self.v_scale
        sums = [0.0] * len(self.coefs[0])
        for row in self.coefs:
            sums = [s * z + c for s, c in zip(sums, row, strict=True)]
        return Curve(
            name, self.unit, low, high, tuple(sums), self.t_centre, self.t_scale,
            log_value=self.log_value, fit_error=self.fit_error,
        )


@dataclass(frozen=True, slots=True)
class WaterTable:
    """Water: liquid at 1 atm below its boiling point and saturated above; steam saturated.

    The argument of every curve is the temperature [K], save `saturation_temperature`, whose
    argument is the pressure [Pa].
    """

    density: Curve
    specific_heat: Curve
    viscosity: Curve
    conductivity: Curve
    saturation_pressure: Curve
    saturation_temperature: Curve
    latent_heat: Curve
    steam_density: Curve
    steam_enthalpy: Curve


@dataclass(frozen=True, slots=True)
class GlycolTable:
    """One glycol in water, by volume fraction and temperature up to `t_high` [K]."""

    name: str
    v_low: float
    v_high: float
    t_low: float
    t_high: float
    freezing_point: Curve
    density: Surface
    specific_heat: Surface
    viscosity: Surface
    conductivity: Surface


@dataclass(frozen=True, slots=True)
class AirTable:
    """Dry air (specific heat as an ideal gas) and dilute water vapour, by temperature [K]."""

    viscosity: Curve
    conductivity: Curve
    specific_heat: Curve
    vapour_viscosity: Curve
    vapour_conductivity: Curve
    vapour_specific_heat: Curve


@dataclass(frozen=True, slots=True)
class Tables:
    """All property tables, and how they were come by.

    Attributes
    ----------
    water : WaterTable
    ethylene, propylene : GlycolTable
    air : AirTable
    origin : str
        ``"cache"`` (read from disk), ``"built"`` (built and kept) or ``"memory"`` (built, could
        not be kept).
    note : str
        Why the tables could not be kept, in words; empty otherwise.
    """

    water: WaterTable
    ethylene: GlycolTable
    propylene: GlycolTable
    air: AirTable
    origin: str = "built"
    note: str = ""


def tables_to_data(tables: Tables) -> dict[str, Any]:
    """Return the tables as plain dictionaries, lists, strings and numbers.

    Parameters
    ----------
    tables : Tables

    Returns
    -------
    dict
        Without `origin` and `note`, which belong to one process.
    """
    data = asdict(tables)
    del data["origin"], data["note"]
    return data


def tables_from_data(data: dict[str, Any], origin: str, note: str = "") -> Tables:
    """Return the tables from what :func:`tables_to_data` gave.

    Parameters
    ----------
    data : dict
        Plain data, as read from a file.
    origin, note : str
        See :class:`Tables`.

    Returns
    -------
    Tables

    Raises
    ------
    KeyError, TypeError, ValueError
        The data has not the expected form.
    """
    return Tables(
        WaterTable(**_curves(data["water"])), _glycol(data["ethylene"]),
        _glycol(data["propylene"]), AirTable(**_curves(data["air"])), origin, note,
    )


def _curve(data: dict[str, Any]) -> Curve:
    return Curve(**{**data, "coefs": tuple(float(c) for c in data["coefs"])})


def _surface(data: dict[str, Any]) -> Surface:
    rows = tuple(tuple(float(c) for c in row) for row in data["coefs"])
    return Surface(**{**data, "coefs": rows})


def _curves(data: dict[str, Any]) -> dict[str, Curve]:
    return {name: _curve(part) for name, part in data.items()}


def _glycol(data: dict[str, Any]) -> GlycolTable:
    parts = dict(data)
    parts["freezing_point"] = _curve(data["freezing_point"])
    for name in ("density", "specific_heat", "viscosity", "conductivity"):
        parts[name] = _surface(data[name])
    return GlycolTable(**parts)


_FORWARD: dict[str, Callable[[Floats], Floats]] = {
    "x": lambda x: x, "1/x": lambda x: 1.0 / x, "ln x": np.log,
}
_BACK: dict[str, Callable[[Floats], Floats]] = {
    "x": lambda u: u, "1/x": lambda u: 1.0 / u, "ln x": np.exp,
}


def fit_curve(
    source: Callable[[Floats], Floats], low: float, high: float, degree: int, *,
    name: str, unit: str, variable: str = "x", log_value: bool = False,
    absolute: bool = False, x_unit: str = "K", dense: int = 501,
) -> Curve:
    """Fit a curve to a function and measure how far it departs from it.

    Least squares on four times as many Chebyshev nodes as coefficients, which lies close to the
    best polynomial in the largest deviation. The deviation is then measured on `dense` evenly
    spaced arguments.

    Parameters
    ----------
    source : callable
        Takes an array of arguments and returns the values.
    low, high : float
        Range to fit [`x_unit`].
    degree : int
        Degree of the polynomial.
    name, unit, variable, log_value, x_unit
        See :class:`Curve`.
    absolute : bool
        Measure the deviation in `unit` rather than as a share of the value.
    dense : int
        Number of arguments of the check.

    Returns
    -------
    Curve
    """
    ends = _FORWARD[variable](np.array([low, high]))
    centre, half = float(ends.mean()), float(abs(ends[1] - ends[0])) / 2.0
    count = 4 * (degree + 1)
    z = np.cos(np.pi * (np.arange(count) + 0.5) / count)
    nodes = np.clip(_BACK[variable](centre + half * z), low, high)
    z = (_FORWARD[variable](nodes) - centre) / half
    values = source(nodes)
    series = np.polynomial.chebyshev.chebfit(z, np.log(values) if log_value else values, degree)
    coefs = tuple(float(c) for c in np.polynomial.chebyshev.cheb2poly(series)[::-1])
    kind = "absolute" if absolute else "relative"
    curve = Curve(
        name, unit, low, high, coefs, centre, 1.0 / half, variable, log_value, 0.0, kind, x_unit
    )
    grid = np.linspace(low, high, dense)
    return replace(curve, fit_error=deviation(curve, grid, source(grid)))


def deviation(curve: Curve, x: Floats, expected: Floats) -> float:
    """Return the largest deviation of a curve from given values.

    Parameters
    ----------
    curve : Curve
    x : ndarray
        Arguments [`x_unit`].
    expected : ndarray
        Values there [`unit`].

    Returns
    -------
    float
        In `unit` or as a share of the expected value, by the curve's `error_kind`.
    """
    gap = np.abs(curve(x) - expected)
    if curve.error_kind == "relative":
        gap = gap / np.abs(expected)
    return float(gap.max())
