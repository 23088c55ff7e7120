"""Loss coefficients of fittings, for liquid lines and for air ducts.

Unless stated, K is on the velocity head ``rho V^2 / 2`` of the smaller bore and holds for
turbulent flow. Handbooks differ by 20 to 50 % on the same part: each value names its source.
"""

from __future__ import annotations

import difflib
import math
from bisect import bisect_right
from dataclasses import dataclass

from thermo.errors import RangeError, SoakboxError
from thermo.friction import fully_rough

ENTRANCE_SHARP = 0.50
"""Square-edged entrance flush with a wall (Crane TP-410; Idelchik)."""

ENTRANCE_REENTRANT = 0.78
"""Thin pipe projecting into the space it draws from (Crane TP-410; Idelchik has up to 1.0)."""

ENTRANCE_BELL_MOUTH = 0.04
"""Bell mouth of generous radius, r/d 0.2 or more: 0.03 to 0.05 (Crane TP-410)."""

EXIT = 1.0
"""Discharge into a large space, whatever the edge: the whole velocity head, turbulent profile."""

CRANE_ROUGHNESS = 4.57e-5
"""Roughness of the steel pipe behind Crane's tables, 0.0018 in [m]."""

_Table = tuple[tuple[float, float], ...]

_ROUNDED_ENTRANCE: _Table = (
    (0.00, 0.50), (0.01, 0.44), (0.02, 0.37), (0.03, 0.31), (0.04, 0.26), (0.05, 0.22),
    (0.06, 0.20), (0.08, 0.15), (0.12, 0.09), (0.16, 0.06), (0.20, 0.03),
)  # r/d, K
_BEND_MULTIPLIER: _Table = (
    (1.0, 20.0), (1.5, 14.0), (2.0, 12.0), (3.0, 12.0), (4.0, 14.0), (6.0, 17.0), (8.0, 24.0),
    (10.0, 30.0), (12.0, 34.0), (14.0, 38.0), (16.0, 42.0), (20.0, 50.0),
)  # r/d, K/f_T
_MITRE_MULTIPLIER: _Table = (
    (0.0, 2.0), (15.0, 4.0), (30.0, 8.0), (45.0, 15.0), (60.0, 25.0), (75.0, 40.0), (90.0, 60.0),
)  # degrees, K/f_T


class FittingError(SoakboxError):
    """A fitting is asked for by a name that is not in the table."""


def _interpolate(table: _Table, x: float, what: str, unit: str = "") -> float:
    """Interpolate linearly in a table of pairs; outside it is a RangeError."""
    if not table[0][0] <= x <= table[-1][0]:
        raise RangeError(what, x, table[0][0], table[-1][0], unit)
    i = min(bisect_right(table, (x, math.inf)), len(table) - 1)
    (x0, y0), (x1, y1) = table[i - 1], table[i]
    return y0 + (y1 - y0) * (x - x0) / (x1 - x0)


def _check(what: str, value: float, low: float, high: float, unit: str = "") -> None:
    if not low <= value <= high:
        raise RangeError(what, value, low, high, unit)


def on_other_bore(k: float, bore: float, other: float) -> float:
    """Carry a loss coefficient from one bore to the velocity head of another.

    Parameters
    ----------
    k : float
        Loss coefficient on the velocity head in `bore` [-].
    bore, other : float
        Bores [m].

    Returns
    -------
    float
        The same loss as a coefficient on the velocity head in `other` [-].

    References
    ----------
    Continuity: ``K (other/bore)^4``, as in Crane TP-410.
    """
    return k * (other / bore) ** 4


def entrance_rounded(r_over_d: float) -> float:
    """Loss coefficient of a rounded entrance flush with a wall.

    Parameters
    ----------
    r_over_d : float
        Radius of the edge over bore, not negative [-]; from 0.2 on the last row, 0.03, holds.

    Returns
    -------
    float
        Loss coefficient [-].

    Raises
    ------
    RangeError
        `r_over_d` is negative.

    References
    ----------
    Idelchik, Handbook of Hydraulic Resistance, diagram 3-4, interpolated linearly. Above
    Crane's values (0.28 at 0.02, 0.24 at 0.04, 0.15 at 0.06) by up to 0.09.
    """
    _check("edge radius over bore of an entrance", r_over_d, 0.0, math.inf)
    return _interpolate(_ROUNDED_ENTRANCE, min(r_over_d, 0.20), "edge radius over bore")


