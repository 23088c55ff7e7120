"""Variants of one scenario, quickly: what each leaves of every limit that sizes are made by."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from thermo.answer_scan import OUT_OF_RANGE
from thermo.boil_times import soonest_boil
from thermo.cooling_run import MIXINGS, Solved, leaves_range, solve_cooling
from thermo.driving import Driving, drive_or_refuse
from thermo.errors import SoakboxError
from thermo.figures import after_boil_margin, boil_margin, moments, peak_of
from thermo.hazards.flowing import LEAST_COOLANT, MOST_ENGINE_RISE, MOST_RISE, FlowChecks
from thermo.hazards.relieving import NEAR_RELIEF
from thermo.hazards.suction import SUCTION_MARGIN, suction_of
from thermo.hazards.vessel import LEAST_GAS
from thermo.headspace import NO_RELIEF, most_gauge
from thermo.ice import DENSITY
from thermo.inputs.tank import Tank
from thermo.lasting import what_drives
from thermo.ops import most, plain
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.site_air import site_air

KELVIN, PASCAL, SHARE = 1.0, 1e-3, 100.0
"""Weights that put slacks of several units side by side: 1 K, 1 kPa and 1 % weigh the same."""

MOST_ICE = 0.95
"""Share of the filled volume that ice may take, as a scenario is checked."""

ICE_FITS = "room for the ice"
"""What binds a tank that is no larger than its ice needs."""

MISSED = 0.01
"""Slack below zero from which a size found for one way of mixing is not taken to hold for
another: 0.01 K, 10 Pa or 0.01 % of the tank."""

FAR = -1e3


@dataclass(slots=True)
class Trials:
    """A workbench of variants that share what they can.

    Attributes
    ----------
    drives : dict
        Driven events by the identity of the tables that decide them.
    mixings : tuple of str
        How the tank's water may mix: as the plan says, or all ways where it does not say.
    lead : str
        The one of them that leaves least in the plan as it stands.
    boils : str
        The one of them that leaves least boil margin there.
    unkept : frozenset of str
        Limits of `careful_slacks` that the plan as it stands breaks: sizes do not keep them.
    why : str
        What the model last refused to follow, in words.
    plan : Scenario or None
        The scenario that is being sized, once settled.
    plan_tables : dict
        Slacks of every limit in it, by way of mixing.
    """

    drives: dict[tuple[int, ...], tuple[Any, Air, Driving]] = field(default_factory=dict)
    mixings: tuple[str, ...] = ()
    lead: str = ""
    boils: str = ""
    unkept: frozenset[str] = frozenset()
    why: str = ""
    plan: Scenario | None = None
    plan_tables: dict[str, dict[str, float]] = field(default_factory=dict)

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

    def solve(self, scenario: Scenario, mixing: str | None = None) -> Solved:
        """Return the cooling side of a variant, its tank mixing as given, or as the plan's lead."""
        air, driving = self.driven(scenario)
        return solve_cooling(scenario, air, driving, mixing or self.lead or None)

    def settle(self, plan: Scenario) -> None:
        """Find which mixing leaves least in the plan as it stands, and what that does not keep.

        Parameters
        ----------
        plan : Scenario
            The scenario that is being sized. Once settled, a workbench stays so.
        """
        if self.lead:
            return
        chosen = plan.tank.mixing
        self.mixings = MIXINGS if chosen is None else (chosen,)
        tables = {m: self._whole_table(plan, m) for m in self.mixings}
        self.plan, self.plan_tables = plan, tables
        self.unkept = frozenset(
            name for name in CAREFUL if any(t.get(name, 0.0) < 0.0 for t in tables.values())
        )
        self.boils = min(tables, key=lambda m: tables[m].get(BOIL, FAR))
        # What is the same however the water mixes does not say which way is the worst.
        told = {n for t in tables.values() for n in t} - self.unkept
        told -= {n for n in told if _alike([t.get(n, 0.0) for t in tables.values()])}
        self.lead = min(
            tables, key=lambda m: min((s for n, s in tables[m].items() if n in told), default=0.0)
        )

    def slacks(self, scenario: Scenario, keep: frozenset[str] = frozenset()) -> dict[str, float]:
        """Return what a variant leaves of each limit, weighted; below zero it is broken.

        Parameters
        ----------
        scenario : Scenario
        keep : frozenset of str
            Limits to keep though the plan breaks them.

        Returns
        -------
        dict of str to float
            By the limit's name in words. A variant that the model cannot follow breaks the
            limit `OUT_OF_RANGE`. With the tank mixing that leaves least in the plan as it stands.
        """
        return self._table(scenario, self.lead, keep)

    def slacks_mixed(
        self, scenario: Scenario, mixing: str, keep: frozenset[str] = frozenset()
    ) -> dict[str, float]:
        """Return the same with one way of mixing.

        Parameters
        ----------
        scenario : Scenario
        mixing : str
        keep : frozenset of str

        Returns
        -------
        dict of str to float
        """
        return self._table(scenario, mixing, keep)

    def all_slacks(
        self, scenario: Scenario, keep: frozenset[str] = frozenset()
    ) -> dict[str, float]:
        """Return the same for the worst of the ways in which the tank may mix.

        Parameters
        ----------
        scenario : Scenario
        keep : frozenset of str

        Returns
        -------
        dict of str to float
        """
        return least_of([self._table(scenario, m, keep) for m in self.mixings or ("",)])

    def _table(self, scenario: Scenario, mixing: str, keep: frozenset[str]) -> dict[str, float]:
        held = self.plan_tables.get(mixing) if scenario == self.plan else None
        if held is None:
            held = self._whole_table(scenario, mixing)
        left = self.unkept - keep
        return {name: slack for name, slack in held.items() if name not in left}

    def _whole_table(self, scenario: Scenario, mixing: str) -> dict[str, float]:
        """Return the slack of every limit, kept or not."""
        tank = scenario.tank
        most = max(tank.ice_mass, *(leg.ice_mass for leg in scenario.leg))
        room = MOST_ICE * tank.fill * tank.volume - most / DENSITY
        if room < 0.0:
            return {ICE_FITS: SHARE * room / tank.volume}
        try:
            solved = self.solve(scenario, mixing)
        except SoakboxError as error:
            self.why = str(error)
            return {OUT_OF_RANGE: FAR}
        outside = leaves_range(solved)
        if outside:
            self.why = "; ".join(outside)
            return {OUT_OF_RANGE: FAR}
        out = slacks_of(scenario, solved)
        if self.mixings:
            out |= careful_slacks(scenario, self.driven(scenario)[0], solved)
        return out


