"""A logged pass fitted on the model: least squares, robust, with what is known before as prior."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.errors import Problem, ScenarioError, SoakboxError
from thermo.event import OvertakenError
from thermo.fit_data import Event, events_of, on_the_day
from thermo.fit_interval import KNEE, carried, robust
from thermo.fit_parameters import Fitted, Parameter, parameters_of
from thermo.fit_problem import FIRST, Nuisance, Posed, noise_of, posed
from thermo.fit_traces import drive, traces
from thermo.log_csv import Floats, Log
from thermo.log_preview import Prediction
from thermo.scenario import Scenario

STARTS = ((0.0, 0.0), (0.9, -0.9), (-0.9, 0.9))
"""Starts of the parameters by turns beside the scenario's own values, in standard deviations of
their range before the fit."""

SEARCH, FURTHER, FINISH = 12, 7, 20
"""Most steps from the scenario's own values, from each other start, and of the best of them to its
end."""

WORSE, SEEN = 1.05, 0.1
"""Misfit over that of the scenario as it stands from which a fit has ended worse, and the least
that counts as a misfit, in standard deviations of a reading before any fit."""

TIMING = 0.6
"""How well the model times a change of temperature [s]: three cells a line spread a front of warm
water that the car's lines keep together, by a fifth of the seconds it takes through them."""

TOLD_LITTLE = 0.7
"""Standard deviation after over that before from which the log has told little."""

ALIKE = 0.95
"""Correlation from which two parameters cannot be told apart."""

POOR = {"speed": 1.0, "plenum": 500.0}
"""Misfit from which the model does not follow a channel [SI]; 3 K for temperatures."""

DEFAULTS = ("heat", "ua", "metal", "drag")


@dataclass(frozen=True, slots=True)
class Preview(Prediction):
    """One channel of one event as plain arrays, for plots.

    Attributes
    ----------
    after : ndarray
        The model's after the fit; as `before`, sensors included [SI].
    """

    after: Floats


@dataclass(frozen=True, slots=True)
class Fit:
    """What a log says of the car.

    Attributes
    ----------
    parameters : tuple of Parameter
    fitted : tuple of Fitted
        Inputs with value and interval.
    middle, covariance : ndarray
        Of the parameters on the scale that was fitted.
    correlation : ndarray
        Between parameters.
    told : tuple of float
        Standard deviation after over that before, by parameter: 1 where the log says nothing.
    nuisances : tuple of Nuisance
        Sensors, offsets and starting temperatures as fitted.
    misfit : dict of str to (float, float)
        Robust misfit of each channel before and after the fit [SI].
    words : tuple of str
        What the log cannot tell, in plain words.
    poor : tuple of str
        Channels that the model does not follow, in words; empty where the fit can be trusted.
    previews : tuple of Preview
    events : tuple of Event
    solves : int
        Events solved on the way.
    """

    parameters: tuple[Parameter, ...]
    fitted: tuple[Fitted, ...]
    middle: Floats
    covariance: Floats
    correlation: Floats
    told: tuple[float, ...]
    nuisances: tuple[Nuisance, ...]
    misfit: dict[str, tuple[float, float]]
    words: tuple[str, ...]
    poor: tuple[str, ...]
    previews: tuple[Preview, ...]
    events: tuple[Event, ...]
    solves: int

    def outward(self, drawn: Floats) -> Floats:
        """Return draws of the parameters, shape (draws, parameters), as SI values."""
        return np.stack([
            drawn[:, i] if p.linear else np.exp(drawn[:, i]) for i, p in enumerate(self.parameters)
        ], axis=1)


def default_names(scenario: Scenario, log: Log) -> tuple[str, ...]:
    """Return the parameters that the channels of a log have a say in."""
    seen = set(log.values)
    names = []
    if seen & {"coolant_out", "coolant_in", "tank_out", "tank_in", "tank_mid"}:
        names.append("heat")
    if seen & {"coolant_out", "coolant_in"}:
        names += ["ua", "metal"]
    if "speed" in seen:
        names.append("drag")
    if "plenum" in seen and scenario.intake is not None:
        names.append("duct")
    return tuple(names)


