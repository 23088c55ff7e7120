"""Working of the intake at the timed speed: ram, losses, net, and what the engine makes of it."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.delivered import Delivered
from thermo.gas import (
    speed_of_sound,
)
from thermo.intake import IntakeModel
from thermo.intake_figures import timed_air
from thermo.results import IntakeFigures
from thermo.workings.bench import Bench
from thermo.workings.form import (
    Step,
    Symbol,
    Working,
    by_hand,
    of,
    pure,
    read,
    step,
)

NACA = "NACA Report 1135 (1953), eq. 43 and 44"
MARCH = (
    "march of stagnation pressure through the parts, d ln p0 = -(gamma M^2/2)(f dx/D + dK + "
    "dT0/T0) (Shapiro, ch. 6 and 7)"
)
AGREED = "flow on which duct and engine agree"


def absolute(name: str, value: Any, meaning: str) -> Symbol:
    """Return an absolute pressure [Pa]."""
    return of(name, value, "pressure_absolute", meaning)


def drop(name: str, value: Any, meaning: str) -> Symbol:
    """Return a difference of pressures [Pa]."""
    return of(name, value, "pressure_difference", meaning)


def parts_of(b: Bench) -> tuple[IntakeFigures, IntakeModel, Delivered] | None:
    """Return figures, model and what is delivered at the timed speed; None without a duct."""
    duct, model = b.duct, b.driving.intake
    if duct is None or model is None:
        return None
    clean, _ = timed_air(model, duct.speed_m_per_s, b.driving.wall_temperature)
    return duct, model, clean


def ambient(b: Bench) -> Symbol:
    """Return the still air's pressure [Pa]."""
    return absolute("p", b.air.pressure, "station pressure")


def ram_steps(b: Bench, speed: float) -> list[Step]:
    """Return the full ram at a car speed [m/s]."""
    air, model = b.air, b.driving.intake
    assert model is not None
    state = model.ram(np.array([speed]))
    v = of("V", speed, "speed", "car speed")
    wind = of("W", b.scenario.site.head_wind, "speed", "head wind")
    through = of("V_a", np.asarray(state.air_speed)[0], "speed", "speed through the air")
    gamma = pure("gamma", air.gamma, "ratio of specific heats")
    r = of("R", air.gas_constant, "specific_heat", "gas constant of the air")
    t = of("T", air.temperature, "temperature", "air temperature")
    a = of("a", speed_of_sound(air.temperature, air.gas_constant, air.gamma), "speed",
           "speed of sound")
    mach = pure("M", np.asarray(state.mach)[0], "Mach number of the car")
    p0 = absolute("p0", np.asarray(state.stagnation_pressure)[0], "stagnation pressure")
    gain = drop("gain", np.asarray(state.ram)[0], "full ram")
    return [
        step("speed through the air", "V_a = V + W", [v, wind], through, "definition"),
        step("speed of sound", "a = sqrt(gamma*R*T)", [gamma, r, t], a, NACA, "ideal gas"),
        step("Mach number", "M = max(V_a, 0)/a", [through, a], mach, "definition"),
        step(
            "stagnation pressure",
            "p0 = p*(1 + (gamma - 1)/2*M^2)^(gamma/(gamma - 1))",
            [ambient(b), gamma, mach],
            p0,
            NACA,
            "isentropic, below Mach 1",
        ),
        step("full ram", "gain = p0 - p", [p0, ambient(b)], gain, "definition"),
    ]


def _slow(b: Bench, speed: float) -> Step:
    return by_hand(
        "velocity head of slow flow",
        "gain_hand = rho/2*V_a^2",
        [
            of("rho", b.air.density, "density", "density of the air"),
            of("V_a", speed + b.scenario.site.head_wind, "speed", "speed through the air"),
        ],
        ("gain_hand", "pressure_difference", "ram of slow flow"),
        "Bernoulli",
        "up to Mach 0.2",
    )


def ram_gain(b: Bench) -> Working | None:
    """Working of the full ram."""
    if b.duct is None:
        return None
    steps = ram_steps(b, b.duct.speed_m_per_s)
    words = "Compressible flow gains M^2/4 of that more."
    return Working("", "nose gain", tuple(steps), steps[-1].result,
                   (_slow(b, b.duct.speed_m_per_s),), words)


def plenum_of(at: Delivered) -> Symbol:
    """Return the plenum's pressure [Pa]."""
    return absolute("p_pl", at.pressure[0], "pressure in the plenum")


def net_steps(b: Bench, at: Delivered, value: float, name: str = "net") -> list[Step]:
    """Return plenum less ambient pressure."""
    plenum = plenum_of(at)
    flow = of("m", at.flow[0], "mass_flow", "air flow")
    return [
        read("pressure in the plenum", plenum, MARCH, [flow], note=AGREED),
        step("net", f"{name} = p_pl - p", [plenum, ambient(b)], drop(name, value, "net gain"),
             "definition"),
    ]


