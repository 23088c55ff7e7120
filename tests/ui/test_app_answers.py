"""Pages of further answers: weather, workings, odds, maps, a fit; their questions and files."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.ui.piloting import NARROW, SCENARIOS, WIDE, copy_of, driving, run
from thermo.axes import spaced
from thermo.event import solve_whole
from thermo.workings import book
from thermo.workings.bench import Bench
from tui.figures import figure_rows
from tui.messages import TextMade
from tui.screens.dialogs import AskText
from tui.screens.doubt import DoubtPage
from tui.screens.fit import FitPage
from tui.screens.main import MainScreen
from tui.screens.map import MapPage, usual_axes
from tui.screens.report import ReportPage
from tui.screens.weather import WeatherPage
from tui.screens.working import WORKINGS, HazardPage, WorkingPage
from tui.widgets.figures import FiguresPane

HOT = SCENARIOS / "hot_day.toml"


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.chdir(tmp_path)


async def done(d) -> str:
    """Wait for the page's text and return it."""
    await d.until(lambda: d.app.screen.state == "done")
    return " ".join(d.app.screen._text.split())


@pytest.mark.parametrize("name", ["hot_day", "ice", "overreach", "plate"])
def test_every_figure_of_the_screen_has_a_working(name, scenario_with):
    bench = Bench(solve_whole(scenario_with(name)))
    for row in figure_rows(bench.result):
        assert book.working_of(bench, WORKINGS[row.name]).steps, row.name


@pytest.mark.parametrize("key", ["enter", "w"])
def test_the_working_of_the_figure_under_the_cursor(key):
    async def test():
        async with driving(HOT) as d:
            await d.press("4")
            pane = d.app.main.query_one(FiguresPane)
            assert pane.figure.name == "pass_time"
            await d.until(lambda: pane.max_scroll_y > 0)
            await d.press("down", "down", "down")
            assert pane.figure.name == "boil_margin"
            await d.press(key)
            assert isinstance(d.app.screen, WorkingPage)
            text = await done(d)
            assert "BOIL MARGIN (cooling.boil_margin_K) 8.50" in text
            assert "source: definition of gauge pressure" in text
            await d.press("u")
            await d.until(lambda: "US units:" in d.app.screen._text)
            await d.press("u")
            await done(d)
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_the_cursor_stays_on_its_figure_when_an_edit_changes_the_rows():
    async def test():
        async with driving(HOT, WIDE) as d:
            pane = d.app.main.query_one(FiguresPane)
            await d.press("4", "down", "down", "down", "down")
            assert pane.figure.name == "after_boil"
            await d.edit("tank.volume", "60 L")
            assert pane.figure.name == "after_boil"
            line = str(pane.get_option("boil_margin").prompt)
            assert line.split() == ["boil", "margin", "12.2", "K,", "was", "8.5", "K"]

    run(test)


@pytest.mark.long
def test_the_hot_weather_table_with_other_ranges_and_in_us_units():
    async def test():
        async with driving(HOT) as d:
            await d.press("h")
            assert isinstance(d.app.screen, WeatherPage)
            text = await done(d)
            assert "HOT-WEATHER TABLE" in text
            assert "30 days:" in text
            await d.press("a")
            await d.type("30degC:40degC:5")
            await d.press("enter", "c")
            await d.type("20degC:30degC:10")
            await d.press("enter")
            await d.until(lambda: "6 days:" in d.app.screen._text)
            await d.press("c")
            await d.type("queue 0min:20min:10")
            await d.press("enter")
            await d.shows("There is no table.", "no leg of kind 'queue'")
            await d.press("c")
            await d.type("20degC:30degC:10")
            await d.press("enter", "u")
            await d.until(lambda: "86 degF" in d.app.screen._text or "degF" in d.app.screen._text)
            text = await done(d)
            assert "degC" not in text
            await d.press("u")

    run(test)


