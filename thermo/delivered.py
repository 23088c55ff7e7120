"""What an intake delivers at each speed of the car, its duct as warm as the air or warmer."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.gas import BoolArray, FloatArray
from thermo.ram import RamState


@dataclass(frozen=True, slots=True)
class Delivered:
    """What the intake delivers at n car speeds; arrays have shape (n,) or (n, variants).

    Attributes
    ----------
    speed : ndarray
        [m/s].
    ram : RamState
    flow : ndarray
        [kg/s]; where choked, the most that passes.
    pressure, temperature : ndarray
        Stagnation state in the plenum [Pa], [K].
    net : ndarray
        Plenum less still ambient pressure [Pa].
    power_ratio : ndarray
        Brake power over that with still ambient air at the inlet.
    mach : ndarray
        Largest Mach number in the duct.
    choked, converged : ndarray of bool
    heat : ndarray
        Heat picked up from the wall [W].
    pulsation : ndarray
        Factor on every loss.
    """

    speed: FloatArray
    ram: RamState
    flow: FloatArray
    pressure: FloatArray
    temperature: FloatArray
    net: FloatArray
    power_ratio: FloatArray
    mach: FloatArray
    choked: BoolArray
    converged: BoolArray
    heat: FloatArray
    pulsation: FloatArray


def tall(values: FloatArray, like: FloatArray) -> FloatArray:
    """Return a column that stands beside an array with one column a variant."""
    return values[:, np.newaxis] if values.ndim < like.ndim else values


def blend(cool: Delivered, hot: Delivered, weight: FloatArray) -> Delivered:
    """Return what is delivered with the wall between two temperatures; it is linear in them.

    Parameters
    ----------
    cool, hot : Delivered
        At the same speeds.
    weight : ndarray, shape (n,) or (n, variants)
        0 for the first, 1 for the second.

    Returns
    -------
    Delivered
    """
    values: dict[str, Any] = {}
    for name in ("flow", "pressure", "temperature", "net", "power_ratio", "mach", "heat"):
        a, b = (tall(getattr(t, name), weight) for t in (cool, hot))
        values[name] = a + weight * (b - a)
    return Delivered(
        speed=cool.speed,
        ram=cool.ram,
        choked=cool.choked | hot.choked,
        converged=cool.converged & hot.converged,
        pulsation=cool.pulsation,
        **values,
    )
