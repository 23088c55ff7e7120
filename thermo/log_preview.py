"""A log over what the scenario says it should read, before anything is fitted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermo.fit_data import events_of
from thermo.fit_traces import drive, traces
from thermo.log_csv import Floats, Log
from thermo.scenario import Scenario


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


def predictions(scenario: Scenario, log: Log) -> tuple[Prediction, ...]:
    """Lay the events of a log over what a scenario says, with perfect instruments.

    Parameters
    ----------
    scenario : Scenario
        In the air of the day.
    log : Log

    Returns
    -------
    tuple of Prediction

    Raises
    ------
    SoakboxError
        If the scenario cannot be solved, or no column can be compared.
    """
    driven = drive(scenario)
    model = traces(scenario, driven)
    made = []
    for number, event in enumerate(events_of(scenario, log, driven, model)):
        for series in event.series:
            channel = series.channel.removesuffix("-gauge")
            clock = series.time - event.offset
            inside = (clock >= 0.0) & (clock <= model.time[-1])
            told = np.where(
                inside, np.interp(clock, model.time, model.columns[channel]), np.nan)
            if series.channel != channel:
                told -= driven.air.pressure
            made.append(Prediction(channel, number, clock, series.values, told))
    return tuple(made)
