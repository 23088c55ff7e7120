"""What an event has before its cooling side, kept for the next one: air, drive and duct."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from thermo.cooling import build_cooling
from thermo.driving import Driving, drive_or_refuse
from thermo.intake_figures import intake_figures
from thermo.results import IntakeFigures
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.site_air import site_air


def what_drives(scenario: Scenario) -> tuple[Any, ...]:
    """Return the tables of a scenario that decide the day's air, the drive and the duct."""
    return (
        scenario.site,
        scenario.car,
        scenario.engine,
        scenario.intake,
        scenario.leg,
    )


@dataclass(slots=True)
class Lasting:
    """Air, drive and duct of the last event, for the next one while what decides them stays.

    An edit of the tank changes none of them, and they are a third of the work.

    Attributes
    ----------
    tables : tuple
        What decided them.
    found : tuple of (Air, Driving, IntakeFigures or None), or None
        None before the first event.
    """

    tables: tuple[Any, ...] = ()
    found: tuple[Air, Driving, IntakeFigures | None] | None = None

    def of(self, scenario: Scenario) -> tuple[Air, Driving, IntakeFigures | None]:
        """Return air, drive and duct of a scenario.

        Raises
        ------
        ScenarioError
            If a leg cannot be driven as asked.
        RangeError
            If an input puts a property or part outside its range.
        """
        tables = what_drives(scenario)
        if self.found is None or tables != self.tables:
            air = site_air(scenario)
            build_cooling(scenario, air)  # what it refuses is told before the longer work
            driving = drive_or_refuse(scenario, air)
            self.found = air, driving, intake_figures(scenario, air, driving)
            self.tables = tables
        return self.found
