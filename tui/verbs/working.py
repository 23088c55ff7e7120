"""``soakbox working``: the hand calculation of a figure."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from thermo.units import System
from tui.options import common, load, out_path, progress, say, solved_whole, write_file

if TYPE_CHECKING:
    from thermo.workings.bench import Bench


ASSUMPTIONS = "assumptions"
"""Name that asks for the defaults left standing in place of a figure."""


def _assumptions(bench: Bench, title: str, system: System, as_json: bool) -> str:
    from thermo.assumptions import assumptions_of, to_data
    from tui.text_assumptions import assumptions_text

    with progress("defaults put to their ends") as told:
        audit = assumptions_of(bench.scenario, bench.result, told)
    if as_json:
        return json.dumps(to_data(audit), indent=2, allow_nan=False)
    return assumptions_text(audit, title, system)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("result", required=False)
@common
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="OUT.md",
    help="Write the working to a Markdown file.",
)
@click.pass_context
def working(
    context: click.Context,
    file: Path,
    result: str | None,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    out: Path | None,
) -> None:
    """Show how a figure of 'check' or 'size' comes about, step by step.

    Each step has its equation, source, range, the numbers put in and the answer; a figure that the
    solver found has a hand estimate beside it. RESULT is a name as in the JSON, such as
    boil_margin_K or tank-volume; without one, all names are listed with their figures. The word
    'assumptions' lists every default that the file leaves standing, those that move the binding
    margin most first.
    """
    from thermo.workings import book
    from thermo.workings.bench import Bench
    from tui import text_working

    system: System = "us" if units == "us" else "si"
    target = None if out is None else out_path(out, file, endings=(".md",))
    bench = Bench(solved_whole(load(file, overrides), file))
    title = bench.result.title
    if result in (None, ASSUMPTIONS) and target is not None:
        raise click.UsageError("--out takes one working: name the figure")
    if result == ASSUMPTIONS:
        say(_assumptions(bench, title, system, as_json))
        context.exit(bench.result.exit_status)
    if result is None:
        found = book.entries(bench)
        if as_json:
            say(json.dumps(book.list_to_data(bench, found), indent=2, allow_nan=False))
        else:
            say(text_working.list_text(found, title, system))
        context.exit(bench.result.exit_status)
    made = book.working_of(bench, result)
    if target is not None:
        write_file(target, text_working.working_markdown(made, title, system))
    if as_json:
        say(json.dumps(book.to_data(made), indent=2, allow_nan=False))
    elif target is None:
        say(text_working.working_text(made, title, system))
    context.exit(bench.result.exit_status)
