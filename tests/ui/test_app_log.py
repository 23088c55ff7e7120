"""A logger's file on the screen: columns, call-outs, the fit, and what becomes of it."""

from __future__ import annotations

import threading
from pathlib import Path

import numpy as np
import pytest
from textual.widgets import OptionList

import thermo.fit
from tests.oracles.log_generator import Course, Sensors, Truth, measure, write
from tests.oracles.log_generator import run as run_car
from tests.ui.piloting import NARROW, SCENARIOS, WIDE, Driven, copy_of, driving, run
from thermo.errors import InfeasibleError
from thermo.scenario_io import read_scenario
from tui.screens.dialogs import AskFile, Choose
from tui.screens.fit_log import LogPage
from tui.screens.fit_run import LogFitPage
from tui.screens.main import MainScreen
from tui.widgets.traces import TracesPane

SHARE = 0.85
"""Heat share of the invented car that was logged; the scenario has 0.75."""


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.chdir(tmp_path)


@pytest.fixture(scope="module")
def course() -> Course:
    return run_car(Truth(heat_share=SHARE))


@pytest.fixture
def logged(course: Course, tmp_path: Path):
    """Write logs of the same pass, each with something done to it."""

    def made(name: str, change=None, twice: bool = False) -> Path:
        sensors = Sensors(channels=("coolant_out", "tank_out", "tank_in", "speed"), tail=150.0,
                          rate=2.0)
        clock, columns = measure(course, sensors, np.random.default_rng(3))
        if change is not None:
            change(columns)
        if twice:
            clock = np.concatenate([clock, clock + clock[-1] + 400.0])
            columns = {name: np.concatenate([c, c]) for name, c in columns.items()}
        return write(tmp_path / name, clock, columns)

    return made


def renamed(path: Path, *pairs: tuple[str, str]) -> Path:
    """Give columns other headers."""
    head, rest = path.read_text(encoding="utf-8").split("\n", 1)
    for old, new in pairs:
        assert old in head
        head = head.replace(old, new)
    path.write_text(f"{head}\n{rest}", encoding="utf-8")
    return path


async def open_log(d: Driven, path: Path | str) -> LogPage:
    """Open a log by its path, as typed."""
    await d.press("l", "enter")
    assert isinstance(d.app.screen, AskFile)
    return await named(d, path)


async def named(d: Driven, path: Path | str) -> LogPage:
    await d.type(str(path))
    await d.press("enter")
    await d.until(lambda: isinstance(d.app.screen, LogPage) and d.app.screen.state == "done")
    return d.app.screen


async def fit(d: Driven, *names: str) -> LogFitPage:
    """Fit some inputs only, which is quicker."""
    page = d.app.screen
    page.setup.names = set(names)
    await d.press("f")
    await d.until(lambda: isinstance(d.app.screen, LogFitPage), "not fitted")
    await d.until(lambda: d.app.screen.state == "done")
    return d.app.screen


def test_a_log_is_fitted_put_into_the_scenario_and_taken_out_again(logged, tmp_path):
    path, log = copy_of("base", tmp_path), logged("pass.csv")
    file = path.read_text()

    async def test():
        async with driving(path) as d:
            before = d.session.text
            await open_log(d, log)
            await d.shows("Coolant Out (degC) coolant leaving the engine degC",
                          "Ready: f fits heat, ua, metal, drag")
            await d.press("4")
            await d.shows("1/4 coolant_out: coolant leaving the engine", "a scenario", "b log")
            await d.press("c")
            await d.shows("2/4 tank_out: water drawn from the tank")
            traces = d.app.screen.query_one(TracesPane)
            for key, by in (("right", 1), ("left", -1), ("shift+left", -10), ("shift+right", 10)):
                low, high = traces._span()
                before_it = traces._moment
                await d.press(key)
                step = (traces._moment - before_it) / (high - low)
                assert step == pytest.approx(by / 100.0, abs=1e-6), key
            await d.press("C")
            await d.shows("1/4 coolant_out")
            page = await fit(d, "heat", "ua")
            for words in ("FITTED", "95 % interval", "THE NEXT PASS", "boil margin"):
                assert words in page._text
            await d.press("c")
            await d.shows("b fitted", "c log")
            await d.press("p")
            assert isinstance(d.app.screen, MainScreen)
            await d.shows("fitted to pass.csv: ")
            await d.solved()
            # The generator's own car, by its own equations, is what the fit must find again.
            assert d.session.scenario.engine.heat_share == pytest.approx(SHARE, abs=0.02)
            assert {"engine.heat_share", "exchanger.ua"} <= set(d.session.scenario.doubt)
            assert "pass.csv, SHA-256" in d.session.text
            assert d.session.dirty
            assert path.read_text() == file
            await d.press("ctrl+z")
            assert d.session.text == before
            await d.press("ctrl+y", "ctrl+s")
            await d.shows("saved: ")

    run(test)
    assert read_scenario(path).scenario.engine.heat_share == pytest.approx(SHARE, abs=0.02)


