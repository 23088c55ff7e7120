"""Figures of a result as rows: what it is, how much, what that means, and what it was before."""

from __future__ import annotations

import math
from dataclasses import dataclass

from thermo.results import EventResult
from thermo.units import System
from tui.wording import amount

ZERO_CELSIUS = 273.15
MIXING = {"mixed": "tank well mixed", "plug": "tank baffled", "adverse": "tank short-circuits"}
"""How the tank's water may mix, in words."""

Fact = tuple[str, str, str, float, str, str]
"""Name, group, label, SI value, kind of quantity, words."""


@dataclass(frozen=True, slots=True)
class FigureRow:
    """One figure.

    Attributes
    ----------
    name, group : str
        Name that does not change; 'cooling', 'tank', 'intake', 'event' or 'day'.
    label, value, words : str
        What it is, how much with its unit, what that means.
    change : str
        ``was 66.9 degC`` when it differs from before; else empty.
    si : float
        The value in SI.
    """

    name: str
    group: str
    label: str
    value: str
    words: str
    change: str
    si: float


def _event(r: EventResult) -> list[Fact]:
    c = r.cooling
    facts: list[Fact] = [
        ("pass_time", "event", "pass", c.pass_time_s, "time", "time of the first pass"),
        ("top_speed", "event", "top speed", c.pass_top_speed_m_per_s, "speed", "in that pass"),
        ("heat", "event", "heat into the coolant", c.heat_total_J, "energy", "whole event"),
    ]
    if math.isfinite(c.timed_speed_m_per_s):
        facts.insert(
            2,
            (
                "timed_speed",
                "event",
                "timed speed",
                c.timed_speed_m_per_s,
                "speed",
                "average over the timed stretch",
            ),
        )
    return facts


def _cooling(r: EventResult) -> list[Fact]:
    c, group, kelvin = r.cooling, "cooling", "temperature_difference"
    point = "temperature"

    def at(celsius: float) -> float:
        return celsius + ZERO_CELSIUS

    facts: list[Fact] = [
        ("boil_margin", group, "boil margin", c.boil_margin_K, kelvin, "least, after hot spots"),
        (
            "after_boil",
            group,
            "margin when the pumps stop",
            c.after_boil_margin_K,
            kelvin,
            "hot metal goes on heating the coolant",
        ),
        (
            "leaking_cap",
            group,
            "margin with a leaking cap",
            c.leaking_cap_margin_K,
            kelvin,
            "below 0 the plan leans on the cap",
        ),
        (
            "flow_lost",
            group,
            "pump lost, boils after",
            c.flow_lost_boil_s,
            "time",
            "at the worst moment",
        ),
        ("coolant_peak", group, "coolant, hottest", at(c.coolant_peak_degC), point, "engine out"),
        ("boils", group, "coolant boils at", at(c.boil_temperature_degC), point, "under the cap"),
        (
            "coolant_finish",
            group,
            "coolant at the finish",
            at(c.coolant_end_of_pass_degC),
            point,
            "engine out",
        ),
        (
            "coolant_least",
            group,
            "coolant, coldest at full power",
            at(c.coolant_least_full_power_degC),
            point,
            "cold bores score",
        ),
        (
            "effectiveness",
            group,
            "exchanger effectiveness",
            c.effectiveness_at_peak,
            "fraction",
            "share of the most that could pass",
        ),
        ("ua", group, "exchanger conductance", c.ua_at_peak_W_per_K, "conductance", "UA"),
        ("ntu", group, "transfer units", c.ntu_at_peak, "number", "NTU"),
        ("hot_flow", group, "coolant flow", c.coolant_flow_m3_per_s, "volume_flow", ""),
    ]
    if c.steam_lost_kg > 0.0005:
        boils = math.isfinite(c.boils_at_s)
        words = f"of coolant and tank; boils from {c.boils_at_s:.0f} s on" if boils else "tank"
        facts.append(("steam", group, "steam lost", c.steam_lost_kg, "mass", words))
    for name, value in c.boil_margin_by_mixing_K.items():
        label = f"boil margin, {MIXING[name]}"
        facts.append((f"mixing_{name}", group, label, value, kelvin, f"tank.mixing {name}"))
    return facts


