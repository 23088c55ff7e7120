"""``soakbox doubt``: how sure the verdict is."""

from __future__ import annotations

import json
from pathlib import Path

import click

from thermo.errors import ScenarioError
from tui.options import common, load, say
from tui.progress import interruptible, progress_line

SAMPLES, LEAST, MOST = 4096, 256, 131_072
LEAST_CHANCE, MOST_CHANCE = 0.001, 0.5


def _share(context: click.Context, option: click.Parameter, given: str | None) -> float | None:
    """Read a chance such as 5% or 0.05."""
    from thermo.quantity_text import QuantityTextError
    from thermo.units import parse

    if given is None:
        return None
    try:
        value = parse(given, "fraction")
    except QuantityTextError as error:
        raise click.BadParameter(f"{error.given}: {error.allowed}", context, option) from None
    if not LEAST_CHANCE <= value <= MOST_CHANCE:
        raise click.BadParameter(f"{given}: from 0.1% to 50% is expected", context, option)
    return value


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option(
    "--samples",
    type=click.IntRange(LEAST, MOST),
    default=SAMPLES,
    show_default=True,
    metavar="N",
    help="Samples of the inputs in doubt, taken up to a power of two.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 2**63 - 1),
    default=0,
    show_default=True,
    metavar="N",
    help="The same seed gives the same answer.",
)
@click.option(
    "--chance",
    callback=_share,
    metavar="SHARE",
    help="Chance that you accept, such as 5%: the tank and the duct that hold it are sought.",
)
@click.pass_context
def doubt(
    context: click.Context,
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    samples: int,
    seed: int,
    chance: float | None,
) -> None:
    """Say how sure the verdict is: the chance of crossing each limit, and what drives it."""
    loaded = load(file, overrides)

    from thermo.doubt import assess, to_json
    from thermo.ensemble import StoppedError
    from tui.text_doubt import doubt_text

    with progress_line("samples solved") as progress, interruptible() as cancelled:
        try:
            found = assess(
                loaded.scenario, samples=samples, seed=seed, chance=chance, progress=progress,
                cancelled=cancelled,
            )
        except StoppedError:
            raise click.exceptions.Abort from None
        except ScenarioError as error:
            raise ScenarioError(str(file), error.problems) from None
    if as_json:
        say(json.dumps(to_json(found), indent=2, allow_nan=False))
    else:
        say(doubt_text(found, "us" if units == "us" else "si"))
    context.exit(found.exit_status)
