"""Working of the figures of hazards: burns, flash, relief, panel, suction, pick-up and others."""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from thermo.air_clearing import air_clearing
from thermo.burns import CONTACT_CURVES, WATER_TABLE, contact_limit, contact_time, scald_time
from thermo.circuit import segment_drop
from thermo.figures import peak_of
from thermo.flash import flash_to_ambient
from thermo.free_surface import POSITIONS, surface_height
from thermo.hazards.breathing import FUEL_PRESSURE, UNREFERENCED
from thermo.hazards.flowing import LEAST_SPARE
from thermo.hazards.standing import FREEZE_MARGIN, pumped_accelerations
from thermo.hazards.vessel import panel_load
from thermo.headspace import NO_RELIEF
from thermo.hydraulics import npsh_available
from thermo.loop_flow import segment_of
from thermo.panel import EDGES, panel_stress
from thermo.relief import (
    DISCHARGE,
    STEAM_GAMMA,
    STEAM_GAS_CONSTANT,
    bore,
    critical_ratio,
    steam_area,
    steam_flux,
    steam_rate,
)
from thermo.results import Flag
from thermo.tank_shape import box_of
from thermo.trapped import compressibility, trapped_pressure_slope
from thermo.vehicle import STANDARD_GRAVITY
from thermo.workings import account, duct, flows, margins, pass_air, vessel
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

CPSC = "US CPSC publication 5098, adults; straight in the logarithm of time between rows"
ROARK = "Roark's Formulas for Stress and Strain, table 11.4 (from memory)"
STEAM_TABLE = "saturation of water, table fitted to CoolProp's IAPWS-95"


def flag_of(b: Bench, name: str) -> Flag:
    """Return the flag of a name."""
    return next(f for f in b.result.flags if f.name == name)


def figure(b: Bench, name: str) -> Symbol:
    """Return a flag's figure in the flag's own unit."""
    found = flag_of(b, name)
    return pure("figure", found.value, f"figure of the hazard '{name}'", found.unit)


def _told(b: Bench, name: str, steps: list[Step]) -> Working:
    found = flag_of(b, name)
    limit = "" if math.isnan(found.limit) else f"; held against {found.limit:.4g} {found.unit}"
    last = read(
        f"hazard '{name}': {found.level}", figure(b, name), f"{found.where}{limit}",
        note=f"{found.why[0].upper()}{found.why[1:]}.",
    )
    return Working("", f"hazard {name}", (*steps, last), figure(b, name))


def borrowed(b: Bench, name: str, maker: Callable[[Bench], Working | None]) -> Working:
    """Working of a hazard whose figure is one of the event's figures."""
    made = maker(b)
    told = _told(b, name, [])
    if made is None:
        return told
    return Working("", told.title, (*made.steps, *told.steps), told.computed, made.hand,
                   made.difference, made.cautions)


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
    return _told(b, name, [read("hottest water", t, SOLVER), *_scald_steps(t)])


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
    return _told(b, "touch", steps)


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
    return _told(b, "coolant-flash", [
        read("boiling point in the open", boils, STEAM_TABLE, [
            of("p", b.air.pressure, "pressure_absolute", "station pressure")]),
        read("enthalpy of the coolant", h1, source, [t]),
        read("enthalpy of boiling coolant", h2, source, [boils]),
        step("share that flashes", "x = max(0, (h1 - h2)/h_fg)", [h1, h2, latent],
             pure("x", flash_to_ambient(hot, t.value, b.air.pressure), "mass share"),
             "isenthalpic expansion", "shares below 0.1 for a mix"),
    ])


