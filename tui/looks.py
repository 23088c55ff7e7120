"""Themes, and the style of each role in the picture: word and shape tell the level, not colour."""

from __future__ import annotations

from rich.style import Style
from rich.text import Text
from textual.theme import Theme

LIGHT, DARK, SUNLIGHT = "light", "dark", "sunlight"

THEMES = (
    Theme(
        name=LIGHT,
        primary="#1f5f8b",
        secondary="#4b6475",
        warning="#8a5a00",
        error="#a4161a",
        success="#2b6a3f",
        accent="#6a3d7c",
        foreground="#1c2329",
        background="#f4f2ec",
        surface="#fbfaf6",
        panel="#e6e2d6",
        dark=False,
    ),
    Theme(
        name=DARK,
        primary="#7fb2d9",
        secondary="#8fa3b0",
        warning="#e0b04f",
        error="#ff7b72",
        success="#8fc99b",
        accent="#c79bd6",
        foreground="#e2e4e1",
        background="#15191c",
        surface="#1c2226",
        panel="#2a3238",
        dark=True,
    ),
    Theme(
        name=SUNLIGHT,
        primary="#000000",
        secondary="#000000",
        warning="#000000",
        error="#000000",
        success="#000000",
        accent="#000000",
        foreground="#000000",
        background="#ffffff",
        surface="#ffffff",
        panel="#dddddd",
        dark=False,
    ),
)
"""Light, dark, and black on white for a laptop in the sun."""

ORDER = (LIGHT, DARK, SUNLIGHT)

_ROLES: dict[str, dict[str, str]] = {
    LIGHT: {
        "dim": "#5b666e",
        "frame": "#7a7464",
        "water": "#1f5f8b",
        "hot": "bold #a4161a",
        "cold": "#1f5f8b",
        "air": "#2b6a3f",
        "caution": "bold #8a5a00",
        "danger": "bold reverse #a4161a",
        "label": "#5b666e",
        "figure": "bold",
    },
    DARK: {
        "dim": "#93a0a8",
        "frame": "#8b8672",
        "water": "#7fb2d9",
        "hot": "bold #ff7b72",
        "cold": "#7fb2d9",
        "air": "#8fc99b",
        "caution": "bold #e0b04f",
        "danger": "bold reverse #ff7b72",
        "label": "#93a0a8",
        "figure": "bold",
    },
    SUNLIGHT: {
        "hot": "bold",
        "caution": "bold",
        "danger": "bold reverse",
        "figure": "bold",
    },
}
"""Style of each role, by theme; a role that is not named is plain."""

def style_of(role: str, theme: str) -> Style:
    """Return the style of a role of the picture under a theme.

    Parameters
    ----------
    role : str
    theme : str

    Returns
    -------
    Style
    """
    return Style.parse(_ROLES.get(theme, _ROLES[LIGHT]).get(role, ""))


def drawn(lines: list[list[tuple[str, str]]], theme: str) -> Text:
    """Return lines of (text, role) segments as one text with styles."""
    out = Text(no_wrap=True, end="")
    for number, line in enumerate(lines):
        if number:
            out.append("\n")
        for words, role in line:
            out.append(words, style_of(role, theme))
    return out


BAR = 20
"""Columns of a bar that tells how far something is."""


def bar(done: float, of: float) -> str:
    """Return how far something is, as a bar and a share: ``[########............]  40 %``.

    Parameters
    ----------
    done, of : float
        Steps; nothing of nothing is done.

    Returns
    -------
    str
        In ASCII, so that every terminal shows it.
    """
    share = min(max(done / of, 0.0), 1.0) if of > 0 else 1.0
    full = int(share * BAR)
    return f"[{'#' * full}{'.' * (BAR - full)}] {share * 100:3.0f} %"
