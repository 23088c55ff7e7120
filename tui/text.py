"""Results as text for 80 columns: the verdict first, then what binds, then figures."""

from __future__ import annotations

import math
import re
import textwrap
from typing import TYPE_CHECKING

from thermo.results import FLOORS, CoolingFigures, EventResult, Flag, IntakeFigures, SiteFigures
from thermo.units import System, convert, format_number, format_value

if TYPE_CHECKING:
    from thermo.answers import Answer, Sheet
    from thermo.turnaround import Turnaround

WIDTH = 78
MARKS = {"danger": "XX", "caution": "! ", "clear": "ok"}
CAUTIONS = (
    "Pressurised hot water can kill. These figures are estimates: the event's rule book, the "
    "technical inspector, local codes and licensed practice govern. Proof-test vessels with "
    "water, never with air."
)
_FLAG_US = {
    "mm": ("in", 1.0 / 25.4),
    "m/s": ("ft/s", 1.0 / 0.3048),
    "bar/K": ("psi per F deg", 14.50377 / 1.8),
}
"""US unit and scale of the flags' units that have no kind of quantity here."""

FLAG_KINDS: dict[str, tuple[str, float, float]] = {
    "K": ("temperature_difference", 1.0, 0.0),
    "degC": ("temperature", 1.0, 273.15),
    "kPa": ("pressure_gauge", 1e3, 0.0),
    "Pa": ("pressure_difference", 1.0, 0.0),
    "m": ("length", 1.0, 0.0),
    "L/min": ("volume_flow", 1.0 / 60e3, 0.0),
    "kg/s": ("mass_flow", 1.0, 0.0),
    "MPa": ("stress", 1e6, 0.0),
    "s": ("time", 1.0, 0.0),
}
"""Kind of quantity, scale to SI and offset behind the unit of a flag."""


SMALL = 0.5
"""Lengths below this are told in millimetres or inches [m]."""

_FIGURE = re.compile(
    r"(?<![\w.])(?P<number>-?\d+(?:\.\d+)?) (?P<unit>kPa|Pa|MPa|L|mm|degC|m/s|kg|bar/K|K)(?![\w/])"
)
_PAIR = re.compile(r"(-?\d+(?:\.\d+)?) x (-?\d+(?:\.\d+)?) (mm)(?![\w/])")
_IN_WORDS: dict[str, tuple[str, float, float]] = {
    "kPa": ("psi", 1.0 / 6.894757, 0.0),
    "Pa": ("psi", 1.0 / 6894.757, 0.0),
    "MPa": ("ksi", 1.0 / 6.894757, 0.0),
    "L": ("gal", 1.0 / 3.785412, 0.0),
    "mm": ("in", 1.0 / 25.4, 0.0),
    "degC": ("degF", 1.8, 32.0),
    "K": ("F deg", 1.8, 0.0),
    "m/s": ("mph", 1.0 / 0.44704, 0.0),
    "kg": ("lb", 1.0 / 0.45359237, 0.0),
    "bar/K": ("psi per F deg", 14.50377 / 1.8, 0.0),
}
"""Unit in US words, scale and offset, for figures that stand inside a sentence."""


def localised(words: str, system: System) -> str:
    """Return a sentence with its figures in the user's system."""
    if system == "si":
        return words

    def changed(match: re.Match[str]) -> str:
        unit, scale, offset = _IN_WORDS[match["unit"]]
        return f"{format_number(float(match['number']) * scale + offset, 3)} {unit}"

    # "305 x 254 mm" holds two figures: each gets its unit before either is converted.
    return _FIGURE.sub(changed, _PAIR.sub(r"\1 \3 x \2 \3", words))


def amount(value: float, kind: str, system: System, digits: int = 3) -> str:
    """Return an SI value as text in the user's system; 'none' for NaN, 'endless' for infinity."""
    if math.isnan(value):
        return "none"
    if math.isinf(value):
        return "endless"
    if kind == "length" and abs(value) < SMALL:
        return format_value(value, kind, system, digits, unit="in" if system == "us" else "mm")
    if kind == "temperature_difference" and system == "us":
        return f"{format_number(1.8 * value, digits)} F deg"
    return format_value(value, kind, system, digits)


def flag_amount(value: float, unit: str, system: System) -> str:
    """Return a flag's figure as text in the user's system."""
    if math.isnan(value):
        return "-"
    if unit in FLAG_KINDS and math.isfinite(value):
        kind, scale, offset = FLAG_KINDS[unit]
        return amount(value * scale + offset, kind, system)
    if unit in _FLAG_US and system == "us":
        unit, scale = _FLAG_US[unit]
        value *= scale
    if abs(value) < 1e-9:
        value = 0.0
    number = "endless" if math.isinf(value) else format_number(value, 3)
    return f"{number} {unit}".strip()


