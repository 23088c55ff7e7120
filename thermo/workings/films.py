"""Working of an exchanger's conductance from geometry: films on both sides, wall, fouling."""

from __future__ import annotations

import math

from thermo import films
from thermo.brazed_plate import BrazedPlate
from thermo.double_pipe import DoublePipe
from thermo.friction import RE_LAMINAR, RE_TURBULENT
from thermo.liquids import Liquid
from thermo.loop import Transfer
from thermo.loop_design import LoopDesign
from thermo.wall import tube_wall_resistance, wall_resistance
from thermo.workings.form import Step, Symbol, of, pure, read, step

TABLE = "table from CoolProp"


def _properties(liquid: Liquid, t: float, side: str) -> dict[str, Symbol]:
    """Return what a film needs of a liquid, with symbols of one side."""
    where = f"of {liquid.name} at {t - 273.15:.1f} degC, {TABLE}"
    return {
        "mu": pure(f"mu{side}", liquid.viscosity(t), f"viscosity {where}", "Pa s"),
        "k": of(f"k{side}", liquid.conductivity(t), "conductivity", f"conductivity {where}"),
        "cp": of(f"cp{side}", liquid.specific_heat(t), "specific_heat", f"specific heat {where}"),
    }


def _prandtl(p: dict[str, Symbol], side: str) -> Step:
    found = films.prandtl(p["cp"].value, p["mu"].value, p["k"].value)
    return step(
        "Prandtl number", f"Pr{side} = cp{side}*mu{side}/k{side}", list(p.values()),
        pure(f"Pr{side}", found, "Prandtl number"), "definition",
    )


def pipe_steps(
    model: DoublePipe,
    design: LoopDesign,
    done: Transfer,
    inlets: tuple[float, float],
    found: Symbol,
) -> list[Step]:
    """Return the conductance of a double pipe.

    Parameters
    ----------
    model : DoublePipe
    design : LoopDesign
    done : Transfer
        What the exchanger does at that moment.
    inlets : tuple of float
        Temperature of coolant and tank water at the inlets, at which the films are taken [K].
    found : Symbol
        The conductance.
    """
    hot = (float(done.hot_flow), design.hot, inlets[0])
    cold = (float(done.cold_flow), design.cold, inlets[1])
    inner, outer = (hot, cold) if model.hot_inside else (cold, hot)
    inside = _passage_steps(model, True, *inner)
    outside = _passage_steps(model, False, *outer)
    bore = of("d", model.inner_bore, "length", "bore of the inner tube")
    wall = of("w", model.inner_wall, "length", "its wall")
    length = of("L", model.length, "length", "length")
    resistance = step(
        "resistance of the wall",
        "Rw = ln((d + 2*w)/d)/(2*pi*kw*L)",
        [
            bore,
            wall,
            of("kw", model.wall_conductivity, "conductivity", "conductivity of the wall"),
            length,
        ],
        pure("Rw", tube_wall_resistance(model.inner_bore, model.inner_wall, model.length,
                                        model.wall_conductivity), "wall, one pipe", "K/W"),
        "Incropera et al., eq. 3.33",
    )
    last = step(
        "films, fouling and wall in series",
        "UA = N/((1/hi + Rf)/(pi*d*L) + Rw + 1/(ho*pi*(d + 2*w)*L))",
        [
            pure("N", model.parallel, "pipes side by side"),
            inside[-1].result,
            of("Rf", model.fouling, "thermal_resistance", "fouling"),
            bore,
            length,
            resistance.result,
            outside[-1].result,
            wall,
        ],
        found,
        "series resistances; Incropera et al., eq. 11.1",
    )
    return [*inside, *outside, resistance, last]


def _passage_steps(
    model: DoublePipe, inner: bool, m: float, liquid: Liquid, t: float
) -> list[Step]:
    side, where = ("i", "inner tube") if inner else ("o", "annulus")
    p = _properties(liquid, t, side)
    pr = _prandtl(p, side)
    diameter, area = model.passage(inner)
    dh = of(f"D{side}", diameter, "length", f"hydraulic diameter, {where}")
    re = step(
        f"Reynolds number, {where}",
        f"Re{side} = m{side}*D{side}/(A{side}*mu{side})",
        [
            of(f"m{side}", m, "mass_flow", "mass flow"),
            dh,
            of(f"A{side}", area, "area", "flow area of all pipes"),
            p["mu"],
        ],
        pure(f"Re{side}", model.reynolds(inner, m, liquid, t), "Reynolds number"),
        "definition",
    )
    nu = _nusselt_steps(model, inner, re.result, pr.result, side)
    film = step(
        f"film, {where}",
        f"h{side} = Nu{side}*k{side}/D{side}",
        [nu[-1].result, p["k"], dh],
        of(f"h{side}", model.film(inner, m, liquid, t), "heat_transfer_coefficient", "film"),
        "definition",
    )
    return [pr, re, *nu, film]


