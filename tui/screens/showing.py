"""How the main screen is laid out, and how a scenario's result comes onto it."""

from __future__ import annotations

import contextlib
from typing import TYPE_CHECKING, cast

from rich.text import Text
from textual import events
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.reactive import Reactive
from textual.screen import Screen
from textual.widget import Widget

from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.units import System, convert
from tui import present
from tui.chartlist import NAMES, ChartShelf, Wanted
from tui.desk import Desk
from tui.help import HINTS
from tui.looks import bar, style_of
from tui.messages import ChartReady, Opened
from tui.widgets.charts import LEAST_WIDTH as LEAST_CHART
from tui.widgets.charts import ChartPane
from tui.widgets.figures import FiguresPane
from tui.widgets.hazards import HazardsPane
from tui.widgets.inputs import InputsPane
from tui.widgets.picture import Picture, TimeLine
from tui.widgets.tabs import PANES, PaneTabs
from tui.widgets.words import Words

if TYPE_CHECKING:
    from tui.app import SoakboxApp

LEAST_WIDTH, LEAST_HEIGHT = 78, 23
WIDE_WIDTH, WIDE_HEIGHT = 120, 36
TALL_HEIGHT = 32
BOTH_HEIGHT = 44
"""Rows from which on chart and figures have room one above the other."""
MIDDLE = ("chart", "figures")
"""Panes that share the middle of a wide window."""
FOCUS = {
    "inputs": "#rows",
    "hazards": "#hazards OptionList",
    "chart": "#chart",
    "figures": "#figures",
}
KEYS = {
    "inputs": ("Enter edit", "/ filter", "i put in", "Del take out", "d double"),
    "hazards": ("Enter to its input", "w in full"),
    "chart": ("c next chart", "C the one before"),
    "figures": ("Enter its working",),
}
"""What keys do in each pane, most needed first."""
EVERYWHERE = (
    "1-4 panes", "left right moment", "u units", "s sizes", "h weather", "k compare", "? help"
)
"""What keys do in all panes; those before the last give way where room is short."""
NAME_ROOM = 22