def wrap(text: str, indent: int = 0) -> str:
    """Return text wrapped to the width, lines after the first indented."""
    return textwrap.fill(
        text, WIDTH, subsequent_indent=" " * indent, break_long_words=False, break_on_hyphens=False
    )


def _against(flag: Flag, system: System) -> str:
    """Return figure and limit; the figure alone where there is no limit."""
    if math.isnan(flag.value) and math.isnan(flag.limit):
        return "no figure"
    if math.isnan(flag.limit):
        return flag_amount(flag.value, flag.unit, system)
    sense = "at least" if flag.name in FLOORS else "at most"
    return (
        f"{flag_amount(flag.value, flag.unit, system)}, {sense} "
        f"{flag_amount(flag.limit, flag.unit, system)} wanted"
    )


def _moment(flag: Flag) -> str:
    if math.isnan(flag.at_s):
        return ""
    return f" at {flag.at_s:.0f} s ({flag.leg})"


def headline(result: EventResult, system: System) -> list[str]:
    """Return the verdict, the limit that binds and what to do about it."""
    flag = result.binding
    counts = {
        level: sum(f.level == level for f in result.flags)
        for level in ("danger", "caution", "clear")
    }
    lines = [wrap(result.title or "scenario"), ""]
    lines.append(
        wrap(
            f"VERDICT: {result.verdict.upper()} - {counts['danger']} danger, {counts['caution']} "
            f"caution, {counts['clear']} clear"
        )
    )
    lines.extend(
        wrap(f"  The numbers cannot be trusted: {reason}.", 2) for reason in result.untrusted
    )
    said = f"Binding: {flag.name}, {_against(flag, system)}{_moment(flag)}, {flag.where}."
    lines.append(wrap(said))
    if flag.level != "clear":
        lines.append(wrap(localised(f"What would clear it: {flag.remedy}.", system)))
    return lines


def hazard_lines(flags: tuple[Flag, ...], system: System) -> list[str]:
    """Return the hazards: those that need care in full, clear ones as a line each."""
    lines: list[str] = []
    for level in ("danger", "caution"):
        for flag in (f for f in flags if f.level == level):
            lines.append(
                wrap(
                    f"{MARKS[level]} {level:<8}{flag.name:<16}"
                    f"{_against(flag, system)}{_moment(flag)}",
                    27,
                )
            )
            why = localised(f"{flag.where}: {flag.why}.", system)
            cure = localised(f"Clear it by: {flag.remedy}.", system)
            lines.append(wrap(f"           {why}", 11))
            lines.append(wrap(f"           {cure}", 11))
    for flag in (f for f in flags if f.level == "clear"):
        told = _against(flag, system)
        lines.append(
            wrap(
                f"{MARKS['clear']} {'clear':<8}{flag.name:<16}"
                f"{flag.where if told == 'no figure' else told}",
                27,
            )
        )
    return lines


def _row(label: str, value: str, words: str = "") -> str:
    return wrap(f"  {label:<25}{value:>16}  {words}".rstrip(), 45)


def _celsius(value: float, system: System) -> str:
    return amount(value + 273.15, "temperature", system, 4)


