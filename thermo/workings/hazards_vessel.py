"""Working of the hazards of the tank as a vessel: relief, panel, trapped liquid, gas left."""

from __future__ import annotations

import numpy as np

from thermo.hazards.vessel import panel_load
from thermo.headspace import NO_RELIEF
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
from thermo.tank_shape import box_of
from thermo.trapped import compressibility, trapped_pressure_slope
from thermo.workings import vessel
from thermo.workings.bench import Bench
from thermo.workings.form import (
    Step,
    Working,
    by_hand,
    of,
    pure,
    read,
    step,
)
from thermo.workings.hazard_flag import told

ROARK = "Roark's Formulas for Stress and Strain, table 11.4 (from memory)"
STEAM_TABLE = "saturation of water, table fitted to CoolProp's IAPWS-95"


def relief_size(b: Bench) -> Working:
    """Working of the bore that passes the steam of the full heat."""
    tank, cold = b.tank, b.design.cold
    if tank.closure in NO_RELIEF:
        return told(b, "relief-size", [])
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
    return told(b, "relief-size", [
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
    return told(b, "panel-stress", steps)


def trapped(b: Bench) -> Working:
    """Working of the pressure rise of trapped liquid."""
    cold, t = b.design.cold, b.tank.start_temperature
    beta = pure("beta", cold.expansion_coefficient(t), "expansion coefficient", "1/K")
    kappa = pure("kappa", compressibility(t), "compressibility", "1/Pa")
    slope = pure("slope", trapped_pressure_slope(beta.value, kappa.value),
                 "pressure rise a kelvin of liquid shut in", "Pa/K")
    at = [of("T", t, "temperature", "tank water at the start")]
    return told(b, "trapped-liquid", [
        read("expansion coefficient", beta, f"density of {cold.name}, table from CoolProp", at),
        read("compressibility", kappa, "Kell (1975), from memory", at, "0 to 100 degC"),
        step("pressure rise a kelvin", "slope = beta/kappa", [beta, kappa], slope,
             "thermodynamic identity; rigid walls"),
    ])


def lock(b: Bench) -> Working:
    """Working of the gas left in the tank."""
    row = int(np.argmin(b.history.gas_volume))
    gas = of("V", b.history.gas_volume[row], "volume", f"least gas space, {b.when(row)}")
    share = step(
        "share of the tank that stays gas", "s = V/V_t",
        [gas, of("V_t", b.tank.volume, "volume", "volume of the tank")],
        pure("s", gas.value / b.tank.volume, "least gas over the tank's volume"), "definition",
    )
    return told(b, "hydraulic-lock",
                 [vessel.room_step(b, row, vessel.state_before(b, row)), share])
