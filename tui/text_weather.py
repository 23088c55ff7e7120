"""The text of ``soakbox weather``, and the words that the printed page shares with it."""

from __future__ import annotations

import math
from collections.abc import Iterable

from thermo import __version__
from thermo.hazards.margins import MARGINS, slack_of
from thermo.results import FLOORS
from thermo.survival import Reach, Survival
from thermo.units import System, convert, format_number
from thermo.weather import SHORTEST, TANK, Cell, WeatherTable
from tui.wording import CAUTIONS, WIDTH, amount, flag_amount, localised, wrap

VERDICTS = {
    "clear": "clear", "caution": "CAUTION", "danger": "DANGER", "no verdict": "NO VERDICT",
    "refused": "refused",
}
FILL_IN = ("Date", "Air", "Tank", "By")
"""What is written on the page by hand."""

STEPS = (
    "Measure air in the shade and {column}. Between rows or columns the worst of the cells around "
    "counts; outside the table nothing is known.",
    "A cell: verdict, limit that binds, its figure and in brackets what is wanted (>= at least, "
    "<= at most); 'boil' is the margin to boiling where another limit binds.",
    "Hotter air may read better where the tank is no warmer: thin air takes power and heat away. "
    "Water that stood in the heat is warmer too: see the column 'with air' of the lower table.",
    "DANGER: do not run. CAUTION: read that limit with soakbox check first. No verdict and "
    "refused never mean safe: nothing was found.",
)
"""How to read the page."""


def air_text(kelvin: float, system: System) -> str:
    """Return a temperature as a number in the user's system."""
    if not math.isfinite(kelvin):
        return "-"
    return format_number(convert(kelvin, "temperature", degree(system)), 3)


def degree(system: System) -> str:
    """Return the unit of temperatures."""
    return "degF" if system == "us" else "degC"


def column_text(table: WeatherTable, value: float, system: System) -> str:
    """Return the head of a column: a temperature, or minutes."""
    if table.columns.key == TANK:
        return air_text(value, system)
    return "0" if value == SHORTEST else format_number(value / 60.0, 3)


def column_title(table: WeatherTable, system: System) -> str:
    """Return what the columns are."""
    if table.columns.key == TANK:
        return f"tank start, {degree(system)}"
    return "time in the queue, min"


def short(value: float, unit: str, system: System) -> tuple[str, str]:
    """Return a figure of a hazard as number and short unit."""
    number, _, rest = flag_amount(value, unit, system).partition(" ")
    return number, {"degC": "C", "degF": "F", "F deg": "F"}.get(rest, rest)


def figure_text(cell: Cell, system: System) -> str:
    """Return figure and limit of what binds; nothing where it has no figure."""
    if not math.isfinite(cell.value):
        return ""
    number, unit = short(cell.value, cell.unit, system)
    if math.isnan(cell.limit):
        return f"{number} {unit}".rstrip()
    limit, own = short(cell.limit, cell.unit, system)
    sense = ">=" if cell.binding in FLOORS else "<="
    last = limit if unit == own else f"{limit} {own}"
    return f"{number} {unit}".rstrip() + f" ({sense}{last})"


def cell_lines(cell: Cell, system: System) -> tuple[str, ...]:
    """Return a cell: verdict, what binds, its figure, and the boil margin where that is another."""
    word = VERDICTS[cell.verdict]
    if not cell.binding:
        return (word,)
    boil = "" if cell.binding == "coolant-boil" else " ".join(
        ("boil", *short(cell.boil_margin, "K", system))
    )
    return tuple(filter(None, (word, cell.binding, figure_text(cell, system), boil)))


def planned_text(table: WeatherTable, system: System) -> str:
    """Return the scenario as it stands in one line."""
    cell = table.planned
    at = f"air {air_text(cell.air, system)} {degree(system)}"
    if table.columns.key == TANK:
        other = f"tank {air_text(cell.column, system)} {degree(system)}"
    else:
        other = f"queue {column_text(table, cell.column, system)} min"
    if not cell.binding:
        return f"As planned ({at}, {other}): {VERDICTS[cell.verdict]}: {cell.reason}."
    boil = amount(cell.boil_margin, "temperature_difference", system)
    return (
        f"As planned ({at}, {other}): {VERDICTS[cell.verdict]}, {cell.binding} "
        f"{figure_text(cell, system)}, boil margin {boil}."
    ).replace(" ,", ",")


def counts_text(table: WeatherTable) -> str:
    """Return how many cells have each verdict."""
    c = table.counts
    return (
        f"{sum(c.values())} days: {c['clear']} clear, {c['caution']} caution, {c['danger']} "
        f"danger, {c['no verdict']} without a verdict, {c['refused']} refused."
    )


