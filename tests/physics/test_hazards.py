"""Every hazard: a variant that raises it, one that leaves it clear, and its figure by hand.

Hand calculations use steam-table values and formulas typed here, not the engine's functions.
Steam table: IAPWS-IF97 as printed in the usual tables (saturation, density, latent heat).
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from thermo.cooling_run import audit_of, solve_cooling
from thermo.driving import drive_event
from thermo.figures import cooling_figures
from thermo.flags import AUDIT_PERCENT, Context, audit, decide
from thermo.intake_figures import intake_figures
from thermo.site_air import site_air
from tui.wording import localised

NAMES = (
    "coolant-boil", "leaking-cap", "after-boil", "flow-lost", "too-cold", "tank-scald",
    "line-scald", "coolant-flash", "touch", "relief-lift", "relief-size", "hydraulic-lock",
    "vacuum", "trapped-liquid", "panel-stress", "pick-up", "freeze", "cavitation", "air-lock",
    "low-flow", "catalogue-flow", "intake-net", "intake-mach", "intake-choke", "intake-hot",
    "fuel-reference", "range", "audit",
)
G = 9.80665
AMBIENT = 86.8e3
FLOW_TO_PUMP = (("flow = \"30 L/min\"\nflow_measured = true\n", ""),)
PUMP = 'loop.pump.curve=[["0 L/min", "6 m"], ["30 L/min", "5 m"], ["60 L/min", "1 m"]]'
HOT = "tank.start_temperature=60 degC"

# Saturation of water: kPa, degC.
SATURATION = ((85.0, 95.13), (90.0, 96.69), (100.0, 99.61), (125.0, 105.97), (150.0, 111.35),
              (175.0, 116.04), (200.0, 120.21), (225.0, 123.97))
# Liquid water: degC, kg/m3, vapour pressure kPa.
WATER = ((0.0, 999.8, 0.611), (10.0, 999.7, 1.228), (18.0, 998.6, 2.065), (20.0, 998.2, 2.339),
         (30.0, 995.6, 4.247), (35.0, 994.0, 5.629), (40.0, 992.2, 7.385), (45.0, 990.2, 9.595),
         (50.0, 988.0, 12.352), (60.0, 983.2, 19.946), (70.0, 977.8, 31.20), (80.0, 971.8, 47.41))


def boils(kilopascal):
    """Saturation temperature, degC, linear between the rows of the table."""
    return float(np.interp(kilopascal, *zip(*SATURATION, strict=True)))


def density(celsius):
    t, rho, _ = zip(*WATER, strict=True)
    return float(np.interp(celsius, t, rho))


def vapour(celsius):
    """Vapour pressure, kPa: linear in its logarithm over 1/T."""
    t, _, p = zip(*WATER, strict=True)
    inverse = [-1.0 / (x + 273.15) for x in t]
    return math.exp(float(np.interp(-1.0 / (celsius + 273.15), inverse, [math.log(x) for x in p])))


# Flag, level, scenario, overrides: what turns each hazard up.
RAISED = (
    ("coolant-boil", "caution", "base",
     ("coolant.cap_pressure=0 kPa", "coolant.start_temperature=82 degC")),
    ("coolant-boil", "danger", "base", ("exchanger.ua=200 W/K", "coolant.cap_pressure=20 kPa")),
    ("leaking-cap", "caution", "base", ("coolant.start_temperature=90 degC",)),
    ("after-boil", "caution", "hot_day", ("leg[1].coolant_pump=false",)),
    ("after-boil", "danger", "base", ("exchanger.ua=0 W/K",)),
    ("flow-lost", "caution", "hot_day", ()),
    ("too-cold", "caution", "base", ("coolant.start_temperature=60 degC",)),
    ("tank-scald", "caution", "base", (HOT,)),
    ("tank-scald", "danger", "base", (HOT, "tank.barrier=none")),
    ("line-scald", "caution", "base", (HOT,)),
    ("line-scald", "danger", "base", (HOT, "loop.return.barrier=none")),
    ("coolant-flash", "caution", "overreach", ()),
    ("touch", "caution", "base", (HOT,)),
    ("relief-lift", "caution", "base", ("tank.relief_pressure=10 kPa",)),
    ("relief-lift", "danger", "base",
     ("tank.relief_pressure=10 kPa", "tank.relief_faces_driver=true")),
    ("relief-size", "caution", "base", ("tank.relief_bore=6 mm",)),
    ("relief-size", "danger", "base", ("tank.closure=sealed",)),
    ("hydraulic-lock", "caution", "base", ("tank.fill=0.99",)),
    ("hydraulic-lock", "danger", "base", ("tank.fill=1.0", "tank.closure=sealed")),
    ("vacuum", "caution", "base", (HOT,)),
    ("trapped-liquid", "danger", "base", ("loop.supply.shut_both_ends=true",)),
    ("panel-stress", "caution", "base", ("tank.panel_long=200 mm", "tank.panel_short=140 mm")),
    ("panel-stress", "danger", "base", ("tank.wall_thickness=1 mm",)),
    ("pick-up", "caution", "base", ("tank.fill=0.2", "tank.outlet=front")),
    ("freeze", "caution", "base", ("site.air_temperature=-2 degC",)),
    ("air-lock", "caution", "base", ("loop.flow=10 L/min", "loop.bleed=false")),
    ("low-flow", "caution", "hot_day", ("loop.flow=15 L/min",)),
    ("low-flow", "danger", "base", ("loop.flow=0 L/min",)),
    ("catalogue-flow", "caution", "base", ("loop.flow_measured=false",)),
    ("intake-net", "caution", "base", ("intake.part[1].bore=35 mm",)),
    ("intake-mach", "caution", "base",
     ("intake.part[0].bore=27 mm", "intake.part[1].bore=27 mm")),
    ("intake-choke", "danger", "base",
     ("intake.part[0].bore=12 mm", "intake.part[1].bore=12 mm")),
    ("intake-hot", "caution", "base", ("intake.wall_temperature=90 degC",)),
    ("fuel-reference", "caution", "base",
     ("engine.fuel_metering=vented-bowl", "engine.fuel_pressure=20 kPa")),
    ("fuel-reference", "danger", "base",
     ("engine.fuel_metering=unreferenced-regulator", "engine.fuel_pressure=5 kPa")),
    ("range", "caution", "overreach", ()),
)


def test_base_shows_all_hazards_and_all_are_clear(solve_with):
    result = solve_with("base")
    assert tuple(flag.name for flag in result.flags) == NAMES
    assert {flag.level for flag in result.flags} == {"clear"}
    assert result.verdict == "clear"


def test_every_hazard_but_two_has_a_variant_that_raises_it():
    # cavitation needs a scenario with a pump curve, audit a doctored account: both below.
    assert set(NAMES) - {row[0] for row in RAISED} == {"cavitation", "audit"}


@pytest.mark.parametrize(("name", "level", "scenario", "overrides"), RAISED,
                         ids=[f"{r[0]}-{r[1]}" for r in RAISED])
def test_hazard_is_raised(solve_with, flag_of, name, level, scenario, overrides):
    result = solve_with(scenario, *overrides)
    flag = flag_of(result, name)
    assert flag.level == level
    rank = ("clear", "caution", "danger")
    assert rank.index(result.verdict) >= rank.index(level)
    assert flag.where
    assert flag.why
    assert flag.remedy not in ("", "nothing")


def test_boil_margin_from_the_steam_table(solve_with, flag_of):
    flag = flag_of(solve_with("base"), "coolant-boil")
    assert flag.value == pytest.approx(boils(176.8) - 75.0 - 10.0, abs=0.1)
    low = flag_of(solve_with("base", "coolant.cap_pressure=0 kPa",
                             "coolant.start_temperature=82 degC"), "coolant-boil")
    assert low.value == pytest.approx(boils(86.8) - 82.0 - 10.0, abs=0.1)


def test_leaking_cap_from_the_steam_table(solve_with, flag_of):
    leaks = flag_of(solve_with("base"), "leaking-cap")
    assert leaks.value == pytest.approx(boils(86.8) - 75.0 - 10.0, abs=0.1)
    holds = flag_of(solve_with("base", "coolant.leaking_cap_pressure=40 kPa"), "leaking-cap")
    assert holds.value == pytest.approx(boils(126.8) - 75.0 - 10.0, abs=0.1)


def test_after_boil_is_the_mean_of_metal_and_jacket(solve_with, flag_of):
    result = solve_with("base", "leg[1].coolant_pump=false")
    flag, h = flag_of(result, "after-boil"), result.history
    row = int(np.argmin(np.abs(h.time - flag.at_s)))
    metal, jacket = 22e3, 4e-3 * 974.8 * 4193.0  # J/K; water at 75 degC
    shared = (metal * h.metal[row] + jacket * h.coolant[row]) / (metal + jacket) - 273.15
    assert flag.value == pytest.approx(boils(176.8) - shared, abs=0.15)
    assert flag.value == pytest.approx(result.cooling.shut_off_at_finish_margin_K, abs=0.2)


def test_seconds_to_boil_by_small_steps(solve_with, flag_of):
    result = solve_with("hot_day")
    flag, h = flag_of(result, "flow-lost"), result.history
    row = int(np.argmin(np.abs(h.time - flag.at_s)))
    metal, heat, excess = 40e3, 0.75 * 130e3, 35.0
    jacket = 7e-3 * 1010.6 * 3780.0  # 30 % ethylene glycol: 1010.6 kg/m3 filled at 82 degC
    tm, tj, t, step = float(h.metal[row]), float(h.coolant[row]), 0.0, 0.01
    while tj < float(h.boil_temperature[row]):
        flow = heat / excess * (tm - tj)
        tm += step * (heat - flow) / metal
        tj += step * flow / jacket
        t += step
    assert flag.value == pytest.approx(t, rel=0.04)
    assert flag.limit == 10.0


def test_too_cold_names_coolant_or_oil(solve_with, flag_of):
    coolant = flag_of(solve_with("base", "coolant.start_temperature=60 degC"), "too-cold")
    assert (coolant.value, coolant.limit) == (pytest.approx(60.0, abs=0.01), pytest.approx(70.0))
    oil = flag_of(solve_with("base", "engine.oil_start_temperature=20 degC"), "too-cold")
    assert (oil.value, oil.limit) == (pytest.approx(20.0, abs=0.01), pytest.approx(60.0))
    assert "oil" in oil.where


def test_burn_time_in_the_words_from_the_published_rows(solve_with, flag_of):
    flag = flag_of(solve_with("base", "tank.start_temperature=40 degC"), "tank-scald")
    assert 54.4 < flag.value < 60.0
    seconds = 30.0 * (6.0 / 30.0) ** ((flag.value - 54.4) / (60.0 - 54.4))
    digits = 1 if seconds < 10.0 else 0
    assert f"{seconds:.{digits}f} s" in flag.why
    hot = flag_of(solve_with("base", HOT), "tank-scald")
    assert hot.value > 65.6
    assert "under 2 s" in hot.why


@pytest.mark.parametrize(("barrier", "level"), [
    ("none", "danger"), ("sleeve", "caution"), ("outside", "clear")])
def test_line_barrier_sets_the_level(solve_with, flag_of, barrier, level):
    result = solve_with("base", HOT, f"loop.supply.barrier={barrier}",
                        f"loop.return.barrier={barrier}")
    assert flag_of(result, "line-scald").level == level


def test_flash_share_from_enthalpies(solve_with, flag_of):
    # liquid 116.35 to 95.69 degC, mean specific heat 4.226 kJ/kg K; latent heat 2268.7 kJ/kg
    flag = flag_of(solve_with("overreach"), "coolant-flash")
    assert flag.value == pytest.approx(100.0 * 4.226 * (116.35 - 95.69) / 2268.7, rel=0.005)


def test_touch_watches_bare_lines(solve_with, flag_of):
    sleeved = flag_of(solve_with("base", "limits.touch=44 degC"), "touch")
    bare = flag_of(solve_with("base", "limits.touch=44 degC", "loop.return.barrier=none"), "touch")
    assert (sleeved.level, bare.level) == ("clear", "caution")
    assert bare.value == pytest.approx(solve_with("base").cooling.return_line_peak_degC, abs=0.05)


def test_tank_pressure_from_dry_gas_and_vapour(solve_with, flag_of):
    result = solve_with("base")
    flag, hot = flag_of(result, "relief-lift"), result.cooling.tank_peak_degC
    gas, water = 38.0 * 0.15, 38.0 * 0.85 + 2 * 3.67e3 * math.pi / 4 * 0.025**2
    left = gas - water * (998.6 / density(hot) - 1.0)
    dry = (86.8 - vapour(18.0)) * gas / left * (hot + 273.15) / 291.15
    assert flag.value == pytest.approx(dry + vapour(hot) - 86.8, abs=0.2)


def test_relief_bore_by_napiers_rule(solve_with, flag_of):
    # Napier: lb/s through 1 in2 = psia/70, good once the flow chokes; latent heat at 186.8 kPa.
    flag = flag_of(solve_with("base", "tank.relief_pressure=100 kPa"), "relief-size")
    steam = 41.25 / 2207.8
    flux = 186.8 / 6.894757 / 70.0 * 0.45359237 / 645.16e-6
    assert flag.limit == pytest.approx(
        1e3 * math.sqrt(4.0 * steam / (0.62 * flux) / math.pi), rel=0.03)
    assert flag.value == pytest.approx(16.0)


def test_a_vented_tank_is_told_of_its_vent_and_not_of_a_relief(solve_with, flag_of):
    flag = flag_of(solve_with("base", "tank.closure=vented", "tank.relief_bore=10 mm"),
                   "relief-size")
    assert (flag.level, flag.where) == ("caution", "tank vent")
    assert "relief" not in flag.why + flag.remedy

BOILING_VENT = ("tank.closure=vented", "tank.volume=6 L", HOT, "tank.relief_bore=16 mm",
                "engine.heat_share=1.05")


def test_a_vented_tank_that_boils_is_told_of_the_steam(solve_with, flag_of):
    result = solve_with("base", *BOILING_VENT)
    # a vent holds nothing: the water cannot be hotter than it boils at the station's pressure
    assert result.cooling.tank_peak_degC == pytest.approx(boils(86.8), abs=0.1)
    assert flag_of(result, "relief-lift").level == "caution"
    steam = result.history.tank_mass[0] - result.history.tank_mass[-1]
    assert f"{steam:.2f} kg of it leaves as steam" in flag_of(result, "relief-lift").why
    # with no relief to lift first, a vent too small is one that steam is already pressing on
    assert flag_of(result, "relief-size").level == "danger"
    facing = solve_with("base", *BOILING_VENT, "tank.relief_faces_driver=true")
    assert flag_of(facing, "relief-lift").level == "danger"
    assert flag_of(solve_with("base", *BOILING_VENT[:1]), "relief-lift").level == "clear"


def test_the_coolant_is_not_charged_with_the_steam_of_the_tank(solve_with, flag_of):
    result = solve_with("base", *BOILING_VENT, "tank.volume=4 L", "coolant.volume=2 L",
                        "engine.heat_share=1.5")
    of_coolant = result.history.jacket_mass[0] - result.history.jacket_mass[-1]
    assert 0.0 < of_coolant < result.cooling.steam_lost_kg - 0.01
    assert f"{of_coolant:.2f} kg of it leaves" in flag_of(result, "coolant-boil").why


TWO_PASSES = '''
[[leg]]
kind = "full-power"
distance = "3200 m"
start_speed = "13 m/s"
[[leg]]
kind = "coast"
duration = "45 s"
coolant_pump = false
[[leg]]
kind = "service"
duration = "20 min"
[[leg]]
kind = "full-power"
name = "back"
distance = "3200 m"
start_speed = "13 m/s"
[[leg]]
kind = "coast"
name = "coast back"
duration = "45 s"
coolant_pump = false
'''


def test_the_next_pass_is_no_run_on_of_the_one_before(solve_with, flag_of):
    plan = "limits.caution_margin=45 K"
    found = flag_of(solve_with("base", plan, legs=TWO_PASSES), "after-boil")
    assert found.level == "caution"
    # the flow comes back only with the second pass, 20 min later: no advice can rest on that
    assert "longer than this plan does" in found.remedy
    crank = flag_of(solve_with("base", plan, "coolant.drive=crank", legs=TWO_PASSES), "after-boil")
    assert "keep the engine idling" in crank.remedy


def test_figures_inside_the_words_hold_on_the_safe_side(solve_with, flag_of):
    result = solve_with("hot_day")
    words = flag_of(result, "relief-lift").remedy
    wanted, now = (float(words.split(" L")[i].split()[-1]) for i in (0, 1))
    assert result.cooling.headspace_needed_m3 * 1e3 <= wanted < now + 0.26
    assert now == pytest.approx(4.6, abs=0.005)
    panel = flag_of(solve_with("base", "tank.relief_pressure=7 psi", "tank.panel_long=400 mm",
                               "tank.panel_short=300 mm"), "panel-stress")
    assert "at 48.26 kPa" in panel.why  # 7 psi, NIST SP 811: 48.26 kPa
    assert "at 7 psi" in localised(panel.why, "us")
    assert flag_of(solve_with("base", "exchanger.ua=900 W/K"), "after-boil").level == "clear"
    late = solve_with("base", "limits.caution_margin=60 K")
    finish = late.cooling.shut_off_at_finish_margin_K
    assert f"would be {finish:.1f} K" in flag_of(late, "after-boil").why


def test_a_tank_pump_that_stands_while_the_coolant_boils_is_named(solve_with, flag_of):
    legs = TWO_PASSES.split("[[leg]]\nkind = \"service\"")[0].replace("coolant_pump", "tank_pump")
    still = flag_of(solve_with("base", "engine.metal_excess=100 K", legs=legs), "coolant-boil")
    assert still.remedy.startswith("the tank pump on while the coolant is hot; more tank water")
    assert flag_of(solve_with("hot_day"), "coolant-boil").remedy.startswith("more tank water")


def test_an_unmeasured_flow_is_told_by_its_own_figure(solve_with, flag_of):
    found = flag_of(solve_with("base", "coolant.flow_measured=false"), "catalogue-flow")
    assert "coolant.flow, 55 L/min" in found.why


def test_gas_left_by_densities(solve_with, flag_of):
    result = solve_with("base", "tank.fill=0.99")
    hot = result.cooling.tank_peak_degC
    water = 37.62 + 2 * 3.67e3 * math.pi / 4 * 0.025**2
    left = 0.38 - water * (998.6 / density(hot) - 1.0)
    flag = flag_of(result, "hydraulic-lock")
    assert flag.value == pytest.approx(100.0 * left / 38.0, abs=0.06)


def test_rigid_full_tank_rises_by_five_to_fourteen_bar_a_kelvin(solve_with):
    result = solve_with("base", "tank.fill=1.0", "tank.closure=sealed")
    rise = result.cooling.tank_peak_degC - 18.0
    assert 3.0 < result.cooling.tank_pressure_peak_Pa / 1e5 / rise < 14.0


def test_vacuum_after_cooling_of_a_tank_sealed_hot(solve_with, flag_of):
    flag = flag_of(solve_with("base", HOT), "vacuum")
    gas, water = 5.7, 32.3 + 2 * 3.67e3 * math.pi / 4 * 0.025**2
    room = gas + water * (1.0 - density(60.0) / density(20.0))
    dry = (86.8 - vapour(60.0)) * gas / room * 293.15 / 333.15
    assert flag.value == pytest.approx(dry + vapour(20.0) - 86.8, abs=0.4)


def test_vacuum_counts_the_event_itself(solve_with, flag_of):
    # Ice cools the gas below the air outside: the deepest vacuum is during the event.
    result = solve_with("base", "tank.ice_mass=20 kg", "tank.strainer=true")
    flag = flag_of(result, "vacuum")
    assert flag.value <= float(np.min(result.history.tank_pressure)) / 1e3 + 0.01


def test_trapped_liquid_slope(solve_with, flag_of):
    # water at 18 degC: expansion 1.86e-4 1/K, compressibility 4.62e-10 1/Pa
    flag = flag_of(solve_with("base", "loop.supply.shut_both_ends=true"), "trapped-liquid")
    assert flag.value == pytest.approx(1.86e-4 / 4.62e-10 / 1e5, rel=0.02)
    assert "supply" in flag.where


def test_panel_stress_by_roark(solve_with, flag_of):
    # Roark table 11.4, sides 1.4 to 1: supported 0.4530, clamped 0.4356; 50 kPa, 120/3 mm.
    flag = flag_of(solve_with("base", "tank.panel_long=168 mm", "tank.panel_short=120 mm"),
                   "panel-stress")
    assert flag.value == pytest.approx(0.4530 * 0.050 * 40.0**2, rel=1e-3)
    assert flag.limit == pytest.approx(65.0 / 1.5, rel=1e-6)


def test_pick_up_depth_from_the_tilt(solve_with, flag_of):
    # Grip holds at the push-off: force 0.5 x 250 kg, less rolling and drag, over 1.06 x 430 kg.
    air = 86.8e3 / (287.05 * 293.15)
    force = 0.5 * 250.0 * G - 0.022 * 430.0 * G - 0.5 * air * 0.17 * 13.0**2
    tilt = force / (1.06 * 430.0) / G
    flag = flag_of(solve_with("base", "tank.fill=0.3", "tank.outlet=front"), "pick-up")
    assert flag.value == pytest.approx(1e3 * (0.3 * 0.30 - 0.5 * 0.42 * tilt), abs=1.0)


def test_pick_up_wants_a_strainer_with_ice(solve_with, flag_of):
    ice = "tank.ice_mass=2 kg"
    assert flag_of(solve_with("base", ice), "pick-up").level == "caution"
    assert flag_of(solve_with("base", ice, "tank.strainer=true"), "pick-up").level == "clear"


def test_freezing_looks_at_the_liquid_that_freezes_first(solve_with, flag_of):
    cold = "site.air_temperature=-2 degC"
    assert flag_of(solve_with("base", cold), "freeze").value == pytest.approx(-2.0)
    both = ("tank.glycol=ethylene", "tank.glycol_fraction=0.3")
    still = flag_of(solve_with("base", cold, *both), "freeze")
    assert (still.level, still.where) == ("caution", "engine jacket")
    safe = flag_of(solve_with("base", cold, *both, "coolant.glycol=ethylene",
                              "coolant.glycol_fraction=0.3"), "freeze")
    assert safe.level == "clear"
    # ASHRAE table, by volume: 29.6 % -15.4 degC, 30.6 % -16.2 degC (from memory)
    assert safe.limit - 3.0 == pytest.approx(-15.7, abs=0.5)


def suction_head(flow, celsius, below):
    """Net positive suction head, m: Darcy with Haaland's factor, fixed loss 1.5."""
    rho, mu = density(celsius), {18.0: 1.05e-3, 60.0: 0.466e-3}[celsius]
    v = flow / (math.pi / 4 * 0.025**2)
    re = rho * v * 0.025 / mu
    f = (-1.8 * math.log10((1e-5 / 0.025 / 3.7) ** 1.11 + 6.9 / re)) ** -2
    loss = (f * 3.67 / 0.025 + 1.5) * v * v / (2 * G)
    return (86.8 - vapour(celsius)) * 1e3 / (rho * G) + below - loss


