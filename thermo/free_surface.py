"""The water's surface under acceleration: whether it covers the pick-up or the relief port.

A box tank, the water at rest in it; sloshing is left out.
"""

from __future__ import annotations

from typing import Any

from thermo.ops import ops_of

POSITIONS = {"front": 0.0, "middle": 0.5, "rear": 1.0}
"""Place along the tank as a share of its length from the front."""

_LEVEL = 1e-9


def surface_height(
    fill: Any, length: Any, height: Any, tilt: Any, place: Any
) -> Any:
    """Height of the water over the floor of a box tank with a tilted surface. [poly]

    Parameters
    ----------
    fill : float or ndarray
        Share of the box that is filled [-], 0 to 1.
    length, height : float or ndarray
        Of the box, along the car and upright [m].
    tilt : float or ndarray
        Acceleration forward over gravity [-], negative when braking: the surface rises to the
        rear with this slope, atan(a/g).
    place : float or ndarray
        Where, as a share of the length from the front [-].

    Returns
    -------
    float or ndarray
        Height of the plane of the surface over the floor [m]: above the box's height where
        the roof is wetted, below zero where the floor is dry.

    Notes
    -----
    Hydrostatics in the car's frame. The plane is placed by bisection so that the water under
    it, cut off by floor and roof, is the fill; to 1e-12 of the box's height plus rise.
    """
    xp = ops_of(fill, length, height, tilt, place)
    size = xp.maximum(abs(tilt), _LEVEL)
    slope = xp.where(tilt < 0.0, -size, size)
    rise = size * length

    def share(middle: Any) -> Any:
        # integral of the height cut to 0..H, over the surface's own rise
        total: Any = 0.0
        for sign in (1.0, -1.0):
            y = middle + sign * 0.5 * rise
            wet, over = xp.maximum(y, 0.0), xp.maximum(y - height, 0.0)
            total = total + sign * 0.5 * (wet - over) * (wet + over)
        return total / (rise * height)

    low = -0.5 * rise + 0.0 * (fill + height)
    high = height + 0.5 * rise + 0.0 * fill
    for _ in range(50):
        middle = 0.5 * (low + high)
        short = share(middle) < fill
        low, high = xp.where(short, middle, low), xp.where(short, high, middle)
    return 0.5 * (low + high) + slope * (place - 0.5) * length


def pickup_cover(
    fill: Any, length: Any, height: Any, acceleration: Any, gravity: Any, outlet: str
) -> Any:
    """Depth of water over a pick-up at the floor. [poly]

    Parameters
    ----------
    fill : float or ndarray
        Share of the tank that is filled [-].
    length, height : float or ndarray
        Of the tank [m].
    acceleration : float or ndarray
        Forward [m/s2]; negative when braking.
    gravity : float or ndarray
        Acceleration of gravity [m/s2].
    outlet : str
        A name in ``POSITIONS``.

    Returns
    -------
    float or ndarray
        Depth over the floor there [m]; zero or below: the pick-up draws gas. A pick-up needs
        cover of about its own bore (common practice).
    """
    return surface_height(fill, length, height, acceleration / gravity, POSITIONS[outlet])


def port_gap(
    fill: Any, length: Any, height: Any, acceleration: Any, gravity: Any, port: str
) -> Any:
    """Gas between the water and a port in the roof. [poly]

    Parameters
    ----------
    fill : float or ndarray
        Share of the tank that is filled [-].
    length, height : float or ndarray
        Of the tank [m].
    acceleration : float or ndarray
        Forward [m/s2]; negative when braking.
    gravity : float or ndarray
        Acceleration of gravity [m/s2].
    port : str
        A name in ``POSITIONS``.

    Returns
    -------
    float or ndarray
        Gap [m]; zero or below: the port is covered, and the relief passes liquid.
    """
    tilt = acceleration / gravity
    return height - surface_height(fill, length, height, tilt, POSITIONS[port])
