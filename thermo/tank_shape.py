"""The tank as a box: its sides, its largest panel, its water over the outlet."""

from __future__ import annotations

from dataclasses import dataclass

from thermo.inputs.tank import Tank


@dataclass(frozen=True, slots=True)
class Box:
    """Inside sides of a box tank.

    Attributes
    ----------
    length, height, width : float
        Along the car, upright and across it [m].
    panel : tuple of float
        Longer and shorter side of the largest unstayed panel [m].
    """

    length: float
    height: float
    width: float
    panel: tuple[float, float]


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
        a, b = sorted((length, height, width))[1:]
    return Box(length, height, width, (max(a, b), min(a, b)))
