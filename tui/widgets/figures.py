"""Peaks and margins with the change against the last committed state; each opens its working."""

from __future__ import annotations

from rich.text import Text
from textual.widgets import OptionList
from textual.widgets.option_list import Option

from tui.present import FigureRow

LEAST_WORDS = 24
"""Columns beside the figures from which on changes and meanings stand there."""

BESIDE = 1
"""Columns that the list keeps free beside a line."""


class FiguresPane(OptionList):
    """Figures in rows: label, value, change, meaning."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id, markup=False)
        self._rows: tuple[FigureRow, ...] = ()
        self._prompts: list[tuple[str, Text]] = []

    @property
    def figure(self) -> FigureRow | None:
        """The figure under the cursor."""
        if self.highlighted is None or self.highlighted >= self.option_count:
            return None
        name = self.get_option_at_index(self.highlighted).id
        return next((row for row in self._rows if row.name == name), None)

    def tell(self, rows: tuple[FigureRow, ...]) -> None:
        """Show figures; only what differs from the last showing is redrawn."""
        self._rows = rows
        width = self.scrollable_content_region.width - BESIDE
        if width <= 0:
            return
        prompts = list(self._prompts_of(rows, width))
        before = self._prompts
        self._prompts = prompts
        alike = [(n, p.plain.count("\n")) for n, p in prompts] == [
            (n, p.plain.count("\n")) for n, p in before
        ]
        if alike:
            for place, (now, then) in enumerate(zip(prompts, before, strict=True)):
                if now[1] != then[1]:
                    self.replace_option_prompt_at_index(place, now[1])
            return
        kept = self.figure
        self.set_options(
            Option(prompt, id=name or None, disabled=not name) for name, prompt in prompts
        )
        names = [name for name, _ in prompts]
        self.highlighted = names.index(kept.name) if kept and kept.name in names else 1

    @staticmethod
    def _prompts_of(rows: tuple[FigureRow, ...], width: int) -> list[tuple[str, Text]]:
        """Return name and text of each line; headings have no name."""
        label = max((len(r.label) for r in rows), default=0) + 1
        value = max((len(r.value) for r in rows), default=0)
        roomy = width >= label + value + LEAST_WORDS
        out = []
        group = ""
        for row in rows:
            if row.group != group:
                group = row.group
                out.append(("", Text(group.upper(), "bold underline")))
            out.append((row.name, _line(row, label + value if roomy else width, width)))
        return out

    def on_resize(self) -> None:
        """Lay the lines out for the new width."""
        self.tell(self._rows)


def _line(row: FigureRow, end: int, width: int) -> Text:
    """Return a figure whose value ends at a column, with its change or meaning behind it.

    Where nothing has room behind it the change stands beside the value.
    """
    text = Text(no_wrap=True)
    roomy = end < width
    told = row.value if roomy or not row.change else f"{row.value}, {row.change}"
    if len(row.label) + 1 + len(told) > end:
        text.append(f"{row.label}\n")
        text.append(told.rjust(end), "bold")
        return text
    text.append(row.label + " " * max(end - len(row.label) - len(told), 1))
    text.append(told, "bold")
    beside = row.change or row.words
    if roomy and end + 2 + len(beside) <= width:
        text.append(f"  {beside}", "bold" if row.change else "")
    elif roomy and row.change:
        text.append(f"\n{row.change.rjust(width)}", "bold")
    return text