def cooling_lines(f: CoolingFigures, system: System) -> list[str]:
    """Return the cooling figures with what they mean."""
    kelvin = "temperature_difference"
    lines = [
        _row(
            "pass",
            amount(f.pass_time_s, "time", system),
            f"top speed {amount(f.pass_top_speed_m_per_s, 'speed', system)}",
        ),
        _row("heat into the coolant", amount(f.heat_total_J, "energy", system), "whole event"),
        _row(
            "coolant, hottest",
            _celsius(f.coolant_peak_degC, system),
            f"boils at {_celsius(f.boil_temperature_degC, system)} under the cap",
        ),
        _row(
            "coolant, end of pass",
            _celsius(f.coolant_end_of_pass_degC, system),
            f"least at full power {_celsius(f.coolant_least_full_power_degC, system)}",
        ),
        _row("boil margin", amount(f.boil_margin_K, kelvin, system), "left after hot spots"),
        _row(
            "after-boil margin",
            amount(f.after_boil_margin_K, kelvin, system),
            "when the flow stops; stopped at the finish "
            f"{amount(f.shut_off_at_finish_margin_K, kelvin, system)}",
        ),
        _row(
            "pump lost, boils after",
            amount(f.flow_lost_boil_s, "time", system),
            "at the worst moment",
        ),
        _row(
            "tank, hottest",
            _celsius(f.tank_peak_degC, system),
            f"end of pass {_celsius(f.tank_end_of_pass_degC, system)}, end of event "
            f"{_celsius(f.tank_end_degC, system)}",
        ),
        _row("return line, hottest", _celsius(f.return_line_peak_degC, system), "past the driver"),
        _row(
            "tank pressure, highest",
            amount(f.tank_pressure_peak_Pa, "pressure_gauge", system),
            f"end of pass {amount(f.tank_pressure_end_of_pass_Pa, 'pressure_gauge', system)}",
        ),
        _row(
            "headspace needed",
            amount(f.headspace_needed_m3, "volume", system),
            "to stay under the relief, or 35 kPa without"
            if system == "si"
            else "to stay under the relief, or 5 psi without",
        ),
        _row(
            "water in the tank",
            amount(f.tank_water_kg, "mass", system),
            "moves the centre of mass by "
            f"{amount(f.centre_of_mass_shift_m, 'length', system)} (minus is forward)",
        ),
        _row(
            "flow, tank / coolant",
            amount(f.tank_flow_m3_per_s, "volume_flow", system),
            f"/ {amount(f.coolant_flow_m3_per_s, 'volume_flow', system)}",
        ),
        _row(
            "exchanger effectiveness",
            format_number(f.effectiveness_at_peak, 3),
            f"NTU {format_number(f.ntu_at_peak, 3)}, UA "
            f"{amount(f.ua_at_peak_W_per_K, 'conductance', system)}",
        ),
    ]
    if f.steam_lost_kg > 0.0005:
        lines.append(
            _row(
                "steam lost",
                amount(f.steam_lost_kg, "mass", system),
                f"boils from {f.boils_at_s:.0f} s on",
            )
        )
    if f.boil_margin_by_mixing_K:
        said = ", ".join(
            f"{name} {amount(v, kelvin, system)}" for name, v in f.boil_margin_by_mixing_K.items()
        )
        lines.append(wrap(f"  boil margin by tank mixing (tank.mixing not chosen): {said}", 4))
    return lines


def site_lines(f: SiteFigures, system: System) -> list[str]:
    """Return the day's air."""
    return [
        _row(
            "air",
            _celsius(f.air_temperature_degC, system),
            f"{amount(f.station_pressure_Pa, 'pressure_absolute', system)}, humidity "
            f"{100.0 * f.relative_humidity:.0f} %",
        ),
        _row(
            "air density",
            amount(f.density_kg_per_m3, "density", system, 4),
            f"density altitude {amount(f.density_altitude_m, 'length', system)}",
        ),
        _row(
            "power correction", f"{f.j1349_factor:.3f}", f"SAE J1349; {f.j1349_note}".rstrip("; ")
        ),
    ]


def _net_words(f: IntakeFigures, system: System) -> str:
    share = f"{100 * f.recovery:.0f} % of the gain" if math.isfinite(f.recovery) else ""
    if f.net_dirty_filter_Pa == f.net_Pa:
        return share
    dirty = amount(f.net_dirty_filter_Pa, "pressure_difference", system)
    return f"{share}; dirty filter {dirty}".lstrip("; ")


def _even_words(f: IntakeFigures) -> str:
    if math.isfinite(f.break_even_speed_m_per_s):
        return "above it the duct helps; every duct loses at launch"
    return (
        "the duct helps at all speeds looked at"
        if f.net_Pa > 0.0
        else "the duct helps at no speed looked at"
    )


def intake_lines(f: IntakeFigures, system: System) -> list[str]:
    """Return the intake figures with what they mean, and the pressure station by station."""
    lines = [
        _row(
            "nose gain",
            amount(f.ram_gain_Pa, "pressure_difference", system),
            f"at {amount(f.speed_m_per_s, 'speed', system)}",
        ),
        _row(
            "duct loss",
            amount(f.duct_loss_Pa, "pressure_difference", system),
            "lip, duct, filter, and what the opening misses",
        ),
        _row(
            "net",
            amount(f.net_Pa, "pressure_difference", system),
            _net_words(f, system),
        ),
        _row(
            "break-even speed",
            amount(f.break_even_speed_m_per_s, "speed", system),
            _even_words(f),
        ),
        _row(
            "air flow",
            amount(f.air_flow_kg_per_s, "mass_flow", system),
            f"chokes at {amount(f.choke_flow_kg_per_s, 'mass_flow', system)}",
        ),
        _row(
            "Mach number, highest",
            format_number(f.duct_mach_max, 3),
            f"pulsing draw multiplies losses by {f.pulsation_factor:.2f}",
        ),
        _row(
            "power, against still air",
            f"{100 * (f.power_ratio - 1):+.1f} %",
            f"against under-bonnet air {100 * (f.power_ratio_to_bonnet_inlet - 1):+.1f} %",
        ),
        _row(
            "momentum drag",
            amount(f.momentum_drag_N, "force", system),
            "any inlet pays it; not subtracted",
        ),
    ]
    if f.stations:
        unit = "psi" if system == "us" else "kPa"
        lines.append(
            f"  {'station':<22}{'stagnation':>12}{'static':>10}{'Mach':>8}{'lost':>12}"
            f"   ({unit} abs)"
        )
        for s in f.stations:
            name = s.name if s.path in ("duct", "plenum") else f"{s.path}: {s.name}"
            lines.append(
                f"  {name[:22]:<22}"
                f"{convert(s.stagnation_pressure, 'pressure_absolute', unit):>12.3f}"
                f"{convert(s.static_pressure, 'pressure_absolute', unit):>10.3f}"
                f"{s.mach:>8.3f}{convert(s.loss, 'pressure_difference', unit):>12.3f}"
            )
    return lines


