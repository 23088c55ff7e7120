"""The fit as a problem of numbers: unknowns in standard deviations, residuals and their slopes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from thermo.driving import Driving
from thermo.errors import SoakboxError
from thermo.event import OvertakenError
from thermo.fit_data import Event
from thermo.fit_parameters import Parameter
from thermo.fit_traces import Drive, Traces, drive, lagged, traces, trimmed
from thermo.log_columns import WATERS
from thermo.log_csv import Floats
from thermo.scenario import Scenario, with_value

LAG, LAG_SPREAD = 2.0, 0.8
"""Usual time constant of a probe in flowing water [s] and the spread of its logarithm: common
practice, 0.5 to 8 s."""
BIAS = 1.0
"""Standard error of a probe that was not calibrated [K]: common practice."""
DRIFT = 0.5
"""Standard deviation of a probe's drift over a log [K]: common practice."""
OTHERS = {"speed": ("scale", "fraction", 0.01), "plenum": ("bias", "pressure_difference", 250.0)}
"""Error of other sensors that is no noise, and its standard error [-], [Pa]: common practice of
wheels, whose radius changes with load and speed, and of pressure zeroed by the barometer."""
CLOCK, NO_CLOCK = 1.5, 6.0
"""Standard error of an event's start by speed or throttle, and by temperatures alone [s]."""
START = 6.0
"""Standard deviation of a starting temperature that the log does not show [K]."""
SEEN_START = 3.0
"""The same where the log shows it [K]."""

EDGE = 1.0
"""How near to an end of what the model tells readings are left out at last [s]: they would pull."""

NUDGE = 0.02
"""Step of a difference quotient in standard deviations."""

FLOORS = {"speed": 0.05, "plenum": 15.0}
"""Least standard deviation of a gathered reading [SI]; 0.03 K for temperatures."""
FIRST = {"speed": 0.7, "plenum": 200.0}
"""Standard deviation at first [SI]; 0.6 K for temperatures."""


@dataclass(frozen=True, slots=True)
class Nuisance:
    """What must be known to read the log but is no input of the scenario.

    Attributes
    ----------
    title, kind : str
    channel : str
        Empty for what belongs to an event.
    value, error : float
        As fitted, and its standard error [SI]; of a lag the error of its logarithm.
    """

    title: str
    kind: str
    channel: str
    value: float
    error: float