class ShowingScreen(Screen[None]):
    """What is shown of one scenario at one moment.

    Parameters
    ----------
    first : Opened
        The scenario to begin with.

    Attributes
    ----------
    desk : Desk
        The open scenario and its file.
    result, before : EventResult or None
        What is shown, and what was shown before the last edit.
    solved_for : Scenario or None
        What `result` is the result of.
    row : int
        Row of the history: the moment.
    chart : int
        Place of the chart in the list of charts.
    front : str
        The pane that has the cursor.
    note : str
        What is said at the foot of the screen.
    """

    desk: Desk
    # What gains and loses the cursor repaints itself: not the whole screen, as is usual.
    focused = Reactive[Widget | None](None, repaint=False)

    def __init__(self, first: Opened) -> None:
        super().__init__()
        self._first = first
        self._shelf = ChartShelf(self._chart_made)
        self.result: EventResult | None = None
        self.solved_for: Scenario | None = None
        self.before: EventResult | None = None
        self.row = 0
        self.chart = 0
        self.front = "inputs"
        self.note = ""
        self._hinting = first.first_start
        self._failure = ""
        self._wanted_run = 0
        self._slow = False
        self._shape: set[str] = set()
        self._middle = MIDDLE[0]

    def _chart_made(self) -> None:
        """Say from a thread that a chart is there; the app may have gone meanwhile."""
        with contextlib.suppress(RuntimeError):  # textual has no app to hand it to any more
            self.post_message(ChartReady())

    @property
    def soakbox(self) -> SoakboxApp:
        """The app, as what it is."""
        return cast("SoakboxApp", self.app)

    @property
    def system(self) -> System:
        """Units on the screen."""
        return self.soakbox.settings.units

    def compose(self) -> ComposeResult:
        """Lay out the skeleton; it is filled in when there is something to show."""
        ascii_only = self.soakbox.ascii_only
        yield Words(id="verdict")
        yield Picture(ascii_only=ascii_only, id="picture")
        yield TimeLine(ascii_only=ascii_only, id="timeline")
        yield PaneTabs(id="tabs")
        with Horizontal(id="body"):
            with Vertical(id="left"):
                yield InputsPane(id="inputs")
            with Vertical(id="middle"):
                yield ChartPane(ascii_only=ascii_only, id="chart")
                yield FiguresPane(id="figures")
            with Vertical(id="right"):
                yield HazardsPane(id="hazards")
        yield Words(id="too-small")
        yield Words(id="note")
        yield Words(id="keys", classes="keys")

    # -- showing ------------------------------------------------------------------------------

    def _fit(self, width: int, height: int) -> None:
        tiny = width < LEAST_WIDTH or height < LEAST_HEIGHT
        wide = not tiny and width >= WIDE_WIDTH and height >= WIDE_HEIGHT
        self._shape = {"tiny" if tiny else "wide" if wide else "narrow"}
        self._shape |= {"tall"} if height >= TALL_HEIGHT else set()
        self._shape |= {"low"} if height < BOTH_HEIGHT else set()
        self.set_classes(self._shape)
        self._put(
            "too-small",
            Text(
                f"Soakbox needs {LEAST_WIDTH} by {LEAST_HEIGHT} characters;\n"
                f"this window has {width} by {height}.\n"
                "Enlarge it, or leave with ctrl+q and run:\nsoakbox check FILE"
            ),
        )
        self._front(self.front, focus=False)

    def on_resize(self, event: events.Resize) -> None:
        """Choose the layout for the window."""
        self._fit(event.size.width, event.size.height)
        self.call_after_refresh(self._tell_result)

    def _lay_out(self) -> None:
        """Show what has room; at once, since what is not shown yet cannot get the cursor."""
        tiny, narrow = "tiny" in self._shape, "narrow" in self._shape
        roomy = not narrow or "tall" in self._shape
        shown = {pane: self._visible(pane) for pane, _ in PANES}
        for name, there in (
            ("too-small", tiny),
            ("verdict", not tiny),
            ("picture", not tiny and not (narrow and self.front in MIDDLE)),
            ("timeline", not tiny and (roomy or self.front != "hazards")),
            ("tabs", narrow),
            ("body", not tiny),
            ("left", shown["inputs"]),
            ("middle", shown["chart"] or shown["figures"]),
            ("right", shown["hazards"]),
            ("chart", shown["chart"]),
            ("figures", shown["figures"]),
            ("note", not tiny),
            ("keys", not tiny),
        ):
            self.query_one(f"#{name}").display = there

    def _front(self, pane: str, focus: bool = True) -> None:
        """Bring a pane to the front, and the cursor there."""
        self.front = pane
        if pane in MIDDLE:
            self._middle = pane
        self._lay_out()
        if self.result is not None and pane == "hazards":
            self._tell_hazards(self.result)  # at once: the key typed next may be its Enter
        self.query_one("#tabs", PaneTabs).tell(pane)
        if focus:
            self.query_one(FOCUS[pane]).focus()
        self._tell_keys()
        if self.result is not None and not ("wide" in self._shape and "low" not in self._shape):
            self.call_after_refresh(self._tell_panes)

    def _visible(self, pane: str) -> bool:
        if "wide" not in self._shape:
            return self.front == pane and "tiny" not in self._shape
        return pane not in MIDDLE or "low" not in self._shape or pane == self._middle

    def _put(self, name: str, text: Text) -> None:
        self.query_one(f"#{name}", Words).tell(text)

    def verdict(self) -> Text:
        """Return the verdict line: the word, what binds, by how much, when."""
        theme = self.app.theme
        text = Text()
        if self.desk.preparing:
            text.append("Building the property tables, once: a few seconds ...")
            if self.desk.building is not None:
                at = self.desk.building
                step = min(at.done + 1, at.of)
                text.append(f"\n{bar(at.done, at.of)}  step {step} of {at.of}: {at.what}")
        elif self._failure:
            text.append("?? NO VERDICT", style_of("danger", theme))
            text.append(f": {self._failure}")
            if self.result is not None:
                text.append(". What is shown is from before the last edit.")
        elif self.result is None:
            text.append("Working out the event ...")
        else:
            line = present.verdict_line(self.result, self.system)
            role = {"clear": "figure", "caution": "caution"}.get(line.level, "danger")
            text.append(f"{line.mark} {line.word}", style_of(role, theme))
            text.append(line.text.removeprefix(f"{line.mark} {line.word}"))
        return text

    def _tell_verdict(self) -> None:
        text = self.verdict()
        if self._slow and self.result is not None:
            text.append("\nworking out the event anew ...", style_of("figure", self.app.theme))
        elif self.result is not None and not self._failure and self.before is not None:
            text.append(f"\n{self._changes()}", style_of("figure", self.app.theme))
        self._put("verdict", text)
        self._tell_note()
        self._tell_keys()

    def _changes(self) -> str:
        """Return what the last edit has changed, as much as fits a line; the figures have all."""
        if self.result is None:
            return ""
        room = self.app.size.width - 2
        told = ""
        changes = present.verdict_line(self.result, self.system, self.before).changes
        # What binds now stands in the verdict: it gives way to figures.
        for change in sorted(changes, key=lambda words: " binds, was " in words):
            longer = f"{told}; {change}" if told else change
            if len(longer) <= room:
                told = longer
        return told

    def _tell_note(self) -> None:
        self._put("note", Text(self.note, style_of("figure", self.app.theme)))

    def _tell_keys(self) -> None:
        session = self.desk.session
        name = session.name
        if len(name) > NAME_ROOM:
            name = f"{name[: NAME_ROOM - 1]}~"
        if session.dirty:
            name += "*"
        keys = [*KEYS[self.front], *EVERYWHERE]
        if session.dirty:
            keys.insert(0, "ctrl+s save")
        while len(keys) > 1 and len(name) + sum(len(k) + 3 for k in keys) > self.app.size.width - 2:
            keys.pop(-2)
        self._put("keys", Text("   ".join((name, *keys)), no_wrap=True))

    def _tell_inputs(self) -> None:
        session = self.desk.session
        pane = self.query_one("#inputs", InputsPane)
        pane.tell(session.rows, session.changed_keys(), self.system)
        self._tell_keys()

    def _tell_moment(self) -> None:
        if self.result is None or self.solved_for is None:
            return
        picture = self.query_one("#picture", Picture)
        picture.tell(self.result, self.solved_for, self.row, self.system)
        self.query_one("#timeline", TimeLine).tell(self.result, self.row, self.system)
        if self._visible("chart"):
            self._tell_chart()

    def _tell_chart(self) -> None:
        if self.result is None or self.solved_for is None:
            return
        pane = self.query_one("#chart", ChartPane)
        name = NAMES[self.chart]
        place = f"{self.chart + 1} of {len(NAMES)}:"
        width = max(pane.size.width, LEAST_CHART)
        known, chart = self._shelf.get(
            Wanted(name, self.result, self.solved_for, width, self.system)
        )
        if not known:
            pane.wait(f"{place} {name}, working it out ...")
        elif chart is None:
            pane.wait(f"{place} {name}: nothing to draw for this scenario")
        else:
            pane.tell(chart, self._moment_on(chart.x_kind), place)

    def _moment_on(self, x_kind: str) -> float | None:
        """Return where the moment stands on an axis of time or of speed."""
        if self.result is None:
            return None
        history = self.result.history
        if x_kind == "time":
            return float(history.time[self.row])
        if x_kind == "speed":
            unit = "mph" if self.system == "us" else "m/s"
            return convert(float(history.speed[self.row]), "speed", unit)
        return None

    def _tell_hazards(self, result: EventResult) -> None:
        rows = present.hazard_rows(result, self.system)
        self.query_one("#hazards", HazardsPane).tell(rows)

    def _tell_panes(self) -> None:
        if self.result is None:
            return
        if self._visible("hazards"):
            self._tell_hazards(self.result)
        if self._visible("figures"):
            figures = present.figure_rows(self.result, self.system, self.before)
            self.query_one("#figures", FiguresPane).tell(figures)
        if self._visible("chart"):
            self._tell_chart()

    def _tell_result(self) -> None:
        self._tell_verdict()
        self._tell_moment()
        self._tell_panes()

    def say(self, words: str) -> None:
        """Say something at the foot of the screen."""
        self.note = words
        self._tell_note()

    def hush(self) -> None:
        """Let the hints of the first start go."""
        if self._hinting:
            self._hinting = False
            if self.note == HINTS:
                self.say("")

    def refresh_look(self) -> None:
        """Show everything in the present system of units and theme."""
        self._tell_inputs()
        self._tell_result()
