"""Texts with a few lines cut, doubled or written over, and changed in ways of the target's own."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import atheris

Way = Callable[[atheris.FuzzedDataProvider, list[bytes], int], None]
"""Changes lines in place, at one of them."""


def changed(
    feed: atheris.FuzzedDataProvider, texts: Sequence[bytes], ways: Sequence[Way], most: int
) -> bytes:
    """Return one of some texts, changed up to so many times."""
    lines = texts[feed.ConsumeIntInRange(0, len(texts) - 1)].split(b"\n")
    for _ in range(feed.ConsumeIntInRange(1, most)):
        at = feed.ConsumeIntInRange(0, len(lines) - 1)
        way = feed.ConsumeIntInRange(0, 2 + len(ways))
        if way == 0:
            lines[at] = b""
        elif way == 1:
            lines.insert(feed.ConsumeIntInRange(0, len(lines) - 1), lines[at])
        elif way == 2:
            lines[at] = feed.ConsumeBytes(60)
        else:
            ways[way - 3](feed, lines, at)
        del lines[400:]
    return b"\n".join(lines)
