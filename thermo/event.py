"""One scenario in, one result out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from thermo.cooling_run import MIXINGS, Solved, audit_of, leaves_range, march_cooling, solve_cooling
from thermo.driving import Driving
from thermo.errors import SoakboxError
from thermo.event_notes import notes_of, stop_of
from thermo.figures import cooling_figures
from thermo.flags import Context, all_flags, decide
from thermo.history import loop_history
from thermo.intake_pass import held_by_limiter
from thermo.lasting import Lasting
from thermo.loop_run import DRY
from thermo.results import Audit, EventResult, History, SiteFigures
from thermo.rough import rough_figures
from thermo.scenario import Scenario
from thermo.site import Air

AUDIT_LIMIT = 0.005
"""Residual above which no verdict is given."""


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
            *stop_of(solved),
            *held_by_limiter(scenario, driving),
            *solved.cooling.notes,
            *notes_of(scenario, air, solved),
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