def test_cavitation_by_hand(solve_with, flag_of):
    legs = '[[leg]]\nkind = "full-power"\nduration = "0.2 s"\nstart_speed = "13 m/s"\n'
    result = solve_with("base", PUMP, legs=legs, edits=FLOW_TO_PUMP)
    flag = flag_of(result, "cavitation")
    assert flag.level == "clear"
    wanted = suction_head(result.cooling.tank_flow_m3_per_s, 18.0, 0.1)
    assert flag.value == pytest.approx(wanted, abs=0.03)


@pytest.mark.parametrize(("required", "level"), [("3 m", "clear"), ("4.5 m", "caution")])
def test_cavitation_margin(solve_with, flag_of, required, level):
    result = solve_with("base", PUMP, HOT, f"loop.pump.npsh_required={required}",
                        edits=FLOW_TO_PUMP)
    flag = flag_of(result, "cavitation")
    assert flag.level == level
    assert flag.limit == pytest.approx(float(required.split()[0]))


def test_pump_curve_is_no_catalogue_flow(solve_with, flag_of):
    result = solve_with("base", PUMP, edits=FLOW_TO_PUMP)
    assert flag_of(result, "catalogue-flow").level == "clear"


def test_air_lock_speed(solve_with, flag_of):
    flag = flag_of(solve_with("base", "loop.flow=10 L/min", "loop.bleed=false"), "air-lock")
    assert flag.limit == pytest.approx(0.825 * math.sqrt(G * 0.025), rel=1e-4)
    assert flag.value == pytest.approx(10e-3 / 60 / (math.pi / 4 * 0.025**2), rel=1e-6)
    bled = flag_of(solve_with("base", "loop.flow=10 L/min"), "air-lock")
    assert bled.level == "clear"