def sudden_expansion(bore_ratio: float) -> float:
    """Loss coefficient of a sudden expansion, on the smaller bore.

    Parameters
    ----------
    bore_ratio : float
        Smaller over larger bore, 0 to 1 [-]; for other shapes the root of the area ratio.

    Returns
    -------
    float
        ``(1 - beta^2)^2`` [-].

    Raises
    ------
    RangeError
        `bore_ratio` is not between 0 and 1.

    References
    ----------
    Borda-Carnot; Crane TP-410.
    """
    _check("smaller over larger bore", bore_ratio, 0.0, 1.0)
    return (1.0 - bore_ratio * bore_ratio) ** 2


def sudden_contraction(bore_ratio: float) -> float:
    """Loss coefficient of a sudden contraction, on the smaller bore.

    Parameters
    ----------
    bore_ratio : float
        Smaller over larger bore, 0 to 1 [-]; for other shapes the root of the area ratio.

    Returns
    -------
    float
        ``0.5 (1 - beta^2)`` [-]. Other handbooks lie within 40 % of it.

    Raises
    ------
    RangeError
        `bore_ratio` is not between 0 and 1.

    References
    ----------
    Crane TP-410.
    """
    _check("smaller over larger bore", bore_ratio, 0.0, 1.0)
    return 0.5 * (1.0 - bore_ratio * bore_ratio)


def included_angle(small: float, large: float, length: float) -> float:
    """Full angle of a cone between two bores.

    Parameters
    ----------
    small, large : float
        Bores at the ends [m]; for other shapes the diameters of circles of the same area.
    length : float
        Length along the axis, above 0 [m].

    Returns
    -------
    float
        Angle between opposite walls [deg].
    """
    return math.degrees(2.0 * math.atan(0.5 * (large - small) / length))


def conical_diffuser(bore_ratio: float, angle: float) -> float:
    """Loss coefficient of a conical diffuser, on the smaller (upstream) bore.

    Parameters
    ----------
    bore_ratio : float
        Smaller over larger bore, 0 to 1 [-].
    angle : float
        Full angle of the cone, 0 to 180 [deg].

    Returns
    -------
    float
        ``2.6 sin(angle/2)`` times the sudden expansion up to 45 degrees, the sudden expansion
        above [-]. Under about 6 degrees wall friction, not counted here, is the larger part.

    Raises
    ------
    RangeError
        An argument is out of range.

    References
    ----------
    Crane TP-410, formulas 3 and 4.
    """
    _check("full angle of a diffuser", angle, 0.0, 180.0, "deg")
    sudden = sudden_expansion(bore_ratio)
    if angle > 45.0:
        return sudden
    return 2.6 * math.sin(math.radians(0.5 * angle)) * sudden


def conical_contraction(bore_ratio: float, angle: float) -> float:
    """Loss coefficient of a conical contraction, on the smaller (downstream) bore.

    Parameters
    ----------
    bore_ratio : float
        Smaller over larger bore, 0 to 1 [-].
    angle : float
        Full angle of the cone, 0 to 180 [deg]; 180 is the sudden contraction.

    Returns
    -------
    float
        Loss coefficient [-].

    Raises
    ------
    RangeError
        An argument is out of range.

    References
    ----------
    Crane TP-410, formulas 1 (up to 45 degrees) and 2 (above).
    """
    _check("full angle of a contraction", angle, 0.0, 180.0, "deg")
    _check("smaller over larger bore", bore_ratio, 0.0, 1.0)
    half_sine = math.sin(math.radians(0.5 * angle))
    factor = 0.8 * half_sine if angle <= 45.0 else 0.5 * math.sqrt(half_sine)
    return factor * (1.0 - bore_ratio * bore_ratio)


