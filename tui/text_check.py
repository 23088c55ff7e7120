"""The text of ``soakbox check``: the verdict first, then what binds, then figures."""

from __future__ import annotations

import math

from thermo.results import CoolingFigures, EventResult, Flag, IntakeFigures, SiteFigures
from thermo.units import System, convert, format_number
from tui.wording import (
    CAUTIONS,
    MARKS,
    against_limit,
    amount,
    celsius,
    localised,
    moment_words,
    row,
    wrap,
)


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
        wrap(f"  The numbers cannot be trusted: {localised(reason, system)}.", 2)
        for reason in result.untrusted
    )
    where = localised(flag.where, system)
    said = f"Binding: {flag.name}, {against_limit(flag, system)}{moment_words(flag)}, {where}."
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
                    f"{against_limit(flag, system)}{moment_words(flag)}",
                    27,
                )
            )
            why = localised(f"{flag.where}: {flag.why}.", system)
            cure = localised(f"Clear it by: {flag.remedy}.", system)
            lines.append(wrap(f"           {why}", 11))
            lines.append(wrap(f"           {cure}", 11))
    for flag in (f for f in flags if f.level == "clear"):
        told = against_limit(flag, system)
        lines.append(
            wrap(
                f"{MARKS['clear']} {'clear':<8}{flag.name:<16}"
                f"{localised(flag.where, system) if told == 'no figure' else told}",
                27,
            )
        )
    return lines


def cooling_lines(f: CoolingFigures, system: System) -> list[str]:
    """Return the cooling figures with what they mean."""
    lines = [*_coolant_rows(f, system), *_tank_rows(f, system), *_exchanger_rows(f, system)]
    if f.steam_lost_kg > 0.0005:
        lines.append(
            row(
                "steam lost",
                amount(f.steam_lost_kg, "mass", system),
                f"of coolant and tank; coolant boils from {f.boils_at_s:.0f} s on"
                if math.isfinite(f.boils_at_s)
                else "from the tank",
            )
        )
    if f.boil_margin_by_mixing_K:
        said = ", ".join(
            f"{name} {amount(margin, 'temperature_difference', system)}"
            for name, margin in f.boil_margin_by_mixing_K.items()
        )
        lines.append(wrap(f"  boil margin by tank mixing (tank.mixing not chosen): {said}", 4))
    return lines


def _coolant_rows(f: CoolingFigures, system: System) -> list[str]:
    """Return what the coolant does, from the pass to a lost pump."""
    kelvin = "temperature_difference"
    return [
        row(
            "pass",
            amount(f.pass_time_s, "time", system),
            f"top speed {amount(f.pass_top_speed_m_per_s, 'speed', system)}",
        ),
        row("heat into the coolant", amount(f.heat_total_J, "energy", system), "whole event"),
        row(
            "coolant, hottest",
            celsius(f.coolant_peak_degC, system),
            f"boils at {celsius(f.boil_temperature_degC, system)} under the cap",
        ),
        row(
            "coolant, end of pass",
            celsius(f.coolant_end_of_pass_degC, system),
            f"least at full power {celsius(f.coolant_least_full_power_degC, system)}",
        ),
        row("boil margin", amount(f.boil_margin_K, kelvin, system), "left after hot spots"),
        row(
            "after-boil margin",
            amount(f.after_boil_margin_K, kelvin, system),
            "when the flow stops; stopped at the finish "
            f"{amount(f.shut_off_at_finish_margin_K, kelvin, system)}",
        ),
        row(
            "pump lost, boils after",
            amount(f.flow_lost_boil_s, "time", system),
            "at the worst moment",
        ),
    ]


def _tank_rows(f: CoolingFigures, system: System) -> list[str]:
    return [
        row(
            "tank, hottest",
            celsius(f.tank_peak_degC, system),
            f"end of pass {celsius(f.tank_end_of_pass_degC, system)}, end of event "
            f"{celsius(f.tank_end_degC, system)}",
        ),
        row("return line, hottest", celsius(f.return_line_peak_degC, system), "past the driver"),
        row(
            "tank pressure, highest",
            amount(f.tank_pressure_peak_Pa, "pressure_gauge", system),
            f"end of pass {amount(f.tank_pressure_end_of_pass_Pa, 'pressure_gauge', system)}",
        ),
        row(
            "headspace needed",
            amount(f.headspace_needed_m3, "volume", system),
            "to stay under the relief, or what one without may see",
        ),
        row(
            "water in the tank",
            amount(f.tank_water_kg, "mass", system),
            "moves the centre of mass by "
            f"{amount(f.centre_of_mass_shift_m, 'length', system)} (minus is forward)",
        ),
    ]


def _exchanger_rows(f: CoolingFigures, system: System) -> list[str]:
    return [
        row(
            "flow, tank / coolant",
            amount(f.tank_flow_m3_per_s, "volume_flow", system),
            f"/ {amount(f.coolant_flow_m3_per_s, 'volume_flow', system)}",
        ),
        row(
            "exchanger effectiveness",
            format_number(f.effectiveness_at_peak, 3),
            f"NTU {format_number(f.ntu_at_peak, 3)}, UA "
            f"{amount(f.ua_at_peak_W_per_K, 'conductance', system)}",
        ),
    ]


