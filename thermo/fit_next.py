"""What a fitted model says of the next pass: figures with intervals, by sampling the fit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np

from thermo.ensemble import VariantTable, run_variants
from thermo.errors import InfeasibleError
from thermo.event import solve
from thermo.scenario import Scenario
from thermo.variants import Floats

SAMPLES = 200
"""Variants sampled: the ends of a 95 % interval are then known to about a tenth of its width."""

SHOWN = (
    ("boil_margin_K", "boil margin", "temperature_difference", 0.0),
    ("after_boil_margin_K", "after-boil margin", "temperature_difference", 0.0),
    ("coolant_peak_degC", "coolant, hottest", "temperature", 273.15),
    ("tank_peak_degC", "tank, hottest", "temperature", 273.15),
)
"""Figures told of the next pass: name, words, kind, and what makes them SI."""


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of the next pass.

    Attributes
    ----------
    name, title, kind : str
    before : float
        By the scenario before the fit [SI].
    middle, low, high : float
        Median and ends of the 95 % interval after it [SI].
    """

    name: str
    title: str
    kind: str
    before: float
    middle: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """The next pass on one day.

    Attributes
    ----------
    title : str
    rows : tuple of Row
    danger, caution : float
        Share of the samples in which some hazard is a danger, or a caution at worst.
    failed : float
        Share without a verdict.
    verdict : str
        The same in words.
    """

    title: str
    rows: tuple[Row, ...]
    danger: float
    caution: float
    failed: float
    verdict: str


def outlook(
    title: str,
    before: Scenario,
    fitted: Scenario,
    changes: Mapping[str, Floats],
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Outlook:
    """Solve the next pass over samples of the fit.

    Parameters
    ----------
    title : str
    before, fitted : Scenario
        As it was, and with the fitted values; both for the day asked about.
    changes : mapping of str to ndarray
        Samples of the fitted inputs by key [SI].
    progress, cancelled : callable, optional
        As in :func:`thermo.ensemble.run_variants`.

    Returns
    -------
    Outlook

    Raises
    ------
    InfeasibleError
        If no sample has a verdict.
    """
    table = run_variants(fitted, changes, progress=progress, cancelled=cancelled)
    if not bool(table.ok.any()):
        raise InfeasibleError(f"the next pass has no verdict: {table.status[0]}")
    was = solve(before).cooling
    rows = tuple(
        Row(name, words, kind, float(getattr(was, name)) + zero, *_spread(table, name, zero))
        for name, words, kind, zero in SHOWN
    )
    danger, caution = (float(np.mean(table.level == rank)) for rank in (2, 1))
    failed = float(np.mean(table.level < 0))
    return Outlook(title, rows, danger, caution, failed, _words(danger, caution, failed))


def _spread(table: VariantTable, name: str, zero: float) -> tuple[float, float, float]:
    values = table.figures[name][table.ok]
    values = values[np.isfinite(values)]
    if not len(values):
        return (np.nan, np.nan, np.nan)
    low, middle, high = np.quantile(values, (0.025, 0.5, 0.975)) + zero
    return float(middle), float(low), float(high)


def _words(danger: float, caution: float, failed: float) -> str:
    """Say how many of the samples end in danger; no verdict is never safe."""
    told = [f"danger in {100 * danger:.0f} % of the samples, caution in {100 * caution:.0f} %"]
    if failed > 0.0:
        told.append(f"no verdict in {100 * failed:.0f} %, which is not safe")
    return "; ".join(told)


def samples(
    keys: tuple[str, ...],
    middle: Floats,
    covariance: Floats,
    outward: Callable[[Floats], Floats],
    bounds: tuple[tuple[float, float], ...],
    count: int = SAMPLES,
    seed: int = 0,
) -> dict[str, Floats]:
    """Draw inputs from the normal distribution of a fit.

    Parameters
    ----------
    keys : tuple of str
    middle, covariance : ndarray
        On the scale that was fitted.
    outward : callable
        From draws on that scale, shape (draws, inputs), to SI.
    bounds : tuple of (float, float)
        What each input may be at all [SI]; a draw beyond them is drawn anew, so that the
        distribution is cut off there.
    count, seed : int

    Returns
    -------
    dict of str to ndarray
        As :func:`thermo.ensemble.run_variants` takes them.

    Raises
    ------
    InfeasibleError
        If hardly any draw lies within the bounds.
    """
    from scipy.stats import qmc

    engine = qmc.MultivariateNormalQMC(
        middle, covariance, engine=qmc.Halton(len(keys), seed=seed), inv_transform=True
    )
    drawn = outward(np.asarray(engine.random(10 * count), dtype=np.float64))
    low, high = np.array(bounds).T
    inside = drawn[np.all((drawn >= low) & (drawn <= high), axis=1)][:count]
    if len(inside) < count:
        raise InfeasibleError("the fit lies at the ends of what its inputs may be")
    return {key: inside[:, i] for i, key in enumerate(keys)}
