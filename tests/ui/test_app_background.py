"""Pages that are worked out in the background: progress, stopping, doing it anew, errors."""

from __future__ import annotations

import re
import threading
from pathlib import Path

import pytest

from tests.ui.piloting import SCENARIOS, driving, run
from thermo.errors import SoakboxError
from tui.chartlist import NAMES
from tui.messages import SolveFailed
from tui.screens.background import Job, View, WorkPage
from tui.screens.main import MainScreen
from tui.screens.sizes import SizesPage
from tui.widgets.charts import ChartPane

HOT = SCENARIOS / "hot_day.toml"


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("SOAKBOX_STATE", str(tmp_path / "state"))
    monkeypatch.delenv("NO_COLOR", raising=False)


class Waits(WorkPage):
    """A page that waits for the test."""

    def __init__(self, view):
        super().__init__(view, "Waiting", "Nothing came of it.", "x does nothing")
        self.go = threading.Event()
        self.jobs: list[Job] = []
        self.views: list[View] = []
        self.error: Exception | None = None

    def work(self, view: View, job: Job) -> str:
        self.jobs.append(job)
        self.views.append(view)
        job.progress(3, 12)
        assert self.go.wait(30.0)
        if self.error is not None:
            raise self.error
        return f"found of {view.result.title}, {view.system}"


async def shown(d) -> Waits:
    page = Waits(d.app.main.view)
    d.app.push_screen(page)
    await d.shows("Waiting ...", "3 of 12")
    return page


def test_it_tells_how_far_it_is_and_then_what_was_found():
    async def test():
        async with driving(HOT) as d:
            page = await shown(d)
            await d.shows("[#####...............] 25 % 3 of 12", "Escape stops it",
                          "! CAUTION: margin to boiling")
            page.go.set()
            await d.shows("found of Pelican Flat, the long course at noon, si",
                          "Escape goes back, arrows scroll x does nothing")
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_escape_stops_it_then_goes_back_and_r_begins_again():
    async def test():
        async with driving(HOT) as d:
            page = await shown(d)
            await d.press("escape")
            await d.shows("Stopped. r works it out, Escape goes back.")
            assert page.jobs[0].stopped()
            page.go.set()
            await d.press("r")
            await d.shows("found of Pelican Flat")
            assert len(page.jobs) == 2
            await d.press("r")
            assert len(page.jobs) == 2
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_what_a_stopped_task_still_finds_is_dropped():
    async def test():
        async with driving(HOT) as d:
            page = await shown(d)
            await d.press("escape")
            page.post_message(WorkPage.Found(page.jobs[0], "late"))
            page.post_message(WorkPage.Told(page.jobs[0], 5, 6))
            await d.calm()
            await d.shows("Stopped.")
            assert "late" not in d.text()
            assert "5 of 6" not in d.text()
            page.go.set()

    run(test)


@pytest.mark.parametrize(("error", "words"), [
    (SoakboxError("it is too hot"), "Nothing came of it. it is too hot"),
    (ZeroDivisionError("by nothing"),
     "Nothing came of it. A fault in Soakbox itself: ZeroDivisionError: by nothing"),
])
def test_what_goes_wrong_is_said_in_words(error, words):
    async def test():
        async with driving(HOT) as d:
            page = await shown(d)
            page.error = error
            page.go.set()
            await d.shows(words)
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_undo_redo_and_units_are_followed_by_the_page():
    async def test():
        async with driving(HOT) as d:
            await d.edit("tank.volume", "60 L")
            page = await shown(d)
            page.go.set()
            await d.shows("found of")
            volumes = [60.0, 46.0, 60.0]
            for number, key in enumerate(("ctrl+z", "ctrl+y", "u"), start=1):
                await d.press(key)
                await d.until(lambda n=number: len(page.views) == n + 1 and page.state == "done")
                wanted = volumes[number] if number < len(volumes) else 60.0
                assert page.views[-1].scenario.tank.volume == pytest.approx(wanted / 1e3)
            await d.shows("found of Pelican Flat, the long course at noon, us", "F deg")
            await d.press("u")

    run(test)


def test_a_page_without_a_result_says_so():
    async def test():
        async with driving(HOT) as d:
            page = await shown(d)
            d.app.main.post_message(SolveFailed(d.app.main._wanted_run, "no end"))
            await d.shows("There is no result to work from.")
            page.go.set()

    run(test)


def test_leaving_the_program_ends_the_work():
    jobs = []

    async def test():
        async with driving(HOT) as d:
            page = await shown(d)
            jobs.extend(page.jobs)
            page.go.set()

    run(test)
    assert jobs[0].stopped() or not any(t.name == "page" for t in threading.enumerate())


def test_a_size_is_put_into_the_scenario_and_the_sheet_made_anew(monkeypatch):
    for others in ("time_answers", "day_answers", "intake_answers"):  # slow, and not put in here
        monkeypatch.setattr(f"thermo.sizing.{others}", lambda *_: [])

    async def test():
        async with driving(HOT) as d:
            await d.press("s")
            await d.shows("BUILD SHEET")
            assert isinstance(d.app.screen, SizesPage)
            await d.press("p")
            await d.shows("Put a size into the scenario")
            size = re.search(r"smallest tank: ([\d.]+) L, now 46 L", d.text()).group(1)
            assert float(size) > 46.0
            await d.press("enter")
            await d.until(lambda: d.session.scenario.tank.volume > 0.046)
            assert d.session.scenario.tank.volume == pytest.approx(float(size) / 1e3, rel=1e-3)
            await d.until(lambda: d.app.screen.state == "done"
                          and d.app.main.solved_for is d.session.scenario
                          and f"now {size}" in d.app.screen._text)
            await d.press("escape")
            await d.shows("K, was 8.5 K")

    run(test)


def test_sizes_can_be_stopped():
    async def test():
        async with driving(HOT) as d:
            await d.press("s")
            await d.press("escape")
            await d.shows("Stopped.")
            assert isinstance(d.app.screen, SizesPage)
            await d.press("escape")
            assert isinstance(d.app.screen, MainScreen)

    run(test)


def test_a_chart_made_in_the_background_is_drawn_by_the_app_itself(monkeypatch):
    drawn: list[tuple[str, str]] = []
    tell = ChartPane.tell

    def told(pane, chart, moment, place):
        drawn.append((chart.x_kind, threading.current_thread().name))
        tell(pane, chart, moment, place)

    monkeypatch.setattr(ChartPane, "tell", told)

    async def test():
        async with driving(HOT) as d:
            d.app.main.show_chart(NAMES.index("net against size"))
            await d.until(lambda: any(kind == "length" for kind, _ in drawn))

    run(test)
    assert {thread for _, thread in drawn} == {threading.main_thread().name}
