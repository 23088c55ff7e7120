"""A few screens as text; run with UPDATE_GOLDENS=1 to accept what is shown now."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from tests.ui.piloting import NARROW, SCENARIOS, WIDE, driving, run

GOLDENS = Path(__file__).parent / "goldens"

SCREENS = (
    ("main", "hot_day", NARROW, (), False),
    ("main", "hot_day", WIDE, (), False),
    ("hazards", "overreach", NARROW, ("2", "down"), False),
    ("charts", "hot_day", NARROW, ("3", "c", "c"), True),
    ("form", "hot_day", NARROW, ("slash", *"exchanger.rat", "enter", "enter"), False),
    ("small", "base", (60, 20), (), False),
)


@pytest.mark.parametrize(("screen", "name", "size", "keys", "ascii_only"), SCREENS)
def test_the_screen_looks_as_it_did(
    screen: str,
    name: str,
    size: tuple[int, int],
    keys: tuple[str, ...],
    ascii_only: bool,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path))
    told = ""

    async def test() -> None:
        nonlocal told
        async with driving(SCENARIOS / f"{name}.toml", size, ascii_only=ascii_only) as d:
            await d.press(*keys)
            told = d.text() + "\n"

    run(test)
    kind = "-ascii" if ascii_only else ""
    path = GOLDENS / f"app_{screen}-{name}-{size[0]}x{size[1]}{kind}.txt"
    if os.environ.get("UPDATE_GOLDENS"):
        path.write_text(told, encoding="utf-8")
    assert told == path.read_text(encoding="utf-8")
