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
from tui.fitting import NOTEBOOK, log_name, log_samples, outlooks_of, put_in, save_fitted
from tui.options import common, load, out_path, progress, remark, say, write_file

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from thermo.fit_next import Outlook
    from thermo.fit_notebook import Notebook
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


@dataclass(frozen=True, slots=True)
class Wanted:
    """How a log is to be read and fitted."""

    columns: tuple[str, ...]
    names: tuple[str, ...]
    passes: tuple[int, ...]
    only_list: bool
    accept: tuple[str, ...]
    leave_out: tuple[str, ...]
    plots: Path | None


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
                       ("reading_error", "temperature_difference"),
                       ("ice_before", "mass"), ("ice_after", "mass")):
        value = Quantity(kind).read(name, given[name])
        if value is not None:
            values[name] = value
    return Notebook(**values)


@click.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("log", type=click.Path(path_type=Path), required=False)
@common
@click.option("--column", "columns", multiple=True, metavar="CHANNEL=COLUMN:UNIT",
              help="Log: which column a channel is, such as coolant_out=ECT:degF; CHANNEL=- for "
              "none. May be repeated.")
@click.option("--fit", "names", metavar="NAMES",
              help="Log: what to fit, by commas: heat, ua, metal, excess, flow, hot-flow, mixing, "
              "short, duct, drag, rolling. What the log has a say in when not given.")
@click.option("--pass", "passes", type=int, multiple=True, metavar="N",
              help="Log: number of the pass to fit; all together when not given. May be repeated.")
@click.option("--list", "only_list", is_flag=True,
              help="Log: list passes and what is found, and fit nothing.")
@click.option("--accept", multiple=True, metavar="NAME:CHANNEL",
              help="Log: go on regardless of a finding, such as stuck:tank_in. May be repeated.")
@click.option("--leave-out", multiple=True, metavar="CHANNEL",
              help="Log: do not use a channel. May be repeated.")
@click.option("--plots", type=click.Path(path_type=Path), metavar="F.svg",
              help="Log: draw the log over the model before and after, and what is left over: "
              ".svg, .png or .pdf.")
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
@click.option("--ice-before", metavar="MASS",
              help="Notebook: ice in the tank at the reading before; by the model when not given.")
@click.option("--ice-after", metavar="MASS",
              help="Notebook: ice in the tank at the reading after; none when not given.")
@click.option("--next-air", multiple=True, metavar="T",
              help="Air temperature of a day to be asked about. May be repeated.")
@click.option("--next-tank", metavar="T",
              help="Tank water at the start of the next pass; as the scenario's when not given.")
@click.option("--out", type=click.Path(path_type=Path), metavar="FITTED.toml",
              help="Write the scenario with the fitted values and their ranges.")
def fit(
    file: Path,
    log: Path | None,
    overrides: tuple[str, ...],
    units: str,
    as_json: bool,
    by_notebook: bool,
    columns: tuple[str, ...],
    names: str | None,
    passes: tuple[int, ...],
    only_list: bool,
    accept: tuple[str, ...],
    leave_out: tuple[str, ...],
    plots: Path | None,
    next_air: tuple[str, ...],
    next_tank: str | None,
    out: Path | None,
    **readings: str | None,
) -> None:
    """Fit the scenario to what the car has shown, and tell the next pass.

    LOG is a logger's CSV file with time and any of: coolant out of and into the engine, tank out,
    in and middle, speed, rpm, throttle, plenum pressure, outside air.

    \b
    Where to put sensors, most telling first:
      coolant_out  in the head's outlet, in the stream, before any thermostat
      tank_out     at the pick-up, in the supply line
      tank_in      where the return enters the tank
      coolant_in   between exchanger and engine; with coolant_out it tells the flow
      speed        wheel or satellite: it tells when the pass was, and the drag
      plenum       a static tap out of the jet, with speed: it tells the duct
    Thin probes in the stream, not in a pocket of still water; note each one's error in iced and
    in boiling water. Log five times a second, from a minute before the pass to three after it,
    pumps running on.
    """
    target = None if out is None else out_path(out, file, "--out", (".toml",), log)
    loaded = load(file, overrides)
    days = [v for text in next_air
            if (v := Quantity("temperature").read("next_air", text)) is not None]
    tank = Quantity("temperature").read("next_tank", next_tank)
    system: System = "us" if units == "us" else "si"
    if by_notebook == (log is not None):
        raise click.UsageError("give a log, or --notebook and the readings, and not both")
    told = Told(tuple(days), tank, target, system, as_json)
    if log is None:
        status = _by_notebook(loaded, file, notebook_of(readings), told)
    else:
        chosen = tuple(n.strip() for n in (names or "").split(",") if n.strip())
        picture = None
        if plots is not None:
            picture = out_path(plots, file, "--plots", (".svg", ".png", ".pdf"), log)
        wanted = Wanted(columns, chosen, passes, only_list, accept, leave_out, picture)
        status = _by_log(loaded, log, wanted, told)
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
    from tui.notebook import samples_of
    from tui.text_fit import notebook_text, untold_text

    try:
        found = fit_notebook(loaded.scenario, book)
    except ScenarioError as error:
        if error.source == "notebook":
            raise
        raise ScenarioError(str(file), error.problems) from None
    after = put_in(loaded, found.fitted, NOTEBOOK)
    outlooks, untold = _next(loaded, after, lambda: samples_of(found), told)
    if told.target is not None:
        save_fitted(after, told.target)
        remark(f"soakbox: wrote {told.target}")
    title = loaded.scenario.title
    if told.as_json:
        _say_json(notebook_json(title, found, outlooks), untold)
    else:
        say(notebook_text(title, found, outlooks, told.system) + untold_text(untold))
    return 3 if untold else status_of(outlooks)


