"""Call-outs before a fit: stuck sensors, swapped columns, wrong units, spikes and gaps."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from thermo.fit_data import LEAST_SPIKE, Event, Series, despiked, on_the_day
from thermo.fit_traces import Traces
from thermo.log_columns import WATERS, Mapped
from thermo.log_csv import Floats, Log
from thermo.log_preview import Laid, lay
from thermo.scenario import Scenario

MOVES = {"speed": 10.0, "plenum": 1e3}
"""What the model must move by while a sensor stands still to call it stuck [SI]; 5 K for
temperatures."""

STILL = 8.0
"""Shortest time that a stuck sensor stands still [s]."""

FAR = 12.0
"""Mean distance from the model from which another reading of a column is looked for [K]."""

MUCH_NEARER = 0.35
"""Distance of the other reading over that of the column as labelled."""

WRONG_WAY = 1.0
"""Least difference the wrong way round between two sensors of one stream [K]."""

SPEED_UNITS = {"km/h": 1.0 / 3.6, "mph": 0.44704, "m/s": 1.0, "ft/s": 0.3048, "knot": 0.514444}

GAP = 5.0
"""Time between rows over the usual from which it counts as a gap; at least 2 s."""

PLACES = {
    "coolant_out": "coolant leaving the engine", "coolant_in": "coolant returning to the engine",
    "tank_out": "water drawn from the tank", "tank_in": "water coming back to the tank",
    "tank_mid": "water in the middle of the tank",
}


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing about a log that a reader must settle, or know.

    Attributes
    ----------
    name : str
        ``stuck``, ``swapped``, ``mislabelled``, ``unit``, ``range``, ``spikes``, ``gap``.
    channel : str
    column : str
        Header in the file.
    lines : tuple of int
        First and last line it is about.
    stops : bool
        Whether nothing is fitted until it is settled.
    why : str
        What was seen.
    mend : tuple of Mapped
        How columns are to be taken so that it goes away; empty where no mapping helps.
    """

    name: str
    channel: str
    column: str
    lines: tuple[int, int]
    stops: bool
    why: str
    mend: tuple[Mapped, ...] = ()

    @property
    def tag(self) -> str:
        """What ``--accept`` takes to go on regardless."""
        return f"{self.name}:{self.channel}"


def check_log(log: Log, scenario: Scenario) -> tuple[Finding, ...]:
    """Look a log over; see :func:`look_over`."""
    return look_over(log, scenario)[0]


def look_over(log: Log, scenario: Scenario) -> tuple[tuple[Finding, ...], Laid]:
    """Look a log over against what the scenario would have it read.

    Parameters
    ----------
    log : Log
    scenario : Scenario

    Returns
    -------
    tuple of (tuple of Finding, Laid)
        Those that stop a fit first; and the log laid over the scenario in the air of the day.

    Raises
    ------
    SoakboxError
        If the scenario cannot be solved, or no column can be compared.
    """
    found = [*_air(log, scenario), *_range(log)]
    laid = lay(_day_of(scenario, log, found), log)
    model = laid.model
    units: list[Finding] = []
    for event in laid.events:
        units += _units(log, event, model)
        taken = {f.channel for f in (*units, *found)}
        stuck = _stuck(log, event, model)
        found += _swapped(log, event, model, taken | {f.channel for f in stuck})
        found += stuck
    found = [*units, *found, *_spikes(log), *_gaps(log)]
    once = {(f.tag, f.lines): f for f in reversed(found)}
    return tuple(sorted(once.values(), key=lambda f: not f.stops)), laid


def _day_of(scenario: Scenario, log: Log, findings: Sequence[Finding]) -> Scenario:
    """Return the scenario in the air of the log, unless its air temperature is called out."""
    wrong = any(f.channel == "air" and f.stops for f in findings)
    return scenario if wrong else on_the_day(scenario, log)


def _said(
    log: Log, name: str, channel: str, rows: object, stops: bool, why: str,
    mend: tuple[Mapped, ...] = (),
) -> Finding:
    return Finding(name, channel, log.choices[channel].header, log.lines(rows), stops, why, mend)


def _taken_as(log: Log, column: str, channel: str, unit: str = "") -> Mapped:
    """Return the column of a channel as another channel, or in another unit."""
    choice = log.choices[column]
    return Mapped(channel, choice.place, choice.header, unit or choice.unit)


def _changed(log: Log, a: str, b: str) -> tuple[Mapped, Mapped]:
    """Return the columns of two channels in each other's places."""
    return _taken_as(log, b, a), _taken_as(log, a, b)


def _rows(log: Log, series: Series) -> slice:
    a, b = np.searchsorted(log.time, (series.time[0], series.time[-1]), side="left")
    return slice(int(a), min(int(b) + 1, len(log.time)))


