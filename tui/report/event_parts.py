"""What the solved event gives to a report: verdict, picture, hazards, figures, account."""

from __future__ import annotations

from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System, convert
from tui.figures import figure_rows
from tui.present import HazardRow, hazard_rows, verdict_line
from tui.report.document import Band, Block, Card, Figure, Paragraph, Section, Table
from tui.report.side import TITLE, side_picture, worst_row
from tui.wording import amount, localised
from tui.words import MARKS

GROUPS = {
    "event": "The event", "cooling": "Cooling", "tank": "Tank and lines", "intake": "Intake",
    "day": "The day",
}
COUNTED = ("danger", "caution", "clear")


def sentence(text: str) -> str:
    """Return words as a sentence: a capital first, unless a key leads, and a full stop last."""
    text = text.strip()
    if not text:
        return ""
    key = set("._[") & set(text.split()[0].rstrip(".:;,"))
    first = text[0] if key else text[0].upper()
    return f"{first}{text[1:]}{'' if text.endswith(('.', '?', '!')) else '.'}"


def counts(result: EventResult) -> str:
    """Return how many hazards stand at each level."""
    return ", ".join(f"{sum(f.level == n for f in result.flags)} {n}" for n in COUNTED)


def verdict_card(result: EventResult, system: System) -> Card:
    """Return the verdict: what binds, by how much, when, and what would clear it.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    Card
    """
    told = verdict_line(result, system)
    flag = result.binding
    lines = [("hazards", f"{counts(result)}, of {len(result.flags)} looked at")]
    lines += [("not to be trusted", sentence(localised(why, system))) for why in result.untrusted]
    bound = ", ".join(p for p in (told.gap, told.when, localised(flag.where, system)) if p)
    binding = next(row for row in hazard_rows(result, system) if row.name == flag.name)
    lines.append(("what binds", f"{binding.title} ({flag.name}): {binding.figure}; {bound}"))
    if flag.level != "clear":
        lines.append(("why it matters", sentence(localised(flag.why, system))))
        lines.append(("what would clear it", sentence(localised(flag.remedy, system))))
    return Card(result.verdict, f"{told.mark} VERDICT: {told.word}", tuple(lines))


def side_figure(result: EventResult, scenario: Scenario, system: System) -> Figure:
    """Return the car from the side at the moment at which what binds is worst."""
    row = worst_row(result)
    time = float(result.history.time[row])
    leg = result.legs[int(result.history.leg[row])][0]
    words = (
        f"At {time:.1f} s ({leg}), when {result.binding.name} is at its worst. A hazard with a "
        "time begins then, earlier or later. Not to scale"
    )
    words += "." if result.intake is None else "; the duct is drawn beneath the car."
    return Figure("side", TITLE, side_picture(result, scenario, row, system), words)


def _hazard_card(row: HazardRow, system: System) -> Card:
    where = ", ".join(p for p in (row.gap, row.when, localised(row.where, system)) if p)
    return Card(
        row.level,
        f"{row.mark} {row.level.upper()}: {row.title}",
        (
            ("figure", f"{row.figure}; {where}"),
            ("why", sentence(localised(row.why, system))),
            ("clear it by", sentence(localised(row.remedy, system))),
            ("flag", row.name),
        ),
    )


def hazard_section(result: EventResult, system: System) -> Section:
    """Return the hazards: those that need care in full, worst first, and the clear ones.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    rows = hazard_rows(result, system)
    blocks: list[Block] = [
        _hazard_card(row, system) for row in rows if row.level != "clear"
    ]
    if not blocks:
        blocks.append(Paragraph("None of the hazards that are looked at needs care."))
    clear = tuple(
        (row.title, row.value or "no figure", row.limit, row.gap, row.name)
        for row in rows
        if row.level == "clear"
    )
    if clear:
        blocks.append(Paragraph("Looked at and found clear:"))
        blocks.append(
            Table(
                (f"{MARKS['clear']} hazard", "figure", "limit", "left", "flag"),
                clear,
                (34.0, 16.0, 20.0, 17.0, 13.0),
                figures=frozenset({1, 2, 3}),
            )
        )
    return Section("hazards", "Hazards and remedies", tuple(blocks))


def figures_section(result: EventResult, system: System) -> Section:
    """Return peaks and margins, stations of the duct, and the energy account.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    Section
    """
    rows: list[Band | tuple[str, ...]] = []
    found = figure_rows(result, system)
    for group, title in GROUPS.items():
        inside = [row for row in found if row.group == group]
        if inside:
            rows.append(Band(title))
            rows += [(row.label, row.value, row.words) for row in inside]
    blocks: list[Block] = [
        Table(("figure", "value", "what it is"), tuple(rows), (38.0, 20.0, 42.0),
              figures=frozenset({1}))
    ]
    if result.intake is not None and result.intake.stations:
        blocks += _stations(result, system)
    blocks += [Paragraph("Energy account", "lead"), _account(result, system)]
    return Section("figures", "Peaks and margins", tuple(blocks))


def _stations(result: EventResult, system: System) -> list[Block]:
    duct = result.intake
    if duct is None:
        return []
    unit, degree = ("psi", "degF") if system == "us" else ("kPa", "degC")
    pace = "ft/s" if system == "us" else "m/s"
    rows = tuple(
        (
            s.name if s.path in ("duct", "plenum") else f"{s.path}: {s.name}",
            f"{convert(s.stagnation_pressure, 'pressure_absolute', unit):.3f}",
            f"{convert(s.static_pressure, 'pressure_absolute', unit):.3f}",
            f"{convert(s.loss, 'pressure_difference', unit):.3f}",
            f"{s.mach:.3f}",
            f"{convert(s.speed, 'speed', pace):.1f}",
            f"{convert(s.stagnation_temperature, 'temperature', degree):.1f}",
        )
        for s in duct.stations
    )
    at = amount(duct.speed_m_per_s, "speed", system)
    return [
        Paragraph(f"The duct part by part, at {at}; pressures absolute", "lead"),
        Table(
            ("behind", f"stagnation, {unit}", f"static, {unit}", f"lost, {unit}", "Mach",
             f"speed, {pace}", f"stagnation, {degree}"),
            rows,
            (28.0, 14.0, 12.0, 12.0, 10.0, 12.0, 14.0),
            figures=frozenset(range(1, 7)),
        ),
    ]


def _account(result: EventResult, system: System) -> Table:
    a = result.audit
    rows = (
        ("heat in", a.heat_in_J, "from the engine, whole event"),
        ("work of the pumps", a.pump_work_J, "turned into heat"),
        ("water and ice", a.added_J, "put in, less taken out"),
        ("stored", a.stored_J, "in metal, coolant, lines, tank"),
        ("to the air", a.to_air_J, "from engine, lines, tank"),
        ("carried off as steam", a.steam_J, "and as liquid let out"),
    )
    told = [(n, amount(float(v), "energy", system), w) for n, v, w in rows]
    told.append(
        (
            "not accounted for",
            f"{100.0 * abs(float(a.residual_fraction)):.4f} %",
            "of heat in; above 0.5 % there is no verdict",
        )
    )
    return Table(("energy", "amount", "what it is"), tuple(told), (38.0, 20.0, 42.0),
                 figures=frozenset({1}))
