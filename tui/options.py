"""What the verbs share: options, reading a scenario, printing and writing results."""

from __future__ import annotations

import contextlib
import csv
import io
import os
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO, TypeVar

import click

from thermo.errors import ScenarioError
from thermo.quantity_text import printable
from thermo.whole_file import write_whole

if TYPE_CHECKING:
    from thermo.event import Whole
    from thermo.results import EventResult
    from thermo.scenario_io import LoadedScenario

MOST_SAID = 20_000
"""Longest line of a message [characters]."""

MOST_SHOWN = 300
"""Longest path told in full [characters]."""

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
    from thermo.scenario_io import read_scenario  # not before the screen of the UI is painted

    return read_scenario(file, overrides)


def solved(loaded: LoadedScenario, file: Path) -> EventResult:
    """Solve a scenario; what is wrong with it names the file."""
    return solved_whole(loaded, file).result


def solved_whole(loaded: LoadedScenario, file: Path) -> Whole:
    """Solve a scenario and keep what it was made from; what is wrong with it names the file."""
    from thermo.event import solve_whole

    try:
        return solve_whole(loaded.scenario)
    except ScenarioError as error:
        raise ScenarioError(str(file), error.problems) from None


def say(text: str) -> None:
    """Print a result; a reader that has gone away, as with ``| head``, is not an error.

    Raises
    ------
    click.ClickException
        If it cannot be written.
    """
    try:
        print(text, flush=True)
    except BrokenPipeError:
        lead_nowhere(sys.stdout)
    except OSError as error:
        lead_nowhere(sys.stdout)
        raise click.ClickException(f"cannot write the result: {error.strerror}") from None


def lead_nowhere(stream: TextIO) -> None:
    """Lead a standard stream that takes nothing to one that does.

    Python writes what is left in it once more at the end, and makes another exit status of it.
    """
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, stream.fileno())
    os.close(null)


def remark(text: str) -> None:
    """Print what is no result to standard error, unless that takes nothing.

    Control characters of whatever it quotes are told as escapes.
    """
    safe = "\n".join(printable(line, MOST_SAID) for line in text.split("\n"))
    try:
        print(safe, file=sys.stderr, flush=True)
    except OSError:
        lead_nowhere(sys.stderr)


def shown(path: Path) -> str:
    """Return a path safe to print."""
    return printable(os.fspath(path), MOST_SHOWN)


def out_path(
    path: Path,
    scenario: Path,
    option: str = "--out",
    endings: tuple[str, ...] = (),
    log: Path | None = None,
) -> Path:
    """Return where a file goes: a new file or a plain one, never the scenario itself, nor a log.

    Parameters
    ----------
    path, scenario : Path
    option : str
        For messages.
    endings : tuple of str
        Those that the name may have, with their dot; any when empty.
    log : Path, optional
        What else is read.

    Raises
    ------
    click.ClickException
        If the path is the scenario, the log, a folder, a device, ``-``, no path at all, or has
        another ending.
    """
    if path.name == "-":
        raise click.ClickException(f"{option} takes the name of a file, not '-'")
    try:
        target = path.resolve()
        if target.exists() and not target.is_file():
            raise click.ClickException(
                f"{shown(path)} is not a plain file; {option} writes only to one"
            )
        for read, what in ((scenario, "scenario"), (log, "log")):
            if read is not None and _are_one(target, read):
                raise click.ClickException(
                    f"{shown(path)} is the {what}; {option} would write over it"
                )
    except (OSError, ValueError, RuntimeError) as error:  # too long, or links in a ring
        reason = getattr(error, "strerror", None) or "links in a ring, or a sign no name may have"
        raise click.ClickException(f"{option} {shown(path)}: {reason}") from None
    if endings and path.suffix.lower() not in endings:
        raise click.ClickException(
            f"{shown(path)}: {option} writes {', '.join(endings)}; the ending says which"
        )
    return target


def _are_one(target: Path, other: Path) -> bool:
    """Say whether two paths are one file, by whatever links."""
    if target == other.resolve():
        return True
    return target.exists() and other.exists() and target.samefile(other)


def csv_text(rows: list[list[str]]) -> str:
    """Return rows as CSV."""
    text = io.StringIO(newline="")
    csv.writer(text).writerows(rows)
    return text.getvalue()


def write_file(path: Path, content: str | bytes) -> None:
    """Write a file, whole or not at all.

    Raises
    ------
    click.ClickException
        If the file cannot be written.
    """
    data = content if isinstance(content, bytes) else content.encode("utf-8")
    try:
        write_whole(path, data)
    except OSError as error:
        raise click.ClickException(f"cannot write {shown(path)}: {error.strerror}") from None


@contextlib.contextmanager
def progress(words: str) -> Iterator[Callable[[int, int], None] | None]:
    """Show on a terminal how far a long job is; nothing where standard error is a file or pipe.

    Parameters
    ----------
    words : str
        What is being done.

    Yields
    ------
    callable or None
        To be told how much is done, and of how much.
    """
    if not sys.stderr.isatty():
        yield None
        return
    shown = ""

    def told(done: int, of: int) -> None:
        nonlocal shown
        text = f"{words}: {done} of {of}"
        if text != shown:
            sys.stderr.write(f"\r{text:<{len(shown)}}")
            sys.stderr.flush()
            shown = text

    try:
        yield told
    finally:
        sys.stderr.write(f"\r{' ' * len(shown)}\r")
        sys.stderr.flush()
