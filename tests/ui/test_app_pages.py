"""Pages and dialogs under a pilot: every key that scrolls, goes on or leaves; no key untried."""

from __future__ import annotations

import gc
import re
from pathlib import Path

import pytest
from textual.binding import Binding
from textual.strip import Strip
from textual.widgets import Input, OptionList

from tests.ui.piloting import NARROW, SCENARIOS, driving, run
from tui.app import SoakboxApp
from tui.screens.background import WorkPage
from tui.screens.compare import ComparePage
from tui.screens.dialogs import AskFile, AskPath, Choose, Page
from tui.screens.doubt import DoubtPage
from tui.screens.fit import FitPage
from tui.screens.fit_log import LogPage
from tui.screens.fit_run import LogFitPage
from tui.screens.main import MainScreen
from tui.screens.map import MapPage
from tui.screens.sizes import SizesPage
from tui.screens.tables import TableForm
from tui.screens.traced import TracedPage
from tui.screens.weather import WeatherPage
from tui.screens.working import HazardPage
from tui.widgets.figures import FiguresPane

HOT = SCENARIOS / "hot_day.toml"


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))
    monkeypatch.delenv("NO_COLOR", raising=False)


def test_every_key_that_is_bound_is_pressed_by_a_test():
    bound = set()
    for of in (SoakboxApp, MainScreen, Page, ComparePage, AskPath, Choose, TableForm, WeatherPage,
               WorkPage, SizesPage, DoubtPage, MapPage,
               FitPage, HazardPage, TracedPage, LogPage, LogFitPage, AskFile):
        for binding in of.BINDINGS:
            assert isinstance(binding, Binding)
            bound |= set(binding.key.split(","))
    tests = "".join(p.read_text(encoding="utf-8") for p in Path(__file__).parent.glob("test_*.py"))
    pressed = set(re.findall(r'"([^"\s]+)"', tests))
    assert bound - pressed == set()


@pytest.mark.parametrize("key", ["question_mark", "f1"])
def test_a_page_scrolls_by_lines_by_screens_and_to_its_ends(key):
    async def test():
        async with driving(HOT) as d:
            await d.press(key)
            paper = d.app.screen.query_one("#paper")

            async def at(key, where):
                await d.press(key)
                await d.until(lambda: round(paper.scroll_y) == where, key)

            await at("down", 1)
            await at("j", 2)
            await at("up", 1)
            await at("pagedown", 16)
            await at("pageup", 1)
            await at("space", 16)
            await at("home", 0)
            await at("end", round(paper.max_scroll_y))
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_a_comparison_that_is_too_wide_scrolls_sideways():
    async def test():
        async with driving(HOT) as d:
            await d.press("k")
            await d.type(str(SCENARIOS / "base.toml"))
            await d.press("enter")
            await d.shows("VERDICT")
            await d.press("a")
            await d.type(str(SCENARIOS / "overreach.toml"))
            await d.press("enter")
            await d.until(lambda: "overreach" in d.app.screen._text)
            paper = d.app.screen.query_one("#paper")
            await d.until(lambda: paper.max_scroll_x > 8)
            await d.press("right")
            await d.until(lambda: round(paper.scroll_x) == 8)
            await d.press("left")
            await d.until(lambda: round(paper.scroll_x) == 0)

    run(test)


def test_a_form_is_gone_through_with_the_arrow_keys():
    async def test():
        async with driving(HOT) as d:
            await d.go_to("exchanger.rated")
            await d.press("enter")
            assert d.app.screen.focused.id == "box-0"
            await d.press("down", "down")
            assert d.app.screen.focused.id == "box-2"
            await d.press("up")
            assert d.app.screen.focused.id == "box-1"
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_the_figures_scroll_and_the_moment_still_moves():
    async def test():
        async with driving(HOT) as d:
            await d.press("4")
            pane = d.app.main.query_one(FiguresPane)
            await d.until(lambda: pane.max_scroll_y > 0)
            await d.press("end")
            assert pane.figure.name == "correction"
            assert pane.scroll_y == pane.max_scroll_y
            moment = d.moment
            await d.press("left")
            assert d.moment < moment
            await d.press("right")
            assert d.moment == moment

    run(test)


def test_a_name_that_is_asked_for_is_replaced_by_typing_and_mended_by_an_arrow(tmp_path):
    async def test():
        async with driving(HOT) as d:
            await d.press("ctrl+w", *"x.toml")
            assert d.app.screen.focused.value == "x.toml"
            await d.press("escape", "ctrl+w", "right", *".bak")
            assert d.app.screen.focused.value == f"{HOT}.bak"
            await d.press("escape")

    run(test)


def test_a_recent_file_is_taken_from_the_list(tmp_path):
    async def test():
        async with driving(HOT) as d:
            await d.press("ctrl+o", "tab")
            table = d.app.screen.query_one("#offered", OptionList)
            prompts = [str(o.prompt) for o in table.options]
            table.highlighted = next(i for i, p in enumerate(prompts) if p.endswith("ice.toml"))
            await d.press("enter")
            await d.until(lambda: d.session.name == "ice")
            await d.solved()

    run(test)


def test_a_choice_is_left_as_it_was():
    async def test():
        async with driving(HOT) as d:
            await d.go_to("tank.closure")
            await d.press("enter")
            assert isinstance(d.app.screen, Choose)
            await d.shows("vented: open to the air")
            await d.press("down", "escape")
            assert d.session.row("tank.closure").text == "sealed-relief"

    run(test)


def test_the_theme_is_in_the_palette_and_a_second_palette_does_not_open():
    async def test():
        async with driving(HOT) as d:
            await d.press("ctrl+p", "ctrl+p")
            assert len(d.app.screen_stack) == 3
            box = d.app.screen.query_one(Input)
            box.value = "Theme"
            await d.shows("light, dark, sunlight")
            await d.press("enter")
            await d.until(lambda: d.app.theme == "dark")

    run(test)


def test_a_hazard_that_is_left_out_of_the_picture_is_counted():
    async def test():
        for name, told in (("thin_duct", "! duct may cost power"), ("overreach", "+4 more")):
            async with driving(SCENARIOS / f"{name}.toml", NARROW) as d:
                assert told in d.text()

    run(test)


def test_a_page_that_is_left_leaves_nothing_of_its_drawing_in_memory():
    def lines() -> int:
        gc.collect()
        return sum(isinstance(kept, Strip) for kept in gc.get_objects())

    async def test():
        async with driving(HOT) as d:
            async def page() -> int:
                await d.press("question_mark")
                drawn = lines()
                await d.press("escape")
                return drawn

            await page()
            before = lines()
            one = await page() - before
            for _ in range(5):
                await page()
            assert one > 50
            assert lines() - before < one

    run(test)