def _nusselt_steps(
    model: DoublePipe, inner: bool, re: Symbol, pr: Symbol, side: str
) -> list[Step]:
    a = pure("a", model.inner_outside / model.outer_bore, "inner over outer diameter")
    value = (
        films.nusselt_duct(re.value, pr.value)
        if inner
        else films.nusselt_annulus(re.value, pr.value, a.value)
    )
    nu = pure(f"Nu{side}", value, "Nusselt number")
    if re.value < RE_TURBULENT:
        regime = "laminar" if re.value <= RE_LAMINAR else "between laminar and turbulent"
        source = "3.66 in a tube, Stephan in an annulus (VDI Heat Atlas, G2), bridged to Gnielinski"
        return [read(f"Nusselt number, {regime}", nu, source, [re, pr, a], "developed flow")]
    f = step(
        "friction factor",
        f"f{side} = (0.790*ln({re.name}) - 1.64)^(-2)",
        [re],
        pure(f"f{side}", films.petukhov_friction(re.value), "Darcy friction factor, smooth"),
        "Petukhov (1970); Incropera et al., eq. 8.21",
        "Re 3000 to 5e6",
    )
    text = (
        f"f{side}/8*({re.name} - 1000)*{pr.name}/(1 + 12.7*sqrt(f{side}/8)*({pr.name}^(2/3) - 1))"
    )
    source = "Gnielinski (1976); Incropera et al., eq. 8.62"
    if inner:
        return [f, step("Nusselt number, turbulent", f"{nu.name} = {text}", [f.result, re, pr],
                        nu, source, "Re 4000 to 5e6, Pr 0.5 to 2000, within 10 %")]
    return [
        f,
        step("Nusselt number, turbulent", f"{nu.name} = 0.86*a^(-0.16)*{text}",
             [a, f.result, re, pr], nu, f"{source}; Petukhov & Roizen (1964) for the annulus",
             "Re 4000 to 5e6, within 15 %"),
    ]


def plate_steps(
    model: BrazedPlate,
    design: LoopDesign,
    done: Transfer,
    inlets: tuple[float, float],
    found: Symbol,
) -> list[Step]:
    """Return the conductance of a brazed plate exchanger; arguments as of `pipe_steps`."""
    sides = (
        ("h", float(done.hot_flow), model.hot_channels, design.hot, inlets[0]),
        ("c", float(done.cold_flow), model.cold_channels, design.cold, inlets[1]),
    )
    steps = [s for side in sides for s in _channel_steps(model, *side)]
    wall = wall_resistance(model.plate_thickness, model.wall_conductivity)
    area = of("A", model.area, "area", "developed area that passes heat")
    last = step(
        "films, fouling and wall in series",
        "UA = A/(1/hh + Rw + Rf + 1/hc)",
        [
            area,
            next(s.result for s in steps if s.result.name == "hh"),
            of("Rw", wall, "thermal_resistance", "plate, thickness over conductivity"),
            of("Rf", model.fouling, "thermal_resistance", "fouling"),
            steps[-1].result,
        ],
        found,
        "series resistances; Incropera et al., eq. 11.1",
    )
    return [*steps, last]


def _channel_steps(
    model: BrazedPlate, side: str, m: float, channels: int, liquid: Liquid, t: float
) -> list[Step]:
    p = _properties(liquid, t, side)
    pr = _prandtl(p, side)
    dh = of("D", model.hydraulic_diameter, "length", "hydraulic diameter of a channel")
    re = step(
        f"Reynolds number, {'hot' if side == 'h' else 'cold'} channels",
        f"Re{side} = m{side}/(n{side}*depth*width)*D/mu{side}",
        [
            of(f"m{side}", m, "mass_flow", "mass flow"),
            pure(f"n{side}", channels, "channels"),
            of("depth", model.channel_depth, "length", "depth of a channel"),
            of("width", model.width, "length", "width of a plate"),
            dh,
            p["mu"],
        ],
        pure(f"Re{side}", model.reynolds(m, channels, liquid, t), "Reynolds number"),
        "definition",
    )
    factor = films.martin_friction(re.result.value, model.chevron_angle)
    f = read(
        "friction factor of the plates",
        pure(f"f{side}", factor, "Darcy friction factor"),
        "Martin (1996), VDI Heat Atlas, M6",
        [re.result, of("phi", model.chevron_angle, "angle", "angle of the corrugations to flow")],
        "Re 200 to 10 000",
    )
    double = pure("s", math.sin(2.0 * model.chevron_angle), "sine of twice the chevron angle")
    nu = step(
        "Nusselt number",
        f"Nu{side} = 0.122*{pr.result.name}^(1/3)*(f{side}*{re.result.name}^2*s)^0.374",
        [pr.result, f.result, re.result, double],
        pure(f"Nu{side}", films.martin_nusselt(re.result.value, pr.result.value,
                                               model.chevron_angle, factor), "Nusselt number"),
        "Martin (1996), VDI Heat Atlas, M6",
        "Re 200 to 10 000, within 10 to 20 %",
    )
    film = step(
        "film",
        f"h{side} = Nu{side}*k{side}/D",
        [nu.result, p["k"], dh],
        of(f"h{side}", model.film(m, channels, liquid, t), "heat_transfer_coefficient", "film"),
        "definition",
    )
    return [pr, re, f, nu, film]


