"""From `[site]` to the day's air at the course."""

from __future__ import annotations

from thermo.errors import about
from thermo.scenario import Scenario
from thermo.site import Air, air_state

DEFAULT_HUMIDITY = 0.2
"""Relative humidity when the scenario gives none: common practice for a dry lake."""


def site_air(scenario: Scenario) -> Air:
    """Return the day's air at the course.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Air

    Raises
    ------
    RangeError
        If the weather is outside the range of the moist-air equations.
    """
    site = scenario.site
    humidity = site.relative_humidity
    if humidity is None and site.dew_point is None:
        humidity = DEFAULT_HUMIDITY
    with about("site"):
        return air_state(
            temperature=site.air_temperature,
            elevation=site.elevation,
            relative_humidity=humidity,
            dew_point=site.dew_point,
            station_pressure=site.pressure,
            altimeter=site.altimeter,
        )