def reasons(table: WeatherTable, system: System) -> list[str]:
    """Return why cells have no verdict, each reason once with the number of its cells."""
    found: dict[tuple[str, str], int] = {}
    for row in table.cells:
        for cell in row:
            if cell.reason:
                key = (cell.verdict, cell.reason)
                found[key] = found.get(key, 0) + 1
    return [
        f"{VERDICTS[verdict]} ({count} {'day' if count == 1 else 'days'}): "
        f"{localised(reason, system)}."
        for (verdict, reason), count in found.items()
    ]


def with_air_text(table: WeatherTable, system: System) -> str:
    """Return how far the tank starts from the air in the column where it follows it."""
    off = amount(abs(table.offset), "temperature_difference", system)
    if round(table.offset, 6) == 0.0:
        return "as warm as the air"
    return f"{off} {'below' if table.offset < 0.0 else 'above'} the air"


def limits_told(table: WeatherTable) -> list[Survival]:
    """Return the limits that some air passes or that no air keeps; those of danger too.

    Where every air is a danger, that every air is a caution goes without saying.
    """
    never = {
        s.hazard for s in table.survivals
        if s.level == "danger" and all(r.state == "none" for r in s.reaches)
    }
    return [
        s for s in table.survivals
        if any(r.state in ("limit", "none") for r in s.reaches)
        and not (s.level == "caution" and s.hazard in never)
    ]


def limits_open(table: WeatherTable) -> list[str]:
    """Return in words which hazards no air in the range brings on, and which only cooler air."""
    told = {s.hazard for s in limits_told(table)}
    rest = [s for s in table.survivals if s.hazard not in told]
    cold = [s.hazard for s in rest if any(r.state == "cold" for r in s.reaches)]
    open_ = [s.hazard for s in rest if s.hazard not in cold]
    sentences = [f"Any air at all: {', '.join(open_)}."] if open_ else []
    if cold:
        sentences.append(f"Passed in cooler air only: {', '.join(dict.fromkeys(cold))}.")
    return sentences


def reach_text(reach: Reach, system: System) -> str:
    """Return the hottest air as a number; a word where there is none."""
    if reach.state == "open":
        return "any"
    if reach.state == "none":
        return "none"
    if reach.state == "unsolved" and not math.isfinite(reach.hottest):
        return "?"
    mark = {"limit": "", "cold": "+", "unsolved": "?"}[reach.state]
    return f"{air_text(reach.hottest, system)}{mark}"


def marks_text(table: WeatherTable, system: System) -> str:
    """Return what the words and marks in the table of limits mean, those that are in it."""
    end = air_text(table.scanned[1], system)
    states = {r.state for s in limits_told(table) for r in s.reaches}
    words = {
        "open": "any: no air in that range passes it",
        "none": "none: every air does",
        "cold": f"{end}+: cooler air passes it, {end} does not",
        "unsolved": "?: no verdict beyond, or at all",
    }
    return "; ".join(text for state, text in words.items() if state in states) + "."


def survival_name(survival: Survival) -> str:
    """Return the limit, and which level of it is kept off."""
    return survival.hazard if survival.level == "caution" else f"{survival.hazard}, danger"


def missing_text(table: WeatherTable, survival: Survival, system: System) -> str:
    """Say why no air in the range keeps a limit, with the best attainable; empty where one does."""
    places = [len(survival.reaches) - 1, *range(len(survival.reaches) - 1)]
    for i in places:
        reach = survival.reaches[i]
        if reach.state != "none":
            continue
        own = "with air" if i == places[0] else ""
        where = own or f"at {column_text(table, table.columns.values[i], system)}"
        best = best_text(survival.hazard, reach, system)
        return f"{survival_name(survival)}: none ({where}){best}"
    return ""


def notes_text(table: WeatherTable, system: System) -> list[str]:
    """Return what stands under the table of limits: why there is none, why no verdict."""
    notes = [missing_text(table, s, system) for s in limits_told(table)]
    unsolved = {
        r.reason.removeprefix("no verdict: "): None
        for s in table.survivals for r in s.reaches if r.state == "unsolved"
    }
    notes += [f"?: {localised(reason, system)}" for reason in unsolved]
    return [note for note in notes if note]


