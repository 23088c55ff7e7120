"""Which hazards are there at one moment of the event, which were or will be, and where."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from thermo.cooling import liquid_of
from thermo.figures import moments
from thermo.hazards.burning import DRIVER_LINES
from thermo.hazards.flowing import MOST_RISE
from thermo.hazards.relieving import NEAR_RELIEF
from thermo.hazards.vessel import LEAST_GAS
from thermo.headspace import NO_RELIEF, lifts, most_gauge
from thermo.results import RANK, EventResult, Flag, Level
from thermo.scenario import Scenario
from tui.words import MARKS, words_of

Mask = npt.NDArray[np.bool_]
STILL = 1e-9
"""Flow at which a loop stands still [m3/s]."""

AT_BOILING = 0.05
"""Nearness to the boiling point that counts as boiling [K]."""

WHAT_IF = ("leaking-cap", "coolant-flash", "flow-lost", "after-boil", "catalogue-flow")
"""Hazards of something else going wrong: told after those that happen by themselves."""


@dataclass(frozen=True, slots=True)
class Stage:
    """How bad a hazard gets, and in which rows of the history.

    Attributes
    ----------
    level : {'caution', 'danger'}
    tag : str
    rows : ndarray of bool or None
        None where it is not tied to a moment.
    """

    level: Level
    tag: str
    rows: Mask | None


@dataclass(frozen=True, slots=True)
class Tag:
    """One hazard as the picture shows it at one moment.

    Attributes
    ----------
    name : str
        Of the flag.
    level : {'caution', 'danger'}
    place : str
        Part of the picture it belongs to.
    text : str
        Mark and words, with a time when it is not now: ``XX boils at 52 s``.
    active : bool
        Whether it is so at this moment.
    """

    name: str
    level: Level
    place: str
    text: str
    active: bool


def _nearest(result: EventResult, time: float) -> Mask:
    """Return the rows at one moment."""
    gap = np.abs(result.history.time - time)
    return np.asarray(gap <= gap.min() + 1e-9)


def _boiling(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    h, limits = result.history, scenario.limits
    margin = h.boil_temperature - h.coolant - limits.hot_spot_allowance
    return [
        Stage("danger", "boils", working & (h.coolant >= h.boil_temperature - AT_BOILING)),
        Stage("danger", "no boil margin", working & (margin < 0.0)),
        Stage("caution", "near boiling", working & (margin < limits.caution_margin)),
    ]


def _cap(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    pressure = result.site.station_pressure_Pa + scenario.coolant.leaking_cap_pressure
    boils = float(liquid_of(scenario.coolant).saturation_temperature(pressure))
    room = boils - result.history.coolant - scenario.limits.hot_spot_allowance
    return [Stage(flag.level, "boils if cap leaks", working & (room < 0.0))]


def _flash(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    pressure = result.site.station_pressure_Pa
    boils = float(liquid_of(scenario.coolant).saturation_temperature(pressure))
    return [Stage(flag.level, "steam if opened", result.history.coolant > boils)]


def _after(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    h = result.history
    start = _nearest(result, flag.at_s)
    same = h.leg == h.leg[int(np.flatnonzero(start)[-1])]
    stopped = (h.hot_flow <= STILL) & (h.time >= flag.at_s) & same
    return [Stage(flag.level, "boils after stop", start | stopped)]


def _pump(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    when = "at once" if flag.value < 0.5 else f"{flag.value:.0f} s"
    return [Stage(flag.level, f"boils {when} after pump stop", None)]


def _tank(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    rows = result.history.tank_hot > scenario.limits.scald
    return [Stage(flag.level, "tank scalds", rows)]


def _line(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    h, loop, limit = result.history, scenario.loop, scenario.limits.scald
    rows = np.zeros(len(h.time), dtype=np.bool_)
    for line, values in ((loop.supply, h.exchanger_in), (loop.return_, h.tank_in)):
        if line.barrier in DRIVER_LINES:
            rows |= values > limit
    return [Stage(flag.level, "line scalds", rows)]


def _touch(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    h = result.history
    values = {"return line": h.tank_in, "supply line": h.exchanger_in}.get(flag.where, h.tank_hot)
    word = "line hot to touch" if "line" in flag.where else "hot to touch"
    return [Stage(flag.level, word, values > scenario.limits.touch)]


def _relief(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    tank, pressure = scenario.tank, result.history.tank_pressure
    if tank.closure in NO_RELIEF:
        if flag.level == "caution":
            return [Stage("caution", "no relief", None)]
        return [Stage("danger", "tank may burst", pressure > most_gauge(tank))]
    if tank.closure == "vented":
        hottest = result.history.tank_hot
        return [Stage(flag.level, "tank boils", hottest >= hottest.max() - AT_BOILING)]
    near = pressure >= NEAR_RELIEF * tank.relief_pressure
    return [Stage(flag.level, "relief lifts", lifts(tank, pressure)),
            Stage("caution", "near relief", near)]


def _bore(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    what = "vent" if scenario.tank.closure == "vented" else "relief"
    word = "no relief fitted" if math.isnan(flag.value) else f"{what} too small"
    return [Stage(flag.level, word, None)]


def _lock(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    share = result.history.gas_volume / scenario.tank.volume
    return [
        Stage(flag.level, "no gas left", share <= 0.0),
        Stage("caution", "little gas left", share < LEAST_GAS),
    ]


def _rise(flag: Flag, result: EventResult, scenario: Scenario, working: Mask) -> list[Stage]:
    h, full = result.history, moments(scenario, result.history).full
    if flag.level == "danger":
        still = full & ((h.cold_flow <= 0.0) | (h.hot_flow <= 0.0))
        return [Stage("danger", "no flow", still)]
    high = full & (h.cold_flow > 0.0) & (h.tank_in - h.exchanger_in > MOST_RISE)
    return [Stage(flag.level, "too little flow", high)]


STAGES = {
    "coolant-boil": _boiling,
    "leaking-cap": _cap,
    "coolant-flash": _flash,
    "after-boil": _after,
    "flow-lost": _pump,
    "tank-scald": _tank,
    "line-scald": _line,
    "touch": _touch,
    "relief-lift": _relief,
    "relief-size": _bore,
    "hydraulic-lock": _lock,
    "low-flow": _rise,
}
"""Hazards whose rows follow from the history; others hold at their moment, or throughout."""


def stages(
    flag: Flag, result: EventResult, scenario: Scenario, working: Mask | None = None
) -> list[Stage]:
    """Return the stages of a hazard that is not clear, worst first.

    Parameters
    ----------
    flag : Flag
    result : EventResult
    scenario : Scenario
    working : ndarray of bool, optional
        Rows in which the engine heats or the coolant flows; found when not given.

    Returns
    -------
    list of Stage
        None worse than the flag's own level.
    """
    if working is None:
        working = moments(scenario, result.history).working
    if flag.name in STAGES:
        found = STAGES[flag.name](flag, result, scenario, working)
        return [s for s in found if RANK[s.level] <= RANK[flag.level]]
    rows = None if math.isnan(flag.at_s) else _nearest(result, flag.at_s)
    return [Stage(flag.level, words_of(flag.name).tag, rows)]


def _place(flag: Flag, tag: str) -> str:
    if flag.name == "touch" and "line" in tag:
        return "line"
    if flag.name == "freeze" and "engine" in flag.where:
        return "engine"
    return words_of(flag.name).place


def _occurring(result: EventResult, scenario: Scenario) -> list[tuple[Flag, list[Stage]]]:
    """Return the hazards that have a place in the picture, with the stages that occur."""
    working = moments(scenario, result.history).working
    return [
        (
            flag,
            [
                s
                for s in stages(flag, result, scenario, working)
                if s.rows is None or bool(s.rows.any())
            ],
        )
        for flag in result.flags
        if flag.level != "clear" and words_of(flag.name).place != "model"
    ]


def _begins(stage: Stage, result: EventResult, row: int) -> str:
    """Return when a stage begins next, or first began: ``at 52 s``; empty where it always is."""
    if stage.rows is None:
        return ""
    rows = np.flatnonzero(stage.rows)
    later = rows[rows > row]
    return f"at {float(result.history.time[int(later[0] if len(later) else rows[0])]):.0f} s"


def _told(flag: Flag, stage: Stage, when: str) -> Tag:
    text = f"{MARKS[stage.level]} {stage.tag} {when}".rstrip()
    return Tag(flag.name, stage.level, _place(flag, stage.tag), text, not when)


def _pressing(tag: Tag) -> tuple[int, bool, bool]:
    return -RANK[tag.level], tag.name in WHAT_IF, not tag.active


def tags_at(result: EventResult, scenario: Scenario, row: int) -> list[Tag]:
    """Return the hazards of an event as they stand at one moment.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario
    row : int
        Row of the history.

    Returns
    -------
    list of Tag
        Dangers first, then what happens by itself, then what is so now. Of each hazard what is
        so now, and the worse that is still to come or has been, with the time at which it
        begins. Hazards of the model itself have no place in the picture and are left out.
    """
    out: list[Tag] = []
    for flag, found in _occurring(result, scenario):
        now = next((s for s in found if s.rows is None or bool(s.rows[row])), None)
        if now is not None:
            out.append(_told(flag, now, ""))
        if found and now is not found[0]:
            out.append(_told(flag, found[0], _begins(found[0], result, row)))
    return sorted(out, key=_pressing)


def worst_tags(result: EventResult, scenario: Scenario) -> list[Tag]:
    """Return the hazards at their worst, each with the time at which it begins.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario

    Returns
    -------
    list of Tag
        What room has to be kept for, so that nothing jumps when the moment moves.
    """
    out = [
        _told(flag, found[0], _begins(found[0], result, len(result.history.time)))
        for flag, found in _occurring(result, scenario)
        if found
    ]
    return sorted(out, key=_pressing)


__all__ = ["Stage", "Tag", "stages", "tags_at", "worst_tags"]
