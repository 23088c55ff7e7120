"""Chances of crossing a limit, how sure they are, and which input drives them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]

SURE = 0.95
"""Share of intervals that hold the chance they are drawn about."""

FEW = 30
"""Samples on either side of a limit below which the scatter of scrambles is not relied on."""

STUDENT = "Student interval of the scrambles' mean"
BINOMIAL = "Clopper-Pearson interval"


@dataclass(frozen=True, slots=True)
class Chance:
    """The chance that something happens.

    Attributes
    ----------
    least, most : float
        With every failed variant counted as one where it does not, and as one where it does.
    low, high : float
        Ends of the 95 % interval: of `least` below, of `most` above.
    method : str
        How the interval was found.
    """

    least: float
    most: float
    low: float
    high: float
    method: str

    @property
    def certain(self) -> bool:
        """Whether it happened in all samples, or in none."""
        return self.most == 0.0 or self.least == 1.0


@dataclass(frozen=True, slots=True)
class Driver:
    """An input that drives a figure.

    Attributes
    ----------
    key : str
    correlation : float
        Spearman's rank correlation with nearness to the limit: above zero, more of the input is
        nearer the limit or beyond it.
    low, high : float
        95 % interval of the correlation.
    """

    key: str
    correlation: float
    low: float
    high: float


def interval(hits: Bools, replicates: int) -> tuple[float, float, str]:
    """Return the 95 % interval of a chance from samples in independent scrambles.

    Parameters
    ----------
    hits : ndarray of bool
        Whether it happened in each sample, the scrambles one after another.
    replicates : int
        How many scrambles.

    Returns
    -------
    tuple of (float, float, str)
        Lower and upper end, and the method. Where it happens, and does not, in 30 samples or more:
        Student's interval of the mean of the scrambles, each an unbiased estimate by itself
        (Owen 1995), at least three samples wide to each side since scrambles may agree to the
        last point. Else Clopper and Pearson's (1934) exact interval of as many independent draws,
        which scatter more than scrambled points do.
    """
    from scipy import special

    count, size = int(hits.sum()), len(hits)
    tail = 0.5 * (1.0 - SURE)
    if min(count, size - count) < FEW:
        low = 0.0 if count == 0 else special.betaincinv(count, size - count + 1, tail)
        high = 1.0 if count == size else special.betaincinv(count + 1, size - count, 1.0 - tail)
        return float(low), float(high), BINOMIAL
    means = hits.reshape(replicates, -1).mean(axis=1)
    factor = float(special.stdtrit(replicates - 1, 1.0 - tail))
    half = factor * float(np.std(means, ddof=1)) / math.sqrt(replicates)
    half, middle = max(half, 3.0 / size), count / size
    return max(middle - half, 0.0), min(middle + half, 1.0), STUDENT


def chance_of(hits: Bools, failed: Bools, replicates: int) -> Chance:
    """Return a chance with its interval.

    Parameters
    ----------
    hits, failed : ndarray of bool
        Whether it happened, and whether the variant has no verdict, the scrambles one after
        another.
    replicates : int
        How many scrambles.

    Returns
    -------
    Chance
    """
    least, most = hits & ~failed, hits | failed
    low, below, method = interval(least, replicates)
    high, above = (below, method) if not failed.any() else interval(most, replicates)[1:]
    words = method if method == above else f"{method} below, {above} above"
    return Chance(float(least.mean()), float(most.mean()), low, high, words)


def rank_correlation(a: Floats, b: Floats) -> float:
    """Return Spearman's rank correlation.

    Parameters
    ----------
    a, b : ndarray
        Of one length; ties share their mean rank.

    Returns
    -------
    float
        -1 to 1; not a number where one of them does not vary.
    """
    from scipy.stats import rankdata

    first, second = rankdata(a), rankdata(b)
    first -= first.mean()
    second -= second.mean()
    scale = math.sqrt(float(first @ first) * float(second @ second))
    return float(first @ second) / scale if scale > 0.0 else math.nan


def drivers_of(inputs: Mapping[str, Floats], nearness: Floats) -> tuple[Driver, ...]:
    """Return the inputs that drive a figure, strongest first; noise is left out.

    Parameters
    ----------
    inputs : mapping of str to ndarray
        By key, the value in each sample.
    nearness : ndarray
        A figure that grows towards the limit; not a number where a variant failed.

    Returns
    -------
    tuple of Driver
        By Spearman's rank correlation. An input is named when its correlation is further from
        zero than independent noise would be once in 20 such lists: Student's test of each, at
        5 % over their number (Bonferroni). The interval is Fisher's, with the standard error
        of Bonett and Wright (2000).
    """
    from scipy import special

    kept = np.flatnonzero(~np.isnan(nearness))
    if len(kept) < 10 or not inputs:
        return ()
    free = len(kept) - 2
    limit = float(special.stdtrit(free, 1.0 - 0.025 / len(inputs)))
    least = limit / math.sqrt(free + limit * limit)
    found = []
    for key, values in inputs.items():
        r = rank_correlation(values[kept], nearness[kept])
        if math.isnan(r) or abs(r) <= least:
            continue
        found.append(Driver(key, r, *_fisher(r, len(kept))))
    return tuple(sorted(found, key=lambda d: -abs(d.correlation)))


def _fisher(r: float, size: int) -> tuple[float, float]:
    """Return the 95 % interval of a rank correlation."""
    if abs(r) > 1.0 - 1e-12:
        return r, r
    half = 1.959964 * math.sqrt((1.0 + 0.5 * r * r) / (size - 3))
    return math.tanh(math.atanh(r) - half), math.tanh(math.atanh(r) + half)


def percentiles(values: Floats, shares: Sequence[float]) -> tuple[float, ...]:
    """Return percentiles of a figure over the variants that have it.

    Parameters
    ----------
    values : ndarray
        Not a number where a variant failed or has no such figure; may be endless.
    shares : sequence of float
        0 to 1.

    Returns
    -------
    tuple of float
        Sample values, none made up between two of them; not a number where there are none.
    """
    kept = np.sort(values[~np.isnan(values)])
    if not len(kept):
        return tuple(math.nan for _ in shares)
    return tuple(float(kept[min(int(share * len(kept)), len(kept) - 1)]) for share in shares)
