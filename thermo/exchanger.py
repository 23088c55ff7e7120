"""Two-stream heat exchangers: table of arrangements, heat passed, and the inverse for sizing.

The formulas are in :mod:`thermo.effectiveness`, their inverses here.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from thermo import effectiveness as eff
from thermo.errors import InfeasibleError, RangeError
from thermo.ops import ops_of


def _log_slope(z: float) -> float:
    """Return ``log(1 + z)/z``, 1 at 0."""
    return math.log1p(z) / z if z != 0.0 else 1.0


def _ntu_counterflow(eps: float, cr: float, shells: int, hot_is_min: bool) -> float:
    w = eps / (1.0 - eps)
    return w * _log_slope(w * (1.0 - cr))


def _ntu_parallel(eps: float, cr: float, shells: int, hot_is_min: bool) -> float:
    return -math.log1p(-eps * (1.0 + cr)) / (1.0 + cr)


def _ntu_max_mixed(eps: float, cr: float) -> float:
    return -math.log1p(-eps * _log_slope(-cr * eps))


def _ntu_min_mixed(eps: float, cr: float) -> float:
    g = -math.log1p(-eps)
    return g * _log_slope(-cr * g)


def _ntu_hot_mixed(eps: float, cr: float, shells: int, hot_is_min: bool) -> float:
    return _ntu_min_mixed(eps, cr) if hot_is_min else _ntu_max_mixed(eps, cr)


def _ntu_cold_mixed(eps: float, cr: float, shells: int, hot_is_min: bool) -> float:
    return _ntu_max_mixed(eps, cr) if hot_is_min else _ntu_min_mixed(eps, cr)


def _ntu_shell_and_tube(eps: float, cr: float, shells: int, hot_is_min: bool) -> float:
    d = 1.0 - cr
    part = eps / (1.0 - cr * eps)
    per_shell = part * _log_slope(-d * part) / shells
    u = per_shell * eff.decay_mean(d * per_shell)
    eps1 = u / (1.0 - d * u + u)
    s = math.sqrt(1.0 + cr * cr)
    return shells * 2.0 / s * math.atanh(eps1 * s / (2.0 - eps1 * (1.0 + cr)))


def _ntu_crossflow_unmixed(eps: float, cr: float, shells: int, hot_is_min: bool) -> float:
    from scipy.optimize import brentq

    high = 1.0

    def short(ntu: float) -> float:
        return float(eff.crossflow_unmixed(ntu, cr)) - eps

    while short(high) < 0.0:
        high *= 2.0
    return float(brentq(short, 0.0, high, xtol=1e-13, rtol=1e-13))


def _whole(cr: float, shells: int, hot_is_min: bool) -> float:
    return 1.0


def _ceiling_parallel(cr: float, shells: int, hot_is_min: bool) -> float:
    return 1.0 / (1.0 + cr)


def _ceiling_mixed(cr: float, mixed_is_min: bool) -> float:
    if not mixed_is_min:
        return float(eff.decay_mean(cr))
    return -math.expm1(-1.0 / cr) if cr > 0.0 else 1.0


def _ceiling_hot_mixed(cr: float, shells: int, hot_is_min: bool) -> float:
    return _ceiling_mixed(cr, hot_is_min)


def _ceiling_cold_mixed(cr: float, shells: int, hot_is_min: bool) -> float:
    return _ceiling_mixed(cr, not hot_is_min)


def _ceiling_shell_and_tube(cr: float, shells: int, hot_is_min: bool) -> float:
    return float(eff.shell_and_tube(1e6 * shells, cr, shells))


@dataclass(frozen=True, slots=True)
class Arrangement:
    """One way of leading the two streams.

    Attributes
    ----------
    description : str
        In words, with where the formula is used.
    effectiveness : callable
        ``(ntu, cr, shells, hot_is_min)`` to effectiveness [-], on floats and arrays.
    ntu : callable
        ``(eps, cr, shells, hot_is_min)`` to number of transfer units [-], on floats.
    ceiling : callable
        ``(cr, shells, hot_is_min)`` to the effectiveness of an endless exchanger [-].
    most_shells : int
        Largest number of shells that the formula takes; 1 where shells have no meaning.
    """

    description: str
    effectiveness: Callable[[Any, Any, int, Any], Any]
    ntu: Callable[[float, float, int, bool], float]
    ceiling: Callable[[float, int, bool], float]
    most_shells: int = 1


ARRANGEMENTS: dict[str, Arrangement] = {
    "counterflow": Arrangement(
        "streams opposed: double pipes, brazed plates; the most heat for a given UA",
        eff.counterflow, _ntu_counterflow, _whole,
    ),
    "parallel": Arrangement(
        "both streams enter at the same end: a double pipe or plate pack piped the wrong way round",
        eff.parallel, _ntu_parallel, _ceiling_parallel,
    ),
    "crossflow-unmixed": Arrangement(
        "streams cross, each kept in separate passages",
        eff.crossflow_unmixed, _ntu_crossflow_unmixed, _whole,
    ),
    "crossflow-hot-mixed": Arrangement(
        "streams cross, the hot one free to mix across, the cold one in separate passages",
        eff.crossflow_hot_mixed, _ntu_hot_mixed, _ceiling_hot_mixed,
    ),
    "crossflow-cold-mixed": Arrangement(
        "streams cross, the cold one free to mix across, the hot one in separate passages",
        eff.crossflow_cold_mixed, _ntu_cold_mixed, _ceiling_cold_mixed,
    ),
    "shell-and-tube": Arrangement(
        "one shell pass and an even number of tube passes, or several such shells in series",
        eff.shell_and_tube, _ntu_shell_and_tube, _ceiling_shell_and_tube, most_shells=20,
    ),
}
"""Arrangements by name. All hold for any NTU and any Cr from 0 to 1."""


def effectiveness(
    arrangement: str, ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True
) -> Any:
    """Effectiveness of a heat exchanger.

    Parameters
    ----------
    arrangement : str
        A name in ``ARRANGEMENTS``; another raises KeyError.
    ntu : float or ndarray
        Number of transfer units ``UA/Cmin``, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates ``Cmin/Cmax``, 0 to 1 [-].
    shells : int
        Shells in series (shell-and-tube only).
    hot_is_min : bool or ndarray of bool
        Whether the hot stream has the smaller heat capacity rate (one-side-mixed crossflow only).

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to 1 [-].

    References
    ----------
    Kays & London, Compact Heat Exchangers; Incropera et al., Table 11.3.
    """
    return ARRANGEMENTS[arrangement].effectiveness(ntu, cr, shells, hot_is_min)


def heat_rate(
    arrangement: str, ua: Any, c_hot: Any, c_cold: Any, t_hot_in: Any, t_cold_in: Any,
    shells: int = 1,
) -> tuple[Any, Any, Any]:
    """Heat passed from the hot to the cold stream.

    Parameters
    ----------
    arrangement : str
        A name in ``ARRANGEMENTS``.
    ua : float or ndarray
        Overall conductance, not negative [W/K].
    c_hot, c_cold : float or ndarray
        Heat capacity rates (mass flow times specific heat), not negative [W/K]. Where either
        is zero no heat flows, and effectiveness and NTU are given as zero.
    t_hot_in, t_cold_in : float or ndarray
        Inlet temperatures, both in K or both in degC.
    shells : int
        Shells in series (shell-and-tube only).

    Returns
    -------
    q : float or ndarray
        Heat from hot to cold [W]; negative where the 'cold' inlet is the warmer one.
    eps : float or ndarray
        Effectiveness [-].
    ntu : float or ndarray
        Number of transfer units [-].
    """
    xp = ops_of(ua, c_hot, c_cold)
    c_min = xp.minimum(c_hot, c_cold)
    c_max = xp.maximum(c_hot, c_cold)
    ntu = xp.where(c_min > 0.0, ua / xp.maximum(c_min, eff.TINY), 0.0)
    cr = c_min / xp.maximum(c_max, eff.TINY)
    eps = ARRANGEMENTS[arrangement].effectiveness(ntu, cr, shells, c_hot <= c_cold)
    return eps * c_min * (t_hot_in - t_cold_in), eps, ntu


def ntu_for(
    arrangement: str, eps: float, cr: float, shells: int = 1, hot_is_min: bool = True
) -> float:
    """Number of transfer units that gives an effectiveness.

    Closed form for every arrangement but unmixed crossflow, which is solved by bracketing.

    Parameters
    ----------
    arrangement : str
        A name in ``ARRANGEMENTS``.
    eps : float
        Effectiveness wanted, not negative [-].
    cr : float
        Ratio of the heat capacity rates, 0 to 1 [-].
    shells : int
        Shells in series (shell-and-tube only).
    hot_is_min : bool
        Whether the hot stream has the smaller heat capacity rate (one-side-mixed crossflow only).

    Returns
    -------
    float
        Number of transfer units [-].

    Raises
    ------
    RangeError
        `eps` is negative, `cr` is not between 0 and 1, or `shells` is out of range.
    InfeasibleError
        Not even an endless exchanger of this arrangement reaches `eps`; ``best`` is its
        effectiveness.
    """
    kind = ARRANGEMENTS[arrangement]
    if not eps >= 0.0:
        raise RangeError("effectiveness", eps, 0.0, 1.0)
    if not 0.0 <= cr <= 1.0:
        raise RangeError("ratio of heat capacity rates", cr, 0.0, 1.0)
    if not 1 <= shells <= kind.most_shells:
        raise RangeError(f"shells in series of a {arrangement} exchanger", shells, 1,
                         kind.most_shells)
    ceiling = kind.ceiling(cr, shells, hot_is_min)
    if eps >= ceiling:
        raise InfeasibleError(
            f"effectiveness {eps:.4g} is out of reach for {arrangement} at Cr = {cr:.4g}: "
            f"an endless exchanger reaches {ceiling:.4g}",
            best=ceiling,
        )
    return kind.ntu(eps, cr, shells, hot_is_min)
