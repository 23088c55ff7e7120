"""The list of inputs: filter, help line, and the editor of one value."""

from __future__ import annotations

import re

from rich.text import Text
from textual import events, on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.geometry import Size
from textual.message import Message
from textual.reactive import Reactive
from textual.widgets import Input, OptionList
from textual.widgets.option_list import Option

from thermo.errors import UnitError
from thermo.quantity_text import QuantityTextError
from thermo.units import System, unit_of
from tui.fieldlist import Row, allowed, matching, shown
from tui.messages import EditMade
from tui.widgets.words import Words

TYPED = ("quantity", "text", "list")
"""Kinds that are typed; the others are chosen in a dialog."""

NUMBER = re.compile(r"[-+]?[0-9.,/ ]*[0-9]")
LEAST_LABEL = 12
BESIDE = 2
"""Columns of scroll bar and padding beside a line of the list."""


class Editor(Input):
    """The box of one value; its place is fixed, so that no key costs a layout of the screen."""

    virtual_size = Reactive(Size(0, 0), layout=False)


class InputsPane(Vertical):
    """Every input in a list; Enter opens the editor, which commits on Enter or when it is left."""

    DEFAULT_CSS = """
    InputsPane > OptionList { height: 1fr; }
    InputsPane > #filter { display: none; border: none; height: 1; padding: 0 1; }
    InputsPane.filtering > #filter { display: block; }
    InputsPane > #editor { border: none; height: 1; padding: 0 1; }
    InputsPane > #help { min-height: 5; padding: 0 1; }
    """

    class Asked(Message):
        """A row was chosen that is not typed but chosen or filled in.

        Parameters
        ----------
        row : Row
        """

        def __init__(self, row: Row) -> None:
            self.row = row
            super().__init__()

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id)
        self._rows: tuple[Row, ...] = ()
        self._shown: tuple[Row, ...] = ()
        self._changed: frozenset[str] = frozenset()
        self._system: System = "si"
        self._words = ""
        self._prompts: dict[str, str] = {}
        self._edited: Row | None = None

    def compose(self) -> ComposeResult:
        """Lay out filter, list, editor and help."""
        yield Input(placeholder="filter the inputs by words", id="filter", compact=True)
        yield OptionList(id="rows", markup=False)
        editor = Editor(id="editor", compact=True, select_on_focus=False)
        editor.can_focus = False
        yield editor
        yield Words(id="help")

    # -- showing ------------------------------------------------------------------------------

    def tell(self, rows: tuple[Row, ...], changed: tuple[str, ...], system: System) -> None:
        """Show rows; only what differs from the last showing is redrawn."""
        same = [(r.key, r.section) for r in rows] == [(r.key, r.section) for r in self._rows]
        self._rows, self._changed, self._system = rows, frozenset(changed), system
        if same and not self._words:
            self._repaint()
        else:
            self._rebuild()

    @property
    def chosen(self) -> Row | None:
        """The row under the cursor."""
        table = self.query_one("#rows", OptionList)
        if table.highlighted is None or table.highlighted >= table.option_count:
            return None
        key = table.get_option_at_index(table.highlighted).id
        return next((r for r in self._shown if r.key == key), None)

    @property
    def editing(self) -> bool:
        """Whether a value is being typed."""
        return self._edited is not None

    @property
    def typed(self) -> EditMade | None:
        """What is being typed, as an edit; None when nothing is."""
        if self._edited is None:
            return None
        text = self.query_one("#editor", Input).value
        return EditMade(self._edited.key, with_unit(self._edited, text))

    def go_to(self, key: str) -> bool:
        """Put the cursor on an input, or on the table that would hold it; say whether it is there.

        Parameters
        ----------
        key : str
            Dotted key.

        Returns
        -------
        bool
        """
        if self._words or self.has_class("filtering"):
            self.close_filter()
        near = [r.key for r in self._shown if r.key == key]
        near += [r.key for r in self._shown if r.key.startswith(key)]
        near += [r.key for r in self._shown if r.kind == "table" and key.startswith(f"{r.key}.")]
        table = self.query_one("#rows", OptionList)
        if near:
            table.highlighted = table.get_option_index(near[0])
            table.focus()
        return bool(near)

    def _line(self, row: Row, width: int) -> str:
        mark = "*" if row.key in self._changed else " "
        if row.kind == "table":
            value = "Enter adds it"
        elif not row.text:
            value = "-"
        else:
            value = shown(row, self._system)
            if not row.given:
                value = f"{value} (default)"
        most = max(width // 2, width - LEAST_LABEL - 24)
        if row.kind in ("text", "list") and len(value) > most:
            value = value[: most - 1] + "~"
        room = max(width - len(value) - 2, LEAST_LABEL)
        label = row.label if len(row.label) <= room else row.label[: room - 1] + "~"
        return f"{mark}{label:<{room}} {value}"

    def _width(self) -> int:
        return max(self.size.width - BESIDE, 30)

    def _rebuild(self) -> None:
        table = self.query_one("#rows", OptionList)
        kept, place = self.chosen, table.highlighted
        self._shown = matching(self._rows, self._words) if self._words else self._rows
        width = self._width()
        options: list[Option] = []
        heading = ""
        self._prompts = {}
        for row in self._shown:
            title = row.group if not row.section else f"{row.group}: {row.section}"
            if title != heading:
                heading = title
                options.append(Option(Text(title.upper(), "bold underline"), disabled=True))
            self._prompts[row.key] = self._line(row, width)
            options.append(Option(self._prompts[row.key], id=row.key))
        table.set_options(options)
        if kept is not None and kept.key in self._prompts:
            table.highlighted = table.get_option_index(kept.key)
        elif self._shown:
            near = 1 if place is None or self._words else min(place, len(options) - 1)
            table.highlighted = near if not options[near].disabled else near + 1
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
            self.call_after_refresh(self._keep_in_sight)

    def _keep_in_sight(self) -> None:
        """Scroll to the cursor; at the first input its heading shows too."""
        table = self.query_one("#rows", OptionList)
        if table.highlighted is not None and table.highlighted <= 1:
            table.scroll_home(animate=False)
        else:
            table.scroll_to_highlight()

    def _tell_help(self) -> None:
        """Say of the row under the cursor what its key is, what it takes and where from."""
        row = self.chosen
        named, parts = "", []
        if row is None:
            parts = ["no input matches"] if self._words else []
        else:
            named = row.key
            limits = allowed(row, self._system)
            if row.kind == "table":
                parts = [row.help, "Enter adds it."]
            else:
                parts = [f"{limits[0].upper()}{limits[1:]}." if limits else "", row.help]
                parts.append(f"Basis: {row.basis}." if row.basis else "")
                parts.append(f"Now: {row.text}" if row.kind == "list" and row.text else "")
        self.query_one("#editor", Input).placeholder = named
        self.query_one("#help", Words).tell(" ".join(part for part in parts if part))

    # -- filter -------------------------------------------------------------------------------

    def open_filter(self) -> None:
        """Open the filter box."""
        self.add_class("filtering")
        self.query_one("#filter", Input).focus()

    def close_filter(self) -> None:
        """Close the filter and show every input."""
        self._words = ""
        self.remove_class("filtering")
        with self.prevent(Input.Changed):
            self.query_one("#filter", Input).value = ""
        self._rebuild()

    @on(Input.Changed, "#filter")
    def _filtered(self, event: Input.Changed) -> None:
        self._words = event.value.strip()
        self._rebuild()

    @on(Input.Submitted, "#filter")
    def _filter_done(self) -> None:
        if not self._words:
            self.close_filter()
        self.query_one("#rows", OptionList).focus()

    # -- editor -------------------------------------------------------------------------------

    def _open_editor(self, row: Row) -> None:
        editor = self.query_one("#editor", Input)
        self._edited = row
        editor.can_focus = True
        with self.prevent(Input.Changed):
            editor.value = row.text
        editor.focus()
        editor.select_all()  # typing replaces it, an arrow key goes into it
        self._tell_editing(row.text)

    def close_editor(self, *, stay: bool = True) -> None:
        """Close the editor without committing; `stay` puts the cursor back on the list."""
        if self._edited is not None:
            self._edited = None
            if stay:
                self.query_one("#rows", OptionList).focus()
            editor = self.query_one("#editor", Input)
            editor.can_focus = False
            with self.prevent(Input.Changed):
                editor.value = ""
            self._tell_help()

    def refuse(self, words: str) -> None:
        """Say why an edit was not taken; the text stays for mending."""
        self.query_one("#help", Words).tell(Text(f"XX not taken: {words}", "bold"))

    def _tell_editing(self, text: str) -> None:
        """Say what Enter would take, or why it would not."""
        row = self._edited
        if row is None:
            return
        taken = with_unit(row, text)
        problem = problem_of(row, taken)
        words = Text()
        if problem:
            words.append(f"!  {problem}", "bold")
        else:
            limits = allowed(row, self._system)
            what = "goes back to the default" if not taken else f"takes {taken}"
            words.append(f"Enter {what}, Escape keeps {row.text or 'it empty'}. ")
            words.append(f"{limits[0].upper()}{limits[1:]}. {row.help}" if limits else row.help)
        self.query_one("#help", Words).tell(words)

    @on(OptionList.OptionHighlighted, "#rows")
    def _highlighted(self) -> None:
        if self._edited is None:
            self._tell_help()

    @on(OptionList.OptionSelected, "#rows")
    def _selected(self) -> None:
        row = self.chosen
        if row is None:
            return
        if row.kind in TYPED:
            self._open_editor(row)
        else:
            self.post_message(self.Asked(row))

    @on(Input.Changed, "#editor")
    def _typed(self, event: Input.Changed) -> None:
        if self._edited is not None:
            self._tell_editing(event.value)

    @on(Input.Submitted, "#editor")
    def _committed(self) -> None:
        if self.typed is not None:
            self.post_message(self.typed)

    def on_descendant_blur(self, event: events.DescendantBlur) -> None:
        """Commit what was typed when the editor is left, but not when the window is."""
        row = self._edited
        if row is None or event.widget.id != "editor" or not self.app.app_focus:
            return
        text = with_unit(row, self.query_one("#editor", Input).value)
        self.close_editor(stay=False)
        if text != row.text:
            self.post_message(EditMade(row.key, text, leaving=True))


def with_unit(row: Row, text: str) -> str:
    """Return a text as it is taken: a number alone keeps the unit that stood there.

    Parameters
    ----------
    row : Row
        With the text before the edit.
    text : str
        As typed.

    Returns
    -------
    str
        Without spaces around it.
    """
    text = text.strip()
    quantity = row.field.quantity
    if not NUMBER.fullmatch(text) or quantity is None or not row.text:
        return text
    unit = unit_of(row.text, quantity.kind)
    return f"{text} {unit}" if unit and problem_of(row, text) else text


def problem_of(row: Row, text: str) -> str:
    """Return why a text would not be taken for its row by itself; empty when it would.

    Parameters
    ----------
    row : Row
    text : str
        As typed; nothing but spaces goes back to the default.

    Returns
    -------
    str
    """
    if not text.strip():
        return "this input is needed" if row.required else ""
    if row.kind in ("choice", "yes-no"):
        options = row.options or ("yes", "no")
        return "" if text.strip() in options else f"one of {', '.join(options)}"
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
