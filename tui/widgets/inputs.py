"""The list of inputs: filter, help line, and the editor of one value."""

from __future__ import annotations

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from thermo.errors import UnitError
from thermo.quantity_text import QuantityTextError
from thermo.units import System
from tui.fieldlist import Row, allowed, matching, shown
from tui.messages import EditMade


class InputsPane(Vertical):
    """Every input in a list; Enter opens the editor, which commits on Enter."""

    DEFAULT_CSS = """
    InputsPane > OptionList { height: 1fr; border: none; padding: 0; }
    InputsPane > #filter { display: none; border: none; height: 1; padding: 0 1; }
    InputsPane.filtering > #filter { display: block; }
    InputsPane > #editor { display: none; border: none; height: 1; padding: 0 1; }
    InputsPane.editing > #editor { display: block; }
    InputsPane > #help { height: 4; padding: 0 1; }
    """

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: tuple[Row, ...] = ()
        self._shown: tuple[Row, ...] = ()
        self._changed: frozenset[str] = frozenset()
        self._system: System = "si"
        self._words = ""
        self._prompts: dict[str, str] = {}

    def compose(self) -> ComposeResult:
        """Lay out filter, list, editor and help."""
        yield Input(placeholder="filter the inputs", id="filter", compact=True)
        yield OptionList(id="rows", markup=False)
        yield Input(id="editor", compact=True)
        yield Static("", id="help", markup=False)

    def tell(self, rows: tuple[Row, ...], changed: tuple[str, ...], system: System) -> None:
        """Show rows; only what differs from the last showing is redrawn."""
        same_keys = tuple(r.key for r in rows) == tuple(r.key for r in self._rows)
        self._rows, self._changed, self._system = rows, frozenset(changed), system
        if same_keys and not self._words:
            self._repaint()
        else:
            self._rebuild()

    @property
    def chosen(self) -> Row | None:
        """The row under the cursor."""
        table = self.query_one("#rows", OptionList)
        if table.highlighted is None or not table.options:
            return None
        key = table.get_option_at_index(table.highlighted).id
        return next((r for r in self._shown if r.key == key), None)

    def go_to(self, key: str) -> bool:
        """Put the cursor on an input; say whether it is there."""
        if self._words:
            self._words = ""
            self.remove_class("filtering")
            self._rebuild()
        table = self.query_one("#rows", OptionList)
        if not any(r.key == key for r in self._shown):
            near = next((r.key for r in self._shown if r.key.startswith(key)), None)
            if near is None:
                return False
            key = near
        table.highlighted = table.get_option_index(key)
        table.focus()
        return True

    def open_filter(self) -> None:
        """Open the filter box."""
        self.add_class("filtering")
        self.query_one("#filter", Input).focus()

    def open_editor(self) -> None:
        """Open the editor on the chosen row."""
        row = self.chosen
        if row is None or row.kind == "table":
            return
        editor = self.query_one("#editor", Input)
        self.add_class("editing")
        editor.value = row.text
        editor.focus()
        editor.action_end()

    def close_editor(self) -> None:
        """Close the editor without committing."""
        if self.has_class("editing"):
            self.remove_class("editing")
            self.query_one("#rows", OptionList).focus()
            self._tell_help()

    def refuse(self, words: str) -> None:
        """Say why an edit was not taken; the text stays for mending."""
        self.query_one("#help", Static).update(f"XX not taken: {words}")

    def _line(self, row: Row, width: int) -> str:
        mark = "*" if row.key in self._changed else " "
        value = shown(row, self._system) if row.text else "-"
        value = value if row.given or not row.text else f"{value} (default)"
        if row.kind in ("text", "list") and len(value) > width - 24:
            value = value[: max(width - 25, 8)] + "~"
        room = max(width - len(value) - 3, 12)
        label = row.label if len(row.label) <= room else row.label[: room - 1] + "~"
        return f"{mark}{label:<{room}} {value}"

    def _width(self) -> int:
        return max(self.query_one("#rows", OptionList).size.width - 1, 30)

    def _rebuild(self) -> None:
        table = self.query_one("#rows", OptionList)
        kept = self.chosen
        self._shown = matching(self._rows, self._words) if self._words else self._rows
        width = self._width()
        options: list[Option] = []
        heading = ""
        self._prompts = {}
        for row in self._shown:
            title = row.group if not row.section else f"{row.group}: {row.section}"
            if title != heading:
                heading = title
                options.append(Option(Text(f"-- {title} ", "bold"), disabled=True))
            self._prompts[row.key] = self._line(row, width)
            options.append(Option(self._prompts[row.key], id=row.key))
        table.clear_options()
        table.add_options(options)
        if kept is not None and kept.key in self._prompts:
            table.highlighted = table.get_option_index(kept.key)
        elif self._shown:
            table.highlighted = 1
        self._tell_help()

    def _repaint(self) -> None:
        table = self.query_one("#rows", OptionList)
        self._shown = self._rows
        width = self._width()
        for row in self._shown:
            line = self._line(row, width)
            if self._prompts.get(row.key) != line:
                self._prompts[row.key] = line
                table.replace_option_prompt(row.key, line)
        self._tell_help()

    def on_resize(self) -> None:
        """Lay the lines out for the new width."""
        if self._rows:
            self._repaint() if not self._words else self._rebuild()

    def _tell_help(self) -> None:
        row = self.chosen
        if row is None:
            text = "no input matches" if self._words else ""
        else:
            said = [f"{row.key}: {row.help}".strip().rstrip(":")]
            limits = allowed(row, self._system)
            if limits:
                said.append(f"Allowed: {limits}.")
            if row.basis:
                said.append(f"Basis: {row.basis}.")
            text = " ".join(said)
        self.query_one("#help", Static).update(text)

    @on(OptionList.OptionHighlighted, "#rows")
    def _highlighted(self) -> None:
        if not self.has_class("editing"):
            self._tell_help()

    @on(OptionList.OptionSelected, "#rows")
    def _selected(self) -> None:
        self.open_editor()

    @on(Input.Changed, "#filter")
    def _filtered(self, event: Input.Changed) -> None:
        self._words = event.value.strip()
        self._rebuild()

    @on(Input.Submitted, "#filter")
    def _filter_done(self) -> None:
        if not self._words:
            self.remove_class("filtering")
        self.query_one("#rows", OptionList).focus()

    @on(Input.Changed, "#editor")
    def _typed(self, event: Input.Changed) -> None:
        row = self.chosen
        if row is None or not self.has_class("editing"):
            return
        problem = self._problem(row, event.value)
        help_line = self.query_one("#help", Static)
        if problem:
            help_line.update(f"!  {problem}")
        else:
            help_line.update(
                f"{row.key}: Enter takes it, Escape leaves it as it was. {row.help}".strip()
            )

    def _problem(self, row: Row, text: str) -> str:
        """Why a text would not be taken for its row by itself; empty when it would."""
        if not text.strip():
            return "" if not row.required else "this input is needed"
        if row.kind == "choice" and text.strip() not in row.options:
            return f"one of {', '.join(row.options)}"
        quantity = row.field.quantity
        if row.kind != "quantity" or quantity is None:
            return ""
        try:
            quantity.parse(text)
        except QuantityTextError as error:
            return f"given {error.given}; {error.allowed}"
        except UnitError as error:
            return str(error)
        return ""

    @on(Input.Submitted, "#editor")
    def _committed(self, event: Input.Submitted) -> None:
        row = self.chosen
        if row is not None:
            self.post_message(EditMade(row.key, event.value.strip()))
