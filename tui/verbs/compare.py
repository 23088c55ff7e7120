"""``soakbox compare``: scenarios side by side."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from tui.options import common, load, say, solved

if TYPE_CHECKING:
    from thermo.results import EventResult
    from thermo.units import System
    from tui.comparing import Comparison


@click.command()
@click.argument("files", nargs=-1, required=True, type=click.Path(path_type=Path))
@common
@click.pass_context
def compare(
    context: click.Context,
    files: tuple[Path, ...],
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
) -> None:
    """Put scenarios side by side: verdicts on top, then only what differs.

    What --set overrides is overridden in every one of them.
    """
    from tui.comparing import compare as find
    from tui.text_compare import compare_text

    if len(files) < 2:
        raise click.UsageError("compare takes two scenarios or more", context)
    loaded = [load(file, overrides) for file in files]
    results = [solved(one, file) for one, file in zip(loaded, files, strict=True)]
    system: System = "us" if units == "us" else "si"
    told = find(results, [one.scenario for one in loaded], system)
    if as_json:
        found = compare_to_json([str(file) for file in files], results, told)
        say(json.dumps(found, indent=2, allow_nan=False))
    else:
        say(compare_text(names_of(files), told))
    context.exit(max(result.exit_status for result in results))


def names_of(files: tuple[Path, ...]) -> tuple[str, ...]:
    """Return what to call each file: its name, or its path where two have one name."""
    names = [file.name for file in files]
    return tuple(
        file.name if names.count(file.name) == 1 else str(file) for file in files
    )


def compare_to_json(
    files: list[str], results: list[EventResult], told: Comparison
) -> dict[str, Any]:
    """Return a comparison for JSON: every result whole, and the rows that differ as text."""
    from thermo.results import to_json

    return {
        "schema": 1,
        "scenarios": [
            {"file": file, "result": to_json(result)}
            for file, result in zip(files, results, strict=True)
        ],
        "rows": [
            {"group": row.group, "key": row.key, "label": row.label, "values": list(row.values)}
            for row in told.rows
        ],
    }
