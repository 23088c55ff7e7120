"""A report as PDF, by reportlab; its type is the font that the drawings are set in."""

from __future__ import annotations

import html
import io
from typing import Any

from reportlab.graphics.shapes import Drawing, Group, Path, String
from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    PageTemplate,
    Spacer,
)
from reportlab.platypus import Paragraph as Text
from reportlab.platypus import Table as Grid

from thermo.charting import drawable, font_file
from thermo.picture import Picture, Stroke, Words
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

PAPERS = {"a4": A4, "letter": LETTER}
SIDE, TOP, BOTTOM = 15.0 * mm, 14.0 * mm, 17.0 * mm
FONT, BOLD, OBLIQUE = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSans-Oblique"
MONO = "DejaVuSansMono"
BASE = 7.8
"""Type of the text [pt]: this font runs wide."""


def _style(name: str, **changes: Any) -> ParagraphStyle:
    usual = {"fontName": FONT, "fontSize": BASE, "leading": 1.32 * BASE, "spaceAfter": 3.0,
             "splitLongWords": 1}
    return ParagraphStyle(name, **{**usual, **changes})


PLAIN = _style("plain")
STYLES = {
    "plain": PLAIN,
    "lead": _style("lead", fontName=BOLD, spaceBefore=7.0),
    "step": _style("step", keepWithNext=1),
    "small": _style("small", fontSize=7.0, leading=9.0),
    "caution": _style("caution", fontName=BOLD, borderWidth=1.6, borderColor=HexColor("#000000"),
                      borderPadding=5.0, spaceBefore=8.0, spaceAfter=10.0, leftIndent=6.0,
                      rightIndent=6.0),
}
TITLE = _style("title", fontName=BOLD, fontSize=15.0, leading=18.0, spaceAfter=5.0)
HEADING = _style("heading", fontName=BOLD, fontSize=11.5, leading=14.0, spaceBefore=13.0,
                 spaceAfter=4.0)
FIGURE = _style("figure", fontName=BOLD, spaceBefore=6.0, spaceAfter=2.0)
CELL = _style("cell", fontSize=6.9, leading=8.6, spaceAfter=0.0)
CELLS = {
    (False, False): CELL,
    (True, False): _style("cell-figure", fontSize=6.9, leading=8.6, alignment=TA_RIGHT),
    (False, True): _style("cell-bold", fontSize=6.9, leading=8.6, fontName=BOLD),
    (True, True): _style("cell-both", fontSize=6.9, leading=8.6, fontName=BOLD,
                         alignment=TA_RIGHT),
}
BAND = _style("band", fontSize=6.9, leading=8.6, fontName=OBLIQUE, spaceAfter=0.0)
CODE = _style("code", fontName=MONO, fontSize=7.0, leading=8.8, leftIndent=12.0, spaceAfter=4.0)
ROOM = 85.0
"""Room on a page that a heading needs for itself and what comes first under it [pt]."""

FRAMES = {
    "clear": (0.5, None), "caution": (1.5, (5.0, 3.0)), "danger": (1.0, None),
    "no verdict": (1.0, None),
}
"""Width and dashes of the frame by level; that of a danger is double."""


class _Paged(BaseDocTemplate):  # type: ignore[misc]
    """A document with a footer, and an outline of its headings."""

    def __init__(self, target: io.BytesIO, report: Report, paper: str, pages: int) -> None:
        size = PAPERS[paper]
        super().__init__(target, pagesize=size, title=clean(report.title),
                         author="", subject=clean(report.foot), creator="Soakbox", invariant=1)
        frame = Frame(SIDE, BOTTOM, size[0] - 2.0 * SIDE, size[1] - TOP - BOTTOM, 0, 0, 0, 0)
        self.addPageTemplates(PageTemplate(frames=[frame], onPage=self._foot))
        self._said, self._pages, self._marks = report.foot, pages, 0

    def _foot(self, canvas: Any, _: Any) -> None:
        canvas.setFont(FONT, 6.8)
        canvas.drawString(SIDE, 9.0 * mm, drawable(clean(self._said)))
        page = f"{canvas.getPageNumber()} / {self._pages}"
        canvas.drawRightString(self.pagesize[0] - SIDE, 9.0 * mm, page)

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802
        """Put headings into the outline."""
        if isinstance(flowable, Text) and flowable.style is HEADING:
            self._marks += 1
            key = f"section-{self._marks}"
            self.canv.bookmarkPage(key)
            self.canv.addOutlineEntry(flowable.getPlainText(), key, 0)