def crane_friction(bore: float) -> float:
    """Friction factor of complete turbulence in clean steel pipe, Crane's f_T.

    Parameters
    ----------
    bore : float
        Bore, above 1 mm [m]; Crane's table covers 15 to 600 mm.

    Returns
    -------
    float
        f_T [-]; within 3 % of Crane's rounded table.

    Raises
    ------
    RangeError
        `bore` is under 1 mm.

    References
    ----------
    Crane TP-410 (2009), A-27: rough-pipe law with a roughness of 0.0018 in.
    """
    _check("bore for Crane's friction factor", bore, 1e-3, math.inf, "m")
    return float(fully_rough(CRANE_ROUGHNESS / bore))


def smooth_bend(r_over_d: float, bore: float, angle: float = 90.0) -> float:
    """Loss coefficient of a smooth bend.

    Parameters
    ----------
    r_over_d : float
        Radius of the centre line over bore, 1 to 20 [-].
    bore : float
        Bore or hydraulic diameter [m].
    angle : float, optional
        Angle turned, 15 to 360 [deg]. Under 45 degrees the formula is on the high side.

    Returns
    -------
    float
        Loss coefficient, friction along the bend included [-].

    Raises
    ------
    RangeError
        An argument is out of range.

    References
    ----------
    Crane TP-410, A-30: multipliers of f_T, interpolated linearly, and the formula for n bends
    of 90 degrees, ``K = (n - 1)(0.25 pi f_T r/d + 0.5 K90) + K90``.
    """
    _check("angle of a bend", angle, 15.0, 360.0, "deg")
    f_t = crane_friction(bore)
    k90 = f_t * _interpolate(_BEND_MULTIPLIER, r_over_d, "bend radius over bore")
    return (angle / 90.0 - 1.0) * (0.25 * math.pi * f_t * r_over_d + 0.5 * k90) + k90


def mitre_bend(angle: float, bore: float) -> float:
    """Loss coefficient of a bend of one mitre without vanes.

    Parameters
    ----------
    angle : float
        Angle turned, 0 to 90 [deg].
    bore : float
        Bore or hydraulic diameter [m].

    Returns
    -------
    float
        Loss coefficient [-].

    Raises
    ------
    RangeError
        `angle` is not between 0 and 90 degrees.

    References
    ----------
    Crane TP-410, A-30: multipliers of f_T, interpolated linearly.
    """
    return crane_friction(bore) * _interpolate(
        _MITRE_MULTIPLIER, angle, "angle of a mitre bend", "deg"
    )


def wire_screen(open_fraction: float) -> float:
    """Loss coefficient of a wire screen or gauze, on the approach velocity.

    Parameters
    ----------
    open_fraction : float
        Open area over whole area, 0.05 to 1 [-].

    Returns
    -------
    float
        ``1.3 (1 - a) + (1/a - 1)^2`` [-].

    Raises
    ------
    RangeError
        `open_fraction` is out of range.

    References
    ----------
    Idelchik, Handbook of Hydraulic Resistance, diagram 8-6, circular metal wire with a Reynolds
    number on the wire above about 1000; below that the loss is higher. From memory.
    """
    _check("open fraction of a screen", open_fraction, 0.05, 1.0)
    return 1.3 * (1.0 - open_fraction) + (1.0 / open_fraction - 1.0) ** 2


@dataclass(frozen=True, slots=True)
class Fitting:
    """Loss coefficient of a named fitting in a liquid line.

    Attributes
    ----------
    k : float
        Loss coefficient on the velocity head in the line [-].
    low, high : float
        Spread among handbooks or makes [-].
    source : str
        Where `k` comes from.
    """

    k: float
    low: float
    high: float
    source: str


_TEXTBOOK = "Cengel & Cimbala, Fluid Mechanics, Table 8-4 (from memory)"

