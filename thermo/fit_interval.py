"""How sure a fit is: the spread of what its readings leave over, carried to its unknowns."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from thermo.log_csv import Floats

KNEE = 2.0
"""Residual, in standard deviations, from which a reading counts less and less (soft L1)."""

CLIP = 3.0 * KNEE
"""Residual at which a reading is cut before it is asked how alike neighbours are."""

ALIKE = 0.05
"""Autocorrelation below which residuals count as independent."""


def robust(left: Floats) -> float:
    """Return the robust standard deviation of residuals; zeros stand for what is not compared."""
    compared = left[left != 0.0]
    return 1.4826 * float(np.median(np.abs(compared))) if len(compared) else 0.0


def independent(left: Floats) -> float:
    """Return how many neighbouring residuals count as one.

    Parameters
    ----------
    left : ndarray
        Residuals of one series in their order; zeros stand for what is not compared.

    Returns
    -------
    float
        1 + 2 (r1 + r2 + ...), the autocorrelations up to the first that is near zero: Bayley and
        Hammersley, The "effective" number of independent observations in an autocorrelated time
        series, J. R. Stat. Soc. Suppl. 8 (1946) 184, from memory.
    """
    compared = left[left != 0.0]
    if len(compared) < 10:
        return 1.0
    x = compared - float(np.mean(compared))
    power = float(x @ x)
    if power <= 0.0:
        return 1.0
    total = 1.0
    for lag in range(1, len(x) // 4):
        r = float(x[:-lag] @ x[lag:]) / power
        if r < ALIKE:
            break
        total += 2.0 * r
    return total


def carried(slopes: Floats, left: Floats, parts: Sequence[slice]) -> Floats:
    """Return the covariance of the unknowns of a robust fit with normal priors of spread 1.

    Parameters
    ----------
    slopes : ndarray, shape (readings, unknowns)
        Slopes of the residuals over their standard deviations.
    left : ndarray, shape (readings,)
        Residuals over their standard deviations; zeros stand for what is not compared.
    parts : sequence of slice
        Rows of each series, in their order in time.

    Returns
    -------
    ndarray, shape (unknowns, unknowns)

    Notes
    -----
    At its end a soft L1 fit is one by least squares in which a reading has the weight
    w = 1/sqrt(1 + (r/k)^2), as if its variance were 1/w. The estimate is then off by
    H^-1 (J' W e - z), with e the errors of the readings, z the truth in standard deviations of
    its prior, and H = J' W J + I. Hence H^-1 (K + I) H^-1, with K = J' W cov(e) W J: the sandwich
    of Huber (The behavior of maximum likelihood estimates under nonstandard conditions, Proc. 5th
    Berkeley Symp. 1 (1967) 221, from memory). K is J' W J series by series, times how many
    neighbours count as one: a series that errs alike for long is worth fewer readings, and the
    fit, which weighed it without knowing that, is not taken to have weighed it as it should.
    """
    weight = (1.0 + np.square(left / KNEE)) ** -0.5
    curvature, pulls = np.eye(slopes.shape[1]), np.eye(slopes.shape[1])
    for part in parts:
        told = slopes[part].T @ (weight[part][:, None] * slopes[part])
        curvature += told
        pulls += independent(np.clip(left[part], -CLIP, CLIP)) * told
    inverse = np.linalg.inv(curvature)
    return np.asarray(inverse @ pulls @ inverse)
