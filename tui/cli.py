"""The command's verbs. Results go to standard output, everything else to standard error."""

from __future__ import annotations

import csv
import io
import json
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from thermo import __version__
from thermo.errors import ScenarioError, SoakboxError
from thermo.scenario_io import LoadedScenario, read_scenario

if TYPE_CHECKING:
    from thermo.results import EventResult

EXIT_DANGER, EXIT_INPUT, EXIT_UNTRUSTED = 1, 2, 3
F = TypeVar("F", bound=Callable[..., Any])


def common(command: F) -> F:
    """Add the options that every verb on a scenario takes."""
    command = click.option(
        "--set",
        "overrides",
        multiple=True,
        metavar="KEY=VALUE",
        help='Override one input, such as --set tank.volume="9 gal". May be repeated.',
    )(command)
    command = click.option(
        "--units",
        type=click.Choice(["si", "us"]),
        default="si",
        show_default=True,
        help="Units of the text output.",
    )(command)
    return click.option("--json", "as_json", is_flag=True, help="Print JSON.")(command)


@click.group(invoke_without_command=True, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="soakbox")
@click.pass_context
def soakbox(context: click.Context) -> None:
    """Size the water tank, the exchanger and the intake duct of a one-pass speed car.

    Exit status: 0 no danger, 1 a danger flag, 2 bad input or usage, 3 the numbers could not be
    trusted.
    """
    if context.invoked_subcommand is None:
        from tui.launch import launch

        context.exit(launch(None))


@soakbox.command(name="open")
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_context
def open_(context: click.Context, file: Path) -> None:
    """Open the terminal UI on a scenario."""
    from tui.launch import launch

    context.exit(launch(file))


@soakbox.command()
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
    from tui.text import check_text

    target = None if series is None else series_path(series, file)
    loaded = load(file, overrides)
    result = _solved(loaded, file)
    if target is not None:
        write_csv(target, series_rows(result))
    if as_json:
        say(json.dumps(to_json(result), indent=2, allow_nan=False))
    else:
        say(check_text(result, "us" if units == "us" else "si"))
    context.exit(result.exit_status)


@soakbox.command()
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
    from tui.text import sheet_text

    loaded = load(file, overrides)
    result = _solved(loaded, file)
    sheet = build_sheet(loaded.scenario, result, STOCK if stock is None else read_stock(stock))
    if as_json:
        say(json.dumps(sheet_to_json(result, sheet), indent=2, allow_nan=False))
    else:
        say(sheet_text(result, sheet, "us" if units == "us" else "si"))
    context.exit(result.exit_status)


@soakbox.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
def turnaround(file: Path, overrides: tuple[str, ...], units: str, as_json: bool) -> None:
    """Find the least water to swap, ice to add or wait before a second pass."""
    from thermo.turnaround import to_json as plan_to_json
    from thermo.turnaround import turnaround as find
    from tui.text import turnaround_text

    loaded = load(file, overrides)
    plan = find(loaded.scenario)
    if as_json:
        say(json.dumps(plan_to_json(loaded.scenario.title, plan), indent=2, allow_nan=False))
    else:
        title = loaded.scenario.title
        say(turnaround_text(title, plan, "us" if units == "us" else "si"))


@soakbox.command()
@click.argument("file", type=click.Path(path_type=Path))
def new(file: Path) -> None:
    """Write a commented scenario to start from."""
    from thermo.starter import STARTER

    try:
        with open(file, "x", encoding="utf-8") as out:
            out.write(STARTER)
    except FileExistsError:
        raise click.ClickException(f"{file} exists already; choose another name") from None
    except OSError as error:
        raise click.ClickException(f"cannot write {file}: {error.strerror}") from None
    click.echo(f"wrote {file}; next: soakbox check {file}", err=True)


@soakbox.command()
def stock() -> None:
    """Print the table of stock tubes as TOML, to edit and give to size --stock."""
    from thermo.stock import stock_as_toml

    say(stock_as_toml().rstrip())


@soakbox.command()
def schema() -> None:
    """Print the JSON Schema of a scenario file, for editors."""
    from thermo.scenario_io import json_schema

    say(json.dumps(json_schema(), indent=2))


def load(file: Path, overrides: tuple[str, ...]) -> LoadedScenario:
    """Read a scenario with its overrides; every problem is raised at once.

    Raises
    ------
    SoakboxError
        If the file or an override cannot be used.
    """
    return read_scenario(file, overrides)


def _solved(loaded: LoadedScenario, file: Path) -> EventResult:
    """Solve a scenario; what is wrong with it names the file."""
    from thermo.event import solve

    try:
        return solve(loaded.scenario)
    except ScenarioError as error:
        raise ScenarioError(str(file), error.problems) from None


def say(text: str) -> None:
    """Print a result; a reader that has gone away, as with ``| head``, is not an error."""
    try:
        print(text, flush=True)
    except BrokenPipeError:
        # Python closes standard output once more at the end: give it something that takes it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise click.exceptions.Exit(0) from None
    except OSError as error:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise click.ClickException(f"cannot write the result: {error.strerror}") from None


def series_path(path: Path, scenario: Path) -> Path:
    """Return where a time series goes: a new file or a plain one, never the scenario itself.

    Raises
    ------
    click.ClickException
        If the path is the scenario, a folder, a device, or ``-``.
    """
    target = path.resolve()
    if path.name == "-":
        raise click.ClickException("--series takes the name of a file, not '-'")
    if target.exists() and not target.is_file():
        raise click.ClickException(f"{path} is not a plain file; --series writes only to one")
    if target == scenario.resolve():
        raise click.ClickException(f"{path} is the scenario; --series would write over it")
    return target


def write_csv(path: Path, rows: list[list[str]]) -> None:
    """Write rows to a CSV file, whole or not at all.

    Raises
    ------
    click.ClickException
        If the file cannot be written.
    """
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    part = path.with_name(path.name + ".part")
    try:
        part.write_text(text.getvalue(), encoding="utf-8", newline="")
        os.replace(part, path)
    except OSError as error:
        part.unlink(missing_ok=True)
        raise click.ClickException(f"cannot write {path}: {error.strerror}") from None


def run() -> None:
    """Run the command and turn every expected error into one message and exit status 2."""
    try:
        status = soakbox.main(prog_name="soakbox", standalone_mode=False)
    except click.exceptions.Abort:
        status = 130
    except click.UsageError as error:
        error.show(file=sys.stderr)
        status = EXIT_INPUT
    except click.ClickException as error:
        click.echo(f"soakbox: {error.format_message()}", err=True)
        status = EXIT_INPUT
    except SoakboxError as error:
        click.echo(f"soakbox: {error}", err=True)
        status = EXIT_INPUT
    raise SystemExit(status or 0)