@dataclass(slots=True)
class Posed:
    """Everything that residuals are made of.

    Attributes
    ----------
    scenario : Scenario
        In the air of the day.
    driven : Drive
    parameters : tuple of Parameter
    events : tuple of Event
    shorter : tuple of Scenario
        By event: without legs that the log does not reach.
    starts : list of (float, float, float, float)
        By event: coolant and tank at the start and their standard deviations [K].
    channels : tuple of str
        Temperatures, each with a lag, a bias and a drift.
    others : tuple of str
        Channels of `OTHERS`.
    parts : list of (slice, str)
        Rows of each series of each event.
    cancelled : callable
    """

    scenario: Scenario
    driven: Drive
    parameters: tuple[Parameter, ...]
    events: tuple[Event, ...]
    shorter: tuple[Scenario, ...]
    starts: list[tuple[float, float, float, float]]
    channels: tuple[str, ...]
    others: tuple[str, ...]
    parts: list[tuple[slice, str]]
    cancelled: Callable[[], bool]
    solves: int = 0
    drives: dict[bytes, Drive | None] = field(default_factory=dict)
    held: dict[bytes, tuple[Traces | None, ...]] = field(default_factory=dict)

    @property
    def size(self) -> int:
        """Number of readings."""
        return int(self.parts[-1][0].stop)

    @property
    def dear(self) -> int:
        """Number of unknowns that need events to be solved; they come first."""
        return len(self.parameters) + 2 * len(self.events)

    @property
    def count(self) -> int:
        """Number of unknowns."""
        return self.dear + len(self.events) + 3 * len(self.channels) + len(self.others)

    @property
    def bounds(self) -> tuple[Floats, Floats]:
        """Lowest and highest of each unknown."""
        low, high = np.full(self.count, -6.0), np.full(self.count, 6.0)
        for i, p in enumerate(self.parameters):
            ends = [(p.inward(b) - p.centre) / p.spread for b in p.bounds]
            low[i], high[i] = max(low[i], ends[0]), min(high[i], ends[1])
        return low, high

    def start(self, parameters: Sequence[float], own: bool = False) -> Floats:
        """Return unknowns with the parameters given, or as the scenario has them."""
        z = np.zeros(self.count)
        z[: len(parameters)] = parameters
        if own:
            z[: len(parameters)] = [
                (p.inward(max(p.value, p.bounds[0])) - p.centre) / p.spread
                for p in self.parameters]
        return z

    def offset_at(self, z: Floats, event: int) -> float:
        """Return the moment of the log at which an event begins [s]."""
        known = self.events[event]
        return known.offset + (CLOCK if known.by_clock else NO_CLOCK) * float(z[self.dear + event])

    def floor(self, channel: str) -> float:
        """Return the least standard deviation of a reading of a channel [SI]."""
        return FLOORS.get(channel, 0.03)

    def residuals(self, z: Floats) -> Floats:
        """Return log less model, NaN where the model has no solution."""
        return self._left(z, self._traces(z[: self.dear]))

    def lasting(self, z: Floats) -> npt.NDArray[np.bool_]:
        """Return which readings are compared, and still are when all begins `EDGE` apart."""
        solved = self._traces(z[: self.dear])
        sides = [self._left(z, solved, shift) for shift in (-EDGE, EDGE)]
        return np.asarray(np.all([np.isfinite(s) & (s != 0.0) for s in sides], axis=0))

    def slopes(self, z: Floats) -> Floats:
        """Return the slope of each residual by each unknown."""
        base = self._traces(z[: self.dear])
        grids = tuple(None if t is None else t.grids for t in base)
        same = self._traces(z[: self.dear], grids)
        at, dear_at = self._left(z, base), self._left(z, same)
        out = np.zeros((self.size, self.count))
        for i in range(self.count):
            moved = z.copy()
            back = moved[i] + NUDGE > self.bounds[1][i]
            step = -NUDGE if back else NUDGE
            moved[i] += step
            if i < self.dear:
                only = self._event_of(i)
                near, here = self._traces(moved[: self.dear], grids, only, same), dear_at
            else:
                near, here = base, at
            there = self._left(moved, near)
            # A reading that is compared at one end of the step only tells no slope.
            out[:, i] = np.where((here != 0.0) & (there != 0.0), (there - here) / step, 0.0)
        return np.where(np.isfinite(out), out, 0.0)

    def _event_of(self, unknown: int) -> int | None:
        """Return the event that an unknown is about, None for all."""
        place = unknown - len(self.parameters)
        return None if place < 0 else place // 2

    def _traces(
        self,
        dear: Floats,
        grids: Sequence[list[list[float]] | None] | None = None,
        only: int | None = None,
        others: Sequence[Traces | None] = (),
    ) -> tuple[Traces | None, ...]:
        """Return the traces of each event; those of other events than `only` as they are."""
        key = dear.tobytes()
        if grids is None and key in self.held:
            return self.held[key]
        made = self.scenario
        for p, z in zip(self.parameters, dear, strict=False):
            made = p.put(made, p.outward(p.centre + p.spread * float(z)))
        found: list[Traces | None] = []
        driven = self._driven(made, dear)
        for i, shorter in enumerate(self.shorter):
            if only is not None and i != only:
                found.append(others[i])
                continue
            if driven is None:
                found.append(None)
                continue
            found.append(self._solved(made, shorter, i, dear, driven,
                                      None if grids is None else grids[i]))
        if grids is None:
            if len(self.held) > 3:
                self.held.clear()
            self.held[key] = tuple(found)
        return tuple(found)

    def _driven(self, made: Scenario, dear: Floats) -> Drive | None:
        """Return the event as driven; the last few are kept, since most unknowns leave it be."""
        moving = [i for i, p in enumerate(self.parameters) if p.moves_car]
        if not moving:
            return self.driven
        key = dear[moving].tobytes()
        if key not in self.drives:
            if len(self.drives) > 7:
                self.drives.clear()
            try:
                self.drives[key] = drive(made)
            except SoakboxError:
                self.drives[key] = None
        return self.drives[key]

    def _solved(
        self, made: Scenario, shorter: Scenario, event: int, dear: Floats, driven: Drive,
        grids: list[list[float]] | None,
    ) -> Traces | None:
        if self.cancelled():
            raise OvertakenError("the fit is no longer wanted")
        at = len(self.parameters) + 2 * event
        coolant, tank, coolant_spread, tank_spread = self.starts[event]
        now = made.model_copy(update={"leg": shorter.leg})
        coolant += coolant_spread * float(dear[at])
        tank += tank_spread * float(dear[at + 1])
        now = with_value(now, "coolant.start_temperature", coolant)
        now = with_value(now, "tank.start_temperature", tank)
        self.solves += 1
        cut = Drive(driven.air, _cut(driven, len(shorter.leg)), driven.starts)
        try:
            return traces(now, cut, grids)
        except SoakboxError:
            return None

    def _left(self, z: Floats, solved: Sequence[Traces | None], shift: float = 0.0) -> Floats:
        """Return log less what its sensors would show of traces that begin later by a shift [s]."""
        out = np.full(self.size, np.nan)
        rows = iter(self.parts)
        for number, event in enumerate(self.events):
            offset = self.offset_at(z, number) + shift
            told = solved[number]
            for series in event.series:
                part, channel = next(rows)
                if told is None:
                    continue
                shown = self._shown(z, channel, told, series.time - offset, event.last)
                if series.channel == "plenum-gauge":
                    shown = shown - self.driven.air.pressure
                left = series.values - shown
                # Outside the event, and with the throttle shut, the model says nothing.
                out[part] = np.where(np.isfinite(left), left, 0.0)
        return out

    def _other(self, channel: str) -> int:
        return self.count - len(self.others) + self.others.index(channel)

    def _shown(
        self, z: Floats, channel: str, told: Traces, clock: Floats, last: float
    ) -> Floats:
        """Return what a sensor shows at moments of the event that the log covers to `last`."""
        values = told.columns[channel]
        bias = drift = 0.0
        if channel in self.channels:
            at = self.dear + len(self.events) + 3 * self.channels.index(channel)
            values = lagged(values, LAG * math.exp(LAG_SPREAD * float(z[at])))
            bias, drift = BIAS * float(z[at + 1]), DRIFT * float(z[at + 2])
        elif channel in self.others:
            error = OTHERS[channel][2] * float(z[self._other(channel)])
            if OTHERS[channel][0] == "scale":
                values = (1.0 + error) * values
            else:
                bias = error
        span = max(min(float(told.time[-1]), last), 1.0)
        inside = (clock >= 0.0) & (clock <= told.time[-1])
        shown = np.interp(clock, told.time, values) + bias + drift * (clock / span - 0.5)
        return np.where(inside, shown, np.nan)

    def nuisances_at(self, z: Floats, errors: Floats) -> tuple[Nuisance, ...]:
        """Return what sensors and starts came to."""
        found = []
        for i, (coolant, tank, one, two) in enumerate(self.starts):
            at = len(self.parameters) + 2 * i
            tail = f", event {i + 1}" if len(self.events) > 1 else ""
            width = CLOCK if self.events[i].by_clock else NO_CLOCK
            found += [
                Nuisance(f"coolant at the start{tail}", "temperature", "",
                         coolant + one * float(z[at]), one * float(errors[at])),
                Nuisance(f"tank at the start{tail}", "temperature", "",
                         tank + two * float(z[at + 1]), two * float(errors[at + 1])),
                Nuisance(f"event begins in the log{tail}", "time", "", self.offset_at(z, i),
                         width * float(errors[self.dear + i])),
            ]
        for j, channel in enumerate(self.channels):
            at = self.dear + len(self.events) + 3 * j
            found += [
                Nuisance("lag", "time", channel, LAG * math.exp(LAG_SPREAD * float(z[at])),
                         LAG_SPREAD * float(errors[at])),
                Nuisance("bias", "temperature_difference", channel, BIAS * float(z[at + 1]),
                         BIAS * float(errors[at + 1])),
                Nuisance("drift", "temperature_difference", channel, DRIFT * float(z[at + 2]),
                         DRIFT * float(errors[at + 2])),
            ]
        for channel in self.others:
            at = self._other(channel)
            title, kind, width = OTHERS[channel]
            found.append(
                Nuisance(title, kind, channel, width * float(z[at]), width * float(errors[at])))
        return tuple(found)