def best_text(hazard: str, reach: Reach, system: System) -> str:
    """Return the best that any air attains against what is wanted; empty without a figure."""
    if not math.isfinite(reach.best_value):
        return ""
    unit = MARGINS[hazard][0]
    value, limit = (flag_amount(x, unit, system) for x in (reach.best_value, reach.best_limit))
    kept = slack_of(hazard, reach.best_value, reach.best_limit) >= 0.0
    sense = "at least" if hazard in FLOORS else "at most"
    # A caution all the same: near the limit, or nothing that would let go beyond it.
    wanted = f"within the limit of {limit}, but no clear day" if kept else f"{sense} {limit} wanted"
    return f": best {value} at air {air_text(reach.best_air, system)}, {wanted}"


def steps_text(table: WeatherTable) -> list[str]:
    """Return how to read the page."""
    tank = table.columns.key == TANK
    measured = "the tank's water before the event" if tank else "the time in the queue"
    return [step.format(column=measured) for step in STEPS]


def _row(label: str, cells: Iterable[str], head: int, wide: int) -> str:
    return (f"{label:<{head}}" + "".join(f"{cell:<{wide}}" for cell in cells)).rstrip()


def _grid(table: WeatherTable, system: System) -> list[str]:
    """Return the table, as many columns side by side as fit."""
    texts = [[cell_lines(cell, system) for cell in row] for row in table.cells]
    wide = max(11, *(len(line) for row in texts for cell in row for line in cell)) + 2
    head = 6
    side = max((WIDTH + 2 - head) // wide, 1)
    side = -(-len(table.columns) // -(-len(table.columns) // side))
    lines: list[str] = []
    for first in range(0, len(table.columns), side):
        some = range(first, min(first + side, len(table.columns)))
        if first:
            lines.append("")
        lines.append(f"{'air,':<{head}}{column_title(table, system)}")
        heads = (column_text(table, table.columns.values[i], system) for i in some)
        lines.append(_row(degree(system), heads, head, wide))
        for air, row in zip(table.airs.values, texts, strict=True):
            lines.append("")
            for k in range(max(len(row[i]) for i in some)):
                label = air_text(air, system) if k == 0 else ""
                cells = (row[i][k] if k < len(row[i]) else "" for i in some)
                lines.append(_row(label, cells, head, wide))
    return lines


def _hottest(table: WeatherTable, system: System) -> list[str]:
    told = limits_told(table)
    low, high = (air_text(x, system) for x in table.scanned)
    lines = [
        wrap(
            f"HOTTEST AIR EACH LIMIT SURVIVES, {degree(system)}, looked for from {low} to {high}; "
            f"first with the tank {with_air_text(table, system)}, as planned, then by "
            f"{column_title(table, system).split(',')[0]}. {marks_text(table, system)}"
        )
    ]
    if told:
        heads = ["with air", *(column_text(table, v, system) for v in table.columns.values)]
        wide = max(5, (WIDTH - 24 - 10) // max(len(heads) - 1, 1))
        wide = min(wide, 9)
        lines.append(
            f"  {'limit':<22}{heads[0]:>9}" + "".join(f"{h:>{wide}}" for h in heads[1:])
        )
        for s in told:
            first, *rest = (reach_text(r, system) for r in (s.reaches[-1], *s.reaches[:-1]))
            cells = "".join(f"{text:>{wide}}" for text in rest)
            lines.append(f"  {survival_name(s):<22}{first:>9}{cells}")
    lines += [wrap(f"  - {words}.", 4) for words in notes_text(table, system)]
    lines += [wrap(f"  {words}", 4) for words in limits_open(table)]
    return lines


def weather_text(table: WeatherTable, system: System = "si") -> str:
    """Return the whole text of ``soakbox weather``.

    Parameters
    ----------
    table : WeatherTable
    system : {'si', 'us'}

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    lines = [
        wrap(table.title or "scenario"),
        f"HOT-WEATHER TABLE   soakbox {__version__}   scenario {table.digest}",
        "   ".join(f"{word} {'_' * 12}" for word in FILL_IN),
        "",
        wrap(planned_text(table, system)),
        wrap(counts_text(table)),
    ]
    if table.queue:
        lines.append(wrap(f"Columns: {table.queue}."))
    lines += ["", *_grid(table, system), ""]
    lines += [wrap(words) for words in reasons(table, system)]
    lines += _hottest(table, system)
    lines += ["", "HOW TO READ IT", *(wrap(f"  {i}. {s}", 5)
                                      for i, s in enumerate(steps_text(table), 1))]
    lines += ["", "TAKEN FOR GRANTED", *(wrap(f"  - {localised(words, system)}", 4)
                                         for words in table.assumed)]
    lines += ["", wrap(CAUTIONS)]
    return "\n".join(lines)
