"""The texts of ``soakbox fit``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from thermo.quantity_text import printable
from thermo.units import System, format_number
from tui.wording import CAUTIONS, amount, localised, wrap

if TYPE_CHECKING:
    from collections.abc import Sequence

    from thermo.drawing import Panel
    from thermo.fit import Fit
    from thermo.fit_next import Outlook
    from thermo.fit_notebook import NotebookFit
    from thermo.fit_parameters import Fitted
    from thermo.log_checks import Finding
    from thermo.log_csv import Log
    from thermo.log_passes import Pass
    from thermo.variants import Floats


def value_of(x: float, kind: str, system: System, digits: int = 3) -> str:
    """Return a fitted value as text: shares and pure numbers as they stand in a file."""
    if kind in ("fraction", "number"):
        return format_number(x, digits)
    return amount(x, kind, system, digits)


def interval(low: float, high: float, kind: str, system: System) -> str:
    """Return an interval as text, the unit once."""
    first, second = (value_of(x, kind, system) for x in (low, high))
    number, _, unit = first.partition(" ")
    if unit and second.endswith(f" {unit}"):
        return f"{number} to {second}"
    return f"{first} to {second}"


def fitted_lines(fitted: Sequence[Fitted], system: System) -> list[str]:
    """Return the table of fitted inputs: before, after, interval, key."""
    lines = [f"  {'':<32}{'before':>10}{'fitted':>13}  95 % interval"]
    for one in fitted:
        before = value_of(one.before, one.kind, system)
        after = value_of(one.value, one.kind, system)
        lines.append(f"  {one.title:<32}{before:>10}{after:>13}  "
                     f"{interval(one.low95, one.high95, one.kind, system)}")
        lines.append(f"      {one.key}")
    return lines


def outlook_lines(outlooks: Sequence[Outlook], system: System) -> list[str]:
    """Return what the next pass may bring, before and after the fit."""
    lines: list[str] = []
    for outlook in outlooks:
        lines += [wrap(f"  {outlook.title}", 2)]
        for row in outlook.rows:
            now = amount(row.before, row.kind, system)
            text = f"    {row.title:<26}{now:>11} before{amount(row.middle, row.kind, system):>11}"
            lines.append(f"{text}  {interval(row.low, row.high, row.kind, system)}")
        lines.append(wrap(f"    {outlook.verdict}", 4))
    return lines


def untold_text(why: str) -> str:
    """Return what follows a fit whose next pass cannot be told; nothing where it can."""
    return f"\n\nTHE NEXT PASS\n{wrap(f'  It cannot be told: {why}.', 2)}" if why else ""


def notebook_text(
    title: str, found: NotebookFit, outlooks: Sequence[Outlook], system: System = "si"
) -> str:
    """Return the text of a notebook fit.

    Parameters
    ----------
    title : str
    found : NotebookFit
    outlooks : sequence of Outlook
        What the fitted model says of the next pass.
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    low, high = (found.share + k * 1.96 * found.share_error for k in (-1.0, 1.0))
    lines = [
        wrap(title or "scenario"), "",
        wrap(f"HEAT SHARE {found.share:.2f} of brake power, 95 % interval {low:.2f} to {high:.2f}; "
             f"the scenario had {found.share_before:.2f}"),
        "",
        "THE HEAT BALANCE",
    ]
    for term in found.terms:
        heat = amount(term.heat, "energy", system)
        how = "".join(p if isinstance(p, str) else amount(*p, system) for p in term.how)
        lines.append(wrap(f"  {term.name:<28}{heat:>12}  {how}", 44))
    lines += [
        f"  {'heat into the coolant':<28}{amount(found.heat, 'energy', system):>12}  "
        f"+- {amount(1.96 * found.heat_error, 'energy', system)}",
        f"  {'brake power over the pass':<28}{amount(found.brake_energy, 'energy', system):>12}",
        wrap(f"  share = heat / brake energy = {amount(found.heat, 'energy', system)} / "
             f"{amount(found.brake_energy, 'energy', system)} = {found.share:.3f}", 4),
        "",
        "WHAT THE INTERVAL IS MADE OF (standard error of the share)",
    ]
    shown = [c for c in found.parts_of_error if c[1] > 0.05 * found.share_error]
    lines += [f"  {name:<34}{error:>8.3f}" for name, error in shown]
    lines += ["", "FITTED", *fitted_lines(found.fitted, system)]
    if outlooks:
        lines += ["", "THE NEXT PASS (middle and 95 % interval)", *outlook_lines(outlooks, system)]
    lines += ["", "NOTES"]
    lines += [wrap(f"  {localised(note, system)}.", 4) for note in found.notes]
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)