def test_the_hot_weather_page_is_written_but_never_over_the_scenario(tmp_path):
    path = copy_of("hot_day", tmp_path)
    before = path.read_text()

    async def test():
        async with driving(path) as d:
            await d.press("h", "o")
            assert isinstance(d.app.screen, WeatherPage)
            await done(d)
            for name in ("page.html", "page.json"):
                await d.press("o")
                await d.type(name)
                await d.press("enter")
                await d.shows("written:")
                await d.tells_of(tmp_path / name)
            for name, words in (
                ("page.pdf", "the ending says which"), ("none/page.html", "cannot write"),
            ):
                await d.press("o")
                await d.type(name)
                await d.press("enter")
                await d.shows("XX not written", words)
            await d.press("o", "escape")
            assert isinstance(d.app.screen, WeatherPage)

    run(test)
    assert "<html" in (tmp_path / "page.html").read_text()
    assert json.loads((tmp_path / "page.json").read_text())["cells"]
    assert path.read_text() == before
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.long
def test_the_hot_weather_table_follows_an_undo():
    async def test():
        async with driving(HOT) as d:
            await d.edit("tank.volume", "90 L")
            await d.press("h")
            large = await done(d)
            await d.press("ctrl+z")
            await d.until(lambda: d.app.main.solved_for is d.session.scenario)
            await d.until(lambda: d.app.screen.state == "done")
            small = await done(d)
            assert small != large
            assert "boil margin 8.51 K" in small

    run(test)


@pytest.mark.parametrize("size", [NARROW, WIDE, (120, 36)])
@pytest.mark.parametrize("name", ["hot_day", "overreach", "ice"])
def test_no_figure_is_broken_in_two(name, size):
    async def test():
        async with driving(SCENARIOS / f"{name}.toml", size) as d:
            pane = d.app.main.query_one(FiguresPane)
            await d.press("4", "u")
            await d.edit("tank.volume", "47 L")
            room = pane.scrollable_content_region.width - 1
            for option in pane.options:
                lines = str(option.prompt).split("\n")
                assert max(map(len, lines)) <= room, lines
            await d.press("u")

    run(test)


def test_the_odds_of_each_limit_and_the_sizes_that_hold_an_accepted_chance():
    async def test():
        async with driving(HOT) as d:
            await d.press("o")
            assert isinstance(d.app.screen, DoubtPage)
            text = await done(d)
            assert "CHANCE OF A DANGER" in text
            assert "engine.heat_share +" in text
            await d.press("c")
            await d.type("60 %")
            await d.press("enter")
            await d.shows("There is no chance to tell.", "from 0.1 % to 50 % is expected")
            await d.press("c")
            await d.type("often")
            await d.press("enter")
            await d.shows("There is no chance to tell.", "often")
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_the_odds_can_be_stopped_and_the_screen_answers_meanwhile():
    async def test():
        async with driving(HOT) as d:
            await d.press("o")
            await d.shows("of 40")
            await d.press("escape")
            await d.shows("Stopped.")

    run(test)


@pytest.mark.long
def test_a_map_with_other_axes_and_another_result():
    async def test():
        async with driving(HOT) as d:
            await d.press("m")
            assert isinstance(d.app.screen, MapPage)
            text = await done(d)
            assert "MAP of boil_margin_K" in text
            assert "121 places:" in text
            for key, words in (
                ("x", "exchanger.ua=2000 W/K:5000 W/K:3"), ("y", "tank.volume=40 L:60 L:2"),
                ("v", "tank-scald"),
            ):
                await d.press(key)
                await d.type(words)
                await d.press("enter")
                await done(d)
            text = await done(d)
            assert "6 places:" in text
            assert "MAP of tank-scald" in text
            await d.press("x")
            await d.type("exchanger.uu=1:2:3")
            await d.press("enter")
            await d.shows("There is no map.", "exchanger.u")

    run(test)


def test_a_result_of_a_map_is_chosen_from_all_there_are():
    async def test():
        async with driving(HOT) as d:
            await d.press("m", "v", "tab", "enter")
            assert isinstance(d.app.screen, MapPage)
            await d.until(lambda: "MAP of verdict" in d.app.screen._text)

    run(test)


def test_a_map_is_written_as_a_table_and_as_a_picture(tmp_path):
    path = copy_of("hot_day", tmp_path)
    before = path.read_text()

    async def test():
        async with driving(path) as d:
            await d.press("m")
            await done(d)
            for key, words in (("x", "tank.volume=40 L:60 L:3"),
                               ("y", "site.air_temperature=20 degC:40 degC:3")):
                await d.press(key)
                await d.type(words)
                await d.press("enter")
                await done(d)
            for name in ("map.csv", "map.json", "map.svg"):
                await d.press("o")
                await d.type(name)
                await d.press("enter")
                await d.shows("written:")
                await d.tells_of(tmp_path / name)
            for name, words in (("map.toml", "the ending says which"),
                                ("none/map.csv", "cannot write")):
                await d.press("o")
                await d.type(name)
                await d.press("enter")
                await d.shows("XX not written", words)

    run(test)
    assert len((tmp_path / "map.csv").read_text().splitlines()) == 10
    assert json.loads((tmp_path / "map.json").read_text())
    assert "<svg" in (tmp_path / "map.svg").read_text()
    assert path.read_text() == before


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize("name", ["base", "overreach", "long_course"])
def test_the_usual_axes_of_a_map_are_such_as_can_be_typed(name, system, scenario_with):
    scenario = scenario_with(name)
    x, y = (spaced(scenario, text, "") for text in usual_axes(scenario, system))
    assert x.values[0] < scenario.tank.volume < x.values[-1]
    assert (x.key, y.key) == ("tank.volume", "site.air_temperature")


