"""A report as Markdown, its drawings as SVG files in a folder beside it.

Drawings stand in files of their own, since a picture inside the text would bury it, and since
several places that show Markdown refuse such pictures.
"""

from __future__ import annotations

import re
from urllib.parse import quote

from tui.report.document import (
    Band,
    Block,
    Bullets,
    Card,
    Code,
    Paragraph,
    Report,
    Table,
    clean,
)
from tui.report.svg import svg_of

_SPECIAL = re.compile(r"([\\`*_\[\]<>|#~$&])")
_STARTS = re.compile(r"^(\d*)([-+=.)])")


def told(text: str) -> str:
    """Return text as Markdown shows it, on one line: nothing in it is markup."""
    line = " ".join(clean(text).split())
    return _STARTS.sub(r"\1\\\2", _SPECIAL.sub(r"\\\1", line))


def _cell(text: str) -> str:
    """Return text for a table: its lines with breaks between them."""
    return "<br>".join(told(line) for line in text.split("\n"))


def _table(block: Table) -> list[str]:
    lines = [
        f"| {' | '.join(told(text) for text in block.head)} |",
        f"|{'|'.join('--:' if i in block.figures else '---' for i in range(len(block.head)))}|",
    ]
    for row in block.rows:
        if isinstance(row, Band):
            cells = [f"**{told(row.text)}**", *[""] * (len(block.head) - 1)]
        else:
            cells = [
                f"**{_cell(cell)}**" if i in block.bold and cell else _cell(cell)
                for i, cell in enumerate(row)
            ]
        lines.append(f"| {' | '.join(cells)} |")
    return lines


def _block(block: Block, folder: str) -> list[str]:
    if isinstance(block, Paragraph):
        text = told(block.text)
        return [f"**{text}**" if block.style in ("lead", "caution") else text]
    if isinstance(block, Bullets):
        return [f"- {told(item)}" for item in block.items]
    if isinstance(block, Code):
        return ["```text", *clean(block.text).replace("```", "'''").split("\n"), "```"]
    if isinstance(block, Table):
        return _table(block)
    if isinstance(block, Card):
        return [
            f"**{told(block.title)}**",
            "",
            *(f"- *{told(name)}*: {told(words)}" for name, words in block.lines),
        ]
    place = f"{quote(folder)}/{block.name}.svg"
    return [f"![{told(block.title)}]({place})", "", f"*{told(block.title)}.* {told(block.caption)}"]


def markdown_of(report: Report, folder: str) -> tuple[str, list[tuple[str, str]]]:
    """Return a report as Markdown.

    Parameters
    ----------
    report : Report
    folder : str
        Name of the folder for the drawings, beside the text.

    Returns
    -------
    tuple of (str, list of (str, str))
        The text, and name and content of each drawing.
    """
    parts: list[list[str]] = [
        [f"# {told(report.title)}"],
        [f"- {told(name)}: {told(words)}" for name, words in report.facts],
        *(_block(block, folder) for block in report.opening),
    ]
    for section in report.sections:
        parts.append([f"## {told(section.title)}"])
        parts += [_block(block, folder) for block in section.blocks]
    parts.append([f"*{told(report.foot)}*"])
    text = "\n\n".join("\n".join(part) for part in parts) + "\n"
    drawings = [
        (f"{folder}/{f.name}.svg", svg_of(f.picture, f.title, f.caption, alone=True) + "\n")
        for f in report.figures
    ]
    return text, drawings
