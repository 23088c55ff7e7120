"""One definition of the physics for a float and for an array of variants.

A function written against :class:`Ops` runs on plain floats (fast for one event: no array
overhead) and on numpy arrays (fast for thousands of variants), with the same formula.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import reduce
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.errors import RangeError, SoakboxError

Real = float | npt.NDArray[np.float64]
"""A float, or an array of them with one entry a variant."""


class Ops:
    """The handful of elementary functions that the engine's formulas need."""

    __slots__ = (
        "all_", "any_", "exp", "expm1", "log", "maximum", "minimum", "sqrt", "tanh", "where",
    )

    def __init__(self, table: dict[str, Callable[..., Any]]) -> None:
        for name in self.__slots__:
            setattr(self, name, table[name])

    all_: Callable[..., Any]
    any_: Callable[..., Any]
    exp: Callable[..., Any]
    expm1: Callable[..., Any]
    log: Callable[..., Any]
    maximum: Callable[..., Any]
    minimum: Callable[..., Any]
    sqrt: Callable[..., Any]
    tanh: Callable[..., Any]
    where: Callable[..., Any]


def _choose(condition: bool, yes: float, no: float) -> float:
    return yes if condition else no


FLOATS = Ops({
    "exp": math.exp, "expm1": math.expm1, "log": math.log, "sqrt": math.sqrt, "tanh": math.tanh,
    "minimum": min, "maximum": max, "where": _choose, "any_": bool, "all_": bool,
})
ARRAYS = Ops({
    "exp": np.exp, "expm1": np.expm1, "log": np.log, "sqrt": np.sqrt, "tanh": np.tanh,
    "minimum": np.minimum, "maximum": np.maximum, "where": np.where,
    "any_": np.any, "all_": np.all,
})


def ops_of(*values: Any) -> Ops:
    """Return the float operations unless one of `values` is an array.

    Parameters
    ----------
    *values : float or ndarray
        The arguments of the calling formula.

    Returns
    -------
    Ops
        ``FLOATS`` or ``ARRAYS``. Both branches of ``where`` are evaluated before the choice:
        guard divisions and roots with ``maximum`` first.
    """
    for value in values:
        if isinstance(value, np.ndarray):
            return ARRAYS
    return FLOATS


class MixedError(Exception):
    """Variants of one array go different ways: run those that go one way apart from the others.

    Parameters
    ----------
    which : ndarray of bool
        The variants that go one of the two ways.
    """

    def __init__(self, which: npt.NDArray[np.bool_]) -> None:
        self.which = which
        super().__init__("variants of one array go different ways")


def same(condition: Any) -> bool:
    """Return a condition that a formula branches on, the same for all variants.

    Parameters
    ----------
    condition : bool or ndarray of bool
        One, or one a variant.

    Returns
    -------
    bool

    Raises
    ------
    MixedError
        Some variants go one way and some the other.
    """
    if not isinstance(condition, np.ndarray):
        return bool(condition)
    if bool(condition.all()):
        return True
    if bool(condition.any()):
        raise MixedError(condition)
    return False


def within(
    name: str, value: Any, low: Any, high: Any, unit: str = "", *, open_low: bool = False,
    finite: bool = False,
) -> None:
    """Refuse a value outside a range, or that is not a number.

    Parameters
    ----------
    name, unit : str
        For the message.
    value : float or ndarray
        In `unit`.
    low, high : float or ndarray
        The range, both ends allowed.
    open_low : bool, optional
        Whether `low` itself is refused.
    finite : bool, optional
        Whether infinity is refused, although `high` is infinite.

    Raises
    ------
    RangeError
        With the first value outside; of an array it says ``where`` too.
    """
    good = (low < value if open_low else low <= value) & (value <= high)
    if finite:
        good = good & (value < math.inf)
    if not isinstance(good, np.ndarray):
        if not good:
            raise RangeError(name, float(value), float(low), float(high), unit)
        return
    if bool(good.all()):
        return
    shape = good.shape
    value, low, high = (np.broadcast_to(v, shape)[~good].flat[0] for v in (value, low, high))
    error = RangeError(name, float(value), float(low), float(high), unit)
    error.where = ~good
    raise error


def plain(value: Any) -> Any:
    """Return a number as a float, and an array of variants as it is.

    Parameters
    ----------
    value : float or ndarray

    Returns
    -------
    float or ndarray
        A float also of a numpy number or an array without dimension.
    """
    if isinstance(value, np.ndarray) and value.ndim > 0:
        return value
    return float(value)


def pick(values: Any, row: Any) -> Any:
    """Return one row of a column, of variants each its own.

    Parameters
    ----------
    values : ndarray, shape (rows,) or (rows, variants)
    row : int or ndarray of int, shape (variants,)

    Returns
    -------
    float or ndarray
    """
    if values.ndim == 1:
        return float(values[int(row)])
    if np.ndim(row) == 0:
        return values[int(row)]
    return np.take_along_axis(values, row[np.newaxis], axis=0)[0]


def least(values: Iterable[Any]) -> Any:
    """Return the least of some numbers, or of each variant.

    Parameters
    ----------
    values : iterable of (float or ndarray)
        At least one.

    Returns
    -------
    float or ndarray
    """
    return reduce(lambda a, b: ops_of(a, b).minimum(a, b), values)


def most(values: Iterable[Any]) -> Any:
    """Return the largest of some numbers, or of each variant; see :func:`least`."""
    return reduce(lambda a, b: ops_of(a, b).maximum(a, b), values)


def each(function: Callable[..., float], *values: Any) -> Any:
    """Apply a function of floats to floats, or to one variant after the other.

    Parameters
    ----------
    function : callable
        Takes floats and returns a float; for what is asked once an event, not once a step.
    *values : float or ndarray
        Its arguments.

    Returns
    -------
    float or ndarray

    Raises
    ------
    SoakboxError
        As `function` raises it; of arrays the first one, saying ``where``.
    """
    if ops_of(*values) is FLOATS:
        return function(*values)
    rows = np.broadcast_arrays(*values)
    out = np.full(rows[0].shape, np.nan)
    bad = np.zeros(rows[0].shape, dtype=np.bool_)
    first: SoakboxError | None = None
    for i in range(out.size):
        try:
            out[i] = function(*(float(row[i]) for row in rows))
        except SoakboxError as error:
            bad[i], first = True, first or error
    if first is not None:
        first.where = bad
        raise first
    return out