def test_low_flow_is_the_rise_of_one_go(solve_with, flag_of):
    result = solve_with("base", "coolant.flow=90 L/min")
    flag, h = flag_of(result, "low-flow"), result.history
    row = int(np.argmin(np.abs(h.time - flag.at_s)))
    flow = 30e-3 / 60 * density(float(h.tank_out[row]) - 273.15)
    assert flag.value == pytest.approx(float(h.exchanger_heat[row]) / (flow * 4180.0), rel=0.03)


def test_nose_gain_by_the_isentropic_formula(solve_with, flag_of):
    result = solve_with("base")
    mach = result.cooling.pass_top_speed_m_per_s / math.sqrt(1.4 * 287.05 * 293.15)
    gain = AMBIENT * ((1.0 + 0.2 * mach**2) ** 3.5 - 1.0)
    assert result.intake.ram_gain_Pa == pytest.approx(gain, rel=2e-3)
    flag = flag_of(result, "intake-net")
    assert flag.value == pytest.approx(gain - result.intake.duct_loss_Pa, rel=4e-3)


def test_mach_from_continuity(solve_with, flag_of):
    bores = ("intake.part[0].bore=27 mm", "intake.part[1].bore=27 mm")
    result = solve_with("base", *bores)
    last = next(s for s in result.intake.stations if s.name == "frame tube")
    t0 = last.stagnation_temperature
    rho = last.static_pressure / (287.05 * t0 / (1.0 + 0.2 * last.mach**2))
    speed = result.intake.air_flow_kg_per_s / (rho * math.pi / 4 * 0.027**2)
    t = t0 / (1.0 + 0.2 * last.mach**2)
    assert last.mach == pytest.approx(speed / math.sqrt(1.4 * 287.05 * t), rel=3e-3)
    assert flag_of(result, "intake-mach").value >= last.mach - 1e-6


