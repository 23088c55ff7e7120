"""Working of what the engine makes of the duct's air: flow, power, density, drag, pulses."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermo.air_demand import power_ratio
from thermo.delivered import Delivered
from thermo.intake import PLENUM_PER_DISPLACEMENT
from thermo.ops import most
from thermo.pulsation import induction_frequency, plenum_frequency
from thermo.workings.bench import Bench
from thermo.workings.duct import AGREED, MARCH, ambient, net_steps, parts_of, plenum_of
from thermo.workings.form import READ, Step, Working, of, pure, read, step

J1349 = "SAE J1349 (2004), 85 % mechanical efficiency"


def air_flow(b: Bench) -> Working | None:
    """Working of the air that the engine draws."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, at = found
    m = of("m", duct.air_flow_kg_per_s, "mass_flow", "air flow")
    if duct.choked_timed:
        most_flow = read("choked duct", m, MARCH, note="The duct passes so much and no more.")
        return Working("", "air flow", (most_flow,), m)
    plenum, kelvin = plenum_of(at), of("T_pl", at.temperature[0], "temperature", "in the plenum")
    v = np.array([duct.speed_m_per_s])
    engine = model.engine
    if model.table.demand == "displacement":
        demand: Any = model.demand(v)
        turns = float(np.asarray(model.turns(v))[0])
        last = step(
            "air drawn by displacement",
            "m = eta*dens*p_pl/(R*T_pl)*V_d*n*2/strokes",
            [
                pure("eta", engine.volumetric_efficiency, "volumetric efficiency"),
                pure("dens", demand.charge_density, "density behind the charger over before"),
                plenum,
                of("R", b.air.gas_constant, "specific_heat", "gas constant of the air"),
                kelvin,
                of("V_d", engine.displacement, "volume", "displacement"),
                of("n", turns, "rotational_speed", "engine speed"),
                pure("strokes", engine.strokes, "strokes a cycle"),
            ],
            m,
            "Heywood eq. 2.27 (from memory)",
            note=AGREED,
        )
        return Working("", "air flow", (last,), m)
    power = of("P", np.asarray(model.base_power(v))[0], "power", "brake power here, without ram")
    fuel = [
        of("bsfc", model.specific_consumption, "specific_consumption", "fuel over brake work"),
        pure("AFR", model.air_fuel_ratio, "air over fuel by mass"),
    ]
    if not engine.ram_to_power:
        last = step("air drawn by power", "m = P*bsfc*AFR", [power, *fuel], m,
                    "definition of consumption and air-fuel ratio")
        return Working("", "air flow", (last,), m)
    ratio = _ratio_step(b, at, "x", float(np.asarray(power_ratio(
        at.pressure, at.temperature, b.air.pressure, b.air.temperature))[0]))
    last = step("air drawn by power", "m = P*x*bsfc*AFR", [power, ratio.result, *fuel], m,
                "definition of consumption and air-fuel ratio", note=AGREED)
    return Working("", "air flow", (ratio, last), m)


def _ratio_step(b: Bench, at: Delivered, name: str, value: float) -> Step:
    return step(
        "power with that air over power with still air",
        f"{name} = 1.18*p_pl/p*sqrt(T/T_pl) - 0.18",
        [
            plenum_of(at),
            ambient(b),
            of("T", b.air.temperature, "temperature", "still air"),
            of("T_pl", at.temperature[0], "temperature", "in the plenum"),
        ],
        pure(name, value, "power over that with still air"),
        J1349,
        "ratio 0.93 to 1.07; beyond, an extrapolation",
    )


def ratio_of_power(b: Bench) -> Working | None:
    """Working of the power against still air."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, at = found
    x = pure("x", duct.power_ratio, "power over that with still air")
    if duct.choked_timed or not model.engine.ram_to_power:
        words = (
            "the duct is choked: power follows the air that passes"
            if duct.choked_timed
            else f"engine.ram_to_power is off, {READ}"
        )
        return Working("", "power, against still air", (read("power ratio", x, words),), x)
    last = _ratio_step(b, at, "x", duct.power_ratio)
    over = f"{duct.power_ratio:.3f} lies outside the 0.93 to 1.07 of SAE J1349"
    cautions = () if 0.93 <= duct.power_ratio <= 1.07 else (over,)
    return Working("", "power, against still air", (*net_steps(b, at, duct.net_Pa), last), x,
                   cautions=cautions)


def ratio_to_bonnet(b: Bench) -> Working | None:
    """Working of the power against an inlet in under-bonnet air."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, _ = found
    warm = b.air.temperature + model.table.bonnet_excess
    usual = pure("y", power_ratio(b.air.pressure, warm, b.air.pressure, b.air.temperature),
                 "power with under-bonnet air over that with still air")
    first = step(
        "power with under-bonnet air",
        "y = 1.18*sqrt(T/(T + dT)) - 0.18",
        [
            of("T", b.air.temperature, "temperature", "still air"),
            of("dT", model.table.bonnet_excess, "temperature_difference",
               "warmth under the bonnet"),
        ],
        usual,
        J1349,
    )
    x = pure("x", duct.power_ratio, "power over that with still air")
    z = pure("z", duct.power_ratio_to_bonnet_inlet, "power over that with under-bonnet air")
    last = step("power against under-bonnet air", "z = x/y", [x, usual], z, "definition")
    return Working("", "power, against under-bonnet air", (first, last), z)