def _by_log(loaded: LoadedScenario, path: Path, wanted: Wanted, told: Told) -> int:
    """Fit by a log; return the exit status."""
    from thermo.fit import fit as fit_log
    from thermo.fit_result import findings_json, fit_json
    from thermo.log_checks import blocking, check_log
    from thermo.log_columns import CHANNELS
    from thermo.log_csv import read_log
    from thermo.log_passes import find_passes
    from tui.text_fit import finding_lines, fit_text, panels_of, pass_lines, untold_text

    unknown = [name for name in wanted.leave_out if name not in CHANNELS]
    if unknown:
        raise click.UsageError(f"--leave-out {unknown[0]}: channels are {', '.join(CHANNELS)}")
    log = read_log(path, wanted.columns).without(wanted.leave_out)
    findings = check_log(log, loaded.scenario)
    if wanted.only_list:
        passes = find_passes(log)
        if told.as_json:
            say(json.dumps({
                "passes": [{"number": p.number, "start_s": p.start, "end_s": p.end,
                            "lines": list(p.lines), "by": p.by} for p in passes],
                "findings": findings_json(findings)}, indent=2))
        else:
            lines = ["PASSES", *pass_lines(passes)]
            if findings:
                lines += ["", "FOUND IN THE LOG", *finding_lines(findings, told.system)]
            say("\n".join(lines))
        return 2 if blocking(findings, wanted.accept) else 0
    stopping = blocking(findings, wanted.accept)
    if stopping:
        tags = " ".join(f"--accept {f.tag}" for f in stopping)
        raise click.ClickException(
            "nothing is fitted until this is settled:\n"
            + "\n".join(finding_lines(stopping, told.system))
            + f"\nTo go on regardless: {tags}")
    with progress("fitting") as tell:
        found = fit_log(loaded.scenario, log, wanted.names, passes=wanted.passes, progress=tell)
    after = put_in(loaded, found.fitted, log_name(path.name, log))
    outlooks, untold = _next(loaded, after, lambda: log_samples(found), told)
    if told.target is not None:
        save_fitted(after, told.target)
        remark(f"soakbox: wrote {told.target}")
    title = loaded.scenario.title
    if wanted.plots is not None:
        from thermo.drawing import panels_picture

        panels = panels_of(found, told.system)
        form = wanted.plots.suffix[1:].lower()
        write_file(wanted.plots, panels_picture(f"{title}\n{path.name}", panels, form))
    if told.as_json:
        _say_json(fit_json(title, log, found, findings, outlooks), untold)
    else:
        say(fit_text(title, log, found, findings, outlooks, told.system) + untold_text(untold))
    return 3 if found.poor or untold else status_of(outlooks)


def _next(
    loaded: LoadedScenario,
    after: LoadedScenario,
    changes: Callable[[], Mapping[str, Floats]],
    told: Told,
) -> tuple[list[Outlook], str]:
    """Return what is said of the next pass, or why nothing is; with progress on a terminal."""
    with progress("the next pass") as tell:
        return outlooks_of(loaded, after, changes, told.days, told.tank, told.system, tell)


def _say_json(results: dict[str, Any], untold: str) -> None:
    """Print results, with why the next pass cannot be told where it cannot."""
    if untold:
        results["next_cannot_be_told"] = untold
    say(json.dumps(results, indent=2, allow_nan=False))


def status_of(outlooks: Sequence[Outlook]) -> int:
    """Return the exit status: by the middle of what the next pass brings on the worst day."""
    from thermo.fit_result import level_of

    return max((level_of(one) for one in outlooks), default=0)
