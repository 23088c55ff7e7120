"""Variants of one scenario, quickly: what each leaves of every limit that sizes are made by."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from thermo.driving import Driving
from thermo.errors import SoakboxError
from thermo.event import Solved, drive_or_refuse, leaves_range, site_air, solve_cooling, what_drives
from thermo.figures import after_boil_margin, boil_margin, moments, peak_of
from thermo.hazards.vessel import LEAST_GAS
from thermo.headspace import NO_RELIEF, USUAL_RELIEF
from thermo.ice import DENSITY
from thermo.ops import most, plain
from thermo.scenario import Scenario
from thermo.site import Air

KELVIN, PASCAL, SHARE = 1.0, 1e-3, 100.0
"""Weights that put slacks of several units side by side: 1 K, 1 kPa and 1 % weigh the same."""

MOST_ICE = 0.95
"""Share of the filled volume that ice may take, as a scenario is checked."""

ICE_FITS = "room for the ice"
"""What binds a tank that is no larger than its ice needs."""

OUT_OF_RANGE = "the range over which the model holds"
FAR = -1e3


@dataclass(slots=True)
class Trials:
    """A workbench of variants that share what they can.

    Attributes
    ----------
    drives : dict
        Driven events by the identity of the tables that decide them.
    """

    drives: dict[tuple[int, ...], tuple[Any, Air, Driving]] = field(default_factory=dict)

    def driven(self, scenario: Scenario) -> tuple[Air, Driving]:
        """Return air and driven event of a variant, found once for the same site, car, engine."""
        parts = what_drives(scenario)
        key = tuple(id(p) for p in parts)
        held = self.drives.get(key)
        if held is None:
            air = site_air(scenario)
            held = (parts, air, drive_or_refuse(scenario, air))
            self.drives[key] = held
        return held[1], held[2]

    def solve(self, scenario: Scenario) -> Solved:
        """Return the cooling side of a variant."""
        air, driving = self.driven(scenario)
        return solve_cooling(scenario, air, driving)

    def slacks(self, scenario: Scenario) -> dict[str, float]:
        """Return what a variant leaves of each limit, weighted; below zero it is broken.

        Parameters
        ----------
        scenario : Scenario

        Returns
        -------
        dict of str to float
            By the limit's name in words. A variant that the model cannot follow breaks the
            limit `OUT_OF_RANGE`.
        """
        tank = scenario.tank
        most = max(tank.ice_mass, *(leg.ice_mass for leg in scenario.leg))
        room = MOST_ICE * tank.fill * tank.volume - most / DENSITY
        if room < 0.0:
            return {ICE_FITS: SHARE * room / tank.volume}
        try:
            solved = self.solve(scenario)
        except SoakboxError:
            return {OUT_OF_RANGE: FAR}
        if leaves_range(solved):
            return {OUT_OF_RANGE: FAR}
        return slacks_of(scenario, solved)


def slacks_of(scenario: Scenario, solved: Solved) -> dict[str, Any]:
    """Return what a solved event leaves of each limit, weighted; arrays for variants. [poly]"""
    history, tank, limits = solved.told.history, scenario.tank, scenario.limits
    wanted = limits.caution_margin
    when = moments(scenario, history)
    out: dict[str, Any] = {
        "boil margin": KELVIN * (boil_margin(scenario, history, when.working) - wanted),
        "after-boil margin": KELVIN * (after_boil_margin(scenario, solved) - wanted),
    }
    if tank.closure == "vented":
        limit = solved.cooling.design.tank_boil_temperature
        out["boiling of the vented tank"] = KELVIN * (limit - peak_of(history.tank_hot))
    else:
        if tank.closure == "overflow-bottle":
            room = (1.0 - tank.fill) * tank.volume + tank.bottle_volume
            spare = room - solved.told.pressure.expansion
            out["room in tank and bottle"] = SHARE * spare / tank.volume
        else:
            no_relief = tank.closure in NO_RELIEF
            setting = USUAL_RELIEF + tank.precharge if no_relief else tank.relief_pressure
            name = "35 kPa with no relief" if no_relief else "relief pressure"
            out[name] = PASCAL * (setting - solved.told.pressure.shut_peak)
            share = plain(np.min(history.gas_volume, axis=0)) / tank.volume
            out["gas left in the tank"] = SHARE * (share - LEAST_GAS)
    if tank.barrier == "none":
        out["scald limit, tank"] = KELVIN * (limits.scald - peak_of(history.tank_hot))
    lines = [
        values
        for line, values in (
            (scenario.loop.supply, history.exchanger_in),
            (scenario.loop.return_, history.tank_in),
        )
        if line.barrier == "none"
    ]
    if lines:
        out["scald limit, lines"] = KELVIN * (limits.scald - most(peak_of(v) for v in lines))
    return out
