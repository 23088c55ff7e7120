"""Charts over time as plain data: series, limits with names, margins as numbers, in shown units."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from thermo.hazards.vessel import LEAST_GAS
from thermo.headspace import NO_RELIEF, most_gauge
from thermo.results import Array, EventResult
from thermo.scenario import Scenario
from thermo.units import System, convert
from tui.words import difference, gauge, percent

DOTS = 2
"""Dot columns of a column of braille; a chart takes two points of each."""

STEEP = 5.0
"""Peak over limit from which a pressure chart is better cut off at the top."""


@dataclass(frozen=True, slots=True)
class Series:
    """One line of a chart.

    Attributes
    ----------
    name : str
    xs, ys : tuple of float
        In the chart's units.
    role : str
        As in the side view.
    """

    name: str
    xs: tuple[float, ...]
    ys: tuple[float, ...]
    role: str


@dataclass(frozen=True, slots=True)
class Limit:
    """A level line with its name."""

    name: str
    y: float


@dataclass(frozen=True, slots=True)
class Margin:
    """What is left to a limit, as a number.

    Attributes
    ----------
    name, text : str
        What is left, and how much with its unit and time.
    si : float
        The number in SI.
    """

    name: str
    text: str
    si: float


@dataclass(frozen=True, slots=True)
class Chart:
    """A chart.

    Attributes
    ----------
    name, title, x_label, y_label : str
    x_kind : {'time', 'speed', 'station', 'length'}
        What runs along the x axis; on a chart of 'time' the moment has a place.
    series : tuple of Series
    limits : tuple of Limit
    least : tuple of Margin
    marks : tuple of (str, float)
        Places along the x axis with their names: legs, stations, the present size.
    top : float or None
        Where the y axis is better cut off; None when everything is worth showing.
    note : str
        What a reader must know.
    """

    name: str
    title: str
    x_label: str
    y_label: str
    x_kind: str
    series: tuple[Series, ...]
    limits: tuple[Limit, ...] = ()
    least: tuple[Margin, ...] = ()
    marks: tuple[tuple[str, float], ...] = ()
    top: float | None = None
    note: str = ""

    @property
    def margins(self) -> str:
        """The margins in one line of text."""
        return "; ".join(f"{m.name} {m.text}" for m in self.least)


def shown(values: Any, kind: str, unit: str) -> Any:
    """Return SI values, a float or an array, in a unit."""
    zero = convert(0.0, kind, unit)
    return zero + (convert(1.0, kind, unit) - zero) * values


def thinned(xs: Array, ys: Array, columns: int) -> list[int]:
    """Return the points that matter on so many columns: least and most of each dot column.

    Parameters
    ----------
    xs, ys : ndarray
        `xs` rising.
    columns : int
        Columns of the chart.

    Returns
    -------
    list of int
        Rising; at most two of each dot column, and the first and the last point. All points
        when there are no more than that.
    """
    bins = DOTS * columns
    if len(xs) <= 2 * bins or xs[-1] <= xs[0]:
        return list(range(len(xs)))
    edges = np.searchsorted(xs, np.linspace(xs[0], xs[-1], bins + 1))
    edges[-1] = len(xs)
    kept = {0, len(xs) - 1}
    for a, b in pairwise(edges):
        if b > a:
            kept |= {int(a + np.argmin(ys[a:b])), int(a + np.argmax(ys[a:b]))}
    return sorted(kept)


def _over_time(result: EventResult, name: str, ys: Array, role: str, columns: int) -> Series:
    time = result.history.time
    kept = thinned(time, ys, columns)
    return Series(
        name, tuple(float(time[i]) for i in kept), tuple(float(ys[i]) for i in kept), role
    )


def _legs(result: EventResult) -> tuple[tuple[str, float], ...]:
    return tuple((label, start) for label, start, _ in result.legs)


def _least(result: EventResult, values: Array) -> tuple[float, str]:
    """Return the least of a margin and when that is."""
    row = int(np.argmin(values))
    return float(values[row]), f"at {float(result.history.time[row]):.0f} s"


def temperature_chart(
    result: EventResult, scenario: Scenario, system: System = "si", width: int = 78
) -> Chart:
    """Return temperatures over time, with the limits they must stay under.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario
    system : {'si', 'us'}
    width : int
        Columns to draw on.

    Returns
    -------
    Chart
    """
    h, limits = result.history, scenario.limits
    unit = "degF" if system == "us" else "degC"
    lines = (
        ("coolant at engine out", h.coolant, "hot"),
        ("return line", h.tank_in, "caution"),
        ("supply line", h.exchanger_in, "cold"),
        ("tank, hottest", h.tank_hot, "water"),
    )
    boils = float(np.min(h.boil_temperature))
    kept = boils - limits.hot_spot_allowance - limits.caution_margin
    levels = (
        ("coolant boils", boils),
        ("coolant, caution", kept),
        ("hot to touch", limits.touch),
        ("scalds", limits.scald),
    )
    margin, when = _least(result, h.boil_temperature - h.coolant - limits.hot_spot_allowance)
    scald, hottest = _least(result, limits.scald - h.tank_hot)
    return Chart(
        name="temperatures",
        title="temperatures over the event",
        x_label="time [s]",
        y_label=f"temperature [{unit}]",
        x_kind="time",
        series=tuple(
            _over_time(result, n, np.asarray(shown(v, "temperature", unit)), role, width)
            for n, v, role in lines
        ),
        limits=tuple(Limit(n, shown(v, "temperature", unit)) for n, v in levels),
        least=(
            Margin("boil margin", f"{difference(margin, system, True)} {when}", margin),
            Margin(
                "tank",
                f"{difference(abs(scald), system, True)} "
                f"{'under' if scald >= 0.0 else 'over'} scalding {hottest}",
                scald,
            ),
        ),
        marks=_legs(result),
    )


def heat_chart(result: EventResult, system: System = "si", width: int = 78) -> Chart:
    """Return heat flows over time: what the engine sheds, and what reaches the tank's water.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}
    width : int
        Columns to draw on.

    Returns
    -------
    Chart
    """
    h = result.history
    unit = "hp" if system == "us" else "kW"
    lines = (
        ("brake power", h.brake_power, "plain"),
        ("heat into the coolant", h.heat_to_metal, "hot"),
        ("heat into the tank water", h.exchanger_heat, "water"),
    )
    row = int(np.argmax(h.exchanger_heat))
    most = float(h.exchanger_heat[row])
    told = f"{shown(most, 'power', unit):.0f} {unit} at {float(h.time[row]):.0f} s"
    return Chart(
        name="heat",
        title="power and heat over the event",
        x_label="time [s]",
        y_label=f"power [{unit}]",
        x_kind="time",
        series=tuple(
            _over_time(result, n, np.asarray(shown(v, "power", unit)), role, width)
            for n, v, role in lines
        ),
        least=(Margin("most through the exchanger", told, most),),
        marks=_legs(result),
    )


def tank_chart(
    result: EventResult, scenario: Scenario, system: System = "si", width: int = 78
) -> Chart:
    """Return pressure and headspace of the tank over time.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario
    system : {'si', 'us'}
    width : int
        Columns to draw on.

    Returns
    -------
    Chart
        Pressure in its unit and gas in per cent of the tank, on one scale of numbers.
    """
    h, tank = result.history, scenario.tank
    unit = "psi" if system == "us" else "kPa"
    share = 100.0 * h.gas_volume / tank.volume
    levels = [("least gas wanted, %", 100.0 * LEAST_GAS)]
    least = []
    limit: float | None = None
    if tank.closure != "vented":
        unrelieved = tank.closure in NO_RELIEF
        limit = most_gauge(tank)
        name = "most for a tank without relief" if unrelieved else "relief lifts"
        levels.insert(0, (name, float(shown(limit, "pressure_gauge", unit))))
        left, when = _least(result, limit - h.tank_pressure)
        room = "room to the limit" if unrelieved else "room to the relief"
        least.append(Margin(room, f"{gauge(left, system)} {when}", left))
    gas, when = _least(result, h.gas_volume / tank.volume)
    least.append(Margin("gas left", f"{percent(gas)} {when}", gas))
    peak = float(np.max(h.tank_pressure))
    steep = limit is not None and peak > STEEP * limit
    return Chart(
        name="tank",
        title="tank pressure and gas space over the event",
        x_label="time [s]",
        y_label=f"gauge pressure [{unit}]; gas [%]",
        x_kind="time",
        series=(
            _over_time(
                result,
                f"pressure, {unit}",
                np.asarray(shown(h.tank_pressure, "pressure_gauge", unit)),
                "hot",
                width,
            ),
            _over_time(result, "gas, % of the tank", np.asarray(share), "water", width),
        ),
        limits=tuple(Limit(n, y) for n, y in levels),
        least=tuple(least),
        marks=_legs(result),
        top=STEEP * float(shown(limit, "pressure_gauge", unit)) if steep else None,
        note=f"the pressure goes off the top, to {gauge(peak, system)}" if steep else "",
    )
