"""``soakbox fit``: what the car has shown, from a log or from the crew's notebook."""

from __future__ import annotations

import json
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from thermo.errors import ScenarioError
from thermo.quantity_text import QuantityTextError
from thermo.units import parse
from tui.options import common, load, out_path, progress, say

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from thermo.fit_next import Outlook
    from thermo.fit_notebook import Notebook
    from thermo.fit_parameters import Fitted
    from thermo.scenario_io import LoadedScenario
    from thermo.units import System
    from thermo.variants import Floats

READINGS = {
    "tank_before": ("temperature", "tank water before the pass"),
    "tank_after": ("temperature", "tank water after the pumps have run on"),
    "coolant_before": ("temperature", "coolant before the pass"),
    "coolant_after": ("temperature", "coolant after the pumps have run on"),
    "pass_time": ("time", "time at full power"),
}
"""What the notebook holds: kind of quantity, and what is asked for."""


@dataclass(frozen=True, slots=True)
class Quantity:
    """An option that takes a quantity with its unit."""

    kind: str

    def read(self, name: str, text: str | None) -> float | None:
        """Return the SI value of an option, or None where it is not given.

        Raises
        ------
        click.BadParameter
            The text is no such quantity.
        """
        if text is None:
            return None
        try:
            return parse(text, self.kind)
        except QuantityTextError as error:
            option = f"--{name.replace('_', '-')}"
            raise click.BadParameter(f"{option}: {error.given}: {error.allowed}") from None


@dataclass(frozen=True, slots=True)
class Told:
    """What is asked of the next pass, and how results are told."""

    days: tuple[float, ...]
    tank: float | None
    target: Path | None
    system: System
    as_json: bool


def notebook_of(given: dict[str, str | None]) -> Notebook:
    """Return the notebook from options; what is missing is asked for on a terminal.

    Raises
    ------
    click.ClickException
        Readings are missing and there is no terminal to ask on, or one cannot be read.
    """
    from thermo.fit_notebook import Notebook

    missing = [name for name in READINGS if given[name] is None]
    if missing and not sys.stdin.isatty():
        raise click.UsageError(
            "the notebook needs " + ", ".join(f"--{n.replace('_', '-')}" for n in missing)
            + " (quantities with their unit, such as \"24 degC\" or \"75 degF\")"
        )
    values: dict[str, Any] = {}
    for name, (kind, words) in READINGS.items():
        text = given[name]
        if text is None:
            example = '"24 degC"' if kind == "temperature" else '"78 s"'
            text = click.prompt(f"{words}, such as {example}", type=str, err=True)
        values[name] = Quantity(kind).read(name, text)
    for name, kind in (("circulated", "time"), ("plenum", "pressure_absolute"),
                       ("reading_error", "temperature_difference")):
        value = Quantity(kind).read(name, given[name])
        if value is not None:
            values[name] = value
    return Notebook(**values)


def outlooks_of(
    loaded: LoadedScenario,
    after: LoadedScenario,
    changes: Mapping[str, Floats],
    days: Sequence[float],
    tank: float | None,
    system: System,
) -> list[Outlook]:
    """Return what the fitted model says of the next pass: as planned, and in other air."""
    from thermo.fit_next import outlook
    from thermo.scenario import with_value
    from thermo.units import format_value

    found: list[Outlook] = []
    asked = [*days] if days or tank is None else [loaded.scenario.site.air_temperature]
    with progress("the next pass") as tell:
        for day in (None, *asked):
            before, fitted = loaded.scenario, after.scenario
            title = "as the scenario has it"
            if day is not None:
                set_to = {"site.air_temperature": day}
                title = f"in air of {format_value(day, 'temperature', system, 3)}"
                if tank is not None:
                    set_to["tank.start_temperature"] = tank
                    title += f", tank at {format_value(tank, 'temperature', system, 3)}"
                for key, value in set_to.items():
                    before, fitted = (with_value(s, key, value) for s in (before, fitted))
                title += ", all else alike"
            found.append(outlook(title, before, fitted, changes, tell))
    return found


