"""The list of hazards, worst first, with what would clear each and why it matters."""

from __future__ import annotations

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from tui.looks import style_of
from tui.messages import InputChosen, MomentMoved
from tui.present import HazardRow
from tui.widgets.words import Words

BESIDE = 2
"""Columns of scroll bar and padding beside a line of the list."""


MARK_STYLES = {"danger": "bold reverse", "caution": "bold"}
"""Style of a mark in the list: without colour, so that it is plain under the cursor too."""


def told(row: HazardRow, theme: str) -> Text:
    """Return one hazard in full.

    Parameters
    ----------
    row : HazardRow
    theme : str

    Returns
    -------
    Text
    """
    text = Text()
    text.append(f"{row.mark} {row.level}", style_of(row.level, theme))
    text.append(f" {row.title}: ", "bold")
    facts = [row.figure, row.gap, row.when, row.where]
    text.append(f"{', '.join(f for f in facts if f)}.")
    if row.level != "clear":
        text.append("\nClear it by: ", "bold")
        text.append(f"{row.remedy}.")
    text.append("\nWhy: ", "bold")
    text.append(f"{row.why}.")
    return text


class HazardsPane(Vertical):
    """Hazards; moving the cursor moves the moment, Enter goes to the input that drives it."""

    DEFAULT_CSS = """
    HazardsPane > OptionList { height: 1fr; }
    HazardsPane > VerticalScroll { height: auto; max-height: 60%; padding: 0 1; }
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: tuple[HazardRow, ...] = ()
        self._names: list[str] = []
        self._prompts: list[Text] = []
        self._explained = ""

    def compose(self) -> ComposeResult:
        """Lay out list and words."""
        yield OptionList(id="hazards", markup=False)
        with VerticalScroll(can_focus=False):
            yield Words(id="why")

    def tell(self, rows: tuple[HazardRow, ...]) -> None:
        """Show hazards; the cursor stays on the one it is on."""
        table = self.query_one("#hazards", OptionList)
        kept = self.chosen
        self._rows = rows
        prompts = [self._prompt(r) for r in rows]
        names = [r.name for r in rows]
        heights = [p.plain.count("\n") for p in prompts]
        if (names, heights) == (self._names, [p.plain.count("\n") for p in self._prompts]):
            for place, (prompt, before) in enumerate(zip(prompts, self._prompts, strict=True)):
                if prompt != before:
                    table.replace_option_prompt_at_index(place, prompt)
        else:
            with self.prevent(OptionList.OptionHighlighted):
                pairs = zip(prompts, names, strict=True)
                table.set_options([Option(prompt, id=name) for prompt, name in pairs])
                here = names.index(kept.name) if kept is not None and kept.name in names else 0
                table.highlighted = here
        self._names, self._prompts = names, prompts
        self._tell_why()

    def on_resize(self) -> None:
        """Lay the lines out for the new width."""
        if self._rows:
            self.tell(self._rows)

    def _prompt(self, row: HazardRow) -> Text:
        """One line where there is room for title and figure, else more."""
        width = max(self.size.width - BESIDE, 30)
        text = Text(no_wrap=True)
        text.append(f"{row.mark:<2}", MARK_STYLES.get(row.level, ""))
        text.append(" ")
        text.append(row.title, "bold" if row.level != "clear" else "")
        figures = [row.figure]
        if row.level == "clear" and row.value:
            figures.append(row.value)
        for figure in figures:
            room = width - 3 - len(row.title) - len(figure)
            if room > 1:
                text.append(" " * room + figure)
                return text
        whole = len(row.figure) + 3 <= width
        for figure in (row.figure,) if whole else (f"{row.value},", f"{row.limit} wanted"):
            text.append(f"\n   {figure}")
        return text

    @property
    def chosen(self) -> HazardRow | None:
        """The hazard under the cursor."""
        at = self.query_one("#hazards", OptionList).highlighted
        return self._rows[at] if at is not None and at < len(self._rows) else None

    def _tell_why(self) -> None:
        row = self.chosen
        self.query_one("#why", Words).tell("" if row is None else told(row, self.app.theme))
        if row is not None and row.name != self._explained:
            self._explained = row.name
            self.query_one(VerticalScroll).scroll_home(animate=False)

    @on(OptionList.OptionHighlighted)
    def _moved(self) -> None:
        self._tell_why()
        row = self.chosen
        if row is not None and row.row is not None and self.query_one("#hazards").has_focus:
            self.post_message(MomentMoved(row.row))

    @on(OptionList.OptionSelected)
    def _picked(self) -> None:
        row = self.chosen
        if row is None:
            return
        if row.row is not None:
            self.post_message(MomentMoved(row.row))
        if row.inputs:
            self.post_message(InputChosen(row.inputs[0]))