def panels_of(found: Fit, system: System) -> list[Panel]:
    """Return the channels of a fit in shown units, for a picture."""
    from thermo.drawing import Panel
    from thermo.log_columns import CHANNELS
    from thermo.units import convert, kind_named

    panels = []
    for seen in found.previews:
        name = seen.channel
        kind = kind_named(CHANNELS[name].kind)
        unit = kind.us_display if system == "us" else kind.si_display
        zero = convert(0.0, kind.name, unit)

        def shown(values: Floats, kind: str = kind.name, unit: str = unit) -> list[float]:
            return [convert(float(v), kind, unit) for v in values]

        left = [convert(float(v), kind.name, unit) - zero for v in seen.log - seen.after]
        step = "F deg" if unit == "degF" else "K" if unit == "degC" else unit
        tail = f", event {seen.event + 1}" if len(found.events) > 1 else ""
        panels.append(Panel(
            f"{name}: {CHANNELS[name].means}{tail}", unit, step, [float(t) for t in seen.time],
            shown(seen.log), shown(seen.before), shown(seen.after), left))
    return panels


def advice(finding: Finding) -> str:
    """Return the options of the command that settle a finding; empty where there are none."""
    if finding.mend:
        return " ".join(f'--column "{printable(m.text, 120)}"' for m in finding.mend)
    return f"--leave-out {finding.channel}" if finding.name == "stuck" else ""


def finding_lines(
    findings: Sequence[Finding], system: System, advised: bool = True
) -> list[str]:
    """Return what was found about a log: column, lines, why, and options that settle it."""
    lines = []
    for f in findings:
        mark = "XX" if f.stops else "- "
        where = f"line {f.lines[0]}" if f.lines[0] == f.lines[1] else (
            f"lines {f.lines[0]} to {f.lines[1]}")
        settle = advice(f) if advised else ""
        column = printable(f.column, 80)
        lines.append(wrap(f"{mark} {f.name}: {column} ({f.channel}), {where}: "
                          f"{localised(f.why, system)}{f'; {settle}' if settle else ''}", 3))
    return lines


def pass_lines(passes: Sequence[Pass]) -> list[str]:
    """Return the passes of a log, one a line."""
    return [
        f"  {p.number:>3}  {p.start:>9.1f} s to {p.end:>9.1f} s  lines {p.lines[0]} to {p.lines[1]}"
        f"  by {p.by or 'the whole recording'}" for p in passes
    ]


def _channel_kind(channel: str) -> str:
    return {"speed": "speed", "plenum": "pressure_difference"}.get(
        channel, "temperature_difference")


def fit_text(
    title: str,
    log: Log,
    found: Fit,
    findings: Sequence[Finding],
    outlooks: Sequence[Outlook],
    system: System = "si",
) -> str:
    """Return the text of the fit of a log.

    Parameters
    ----------
    title : str
    log : Log
    found : Fit
    findings : sequence of Finding
    outlooks : sequence of Outlook
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    numbers = ", ".join(str(p.number) for e in found.events for p in e.passes)
    lines = [wrap(title or "scenario"), "",
             wrap(f"{log.source}: {len(log.time)} rows, fitted on pass {numbers}"),
             f"SHA-256 {log.sha256}"]
    if found.poor:
        lines += ["", "?? NOT TO BE TRUSTED"]
        lines += [wrap(f"  {words}.", 4) for words in found.poor]
    lines += ["", "FITTED", *fitted_lines(found.fitted, system)]
    if found.words:
        lines += ["", "WHAT THE LOG CANNOT TELL"]
        lines += [wrap(f"  {words}.", 4) for words in found.words]
    if outlooks:
        lines += ["", "THE NEXT PASS (middle and 95 % interval)", *outlook_lines(outlooks, system)]
    lines += ["", "LEFT OVER (robust, log less model)", f"  {'':<16}{'before':>12}{'after':>12}"]
    for channel, (before, after) in found.misfit.items():
        kind = _channel_kind(channel)
        lines.append(f"  {channel:<16}{amount(before, kind, system):>12}"
                     f"{amount(after, kind, system):>12}")
    lines += ["", "SENSORS AND STARTS, fitted along"]
    for n in found.nuisances:
        about = f"{n.channel} {n.title}".strip()
        lines.append(f"  {about:<36}{amount(n.value, n.kind, system):>14}")
    if findings or log.notes:
        lines += ["", "FOUND IN THE LOG", *finding_lines(findings, system)]
        lines += [wrap(f"-  {note.words}", 3) for note in log.notes]
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)
