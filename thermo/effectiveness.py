"""Effectiveness of two-stream heat exchangers as a function of NTU, one formula an arrangement.

``NTU = UA / Cmin``, ``Cr = Cmin / Cmax``, ``eps = q / (Cmin (Th,in - Tc,in))``. Each formula is
written so that it keeps its digits at ``Cr = 0``, at ``Cr = 1`` and at ``NTU = 0``.
The steady theory holds while neither stream boils and the specific heats are near constant.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.ops import ops_of

TINY = 1e-300
"""Keeps a quotient 0/0 defined where its limit is known; far below any physical value."""

_POISSON_LIMIT = 500.0
"""``Cr NTU`` above which the crossflow sum goes over to its normal limit."""


def decay_mean(x: Any) -> Any:
    """Mean of ``exp(-u)`` for u from 0 to x: ``(1 - exp(-x)) / x``, with no 0/0 at 0.

    Parameters
    ----------
    x : float or ndarray
        Not negative [-].

    Returns
    -------
    float or ndarray
        1 at ``x = 0``, falling towards 0 [-].
    """
    xp = ops_of(x)
    x = xp.maximum(x, TINY)
    return -xp.expm1(-x) / x


def counterflow(ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True) -> Any:
    """Effectiveness of pure counterflow.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, smaller over larger, 0 to 1 [-].
    shells, hot_is_min
        Not used; there so that every arrangement is called alike.

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to 1 [-].

    References
    ----------
    Incropera et al., Table 11.3, rewritten with ``phi(x) = (1 - exp(-x))/x``,
    ``x = NTU (1 - Cr)``: ``eps = NTU phi / (1 + Cr NTU phi)``, which has no 0/0 at ``Cr = 1``.
    """
    a = ntu * decay_mean(ntu * (1.0 - cr))
    return a / (1.0 + cr * a)


def parallel(ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True) -> Any:
    """Effectiveness of parallel flow: both streams enter at the same end.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].
    shells, hot_is_min
        Not used; there so that every arrangement is called alike.

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to ``1/(1 + Cr)`` [-].

    References
    ----------
    Incropera et al., Table 11.3.
    """
    return -ops_of(ntu, cr).expm1(-ntu * (1.0 + cr)) / (1.0 + cr)


def crossflow_max_mixed(ntu: Any, cr: Any) -> Any:
    """Effectiveness of crossflow with the larger stream mixed, the smaller one unmixed.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to ``(1 - exp(-Cr))/Cr`` [-].

    References
    ----------
    Incropera et al., eq. 11.33.
    """
    g = -ops_of(ntu).expm1(-ntu)
    return g * decay_mean(cr * g)


def crossflow_min_mixed(ntu: Any, cr: Any) -> Any:
    """Effectiveness of crossflow with the smaller stream mixed, the larger one unmixed.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to ``1 - exp(-1/Cr)`` [-].

    References
    ----------
    Incropera et al., eq. 11.34.
    """
    return -ops_of(ntu, cr).expm1(-ntu * decay_mean(cr * ntu))


def crossflow_hot_mixed(ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True) -> Any:
    """Effectiveness of crossflow with the hot stream mixed, the cold one unmixed.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].
    shells
        Not used; there so that every arrangement is called alike.
    hot_is_min : bool or ndarray of bool
        Whether the hot stream has the smaller heat capacity rate.

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to 1 [-].

    References
    ----------
    :func:`crossflow_min_mixed` and :func:`crossflow_max_mixed`, which meet at ``Cr = 1``.
    """
    xp = ops_of(ntu, cr, hot_is_min)
    return xp.where(hot_is_min, crossflow_min_mixed(ntu, cr), crossflow_max_mixed(ntu, cr))


def crossflow_cold_mixed(ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True) -> Any:
    """Effectiveness of crossflow with the cold stream mixed, the hot one unmixed.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].
    shells
        Not used; there so that every arrangement is called alike.
    hot_is_min : bool or ndarray of bool
        Whether the hot stream has the smaller heat capacity rate.

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to 1 [-].

    References
    ----------
    :func:`crossflow_min_mixed` and :func:`crossflow_max_mixed`, which meet at ``Cr = 1``.
    """
    xp = ops_of(ntu, cr, hot_is_min)
    return xp.where(hot_is_min, crossflow_max_mixed(ntu, cr), crossflow_min_mixed(ntu, cr))


def crossflow_unmixed(ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True) -> Any:
    """Effectiveness of crossflow with both streams unmixed, by the exact series.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].
    shells, hot_is_min
        Not used; there so that every arrangement is called alike.

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to 1 [-]; within 1e-12 while ``Cr NTU`` is below 500 and within
        1e-8 above (normal limit of the series).

    Notes
    -----
    With ``a = NTU``, ``b = Cr NTU`` and the Poisson probabilities ``p_b(m)`` Mason's series is
    ``eps = (1/b) sum_n P(n+1, a) P(n+1, b)``. Summed in the other order,
    ``eps = sum_{m>=1} p_b(m)/b * sum_{n<m} P(n+1, a)``: every term is positive, none is divided
    by ``b``, and about ``b + 8 sqrt(b) + 12`` terms reach rounding error.

    References
    ----------
    Mason (1954), series for unmixed crossflow; Shah & Sekulic (2003), Table 3.6; from memory.
    """
    xp = ops_of(ntu, cr)
    b = cr * ntu
    if xp.any_(b > _POISSON_LIMIT):
        if isinstance(b, np.ndarray):
            a_all, b_all = np.broadcast_arrays(np.asarray(ntu, dtype=float), b)
            far = b_all > _POISSON_LIMIT
            eps = _mason(np.where(far, 0.0, a_all), np.where(far, 0.0, b_all))
            eps[far] = [_normal_limit(*ab) for ab in zip(
                a_all[far].tolist(), b_all[far].tolist(), strict=True)]
            return eps
        return _normal_limit(ntu, b)
    return _mason(ntu, b)


def _mason(a: Any, b: Any) -> Any:
    xp = ops_of(a, b)
    largest = float(np.max(b, initial=0.0)) if isinstance(b, np.ndarray) else b
    terms = int(largest + 8.0 * math.sqrt(largest) + 12.0)
    weight = xp.exp(-b)
    pmf = xp.exp(-a)
    tail = -xp.expm1(-a)
    inner = tail
    total = weight * inner
    for m in range(1, terms):
        weight = weight * (b / (m + 1))
        pmf = pmf * (a / m)
        tail = tail - pmf
        inner = inner + tail
        total = total + weight * inner
    return total


def _normal_limit(a: float, b: float) -> float:
    """Return ``E[min(X, Y)]/b`` of Poisson X (mean a) and Y (mean b <= a), both large.

    The sum of :func:`_mason` is this expectation. ``Y - X`` is taken as normal, with the
    Edgeworth and the lattice correction of order ``1/variance``.
    """
    s = math.sqrt(a + b)
    d = (b - a) / s
    if d < -40.0:
        return 1.0
    density = math.exp(-0.5 * d * d) / math.sqrt(2.0 * math.pi)
    below = 0.5 * math.erfc(-d / math.sqrt(2.0))
    excess = s * (density * (1.0 - (1.0 + d * d) / (8.0 * s * s)) + d * below)
    return 1.0 - excess / b


def shell_and_tube(ntu: Any, cr: Any, shells: int = 1, hot_is_min: Any = True) -> Any:
    """Effectiveness of shells of one shell pass and two (or any even number of) tube passes.

    Parameters
    ----------
    ntu : float or ndarray
        Number of transfer units of all shells together, not negative [-].
    cr : float or ndarray
        Ratio of the heat capacity rates, 0 to 1 [-].
    shells : int
        Number of equal shells in series, in overall counterflow, at least 1.
    hot_is_min
        Not used; there so that every arrangement is called alike.

    Returns
    -------
    float or ndarray
        Effectiveness, 0 to 1 [-].

    Notes
    -----
    One shell: ``eps1 = 2 t / (s + (1 + Cr) t)``, ``s = sqrt(1 + Cr^2)``,
    ``t = tanh(NTU1 s / 2)``. In series the ratio ``r = (1 - eps)/(1 - Cr eps)`` of the shells
    multiplies; the factor ``1 - Cr`` is taken out of ``1 - r^n``, so ``Cr = 1`` is no exception.

    References
    ----------
    Incropera et al., eq. 11.30 and 11.31.
    """
    xp = ops_of(ntu, cr)
    s = xp.sqrt(1.0 + cr * cr)
    t = xp.tanh(0.5 * ntu * s / shells)
    v = 2.0 * t / (s + (1.0 - cr) * t)
    r = (s - (1.0 - cr) * t) / (s + (1.0 - cr) * t)
    geometric = 1.0
    power = r
    for _ in range(shells - 1):
        geometric = geometric + power
        power = power * r
    top = v * geometric
    return top / (top + power)
