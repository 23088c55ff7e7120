"""Losses of tees and wyes, for liquid lines and for air ducts.

The coefficients depend on how the flow divides, so they are functions of the share of the flow
that takes the branch. They hold for turbulent flow.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from thermo.errors import RangeError


@dataclass(frozen=True, slots=True)
class TeeLoss:
    """Losses of a tee or wye, both on the velocity head of the combined flow.

    Attributes
    ----------
    branch : float
        Coefficient between branch and combined leg [-]; negative where the run drags it along.
    run : float
        Coefficient between run and combined leg [-].
    """

    branch: float
    run: float


def _check(share: float, bore_ratio: float, angle: float) -> None:
    if not 0.0 <= share <= 1.0:
        raise RangeError("share of the flow in the branch", share, 0.0, 1.0)
    if not 0.1 <= bore_ratio <= 1.0:
        raise RangeError("branch over run bore", bore_ratio, 0.1, 1.0)
    if angle != 90.0 and not 30.0 <= angle <= 60.0:
        raise RangeError("angle of a wye (a tee is 90)", angle, 30.0, 60.0, "deg")


def _turn(angle: float) -> float:
    """Crane's F of a wye, linear between 30, 45 and 60 degrees."""
    if angle <= 45.0:
        return 1.74 + (1.41 - 1.74) * (angle - 30.0) / 15.0
    return 1.41 + (1.00 - 1.41) * (angle - 45.0) / 15.0


def converging_tee(share: float, bore_ratio: float = 1.0, angle: float = 90.0) -> TeeLoss:
    """Losses where a branch joins a run.

    Parameters
    ----------
    share : float
        Branch flow over combined flow, 0 to 1 [-].
    bore_ratio : float, optional
        Branch over run bore, 0.1 to 1 [-]; run and combined leg have one bore.
    angle : float, optional
        90 for a tee, 30 to 60 for a wye [deg].

    Returns
    -------
    TeeLoss
        Coefficients on the combined velocity.

    Raises
    ------
    RangeError
        An argument is out of range.

    References
    ----------
    Crane TP-410 (2009), chapter 2, converging tees and wyes.
    """
    _check(share, bore_ratio, angle)
    area_ratio = bore_ratio * bore_ratio
    crowded = 0.9 * (1.0 - share) if share <= 0.4 else 0.55
    c = 1.0 if area_ratio <= 0.35 else crowded
    tee = angle == 90.0
    turn = 0.0 if tee else _turn(angle)
    dragged = turn / area_ratio * share * share
    rest = (1.0 - share) ** 2
    branch = c * (1.0 + (share / area_ratio) ** 2 - 2.0 * rest - dragged)
    run = 1.55 * share - share * share if tee else 1.0 - rest - dragged
    return TeeLoss(branch, run)


def diverging_tee(share: float, bore_ratio: float = 1.0, angle: float = 90.0) -> TeeLoss:
    """Losses where a branch leaves a run.

    Parameters
    ----------
    share : float
        Branch flow over combined flow, 0 to 1 [-].
    bore_ratio : float, optional
        Branch over run bore, 0.1 to 1 [-]; run and combined leg have one bore.
    angle : float, optional
        90 for a tee, 30 to 60 for a wye [deg].

    Returns
    -------
    TeeLoss
        Coefficients on the combined velocity.

    Raises
    ------
    RangeError
        An argument is out of range.

    References
    ----------
    Crane TP-410 (2009), chapter 2, diverging tees and wyes, with its errata. For a tee Crane
    gives a bore ratio up to 2/3 and of 1; above 2/3 the equal tee is used here.
    """
    _check(share, bore_ratio, angle)
    area_ratio = bore_ratio * bore_ratio
    speed = share / area_ratio
    if angle == 90.0:
        equal = bore_ratio > 2.0 / 3.0
        g = 1.0 + 0.3 * share * share if equal else 1.0
        branch = g * (1.0 + (0.3 if equal else 1.0) * speed * speed)
    else:
        if area_ratio <= 0.35:
            g = 1.1 - 0.7 * share if share <= 0.4 else 0.85
        else:
            g = 1.0 - 0.6 * share if share <= 0.6 else 0.6
        branch = g * (1.0 + speed * speed - 2.0 * speed * math.cos(math.radians(angle)))
    swept = (2.0 if share <= 0.5 else 0.3) * (2.0 * share - 1.0)
    m = 0.4 if area_ratio <= 0.4 else swept
    return TeeLoss(branch, m * share * share)