def test_choked_flow_stays_under_the_ideal_nozzle(solve_with, flag_of):
    result = solve_with("base", "intake.part[0].bore=12 mm", "intake.part[1].bore=12 mm")
    flag = flag_of(result, "intake-choke")
    p0, t0 = AMBIENT + result.intake.ram_gain_Pa, 293.15 + result.intake.speed_m_per_s**2 / 2010.0
    ideal = 0.0404184 * p0 * math.pi / 4 * 0.012**2 / math.sqrt(t0)
    assert flag.value == pytest.approx(flag.limit, rel=1e-3)
    assert 0.3 * ideal < flag.limit < ideal


def test_lean_share_by_the_root_of_the_pressure_left(solve_with, flag_of):
    result = solve_with("base", "engine.fuel_metering=vented-bowl", "engine.fuel_pressure=20 kPa")
    lean = 100.0 * (1.0 - math.sqrt(1.0 - result.intake.net_Pa / 20e3))
    assert flag_of(result, "fuel-reference").value == pytest.approx(lean, rel=1e-6)
    for follows in ("referenced", "mass-metered"):
        met = solve_with("base", f"engine.fuel_metering={follows}", "engine.fuel_pressure=20 kPa")
        assert flag_of(met, "fuel-reference").level == "clear"


def test_no_duct_clears_the_intake_flags(scenario_with):
    from thermo.event import solve

    bare = scenario_with("base").model_copy(update={"intake": None})
    result = solve(bare)
    assert result.intake is None
    assert {f.level for f in result.flags if f.name.startswith(("intake", "fuel"))} == {"clear"}


