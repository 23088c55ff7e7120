"""Charts of a log as plain data: each channel over what the scenario says of it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from thermo.log_columns import CHANNELS
from thermo.units import System, kind_named
from tui.charts import Chart, Margin, Series, shown
from tui.wording import amount

if TYPE_CHECKING:
    from thermo.fit import Preview
    from thermo.log_preview import Prediction
    from thermo.results import Array

APART = {"speed": "speed", "plenum": "pressure_difference"}
"""Kind of a difference of readings; of temperatures for other channels."""


ROBUST = 1.4826
"""Standard deviation of a normal distribution over its median distance from the middle."""


def log_charts(
    seen: Sequence[Prediction] | Sequence[Preview], system: System
) -> tuple[Chart, ...]:
    """Return a chart for each channel of each event.

    Parameters
    ----------
    seen : sequence of Prediction or Preview
        With a third line, after the fit, where there is one.
    system : {'si', 'us'}

    Returns
    -------
    tuple of Chart
    """
    events = {one.event for one in seen}
    return tuple(_chart(one, system, len(events) > 1) for one in seen)


def farthest(seen: Prediction) -> float:
    """Return the moment at which log and scenario are farthest apart [s]; the first else."""
    apart = np.abs(seen.log - seen.before)
    if not bool(np.any(np.isfinite(apart))):
        return float(seen.time[0])
    return float(seen.time[int(np.nanargmax(apart))])


def _chart(seen: Prediction, system: System, several: bool) -> Chart:
    channel = CHANNELS[seen.channel]
    kind = kind_named(channel.kind)
    unit = kind.us_display if system == "us" else kind.si_display
    after = getattr(seen, "after", None)
    lines: list[tuple[str, Array, str]] = [("scenario", seen.before, "cold")]
    if after is not None:
        lines.append(("fitted", after, "hot"))
    lines.append(("log", seen.log, "plain"))
    title = f"{channel.name}: {channel.means}"
    return Chart(
        name=channel.name,
        title=f"{title}, event {seen.event + 1}" if several else title,
        x_label="time [s]",
        y_label=f"{channel.kind.split('_')[0]} [{unit}]",
        x_kind="time",
        series=tuple(
            _line(name, seen.time, np.asarray(shown(values, kind.name, unit)), role)
            for name, values, role in lines
        ),
        least=tuple(
            Margin(f"log less {name} (robust)", _apart(seen, values, system), 0.0)
            for name, values, _ in lines[:-1]
        ),
    )


def _line(name: str, time: Array, values: Array, role: str) -> Series:
    known = np.isfinite(values)
    return Series(
        name, tuple(float(t) for t in time[known]), tuple(float(v) for v in values[known]), role
    )


def _apart(seen: Prediction, told: Array, system: System) -> str:
    """Return the robust standard deviation of log less model in words, as the fit tells it."""
    apart = np.abs(seen.log - told)
    apart = apart[np.isfinite(apart)]
    spread = ROBUST * float(np.median(apart)) if len(apart) else float("nan")
    return amount(spread, APART.get(seen.channel, "temperature_difference"), system)