def _air(log: Log, scenario: Scenario) -> list[Finding]:
    """Call out an air temperature that is a reading in another unit."""
    values = log.values.get("air")
    if values is None:
        return []
    seen, planned = float(np.nanmedian(values)), scenario.site.air_temperature
    other = _as_fahrenheit(seen)
    if abs(seen - planned) > 15.0 and abs(other - planned) < 0.5 * abs(seen - planned):
        return [_said(log, "unit", "air", slice(None), True, _unit_words(log, "air", seen, other),
                      (_taken_as(log, "air", "air", "degF"),))]
    return []


def _range(log: Log) -> list[Finding]:
    """Call out temperatures that no water in such a car has."""
    found = []
    for name in (*WATERS, "air"):
        values = log.values.get(name)
        if values is None:
            continue
        high = 65.0 if name == "air" else 150.0
        out = (values < 233.15) | (values > high + 273.15)
        if np.count_nonzero(out) > 0.05 * np.count_nonzero(np.isfinite(values)):
            at = float(np.nanmedian(values[out])) - 273.15
            found.append(_said(
                log, "range", name, out, True, f"reads {at:.0f} degC, -40 to {high:.0f} degC is "
                "what it may be: is the unit right (degF read as degC, K, raw counts)?"))
    return found


def _as_fahrenheit(kelvin: float) -> float:
    """Return the temperature that a reading in degC would be were it in degF [K]."""
    return (kelvin - 273.15 - 32.0) / 1.8 + 273.15


def _unit_words(log: Log, channel: str, seen: float, other: float) -> str:
    """Say that Fahrenheit was read as Celsius."""
    return (
        f"mean {seen - 273.15:.0f} as {log.choices[channel].unit}; taken as degF it is "
        f"{other - 273.15:.0f} degC, which is near what is expected: was Fahrenheit read as "
        "Celsius?"
    )


def _told(series: Series, event: Event, model: Traces, channel: str) -> Floats:
    """Return what the model says of a channel at the times of a series, NaN outside."""
    clock = series.time - event.offset
    inside = (clock >= 0.0) & (clock <= model.time[-1])
    return np.where(inside, np.interp(clock, model.time, model.columns[channel]), np.nan)


def _apart(values: Floats, told: Floats) -> float:
    """Return the mean distance; infinite where nothing can be compared."""
    apart = np.abs(values - told)
    known = np.isfinite(apart)
    return float(np.mean(apart[known])) if np.count_nonzero(known) > 5 else np.inf


def _units(log: Log, event: Event, model: Traces) -> list[Finding]:
    """Call out columns that fit the model in another unit far better."""
    found = []
    for series in event.series:
        name = series.channel
        rows = _rows(log, series)
        if name == "speed":
            top, expected = float(np.max(series.values)), float(np.nanmax(model.columns["speed"]))
            unit = log.choices["speed"].unit
            for guess, size in SPEED_UNITS.items():
                ratio = top / SPEED_UNITS.get(unit, 1.0) * size / expected
                if abs(top / expected - 1.0) > 0.35 and abs(ratio - 1.0) < 0.12:
                    found.append(_said(
                        log, "unit", "speed", rows, True, f"top speed {top:.0f} m/s read as "
                        f"{unit}, {expected:.0f} m/s expected: was it {guess}?",
                        (_taken_as(log, name, name, guess),)))
                    break
        elif name in WATERS:
            told = _told(series, event, model, name)
            own = _apart(series.values, told)
            other = _apart((series.values - 305.15) / 1.8 + 273.15, told)
            reverse = _apart((series.values - 273.15) * 1.8 + 305.15, told)
            mean = float(np.mean(series.values))
            if own > FAR and other < MUCH_NEARER * own:
                found.append(_said(log, "unit", name, rows, True,
                                   _unit_words(log, name, mean, _as_fahrenheit(mean)),
                                   (_taken_as(log, name, name, "degF"),)))
            elif own > FAR and reverse < MUCH_NEARER * own and "F" in log.choices[name].unit:
                found.append(_said(
                    log, "unit", name, rows, True, f"mean {mean - 273.15:.0f} degC when read as "
                    f"{log.choices[name].unit}: was Celsius read as Fahrenheit?",
                    (_taken_as(log, name, name, "degC"),)))
    return found


def _swapped(
    log: Log, event: Event, model: Traces, taken: set[str]
) -> list[Finding]:
    """Call out columns that have changed places, or that are another place altogether."""
    waters = {s.channel: s for s in event.series
              if s.channel in WATERS and s.channel not in taken}
    found: list[Finding] = []
    told = {(s, c): _apart(waters[s].values, _told(waters[s], event, model, c))
            for s in waters for c in WATERS}
    done: set[str] = set()

    def gain(pair: tuple[str, str]) -> float:
        a, b = pair
        return told[a, b] + told[b, a] - told[a, a] - told[b, b]

    for a, b in sorted(itertools.combinations(waters, 2), key=gain):
        own, other = told[a, a] + told[b, b], told[a, b] + told[b, a]
        if own > FAR and other < 0.5 * own and not {a, b} & done:
            found.append(_said(
                log, "swapped", a, _rows(log, waters[a]), True,
                f"this column reads like {PLACES[b]}, and {log.choices[b].header!r} like "
                f"{PLACES[a]}", _changed(log, a, b)))
            done |= {a, b}
    for warm, cool in (("tank_in", "tank_out"), ("coolant_out", "coolant_in")):
        if warm in waters and cool in waters and not {warm, cool} & done:
            found += _wrong_way(log, event, model, (waters[warm], waters[cool]))
    done |= {f.channel for f in found}
    everything = {s.channel: s for s in event.series if s.channel in WATERS}
    for a, series in everything.items():
        if a not in waters:
            told |= {(a, c): _apart(series.values, _told(series, event, model, c)) for c in WATERS}
        best = min(WATERS, key=lambda c: told[a, c])
        if a in done or told[a, a] < FAR or told[a, best] > MUCH_NEARER * told[a, a]:
            continue
        found.append(_said(
            log, "mislabelled", a, _rows(log, series), True,
            f"labelled as {PLACES[a]}, but {told[a, a]:.0f} K from what is expected there and "
            f"{told[a, best]:.0f} K from {PLACES[best]}", (_taken_as(log, a, best),)))
    return found