def doctored(scenario, residual):
    """Return the context of an event whose account is made to miss a share."""
    air = site_air(scenario)
    driving = drive_event(scenario, air)
    solved = solve_cooling(scenario, air, driving)
    account = replace(audit_of(solved), residual_fraction=residual)
    return Context(scenario, air, driving, solved,
                   cooling_figures(scenario, air, driving, solved, {}),
                   intake_figures(scenario, air, driving), account)


@pytest.mark.parametrize(("residual", "level"), [
    (0.0049, "clear"), (-0.0049, "clear"), (0.0051, "danger"), (-0.0051, "danger"),
    (math.nan, "danger")])
def test_audit_refuses_an_account_that_does_not_close(scenario_with, residual, level):
    flag = audit(doctored(scenario_with("base"), residual))
    assert flag.level == level
    assert flag.limit == AUDIT_PERCENT == 0.5


def test_no_verdict_is_never_clear(solve_with):
    flags = solve_with("base").flags
    verdict, _ = decide(flags, ("the energy account does not close",))
    assert verdict == "no verdict"


@pytest.mark.parametrize(("closure", "precharge"), [("sealed", 0.0), ("bladder", 14.0)])
def test_a_tank_without_relief_with_the_headspace_it_needs_holds_what_it_may_see(
    solve_with, flag_of, closure, precharge
):
    extra = f"tank.closure={closure}", f"tank.precharge={precharge} kPa"
    first = solve_with("base", *extra)
    water = 0.85 * 38.0
    volume = water + 1e3 * first.cooling.headspace_needed_m3
    again = solve_with("base", *extra, f"tank.volume={volume} L", f"tank.fill={water / volume}")
    found = flag_of(again, "relief-lift")
    assert found.limit == pytest.approx(20.0 + precharge)
    assert found.value == pytest.approx(found.limit, rel=0.01)


def test_lines_outside_the_cockpit_have_no_limit_that_they_pass_while_clear(solve_with, flag_of):
    outside = "loop.supply.barrier=outside", "loop.return.barrier=outside"
    found = flag_of(solve_with("base", HOT, *outside), "line-scald")
    assert found.level == "clear"
    assert found.value > 49.0  # US CPSC 5098: a burn through the skin in 5 min
    assert math.isnan(found.limit)
    assert "outside the cockpit" in found.where


def test_a_sealed_bulkhead_is_not_the_first_thing_to_fit_where_there_is_one(solve_with, flag_of):
    bare = flag_of(solve_with("base", HOT, "tank.barrier=none"), "tank-scald").remedy
    behind = flag_of(solve_with("base", HOT, "tank.barrier=bulkhead"), "tank-scald").remedy
    assert bare.startswith("a sealed bulkhead")
    assert behind.startswith("more or colder water")
