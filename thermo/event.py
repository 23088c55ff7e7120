"""One scenario in, one result out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling import Cooling, build_cooling
from thermo.driving import Driving, drive_event
from thermo.errors import Problem, ScenarioError, SoakboxError, about
from thermo.figures import cooling_figures, peak_of
from thermo.flags import Context, all_flags, decide
from thermo.history import Told, loop_history, tell
from thermo.intake_figures import intake_figures
from thermo.intake_pass import held_by_limiter
from thermo.loop_flow import segment_of
from thermo.loop_run import DRY, LoopRun, run_loop, spread_of, totals
from thermo.loop_state import start_state
from thermo.ops import most, plain
from thermo.plan import PlanPiece, make_plan
from thermo.results import Audit, EventResult, History, IntakeFigures, SiteFigures
from thermo.rough import rough_figures
from thermo.scenario import Scenario
from thermo.site import Air, air_state

DEFAULT_HUMIDITY = 0.2
"""Relative humidity when the scenario gives none: common practice for a dry lake."""

MIXINGS = ("mixed", "plug", "adverse")

FAST_WATER = 3.0
"""Speed of water in a line above which to be careful [m/s]: common practice."""

HOT_OIL = 140.0
"""Oil temperature above which a note is made [degC]: common practice."""

AUDIT_LIMIT = 0.005
"""Residual above which no verdict is given."""


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


def drive_or_refuse(scenario: Scenario, air: Air) -> Driving:
    """Drive the event; refuse it when a leg cannot be driven as asked.

    Raises
    ------
    ScenarioError
        Naming each leg that the car cannot cover.
    """
    driving = drive_event(scenario, air)
    if driving.problems:
        problems = [Problem(key, "", words) for key, words, _ in driving.problems]
        error = ScenarioError(scenario.title or "scenario", problems)
        masks = [which for _, _, which in driving.problems if which is not None]
        error.where = np.logical_or.reduce(masks) if masks else None
        raise error
    return driving


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


class OvertakenError(SoakboxError):
    """The answer is no longer wanted."""


def _never() -> bool:
    return False


@dataclass(frozen=True, slots=True)
class Whole:
    """One solved event with everything it was made from.

    Attributes
    ----------
    result : EventResult
    context : Context
        What the hazards saw: scenario, air, driven event, integrated loop.
    others : dict of str to History
        The same event for each kind of tank mixing, when the scenario names none.
    """

    result: EventResult
    context: Context
    others: dict[str, History]


def solve(
    scenario: Scenario,
    overtaken: Callable[[], bool] = _never,
    lasting: Lasting | None = None,
) -> EventResult:
    """Solve one event.

    Parameters
    ----------
    scenario : Scenario
    overtaken : callable
        Asked between the stages of the solution; when true the solution is given up.
    lasting : Lasting, optional
        What the last event has left, for one that differs in little; brought up to date.

    Returns
    -------
    EventResult
        With the verdict 'no verdict' and the reasons when the numbers cannot be trusted.

    Raises
    ------
    ScenarioError
        If a leg cannot be driven as asked.
    RangeError
        If an input puts a property or part outside its range.
    OvertakenError
        If `overtaken` said so.
    """
    return solve_whole(scenario, overtaken, lasting).result


def solve_whole(
    scenario: Scenario,
    overtaken: Callable[[], bool] = _never,
    lasting: Lasting | None = None,
) -> Whole:
    """Solve one event and keep what it was made from, for showing the working.

    Parameters
    ----------
    scenario, overtaken, lasting
        As in :func:`solve`.

    Returns
    -------
    Whole

    Raises
    ------
    ScenarioError, RangeError, OvertakenError
        As :func:`solve`.
    """
    air, driving, duct = (Lasting() if lasting is None else lasting).of(scenario)
    if overtaken():
        raise OvertakenError("a newer scenario is wanted")
    solved = solve_cooling(scenario, air, driving)
    others: dict[str, History] = {}
    if scenario.tank.mixing is None:
        others["mixed"] = solved.told.history
        # One that could not be followed has no verdict, whatever the others would say.
        for mixing in MIXINGS[1:] if solved.run.stopped in ("", DRY) else ():
            if overtaken():
                raise OvertakenError("a newer scenario is wanted")
            others[mixing] = loop_history(*march_cooling(scenario, air, driving, mixing))
    if overtaken():
        raise OvertakenError("a newer scenario is wanted")
    audit = audit_of(solved)
    figures = cooling_figures(scenario, air, driving, solved, others)
    context = Context(scenario, air, driving, solved, figures, duct, audit)
    flags = all_flags(context)
    untrusted = _untrusted(audit, solved, figures)
    verdict, binding = decide(flags, untrusted)
    result = EventResult(
        title=scenario.title,
        verdict=verdict,
        binding=binding,
        flags=flags,
        cooling=figures,
        intake=duct,
        site=_site(air),
        audit=audit,
        history=solved.told.history,
        legs=_legs(scenario, driving),
        notes=(
            *_stop(solved),
            *held_by_limiter(scenario, driving),
            *solved.cooling.notes,
            *_notes(scenario, air, solved),
        ),
        untrusted=untrusted,
        rough=rough_figures(context),
    )
    return Whole(result, context, others)


def _site(air: Air) -> SiteFigures:
    return SiteFigures(
        station_pressure_Pa=air.pressure,
        air_temperature_degC=air.temperature - 273.15,
        relative_humidity=air.relative_humidity,
        density_kg_per_m3=air.density,
        density_altitude_m=air.density_altitude,
        speed_of_sound_m_per_s=air.speed_of_sound,
        j1349_factor=air.j1349_factor,
        j1349_note=air.j1349_note,
    )


def _legs(scenario: Scenario, driving: Driving) -> tuple[tuple[str, float, float], ...]:
    out: list[tuple[str, float, float]] = []
    clock = 0.0
    for leg, drive in zip(scenario.leg, driving.legs, strict=True):
        out.append((leg.label, clock, clock + drive.duration))
        clock += drive.duration
    return tuple(out)


def _untrusted(audit: Audit, solved: Solved, figures: Any) -> tuple[str, ...]:
    reasons: list[str] = []
    if not abs(audit.residual_fraction) <= AUDIT_LIMIT:
        reasons.append(
            f"the energy account does not close: {100 * audit.residual_fraction:.2f} % "
            f"is missing, {100 * AUDIT_LIMIT:g} % is allowed"
        )
    if solved.run.stopped not in ("", DRY):
        reasons.append(solved.run.stopped)
    reasons.extend(leaves_range(solved))
    if not math.isfinite(figures.boil_margin_K):
        reasons.append("the boil margin is not a number")
    return tuple(reasons)


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
        checks.append((
            outside,
            f"{name}: {spans}leaves the properties' "
            f"range of {liquid.t_low - 273.15:.1f} to {liquid.t_high - 273.15:.1f} degC",
        ))
    checks.append((
        solved.run.tank_dry,
        "the tank boils dry: what becomes of coolant and exchanger without water is not modelled",
    ))
    return checks


def _stop(solved: Solved) -> tuple[str, ...]:
    """Say where the event is no longer followed."""
    if not solved.run.stopped:
        return ()
    end = float(solved.told.history.time[-1])
    return (
        f"the event is followed to {end:.0f} s only: {solved.run.stopped}; what would come "
        "after is not looked at, and a flag that reads clear may not stay so",
    )


def _notes(scenario: Scenario, air: Air, solved: Solved) -> tuple[str, ...]:
    notes: list[str] = []
    oil = float(np.max(solved.told.history.oil)) - 273.15
    if oil > HOT_OIL:
        notes.append(
            f"the oil reaches {oil:.0f} degC: above {HOT_OIL:.0f} degC it loses its film; look at "
            "engine.oil_cooler_ua and engine.oil_mass"
        )
    if scenario.site.relative_humidity is None and scenario.site.dew_point is None:
        notes.append("site.relative_humidity: 0.2 taken (common practice for a dry lake)")
    if scenario.engine.power_basis == "corrected" and air.j1349_note:
        notes.append(f"power correction: {air.j1349_note}")
    if scenario.intake is not None and scenario.intake.frame_tubes:
        notes.append(
            "intake.frame_tubes: tubes that carry air must be clean, dry and tight at every "
            "weld, and the rule book may forbid it"
        )
    if scenario.intake is not None and not scenario.intake.debris_screen:
        notes.append("intake.debris_screen: nothing keeps salt and stones out of the opening")
    return (*notes, *_unused(scenario), *_fast_lines(scenario, solved))


def _unused(scenario: Scenario) -> list[str]:
    """Say which inputs that were given change nothing, so that nobody relies on them."""
    out: list[str] = []
    intake = scenario.intake
    if scenario.engine.boost_ratio > 1.0 and (intake is None or intake.demand != "displacement"):
        out.append(
            "engine.boost_ratio: not used, since the air is found from power and consumption; it "
            'counts with intake.demand = "displacement"'
        )
    if scenario.coolant.line.barrier != "none":
        out.append(
            "coolant.line.barrier: not looked at; the engine's hot lines are taken to run behind "
            "the driver's bulkhead"
        )
    return out


def _fast_lines(scenario: Scenario, solved: Solved) -> list[str]:
    """Say which tank line is so narrow that the water races through it."""
    flow = float(solved.cooling.cold_flow.flow)
    out: list[str] = []
    for name, line in (("supply", scenario.loop.supply), ("return", scenario.loop.return_)):
        speed = flow / segment_of(line, name).area
        if speed > FAST_WATER:
            out.append(
                f"loop.{name}.bore: the water runs at {speed:.1f} m/s; above {FAST_WATER:.0f} m/s "
                "hoses and bends wear and the pump hardly delivers it (common practice): a wider "
                "line"
            )
    return out


__all__ = [
    "AUDIT_LIMIT",
    "Lasting",
    "Solved",
    "Whole",
    "audit_of",
    "drive_or_refuse",
    "leaves_range",
    "march_cooling",
    "site_air",
    "solve",
    "solve_cooling",
    "solve_whole",
    "what_drives",
]
