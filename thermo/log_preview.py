"""A log over what the scenario says it should read, before anything is fitted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermo.fit_data import Event, events_of
from thermo.fit_traces import Drive, Traces, drive, traces
from thermo.log_csv import Floats, Log
from thermo.scenario import Scenario


@dataclass(frozen=True, slots=True)
class Laid:
    """A log laid over what a scenario would have it read.

    Attributes
    ----------
    driven : Drive
    model : Traces
        By the scenario as it is.
    events : tuple of Event
        The log, cut into events.
    """

    driven: Drive
    model: Traces
    events: tuple[Event, ...]


def lay(scenario: Scenario, log: Log) -> Laid:
    """Lay a log over what a scenario would have it read.

    Parameters
    ----------
    scenario : Scenario
        In the air of the day.
    log : Log

    Returns
    -------
    Laid

    Raises
    ------
    SoakboxError
        If the scenario cannot be solved, or no column can be compared.
    """
    driven = drive(scenario)
    model = traces(scenario, driven)
    return Laid(driven, model, events_of(scenario, log, driven, model))


@dataclass(frozen=True, slots=True)
class Prediction:
    """One channel of one event as plain arrays.

    Attributes
    ----------
    channel : str
    event : int
        From 0.
    time : ndarray
        From the event's start [s].
    log, before : ndarray
        Readings, spikes out, and what the scenario says as it is [SI]; not a number where it
        says nothing. A pressure logged as gauge is gauge in both.
    """

    channel: str
    event: int
    time: Floats
    log: Floats
    before: Floats


def predictions(laid: Laid) -> tuple[Prediction, ...]:
    """Return each channel of each event beside what the scenario says, with perfect instruments.

    Parameters
    ----------
    laid : Laid

    Returns
    -------
    tuple of Prediction
    """
    model = laid.model
    made = []
    for number, event in enumerate(laid.events):
        for series in event.series:
            channel = series.channel.removesuffix("-gauge")
            clock = series.time - event.offset
            inside = (clock >= 0.0) & (clock <= model.time[-1])
            told = np.where(
                inside, np.interp(clock, model.time, model.columns[channel]), np.nan)
            if series.channel != channel:
                told -= laid.driven.air.pressure
            made.append(Prediction(channel, number, clock, series.values, told))
    return tuple(made)
