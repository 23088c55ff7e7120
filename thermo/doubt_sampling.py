"""Low-discrepancy samples of the inputs in doubt.

Scrambled Sobol points (Sobol 1967, scrambled as Owen 1995; ``scipy.stats.qmc``) in the unit cube,
one dimension a range, turned into inputs by the inverse of each distribution. The points come as
several scrambles that are independent of one another: what these scatter by tells how sure the
chances are. The inputs are taken as independent; correlations between them are not modelled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.doubt_ranges import Range
from thermo.errors import RangeError

Floats = npt.NDArray[np.float64]

REPLICATES = 16
"""Independent scrambles; a Student interval of their mean has 15 degrees of freedom."""

LEAST, MOST = 256, 2**17
"""Fewest and most samples."""


@dataclass(frozen=True, slots=True)
class Draws:
    """Samples of the inputs in doubt.

    Attributes
    ----------
    columns : mapping of str to ndarray
        By dotted key, the SI value in each sample; the scrambles one after another.
    uniforms : ndarray
        The points of the unit cube, shape (samples, ranges).
    replicates : int
        How many scrambles.
    """

    columns: Mapping[str, Floats]
    uniforms: Floats
    replicates: int

    @property
    def size(self) -> int:
        """Number of samples."""
        return len(self.uniforms)


def whole_samples(asked: int) -> int:
    """Return the number of samples taken: the next power of two.

    Parameters
    ----------
    asked : int

    Returns
    -------
    int

    Raises
    ------
    RangeError
        If fewer than 256 or more than 131,072 are asked for.
    """
    if not LEAST <= asked <= MOST:
        raise RangeError("number of samples", asked, LEAST, MOST, "")
    return 1 << (asked - 1).bit_length()


def quantile(of: Range, share: Any) -> Any:
    """Return the value that a share of a distribution lies below.

    Parameters
    ----------
    of : Range
        Not an exact one.
    share : float or ndarray
        Between 0 and 1.

    Returns
    -------
    float or ndarray
        [SI]. A normal distribution is cut off where the input's allowed range ends, and what
        remains is scaled up to make one.
    """
    from scipy import stats

    width = of.high - of.low
    if of.shape == "uniform":
        return stats.uniform.ppf(share, of.low, width)
    if of.shape == "triangular":
        return stats.triang.ppf(share, (of.mode - of.low) / width, of.low, width)
    middle, spread = normal_of(of)
    ends = [(bound - middle) / spread for bound in of.bounds]
    return stats.truncnorm.ppf(share, *ends, middle, spread)


def normal_of(of: Range) -> tuple[float, float]:
    """Return mean and standard deviation of a normal range whose 5th and 95th percentiles are set.

    Parameters
    ----------
    of : Range

    Returns
    -------
    tuple of float
        [SI].
    """
    from scipy.special import ndtri

    return 0.5 * (of.low + of.high), (of.high - of.low) / (2.0 * float(ndtri(0.95)))


def cut_off(of: Range) -> float:
    """Return the share of a normal range that lies beyond what its input may be.

    Parameters
    ----------
    of : Range

    Returns
    -------
    float
        0 for the other shapes.
    """
    if of.shape != "normal":
        return 0.0
    from scipy.special import ndtr

    middle, spread = normal_of(of)
    low, high = ((bound - middle) / spread for bound in of.bounds)
    return float(ndtr(low) + ndtr(-high))


def sobol(dimensions: int, samples: int, seed: int, replicates: int = REPLICATES) -> Floats:
    """Return scrambled Sobol points, scrambles one after another.

    Parameters
    ----------
    dimensions : int
    samples : int
        In all scrambles; a power of two.
    seed : int
        Not negative.
    replicates : int
        How many scrambles; a power of two.

    Returns
    -------
    ndarray
        Shape (samples, dimensions), above 0 and below 1.
    """
    from scipy.stats import qmc

    each = (samples // replicates).bit_length() - 1
    streams = np.random.SeedSequence(seed).spawn(replicates)
    points = np.concatenate([
        qmc.Sobol(dimensions, scramble=True, seed=np.random.default_rng(s)).random_base2(each)
        for s in streams
    ])
    # A point may fall on 0 itself, where a distribution without end has no value.
    return np.where(points > 0.0, points, 0.5**33)


def draw(
    ranges: Sequence[Range], samples: int, seed: int, steps: Mapping[str, int] | None = None
) -> Draws:
    """Draw samples of the inputs in doubt.

    Parameters
    ----------
    ranges : sequence of Range
        None of them exact.
    samples : int
        A power of two.
    seed : int
    steps : mapping of str to int, optional
        By key, into how many equally likely parts a range is cut; each is stood for by its middle.

    Returns
    -------
    Draws
    """
    points = sobol(len(ranges), samples, seed)
    columns: dict[str, Floats] = {}
    for i, of in enumerate(ranges):
        parts = (steps or {}).get(of.key, 0)
        if parts:
            points[:, i] = (np.floor(points[:, i] * parts) + 0.5) / parts
        values = np.asarray(quantile(of, points[:, i]), dtype=np.float64)
        columns.update(dict.fromkeys(of.keys, values))
    return Draws(columns, points, REPLICATES)
