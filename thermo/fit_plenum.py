"""The duct's losses by one reading of the plenum at the end of the pass."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermo.driving import Driving
from thermo.errors import Problem, ScenarioError
from thermo.fit_parameters import Fitted
from thermo.scenario import Scenario
from thermo.site import Air

PRESSURE = 100.0
"""Standard error of the plenum's reading [Pa]: common practice."""


def duct_by_plenum(
    scenario: Scenario, driving: Driving, air: Air, plenum: float, notes: list[str]
) -> Fitted:
    """Return the scale of the duct's losses that the plenum's reading tells.

    Parameters
    ----------
    scenario : Scenario
    driving : Driving
        The event as driven.
    air : Air
    plenum : float
        Pressure in the plenum at the end of the first pass [Pa], absolute.
    notes : list of str
        What is lost is said here.

    Returns
    -------
    Fitted

    Raises
    ------
    ScenarioError
        If there is no intake, or the reading is none of a plenum's.
    """
    trace = driving.legs[scenario.first_pass].trace
    if scenario.intake is None or driving.table is None or driving.intake is None or trace is None:
        raise ScenarioError("notebook", [Problem(
            "plenum", f"{plenum / 1e3:.1f} kPa", "this scenario has no [intake] to compare with")])
    speed = float(trace.speed[-1])
    planned: Any = np.interp(speed, driving.table.speed, driving.table.pressure)
    ram: Any = np.interp(speed, driving.table.speed, driving.table.ram.delivered_pressure)
    if not air.pressure - 20e3 <= plenum <= float(ram) + 3.0 * PRESSURE:
        raise ScenarioError("notebook", [Problem(
            "plenum", f"{plenum / 1e3:.2f} kPa abs", f"at most what the nose catches at "
            f"{speed:.1f} m/s, {float(ram) / 1e3:.2f} kPa abs, and not far below the day's "
            f"{air.pressure / 1e3:.2f} kPa: was it read as gauge?")])
    loss, told = float(ram - planned), float(ram) - plenum
    now = scenario.intake.loss_scale
    scale = told / loss * now
    if not 0.1 <= scale <= 10.0:
        raise ScenarioError("notebook", [Problem(
            "plenum", f"{plenum / 1e3:.2f} kPa abs", f"that is {told:.0f} Pa lost where the "
            f"scenario loses {loss:.0f} Pa: 0.1 to 10 times that can be told apart from a "
            "wrong reading")])
    notes.append(
        f"duct: {told:.0f} Pa lost at {speed:.1f} m/s by the reading, {loss:.0f} Pa in the "
        "scenario; a loss goes with its scale, flow held")
    return Fitted.normal("intake.loss_scale", "number", "losses of the duct", now, scale,
                         PRESSURE / loss * now)
