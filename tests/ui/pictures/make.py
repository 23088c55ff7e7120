"""Makes the README's picture of the main screen; run from the top of the checkout.

``python -m tests.ui.pictures.make``
"""

from __future__ import annotations

import asyncio
import os
import tempfile
from html import escape
from pathlib import Path

from rich.color import Color
from rich.segment import Segment
from rich.style import Style

from tests.ui.piloting import SCENARIOS, WIDE, Driven, driving
from tui.session import Session

TARGET = Path(__file__).with_name("main.svg")
FONTS = "ui-monospace, Menlo, Consolas, 'DejaVu Sans Mono', monospace"
WIDTH, HEIGHT, SIZE, BASE = 8.4, 17.0, 14, 13
"""Of a cell, of the letters, and where they stand in it."""
DOTS = ((0, 0), (0, 1), (0, 2), (1, 0), (1, 1), (1, 2), (0, 3), (1, 3))
"""Column and row of each dot of a braille cell, bit by bit."""


def colour(value: Color | None, fallback: str) -> str:
    """Return a colour as in a style sheet."""
    return fallback if value is None or value.is_default else value.get_truecolor().hex


def drawn(text: str, style: Style, x: float, y: float) -> list[str]:
    """Return a run of cells of one style; points of charts are drawn, not left to a font."""
    front, back = colour(style.color, "#000000"), colour(style.bgcolor, "#ffffff")
    if style.reverse:
        front, back = back, front
    length = len(text) * WIDTH
    out = [f'<rect x="{x:.1f}" y="{y:.1f}" width="{length:.1f}" height="{HEIGHT}" fill="{back}"/>']
    plain = "".join(" " if 0x2800 < ord(c) <= 0x28FF else c for c in text)
    for place, character in enumerate(text):
        for bit, (right, down) in enumerate(DOTS):
            if 0x2800 < ord(character) <= 0x28FF and (ord(character) - 0x2800) >> bit & 1:
                dot_x = x + (place + 0.25 + 0.5 * right) * WIDTH
                dot_y = y + (down + 0.5) * HEIGHT / 4
                out.append(f'<circle cx="{dot_x:.1f}" cy="{dot_y:.1f}" r="1.2" fill="{front}"/>')
    if plain.strip():
        start = len(plain) - len(plain.lstrip())
        words = plain.strip()
        look = ' font-weight="bold"' if style.bold else ""
        look += ' text-decoration="underline"' if style.underline else ""
        out.append(
            f'<text x="{x + start * WIDTH:.1f}" y="{y + BASE:.1f}" fill="{front}"{look} '
            f'textLength="{len(words) * WIDTH:.1f}">{escape(words)}</text>'
        )
    return out


def picture(driven: Driven) -> str:
    """Return the screen as a picture that needs no font but a monospaced one."""
    update = driven.app.screen._compositor.render_full_update()
    columns, rows = driven.app.size
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {columns * WIDTH:.0f} '
        f'{rows * HEIGHT:.0f}" font-family="{FONTS}" font-size="{SIZE}" xml:space="preserve">'
    ]
    for row, strips in enumerate(update.strips):
        column = 0
        runs = Segment.simplify(segment for strip in strips for segment in strip)
        for text, style, _ in runs:
            out += drawn(text, style or Style(), column * WIDTH, row * HEIGHT)
            column += len(text)
    return "\n".join([*out, "</svg>", ""])


async def make() -> None:
    """Show the hot day with its worst hazard, and write the picture."""
    session = Session((SCENARIOS / "hot_day.toml").read_text(encoding="utf-8"), None, "hot_day")
    async with driving(session, WIDE) as d:
        await d.press("2", "right", "left")
        TARGET.write_text(picture(d), encoding="utf-8")


def main() -> None:
    """Make it with settings of no one."""
    with tempfile.TemporaryDirectory() as folder:
        os.environ["SOAKBOX_STATE"] = folder
        asyncio.run(make())


if __name__ == "__main__":
    main()