def least_of(tables: Sequence[dict[str, float]]) -> dict[str, float]:
    """Return the least slack of each limit in several tables of slacks."""
    names = dict.fromkeys(name for t in tables for name in t)
    return {name: min(t[name] for t in tables if name in t) for name in names}


def _alike(values: Sequence[float]) -> bool:
    return max(values) - min(values) < MISSED


BOIL = "boil margin"
SUCTION = "suction head of the tank pump"
RETURN_BOILS = "boiling in the return line"
LOST_PUMP = "time to boiling after a lost pump"
TANK_RISE = "rise of the tank water in the exchanger"
ENGINE_RISE = "rise of the coolant in the engine"
COOLANT_FLOW = "coolant flow over power"
CAREFUL = (SUCTION, RETURN_BOILS, LOST_PUMP, TANK_RISE, ENGINE_RISE, COOLANT_FLOW)
"""Limits that sizes keep where the plan as it stands keeps them."""


def careful_slacks(scenario: Scenario, air: Air, solved: Solved) -> dict[str, float]:
    """Return what a solved event leaves of the limits in `CAREFUL`.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    solved : Solved

    Returns
    -------
    dict of str to float
        [m], [K], [s], [K], [K] and [L/min a kW]; no suction head without a pump's curve.
    """
    history, design = solved.told.history, solved.cooling.design
    out: dict[str, float] = {}
    pump = scenario.loop.pump
    if pump is not None and scenario.loop.flow is None:
        available, _ = suction_of(scenario, air, solved)
        out[SUCTION] = float(available) - SUCTION_MARGIN * pump.npsh_required
    pressure = (air.pressure + history.tank_pressure).clip(5e3, 1.0e6)
    boils = design.cold.saturation_temperature(pressure)
    out[RETURN_BOILS] = KELVIN * float(np.min(boils - history.tank_in))
    soonest = soonest_boil(design, history, moments(scenario, history).full)
    out[LOST_PUMP] = min(float(soonest) - scenario.limits.alarm_time, 1e3)
    seen = FlowChecks.of(scenario, solved)
    out[TANK_RISE] = KELVIN * (MOST_RISE - float(peak_of(seen.tank_rise)))
    out[ENGINE_RISE] = KELVIN * (MOST_ENGINE_RISE - float(peak_of(seen.engine_rise)))
    out[COOLANT_FLOW] = min(float(seen.per_power.min()), 1e3) - LEAST_COOLANT
    return out


def shut_limit(tank: Tank) -> tuple[str, Any]:
    """Return the pressure of a shut tank at which `check` begins to warn, and its name.

    Parameters
    ----------
    tank : Tank

    Returns
    -------
    tuple of (str, float or ndarray)
        Name of the limit, and the pressure [Pa gauge].
    """
    if tank.closure in NO_RELIEF:
        return "pressure with no relief", most_gauge(tank)
    return "nine tenths of the relief's setting", NEAR_RELIEF * tank.relief_pressure


def slacks_of(scenario: Scenario, solved: Solved) -> dict[str, Any]:
    """Return what a solved event leaves of each limit, weighted; arrays for variants. [poly]"""
    history, tank, limits = solved.told.history, scenario.tank, scenario.limits
    wanted = limits.caution_margin
    when = moments(scenario, history)
    out: dict[str, Any] = {
        BOIL: KELVIN * (boil_margin(scenario, history, when.working) - wanted),
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
            name, setting = shut_limit(tank)
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
