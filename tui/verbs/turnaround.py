"""``soakbox turnaround``: what to do between two passes."""

from __future__ import annotations

import json
from pathlib import Path

import click

from tui.options import common, load, say


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
def turnaround(file: Path, overrides: tuple[str, ...], units: str, as_json: bool) -> None:
    """Find the least water to swap, ice to add or wait before a second pass."""
    from thermo.turnaround import to_json as plan_to_json
    from thermo.turnaround import turnaround as find
    from tui.text_sizes import turnaround_text

    loaded = load(file, overrides)
    plan = find(loaded.scenario)
    if as_json:
        say(json.dumps(plan_to_json(loaded.scenario.title, plan), indent=2, allow_nan=False))
    else:
        title = loaded.scenario.title
        say(turnaround_text(title, plan, "us" if units == "us" else "si"))
