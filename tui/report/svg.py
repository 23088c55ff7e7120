"""A drawing as SVG, with its words as words."""

from __future__ import annotations

import html

from thermo.picture import BLACK, Picture, Stroke, Words
from tui.report.document import clean

FONTS = "'DejaVu Sans', Verdana, Arial, sans-serif"


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def escape(text: str) -> str:
    """Return text as XML holds it."""
    return html.escape(clean(text))


def path_of(stroke: Stroke) -> str:
    """Return the steps of a path as SVG writes them."""
    return "".join(f"{op}{' '.join(_number(v) for v in at)}" for op, at in stroke.ops)


def _stroke(item: Stroke) -> str:
    style = f'fill="{item.fill or "none"}"'
    if item.width:
        style += f' stroke="{item.colour}" stroke-width="{_number(item.width)}"'
        if item.dashes:
            style += f' stroke-dasharray="{" ".join(_number(d) for d in item.dashes)}"'
    return f'<path d="{path_of(item)}" {style}/>'


def _words(item: Words) -> str:
    place = f'x="{_number(item.x)}" y="{_number(item.y)}"'
    style = f'font-size="{_number(item.size)}"'
    if item.anchor != "start":
        style += f' text-anchor="{item.anchor}"'
    if item.bold:
        style += ' font-weight="bold"'
    if item.colour != BLACK:
        style += f' fill="{item.colour}"'
    if item.length:
        # Another font stands in where this one is not installed: it takes the same room.
        style += f' textLength="{_number(item.length)}" lengthAdjust="spacingAndGlyphs"'
    if item.angle:
        turn = f"{_number(-item.angle)} {_number(item.x)} {_number(item.y)}"
        style += f' transform="rotate({turn})"'
    return f"<text {place} {style}>{escape(item.text)}</text>"


def svg_of(picture: Picture, title: str, description: str = "", alone: bool = False) -> str:
    """Return a drawing as SVG.

    Parameters
    ----------
    picture : Picture
    title, description : str
        For who cannot see it.
    alone : bool
        Whether it is to be a file of its own.

    Returns
    -------
    str
    """
    size = f'viewBox="0 0 {_number(picture.width)} {_number(picture.height)}"'
    if alone:
        size += (
            f' xmlns="http://www.w3.org/2000/svg" width="{_number(picture.width)}pt"'
            f' height="{_number(picture.height)}pt"'
        )
    ground = '<rect width="100%" height="100%" fill="#ffffff"/>' if alone else ""
    told = f"<desc>{escape(description)}</desc>" if description else ""
    body = "".join(
        _stroke(item) if isinstance(item, Stroke) else _words(item) for item in picture.items
    )
    return (
        f'<svg {size} role="img" font-family="{FONTS}" stroke-linejoin="round">'
        f"<title>{escape(title)}</title>{told}{ground}{body}</svg>"
    )
