"""A stranger's way through the program, step by step as the README tells it."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.ui.piloting import NARROW, SCENARIOS, WIDE, driving, run

MOST_KEYS = 12

TOUR: tuple[tuple[tuple[str, ...], str, tuple[str, ...]], ...] = (
    (("2",), "", ("8.5 K, at least 10 K wanted", "Clear it by: more tank water")),
    (("enter",), "", ("tank.volume", "From 1 L to 2000 L")),
    (("enter",), "60", ("Enter takes 60 L, Escape keeps 46 L",)),
    (("enter",), "", ("boil margin 12.2 K, was 8.5 K",)),
    (("3", "c", "c", "c"), "", ("pressure along the duct", "net gain +2.78 kPa")),
    (("ctrl+w",), "my_car.toml", ("Save the scenario as",)),
    (("enter",), "", ("saved: ", "my_car.toml")),
)
"""Keys, what is typed after them, and what must then be on the screen."""


@pytest.mark.parametrize("size", [NARROW, WIDE])
def test_a_stranger_finds_what_binds_mends_it_checks_the_duct_and_saves(
    size, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))
    monkeypatch.chdir(tmp_path)

    async def test() -> None:
        async with driving(SCENARIOS / "hot_day.toml", size) as d:
            await d.shows("! CAUTION: margin to boiling 8.5 K")
            for keys, typed, shown in TOUR:
                await d.press(*keys)
                if typed:
                    await d.type(typed)
                await d.shows(*shown)
            assert "coolant-boil" not in {
                f.name for f in d.app.main.result.flags if f.level != "clear"
            }

    run(test)
    assert 'volume = "60 L"' in (tmp_path / "my_car.toml").read_text()


def test_the_tour_takes_few_keys() -> None:
    assert sum(len(keys) for keys, _, _ in TOUR) <= MOST_KEYS
