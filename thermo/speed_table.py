"""A quantity by car speed, looked up in a table."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from thermo.gas import FloatArray
from thermo.ops import plain
from thermo.stepping import table_lookup


def interpolant(speeds: FloatArray, values: FloatArray) -> Callable[[Any], Any]:
    """Return the function of car speed [m/s] that a table on a uniform grid from zero holds.

    Parameters
    ----------
    speeds : ndarray, shape (n,) or (n, variants)
        Of the car [m/s], from 0 on, evenly apart.
    values : ndarray, shape (n,) or (n, variants)

    Returns
    -------
    callable
        Linear between the entries, and constant beyond the last.
    """
    top, last = plain(speeds[-1]), len(speeds) - 1
    if not isinstance(top, np.ndarray) and values.ndim == 1:
        table = [float(v) for v in values]

        def at(v: Any) -> Any:
            if isinstance(v, np.ndarray):
                return np.interp(v, speeds, values)
            # In this order a speed that is no number, of a run gone wrong, is looked up at 0.
            return table_lookup(table, min(max(0.0, v / top), 1.0))

        return at
    column = np.arange(values.shape[1])

    def at_each(v: Any) -> Any:
        place = np.minimum(np.maximum(v / top, 0.0), 1.0) * last
        left = np.minimum(place.astype(np.intp), last - 1)
        w = place - left
        return values[left, column] * (1.0 - w) + values[left + 1, column] * w

    return at_each
