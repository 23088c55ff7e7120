"""Torque against engine speed, and the gears and tyres between engine and course.

Engine speeds are in revolutions a second.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.errors import RangeError
from thermo.ops import Real

LIMITER_BAND = 0.05
"""The rev limiter takes power away evenly from the limit to this share above it."""


@dataclass(frozen=True, slots=True)
class PowerCurve:
    """Full-throttle torque against engine speed.

    Attributes
    ----------
    speeds : tuple of float
        Rising engine speeds [rev/s]; two or more.
    torques : tuple of float
        Torque at each [N m].
    """

    speeds: tuple[float, ...]
    torques: tuple[float, ...]

    def __post_init__(self) -> None:
        rising = all(a < b for a, b in zip(self.speeds, self.speeds[1:], strict=False))
        if len(self.speeds) < 2 or len(self.speeds) != len(self.torques) or not rising:
            raise ValueError("a power curve needs two or more points of rising engine speed")
        if self.speeds[0] <= 0.0:
            raise RangeError("first speed of the power curve", self.speeds[0], 0.0, math.inf,
                             "rev/s")

    def power(self, speed: Any) -> Any:
        """Brake power at an engine speed. [poly]

        Parameters
        ----------
        speed : float or ndarray
            Engine speed [rev/s].

        Returns
        -------
        float or ndarray
            Power [W]. Torque is linear between the points; below the first and above the last
            it is held, so that power goes to zero with speed and a clutch is not modelled.
        """
        turns, torques = self.speeds, self.torques
        if isinstance(speed, np.ndarray):
            return 2.0 * math.pi * speed * np.interp(speed, turns, torques)
        if speed <= turns[0]:
            torque = torques[0]
        elif not speed < turns[-1]:  # so that what is no number stays what it is
            torque = torques[-1]
        else:
            i = bisect_right(turns, speed)
            share = (speed - turns[i - 1]) / (turns[i] - turns[i - 1])
            torque = torques[i - 1] + share * (torques[i] - torques[i - 1])
        return 2.0 * math.pi * speed * torque


@dataclass(frozen=True, slots=True)
class Gearbox:
    """Gears and tyres between engine and course.

    Attributes
    ----------
    ratios : tuple of float
        Gear ratios [-], highest number (first gear) first.
    final_drive : float or ndarray
        Final drive ratio [-].
    rolling_radius : float or ndarray
        Effective rolling radius of the driven tyres [m].
    limit : float or ndarray
        Engine speed at which the driver shifts and the limiter acts [rev/s].
    slip : float or ndarray
        Tyre surface speed over car speed, less one [-].
    """

    ratios: tuple[float, ...]
    final_drive: Real
    rolling_radius: Real
    limit: Any
    slip: Real = 0.0


def engine_speed(
    speed: Any, ratio: Any, final_drive: Any, rolling_radius: Any, slip: Any
) -> Any:
    """Engine speed at a car speed, in gear and with the tyres slipping. [poly]

    Parameters
    ----------
    speed : float or ndarray
        Car speed [m/s].
    ratio, final_drive : float or ndarray
        Gear and final drive ratios [-].
    rolling_radius : float or ndarray
        Rolling radius of the driven tyres [m].
    slip : float or ndarray
        Tyre surface speed over car speed, less one [-].

    Returns
    -------
    float or ndarray
        Engine speed [rev/s]: n = V (1 + s) i/(2 pi r).
    """
    return speed * (1.0 + slip) * ratio * final_drive / (2.0 * math.pi * rolling_radius)