@pytest.mark.parametrize(
    ("name", "content", "words"),
    [
        ("a.csv", b"\0\1\2" * 300, "this is a binary file"),
        ("a.csv", b"", "the file is empty"),
        ("a.csv", b"just words\nand more\n", "no columns are found"),
        ("none.csv", None, "there is no such file"),
        ("~nobody-of-this-name/a.csv", None, "there is no such file"),
    ],
)
def test_a_file_that_is_no_log_is_told_of_and_another_one_asked_for(
    logged, tmp_path, name, content, words
):
    good = logged("good.csv")
    if content is not None:
        (tmp_path / name).write_bytes(content)

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            before = d.session.text
            await open_log(d, name)
            await d.shows("This log cannot be used.", words, "o asks for another file")
            await d.press("f", "1", "2", "3", "4", "x", "a", "space", "enter", "c", "left")
            assert isinstance(d.app.screen, LogPage)
            await d.shows("This log cannot be used.", words)
            await d.press("o")
            await named(d, good)
            await d.shows("Ready: f fits")
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)
            assert d.session.text == before

    run(test)


def test_a_scenario_given_as_a_log_harms_nothing(tmp_path):
    path = copy_of("base", tmp_path)
    file = path.read_text()

    async def test():
        async with driving(path) as d:
            await open_log(d, path)
            await d.press("f")
            assert isinstance(d.app.screen, LogPage)
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)
    assert path.read_text() == file


def test_a_stuck_sensor_stops_the_fit_until_it_is_left_out(logged, tmp_path):
    log = logged("stuck.csv", lambda c: c["tank_in"].__setitem__(slice(60, None), 25.0))

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            page = await open_log(d, log)
            await d.shows("1 call-out stops the fit: press 2", "2 Call-outs (1 XX)")
            await d.press("f")
            assert d.app.screen is page
            await d.shows("XX stuck: Tank In (degC) (tank_in), lines 62 to",
                          "XX nothing is fitted until this is settled")
            await d.press("a")
            await d.shows("ok stuck (accepted)", "Ready: f fits")
            await d.press("a")
            await d.shows("1 call-out stops the fit")
            await d.press("enter")
            await d.choose("leave tank_in out")
            await d.until(lambda: page.state == "done")
            await d.shows("left out: tank_in", "Ready: f fits")
            assert "tank_in" not in page.looked.log.values
            await d.press("1")
            await d.shows("left out: water coming")
            fitted = await fit(d, "heat")
            assert "tank_in" not in fitted._text
            await d.press("escape")
            assert d.app.screen is page
            await d.press("2", "end", "x")
            await d.until(lambda: page.state == "done")
            await d.shows("1 call-out stops the fit")

    run(test)


def test_swapped_columns_are_taken_the_other_way_round(logged, tmp_path):
    log = logged("swap.csv", lambda c: c.update(tank_in=c["tank_out"], tank_out=c["tank_in"]))

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            page = await open_log(d, log)
            await d.press("2", "enter")
            await d.shows('take "Tank In (degC)" for tank_out in degC')
            await d.press("enter")
            await d.until(lambda: page.state == "done")
            await d.shows("Ready: f fits")
            assert page.looked.log.choices["tank_out"].header == "Tank In (degC)"
            await d.press("escape")
            page = await open_log(d, log)
            # What was chosen about a log is still there when it is opened again.
            assert page.looked.log.choices["tank_out"].header == "Tank In (degC)"

    run(test)


def test_units_that_were_mistaken_are_put_right_one_after_the_other(logged, tmp_path):
    log = logged("units.csv", lambda c: c.update(tank_in=1.8 * c["tank_in"] + 32.0,
                                                 speed=c["speed"] / 1.609))

    async def test():
        async with driving(copy_of("base", tmp_path), WIDE) as d:
            page = await open_log(d, log)
            await d.shows("2 call-outs stop the fit")
            await d.press("2", "end", "1", "f")
            await d.shows("XX nothing is fitted until this is settled: Enter shows how")
            for words in ("Speed (km/h)", "Tank In (degC)"):
                channel = page.lists.item("found").channel
                # The chart goes with the cursor.
                await d.shows(f"{channel}: ")
                await d.press("enter")
                await d.shows(f'take "{words}" for')
                await d.press("enter")
                await d.until(lambda: page.state == "done")
            await d.shows("Ready: f fits")
            assert page.looked.log.choices["speed"].unit == "mph"
            assert page.looked.log.choices["tank_in"].unit == "degF"

    run(test)


