"""``soakbox map``: any two inputs against any result."""

from __future__ import annotations

import json
from pathlib import Path

import click

from thermo.units import System
from tui.options import common, csv_text, load, out_path, progress, say, write_file

PICTURES = (".svg", ".png", ".pdf")


@click.command(name="map")
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option("--x", "x_text", required=True, metavar="KEY=LO:HI:N",
              help="Input across, such as --x 'tank.volume=20 L:60 L:21'.")
@click.option("--y", "y_text", required=True, metavar="KEY=LO:HI:N", help="Input down.")
@click.option("--show", default="verdict", show_default=True, metavar="RESULT",
              help="A figure by its JSON name, a hazard, a hazard's .slack or .level, or verdict.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FILE",
              help="Write .csv, .json, or a picture: .svg, .png, .pdf.")
@click.pass_context
def map_(
    context: click.Context,
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    x_text: str,
    y_text: str,
    show: str,
    out: Path | None,
) -> None:
    """Map any two inputs against any result, and say where the limit lies."""
    from thermo.axes import spaced
    from thermo.map_results import shown_of
    from thermo.maps import map_of, rows_of, to_json
    from tui.text_map import map_field, map_text

    target = None if out is None else out_path(out, file, endings=(".csv", ".json", *PICTURES))
    scenario = load(file, overrides).scenario
    x, y = spaced(scenario, x_text, "--x"), spaced(scenario, y_text, "--y")
    shown = shown_of(show)
    system: System = "us" if units == "us" else "si"
    drawn = target is not None and target.suffix.lower() in PICTURES
    with progress("map") as told:
        # One process: others, while they start, would answer Ctrl-C late and with a traceback.
        found = map_of(scenario, x, y, shown, outline=drawn, workers=1, progress=told)
    if target is not None:
        kind = target.suffix.lower()
        if drawn:
            from thermo.drawing import field_picture

            write_file(target, field_picture(map_field(found, system), kind[1:]))
        elif kind == ".csv":
            write_file(target, csv_text(rows_of(found)))
        else:
            write_file(target, json.dumps(to_json(found), indent=2, allow_nan=False) + "\n")
    if as_json:
        say(json.dumps(to_json(found), indent=2, allow_nan=False))
    else:
        say(map_text(found, system))
    context.exit(found.exit_status)
