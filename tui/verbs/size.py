"""``soakbox size``: the build sheet."""

from __future__ import annotations

import json
from pathlib import Path

import click

from tui.options import common, load, say, solved


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option(
    "--stock",
    type=click.Path(path_type=Path),
    metavar="TUBES.toml",
    help="Stock tubes to choose the duct from; 'soakbox stock' prints the usual ones.",
)
@click.pass_context
def size(
    context: click.Context,
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    stock: Path | None,
) -> None:
    """Print the build sheet: every size, each with the limit that binds it."""
    from thermo.sizing import build_sheet, sheet_to_json
    from thermo.stock import STOCK, read_stock
    from tui.text_sizes import sheet_text

    loaded = load(file, overrides)
    result = solved(loaded, file)
    sheet = build_sheet(loaded.scenario, result, STOCK if stock is None else read_stock(stock))
    if as_json:
        say(json.dumps(sheet_to_json(result, sheet), indent=2, allow_nan=False))
    else:
        say(sheet_text(result, sheet, "us" if units == "us" else "si"))
    context.exit(result.exit_status)
