"""The tank as a box: its sides, its largest panel, its water over the outlet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from thermo.inputs.tank import Tank
from thermo.ops import least, most


@dataclass(frozen=True, slots=True)
class Box:
    """Inside sides of a box tank.

    Attributes
    ----------
    length, height, width : float or ndarray
        Along the car, upright and across it [m].
    panel : tuple of (float or ndarray)
        Longer and shorter side of the largest unstayed panel [m].
    """

    length: Any
    height: Any
    width: Any
    panel: tuple[Any, Any]


def box_of(tank: Tank) -> Box:
    """Return the sides of a tank, a cube's where the scenario gives none.

    Parameters
    ----------
    tank : Tank

    Returns
    -------
    Box
        The width follows from the volume. The largest panel is a whole side when the scenario
        names no smaller one.
    """
    edge = tank.volume ** (1.0 / 3.0)
    length = edge if tank.length is None else tank.length
    height = (tank.volume / length) ** 0.5 if tank.height is None else tank.height
    width = tank.volume / (length * height)
    if tank.panel_long is not None and tank.panel_short is not None:
        a, b = tank.panel_long, tank.panel_short
    else:
        # The two larger of the three sides.
        a = most((length, height, width))
        b = most((least((length, height)), least((most((length, height)), width))))
    return Box(length, height, width, (most((a, b)), least((a, b))))