def _shown(text: str) -> str:
    """Return text as reportlab reads it: no markup in it, nothing that the font lacks."""
    told = html.escape(drawable(clean(text)), quote=False)
    return told.replace("\n ", "\n&nbsp;").replace("  ", " &nbsp;").replace("\n", "<br/>")


def _said(text: str, style: ParagraphStyle = PLAIN) -> Text:
    return Text(_shown(text), style)


def drawing_of(picture: Picture, width: float) -> Drawing:
    """Return a picture as reportlab draws it, as wide as the page."""
    scale = width / picture.width
    out = Drawing(width, picture.height * scale)
    group = Group(transform=(scale, 0.0, 0.0, scale, 0.0, 0.0))
    for item in picture.items:
        group.add(
            _path(item, picture.height)
            if isinstance(item, Stroke)
            else _string(item, picture.height)
        )
    out.add(group)
    return out


def _path(item: Stroke, height: float) -> Path:
    path = Path(
        strokeColor=HexColor(item.colour) if item.width else None,
        strokeWidth=item.width,
        strokeDashArray=list(item.dashes) or None,
        strokeLineJoin=1,
        fillColor=HexColor(item.fill) if item.fill else None,
    )
    here = (0.0, 0.0)
    for op, flat in item.ops:
        points = [(flat[i], height - flat[i + 1]) for i in range(0, len(flat), 2)]
        if op == "M":
            path.moveTo(*points[0])
        elif op == "L":
            path.lineTo(*points[0])
        elif op == "C":
            path.curveTo(*points[0], *points[1], *points[2])
        elif op == "Q":
            (x0, y0), (x1, y1), (x2, y2) = here, *points
            path.curveTo(x0 + (x1 - x0) / 1.5, y0 + (y1 - y0) / 1.5,
                         x2 + (x1 - x2) / 1.5, y2 + (y1 - y2) / 1.5, x2, y2)
        else:
            path.closePath()
        here = points[-1] if points else here
    return path


def _string(item: Words, height: float) -> Group:
    text = String(
        0.0, 0.0, drawable(clean(item.text)), fontName=BOLD if item.bold else FONT,
        fontSize=item.size, textAnchor=item.anchor, fillColor=HexColor(item.colour),
    )
    group = Group(text)
    group.translate(item.x, height - item.y)
    if item.angle:
        group.rotate(item.angle)
    return group


def _table(block: Table, width: float) -> list[Flowable]:
    total = sum(block.shares)
    lines: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (-1, -1), 2.0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 3.0),
        ("TOPPADDING", (0, 0), (-1, -1), 1.4),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.6),
        ("LINEBELOW", (0, 0), (-1, 0), 0.9, HexColor("#000000")),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, HexColor("#999999")),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
    ]
    grid: list[list[Any]] = [
        [_said(text, CELLS[i in block.figures, True]) for i, text in enumerate(block.head)]
    ]
    lines += [("RIGHTPADDING", (i, 0), (i, -1), 8.0) for i in block.figures]
    for number, row in enumerate(block.rows, start=1):
        if isinstance(row, Band):
            grid.append([_said(row.text, BAND), *[""] * (len(block.head) - 1)])
            lines += [("SPAN", (0, number), (-1, number)),
                      ("TOPPADDING", (0, number), (-1, number), 5.0),
                      ("NOSPLIT", (0, number), (-1, min(number + 1, len(block.rows))))]
        else:
            grid.append([
                _said(cell, CELLS[i in block.figures, i in block.bold])
                for i, cell in enumerate(row)
            ])
    return [
        Grid(grid, [width * s / total for s in block.shares], repeatRows=1, style=lines,
             spaceBefore=2.0, spaceAfter=7.0)
    ]