def relief_size(b: Bench) -> Working:
    """Working of the bore that passes the steam of the full heat."""
    tank, cold = b.tank, b.design.cold
    if tank.closure in NO_RELIEF:
        return _told(b, "relief-size", [])
    gauge = 0.0 if tank.closure == "vented" else tank.relief_pressure
    total = max(b.air.pressure + gauge, b.air.pressure + 2e3)
    p = of("p_t", total, "pressure_absolute", "pressure while it blows, 2 kPa gauge at the least")
    boils = of("T", cold.saturation_temperature(total), "temperature", "steam at that pressure")
    latent = of("h_fg", cold.latent_heat(boils.value), "specific_energy", "latent heat")
    heat = of("Q", b.cooling.full_heat, "power", "heat at full power")
    steam = of("m", steam_rate(heat.value, latent.value), "mass_flow", "steam to pass")
    back = of("p", b.air.pressure, "pressure_absolute", "station pressure")
    k = pure("k", STEAM_GAMMA, "isentropic exponent of wet steam (Zeuner)")
    choke = pure("r_c", critical_ratio(STEAM_GAMMA), "critical pressure ratio")
    ratio = pure("r", max(back.value / p.value, choke.value), "pressure ratio of the nozzle")
    flux = pure("G", steam_flux(p.value, boils.value, back.value), "steam flux", "kg/(m^2 s)")
    nozzle = "isentropic nozzle of a perfect gas (White, sect. 9.4, from memory)"
    area = of("A", steam_area(steam.value, p.value, boils.value, back.value), "area", "opening")
    return _told(b, "relief-size", [
        read("temperature of the steam", boils, STEAM_TABLE, [p]),
        step("steam of the full heat", "m = Q/h_fg", [heat, latent], steam, "heat balance"),
        step("critical ratio", "r_c = (2/(k + 1))^(k/(k - 1))", [k], choke, nozzle),
        step("pressure ratio", "r = max(p/p_t, r_c)", [back, p, choke], ratio, nozzle),
        step(
            "steam flux",
            "G = p_t*sqrt(2*k/((k - 1)*R*T)*(r^(2/k) - r^((k + 1)/k)))",
            [p, k, of("R", STEAM_GAS_CONSTANT, "specific_heat", "gas constant of steam"), boils,
             ratio],
            flux, nozzle, "1.2 to 10 bar within 5 %",
        ),
        step("opening", "A = m/(C*G)",
             [steam, pure("C", DISCHARGE.value, "discharge coefficient"), flux], area,
             DISCHARGE.basis, f"C {DISCHARGE.low:g} to {DISCHARGE.high:g}"),
        step("bore needed", "d = sqrt(4*A/pi)", [area],
             of("d", bore(area.value), "length", "bore needed"), "definition"),
    ])


def panel(b: Bench) -> Working:
    """Working of the stress of the largest panel."""
    tank = b.tank
    long, short = box_of(tank).panel
    load = of("q", panel_load(b.context), "pressure_difference",
              "pressure across it: highest of peak, vacuum and setting")
    sides = [of("b", short, "length", "short side"), of("t", tank.wall_thickness, "length",
             "thickness of the sheet")]
    steps: list[Step] = []
    for edges, words in (("clamped", "edges clamped, stress there"),
                         ("supported", "edges supported, stress in the middle")):
        name = edges[0]
        ratios, values = EDGES[edges]
        beta = pure(f"beta_{name}", float(np.interp(short / long, ratios, values)),
                    "coefficient of the table")
        stress = of(f"s_{name}", panel_stress(load.value, long, short, tank.wall_thickness, edges),
                    "stress", words)
        steps += [
            read(f"coefficient, {words}", beta, ROARK, [
                of("b", short, "length", "short side"), of("a", long, "length", "long side")]),
            step(f"stress, {words}", f"{stress.name} = {beta.name}*q*b^2/t^2",
                 [beta, load, *sides], stress, ROARK, "bow below half the thickness"),
        ]
    both = [steps[1].result, steps[3].result]
    larger = of("s", max(x.value for x in both), "stress", "larger of both")
    steps.append(step("stress", "s = max(s_c, s_s)", both, larger,
                      "a welded corner lies between the two kinds of edge"))
    steps.append(
        by_hand("stress allowed", "s_a = s_y/n",
                [of("s_y", tank.welded_yield, "stress", "yield beside a weld"),
                 pure("n", b.scenario.limits.yield_safety, "safety factor")],
                ("s_a", "stress", "stress allowed"), "aluminium design handbook (from memory)")
    )
    return _told(b, "panel-stress", steps)


