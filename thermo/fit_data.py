"""A log made ready for a fit: passes chosen, spikes out, readings gathered, aligned with events."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from thermo.errors import Problem, ScenarioError
from thermo.fit_traces import CRAWL, Drive, Traces, pass_starts
from thermo.log_columns import WATERS
from thermo.log_csv import Floats, Log
from thermo.log_passes import Pass, align, find_passes
from thermo.scenario import Scenario, with_value

BINS = 250
"""Readings a channel and event is gathered into, each the mean of its neighbours."""

FITTED_CHANNELS = (*WATERS, "speed", "plenum")
"""Channels that the model has a say in."""

SPIKE = 8.0
"""Departure from the running median, in robust standard deviations, that counts as a spike."""

LEAST_SPIKE = {"speed": 5.0, "plenum": 2e3}
"""Least departure that counts [SI]; 4 K for temperatures."""


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one channel in one event.

    Attributes
    ----------
    channel : str
    time : ndarray
        Of the log [s].
    values : ndarray
        [SI].
    """

    channel: str
    time: Floats
    values: Floats


@dataclass(frozen=True, slots=True)
class Event:
    """One event in a log.

    Attributes
    ----------
    passes : tuple of Pass
    offset : float
        Moment of the log at which the event begins, before the fit [s].
    series : tuple of Series
    last : float
        Last moment of the event that the log covers [s].
    by_clock : bool
        Whether speed, throttle or engine speed tell the offset.
    """

    passes: tuple[Pass, ...]
    offset: float
    series: tuple[Series, ...]
    last: float
    by_clock: bool


def despiked(values: Floats, least: float) -> tuple[Floats, npt.NDArray[np.bool_]]:
    """Return readings without spikes, and which were taken for spikes.

    Parameters
    ----------
    values : ndarray
    least : float
        Least departure from the median of five that counts, in the unit of the values.

    Returns
    -------
    tuple of ndarray
    """
    known = np.flatnonzero(np.isfinite(values))
    out, spikes = values.copy(), np.zeros(len(values), dtype=np.bool_)
    if len(known) < 7:
        return out, spikes
    x = values[known]
    padded = np.concatenate([x[:2], x, x[-2:]])
    middle = np.median(np.lib.stride_tricks.sliding_window_view(padded, 5), axis=1)
    apart = np.abs(x - middle)
    usual = 1.4826 * float(np.median(apart))
    wild = known[apart > max(SPIKE * usual, least)]
    out[wild] = np.nan
    spikes[wild] = True
    return out, spikes


def on_the_day(scenario: Scenario, log: Log) -> Scenario:
    """Return the scenario in the air of the log, where the log tells it."""
    air = log.values.get("air")
    if air is None:
        return scenario
    return with_value(scenario, "site.air_temperature", float(np.nanmedian(air)))


def events_of(
    scenario: Scenario, log: Log, driven: Drive, model: Traces, chosen: Sequence[int] = ()
) -> tuple[Event, ...]:
    """Cut a log into events and gather their readings.

    Parameters
    ----------
    scenario : Scenario
    log : Log
    driven : Drive
    model : Traces
        By the scenario as it is.
    chosen : sequence of int
        Numbers of the passes wanted; all when empty.

    Returns
    -------
    tuple of Event
        As many passes to an event as the scenario has.

    Raises
    ------
    ScenarioError
        If there is no such pass, or no channel left that the model has a say in.
    """
    found = find_passes(log)
    starts = pass_starts(scenario, driven)
    groups = [found[i : i + len(starts)] for i in range(0, len(found), len(starts))]
    problems = [
        Problem("pass", str(n), f"the log holds passes 1 to {len(found)}")
        for n in chosen if not 1 <= n <= len(found)
    ]
    channels = [c for c in FITTED_CHANNELS if c in log.values and c in model.columns]
    if not channels:
        problems.append(Problem("", "", "no column is left that the model has a say in; wanted "
                                f"is at least one of {', '.join(FITTED_CHANNELS)}"))
    if problems:
        raise ScenarioError(log.source, problems)
    made: list[Event] = []
    for i, group in enumerate(groups):
        if chosen and not any(p.number in chosen for p in group):
            continue
        offset = align(log, group[0], model.time, model.columns, starts[0])
        end = offset + float(model.time[-1])
        if i + 1 < len(groups):
            end = min(end, groups[i + 1][0].start - starts[0] - 5.0)
        made.append(_gathered(log, group, offset, end, channels))
    return tuple(made)


def _gathered(
    log: Log, passes: tuple[Pass, ...], offset: float, end: float, channels: Sequence[str]
) -> Event:
    first, last = np.searchsorted(log.time, (offset, end))
    section = [s for s in log.sections if s <= first]
    later = [s for s in log.sections if s > max(section, default=0)]
    last = min(int(last), *later) if later else int(last)
    rows = slice(int(first), last)
    series = []
    for name in channels:
        clean, _ = despiked(log.values[name][rows], LEAST_SPIKE.get(name, 4.0))
        if name == "plenum" and log.choices[name].gauge:
            name = "plenum-gauge"
        # Standing, a sensor of speed shows noise, and none of it below zero.
        known = clean >= CRAWL if name == "speed" else np.isfinite(clean)
        if np.count_nonzero(known) >= 10:
            series.append(Series(name, *_binned(log.time[rows][known], clean[known])))
    return Event(passes, offset, tuple(series), float(log.time[max(last - 1, 0)]) - offset,
                 bool(passes[0].by))


def _binned(time: Floats, values: Floats) -> tuple[Floats, Floats]:
    """Return means of neighbours on at most `BINS` bins of equal length in time."""
    if len(time) <= BINS:
        return time, values
    edges = np.linspace(time[0], time[-1] + 1e-9, BINS + 1)
    place = np.clip(np.searchsorted(edges, time, side="right") - 1, 0, BINS - 1)
    count = np.bincount(place, minlength=BINS)
    full = count > 0
    sums = (np.bincount(place, w, minlength=BINS)[full] / count[full] for w in (time, values))
    mean_time, mean = sums
    return mean_time, mean