def _tank(r: EventResult) -> list[Fact]:
    c, group, point = r.cooling, "tank", "temperature"
    facts: list[Fact] = [
        (
            "tank_peak",
            group,
            "tank, hottest",
            c.tank_peak_degC + ZERO_CELSIUS,
            point,
            "at the driver's feet",
        ),
        (
            "tank_finish",
            group,
            "tank at the finish",
            c.tank_end_of_pass_degC + ZERO_CELSIUS,
            point,
            "mean",
        ),
        ("tank_end", group, "tank at the end", c.tank_end_degC + ZERO_CELSIUS, point, "mean"),
        (
            "line_peak",
            group,
            "return line, hottest",
            c.return_line_peak_degC + ZERO_CELSIUS,
            point,
            "past the driver",
        ),
        (
            "tank_pressure",
            group,
            "tank pressure, highest",
            c.tank_pressure_peak_Pa,
            "pressure_gauge",
            "of the headspace",
        ),
        (
            "vacuum",
            group,
            "tank pressure, cooled down",
            c.tank_vacuum_Pa,
            "pressure_gauge",
            "below 0 it is pulled in",
        ),
        (
            "headspace",
            group,
            "headspace needed",
            c.headspace_needed_m3,
            "volume",
            "to stay under the relief",
        ),
        ("cold_flow", group, "tank flow", c.tank_flow_m3_per_s, "volume_flow", ""),
        ("water", group, "water in the tank", c.tank_water_kg, "mass", "at the start"),
        (
            "balance",
            group,
            "centre of mass moves",
            c.centre_of_mass_shift_m,
            "length",
            "by the water; minus is forward",
        ),
    ]
    if r.history.ice.max() > 0.0:
        facts.append(("ice", group, "ice left", c.ice_left_kg, "mass", "at the end"))
    return facts


def _intake(r: EventResult) -> list[Fact]:
    d, group, drop = r.intake, "intake", "pressure_difference"
    if d is None:
        return []
    facts: list[Fact] = [
        ("net_gain", group, "duct, net gain", d.net_Pa, drop, "over still air, at timed speed"),
        ("nose_gain", group, "nose gain", d.ram_gain_Pa, drop, "what the air brings"),
        ("duct_loss", group, "duct loss", d.duct_loss_Pa, drop, "lip, duct, filter"),
        ("dirty_net", group, "net, filter dirty", d.net_dirty_filter_Pa, drop, ""),
        (
            "break_even",
            group,
            "helps from",
            d.break_even_speed_m_per_s,
            "speed",
            "every duct loses at launch",
        ),
        ("air_flow", group, "air flow", d.air_flow_kg_per_s, "mass_flow", "to the engine"),
        ("mach", group, "Mach number, highest", d.duct_mach_max, "number", "over the pass"),
        (
            "power_gain",
            group,
            "power, against still air",
            d.power_ratio - 1.0,
            "fraction",
            "at the timed speed",
        ),
        (
            "bonnet_gain",
            group,
            "power, against bonnet air",
            d.power_ratio_to_bonnet_inlet - 1.0,
            "fraction",
            "an inlet without a duct",
        ),
        ("air_drag", group, "drag of the air drawn in", d.momentum_drag_N, "force", "any inlet"),
    ]
    return facts


def _day(r: EventResult) -> list[Fact]:
    s, group = r.site, "day"
    return [
        ("air", group, "air", s.air_temperature_degC + ZERO_CELSIUS, "temperature", "in the shade"),
        (
            "barometer",
            group,
            "pressure at the course",
            s.station_pressure_Pa,
            "pressure_absolute",
            "as a barometer there reads",
        ),
        ("density", group, "air density", s.density_kg_per_m3, "density", ""),
        (
            "density_altitude",
            group,
            "density altitude",
            s.density_altitude_m,
            "length",
            "the height that this air is like",
        ),
        (
            "correction",
            group,
            "power correction",
            s.j1349_factor,
            "number",
            "SAE J1349, this day to the reference day",
        ),
    ]


def _facts(result: EventResult) -> list[Fact]:
    return [
        *_event(result),
        *_cooling(result),
        *_tank(result),
        *_intake(result),
        *_day(result),
    ]


def _told(value: float, kind: str, system: System) -> str:
    return amount(value, kind, system, 4 if kind == "temperature" else 3)


def figure_rows(
    result: EventResult, system: System = "si", previous: EventResult | None = None
) -> tuple[FigureRow, ...]:
    """Return the figures of an event.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}
    previous : EventResult, optional
        The event before an edit, for the column of changes.

    Returns
    -------
    tuple of FigureRow
        Grouped, in the order of a reader's interest.
    """
    before = {} if previous is None else {f[0]: f[3] for f in _facts(previous)}
    out = []
    for name, group, label, value, kind, words in _facts(result):
        told = _told(value, kind, system)
        was = _told(before[name], kind, system) if name in before else told
        change = f"was {was}" if was != told else ""
        out.append(FigureRow(name, group, label, told, words, change, value))
    return tuple(out)
