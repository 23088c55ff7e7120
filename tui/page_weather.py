"""The hot-weather table as one printed page of HTML: no network, no script, black and white."""

from __future__ import annotations

import json
from html import escape

from thermo import __version__
from thermo.units import System
from thermo.weather import TANK, Cell, WeatherTable
from thermo.weather_export import rows_of, to_json
from tui.options import csv_text
from tui.text_weather import (
    FILL_IN,
    air_text,
    cell_lines,
    column_text,
    column_title,
    counts_text,
    degree,
    limits_open,
    limits_told,
    marks_text,
    notes_text,
    planned_text,
    reach_text,
    reasons,
    steps_text,
    survival_name,
    weather_text,
    with_air_text,
)
from tui.wording import CAUTIONS, localised

ENDINGS = (".html", ".txt", ".csv", ".json")
"""What the table can be written as."""

HEIGHT, TEXT_WIDTH = 255.0, 186.0
"""Height and width that A4 and Letter both leave inside the margins [mm]."""

LARGEST, SMALLEST = 10.0, 5.0
"""Sizes of type [pt]."""

POINT, LEADING, LETTER = 0.3528, 1.22, 0.47
"""A point [mm]; height of a line and usual width of a letter, over the size of type."""

STYLE = """
@page { margin: 10mm 12mm; }
* { box-sizing: border-box; }
html { background: #fff; color: #000; }
body { width: 186mm; margin: 0 auto; font: SIZEpt/LEADING Arial, Helvetica, "Liberation Sans",
  sans-serif; }
h1 { font-size: 1.5em; margin: 0 0 .2em; } h2 { font-size: 1.08em; margin: .7em 0 .2em; }
p { margin: .15em 0; } ol, ul { margin: 0; padding-left: 1.6em; }
.line { display: flex; gap: 1.5em; margin: .4em 0; }
.line span { flex: 1; border-bottom: .3mm solid #000; }
table { border-collapse: separate; border-spacing: .6mm; width: 100%; table-layout: fixed; }
th { font-weight: bold; text-align: center; }
.days td { text-align: center; padding: .25em .1em; vertical-align: top; }
.days th.air { width: 13mm; font-size: 1.25em; } .days b { display: block; font-size: 1.12em; }
.days .air + th, .days thead th { font-size: 1.15em; }
.clear { border: .2mm dotted #000; } .clear b { font-weight: normal; }
.caution { border: .4mm dashed #000; }
.danger { border: 1.1mm double #000; } .danger b { text-decoration: underline; }
.none { border: .2mm solid #999; font-style: italic; }
.hot { border-spacing: 0; } .hot td, .hot th { border-bottom: .1mm solid #777; padding: .08em .3em;
  text-align: center; } .hot td:first-child, .hot th:first-child { text-align: left; width: 42mm; }
.notes { columns: 2; column-gap: 6mm; font-size: .92em; } .notes li { break-inside: avoid; }
.caution-words { border: .5mm solid #000; padding: .3em .5em; margin-top: .6em; }
"""


