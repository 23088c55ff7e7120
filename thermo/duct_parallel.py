"""Different paths side by side: they share the flow so that all lose the same."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from thermo.duct import MarchResult, Supply, largest_flow, march
from thermo.duct_parts import Path
from thermo.errors import RangeError
from thermo.gas import BoolArray, FloatArray
from thermo.ops import Real

RESIDUAL = 0.005
"""Largest difference of loss between the paths that passes as equal [Pa]."""

CLOSED = 1e-11
"""Share of the flow to which the bracket of a path's flow is narrowed."""

_MAX_ROUNDS = 60
"""Rounds of sharing. Newton needs four to eight; bisection beside a choking path about forty."""

_LIMIT_BISECTIONS = 24
"""Halvings of the flow in the search for the largest one of several paths: 6e-8 of the bound."""


@dataclass(frozen=True, slots=True)
class ParallelResult:
    """Air of several paths that meet again, for n operating points.

    Attributes
    ----------
    paths : tuple of MarchResult, length k
        The march of each path at its share.
    share : ndarray, shape (k, n)
        Share of the flow in each path [-]; the last tried where choked.
    outlet_pressure : ndarray, shape (n,)
        Stagnation pressure where the paths meet [Pa]; NaN where choked.
    outlet_temperature : ndarray, shape (n,)
        Stagnation temperature of the mixed air [K]; NaN where choked.
    heat : ndarray, shape (n,)
        Heat picked up from the walls [W]; NaN where choked.
    mach_peak : ndarray, shape (n,)
        Largest Mach number in any path [-]; 1 where choked.
    residual : ndarray, shape (n,)
        Difference between the largest and the smallest loss [Pa]; NaN where choked.
    converged : ndarray of bool, shape (n,)
        Whether the residual is within ``RESIDUAL``; False where choked.
    choked : ndarray of bool, shape (n,)
        Whether no split at equal loss passes the flow.
    flow_limit : ndarray, shape (n,)
        Where choked, the largest flow that passes at equal loss [kg/s]; NaN elsewhere, or when
        the limit was not asked for.
    """

    paths: tuple[MarchResult, ...]
    share: FloatArray
    outlet_pressure: FloatArray
    outlet_temperature: FloatArray
    heat: FloatArray
    mach_peak: FloatArray
    residual: FloatArray
    converged: BoolArray
    choked: BoolArray
    flow_limit: FloatArray


class PathLimits:
    """The largest flow that each path passes by itself, sought when one first chokes.

    Parameters
    ----------
    paths : tuple of Path
    supply : Supply
        As for :func:`march_paths`, which may be called again with these limits while both stay.
    """

    def __init__(self, paths: tuple[Path, ...], supply: Supply) -> None:
        self._paths, self._supply = paths, supply
        self._found: FloatArray | None = None

    def flows(self, shape: tuple[int, ...]) -> FloatArray | None:
        """Return the flows [kg/s].

        Parameters
        ----------
        shape : tuple of int
            Shape (n,) of the operating points.

        Returns
        -------
        ndarray or None
            Shape (k, n); None for an array of variants.
        """
        if len(shape) == 1 and self._found is None:
            self._found = np.stack([
                largest_flow(path, self._supply, shape[0]) for path in self._paths
            ])
        return self._found