def _wrong_way(
    log: Log, event: Event, model: Traces, pair: tuple[Series, Series]
) -> list[Finding]:
    """Call out two sensors of one stream of which the cooler is labelled the warmer."""
    warm, cool = pair
    told = _told(warm, event, model, warm.channel) - _told(warm, event, model, cool.channel)
    busy = np.isfinite(told) & (told > 2.0)
    if np.count_nonzero(busy) < 5:
        return []
    seen = warm.values - np.interp(warm.time, cool.time, cool.values)
    middle = float(np.median(seen[busy]))
    if middle >= -WRONG_WAY:
        return []
    return [_said(
        log, "swapped", warm.channel, _rows(log, warm), True,
        f"{-middle:.1f} K cooler than {log.choices[cool.channel].header!r} while heat flows, when "
        "it should be warmer: the two columns are swapped",
        _changed(log, warm.channel, cool.channel))]


def _stuck(log: Log, event: Event, model: Traces) -> list[Finding]:
    """Call out sensors that stand still while the model moves."""
    found = []
    for series in event.series:
        name = series.channel
        if name not in model.columns:
            continue
        rows = _rows(log, series)
        values, time = log.values[name][rows], log.time[rows]
        known = np.flatnonzero(np.isfinite(values))
        if not len(known):
            continue
        # Ends of the stretches over which the reading stays the same.
        cuts = np.flatnonzero(np.diff(values[known]) != 0.0) + 1
        first, last = np.r_[0, cuts], np.r_[cuts, len(known)] - 1
        long = (last - first >= 3) & (time[known[last]] - time[known[first]] >= STILL)
        for i in np.flatnonzero(long):
            part = known[first[i] : last[i] + 1]
            told = np.interp(time[part] - event.offset, model.time, model.columns[name],
                             left=np.nan, right=np.nan)
            told = told[np.isfinite(told)]
            if len(told) > 1 and float(np.ptp(told)) > MOVES.get(name, 5.0):
                place = rows.start + part
                found.append(_said(
                    log, "stuck", name, place, True, "reads the same for "
                    f"{time[part[-1]] - time[part[0]]:.0f} s of an event in which it should move: "
                    "a stuck or unplugged sensor"))
                break
    return found


def _spikes(log: Log) -> list[Finding]:
    """Name spikes, which are not fitted; very many of them stop a fit."""
    found = []
    for name, values in log.values.items():
        if name in ("throttle", "rpm"):
            continue
        _, spikes = despiked(values, LEAST_SPIKE.get(name, 4.0))
        count, of = int(np.count_nonzero(spikes)), int(np.count_nonzero(np.isfinite(values)))
        if count:
            found.append(_said(
                log, "spikes", name, spikes, count > 0.05 * of,
                f"{count} of {of} readings jump away and back: they are left out of the fit"))
    return found


def _gaps(log: Log) -> list[Finding]:
    """Name gaps in time, and channels without readings for long."""
    found = []
    for name, values in log.values.items():
        known = np.flatnonzero(np.isfinite(values))
        steps = np.diff(log.time[known])
        if not len(steps):
            continue
        limit = max(GAP * float(np.median(steps)), 2.0)
        starts = {int(np.searchsorted(known, s)) - 1 for s in log.sections[1:]}
        wide = [int(i) for i in np.flatnonzero(steps > limit) if int(i) not in starts]
        if wide:
            longest = max(wide, key=lambda i: float(steps[i]))
            found.append(_said(
                log, "gap", name, known[longest : longest + 2], False,
                f"{len(wide)} gaps, the longest {steps[longest]:.1f} s: nothing is made up there"))
    return found


def blocking(findings: Sequence[Finding], accepted: Sequence[str]) -> tuple[Finding, ...]:
    """Return the findings that still stop a fit.

    Parameters
    ----------
    findings : sequence of Finding
    accepted : sequence of str
        Tags of those to go on regardless of.

    Returns
    -------
    tuple of Finding
    """
    return tuple(f for f in findings if f.stops and f.tag not in accepted)
