"""Verbs that write or print a file to start from: ``new``, ``stock``, ``schema``."""

from __future__ import annotations

import json
from pathlib import Path

import click

from tui.options import remark, say, shown


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
def new(file: Path) -> None:
    """Write a commented scenario to start from."""
    from thermo.starter import STARTER

    try:
        with open(file, "x", encoding="utf-8") as out:
            try:
                out.write(STARTER)
                out.flush()
            except OSError:
                file.unlink(missing_ok=True)
                raise
    except FileExistsError:
        raise click.ClickException(f"{shown(file)} exists already; choose another name") from None
    except OSError as error:
        raise click.ClickException(f"cannot write {shown(file)}: {error.strerror}") from None
    remark(f"wrote {file}; next: soakbox check {file}")


@click.command()
def stock() -> None:
    """Print the table of stock tubes as TOML, to edit and give to size --stock."""
    from thermo.stock import stock_as_toml

    say(stock_as_toml().rstrip())


@click.command()
def schema() -> None:
    """Print the JSON Schema of a scenario file, for editors."""
    from thermo.scenario_io import json_schema

    say(json.dumps(json_schema(), indent=2))