def march_paths(
    paths: tuple[Path, ...],
    flow: Real,
    supply: Supply,
    find_limit: bool = True,
    limits: PathLimits | None = None,
) -> ParallelResult:
    """Share the flow among paths from one opening pressure to one plenum, at equal loss.

    Parameters
    ----------
    paths : tuple of Path
        One or more; equal copies belong in one path's count.
    flow : float or ndarray, shape (n,)
        Mass flow of all paths together, 0 or more [kg/s].
    supply : Supply
        The air at the openings and the wall; the same for all paths.
    find_limit : bool, optional
        Whether to search the largest flow of the operating points that choke; costs about a
        second, as each trial shares the flow anew.
    limits : PathLimits, optional
        Of the same paths and supply, from an earlier call.

    Returns
    -------
    ParallelResult
        Shares, the air where the paths meet, and the residual of the split.

    Raises
    ------
    RangeError
        No path, or a flow that is negative or not finite.

    Notes
    -----
    Newton on the shares with the slope of each path's loss from its last two flows (twice loss
    over flow at first), as in the Hardy Cross method; each path's flow stays in a bracket that
    the smallest and the largest loss narrow. A path with no answer in its bracket has choked:
    the paths could then only part with unequal losses, which is reported as choked.
    """
    if not paths:
        raise RangeError("number of paths", 0.0, 1.0, np.inf)
    inputs = np.broadcast_arrays(
        np.atleast_1d(np.asarray(flow, dtype=np.float64)),
        *(np.asarray(x) for x in (supply.pressure, supply.temperature, supply.air_speed,
                                  supply.loss_factor, supply.gas.gas_constant)),
    )
    total = np.array(inputs[0])
    flows = _share_out(paths, total, supply, limits or PathLimits(paths, supply))
    results = tuple(
        march(p, f, supply, find_limit=False) for p, f in zip(paths, flows, strict=True)
    )
    loss = np.stack([r.loss for r in results])
    choked = np.any(np.isnan(loss), axis=0)
    residual = np.max(loss, axis=0) - np.min(loss, axis=0)
    met = np.where(choked, False, residual <= RESIDUAL)
    # A split that ends unequal with a path at its largest flow is choking too.
    choked = choked | ~met & _beside_choking(paths, flows, supply, met | choked)
    weight = flows / np.where(total > 0.0, total, 1.0)
    weight = np.where(total > 0.0, weight, 1.0 / len(paths))
    limit = np.full(total.shape, np.nan)
    if find_limit and np.any(choked):
        chosen = supply.at(choked)
        limit[choked] = _largest_flow(
            lambda trial: march_paths(paths, trial, chosen, find_limit=False).choked,
            total[choked],
        )
    return _joined(results, weight, residual, met, choked, limit)


def _joined(
    results: tuple[MarchResult, ...],
    weight: FloatArray,
    residual: FloatArray,
    met: BoolArray,
    choked: BoolArray,
    limit: FloatArray,
) -> ParallelResult:
    """Return the air where paths meet that pass these shares of the flow."""
    mixed = np.sum(weight * np.stack([r.outlet_temperature for r in results]), axis=0)
    pressure = np.mean(np.stack([r.outlet_pressure for r in results]), axis=0)
    heat = np.sum(np.stack([r.heat for r in results]), axis=0)
    peak = np.max(np.stack([r.mach_peak for r in results]), axis=0)
    return ParallelResult(
        paths=results,
        share=weight,
        outlet_pressure=np.where(choked, np.nan, pressure),
        outlet_temperature=np.where(choked, np.nan, mixed),
        heat=np.where(choked, np.nan, heat),
        mach_peak=np.where(choked, 1.0, peak),
        residual=np.where(choked, np.nan, residual),
        converged=met & ~choked,
        choked=choked,
        flow_limit=limit,
    )


def _losses(paths: tuple[Path, ...], flows: FloatArray, supply: Supply) -> FloatArray:
    """Return the loss of each path at its flow [Pa], infinite where it chokes, shape (k, n)."""
    loss = np.stack([
        march(p, f, supply, find_limit=False).loss for p, f in zip(paths, flows, strict=True)
    ])
    return np.asarray(np.where(np.isnan(loss), np.inf, loss))


def _share_out(
    paths: tuple[Path, ...], total: FloatArray, supply: Supply, limits: PathLimits
) -> FloatArray:
    """Return the flow of each path at equal loss [kg/s], shape (k, n)."""
    if len(paths) == 1:
        return total[np.newaxis]
    area = np.stack([
        np.broadcast_to(np.minimum(p.least_area, 1e6) * p.count, total.shape) for p in paths
    ])
    flows: FloatArray = area / np.sum(area, axis=0) * total
    low, high = np.zeros(flows.shape), np.broadcast_to(total, flows.shape).copy()
    slope = np.full(flows.shape, np.nan)
    before: tuple[FloatArray, FloatArray] | None = None
    limit: FloatArray | None = None
    for _ in range(_MAX_ROUNDS):
        loss = _losses(paths, flows, supply)
        least, most = np.min(loss, axis=0), np.max(loss, axis=0)
        lost = np.isinf(least)
        if limit is None and np.any(np.isinf(loss)):
            limit = limits.flows(total.shape)
        if limit is not None:
            # The paths together pass less, or one at its limit still loses less than all others.
            full = np.any((flows >= limit) & (loss == least), axis=0) & (least < most)
            lost = lost | (np.sum(limit, axis=0) < total) | full
        with np.errstate(invalid="ignore"):
            done = lost | (most - least <= 0.1 * RESIDUAL) | (total == 0.0)
        if np.all(done):
            break
        low = np.where(loss == least, np.maximum(low, flows), low)
        high = np.where(loss == most, np.minimum(high, flows), high)
        # Brackets that have closed on unequal losses: a path that loses too much without flow.
        done = done | np.all(high - low <= CLOSED * total, axis=0)
        if np.all(done):
            break
        slope = _slopes(flows, loss, slope, before)
        before = (flows, loss)
        flows = np.where(done, flows, _next_flows(
            flows, loss, slope, low, high, total, limit))
    return flows


