"""Checks of the dimensions and ratings that describe an exchanger."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.ops import within


def require(name: str, value: Any, unit: str, least: float = 0.0, most: float = math.inf) -> None:
    """Refuse a value outside a closed range.

    Parameters
    ----------
    name, unit : str
        For the message.
    value : float or ndarray
        The value or values to look at.
    least, most : float
        The range.

    Raises
    ------
    RangeError
        A value is outside, or not a number.
    """
    within(name, value, least, most, unit)


def require_above(name: str, value: Any, unit: str) -> None:
    """Refuse a value that is zero, negative, infinite or not a number.

    Parameters
    ----------
    name, unit : str
        For the message.
    value : float or ndarray
        The value or values to look at.

    Raises
    ------
    RangeError
        A value is not above zero.
    """
    require(name, value, unit, np.finfo(float).tiny, np.finfo(float).max)
