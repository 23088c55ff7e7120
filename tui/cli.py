"""The command: its verbs put together, and its exit statuses.

Results go to standard output, everything else to standard error.
"""

from __future__ import annotations

import io
import sys
from pathlib import Path

import click

from thermo import __version__
from thermo.errors import SoakboxError
from tui.options import lead_nowhere, remark
from tui.verbs.check import check
from tui.verbs.compare import compare
from tui.verbs.doubt import doubt
from tui.verbs.fit import fit
from tui.verbs.map import map_
from tui.verbs.report import report
from tui.verbs.selftest import selftest
from tui.verbs.size import size
from tui.verbs.turnaround import turnaround
from tui.verbs.verify import verify
from tui.verbs.weather import weather
from tui.verbs.working import working
from tui.verbs.writing import new, schema, stock

EXIT_INPUT = 2
"""Exit status of bad input or usage."""


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


for verb in (
    check,
    size,
    weather,
    map_,
    turnaround,
    doubt,
    compare,
    fit,
    report,
    new,
    stock,
    schema,
    verify,
    selftest,
    working,
):
    soakbox.add_command(verb)


def run() -> None:
    """Run the command and turn every expected error into one message and exit status 2."""
    words = ""
    try:
        status = soakbox.main(prog_name="soakbox", standalone_mode=False)
    except click.exceptions.Abort:
        status = 130
    except click.UsageError as error:
        where = io.StringIO()
        error.show(file=where)
        words, status = where.getvalue().rstrip("\n"), EXIT_INPUT
    except click.ClickException as error:
        words, status = f"soakbox: {error.format_message()}", EXIT_INPUT
    except SoakboxError as error:
        words, status = f"soakbox: {error}", EXIT_INPUT
    except OSError as error:  # of a help text; results are written by `say`
        place = f"{error.filename}: " if error.filename else ""
        words, status = f"soakbox: {place}{error.strerror or error}", EXIT_INPUT
        lead_nowhere(sys.stdout)
    except SystemExit:  # click's, where the reader of a help text has gone away
        status = 0
    if words:
        remark(words)
    raise SystemExit(status or 0)