def _cut(driven: Drive, legs: int) -> Driving:
    """Return the drive of the first legs only."""
    return replace(driven.driving, legs=driven.driving.legs[:legs])


def noise_of(problem: Posed) -> Floats:
    """Return the standard deviation of each reading before any fit [SI]."""
    noise = np.empty(problem.size)
    for part, channel in problem.parts:
        noise[part] = FIRST.get(channel, 0.6)
    return noise


def posed(
    scenario: Scenario,
    driven: Drive,
    parameters: tuple[Parameter, ...],
    events: tuple[Event, ...],
    cancelled: Callable[[], bool],
) -> Posed:
    """Put a fit together.

    Parameters
    ----------
    scenario : Scenario
        In the air of the day.
    driven : Drive
    parameters : tuple of Parameter
    events : tuple of Event
    cancelled : callable
        Asked at each event; when true the work is given up.

    Returns
    -------
    Posed
    """
    parts: list[tuple[slice, str]] = []
    begin = 0
    for event in events:
        for series in event.series:
            parts.append((slice(begin, begin + len(series.time)),
                          series.channel.removesuffix("-gauge")))
            begin += len(series.time)
    channels, others = (
        tuple(c for c in group if any(name == c for _, name in parts))
        for group in (WATERS, OTHERS))
    return Posed(
        scenario, driven, parameters, events,
        tuple(trimmed(scenario, driven, event.last) for event in events),
        [_start(scenario, event) for event in events], channels, others,
        parts, cancelled,
    )


def _start(scenario: Scenario, event: Event) -> tuple[float, float, float, float]:
    """Return coolant and tank at an event's start, and how well they are known before the fit."""
    found = []
    for own, names in (
        (scenario.coolant.start_temperature, ("coolant_out",)),
        (scenario.tank.start_temperature, ("tank_out", "tank_mid", "tank_in")),
    ):
        seen = [
            float(np.median(s.values[s.time < s.time[0] + 3.0]))
            for name in names for s in event.series
            if s.channel == name and s.time[0] - event.offset < 5.0
        ]
        found.append((seen[0], SEEN_START) if seen else (float(own), START))
    (coolant, one), (tank, two) = found
    return coolant, tank, one, two
