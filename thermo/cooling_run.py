"""The cooling side of an event: integrated, its energy accounted for, its ranges watched."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling import Cooling, build_cooling
from thermo.driving import Driving
from thermo.figures import peak_of
from thermo.history import Told, tell
from thermo.loop_run import LoopRun, run_loop, spread_of, totals
from thermo.loop_state import start_state
from thermo.ops import most, plain
from thermo.plan import PlanPiece, make_plan
from thermo.results import Audit
from thermo.scenario import Scenario
from thermo.site import Air

MIXINGS = ("mixed", "plug", "adverse")
"""Ways in which the tank's water may mix."""


@dataclass(frozen=True, slots=True)
class Solved:
    """The cooling side of one event, integrated.

    Attributes
    ----------
    cooling : Cooling
    plan : list
        Pieces, services left out.
    run : LoopRun
    told : Told
    """

    cooling: Cooling
    plan: list[PlanPiece]
    run: LoopRun
    told: Told


def solve_cooling(
    scenario: Scenario,
    air: Air,
    driving: Driving,
    mixing: str | None = None,
    *,
    grids: Sequence[Sequence[float]] | None = None,
    tolerance: float | None = None,
) -> Solved:
    """Integrate the cooling side of an event that has been driven. [poly]

    Parameters
    ----------
    scenario : Scenario
    air : Air
    driving : Driving
    mixing : str, optional
        Tank mixing in place of the scenario's.
    grids, tolerance
        As in :func:`thermo.loop_run.run_loop`; grids of an event cut into other pieces are not
        used.

    Returns
    -------
    Solved

    Raises
    ------
    RangeError
        If a property or part leaves its range.
    """
    cooling, pieces, run = march_cooling(
        scenario, air, driving, mixing, grids=grids, tolerance=tolerance
    )
    return Solved(cooling, pieces, run, tell(scenario, air, cooling, pieces, run))


def march_cooling(
    scenario: Scenario,
    air: Air,
    driving: Driving,
    mixing: str | None = None,
    *,
    grids: Sequence[Sequence[float]] | None = None,
    tolerance: float | None = None,
) -> tuple[Cooling, list[PlanPiece], LoopRun]:
    """Integrate the cooling side of an event without telling its history. [poly]

    Parameters
    ----------
    scenario, air, driving, mixing, grids, tolerance
        As in :func:`solve_cooling`.

    Returns
    -------
    tuple of (Cooling, list of PlanPiece, LoopRun)
        The pieces are those of the plan, services left out.

    Raises
    ------
    RangeError
        If a property or part leaves its range.
    """
    cooling = build_cooling(scenario, air, mixing)
    coolant, engine = scenario.coolant, scenario.engine
    oil = engine.oil_start_temperature
    steps = make_plan(scenario, air, cooling, driving)
    plan = [(s.leg, s.drive) if isinstance(s, PlanPiece) else s for s in steps]
    state = start_state(
        cooling.design,
        coolant=coolant.start_temperature,
        metal=coolant.start_temperature + engine.metal_start_excess,
        oil=coolant.start_temperature if oil is None else oil,
        tank=scenario.tank.start_temperature,
        jacket_mass=cooling.jacket_mass,
        tank_mass=cooling.active_mass,
        ice=cooling.ice_mass,
    )
    pieces = [s for s in steps if isinstance(s, PlanPiece)]
    if grids is not None and len(grids) != len(pieces):
        grids = None
    spread = spread_of(cooling.design, plan)
    run = run_loop(
        cooling.design,
        [value + spread for value in state],
        cooling.ice,
        cooling.dead_mass,
        plan,
        grids=grids,
        tolerance=tolerance,
        bounded=True,
    )
    return cooling, pieces, run


def audit_of(solved: Solved) -> Audit:
    """Return the energy account of a solved event. [poly]"""
    end = totals(solved.run)
    # The loop's own tally nets the sun off the heat to air; here the sun is heat in.
    sun = sum(p.drive.sun * p.drive.duration * p.x[-1] for p in solved.run.pieces)
    heat, pump = solved.told.heat_in, plain(end["pump"])
    to_air, steam = plain(end["to_air"] + sun), plain(end["steam_heat"])
    stored, added = plain(solved.run.stored), plain(solved.run.added)
    residual = heat + pump + added - stored - to_air - steam
    return Audit(heat, pump, added, stored, to_air, steam, residual / most((abs(heat), 1e5)))


FREEZES = ": freezing in tank and lines is not modelled; glycol, or warmer water"
"""What to do where water falls out of its range."""


def leaves_range(solved: Solved) -> list[str]:
    """Return where an event leaves the range of its liquids' properties, in words."""
    return [words for outside, words in range_checks(solved) if bool(outside)]


def range_checks(solved: Solved) -> list[tuple[Any, str]]:
    """Return whether a liquid leaves the range of its properties or model, and how. [poly]

    Parameters
    ----------
    solved : Solved

    Returns
    -------
    list of (bool or ndarray of bool, str)
        Of variants the words tell the range of the properties only.
    """
    checks: list[tuple[Any, str]] = []
    history, design = solved.told.history, solved.cooling.design
    for name, values, liquid in (
        ("coolant", history.coolant, design.hot),
        ("tank water", history.tank_hot, design.cold),
        ("water in the return line", history.tank_in, design.cold),
        ("coldest tank water", history.tank_cold, design.cold),
    ):
        low, high = plain(np.min(values, axis=0)), peak_of(values)
        outside = (low < liquid.t_low - 0.01) | (high > liquid.t_high) | (low != low)
        one = values.ndim == 1
        spans = f"{low - 273.15:.1f} to {high - 273.15:.1f} degC " if one else "it "
        cold = one and low < liquid.t_low - 0.01
        checks.append((
            outside,
            f"{name}: {spans}leaves the properties' "
            f"range of {liquid.t_low - 273.15:.1f} to {liquid.t_high - 273.15:.1f} degC"
            f"{FREEZES if cold else ''}",
        ))
    checks.append((
        solved.run.tank_dry,
        "the tank boils dry: what becomes of coolant and exchanger without water is not modelled",
    ))
    return checks
