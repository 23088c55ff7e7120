"""From a fit to the fitted scenario and its next pass: what the verb and the pages share."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

from thermo import __version__
from thermo.errors import InfeasibleError
from thermo.units import System, format_value

if TYPE_CHECKING:
    from pathlib import Path

    from thermo.fit import Fit
    from thermo.fit_next import Outlook
    from thermo.fit_parameters import Fitted
    from thermo.log_csv import Log
    from thermo.scenario_io import LoadedScenario
    from thermo.variants import Floats

NOTEBOOK = "the crew's notebook"
"""What a fit of a notebook was made from, in words."""


def log_name(name: str, log: Log) -> str:
    """Return what a fit of a log was made from: the file's name and its hash."""
    return f"{name}, SHA-256 {log.sha256}"


def put_in(loaded: LoadedScenario, fitted: Sequence[Fitted], source: str) -> LoadedScenario:
    """Return a scenario with fitted values and their ranges, and where they are from at its top.

    Parameters
    ----------
    loaded : LoadedScenario
    fitted : sequence of Fitted
    source : str
        What was fitted to, in words.

    Returns
    -------
    LoadedScenario

    Raises
    ------
    ScenarioError, ScenarioFileError
        The values make no scenario, or the text cannot be edited.
    """
    from thermo.fit_scenario import fitted_text

    keys = ", ".join(one.key for one in fitted)
    return fitted_text(loaded, fitted, [
        f"Fitted by soakbox {__version__} to {source}.",
        f"Fitted here: {keys}; their ranges are in [doubt].",
    ])


def save_fitted(after: LoadedScenario, target: Path) -> None:
    """Write a fitted scenario, whole or not at all.

    Raises
    ------
    ScenarioFileError
        It cannot be written.
    """
    import tomlkit

    from thermo.scenario_io import save

    save(target, tomlkit.parse(after.text))


def log_samples(found: Fit) -> dict[str, Floats]:
    """Return samples of what a log has fitted, as :func:`thermo.ensemble.run_variants` takes them.

    Raises
    ------
    InfeasibleError
        The fit lies at the ends of what its inputs may be.
    """
    from thermo.fit_next import samples
    from thermo.fit_result import bounds_of

    return samples(tuple(one.key for one in found.fitted), found.middle, found.covariance,
                   found.outward, bounds_of(found.fitted))


def outlooks_of(
    loaded: LoadedScenario,
    after: LoadedScenario,
    changes: Callable[[], Mapping[str, Floats]],
    days: Sequence[float],
    tank: float | None,
    system: System,
    tell: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> tuple[list[Outlook], str]:
    """Return what the fitted model says of the next pass: as planned, and in other air.

    A next pass that cannot be told does not lose the fit.

    Parameters
    ----------
    loaded, after : LoadedScenario
        Before the fit and after it.
    changes : callable
        Returns samples of the fitted inputs by key [SI].
    days : sequence of float
        Air temperatures asked about [K].
    tank : float or None
        Water in the tank on those days [K]; as the scenario has it when None.
    system : {'si', 'us'}
    tell, cancelled : callable, optional
        As :func:`thermo.fit_next.outlook` takes them.

    Returns
    -------
    tuple of (list of Outlook, str)
        None, and why, where the next pass has no verdict; else the words are empty.
    """
    try:
        return _outlooks(loaded, after, changes(), days, tank, system, tell, cancelled), ""
    except InfeasibleError as error:
        return [], str(error)


def _outlooks(
    loaded: LoadedScenario,
    after: LoadedScenario,
    changes: Mapping[str, Floats],
    days: Sequence[float],
    tank: float | None,
    system: System,
    tell: Callable[[int, int], None] | None,
    cancelled: Callable[[], bool] | None,
) -> list[Outlook]:
    from thermo.fit_next import outlook
    from thermo.scenario import with_value

    found: list[Outlook] = []
    asked = [*days] if days or tank is None else [loaded.scenario.site.air_temperature]
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
        found.append(outlook(title, before, fitted, changes, tell, cancelled))
    return found
