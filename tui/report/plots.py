"""The charts of the screen as drawings for a page."""

from __future__ import annotations

from collections.abc import Iterator

from thermo.charting import Line, Plot, draw
from thermo.curves import net_against_size, tank_against_run
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.trial import Trials
from thermo.units import System
from tui.charts import Chart, heat_chart, tank_chart, temperature_chart
from tui.ductcharts import duct_chart, net_size_chart, net_speed_chart, tank_run_chart
from tui.report.document import Figure, signs

COLUMNS = 300
"""Columns of the screen that give points enough for a page."""

SHORT_STRETCH = 0.4
"""Share of the event below which the passes are drawn once more by themselves."""

TALL = (505.0, 262.0)
USUAL = (505.0, 205.0)


def figure_of(
    chart: Chart,
    *,
    size: tuple[float, float] = USUAL,
    x_range: tuple[float, ...] = (),
    name: str = "",
    title: str = "",
) -> Figure:
    """Return a chart as a drawing with its margins beneath.

    Parameters
    ----------
    chart : Chart
    size : tuple of float
        [pt].
    x_range : tuple of float
        Stretch of the x axis; all of it when empty.
    name, title : str
        In place of those of the chart.

    Returns
    -------
    Figure
    """
    spans: tuple[tuple[str, float, float], ...] = ()
    if chart.x_kind == "time":
        ends = [*(x for _, x in chart.marks[1:]), max(s.xs[-1] for s in chart.series)]
        spans = tuple(
            (f"{i} {label}", start, end)
            for i, ((label, start), end) in enumerate(zip(chart.marks, ends, strict=True), 1)
        )
    stations = chart.x_kind == "station"
    plot = Plot(
        x_label=signs(chart.x_label),
        y_label=signs(chart.y_label),
        lines=tuple(
            Line(s.name, s.xs, s.ys, marked=stations or len(s.xs) < 30) for s in chart.series
        ),
        levels=tuple(
            (f"{limit.name}, {limit.y:.4g}" if limit.y else limit.name, limit.y)
            for limit in chart.limits
        ),
        spans=spans,
        places=() if stations or spans else chart.marks,
        ticks=chart.marks if stations else (),
        x_range=x_range,
        top=chart.top,
        size=size,
    )
    said = [f"{m.name}: {m.text}" for m in chart.least]
    said += [chart.note] if chart.note else []
    if len(spans) > 1:
        said.append("legs: " + ", ".join(label for label, _, _ in spans))
    words = f"{'; '.join(said)}." if said else ""
    return Figure(name or chart.name, title or chart.title, draw(plot), words)


def passes(result: EventResult, scenario: Scenario) -> list[tuple[float, float]]:
    """Return from when to when the car makes each pass and coasts out [s]."""
    found: list[tuple[float, float]] = []
    running = False
    for leg, (_, start, end) in zip(scenario.leg, result.legs, strict=True):
        moving = leg.kind in ("full-power", "coast", "pushed")
        if moving and running:
            found[-1] = (found[-1][0], end)
        elif moving:
            found.append((start, end))
        running = moving
    return found


def event_figures(result: EventResult, scenario: Scenario, system: System) -> Iterator[Figure]:
    """Yield the drawings over time and along the duct, which need nothing solved anew.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario
    system : {'si', 'us'}

    Yields
    ------
    Figure
    """
    whole = temperature_chart(result, scenario, system, COLUMNS)
    yield figure_of(whole, size=TALL)
    runs = passes(result, scenario)
    close = temperature_chart(result, scenario, system, 10 * COLUMNS)
    for number, (start, end) in enumerate(runs, start=1):
        if 0.0 < end - start < SHORT_STRETCH * result.legs[-1][2]:
            which = "" if len(runs) == 1 else f" {number}"
            yield figure_of(
                close,
                size=TALL,
                x_range=(start, end),
                name=f"temperatures-pass{which.strip()}",
                title=f"temperatures over pass{which}, until the car has coasted out",
            )
    stretch = (runs[0][0], runs[-1][1])
    yield figure_of(heat_chart(result, system, 10 * COLUMNS), x_range=stretch)
    yield figure_of(tank_chart(result, scenario, system, COLUMNS))
    for chart in (duct_chart(result, system), net_speed_chart(result, system, COLUMNS)):
        if chart is not None:
            yield figure_of(chart, size=TALL if chart.name == "duct" else USUAL)


def size_figures(scenario: Scenario, system: System) -> Iterator[Figure]:
    """Yield the drawings of sizes against each other, which take many solutions.

    Parameters
    ----------
    scenario : Scenario
    system : {'si', 'us'}

    Yields
    ------
    Figure
    """
    trials = Trials()
    curve = net_against_size(scenario, trials)
    if curve is not None and len(net_size_chart(curve, system).series[0].xs) > 1:
        yield figure_of(net_size_chart(curve, system))
    chart = tank_run_chart(tank_against_run(scenario, trials), system)
    if len(chart.series[0].xs) > 1:
        yield figure_of(chart)