def _slopes(
    flows: FloatArray,
    loss: FloatArray,
    slope: FloatArray,
    before: tuple[FloatArray, FloatArray] | None,
) -> FloatArray:
    """Return the slope of loss against flow of each path [Pa s/kg], NaN where it choked."""
    finite = np.isfinite(loss)
    sure = np.where(finite, loss, 0.0)
    square_law = 2.0 * np.maximum(sure, 1e-3) / np.maximum(flows, 1e-12)
    if before is None:
        return np.where(finite, square_law, np.nan)
    step = flows - before[0]
    both = finite & np.isfinite(before[1]) & (np.abs(step) > 1e-9 * flows)
    rise = np.where(both, sure - np.where(both, before[1], 0.0), 0.0)
    secant = rise / np.where(both, step, 1.0)
    kept = np.where(np.isfinite(slope), slope, square_law)
    return np.where(finite, np.where(both & (secant > 0.1 * square_law), secant, kept), np.nan)


def _next_flows(
    flows: FloatArray,
    loss: FloatArray,
    slope: FloatArray,
    low: FloatArray,
    high: FloatArray,
    total: FloatArray,
    limit: FloatArray | None,
) -> FloatArray:
    """Return flows [kg/s] that equal linearised losses, halved back into their brackets."""
    open_ = np.isfinite(loss) & np.isfinite(slope)
    # A choked path goes back to its limit or, without a section that sets one, halves its bracket;
    # the others share what is left.
    back = 0.5 * (low + flows)
    if limit is not None:
        back = np.where(np.isfinite(limit), limit, back)
    fixed = np.where(open_, 0.0, back)
    yielding = np.where(open_, 1.0 / np.where(open_, slope, 1.0), 0.0)
    sure = np.where(open_, loss, 0.0)
    room = total - np.sum(fixed, axis=0)
    pull = np.sum(np.where(open_, flows - sure * yielding, 0.0), axis=0)
    common = (room - pull) / np.maximum(np.sum(yielding, axis=0), 1e-300)
    wanted = np.where(open_, flows + (common - sure) * yielding, fixed)
    inside = (wanted > low) & (wanted < high)
    bounded = np.where(inside | ~open_, wanted, 0.5 * (np.clip(wanted, low, high) + flows))
    # Bring the sum back to the total where a bracket held a path: the others take the rest.
    free = np.where(inside & open_, bounded, 0.0)
    free = np.where(np.sum(free, axis=0) > 0.0, free, bounded)
    held = np.sum(bounded - free, axis=0)
    whole = np.sum(free, axis=0)
    scale = np.where(whole > 0.0, (total - held) / np.where(whole > 0.0, whole, 1.0), 0.0)
    return np.asarray(bounded - free + free * np.maximum(scale, 0.0))


def _beside_choking(
    paths: tuple[Path, ...], flows: FloatArray, supply: Supply, settled: BoolArray
) -> BoolArray:
    """Say where a little more flow chokes a path, for the operating points not settled."""
    if np.all(settled):
        return np.zeros(settled.shape, dtype=np.bool_)
    beyond = np.isinf(_losses(paths, flows * (1.0 + 1e-3), supply))
    return np.asarray(np.any(beyond, axis=0))


def _largest_flow(choked: Callable[[FloatArray], BoolArray], bound: FloatArray) -> FloatArray:
    """Return the largest flow below a bound [kg/s] that does not choke, by bisection."""
    low, high = np.zeros(bound.shape), bound.copy()
    for _ in range(_LIMIT_BISECTIONS):
        middle = 0.5 * (low + high)
        lost = choked(middle)
        low, high = np.where(lost, low, middle), np.where(lost, middle, high)
    return low