FITTINGS: dict[str, Fitting] = {
    "entrance": Fitting(ENTRANCE_SHARP, 0.4, 0.6, "Crane TP-410, sharp-edged"),
    "entrance-rounded": Fitting(0.12, 0.09, 0.2, f"{_TEXTBOOK}, r/D = 0.1"),
    "entrance-reentrant": Fitting(ENTRANCE_REENTRANT, 0.7, 1.0, "Crane TP-410"),
    "exit": Fitting(EXIT, 1.0, 1.1, "the whole velocity head"),
    "elbow-90": Fitting(0.3, 0.2, 0.45, f"{_TEXTBOOK}, smooth, flanged"),
    "elbow-90-threaded": Fitting(0.9, 0.7, 1.5, f"{_TEXTBOOK}, smooth, threaded"),
    "elbow-90-mitre": Fitting(1.1, 1.0, 1.3, f"{_TEXTBOOK}, no vanes; also drilled block elbows"),
    "elbow-90-mitre-vanes": Fitting(0.2, 0.15, 0.3, f"{_TEXTBOOK}, with vanes"),
    "elbow-45": Fitting(0.2, 0.15, 0.3, "White, Fluid Mechanics, flanged (from memory)"),
    "elbow-45-threaded": Fitting(0.4, 0.3, 0.5, f"{_TEXTBOOK}, threaded"),
    "bend-90": Fitting(0.27, 0.2, 0.35, "Crane TP-410: 12 f_T, r/d 2 to 3, at 25 mm bore"),
    "return-180": Fitting(0.2, 0.2, 0.4, f"{_TEXTBOOK}, flanged"),
    "return-180-threaded": Fitting(1.5, 1.2, 2.0, f"{_TEXTBOOK}, threaded"),
    "tee-run": Fitting(0.2, 0.1, 0.4, f"{_TEXTBOOK}, line flow, flanged"),
    "tee-run-threaded": Fitting(0.9, 0.6, 1.0, f"{_TEXTBOOK}, line flow, threaded"),
    "tee-branch": Fitting(1.0, 0.8, 1.4, f"{_TEXTBOOK}, branch flow, flanged"),
    "tee-branch-threaded": Fitting(2.0, 1.4, 2.2, f"{_TEXTBOOK}, branch flow, threaded"),
    "union": Fitting(0.08, 0.04, 0.1, f"{_TEXTBOOK}, threaded union"),
    "ball-valve": Fitting(0.05, 0.03, 0.1, f"{_TEXTBOOK}, full bore, open"),
    "gate-valve": Fitting(0.2, 0.1, 0.3, f"{_TEXTBOOK}, open"),
    "globe-valve": Fitting(10.0, 5.0, 14.0, f"{_TEXTBOOK}, open"),
    "angle-valve": Fitting(5.0, 2.0, 6.0, f"{_TEXTBOOK}, open"),
    "swing-check": Fitting(2.0, 1.5, 3.0, f"{_TEXTBOOK}, forward flow"),
    "dry-break": Fitting(2.0, 1.0, 6.0, "common practice, mated pair; measure it or use its Cv"),
    "hose-barb": Fitting(
        0.4, 0.2, 1.0,
        "common practice: Crane contraction and expansion through 0.85 of the hose bore",
    ),
    "strainer": Fitting(2.0, 1.0, 5.0, "common practice, clean basket or Y strainer"),
}
"""Fittings of a liquid line by name."""


def fitting_loss(name: str) -> float:
    """Loss coefficient of a named fitting.

    Parameters
    ----------
    name : str
        A key of ``FITTINGS``.

    Returns
    -------
    float
        Loss coefficient on the velocity head in the line [-].

    Raises
    ------
    FittingError
        The name is not in the table; the message gives the nearest names that are.
    """
    fitting = FITTINGS.get(name)
    if fitting is None:
        near = difflib.get_close_matches(name, FITTINGS, n=3, cutoff=0.5) or sorted(FITTINGS)
        raise FittingError(f"no fitting is called {name!r}; known: {', '.join(near)}")
    return fitting.k
