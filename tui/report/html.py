"""A report as one HTML file that needs nothing else, made to be printed."""

from __future__ import annotations

import html

from tui.report.document import (
    Band,
    Block,
    Bullets,
    Card,
    Code,
    Figure,
    Paragraph,
    Report,
    Section,
    Table,
    clean,
)
from tui.report.svg import svg_of

STYLE = """
@page { size: PAPER; margin: 14mm 15mm 16mm; @bottom-left { content: "FOOT"; }
  @bottom-right { content: counter(page) " / " counter(pages); } }
@page { @bottom-left { font: 7.5pt sans-serif; } @bottom-right { font: 7.5pt sans-serif; } }
* { box-sizing: border-box; }
html { background: #fff; color: #000; }
body { max-width: 186mm; margin: 0 auto; padding: 6mm 3mm; line-height: 1.32;
  font-family: Arial, Helvetica, "Liberation Sans", sans-serif; font-size: 9.5pt; }
h1 { font-size: 17pt; line-height: 1.15; margin: 0 0 2mm; overflow-wrap: anywhere; }
h2 { font-size: 13pt; margin: 7mm 0 2mm; border-bottom: .4mm solid #000; break-after: avoid; }
h3 { font-size: 10pt; margin: 4mm 0 1mm; break-after: avoid; }
p { margin: 1.2mm 0; overflow-wrap: anywhere; }
p.lead { font-weight: bold; margin-top: 4mm; break-after: avoid; }
p.step { break-after: avoid; }
p.small, figcaption { font-size: 8.5pt; }
p.caution { border: .7mm solid #000; padding: 1.5mm 2.5mm; font-weight: bold; }
pre { margin: .6mm 0 .6mm 4mm; font-size: 8.5pt; white-space: pre-wrap; overflow-wrap: anywhere;
  break-inside: avoid; }
ul { margin: 1mm 0; padding-left: 5mm; } li { margin: .6mm 0; overflow-wrap: anywhere; }
dl.facts { display: grid; grid-template-columns: max-content 1fr; gap: .3mm 4mm; margin: 2mm 0;
  font-size: 8.5pt; } dl.facts dt { font-weight: bold; } dl.facts dd { margin: 0;
  overflow-wrap: anywhere; }
nav { font-size: 8.5pt; margin: 2mm 0 4mm; } nav a { color: #000; margin-right: 3mm; }
table { border-collapse: collapse; width: 100%; table-layout: fixed; margin: 1.5mm 0 3mm;
  font-size: 8.5pt; }
thead { display: table-header-group; } tr { break-inside: avoid; }
th { text-align: left; border-bottom: .3mm solid #000; padding: .6mm 1mm; vertical-align: bottom; }
td { white-space: pre-line; border-bottom: .1mm solid #999; padding: .5mm 1mm; vertical-align: top;
  overflow-wrap: anywhere; }
.n { text-align: right; padding-right: 3mm; } td.b { font-weight: bold; }
tr.band th { border-bottom: .1mm solid #000; padding-top: 2mm; font-style: italic;
  break-after: avoid; }
tr.band { break-after: avoid; }
.card { border: .2mm solid #000; padding: 1.2mm 2.5mm; margin: 2mm 0; break-inside: avoid; }
.card h3 { margin: 0 0 .6mm; } .card dl { display: grid; grid-template-columns: 24mm 1fr;
  gap: .3mm 2mm; margin: 0; } .card dt { font-style: italic; font-size: 8.5pt; }
.card dd { margin: 0; overflow-wrap: anywhere; }
.card.caution { border: .6mm dashed #000; }
.card.danger, .card.none { border: 1.2mm double #000; }
figure { margin: 2mm 0 4mm; break-inside: avoid; } svg { display: block; width: 100%;
  height: auto; }
@media print { body { padding: 0; max-width: none; } nav { display: none; } }
"""
SIZES = {"a4": "A4", "letter": "letter"}


def escape(text: str) -> str:
    """Return text as HTML shows it: no markup in it, and no control characters."""
    return html.escape(clean(text))


def _table(block: Table) -> str:
    total = sum(block.shares)
    columns = "".join(f'<col style="width:{100.0 * s / total:.2f}%">' for s in block.shares)
    wide = len(block.head)
    classes = [
        " ".join(
            name for name, chosen in (("n", block.figures), ("b", block.bold)) if i in chosen
        )
        for i in range(wide)
    ]
    head = "".join(
        f'<th scope="col"{_class("n" if i in block.figures else "")}>{escape(text)}</th>'
        for i, text in enumerate(block.head)
    )
    body = []
    for row in block.rows:
        if isinstance(row, Band):
            body.append(
                f'<tr class="band"><th colspan="{wide}" scope="colgroup">{escape(row.text)}</th>'
                "</tr>"
            )
        else:
            cells = "".join(
                f"<td{_class(name)}>{escape(cell)}</td>"
                for cell, name in zip(row, classes, strict=True)
            )
            body.append(f"<tr>{cells}</tr>")
    return (
        f"<table><colgroup>{columns}</colgroup><thead><tr>{head}</tr></thead>"
        f"<tbody>{''.join(body)}</tbody></table>"
    )


def _class(name: str) -> str:
    return f' class="{name}"' if name else ""


def _block(block: Block) -> str:
    if isinstance(block, Paragraph):
        name = "" if block.style == "plain" else block.style
        return f"<p{_class(name)}>{escape(block.text)}</p>"
    if isinstance(block, Bullets):
        return f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in block.items)}</ul>"
    if isinstance(block, Code):
        return f"<pre>{escape(block.text)}</pre>"
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Card):
        lines = "".join(f"<dt>{escape(a)}</dt><dd>{escape(b)}</dd>" for a, b in block.lines)
        level = "none" if block.level == "no verdict" else block.level
        return f'<div class="card {level}"><h3>{escape(block.title)}</h3><dl>{lines}</dl></div>'
    return _figure(block)


def _figure(block: Figure) -> str:
    caption = f"<figcaption>{escape(block.caption)}</figcaption>" if block.caption else ""
    return (
        f"<figure><h3>{escape(_capital(block.title))}</h3>"
        f"{svg_of(block.picture, block.title, block.caption)}{caption}</figure>"
    )


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"


def _section(section: Section) -> str:
    body = "\n".join(_block(block) for block in section.blocks)
    return f'<section id="{section.name}"><h2>{escape(section.title)}</h2>\n{body}</section>'


def html_of(report: Report, paper: str = "a4") -> str:
    """Return a report as HTML.

    Parameters
    ----------
    report : Report
    paper : {'a4', 'letter'}
        What it is printed on unless the reader's browser is told otherwise.

    Returns
    -------
    str
        One document: styles and drawings are in it, and it asks for nothing else.
    """
    foot = report.foot.replace("\\", "").replace('"', "'")
    style = STYLE.replace("PAPER", SIZES[paper]).replace("FOOT", clean(foot).replace("<", ""))
    facts = "".join(f"<dt>{escape(a)}</dt><dd>{escape(b)}</dd>" for a, b in report.facts)
    links = "".join(f'<a href="#{s.name}">{escape(s.title)}</a>' for s in report.sections)
    opening = "\n".join(_block(block) for block in report.opening)
    body = "\n".join(_section(section) for section in report.sections)
    return (
        '<!DOCTYPE html>\n<html lang="en"><head><meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(report.title)}</title>\n<style>{style}</style></head>\n<body>\n"
        f'<h1>{escape(report.title)}</h1>\n<dl class="facts">{facts}</dl>\n'
        f"{opening}\n<nav>{links}</nav>\n{body}\n</body></html>\n"
    )
