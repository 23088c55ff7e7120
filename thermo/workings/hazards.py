"""Working of the figures of hazards: burns, flash, pick-up and others, and the table of all."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from thermo.burns import CONTACT_CURVES, WATER_TABLE, contact_limit, contact_time, scald_time
from thermo.flash import flash_to_ambient
from thermo.free_surface import POSITIONS, surface_height
from thermo.hazards.breathing import FUEL_PRESSURE, UNREFERENCED
from thermo.hazards.standing import FREEZE_MARGIN, pumped_accelerations
from thermo.tank_shape import box_of
from thermo.vehicle import STANDARD_GRAVITY
from thermo.workings import (
    account,
    duct,
    flows,
    hazards_flowing,
    hazards_vessel,
    margins,
    pass_air,
    vessel,
)
from thermo.workings.bench import Bench
from thermo.workings.form import (
    READ,
    SOLVER,
    Step,
    Symbol,
    Working,
    by_hand,
    of,
    pure,
    read,
    step,
)
from thermo.workings.hazard_flag import borrowed, flag_of, told
from thermo.workings.hazards_vessel import STEAM_TABLE

CPSC = "US CPSC publication 5098, adults; straight in the logarithm of time between rows"


def _scald_steps(t: Symbol) -> list[Step]:
    """Return the time to a burn by water of a temperature [K]."""
    burn = scald_time(t.value)
    celsius = pure("c", t.value - 273.15, "water", "degC")
    seconds = of("s", burn.seconds, "time", "time to a full-thickness burn")
    if burn.kind != "about":
        words = f"{burn}: the table goes from {WATER_TABLE[0][0]:g} to {WATER_TABLE[-1][0]:g} degC"
        return [read("time to a burn", seconds, CPSC, [celsius], "48.9 to 65.6 degC", words)]
    i = next(k for k in range(1, len(WATER_TABLE)) if celsius.value <= WATER_TABLE[k][0] + 1e-9)
    (c0, s0), (c1, s1) = WATER_TABLE[i - 1], WATER_TABLE[i]
    return [
        step(
            "time to a burn",
            "s = s0*(s1/s0)^((c - c0)/(c1 - c0))",
            [
                of("s0", s0, "time", "time at the cooler row"),
                of("s1", s1, "time", "time at the hotter row"),
                celsius,
                pure("c0", c0, "cooler row of the table", "degC"),
                pure("c1", c1, "hotter row of the table", "degC"),
            ],
            seconds,
            CPSC,
            "48.9 to 65.6 degC",
        )
    ]


def scald(b: Bench, name: str) -> Working:
    """Working of a scald hazard: the water's temperature, and the time to a burn."""
    found = flag_of(b, name)
    t = of("T", found.value + 273.15, "temperature", found.where)
    return told(b, name, [read("hottest water", t, SOLVER), *_scald_steps(t)])


def touch(b: Bench) -> Working:
    """Working of the touch hazard: the metal's temperature, and the time it may be held."""
    found = flag_of(b, "touch")
    t = of("T", found.value + 273.15, "temperature", f"bare metal: {found.where}")
    burn = contact_time(t.value)
    seconds = of("s", burn.seconds, "time", "time that a hand may hold it")
    steps = [read("hottest bare metal", t, SOLVER)]
    source = "ASTM C1057, used with C1055 (from memory)"
    if burn.kind == "about":
        a, k, c = CONTACT_CURVES["irreversible"]
        steps += [
            read("time that a hand may hold it", seconds, source, [t], "1 s to 8 h"),
            step(
                "temperature that injures in that time",
                "T_s = a + k*ln(1000*s) + c/ln(1000*s) + 273.15",
                [pure("a", a, "coefficient"), pure("k", k, "coefficient"), seconds,
                 pure("c", c, "coefficient")],
                of("T_s", contact_limit(burn.seconds), "temperature", "skin in contact"),
                source,
                "1 s to 8 h",
            ),
        ]
    else:
        steps.append(read("time that a hand may hold it", seconds, source, [t], "1 s to 8 h",
                          f"{burn}"))
    return told(b, "touch", steps)


def flash(b: Bench) -> Working:
    """Working of the share of the coolant that flashes."""
    hot = b.design.hot
    row = int(np.argmax(b.history.coolant))
    t = of("T", b.history.coolant[row], "temperature", "hottest coolant")
    boils = of("T_b", hot.saturation_temperature(b.air.pressure), "temperature",
               "boiling point in the open")
    h1 = of("h1", hot.enthalpy(t.value), "specific_energy", "enthalpy of the coolant")
    h2 = of("h2", hot.enthalpy(boils.value), "specific_energy", "of boiling coolant outside")
    latent = of("h_fg", hot.latent_heat(boils.value), "specific_energy", "latent heat outside")
    source = f"integral of the specific heat of {hot.name}, table from CoolProp"
    return told(b, "coolant-flash", [
        read("boiling point in the open", boils, STEAM_TABLE, [
            of("p", b.air.pressure, "pressure_absolute", "station pressure")]),
        read("enthalpy of the coolant", h1, source, [t]),
        read("enthalpy of boiling coolant", h2, source, [boils]),
        step("share that flashes", "x = max(0, (h1 - h2)/h_fg)", [h1, h2, latent],
             pure("x", flash_to_ambient(hot, t.value, b.air.pressure), "mass share"),
             "isenthalpic expansion", "shares below 0.1 for a mix"),
    ])


