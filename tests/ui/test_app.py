"""The app's keys and flows under a pilot: looking, moving the moment, panes, charts, pages."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from textual import events
from textual.widgets import OptionList

from tests.ui.piloting import NARROW, SCENARIOS, WIDE, driving, run
from thermo.properties import CACHE_VARIABLE, STEPS
from tui.app import SoakboxApp
from tui.chartlist import NAMES
from tui.fieldlist import shown
from tui.help import HELP, HINTS
from tui.messages import SolveFailed, TablesBuilt, TablesReady
from tui.palette import commands
from tui.present import hazard_rows, verdict_line
from tui.screens.dialogs import Page
from tui.screens.main import MainScreen
from tui.solver import prepare_tables
from tui.widgets.charts import PlotView
from tui.widgets.hazards import HazardsPane
from tui.widgets.inputs import InputsPane
from tui.widgets.picture import TimeLine
from tui.widgets.tabs import PANES, PaneTabs
from tui.widgets.words import Words

HOT = SCENARIOS / "hot_day.toml"
NAMES_OF_SCENARIOS = sorted(p.stem for p in SCENARIOS.glob("*.toml"))
SIZES = (NARROW, WIDE)


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))
    monkeypatch.delenv("NO_COLOR", raising=False)


def squeezed(text: str) -> str:
    """Text with every run of white space as one space."""
    return " ".join(text.split())


@pytest.mark.parametrize("size", SIZES)
def test_verdict_picture_time_and_inputs_are_there_at_the_start(size):
    async def test():
        async with driving(HOT, size) as d:
            text = squeezed(d.text())
            assert verdict_line(d.app.main.result).text in text
            for words in ("TANK 43.8 kPa", "EXCHANGER", "ENGINE 130 kW", "inlet +4.14",
                          "▲ 87.8 s", "THE DAY", "Air temperature", "hot_day.toml"):
                assert words in text

    run(test)


def test_a_small_window_says_what_it_needs_and_has():
    async def test():
        async with driving(HOT, (60, 20)) as d:
            for size in ((60, 20), (77, 24), (80, 22)):
                await d.pilot.resize_terminal(*size)
                await d.shows("Soakbox needs 78 by 23", f"has {size[0]} by {size[1]}",
                              "soakbox check FILE")
            await d.pilot.resize_terminal(*NARROW)
            await d.shows("CAUTION", "TANK 43.8 kPa", "THE DAY")

    run(test)


@pytest.mark.parametrize("size", SIZES)
def test_the_arrow_keys_move_the_moment_in_every_pane(size):
    async def test():
        async with driving(HOT, size) as d:
            for number, (pane, _) in enumerate(PANES, start=1):
                await d.press(str(number), "left_square_bracket")
                assert d.app.main.front == pane
                assert d.moment == 0.0
                await d.press("right")
                first = d.moment
                assert first > 0.0
                await d.press("shift+right")
                assert d.moment > first
                await d.press("shift+left", "left")
                assert d.moment == 0.0
                await d.press("right_square_bracket")
                assert d.moment == pytest.approx(float(d.app.main.result.history.time[-1]))
                told = f"{d.moment:.1f} s of" if pane == "hazards" else f"{d.moment:.1f} s  soak"
                assert told in d.text()

    run(test)


@pytest.mark.parametrize("widget", [TimeLine, PlotView])
def test_a_click_on_the_time_line_or_a_chart_moves_the_moment(widget):
    async def test():
        async with driving(HOT, WIDE) as d:
            end = float(d.app.main.result.history.time[-1])
            place = d.app.main.query_one(widget)
            await d.pilot.click(widget, offset=(place.size.width // 2, 1))
            await d.until(lambda: abs(d.moment - end / 2) < 0.1 * end)
            before = d.moment
            await d.pilot.click(widget, offset=(place.size.width - 2, 1))
            await d.until(lambda: d.moment > before)

    run(test)


def test_a_click_on_a_chart_that_is_not_over_time_moves_nothing():
    async def test():
        async with driving(HOT, WIDE) as d:
            d.app.main.show_chart(NAMES.index("duct"))
            await d.shows("pressure along the duct")
            before = d.moment
            await d.pilot.click(PlotView, offset=(30, 4))
            assert d.moment == before

    run(test)


def test_tabs_choose_a_pane_and_mark_it_without_colour():
    async def test():
        async with driving(HOT) as d:
            assert "[1 Inputs]" in d.text()
            await d.pilot.click(PaneTabs, offset=(16, 0))
            await d.shows("[2 Hazards]", "Clear it by:")
            await d.press("4")
            await d.shows("[4 Figures]", "boil margin")

    run(test)


@pytest.mark.parametrize("size", SIZES)
def test_a_hazard_moves_the_moment_and_enter_goes_to_its_input(size):
    async def test():
        async with driving(HOT, size) as d:
            rows = hazard_rows(d.app.main.result)
            await d.press("2", "down")
            await d.until(lambda: d.app.main.row == rows[1].row)
            await d.press("enter")
            await d.until(lambda: d.cursor == rows[1].inputs[0])
            assert d.app.main.front == "inputs"

    run(test)


def test_a_hazard_can_be_read_in_full_under_the_verdict():
    async def test():
        async with driving(HOT) as d:
            row = hazard_rows(d.app.main.result)[0]
            await d.press("2", "w")
            text = squeezed(d.text())
            assert verdict_line(d.app.main.result).text in text
            for words in (row.figure, row.gap, row.when, row.where, row.remedy, row.why):
                assert words in text
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


@pytest.mark.parametrize(("name", "size"), [
    *((name, NARROW) for name in NAMES_OF_SCENARIOS if name not in ("base", "plate", "hot_day")),
    *((name, WIDE) for name in ("frame_tubes", "hot_day", "overreach")),
])
def test_no_figure_and_no_hazard_is_cut(name, size):
    async def test():
        async with driving(SCENARIOS / f"{name}.toml", size) as d:
            main = d.app.main
            for system in ("si", "us"):
                assert verdict_line(main.result, system).text in squeezed(d.text())
                hazards = main.query_one(HazardsPane)
                await d.press("2")
                table = hazards.query_one(OptionList)
                for option, row in zip(
                    table.options, hazard_rows(main.result, system), strict=True
                ):
                    prompt = str(option.prompt)
                    assert row.title in prompt
                    assert row.mark in prompt
                    assert (row.value or row.figure) in squeezed(prompt)
                    assert max(map(len, prompt.split("\n"))) < hazards.size.width
                await d.press("1")
                pane = main.query_one(InputsPane)
                for row in main.desk.session.rows:
                    line = pane._prompts[row.key]
                    assert len(line) < pane.size.width
                    if row.kind in ("quantity", "choice", "yes-no") and row.text:
                        assert shown(row, system) in line
                await d.press("2")
                for words in main.query(Words):
                    if words.text and words.region:
                        wrapped = words._content.get_height({}, words.content_size.width)
                        assert words.size.height >= wrapped, words.id
                await d.press("u")

    run(test)


def test_every_chart_can_be_reached_and_the_slow_ones_arrive():
    titles = ("temperatures over", "power and heat", "tank pressure and gas", "along the duct",
              "duct against speed", "against the size of the duct", "smallest tank against")

    async def test():
        async with driving(HOT) as d:
            await d.press("3")
            for number, title in enumerate(titles, start=1):
                await d.shows(f"{number} of 7: ", title)
                await d.press("c")
            await d.shows("1 of 7: ", titles[0])
            await d.press("C")
            await d.shows("7 of 7: ", titles[-1])

    run(test)


def test_a_chart_that_a_scenario_lacks_says_so():
    async def test():
        async with driving(HOT) as d:
            d.app.main._shelf._made.clear()
            d.app.main._shelf.get = lambda wanted: (True, None)
            d.app.main.show_chart(3)
            await d.shows("4 of 7: duct: nothing to draw for this scenario")

    run(test)


def test_the_figures_of_the_lines_follow_the_moment():
    async def test():
        async with driving(HOT) as d:
            await d.press("3", "left_square_bracket")
            at_start = d.words("chart-title")
            await d.press("right_square_bracket")
            assert d.words("chart-title") != at_start
            tank = d.app.main.result.history.tank_hot[-1] - 273.15
            assert f"tank, hottest {tank:.3g}" in d.words("chart-title")

    run(test)


def test_units_switch_everywhere_and_are_kept_for_the_next_start():
    async def test():
        async with driving(HOT) as d:
            await d.press("u")
            await d.shows("205 mph", "6.4 psi", "100.4 degF")
            assert "degC" not in d.text()
        async with driving(HOT) as d:
            await d.shows("205 mph")
            assert 'volume = "46 L"' in d.session.text

    run(test)


def test_themes_go_round_and_are_kept_for_the_next_start():
    async def test():
        async with driving(HOT) as d:
            seen = [d.app.theme]
            for _ in range(2):
                await d.press("t")
                seen.append(d.app.theme)
            assert seen == ["light", "dark", "sunlight"]
        async with driving(HOT) as d:
            assert d.app.theme == "sunlight"

    run(test)


def test_colour_says_nothing_that_words_do_not():
    """The three themes differ in colour only: their screens are the same text."""
    async def test():
        async with driving(HOT, WIDE) as d:
            texts = []
            for _ in range(3):
                texts.append(d.text())
                await d.press("t")
            assert len(set(texts)) == 1

    run(test)


@pytest.mark.parametrize("size", SIZES)
def test_ascii_only_shows_nothing_else(size):
    async def test():
        async with driving(HOT, size, ascii_only=True) as d:
            for keys in ("1", "2", "3", "c", "c", "c", "c", "4", "question_mark", "escape",
                         "ctrl+o", "escape", "1", "enter", "escape", "ctrl+p"):
                await d.press(keys)
                if keys == "ctrl+p":
                    await d.shows("Chart heat")
                assert d.text().isascii(), (keys, set(re.findall(r"[^\x00-\x7f]", d.text())))

    run(test)


def test_the_help_page_names_every_key():
    named = {"left_square_bracket": "[", "right_square_bracket": "]", "slash": "/",
             "question_mark": "?", "f1": "F1", "escape": "Escape", "delete": "Delete",
             "shift+left": "Shift", "shift+right": "Shift"}
    for binding in (*MainScreen.BINDINGS, *SoakboxApp.BINDINGS):
        for key in binding.key.split(","):
            assert re.search(rf"(?<!\w){re.escape(named.get(key, key))}(?!\w)", HELP), key
    assert max(map(len, HELP.splitlines())) < 80


def test_the_help_page_scrolls_and_says_how_much_is_left():
    async def test():
        async with driving(HOT) as d:
            await d.press("question_mark")
            await d.shows("THREE STEPS", "more below")
            await d.press("end")
            await d.until(lambda: "more below" not in d.text())
            assert "licensed practice govern" in d.text()
            await d.press("q")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_hints_stand_until_the_first_thing_that_is_done():
    async def test():
        async with driving(HOT, first_start=True) as d:
            assert squeezed(HINTS) in squeezed(d.text())
            await d.press("right")
            assert d.words("note") == ""

    run(test)


@pytest.mark.parametrize(("key", "words"), [
    ("s", "BUILD SHEET"), ("r", "ENERGY ACCOUNT"),
])
def test_pages_show_sizes_and_the_whole_check_under_the_verdict(
    key, words, monkeypatch, sheet_with
):
    sheet = sheet_with("hot_day")  # made by another test as well: the search itself is slow
    monkeypatch.setattr("tui.screens.sizes.build_sheet", lambda *_, **__: sheet)

    async def test():
        async with driving(HOT) as d:
            await d.press(key)
            await d.until(lambda: words in d.app.screen._text)
            assert "CAUTION: margin to boiling" in d.text()

    run(test)


def test_scenarios_are_compared_side_by_side_and_more_can_be_added(tmp_path):
    async def test():
        async with driving(HOT, WIDE) as d:
            await d.press("k")
            await d.type(str(SCENARIOS / "base.toml"))
            await d.press("enter")
            await d.shows("VERDICT", "HAZARDS THAT DIFFER", "base.toml", "ok clear")
            await d.press("a")
            await d.type(str(SCENARIOS / "ice.toml"))
            await d.press("enter")
            await d.shows("ice.toml")
            top = next(line for line in d.text().splitlines() if "ice.toml" in line)
            assert top.split() == ["hot_day.toml", "base.toml", "ice.toml"]
            await d.press("a")
            await d.type(str(tmp_path / "none.toml"))
            await d.press("enter")
            await d.shows("cannot be compared with")

    run(test)


def test_the_palette_has_every_action_and_every_input():
    async def test():
        async with driving(HOT) as d:
            titles = [command.title for command in commands(d.app.main)]
            for words in ("Open", "Save as", "Undo", "Put in", "Sizes", "Compare", "Units"):
                assert words in titles
            assert sum(t.startswith("Go to ") for t in titles) == len(d.session.rows)
            await d.press("ctrl+p")
            await d.type("station pressure")
            await d.shows("Go to Station pressure")
            await d.press("down", "enter")
            await d.until(lambda: d.cursor == "site.pressure")

    run(test)


def test_while_tables_are_built_the_screen_is_there_and_says_so(monkeypatch):
    asked = []
    monkeypatch.setattr("thermo.properties.tables_ready", lambda: False)
    monkeypatch.setattr("tui.desk.prepare_tables", asked.append)

    async def test():
        async with driving(HOT, solved=False) as d:
            await d.shows("Building the property tables", "Air temperature")
            asked[0](TablesBuilt(0, 5, "loading CoolProp"))
            await d.shows("[....................] 0 % step 1 of 5: loading CoolProp")
            asked[0](TablesBuilt(3, 5, "propylene glycol"))
            await d.shows("[############........] 60 % step 4 of 5: propylene glycol")
            asked[0](TablesReady())
            await d.solved()
            await d.shows("CAUTION")

    run(test)


def test_tables_are_built_in_a_process_of_their_own_step_by_step(tmp_path, monkeypatch):
    monkeypatch.setenv(CACHE_VARIABLE, str(tmp_path))
    told = []
    prepare_tables(told.append).join(60.0)
    *steps, ready = told
    assert [(s.done, s.of) for s in steps] == [(n, 5) for n in range(6)]
    assert [s.what for s in steps] == [*STEPS, ""]
    assert ready.words == ""
    assert list(tmp_path.glob("*.json"))


def test_a_process_that_fails_to_build_them_is_told_by_its_last_words(monkeypatch):
    monkeypatch.setattr("tui.solver.BUILD", "print('step 0 5 loading'); 1 / 0")
    told = []
    prepare_tables(told.append).join(60.0)
    assert told[0].what == "loading"
    assert told[-1].words == "ZeroDivisionError: division by zero"


def test_tables_that_cannot_be_built_are_told():
    async def test():
        async with driving(HOT) as d:
            d.app.main.post_message(TablesReady("no space left"))
            await d.shows("XX the property tables could not be built: no space left")

    run(test)


def test_a_scenario_without_result_is_no_verdict_and_never_the_old_one():
    async def test():
        async with driving(HOT) as d:
            d.app.main.post_message(SolveFailed(d.app.main._wanted_run, "the loop has no end"))
            await d.shows("?? NO VERDICT: the loop has no end", "from before the last edit")
            assert "CAUTION" not in d.words("verdict")
            await d.edit("tank.volume", "50 L")
            await d.until(lambda: "NO VERDICT" not in d.words("verdict"))

    run(test)


def test_an_answer_that_was_overtaken_is_dropped():
    async def test():
        async with driving(HOT) as d:
            main = d.app.main
            shown = main.result
            main.post_message(SolveFailed(main._wanted_run - 1, "stale"))
            await d.pilot.pause(0.0)
            assert main.result is shown
            assert "NO VERDICT" not in d.words("verdict")

    run(test)


def test_keys_in_one_burst_each_find_what_the_one_before_has_opened():
    async def test():
        async with driving(HOT) as d:
            text = "55 L"
            keys = ["2", "enter", "enter", *text, "enter", "3", "c"]
            for key in keys:
                name = "space" if key == " " else key
                d.app.post_message(events.Key(name, key if len(key) == 1 else None))
            await d.until(lambda: d.app.main.chart == 1)
            assert d.session.row("tank.volume").text == "55 L"
            await d.solved()
            assert d.app.main.front == "chart"

    run(test)


def test_a_page_is_left_by_escape_only_once():
    async def test():
        async with driving(HOT) as d:
            await d.press("question_mark", "escape", "escape")
            assert not isinstance(d.app.screen, Page)
            assert d.app.is_running

    run(test)
