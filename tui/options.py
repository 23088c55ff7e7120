"""What the verbs share: options, reading a scenario, printing and writing results."""

from __future__ import annotations

import csv
import io
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from thermo.errors import ScenarioError
from thermo.scenario_io import LoadedScenario, read_scenario

if TYPE_CHECKING:
    from thermo.results import EventResult

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


def load(file: Path, overrides: tuple[str, ...]) -> LoadedScenario:
    """Read a scenario with its overrides; every problem is raised at once.

    Raises
    ------
    SoakboxError
        If the file or an override cannot be used.
    """
    return read_scenario(file, overrides)


def solved(loaded: LoadedScenario, file: Path) -> EventResult:
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