def check_text(result: EventResult, system: System = "si") -> str:
    """Return the whole text of ``soakbox check``.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    a = result.audit
    energy = "energy"
    lines = [
        *headline(result, system),
        "",
        "HAZARDS",
        *hazard_lines(result.flags, system),
        "",
        "COOLING",
        *cooling_lines(result.cooling, system),
        "",
        "INTAKE",
    ]
    if result.intake is None:
        lines.append("  no duct in the scenario")
    else:
        lines.extend(intake_lines(result.intake, system))
    lines += ["", "THE DAY", *site_lines(result.site, system)]
    lines += [
        "",
        "ENERGY ACCOUNT",
        wrap(
            f"  heat in {amount(a.heat_in_J, energy, system)} + pumps "
            f"{amount(a.pump_work_J, energy, system)} + water and ice in less out "
            f"{amount(a.added_J, energy, system)} = stored {amount(a.stored_J, energy, system)} + "
            f"to air {amount(a.to_air_J, energy, system)} + "
            f"steam {amount(a.steam_J, energy, system)}; "
            f"residual {100 * a.residual_fraction:.4f} %",
            4,
        ),
    ]
    if result.notes:
        lines += [
            "",
            "TAKEN FOR GRANTED",
            *(wrap(f"  - {localised(n, system)}", 4) for n in result.notes),
        ]
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)


def _answer_lines(answer: Answer, system: System) -> list[str]:
    if answer.value is None:
        head = f"  {answer.title:<38} none in range"
    else:
        head = f"  {answer.title:<38} {amount(answer.value, answer.kind, system, 4)}"
    lines = [wrap(head, 4)]
    if answer.now is not None:
        lines.append(f"      now {amount(answer.now, answer.kind, system, 4)}")
    if answer.binding:
        lines.append(wrap(f"      bound by {answer.binding}", 6))
    if answer.note:
        lines.append(wrap(f"      {localised(answer.note, system)}", 6))
    if answer.value != answer.now:
        lines.extend(f'      --set {key}="{text}"' for key, text in answer.settings)
    return lines


def turnaround_text(title: str, plan: Turnaround, system: System = "si") -> str:
    """Return the whole text of ``soakbox turnaround``.

    Parameters
    ----------
    title : str
    plan : Turnaround
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    kelvin = "temperature_difference"
    lines = [wrap(title or "scenario"), ""]
    if plan.made_up:
        lines.append(
            wrap(
                "The scenario has one pass: the same pass is made again after a service of 15 min."
            )
        )
    lines.append(
        wrap(
            "Second pass with the service as it stands: boil margin "
            f"{amount(plan.margin_as_planned, kelvin, system)}."
        )
    )
    lines += ["", "EACH BY ITSELF"]
    for answer in plan.answers:
        lines.extend(_answer_lines(answer, system))
    if plan.mixes:
        lines += [
            "",
            "WATER AND ICE TOGETHER",
            f"  {'swap':>6}  {'least ice':>12}  {'margin then':>12}  bound by",
        ]
        for mix in plan.mixes:
            ice = "none fits" if mix.ice is None else amount(mix.ice, "mass", system)
            lines.append(
                f"  {100 * mix.swap:>4.0f} %  {ice:>12}  "
                f"{amount(mix.margin, kelvin, system):>12}  {mix.limit}"
            )
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)


def sheet_text(result: EventResult, sheet: Sheet, system: System = "si") -> str:
    """Return the whole text of ``soakbox size``.

    Parameters
    ----------
    result : EventResult
    sheet : Sheet
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    lines = [
        *headline(result, system),
        "",
        "BUILD SHEET",
        wrap(
            f"  Sizes keep {amount(sheet.margin, 'temperature_difference', system)} of boil and "
            "after-boil margin, the relief shut and gas in the tank, everything else as it is.",
            2,
        ),
    ]
    for group in ("cooling", "day", "intake"):
        lines += ["", {"cooling": "COOLING", "day": "THE DAY", "intake": "INTAKE"}[group]]
        for answer in (a for a in sheet.answers if a.group == group):
            lines.extend(_answer_lines(answer, system))
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)