def _deep(text: str, width: float, size: float) -> int:
    """Return how many lines a text takes in a width [mm] at a size of type [pt], not too few."""
    per_line = width / (size * POINT * LETTER)
    return max(1, -(-len(text) // max(int(per_line), 1)))


def _size(table: WeatherTable, system: System) -> float:
    """Return the largest type at which everything stands on one page [pt]."""
    size = LARGEST
    while size > SMALLEST and _height(table, system, size) > HEIGHT:
        size -= 0.1
    return size


def _height(table: WeatherTable, system: System, size: float) -> float:
    """Return the height of the page, reckoned on the safe side [mm]."""
    line = size * POINT * LEADING
    wide = (TEXT_WIDTH - 15.0) / len(table.columns) - 3.0
    days = sum(
        max(
            sum(_deep(text, wide, size * (1.12 if i == 0 else 1.0))
                for i, text in enumerate(cell_lines(cell, system)))
            for cell in row
        ) * line + 0.65 * size * POINT
        + (2.9 if any(cell.verdict == "danger" for cell in row) else 1.4)
        for row in table.cells
    )
    texts = [
        f"{planned_text(table, system)} {counts_text(table)}   ", CAUTIONS + " " * 20,
        *reasons(table, system), " ".join(limits_open(table)),
        *([table.queue + " " * 10] if table.queue else []), *steps_text(table), *table.assumed,
        marks_text(table, system) + " " * 130,
    ]
    prose = sum(_deep(text, TEXT_WIDTH - 6.0, size) * line + 0.3 * size * POINT for text in texts)
    notes = sum(
        _deep(text, TEXT_WIDTH / 2.0 - 8.0, 0.92 * size) * 0.92 * line
        for text in notes_text(table, system)
    )
    told = (len(limits_told(table)) + 1) * (line + 0.16 * size * POINT + 0.1)
    heads = 3 * 2.1 * line + 2.4 * line + 1.6 * line + 2 * 1.25 * line + 3.0
    return days + prose + 0.5 * notes + 2.0 * line + told + heads


def _shown(text: str) -> str:
    """Return text for HTML, with the signs that print has."""
    marks = (("&gt;=", "&ge;&#8202;"), ("&lt;=", "&le;&#8202;"), (" degC", " &deg;C"),
             (" degF", " &deg;F"))
    out = escape(text)
    for plain, sign in marks:
        out = out.replace(plain, sign)
    return out


def _cell(cell: Cell, system: System) -> str:
    word, *rest = cell_lines(cell, system)
    kind = cell.verdict if cell.verdict in ("clear", "caution", "danger") else "none"
    return f'<td class="{kind}"><b>{_shown(word)}</b>{"<br>".join(map(_shown, rest))}</td>'


def _days(table: WeatherTable, system: System) -> str:
    heads = "".join(
        f"<th>{_shown(column_text(table, v, system))}</th>" for v in table.columns.values
    )
    body = "".join(
        f'<tr><th class="air">{_shown(air_text(air, system))}</th>'
        + "".join(_cell(cell, system) for cell in row) + "</tr>"
        for air, row in zip(table.airs.values, table.cells, strict=True)
    )
    title = _shown(column_title(table, system))
    return (
        f'<table class="days"><thead><tr><th class="air">air</th>'
        f'<th colspan="{len(table.columns)}">{title}</th></tr>'
        f'<tr><th class="air">{_shown(" " + degree(system)).strip()}</th>{heads}</tr></thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _hottest(table: WeatherTable, system: System) -> str:
    low, high = (air_text(x, system) for x in table.scanned)
    head = (
        f"<h2>Hottest air each limit survives, {_shown(' ' + degree(system)).strip()}</h2>"
        f"<p>Looked for from {low} to {high}; first with the tank "
        f"{_shown(with_air_text(table, system))}, as planned, then by "
        f"{_shown(column_title(table, system).split(',')[0])}. {_shown(marks_text(table, system))}"
        "</p>"
    )
    rows = "".join(
        f"<tr><td>{_shown(survival_name(s))}</td>"
        + "".join(
            f"<td>{_shown(reach_text(r, system))}</td>" for r in (s.reaches[-1], *s.reaches[:-1])
        ) + "</tr>"
        for s in limits_told(table)
    )
    heads = "".join(
        f"<th>{_shown(column_text(table, v, system))}</th>" for v in table.columns.values
    )
    body = (
        f'<table class="hot"><tr><th>limit</th><th>with air</th>{heads}</tr>{rows}</table>'
        if rows else ""
    )
    notes = "".join(f"<li>{_shown(words)}.</li>" for words in notes_text(table, system))
    return (
        f'{head}{body}<ul class="notes">{notes}</ul>'
        f"<p>{_shown(' '.join(limits_open(table)))}</p>"
    )


def weather_html(table: WeatherTable, system: System = "si") -> str:
    """Return the page of ``soakbox weather --out page.html``.

    Parameters
    ----------
    table : WeatherTable
    system : {'si', 'us'}

    Returns
    -------
    str
        One document that needs nothing else; its type is as large as one sheet of A4 or Letter
        allows.
    """
    title = table.title or "scenario"
    size = f"{_size(table, system):.1f}"
    style = STYLE.replace("SIZE", size).replace("LEADING", str(LEADING))
    fill = "".join(f"<span>{word}:</span>" for word in FILL_IN)
    queue = f"<p>Columns: {_shown(table.queue)}.</p>" if table.queue else ""
    why = "".join(f"<p>{_shown(words)}</p>" for words in reasons(table, system))
    steps = "".join(f"<li>{_shown(step)}</li>" for step in steps_text(table))
    assumed = "".join(f"<li>{_shown(localised(w, system))}</li>" for w in table.assumed)
    kind = "tank start" if table.columns.key == TANK else "queue"
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">'
        f"<title>Hot-weather table by {kind}: {escape(title)}</title>"
        f"<style>{style}</style></head>\n<body>"
        f"<h1>Hot-weather table: {escape(title)}</h1>"
        f"<p>Soakbox {__version__}, scenario {table.digest}</p>"
        f'<div class="line">{fill}</div>'
        f"<p><b>{_shown(planned_text(table, system))}</b> {_shown(counts_text(table))}</p>{queue}"
        f"{_days(table, system)}{why}{_hottest(table, system)}"
        f"<h2>How to read it</h2><ol>{steps}</ol>"
        f"<h2>Taken for granted</h2><ul>{assumed}</ul>"
        f'<p class="caution-words"><b>{escape(CAUTIONS)}</b></p></body></html>\n'
    )


def weather_page(table: WeatherTable, ending: str, system: System = "si") -> str:
    """Return the table as what a file of an ending holds.

    Parameters
    ----------
    table : WeatherTable
    ending : str
        One of `ENDINGS`.
    system : {'si', 'us'}
        Of the page and the text; .csv and .json are in SI.

    Returns
    -------
    str
    """
    if ending == ".html":
        return weather_html(table, system)
    if ending == ".csv":
        return csv_text(rows_of(table))
    if ending == ".json":
        return json.dumps(to_json(table), indent=2, allow_nan=False) + "\n"
    return weather_text(table, system) + "\n"
