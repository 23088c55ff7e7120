"""Working of the duct at its worst moments of full power, and of the same at the timed speed."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from thermo.delivered import Delivered
from thermo.gas import choked_mass_flow_function, stagnation_temperature_ratio
from thermo.intake import IntakeModel
from thermo.intake_pass import PLACES
from thermo.results import IntakeFigures
from thermo.workings.bench import Bench
from thermo.workings.duct import (
    AGREED,
    MARCH,
    NACA,
    absolute,
    ambient,
    drop,
    parts_of,
    plenum_of,
)
from thermo.workings.form import Step, Working, by_hand, of, pure, read, step

SOUGHT = (
    f"worst of {PLACES} moments of each full-power leg, the one of the largest draw among them"
)


def _at(b: Bench, model: IntakeModel, speed: float) -> Delivered:
    """Return what is delivered at a moment of the pass, the wall as it stands then."""
    speeds = np.array([speed])
    return model.solve(speeds, b.driving.wall_at(speeds))


def _found(b: Bench, speed: str) -> tuple[IntakeFigures, IntakeModel, Delivered] | None:
    """Return figures, model and the air at the speed that a figure names; None without a duct."""
    timed = parts_of(b)
    if timed is None or speed == "speed_m_per_s":
        return timed
    duct, model, _ = timed
    return duct, model, _at(b, model, getattr(duct, speed))


def _state(b: Bench, at: Delivered) -> Step:
    """Return how fast the car is, and what the engine draws."""
    speed, flow = float(at.speed[0]), float(at.flow[0])
    return read(
        "air that the engine draws then",
        of("m", flow, "mass_flow", "air flow"),
        f"{MARCH}; {AGREED}",
        [of("V", speed, "speed", "car speed")],
    )


def mach(b: Bench, name: str, speed: str) -> Working | None:
    """Working of a Mach number in the duct."""
    found = _found(b, speed)
    if found is None:
        return None
    duct, model, at = found
    m = pure("M", getattr(duct, name), "highest Mach number in the duct")
    worst = "" if name == "duct_mach_timed" else SOUGHT
    steps = (_state(b, at), read("highest Mach number", m, MARCH, note=worst))
    area = sum(float(p.least_area) * p.count for p in model.ducts)
    title = "Mach number" + (", timed speed" if name == "duct_mach_timed" else ", highest")
    if not math.isfinite(area) or m.value >= 1.0:
        return Working("", title, steps, m)
    hand = by_hand(
        "slow flow through the least area",
        "M_hand = m/(rho*A*a)",
        [
            steps[0].result,
            of("rho", float(np.asarray(at.ram.delivered_pressure)[0])
               / (b.air.gas_constant * float(np.asarray(at.ram.stagnation_temperature)[0])),
               "density", "density at the opening"),
            of("A", area, "area", "least areas of all ducts"),
            of("a", b.air.speed_of_sound, "speed", "speed of sound"),
        ],
        ("M_hand", "", "Mach number by hand"),
        "continuity",
        "up to Mach 0.2",
    )
    return Working("", title, steps, m, (hand,),
                   "As pressure is lost and speed gained the air thins; unlike ducts share the "
                   "flow at equal loss and not by their areas; what all the air goes through last "
                   "may be the narrowest.")


def heat_rise(b: Bench, name: str, speed: str) -> Working | None:
    """Working of the heat that the air picks up in the duct."""
    found = _found(b, speed)
    if found is None:
        return None
    duct, _, at = found
    t0 = float(np.asarray(at.ram.stagnation_temperature)[0])
    number = pure("M", np.asarray(at.ram.mach)[0], "Mach number of the car")
    first = step(
        "stagnation temperature",
        "T0 = T*(1 + (gamma - 1)/2*M^2)",
        [
            of("T", b.air.temperature, "temperature", "still air"),
            pure("gamma", b.air.gamma, "ratio of specific heats"),
            number,
        ],
        of("T0", b.air.temperature * stagnation_temperature_ratio(number.value, b.air.gamma),
           "temperature", "stagnation temperature"),
        NACA,
    )
    rise = of("dT", getattr(duct, name), "temperature_difference", "heat picked up in the duct")
    cool = b.driving.wall_temperature is None
    words = (
        "No wall temperature is given: the duct is taken to pass no heat."
        if cool
        else "The wall cools along the pass; T = T_w - (T_w - T0) exp(-NTU) in each part."
    )
    last = step(
        "heat picked up", "dT = T_pl - T0",
        [of("T_pl", at.temperature[0], "temperature", "in the plenum"),
         of("T0", t0, "temperature", "stagnation temperature")],
        rise, MARCH, note=words,
    )
    title = "heat picked up in the duct"
    return Working("", title, (_state(b, at), first, last), rise)


def net_least(b: Bench) -> Working | None:
    """Working of the least net gain of the pass."""
    found = _found(b, "net_least_speed_m_per_s")
    if found is None:
        return None
    duct, _, at = found
    value = drop("net", duct.net_least_Pa, "least net gain of the pass")
    last = step("net", "net = p_pl - p", [plenum_of(at), ambient(b)], value, "definition",
                note=SOUGHT)
    return Working("", "net gain, least of the pass", (_state(b, at), last), value)


def moment(b: Bench, name: str, kind: str, what: str) -> Working | None:
    """Working of a speed or a moment at which something is at its worst."""
    if b.duct is None:
        return None
    found = of("x", getattr(b.duct, name), kind, what)
    return Working("", what, (read(what, found, SOUGHT),), found)


def losing(b: Bench) -> Working | None:
    """Working of the share of full power in which the duct loses."""
    if b.duct is None:
        return None
    share = pure("s", b.duct.losing_share, "share of full power with a net gain below zero")
    words = f"time of {PLACES} moments of each full-power leg, each for its stretch of the pass"
    return Working("", "share of the pass in which the duct loses",
                   (read("share of the time", share, words),), share)


def choke_flow(b: Bench, name: str, speed: str) -> Working | None:
    """Working of a flow at which the ducts choke."""
    found = _found(b, speed)
    if found is None:
        return None
    duct, model, at = found
    m = of("m_c", getattr(duct, name), "mass_flow", "flow at which the ducts choke")
    steps = (read("largest flow that passes", m, f"{MARCH}, halving of an interval",
                  [of("V", at.speed[0], "speed", "car speed")]),)
    areas = [float(p.least_area) * p.count for p in model.ducts]
    if not all(map(math.isfinite, areas)):
        return Working("", "flow at which the ducts choke", steps, m)
    bare = by_hand(
        "bare least area, without loss",
        "m_hand = F*A*p0/sqrt(R*T0)",
        [
            pure("F", choked_mass_flow_function(b.air.gamma), "mass-flow function at Mach 1"),
            of("A", sum(areas), "area", "least areas"),
            absolute("p0", np.asarray(at.ram.delivered_pressure)[0], "at the opening"),
            of("R", b.air.gas_constant, "specific_heat", "gas constant of the air"),
            of("T0", np.asarray(at.ram.stagnation_temperature)[0], "temperature",
               "stagnation temperature"),
        ],
        ("m_hand", "mass_flow", "choked flow without loss"),
        "NACA Report 1135 (1953)",
    )
    return Working("", "flow at which the ducts choke", steps, m, (bare,),
                   "Friction and fittings lose pressure before the narrowest place, so it chokes "
                   "at less.")


def choked(b: Bench, name: str, flow: str, limit: str) -> Working | None:
    """Working of whether the duct is choked."""
    if b.duct is None:
        return None
    found = pure("choked", float(getattr(b.duct, name)), "1: the duct passes no more air")
    put_in = [
        of("m", getattr(b.duct, flow), "mass_flow", "air flow"),
        of("m_c", getattr(b.duct, limit), "mass_flow", "flow at which the ducts choke"),
    ]
    last = read("flow against the most that passes", found, MARCH, put_in)
    return Working("", "choking", (last,), found)


_MOMENTS: dict[str, tuple[str, str]] = {
    "duct_mach_max_speed_m_per_s": ("speed", "car speed at the highest Mach number"),
    "duct_mach_max_at_s": ("time", "moment of the highest Mach number"),
    "air_flow_at_mach_max_kg_per_s": ("mass_flow", "air flow at the highest Mach number"),
    "heat_rise_speed_m_per_s": ("speed", "car speed at the most heat picked up"),
    "heat_rise_at_s": ("time", "moment of the most heat picked up"),
    "net_least_speed_m_per_s": ("speed", "car speed at the least net gain"),
    "net_least_at_s": ("time", "moment of the least net gain"),
}

_TIMED, _WORST = "speed_m_per_s", "duct_mach_max_speed_m_per_s"

WORKINGS: dict[str, Callable[[Bench], Any]] = {
    "intake.duct_mach_max": partial(mach, name="duct_mach_max", speed=_WORST),
    "intake.duct_mach_timed": partial(mach, name="duct_mach_timed", speed=_TIMED),
    "intake.heat_rise_K": partial(
        heat_rise, name="heat_rise_K", speed="heat_rise_speed_m_per_s"
    ),
    "intake.heat_rise_timed_K": partial(heat_rise, name="heat_rise_timed_K", speed=_TIMED),
    "intake.net_least_Pa": net_least,
    "intake.losing_share": losing,
    "intake.choked": partial(
        choked, name="choked", flow="air_flow_at_mach_max_kg_per_s",
        limit="choke_flow_at_mach_max_kg_per_s",
    ),
    "intake.choked_timed": partial(
        choked, name="choked_timed", flow="air_flow_kg_per_s", limit="choke_flow_kg_per_s"
    ),
    "intake.choke_flow_kg_per_s": partial(choke_flow, name="choke_flow_kg_per_s", speed=_TIMED),
    "intake.choke_flow_at_mach_max_kg_per_s": partial(
        choke_flow, name="choke_flow_at_mach_max_kg_per_s", speed=_WORST
    ),
    **{
        f"intake.{name}": partial(moment, name=name, kind=kind, what=what)
        for name, (kind, what) in _MOMENTS.items()
    },
}
"""Workings of the duct over the pass, by the name of the figure."""
