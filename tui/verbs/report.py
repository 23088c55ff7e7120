"""``soakbox report``: everything on paper, to hand over."""

from __future__ import annotations

import json
from pathlib import Path

import click

from tui.options import common, load, out_path, progress, remark, say, solved_whole


def _names(context: click.Context, option: click.Parameter, text: str) -> frozenset[str]:
    """Read the sections that are left out."""
    from tui.report.build import OPTIONAL

    names = frozenset(name.strip() for name in text.split(",") if name.strip())
    unknown = sorted(names - set(OPTIONAL))
    if unknown:
        raise click.BadParameter(
            f"{', '.join(unknown)}: no section that can be left out; those are "
            f"{', '.join(OPTIONAL)}"
        )
    return names


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="REPORT",
    required=True,
    help="Where it goes; the ending says what it is: .html, .pdf or .md.",
)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    default="a4",
    show_default=True,
    help="Paper of .pdf and of .html when it is printed.",
)
@click.option(
    "--without",
    default="",
    metavar="SECTIONS",
    callback=_names,
    help="Sections to leave out, with commas between, such as weather,doubt,sizes.",
)
@click.pass_context
def report(
    context: click.Context,
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    out: Path,
    paper: str,
    without: frozenset[str],
) -> None:
    """Write everything on paper: verdict, hazards, drawings, sizes, scenario.

    One file that needs no network. A digest of the scenario is at the foot of every page, so that
    a printed sheet can be matched to its file. Exit status as of check.
    """
    from thermo.digest import digest_of
    from tui.report.build import report_of
    from tui.report.writers import ENDINGS, write

    out_path(out, file, endings=ENDINGS)
    loaded = load(file, overrides)
    whole = solved_whole(loaded, file)
    result = whole.result
    with progress("report, section") as told:
        made = report_of(
            loaded, whole, "us" if units == "us" else "si", without=without, progress=told
        )
    files = write(made, out, file, paper)
    if as_json:
        told_of = {
            "schema": 1,
            "scenario": result.title,
            "digest": digest_of(loaded.scenario),
            "verdict": result.verdict,
            "files": [str(path) for path in files],
            "sections": [section.name for section in made.sections],
        }
        say(json.dumps(told_of, indent=2, allow_nan=False))
    else:
        remark(f"wrote {out}: {result.verdict}")
    context.exit(result.exit_status)