def save_fitted(after: LoadedScenario, target: Path) -> None:
    """Write a fitted scenario, whole or not at all."""
    import tomlkit

    from thermo.scenario_io import save

    save(target, tomlkit.parse(after.text))
    click.echo(f"soakbox: wrote {target}", err=True)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@common
@click.option("--notebook", "by_notebook", is_flag=True,
              help="Fit the heat share from five readings of the crew, without a log.")
@click.option("--tank-before", metavar="T", help="Notebook: tank water before the pass.")
@click.option("--tank-after", metavar="T",
              help="Notebook: tank water after the pumps have run on.")
@click.option("--coolant-before", metavar="T", help="Notebook: coolant before the pass.")
@click.option("--coolant-after", metavar="T",
              help="Notebook: coolant after the pumps have run on.")
@click.option("--pass-time", metavar="TIME", help="Notebook: time at full power.")
@click.option("--circulated", metavar="TIME",
              help="Notebook: how long the pumps ran on; 60 s when not given.")
@click.option("--plenum", metavar="P",
              help="Notebook: absolute pressure in the plenum at top speed, for the duct.")
@click.option("--reading-error", metavar="DT",
              help="Notebook: standard error of a thermometer reading; 1 K when not given.")
@click.option("--next-air", multiple=True, metavar="T",
              help="Air temperature of a day to be asked about. May be repeated.")
@click.option("--next-tank", metavar="T",
              help="Tank water at the start of the next pass; as the scenario's when not given.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FITTED.toml",
              help="Write the scenario with the fitted values and their ranges.")
def fit(
    file: Path,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    by_notebook: bool,
    next_air: tuple[str, ...],
    next_tank: str | None,
    out: Path | None,
    **readings: str | None,
) -> None:
    """Fit the scenario to what the car has shown, and tell the next pass."""
    target = None if out is None else out_path(out, file, "--out", (".toml",))
    loaded = load(file, overrides)
    days = [v for text in next_air
            if (v := Quantity("temperature").read("next_air", text)) is not None]
    tank = Quantity("temperature").read("next_tank", next_tank)
    system: System = "us" if units == "us" else "si"
    if not by_notebook:
        raise click.UsageError("give --notebook and the readings")
    told = Told(tuple(days), tank, target, system, as_json)
    status = _by_notebook(loaded, file, notebook_of(readings), told)
    click.get_current_context().exit(status)


def _by_notebook(
    loaded: LoadedScenario,
    file: Path,
    book: Notebook,
    told: Told,
) -> int:
    """Fit by the notebook; return the exit status."""
    from thermo.fit_notebook import fit_notebook
    from thermo.fit_result import notebook_json
    from thermo.fit_scenario import fitted_text
    from tui.notebook import samples_of
    from tui.text_fit import notebook_text

    try:
        found = fit_notebook(loaded.scenario, book)
    except ScenarioError as error:
        if error.source == "notebook":
            raise
        raise ScenarioError(str(file), error.problems) from None
    after = fitted_text(loaded, found.fitted, _comments(found.fitted, "the crew's notebook"))
    outlooks = outlooks_of(loaded, after, samples_of(found), told.days, told.tank, told.system)
    if told.target is not None:
        save_fitted(after, told.target)
    title = loaded.scenario.title
    if told.as_json:
        say(json.dumps(notebook_json(title, found, outlooks), indent=2, allow_nan=False))
    else:
        say(notebook_text(title, found, outlooks, told.system))
    return status_of(outlooks)


def status_of(outlooks: Sequence[Outlook]) -> int:
    """Return the exit status: by the middle of what the next pass brings on the worst day."""
    from thermo.fit_result import level_of

    return max((level_of(one) for one in outlooks), default=0)


def _comments(fitted: Sequence[Fitted], source: str) -> list[str]:
    """Return the lines that say where fitted values come from."""
    from thermo import __version__

    keys = ", ".join(one.key for one in fitted)
    return [f"Fitted by soakbox {__version__} to {source}.", f"Fitted here: {keys}; their ranges "
            "are in [doubt]."]