def density_ratio(b: Bench) -> Working | None:
    """Working of the density in the plenum over that of still air."""
    found = parts_of(b)
    if found is None:
        return None
    duct, _, at = found
    d = pure("d", duct.density_ratio, "density in the plenum over that of still air")
    last = step(
        "density ratio", "d = p_pl/T_pl*T/p",
        [
            plenum_of(at),
            of("T_pl", at.temperature[0], "temperature", "in the plenum"),
            of("T", b.air.temperature, "temperature", "still air"),
            ambient(b),
        ],
        d,
        "ideal gas law",
    )
    return Working("", "density ratio", (*net_steps(b, at, duct.net_Pa), last), d)


def momentum_drag(b: Bench) -> Working | None:
    """Working of the drag of the captured air."""
    if b.duct is None:
        return None
    drag = of("D", b.duct.momentum_drag_N, "force", "momentum drag of the air taken in")
    last = step(
        "momentum drag", "D = m*(V + W)",
        [
            of("m", b.duct.air_flow_kg_per_s, "mass_flow", "air flow"),
            of("V", b.duct.speed_m_per_s, "speed", "car speed"),
            of("W", b.scenario.site.head_wind, "speed", "head wind"),
        ],
        drag,
        "momentum balance; any inlet pays it",
    )
    return Working("", "momentum drag", (last,), drag)


def pulsation(b: Bench) -> Working | None:
    """Working of the factor by which a pulsing draw multiplies losses."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, _ = found
    factor = pure("F", duct.pulsation_factor, "factor on every loss")
    engine, volume = model.engine, model.table.plenum_volume
    if volume is None:
        volume = PLENUM_PER_DISPLACEMENT * engine.displacement
    series = "mean(m^2)/mean(m)^2 of half-sine pulses of 240 degrees, 64 harmonics (Parseval)"
    cylinders = pure("N", engine.cylinders, "cylinders")
    if volume <= 0.0:
        last = read("factor without a plenum", factor, series, [cylinders])
        return Working("", "pulsing draw", (last,), factor)
    revs = 0.5 * engine.strokes
    turns = float(np.asarray(model.turns(np.array([duct.speed_m_per_s])))[0])
    area = sum(p.count * p.least_area for p in model.ducts)
    length = most((*(p.length for p in model.ducts), 0.05))
    natural = pure("f_n", plenum_frequency(b.air.speed_of_sound, area, length, volume),
                   "natural frequency of duct and plenum", "Hz")
    pulses = pure("f_i", induction_frequency(engine.cylinders, 60.0 * turns, revs),
                  "frequency of the draw", "Hz")
    ratio = pure("x", pulses.value / natural.value, "frequency of the draw over the natural one")
    steps = (
        step("frequency of the draw", "f_i = N*n/r",
             [cylinders, of("n", turns, "rotational_speed", "engine speed"),
              pure("r", revs, "turns of the crank for one intake")], pulses, "definition"),
        step(
            "natural frequency", "f_n = a/(2*pi)*sqrt(A/(L*V))",
            [
                of("a", b.air.speed_of_sound, "speed", "speed of sound"),
                of("A", area, "area", "flow area of the ducts"),
                of("L", length, "length", "length of the duct"),
                of("V", volume, "volume", "plenum"),
            ],
            natural, "Helmholtz resonator (Kinsler and Frey, ch. 10, from memory)",
        ),
        step("their ratio", "x = f_i/f_n", [pulses, natural], ratio, "definition"),
        read("factor", factor, f"{series}, each through one degree of freedom, damping 0.71",
             [cylinders, ratio]),
    )
    return Working("", "pulsing draw", steps, factor)


WORKINGS = {
    "intake.air_flow_kg_per_s": air_flow,
    "intake.density_ratio": density_ratio,
    "intake.power_ratio": ratio_of_power,
    "intake.power_ratio_to_bonnet_inlet": ratio_to_bonnet,
    "intake.momentum_drag_N": momentum_drag,
    "intake.pulsation_factor": pulsation,
}
"""Workings of the engine's air, by the name of the figure."""
