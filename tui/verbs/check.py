"""``soakbox check``: one event solved."""

from __future__ import annotations

import json
from pathlib import Path

import click

from tui.options import common, csv_text, load, out_path, say, solved, write_file


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option(
    "--series",
    type=click.Path(path_type=Path),
    metavar="OUT.csv",
    help="Write the time series to a CSV file.",
)
@click.pass_context
def check(
    context: click.Context,
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    series: Path | None,
) -> None:
    """Solve one event: verdict, hazards, peaks and margins, intake, energy audit."""
    from thermo.results import series_rows, to_json
    from tui.text_check import check_text

    target = None if series is None else out_path(series, file, "--series")
    loaded = load(file, overrides)
    result = solved(loaded, file)
    if target is not None:
        write_file(target, csv_text(series_rows(result)))
    if as_json:
        say(json.dumps(to_json(result), indent=2, allow_nan=False))
    else:
        say(check_text(result, "us" if units == "us" else "si"))
    context.exit(result.exit_status)