def fit(
    scenario: Scenario,
    log: Log,
    names: Sequence[str] = (),
    *,
    passes: Sequence[int] = (),
    leave_out: Sequence[str] = (),
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Fit:
    """Fit a scenario to a log.

    Parameters
    ----------
    scenario : Scenario
    log : Log
    names : sequence of str
        Keys of :data:`thermo.fit_parameters.PARAMETERS`; those the log has a say in when empty.
    passes : sequence of int
        Numbers of the passes to be used, all when empty.
    leave_out : sequence of str
        Channels not to be used.
    progress : callable, optional
        Told how many stages are done, and of how many.
    cancelled : callable, optional
        Asked at each step; when true the work is given up.

    Returns
    -------
    Fit

    Raises
    ------
    ScenarioError
        If a name, pass or channel cannot be used.
    OvertakenError
        If `cancelled` said so.

    Notes
    -----
    Trust-region reflective least squares (scipy), soft L1 on the readings, the ranges before the
    fit as normal priors. Along with the parameters go what sensors may be wrong by (lag, bias and
    drift of temperatures, scale of speed, zero of the plenum), the start in the log and the
    temperatures at it. The search begins at the scenario's own values and at `STARTS`, and ends no
    worse by its own measure than at the former. A car that stands is not compared by its speed,
    nor in the end a reading within a second of where the model begins or ceases to tell its
    channel. Intervals by
    :func:`thermo.fit_interval.carried`: the sandwich of Huber, with readings counted for as many
    as are independent by the autocorrelation of what is left over. `python -m
    tests.bench.bench_fit trials` counts how often they hold the truth.
    """
    log = log.without(leave_out)
    day = on_the_day(scenario, log)
    chosen = tuple(names) or default_names(day, log)
    if not chosen:
        raise ScenarioError(log.source, [Problem("", "", "no column tells of any parameter")])
    parameters = parameters_of(day, chosen)
    driven = drive(day)
    plain = traces(day, driven)
    events = events_of(day, log, driven, plain, passes)
    problem = posed(day, driven, parameters, events, cancelled or (lambda: False))
    tell = progress or (lambda _done, _of: None)
    noise = noise_of(problem)
    own = problem.start([0.0] * len(parameters), own=True)
    before = problem.residuals(own)
    if not np.all(np.isfinite(before)):
        raise ScenarioError(log.source, [Problem("", "", "the scenario cannot be solved as it is")])
    starts = [own] + [
        problem.start([odd if j % 2 else even for j in range(len(parameters))])
        for odd, even in STARTS]
    best: Any = None
    for i, start in enumerate(starts):
        tell(i, len(starts) + 1)
        found = _least(problem, start, noise, FURTHER if i else SEARCH)
        if best is None or found.cost < best.cost:
            best = found
    tell(len(starts), len(starts) + 1)
    noise = _noise_after(problem, best.x)
    best = _least(problem, best.x, noise, FINISH)
    # With the noise that is known by now, the scenario as it stands may be the better start.
    if (again := _least(problem, own, noise, 1)).cost < best.cost:
        best = min((again, _least(problem, own, noise, FINISH)), key=lambda found: found.cost)
    tell(len(starts) + 1, len(starts) + 1)
    return _result(problem, best.x, noise, before)


def _least(problem: Posed, start: Floats, noise: Floats, steps: int) -> Any:
    """Run least squares from one start."""
    from scipy.optimize import least_squares

    data = problem.size

    def fun(z: Floats) -> Floats:
        left = problem.residuals(z)
        return np.concatenate([np.where(np.isfinite(left), left / noise, 1e3), z])

    def jac(z: Floats) -> Floats:
        return np.concatenate([problem.slopes(z) / noise[:, None], np.eye(len(z))])

    def loss(square: Floats) -> Floats:
        rho = np.stack([square, np.ones_like(square), np.zeros_like(square)])
        bent = 1.0 + square[:data] / KNEE**2
        rho[0, :data] = 2.0 * KNEE**2 * (np.sqrt(bent) - 1.0)
        rho[1, :data] = bent**-0.5
        rho[2, :data] = -0.5 / KNEE**2 * bent**-1.5
        return rho

    low, high = problem.bounds
    inside = np.clip(start, low + 1e-6, high - 1e-6)
    return least_squares(
        fun, inside, jac, bounds=(low, high), loss=loss, max_nfev=steps, ftol=1e-5, xtol=1e-5,
        gtol=1e-8,
    )


def _noise_after(problem: Posed, z: Floats) -> Floats:
    """Return the standard deviation of each reading by what the model leaves over."""
    left = problem.residuals(z)
    noise = np.empty(len(left))
    rows = iter(problem.parts)
    for series in (s for event in problem.events for s in event.series):
        part, channel = next(rows)
        noise[part] = max(robust(left[part]), problem.floor(channel))
        if channel in problem.channels:
            # Where a trace is steep, what the model's few cells a line miss counts for nothing.
            steep = np.gradient(series.values - left[part], series.time)
            noise[part] = np.hypot(noise[part], TIMING * steep)
    return np.where(problem.lasting(z), noise, np.inf)


def _result(problem: Posed, z: Floats, noise: Floats, before: Floats) -> Fit:
    left = problem.residuals(z)
    whole = carried(
        problem.slopes(z) / noise[:, None], left / noise, [part for part, _ in problem.parts])
    count = len(problem.parameters)
    spread = np.array([p.spread for p in problem.parameters])
    centre = np.array([p.centre for p in problem.parameters])
    middle = np.asarray(centre + spread * z[:count], dtype=np.float64)
    covariance = np.asarray(whole[:count, :count] * np.outer(spread, spread), dtype=np.float64)
    error = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(error, error)
    told = tuple(float(e) for e in error / spread)
    fitted = tuple(Fitted.of(p, float(u), float(e))
                   for p, u, e in zip(problem.parameters, middle, error, strict=True))
    misfit: dict[str, tuple[float, float]] = {}
    for channel in dict.fromkeys(c for _, c in problem.parts):
        rows = [part for part, c in problem.parts if c == channel]
        was, now = (robust(np.concatenate([r[s] for s in rows])) for r in (before, left))
        misfit[channel] = was, now
    errors = np.sqrt(np.diag(whole))
    return Fit(
        problem.parameters, fitted, middle, covariance, correlation, told,
        problem.nuisances_at(z, errors), misfit,
        _words(problem.parameters, told, correlation, z, problem.bounds), _poor(misfit),
        _previews(problem, z, before, left), problem.events, problem.solves,
    )


def _words(
    parameters: Sequence[Parameter], told: Sequence[float], correlation: Floats, z: Floats,
    bounds: tuple[Floats, Floats],
) -> tuple[str, ...]:
    """Say what the log cannot tell."""
    words = [
        f"the log says little about {p.title} ({p.name}): its interval is {100 * t:.0f} % of "
        "what it was before, and rests on that range"
        for p, t in zip(parameters, told, strict=True) if t > TOLD_LITTLE
    ]
    for i, p in enumerate(parameters):
        for j in range(i):
            if abs(correlation[i, j]) > ALIKE:
                both = "rise together" if correlation[i, j] > 0 else "trade for one another"
                words.append(
                    f"the log cannot tell {parameters[j].title} ({parameters[j].name}) and "
                    f"{p.title} ({p.name}) apart: they {both} (correlation "
                    f"{correlation[i, j]:.2f}), and only the two together are known")
        if min(z[i] - bounds[0][i], bounds[1][i] - z[i]) < 1e-3:
            words.append(f"{p.title} ({p.name}) ends at the limit of what it may be: something "
                         "else is wrong in log or scenario")
    return tuple(words)


def _poor(misfit: dict[str, tuple[float, float]]) -> tuple[str, ...]:
    """Say why a fit cannot be trusted: what the model does not follow, and where it got no better.

    Channels count alike, each by what a reading of it is off by before any fit.
    """
    poor = [
        f"the model does not follow {channel}: what is left over is "
        f"{after / POOR.get(channel, 3.0):.1f} times what may be"
        for channel, (_, after) in misfit.items()
        if not after <= POOR.get(channel, 3.0) or not math.isfinite(after)
    ]
    was, now = (
        math.sqrt(float(np.mean([(pair[k] / FIRST.get(channel, 0.6)) ** 2
                                 for channel, pair in misfit.items()]))) for k in (0, 1))
    if now > max(WORSE * was, SEEN) or (poor and now >= was):
        ratio = f"{now / was:.2g} times" if was > 0.0 else "more than"
        worse = [c for c, (first, last) in misfit.items() if last > WORSE * first]
        poor.append("the fit ends no better than the scenario as it stands: over all channels its "
                    f"misfit is {ratio} what it was"
                    + (f", and larger in {', '.join(worse)}" if worse else ""))
    return tuple(poor)


def _previews(
    problem: Posed, z: Floats, before: Floats, left: Floats
) -> tuple[Preview, ...]:
    made = []
    rows = iter(problem.parts)
    for number, event in enumerate(problem.events):
        offset = problem.offset_at(z, number)
        for series in event.series:
            part, channel = next(rows)
            made.append(Preview(channel, number, series.time - offset, series.values,
                                series.values - before[part], series.values - left[part]))
    return tuple(made)


__all__ = ["Fit", "OvertakenError", "Preview", "SoakboxError", "default_names", "fit"]