def test_columns_that_the_reader_does_not_know_are_named_by_hand(logged, tmp_path):
    log = renamed(logged("odd.csv"), ("Coolant Out (degC)", "Thermo 1"),
                  ("Tank In (degC)", "Tank In"))

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            page = await open_log(d, log)
            await d.shows("not read yet, 1 fault", "XX Tank In", "unit?",
                          "the unit is missing: write it into the header")
            await d.press("enter", "enter")
            await d.shows('Unit of "Tank In" as tank_in; the first reading is')
            await d.type("litres")
            await d.press("enter")
            await d.shows("XX litres")
            await d.type("degC")
            await d.press("enter")
            await d.until(lambda: page.state == "done")
            await d.shows("Ready: f fits heat, drag")
            await d.press("home", "down", "enter")
            await d.choose("coolant_out: coolant leaving the engine")
            await d.press("enter")
            await d.until(lambda: page.state == "done")
            await d.shows("Ready: f fits heat, ua, metal, drag", "as you said")
            await d.press("enter")
            await d.choose("not used")
            await d.until(lambda: page.state == "done")
            await d.shows("Ready: f fits heat, drag", "- Thermo 1 not used")

    run(test)


def test_escape_stops_a_fit_and_nothing_is_put_in(logged, tmp_path, monkeypatch):
    log, held = logged("pass.csv"), threading.Event()

    def held_back(*args, progress, **options):
        """Fit, but go on from the first that is told only when the key has been pressed."""
        def told(*done):
            for _ in range(600):
                progress(*done)
                if held.wait(0.1):
                    break

        return thermo.fit.fit(*args, progress=told, **options)

    monkeypatch.setattr("tui.screens.fit_run.fit", held_back)

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            before = d.session.text
            page = await open_log(d, log)
            await d.press("f")
            await d.shows("Fitting heat, ua, metal, drag to pass.csv", "of 5", "Escape stops it")
            await d.press("escape")
            held.set()
            await d.shows("Stopped.")
            await d.press("p", "o", "n", "escape", "escape")
            assert d.app.screen is page
            assert d.session.text == before
            await fit(d, "drag")
            await d.shows("car.drag_area")

    run(test)


def test_the_fitted_scenario_is_written_but_never_over_log_or_scenario(logged, tmp_path):
    path, log = copy_of("base", tmp_path), logged("pass.csv")
    data, file = log.read_bytes(), path.read_text()
    (tmp_path / "there.toml").write_text("kept")

    async def test():
        async with driving(path) as d:
            before = d.session.text
            await open_log(d, log)
            await fit(d, "drag")
            for name, words in (
                ("pass.csv", "the ending says which"), ("base.toml", "would write over it"),
                ("none/a.toml", "none"), ("new.toml", "written: "),
            ):
                await d.press("o")
                await d.type(name)
                await d.press("enter")
                if isinstance(d.app.screen, Choose):
                    await d.choose("write over it")
                await d.shows(words)
            await d.press("o")
            await d.type("there.toml")
            await d.press("enter", "enter")
            assert isinstance(d.app.screen, LogFitPage)
            assert (tmp_path / "there.toml").read_text() == "kept"
            assert d.session.text == before

    run(test)
    assert log.read_bytes() == data
    assert path.read_text() == file
    fitted = read_scenario(tmp_path / "new.toml").scenario
    assert "car.drag_area" in fitted.doubt
    assert not list(tmp_path.glob("*.part"))


@pytest.mark.long
def test_a_fit_that_is_not_to_be_trusted_is_put_in_only_when_asked_twice(tmp_path):
    async def test():
        # The log is of another course and another car.
        async with driving(copy_of("hot_day", tmp_path)) as d:
            before = d.session.text
            page = await open_log(d, SCENARIOS / "base_pass.csv")
            page.setup.accepted = {f.tag for f in page.looked.findings}
            fitted = await fit(d, "heat")
            await d.shows("?? NOT TO BE TRUSTED", "the model does not follow speed")
            await d.press("p")
            await d.shows("This fit is not to be trusted", "leave the scenario as it is")
            await d.press("enter")
            assert d.app.screen is fitted
            assert d.session.text == before
            await d.press("p")
            await d.choose("put it in regardless")
            await d.shows("fitted to base_pass.csv")
            assert d.session.text != before

    run(test)


def test_a_next_pass_that_cannot_be_told_does_not_lose_the_fit(logged, tmp_path, monkeypatch):
    def refuse(*_):
        raise InfeasibleError("the fit lies at the ends of what its inputs may be")

    monkeypatch.setattr("tui.screens.fit_run.log_samples", refuse)

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            await open_log(d, logged("pass.csv"))
            page = await fit(d, "drag")
            for words in ("car.drag_area", "It cannot be told: the fit lies at the ends"):
                assert words in page._text
            await d.press("p")
            await d.shows("fitted to pass.csv: ")

    run(test)