def site_lines(f: SiteFigures, system: System) -> list[str]:
    """Return the day's air."""
    return [
        row(
            "air",
            celsius(f.air_temperature_degC, system),
            f"{amount(f.station_pressure_Pa, 'pressure_absolute', system)}, humidity "
            f"{100.0 * f.relative_humidity:.0f} %",
        ),
        row(
            "air density",
            amount(f.density_kg_per_m3, "density", system, 4),
            f"density altitude {amount(f.density_altitude_m, 'length', system)}",
        ),
        row(
            "power correction",
            f"{f.j1349_factor:.3f}",
            localised(f"SAE J1349; {f.j1349_note}".rstrip("; "), system),
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
        row(
            "nose gain",
            amount(f.ram_gain_Pa, "pressure_difference", system),
            f"at {amount(f.speed_m_per_s, 'speed', system)}",
        ),
        row(
            "duct loss",
            amount(f.duct_loss_Pa, "pressure_difference", system),
            "lip, duct, filter, and what the opening misses",
        ),
        row(
            "net",
            amount(f.net_Pa, "pressure_difference", system),
            _net_words(f, system),
        ),
        row(
            "net, least in the pass",
            amount(f.net_least_Pa, "pressure_difference", system),
            f"at {amount(f.net_least_speed_m_per_s, 'speed', system)}; below zero for "
            f"{100.0 * f.losing_share:.0f} % of the time",
        ),
        row(
            "break-even speed",
            amount(f.break_even_speed_m_per_s, "speed", system),
            _even_words(f),
        ),
        row(
            "air flow",
            amount(f.air_flow_kg_per_s, "mass_flow", system),
            f"chokes at {amount(f.choke_flow_kg_per_s, 'mass_flow', system)}",
        ),
        row(
            "Mach number, highest",
            format_number(f.duct_mach_max, 3),
            f"at {amount(f.duct_mach_max_speed_m_per_s, 'speed', system)}, "
            f"{f.duct_mach_max_at_s:.0f} s; at the timed speed "
            f"{format_number(f.duct_mach_timed, 3)}",
        ),
        row(
            "pulsing draw",
            f"x {f.pulsation_factor:.2f}",
            "on every loss of the duct",
        ),
        row(
            "power, against still air",
            f"{100 * (f.power_ratio - 1):+.1f} %",
            f"against under-bonnet air {100 * (f.power_ratio_to_bonnet_inlet - 1):+.1f} %",
        ),
        row(
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


ROUGH_ROWS = {
    "coolant, hottest": "cooling.coolant_peak_degC",
    "coolant, end of pass": "cooling.coolant_end_of_pass_degC",
    "boil margin": "cooling.boil_margin_K",
    "after-boil margin": "cooling.after_boil_margin_K",
    "pump lost, boils after": "cooling.flow_lost_boil_s",
    "tank, hottest": "cooling.tank_peak_degC",
    "return line, hottest": "cooling.return_line_peak_degC",
    "tank pressure, highest": "cooling.tank_pressure_peak_Pa",
    "flow, tank / coolant": "cooling.tank_flow_m3_per_s",
    "exchanger effectiveness": "cooling.effectiveness_at_peak",
    "duct loss": "intake.duct_loss_Pa",
    "net": "intake.net_Pa",
    "break-even speed": "intake.break_even_speed_m_per_s",
    "air flow": "intake.air_flow_kg_per_s",
    "power, against still air": "intake.power_ratio",
    "air density": "site.density_kg_per_m3",
}
"""Rows of figures that may be rough, and the figure's name in the JSON."""


def marked(lines: list[str], result: EventResult, system: System) -> list[str]:
    """Return rows with a star beside each rough figure, and under them why it is rough."""
    out: list[str] = []
    reasons: list[str] = []
    for line in lines:
        label = line[2:27].strip()
        why = result.rough.get(ROUGH_ROWS.get(label, ""), ())
        out.append(f"  {label + ' *':<25}{line[27:]}" if why else line)
        reasons += [words for words in why if words not in reasons]
    return out + [wrap(f"  * rough: {localised(words, system)}", 4) for words in reasons]


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
        *marked(cooling_lines(result.cooling, system), result, system),
        "",
        "INTAKE",
    ]
    if result.intake is None:
        lines.append("  no duct in the scenario")
    else:
        lines.extend(marked(intake_lines(result.intake, system), result, system))
    lines += ["", "THE DAY", *marked(site_lines(result.site, system), result, system)]
    lines += [
        "",
        "ENERGY ACCOUNT",
        wrap(
            f"  heat in {amount(a.heat_in_J, energy, system)} + pumps "
            f"{amount(a.pump_work_J, energy, system)} + water and ice in less out "
            f"{amount(a.added_J, energy, system)} = stored {amount(a.stored_J, energy, system)} + "
            f"to air {amount(a.to_air_J, energy, system)} + "
            f"steam {amount(a.steam_J, energy, system)}; "
            f"residual {abs(100 * a.residual_fraction):.4f} %",
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