def trapped(b: Bench) -> Working:
    """Working of the pressure rise of trapped liquid."""
    cold, t = b.design.cold, b.tank.start_temperature
    beta = pure("beta", cold.expansion_coefficient(t), "expansion coefficient", "1/K")
    kappa = pure("kappa", compressibility(t), "compressibility", "1/Pa")
    slope = pure("slope", trapped_pressure_slope(beta.value, kappa.value),
                 "pressure rise a kelvin of liquid shut in", "Pa/K")
    at = [of("T", t, "temperature", "tank water at the start")]
    return _told(b, "trapped-liquid", [
        read("expansion coefficient", beta, f"density of {cold.name}, table from CoolProp", at),
        read("compressibility", kappa, "Kell (1975), from memory", at, "0 to 100 degC"),
        step("pressure rise a kelvin", "slope = beta/kappa", [beta, kappa], slope,
             "thermodynamic identity; rigid walls"),
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
    made = _told(b, "pick-up", [
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
    return _told(b, "freeze", [limit, read("air", air, f"site.air_temperature, {READ}")])


def cavitation(b: Bench) -> Working:
    """Working of the suction head of the tank pump."""
    loop_, pump, cold = b.scenario.loop, b.scenario.loop.pump, b.design.cold
    if pump is None or loop_.flow is not None:
        return _told(b, "cavitation", [])
    t = float(peak_of(b.history.tank_out))
    line = segment_of(loop_.supply, "supply line")
    flow = of("Vc", b.cooling.cold_flow.flow_at(t), "volume_flow", "tank flow, hottest water drawn")
    rho = of("rho", cold.density(t), "density", f"{cold.name} at {t - 273.15:.1f} degC")
    loss = segment_drop(line, flow.value, rho.value, cold.viscosity(t))
    pv = of("pv", cold.saturation_pressure(t), "pressure_absolute", "vapour pressure of it")
    available = npsh_available(b.air.pressure, pv.value, rho.value, pump.below_surface, loss)
    steps = flows.segment_steps(line, 1, flow, cold, t)
    steps.append(
        step(
            "suction head available",
            "NPSH = (p - pv - dp1)/(rho*g) + z",
            [
                of("p", b.air.pressure, "pressure_absolute", "air over the tank; its own pressure "
                   "is not counted on"),
                pv,
                steps[-1].result,
                rho,
                of("g", STANDARD_GRAVITY, "acceleration", "gravity"),
                of("z", pump.below_surface, "length", "pump below the surface"),
            ],
            of("NPSH", available, "head", "suction head available"),
            "definition of net positive suction head",
            note=f"A high point of the lines should keep {LEAST_SPARE / 1e3:.0f} kPa over boiling.",
        )
    )
    return _told(b, "cavitation", steps)


def air_lock(b: Bench) -> Working:
    """Working of the speed that carries air down each falling line."""
    flow = b.cooling.cold_flow
    steps = [
        read(
            f"speed that clears air, {k.name}",
            of("v_n", k.needed, "speed", "speed needed; zero in a rising line"),
            "clearing velocity by bore and slope, published correlation for falling lines",
            [of("v", k.velocity, "speed", "speed in the line")],
        )
        for k in air_clearing(flow.circuit, flow.flow)
    ]
    return _told(b, "air-lock", steps)


def low_flow(b: Bench) -> Working:
    """Working of the rise of the tank water in one go through the exchanger."""
    found = flag_of(b, "low-flow")
    h = b.history
    if found.unit != "K" or math.isnan(found.at_s):
        return _told(b, "low-flow", [])
    row = int(np.argmin(np.abs(h.time - found.at_s)))
    if found.where == "coolant through the engine":
        return _told(b, "low-flow", [_engine_rise(b, row, found.value)])
    rise = step(
        "rise in one go through the exchanger", "dT = T_2 - T_1",
        [of("T_2", h.tank_in[row], "temperature", "end of the return line"),
         of("T_1", h.exchanger_in[row], "temperature", "exchanger's inlet")],
        of("dT", found.value, "temperature_difference", "rise"),
        SOLVER,
    )
    return _told(b, "low-flow", [rise])


def _engine_rise(b: Bench, row: int, value: float) -> Step:
    h, design = b.history, b.design
    t = float(h.coolant[row])
    return step(
        "rise in one go through the engine", "dT = G*(T_m - T_c)/(V*rho*cp)",
        [
            of("G", design.metal_conductance, "conductance", "metal to coolant, with flow"),
            of("T_m", h.metal[row], "temperature", "metal"),
            of("T_c", t, "temperature", "coolant"),
            of("V", h.hot_flow[row], "volume_flow", "coolant flow"),
            of("rho", design.hot.density(t), "density", "density of the coolant"),
            of("cp", design.hot.specific_heat(t), "specific_heat", "its specific heat"),
        ],
        of("dT", value, "temperature_difference", "rise"),
        "heat that the metal gives, over the flow's heat capacity rate",
    )


def too_cold(b: Bench) -> Working:
    """Working of the coldest coolant or oil before full throttle."""
    found = flag_of(b, "too-cold")
    t = of("T", found.value + 273.15, "temperature", found.where)
    return _told(b, "too-cold", [read("as full throttle is opened", t, SOLVER)])


def lock(b: Bench) -> Working:
    """Working of the gas left in the tank."""
    row = int(np.argmin(b.history.gas_volume))
    gas = of("V", b.history.gas_volume[row], "volume", f"least gas space, {b.when(row)}")
    share = step(
        "share of the tank that stays gas", "s = V/V_t",
        [gas, of("V_t", b.tank.volume, "volume", "volume of the tank")],
        pure("s", gas.value / b.tank.volume, "least gas over the tank's volume"), "definition",
    )
    return _told(b, "hydraulic-lock",
                 [vessel.room_step(b, row, vessel.state_before(b, row)), share])


def fuel_reference(b: Bench) -> Working:
    """Working of the fuel that goes missing as the plenum's pressure changes."""
    engine = b.scenario.engine
    if b.duct is None or engine.fuel_metering not in UNREFERENCED:
        return _told(b, "fuel-reference", [])
    pressure = engine.fuel_pressure or FUEL_PRESSURE[engine.fuel_metering]
    net = of("net", b.duct.net_Pa, "pressure_difference", "plenum less ambient")
    lean = step(
        "fuel missing", "x = 100*(1 - sqrt(max(1 - net/p_f, 0)))",
        [net, of("p_f", pressure, "pressure_difference", "across the jet or injector")],
        pure("x", flag_of(b, "fuel-reference").value, "fuel missing", "%"),
        "flow through a jet goes with the root of the pressure across it",
    )
    return _told(b, "fuel-reference", [lean])


def _plain(b: Bench, name: str) -> Working:
    return _told(b, name, [])


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
    "flags.relief-size": relief_size,
    "flags.hydraulic-lock": lock,
    "flags.vacuum": partial(borrowed, name="vacuum", maker=vessel.vacuum),
    "flags.trapped-liquid": trapped,
    "flags.panel-stress": panel,
    "flags.pick-up": pick_up,
    "flags.freeze": freeze,
    "flags.cavitation": cavitation,
    "flags.air-lock": air_lock,
    "flags.low-flow": low_flow,
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