READ = ("34 degC", "72 degC", "82 degC", "76 degC", "88 s")
"""Tank and coolant before and after, and the time, of a pass that has shed less than planned."""


async def fill_in(d, *texts: str) -> None:
    await d.press("l", "down", "enter")
    for text in texts:
        await d.type(text)
        await d.press("down")
    await d.press("enter")


def test_a_notebook_is_fitted_put_into_the_scenario_and_taken_out_again(tmp_path):
    path = copy_of("hot_day", tmp_path)

    async def test():
        async with driving(path) as d:
            before = d.session.text
            await fill_in(d, *READ)
            await d.until(lambda: isinstance(d.app.screen, FitPage))
            text = await done(d)
            assert "HEAT SHARE 0.58 of brake power" in text
            assert "THE NEXT PASS" in text
            await d.press("p")
            await d.shows("fitted to the crew's notebook: engine.heat_share: ")
            await d.solved()
            assert d.session.scenario.engine.heat_share == pytest.approx(0.58, abs=0.01)
            assert "engine.heat_share" in d.session.scenario.doubt
            assert "crew's notebook" in d.session.text
            await d.press("ctrl+z")
            assert d.session.text == before

    run(test)


def test_a_notebook_that_contradicts_itself_says_so():
    async def test():
        async with driving(HOT) as d:
            await fill_in(d, "72 degC", "34 degC", *READ[2:])
            await d.shows("The notebook does not fit.", "a pass warms the tank")
            await d.press("p")
            assert isinstance(d.app.screen, FitPage)

    run(test)


def test_a_reading_that_is_missing_or_has_the_wrong_unit_is_asked_for_again():
    async def test():
        async with driving(HOT) as d:
            await fill_in(d, "34 degC", "72 L")
            await d.shows("XX Tank after running on: given '72 L'")
            assert d.app.screen.focused.id == "box-1"
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_a_text_that_holds_no_scenario_is_not_put_in():
    async def test():
        async with driving(HOT) as d:
            before = d.session.text
            d.app.main.post_message(TextMade("made", "schema = 1\n"))
            await d.shows("XX not put in: ")
            assert d.session.text == before
            d.app.main.post_message(TextMade("made", before))
            await d.shows("nothing changed")

    run(test)


@pytest.mark.parametrize("key", ["enter", "w"])
def test_the_working_of_a_hazard_is_opened_from_its_page(key):
    async def test():
        async with driving(HOT) as d:
            await d.press("2", "w")
            assert isinstance(d.app.screen, HazardPage)
            await d.press(key)
            assert isinstance(d.app.screen, WorkingPage)
            text = await done(d)
            assert "(flags.coolant-boil) 8.50" in text
            await d.press("escape", "escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


@pytest.mark.parametrize("name", ["hot_day", "overreach"])
def test_every_hazard_has_a_working(name, scenario_with):
    bench = Bench(solve_whole(scenario_with(name)))
    for flag in bench.result.flags:
        assert book.working_of(bench, f"flags.{flag.name}").title, flag.name


@pytest.mark.long
def test_a_report_is_written_from_the_palette(tmp_path, monkeypatch, sheet_with):
    sheet = sheet_with("base")  # made by another test: the search itself is slow
    monkeypatch.setattr("tui.report.build.build_sheet", lambda *_: sheet)
    path = copy_of("base", tmp_path)
    before = path.read_text()

    async def test():
        async with driving(path) as d:
            for name, words in (("pass.txt", "the ending says which"), ("pass.html", "Written: ")):
                d.app.main.action_write_report()
                await d.until(lambda: isinstance(d.app.screen, AskText))
                await d.type(name)
                await d.press("enter")
                await d.until(lambda: isinstance(d.app.screen, ReportPage))
                assert words in await done(d)
                await d.press("escape")
                assert isinstance(d.app.screen, MainScreen)

    run(test)
    text = (tmp_path / "pass.html").read_text(encoding="utf-8")
    assert "VERDICT: CLEAR" in text
    assert "Build sheet" in text
    assert path.read_text() == before