def station_steps(b: Bench) -> list[Step]:
    """Return the loss of each part, from the stagnation pressures before and behind it."""
    found = parts_of(b)
    if found is None or found[0].choked_timed:
        return []
    duct, model, at = found
    delivered = float(np.asarray(at.ram.delivered_pressure)[0])
    before, paths = delivered, ""
    steps: list[Step] = []
    marched = dict(model.stations(duct.speed_m_per_s, duct.air_flow_kg_per_s,
                                  b.driving.wall_temperature))
    for s in duct.stations:
        if s.path != paths:
            paths = s.path
            before = float(marched[s.path].stagnation_pressure[0, 0])
        if s.name == "opening":
            continue
        n = len(steps) + 1
        head = 0.5 * (before / (b.air.gas_constant * s.stagnation_temperature)) * s.speed**2
        words = f"Mach {s.mach:.3f} and {s.speed:.1f} m/s behind it"
        if head > 0.0:
            words += f"; the loss is {s.loss / head:.2f} velocity heads of {head:.0f} Pa there"
        steps.append(
            step(
                f"{s.path}: {s.name}" if s.path not in ("duct", "plenum") else s.name,
                f"loss{n} = p0_{n - 1} - p0_{n}",
                [
                    absolute(f"p0_{n - 1}", before, "stagnation pressure before it"),
                    absolute(f"p0_{n}", s.stagnation_pressure, "stagnation pressure behind it"),
                ],
                drop(f"loss{n}", s.loss, f"lost in '{s.name}'"),
                MARCH,
                note=f"{words}.",
            )
        )
        before = s.stagnation_pressure
    return steps


def duct_loss(b: Bench) -> Working | None:
    """Working of what the duct loses of the full ram."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, at = found
    total = drop("loss", duct.duct_loss_Pa, "lost between free stream and plenum")
    gain = drop("gain", duct.ram_gain_Pa, "full ram")
    net = drop("net", duct.net_Pa, "net gain")
    missed_value = float(np.asarray(at.ram.ram)[0] - np.asarray(at.ram.gain)[0])
    missed = drop("miss", missed_value, "what the opening misses of the full ram")
    opening = step(
        "what the opening misses",
        "miss = gain*(1 - Cp*r)",
        [
            gain,
            pure("Cp", model.table.pressure_coefficient, "pressure coefficient of the opening"),
            pure("r", model.table.recovery, "recovery ahead of the opening"),
        ],
        missed,
        "scaling the rise by coefficient and recovery: common practice",
    )
    last = step("loss", "loss = gain - net", [gain, net], total, "definition")
    parts = station_steps(b)
    by_parts: tuple[Step, ...] = ()
    words = ""
    if parts and len(model.ducts) == 1:
        lost = [s.result for s in parts]
        by_parts = (
            by_hand(
                "sum over the parts", f"loss_hand = miss + {' + '.join(x.name for x in lost)}",
                [missed, *lost], ("loss_hand", "pressure_difference", "loss, part by part"), "sum",
            ),
        )
        words = (
            "Part by part the loss must come to the same; a duct wall that cools along the pass "
            "and rounding may leave a little."
        )
    return Working("", "duct loss", (opening, *parts, last), total, by_parts, words)


def net(b: Bench) -> Working | None:
    """Working of the net gain."""
    found = parts_of(b)
    if found is None:
        return None
    duct, _, at = found
    steps = net_steps(b, at, duct.net_Pa)
    hand = by_hand(
        "gain less loss",
        "net_hand = gain - loss",
        [drop("gain", duct.ram_gain_Pa, "full ram"), drop("loss", duct.duct_loss_Pa, "loss")],
        ("net_hand", "pressure_difference", "net by hand"),
        "definition",
    )
    return Working("", "net gain", tuple(steps), steps[-1].result, (hand,),
                   "The same by definition; 'duct_loss_Pa' shows the loss part by part.")


def net_dirty(b: Bench) -> Working | None:
    """Working of the net gain with a dirty filter."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, _ = found
    _, dirty = timed_air(model, duct.speed_m_per_s, b.driving.wall_temperature)
    steps = net_steps(b, dirty, duct.net_dirty_filter_Pa)
    return Working("", "net gain, filter dirty", tuple(steps), steps[-1].result)


def recovery(b: Bench) -> Working | None:
    """Working of the share of the ram that is kept."""
    if b.duct is None:
        return None
    share = pure("share", b.duct.recovery, "share of the full ram that reaches the plenum")
    gain = drop("gain", b.duct.ram_gain_Pa, "full ram")
    if not math.isfinite(share.value):
        none = read("no ram", share, "the share of nothing", [gain])
        return Working("", "share of the ram kept", (none,), share)
    last = step("share of the ram kept", "share = net/gain",
                [drop("net", b.duct.net_Pa, "net gain"), gain], share, "definition")
    steps = (*ram_steps(b, b.duct.speed_m_per_s), last)
    return Working("", "share of the ram kept", steps, share)


def stations(b: Bench) -> Working | None:
    """Working of the pressure part by part."""
    if b.duct is None:
        return None
    steps = station_steps(b)
    count = pure("N", len(b.duct.stations), "stations")
    last = read("stations", count, MARCH, note="" if steps else "The duct is choked.")
    return Working("", "pressure part by part", (*steps, last), count)


WORKINGS = {
    "intake.ram_gain_Pa": ram_gain,
    "intake.duct_loss_Pa": duct_loss,
    "intake.net_Pa": net,
    "intake.net_dirty_filter_Pa": net_dirty,
    "intake.recovery": recovery,
    "intake.stations": stations,
}
"""Workings of the intake, by the name of the figure."""
