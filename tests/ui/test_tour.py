"""A stranger's way through the program, step by step as the README tells it."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.ui.piloting import NARROW, SCENARIOS, WIDE, driving, run

MOST_KEYS = 12
NUMBERS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
           "eleven", "twelve")
README = (Path(__file__).resolve().parents[2] / "README.md").read_text(encoding="utf-8")

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
                await d.press(*keys, *typed)
                await d.shows(*shown)
            assert "coolant-boil" not in {
                f.name for f in d.app.main.result.flags if f.level != "clear"
            }

    run(test)
    assert 'volume = "60 L"' in (tmp_path / "my_car.toml").read_text()


def test_the_tour_takes_few_keys_and_as_many_as_the_readme_says() -> None:
    count = sum(len(keys) for keys, _, _ in TOUR)
    assert count <= MOST_KEYS
    assert f"A tour in {NUMBERS[count]} key strokes" in README


def test_the_readme_tells_the_same_keys_in_the_same_order() -> None:
    begin = README.index("A tour in")
    section = README[begin : README.index("Beyond the tour:", begin)]
    told: list[str] = []
    for step in re.findall(r"^\d\. (.*?)(?=^\d\. |\Z)", section, re.MULTILINE | re.DOTALL):
        keys = step.split(":")[0]
        for key, times in re.findall(r"`([^`]+)`(?: (two|three|four) times)?", keys):
            told += [key] * (NUMBERS.index(times) if times else 1)
    walked = [part for keys, typed, _ in TOUR for part in (*keys, typed) if part]
    assert [key.lower() for key in told] == walked


def test_the_readme_tells_the_figures_that_the_screen_shows() -> None:
    text = " ".join(README.split())
    for figure in ("8.5 K of boil margin where 10 K are wanted", "12.2 K, was 8.5 K", "2.78 kPa"):
        assert figure in text
    shown = " ".join(words for _, _, parts in TOUR for words in parts)
    for figure in ("8.5 K, at least 10 K", "12.2 K, was 8.5 K", "2.78 kPa"):
        assert figure in shown
