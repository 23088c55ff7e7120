"""The list of hazards, worst first, with why it matters and what would clear it."""

from __future__ import annotations

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical, VerticalScroll
from textual.widgets import OptionList, Static
from textual.widgets.option_list import Option

from tui.looks import style_of
from tui.messages import InputChosen, MomentMoved
from tui.present import HazardRow


class HazardsPane(Vertical):
    """Hazards; moving the cursor moves the moment, Enter goes to the input that drives it."""

    DEFAULT_CSS = """
    HazardsPane > OptionList { height: 1fr; border: none; padding: 0; }
    HazardsPane > VerticalScroll { height: 40%; padding: 0 1; min-height: 5; }
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: tuple[HazardRow, ...] = ()

    def compose(self) -> ComposeResult:
        """Lay out list and words."""
        yield OptionList(id="hazards", markup=False)
        with VerticalScroll(can_focus=False):
            yield Static("", id="why", markup=False)

    def tell(self, rows: tuple[HazardRow, ...]) -> None:
        """Show hazards."""
        table = self.query_one("#hazards", OptionList)
        kept = None if table.highlighted is None else self._name_at(table.highlighted)
        self._rows = rows
        with self.prevent(OptionList.OptionHighlighted):
            table.clear_options()
            table.add_options([Option(self._prompt(r), id=r.name) for r in rows])
            names = [r.name for r in rows]
            table.highlighted = names.index(kept) if kept in names else 0
        self._tell_why()

    def _prompt(self, row: HazardRow) -> Text:
        """One line where there is room for title and figure, else two."""
        text = Text(no_wrap=True)
        text.append(f"{row.mark:<2} ", style_of(row.level, self.app.theme))
        text.append(row.title, "bold" if row.level != "clear" else "")
        room = self.size.width - 4 - len(row.title) - len(row.figure) - 3
        text.append(" " * room if room > 1 else "\n   ")
        text.append(row.figure)
        return text

    def _name_at(self, index: int) -> str | None:
        return self._rows[index].name if index < len(self._rows) else None

    def _tell_why(self) -> None:
        table = self.query_one("#hazards", OptionList)
        words = self.query_one("#why", Static)
        if table.highlighted is None or table.highlighted >= len(self._rows):
            words.update("")
            return
        row = self._rows[table.highlighted]
        parts = [f"{row.mark} {row.level}: {row.title}.", f"{row.figure}."]
        if row.when:
            parts.append(f"When: {row.when}.")
        parts += [f"Where: {row.where}.", f"Why: {row.why}."]
        if row.level != "clear":
            parts.append(f"Clear it by: {row.remedy}.")
        words.update("\n".join(parts))

    @on(OptionList.OptionHighlighted)
    def _moved(self, event: OptionList.OptionHighlighted) -> None:
        self._tell_why()
        row = self._rows[event.option_index] if event.option_index < len(self._rows) else None
        if row is not None and row.row is not None and self.query_one("#hazards").has_focus:
            self.post_message(MomentMoved(row.row))

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        row = self._rows[event.option_index]
        if row.row is not None:
            self.post_message(MomentMoved(row.row))
        if row.inputs:
            self.post_message(InputChosen(row.inputs[0]))