def pick_up(b: Bench) -> Working:
    """Working of the water over the pick-up at the hardest acceleration or braking."""
    tank, box = b.tank, box_of(b.tank)
    pull = pumped_accelerations(b.context)
    ends = (float(np.max(pull)), float(np.min(pull)))
    place = POSITIONS[tank.outlet]
    heights = [float(surface_height(tank.fill, box.length, box.height, a / STANDARD_GRAVITY,
                                    place)) for a in ends]
    i = int(np.argmin(heights))
    tilt = pure("s", ends[i] / STANDARD_GRAVITY, "slope of the surface, acceleration over gravity")
    depth = of("h", heights[i], "length", f"water over the outlet, {tank.outlet}")
    inputs = [
        tilt,
        pure("fill", tank.fill, "share of the tank that is filled"),
        of("L", box.length, "length", "length of the tank"),
        of("H", box.height, "length", "height of the tank"),
    ]
    level = by_hand(
        "surface that neither floor nor roof cuts",
        "h_hand = fill*H + s*(x - 0.5)*L",
        [*inputs, pure("x", place, "place of the outlet along the tank")],
        ("h_hand", "length", "depth by hand"),
        "hydrostatics in the car's frame",
    )
    made = told(b, "pick-up", [
        step("slope of the surface", "s = a/g",
             [of("a", ends[i], "acceleration", "of the car while the tank pump runs"),
              of("g", STANDARD_GRAVITY, "acceleration", "gravity")], tilt, "hydrostatics"),
        read("water over the outlet", depth, "plane surface placed so that the fill is under it",
             inputs, note="sloshing is left out"),
    ])
    words = "Where the plane meets floor or roof the water is cut off there, and stands otherwise."
    return Working("", made.title, made.steps, made.computed, (level,), words)


def freeze(b: Bench) -> Working:
    """Working of the margin over freezing."""
    air = of("T", b.air.temperature, "temperature", "air")
    point = max(b.design.cold.freezing_point, b.design.hot.freezing_point)
    limit = by_hand(
        "air below which to drain", "T_d = T_f + dT",
        [of("T_f", point, "temperature", "higher of the two freezing points, CoolProp"),
         of("dT", FREEZE_MARGIN, "temperature_difference", "margin, common practice")],
        ("T_d", "temperature", "drain below this"), "definition",
    )
    return told(b, "freeze", [limit, read("air", air, f"site.air_temperature, {READ}")])


def too_cold(b: Bench) -> Working:
    """Working of the coldest coolant or oil before full throttle."""
    found = flag_of(b, "too-cold")
    t = of("T", found.value + 273.15, "temperature", found.where)
    return told(b, "too-cold", [read("as full throttle is opened", t, SOLVER)])


def fuel_reference(b: Bench) -> Working:
    """Working of the fuel that goes missing as the plenum's pressure changes."""
    engine = b.scenario.engine
    if b.duct is None or engine.fuel_metering not in UNREFERENCED:
        return told(b, "fuel-reference", [])
    pressure = engine.fuel_pressure or FUEL_PRESSURE[engine.fuel_metering]
    net = of("net", b.duct.net_Pa, "pressure_difference", "plenum less ambient")
    lean = step(
        "fuel missing", "x = 100*(1 - sqrt(max(1 - net/p_f, 0)))",
        [net, of("p_f", pressure, "pressure_difference", "across the jet or injector")],
        pure("x", flag_of(b, "fuel-reference").value, "fuel missing", "%"),
        "flow through a jet goes with the root of the pressure across it",
    )
    return told(b, "fuel-reference", [lean])


def _plain(b: Bench, name: str) -> Working:
    return told(b, name, [])


WORKINGS: dict[str, Callable[[Bench], Any]] = {
    "flags.coolant-boil": partial(borrowed, name="coolant-boil", maker=margins.boil_margin),
    "flags.leaking-cap": partial(borrowed, name="leaking-cap", maker=margins.leaking_cap),
    "flags.after-boil": partial(borrowed, name="after-boil", maker=margins.after_boil),
    "flags.flow-lost": partial(borrowed, name="flow-lost", maker=margins.flow_lost),
    "flags.too-cold": too_cold,
    "flags.tank-scald": partial(scald, name="tank-scald"),
    "flags.line-scald": partial(scald, name="line-scald"),
    "flags.coolant-flash": flash,
    "flags.touch": touch,
    "flags.relief-lift": partial(borrowed, name="relief-lift", maker=vessel.pressure_peak),
    "flags.relief-size": hazards_vessel.relief_size,
    "flags.hydraulic-lock": hazards_vessel.lock,
    "flags.vacuum": partial(borrowed, name="vacuum", maker=vessel.vacuum),
    "flags.trapped-liquid": hazards_vessel.trapped,
    "flags.panel-stress": hazards_vessel.panel,
    "flags.pick-up": pick_up,
    "flags.freeze": freeze,
    "flags.cavitation": hazards_flowing.cavitation,
    "flags.air-lock": hazards_flowing.air_lock,
    "flags.low-flow": hazards_flowing.low_flow,
    "flags.catalogue-flow": partial(borrowed, name="catalogue-flow", maker=flows.tank_flow),
    "flags.intake-net": partial(borrowed, name="intake-net", maker=duct.net),
    "flags.intake-mach": partial(
        borrowed, name="intake-mach", maker=pass_air.WORKINGS["intake.duct_mach_max"]
    ),
    "flags.intake-choke": partial(
        borrowed, name="intake-choke", maker=pass_air.WORKINGS["intake.choked"]
    ),
    "flags.intake-hot": partial(
        borrowed, name="intake-hot", maker=pass_air.WORKINGS["intake.heat_rise_K"]
    ),
    "flags.fuel-reference": fuel_reference,
    "flags.range": partial(_plain, name="range"),
    "flags.audit": partial(borrowed, name="audit", maker=account.residual),
}
"""Workings of the hazards' figures, by their names."""