def test_of_two_passes_one_is_chosen_and_none_is_refused(logged, tmp_path):
    log = logged("two.csv", twice=True)

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            page = await open_log(d, log)
            await d.shows("2 passes")
            await d.press("3", "space", "down", "space", "f")
            assert d.app.screen is page
            await d.shows("XX nothing is fitted: tick at least one pass and one input")
            await d.press("space")
            await d.shows("[ ] pass 1", "[x] pass 2")
            fitted = await fit(d, "drag")
            assert "fitted on pass 2" in fitted._text

    run(test)


@pytest.mark.long
def test_inputs_are_ticked_and_the_next_pass_is_told_for_another_day(logged, tmp_path):
    log = logged("pass.csv")

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            page = await open_log(d, log)
            await d.press("3", "down", "space", "down", "space", "down", "space")
            await d.shows("[ ] heat", "[ ] ua", "[ ] metal", "[x] drag", "Ready: f fits drag")
            await d.press("f")
            await d.until(lambda: d.app.screen.state == "done" and d.app.screen is not page)
            fitted = d.app.screen
            held = fitted._kept
            await d.press("n")
            await d.type("38 degC")
            await d.press("down")
            await d.type("30 degC")
            await d.press("enter")
            await d.until(lambda: "in air of 38 degC, tank at 30 degC" in fitted._text)
            assert fitted._kept is held, "the log was fitted again for nothing"
            await d.press("u")
            await d.until(lambda: "in air of 100 degF" in fitted._text)
            assert fitted._kept is held
            assert "degC" not in fitted._text.replace("(degC)", "")
            await d.press("u")

    run(test)


@pytest.mark.long
def test_a_change_of_the_scenario_is_followed_by_both_pages(logged, tmp_path):
    log = logged("pass.csv")

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            await d.edit("car.drag_area", "0.3 m^2")
            await open_log(d, log)
            page = await fit(d, "heat")
            held = page._kept
            assert held[0].car.drag_area == pytest.approx(0.3)
            await d.press("ctrl+z")
            await d.until(lambda: page.state == "done" and page._kept is not held)
            assert page._kept[0].car.drag_area == pytest.approx(0.17)
            await d.press("p")
            await d.shows("fitted to pass.csv: ")
            assert d.session.scenario.car.drag_area == pytest.approx(0.17)

    run(test)


def test_a_file_is_found_by_typing_its_folder(logged, tmp_path):
    (tmp_path / "logs").mkdir()
    logged("logs/pass.csv")
    (tmp_path / "logs" / "notes.md").write_text("no log")

    async def test():
        async with driving(copy_of("base", tmp_path)) as d:
            await d.press("l", "enter")
            await d.shows("base_pass.csv")
            await d.type("lo")
            table = d.app.screen.query_one(OptionList)
            assert [str(o.prompt) for o in table.options] == ["logs/"]
            await d.press("down", "enter")
            assert [str(o.prompt) for o in table.options] == ["logs/pass.csv"]
            await d.type("logs/x")
            await d.shows("There is no such file or folder.")
            await d.type("logs")
            await d.press("enter", "down", "enter")
            await d.until(lambda: isinstance(d.app.screen, LogPage))
            await d.shows("pass.csv: ")

    run(test)


@pytest.mark.parametrize(
    ("size", "ascii_only"), [(NARROW, True), (WIDE, False)]
)
def test_every_pane_fits_and_tells_what_keys_do(logged, tmp_path, size, ascii_only):
    log = logged("stuck.csv", lambda c: c["tank_in"].__setitem__(slice(60, None), 25.0))

    async def test():
        async with driving(copy_of("base", tmp_path), size, ascii_only=ascii_only) as d:
            page = await open_log(d, log)
            for pane, words in (("1", "Enter says what a column is"), ("2", "Enter settles it"),
                                ("3", "Enter or space ticks"), ("4", "c next channel")):
                await d.press(pane)
                await d.shows(words, "f fits", "Escape back", "temperature [degC]" if
                              pane == "4" or size[0] >= 120 else "stuck.csv")
                assert not ascii_only or d.text().isascii()
                assert max(map(len, d.text().splitlines())) <= size[0]
            page.setup.accepted = {"stuck:tank_in"}
            await fit(d, "drag")
            await d.shows("FITTED", "p puts the fit in", "o writes it to a file")
            await d.press("2")
            await d.shows("log less fitted")
            assert not ascii_only or d.text().isascii()
            await d.press("t", "t", "t")

    run(test)
