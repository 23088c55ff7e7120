"""``soakbox weather``: the hot-weather table, for a page in the pit."""

from __future__ import annotations

import json
from pathlib import Path

import click

from thermo.units import System
from tui.options import common, load, out_path, progress, say, write_file


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option(
    "--air",
    metavar="LO:HI:STEP",
    help="Air temperatures of the rows, such as 20degC:45degC:5 or 70degF:110degF:10.",
)
@click.option("--tank", metavar="LO:HI:STEP", help="Tank start temperatures of the columns.")
@click.option(
    "--queue",
    metavar="LO:HI:STEP",
    help="Times of the queue before the pass as columns, such as 0min:40min:10.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="PAGE",
    help="Write a page to print (.html), or .txt, .csv, .json.",
)
@click.pass_context
def weather(
    context: click.Context,
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    air: str | None,
    tank: str | None,
    queue: str | None,
    out: Path | None,
) -> None:
    """Print the hot-weather table: verdict by air and tank temperature, or time in the queue."""
    from thermo.weather import (
        DEFAULT_AIRS,
        DEFAULT_TANKS,
        air_axis,
        queue_axis,
        tank_axis,
        weather_table,
    )
    from thermo.weather_export import to_json
    from tui.page_weather import ENDINGS, weather_page
    from tui.text_weather import weather_text

    if tank is not None and queue is not None:
        raise click.UsageError("give --tank or --queue, not both: the columns are one of them")
    target = None if out is None else out_path(out, file, endings=ENDINGS)
    scenario = load(file, overrides).scenario
    system: System = "us" if units == "us" else "si"
    airs = air_axis(air or DEFAULT_AIRS[system])
    columns = (
        tank_axis(tank or DEFAULT_TANKS[system]) if queue is None else queue_axis(scenario, queue)
    )
    with progress("hot-weather table") as told:
        table = weather_table(scenario, airs=airs, columns=columns, progress=told)
    if target is not None:
        write_file(target, weather_page(table, target.suffix.lower(), system))
    if as_json:
        say(json.dumps(to_json(table), indent=2, allow_nan=False))
    else:
        say(weather_text(table, system))
    context.exit(table.exit_status)
