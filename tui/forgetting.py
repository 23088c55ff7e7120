"""What is kept of pages that were left is let go, so that memory stays flat in long use."""

from __future__ import annotations


def let_go() -> None:
    """Empty the table by which textual keeps every widget's drawn lines alive.

    Its key holds the widget's cache, so the lines of a thousand widgets that are gone would stay
    (some 50 MB). The table is textual's own affair: where it is kept otherwise, nothing is done;
    the test in ``tests/ui/test_app_pages.py`` tells.
    """
    try:
        from textual._styles_cache import StylesCache
    except ImportError:
        return
    clear = getattr(getattr(StylesCache, "get_inner_outer", None), "cache_clear", None)
    if clear is not None:
        clear()


__all__ = ["let_go"]