def _card(block: Card, width: float) -> list[Flowable]:
    name = _style("name", fontSize=6.9, leading=8.6, fontName=OBLIQUE, spaceAfter=0.0)
    title = _style("card", fontName=BOLD, fontSize=8.6, leading=10.6, spaceAfter=0.0)
    grid: list[list[Any]] = [[_said(block.title, title), ""]]
    grid += [
        [_said(what, name), _said(words, _style("said", spaceAfter=0.0))]
        for what, words in block.lines
    ]
    thick, dashes = FRAMES[block.level]
    lines: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("SPAN", (0, 0), (-1, 0)),
        ("TOPPADDING", (0, 0), (-1, -1), 1.0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.2),
        ("TOPPADDING", (0, 0), (-1, 0), 3.0),
        ("BOTTOMPADDING", (0, -1), (-1, -1), 4.0),
        ("BOX", (0, 0), (-1, -1), thick, HexColor("#000000"), 0, dashes, 0,
         *((2, 1.4) if block.level in ("danger", "no verdict") else (1, 0))),
    ]
    grid_of = Grid(grid, [70.0, width - 70.0], style=lines, spaceBefore=3.0, spaceAfter=6.0)
    return [KeepTogether([grid_of])]


def _figure(block: Figure, width: float) -> list[Flowable]:
    title = f"{block.title[:1].upper()}{block.title[1:]}"
    parts: list[Flowable] = [_said(title, FIGURE), drawing_of(block.picture, width)]
    if block.caption:
        parts.append(_said(block.caption, STYLES["small"]))
    return [KeepTogether(parts), Spacer(1.0, 4.0)]


def _block(block: Block, width: float) -> list[Flowable]:
    if isinstance(block, Paragraph):
        said = _said(block.text, STYLES[block.style])
        return [CondPageBreak(ROOM), said] if block.style == "lead" else [said]
    if isinstance(block, Bullets):
        style = _style("item", leftIndent=10.0, bulletIndent=2.0, spaceAfter=1.5)
        return [Text(_shown(item), style, bulletText="•") for item in block.items]
    if isinstance(block, Code):
        return [_said(block.text, CODE)]
    if isinstance(block, Table):
        return _table(block, width)
    return _card(block, width) if isinstance(block, Card) else _figure(block, width)


def _section(section: Section, width: float) -> list[Flowable]:
    first = section.blocks[0]
    room = ROOM + (first.picture.height if isinstance(first, Figure) else 0.0)
    story: list[Flowable] = [CondPageBreak(room), _said(section.title, HEADING)]
    for block in section.blocks:
        story += _block(block, width)
    return story


def _story(report: Report, width: float) -> list[Flowable]:
    story: list[Flowable] = [_said(report.title, TITLE)]
    facts = [
        [_said(name, CELLS[False, True]), _said(words, CELL)] for name, words in report.facts
    ]
    thin = [("VALIGN", (0, 0), (-1, -1), "TOP"), ("LEFTPADDING", (0, 0), (-1, -1), 0.0),
            ("TOPPADDING", (0, 0), (-1, -1), 0.6), ("BOTTOMPADDING", (0, 0), (-1, -1), 0.6)]
    story.append(Grid(facts, [60.0, width - 60.0], style=thin, spaceAfter=6.0))
    for block in report.opening:
        story += _block(block, width)
    for section in report.sections:
        story += _section(section, width)
    return story


def pdf_of(report: Report, paper: str = "a4") -> bytes:
    """Return a report as PDF.

    Parameters
    ----------
    report : Report
    paper : {'a4', 'letter'}

    Returns
    -------
    bytes
        With its font in it, headings as outline, and page numbers beside what is at the foot of
        every page. The same report gives the same bytes.
    """
    for name in (FONT, BOLD, OBLIQUE, MONO):
        if name not in pdfmetrics.getRegisteredFontNames():
            pdfmetrics.registerFont(TTFont(name, str(font_file(name.removeprefix(FONT)))))
    width = PAPERS[paper][0] - 2.0 * SIDE
    pages, target = 0, io.BytesIO()
    # Once to learn how many pages there are, and once to say so on each.
    for _ in range(2):
        target = io.BytesIO()
        document = _Paged(target, report, paper, pages)
        document.build(_story(report, width))
        pages = document.page
    return target.getvalue()
