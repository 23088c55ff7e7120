"""One definition of the physics for a float and for an array of variants.

A function written against :class:`Ops` runs on plain floats (fast for one event: no array
overhead) and on numpy arrays (fast for thousands of variants), with the same formula.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import numpy.typing as npt

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
