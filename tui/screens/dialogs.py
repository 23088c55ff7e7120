"""Small dialogs: ask for a path, choose from a list, confirm, read a page."""

from __future__ import annotations

from typing import ClassVar

from rich.text import Text
from textual import on
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import Vertical, VerticalScroll
from textual.events import Key
from textual.message import Message
from textual.screen import ModalScreen, Screen
from textual.widgets import Input, OptionList, Static
from textual.widgets.option_list import Option

from tui.completion import completions, is_folder


class AskPath(ModalScreen[str | None]):
    """Ask for a file name; files to choose from stand beneath."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave")]
    PLACEHOLDER = "path of a .toml file"
    OFFER = "Recent and shipped"

    def __init__(self, title: str, start: str = "", offered: tuple[str, ...] = ()) -> None:
        super().__init__()
        self._title, self._start, self._offered = title, start, offered

    def compose(self) -> ComposeResult:
        """Lay out question, box and files."""
        with Vertical(classes="dialog"):
            yield Static(self._title, markup=False)
            yield Input(
                self._start,
                placeholder=self.PLACEHOLDER,
                id="path",
                compact=True,
                select_on_focus=False,
            )
            if self._offered:
                yield Static(self._offer(self.OFFER), id="offer-words", markup=False)
                yield OptionList(*self._offered, id="offered", markup=False)
            yield Static("Enter takes it, Escape leaves.", markup=False)

    @staticmethod
    def _offer(words: str) -> str:
        return f"{words} (Tab goes there, Enter takes one):"

    def on_mount(self) -> None:
        """Start in the box; typing replaces what stands there, an arrow key goes into it."""
        box = self.query_one("#path", Input)
        box.focus()
        box.select_all()

    @on(Input.Submitted)
    def _typed(self, event: Input.Submitted) -> None:
        if event.value.strip():
            self.take(event.value.strip())

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.take(self._offered[event.option_index])

    def take(self, text: str) -> None:
        """Answer with a text."""
        self.dismiss(text)

    def action_leave(self) -> None:
        """Leave without an answer."""
        self.dismiss(None)


class AskFile(AskPath):
    """Ask for a file to read; what is typed lists what it may go on to, folder by folder.

    Parameters
    ----------
    title : str
    start : str
        Stands in the box.
    offered : tuple of str
        Files to choose from until something is typed.
    endings : tuple of str
        Endings of files that are listed, in small letters with their dot.
    offer : str
        What the offered files are.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("down", "list", show=False)]
    PLACEHOLDER = "path of a file; a folder's name and / list what is in it"
    MOST = 14

    def __init__(
        self,
        title: str,
        start: str,
        offered: tuple[str, ...],
        endings: tuple[str, ...] = (".toml",),
        offer: str = AskPath.OFFER,
    ) -> None:
        # The list must be there from the start, also when there is nothing in it.
        super().__init__(title, start, offered or ("",))
        self._found, self._endings, self._first = offered, endings, start
        self._near = offer

    def on_mount(self) -> None:
        """Show the files that are offered."""
        self._list_near()

    def _list_near(self) -> None:
        self._list(self._found, self._near, "No file is at hand: type where it is.")

    def _list(self, paths: tuple[str, ...], words: str, none: str) -> None:
        self.query_one("#offer-words", Static).update(self._offer(words) if paths else none)
        table = self.query_one("#offered", OptionList)
        self._offered = paths
        table.clear_options()
        table.add_options(Option(path) for path in paths)

    @on(Input.Changed)
    def _typing(self, event: Input.Changed) -> None:
        text = event.value.strip()
        if text in ("", self._first):
            self._list_near()
        else:
            found = completions(text, self._endings, self.MOST)
            self._list(found, "Goes on to", "There is no such file or folder.")

    def take(self, text: str) -> None:
        """Take a file; go into a folder."""
        box = self.query_one("#path", Input)
        if not is_folder(text):
            self.dismiss(text)
        else:
            box.value = text if text.endswith("/") else f"{text}/"
            box.cursor_position = len(box.value)
            box.focus()

    def action_list(self) -> None:
        """Go from the box into the list."""
        table = self.query_one("#offered", OptionList)
        if self._offered:
            table.highlighted = table.highlighted or 0
            table.focus()


class AskText(AskPath):
    """Ask for a line of text; texts to choose from stand beneath."""

    PLACEHOLDER = ""
    OFFER = "All there are"


class Choose(ModalScreen[str | None]):
    """Choose one of several; each has an identity and words."""

    BINDINGS: ClassVar[list[BindingType]] = [Binding("escape", "leave", "Leave")]

    def __init__(self, title: str, options: tuple[tuple[str, str], ...], now: str = "") -> None:
        super().__init__()
        self._title, self._choices, self._now = title, options, now

    def compose(self) -> ComposeResult:
        """Lay out question and choices."""
        with Vertical(classes="dialog"):
            yield Static(self._title, markup=False)
            yield OptionList(
                *(Option(words, id=name) for name, words in self._choices),
                id="choices",
                markup=False,
            )
            yield Static("Enter takes it, Escape leaves.", markup=False)

    def on_mount(self) -> None:
        """Start on what holds now."""
        table = self.query_one("#choices", OptionList)
        names = [name for name, _ in self._choices]
        table.highlighted = names.index(self._now) if self._now in names else 0
        table.focus()

    def on_key(self, event: Key) -> None:
        """Go to the next choice that begins with what was typed; the last is before the first."""
        letter = (event.character or "").casefold()
        if not letter.isalnum():
            return
        table = self.query_one("#choices", OptionList)
        now, count = table.highlighted or 0, len(self._choices)
        for step in range(1, count + 1):
            place = (now + step) % count
            if self._choices[place][1].casefold().startswith(letter):
                table.highlighted = place
                event.stop()
                event.prevent_default()
                return

    @on(OptionList.OptionSelected)
    def _chosen(self, event: OptionList.OptionSelected) -> None:
        self.dismiss(self._choices[event.option_index][0])

    def action_leave(self) -> None:
        """Leave without an answer."""
        self.dismiss(None)


class Paper(VerticalScroll, can_focus=False):
    """The scrolled part of a page; tells where it is."""

    class Moved(Message):
        """Another part of the text is in sight."""

    def watch_scroll_y(self, old: float, new: float) -> None:
        """Tell that the text has moved."""
        super().watch_scroll_y(old, new)
        self.post_message(self.Moved())

    def on_resize(self) -> None:
        """Tell that more or less of the text is in sight."""
        self.post_message(self.Moved())


class Body(Static):
    """The text of a page; tells when it has become longer or shorter."""

    def on_resize(self) -> None:
        """Tell that more or less of the text is left."""
        self.post_message(Paper.Moved())


class Page(Screen[None]):
    """A page of text to read and scroll, under the verdict.

    Parameters
    ----------
    text : str
    head : Text or str
        Stands over the page whatever is scrolled, such as the verdict.
    keys : str
        What keys do, at the foot.
    """

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("escape,q", "leave", "Back"),
        Binding("down,j", "move(1)", "Down", show=False),
        Binding("up", "move(-1)", "Up", show=False),
        Binding("pagedown,space", "move(15)", "Page down", show=False),
        Binding("pageup", "move(-15)", "Page up", show=False),
        Binding("home", "move(-100000)", "Top", show=False),
        Binding("end", "move(100000)", "End", show=False),
    ]

    def __init__(
        self, text: str, head: Text | str = "", keys: str = "Escape goes back, arrows scroll"
    ) -> None:
        super().__init__()
        self._text, self._head, self._keys = text, head, keys

    def compose(self) -> ComposeResult:
        """Lay out head, text and key line."""
        if self._head:
            yield Static(self._head, id="head", classes="head", markup=False)
        with Paper(classes="paper", id="paper"):
            yield Body(self._text, id="page", markup=False)
        yield Static(self._keys, id="page-keys", classes="keys", markup=False)

    @on(Paper.Moved)
    def _tell_place(self) -> None:
        paper = self.query_one("#paper", Paper)
        left = round(paper.max_scroll_y - paper.scroll_y) if paper.display else 0
        more = f"   {left} more below" if left > 0 else ""
        self.query_one("#page-keys", Static).update(f"{self._keys}{more}")

    def tell(self, text: str) -> None:
        """Put another text on the page."""
        self._text = text
        if self.is_mounted:
            self.query_one("#page", Body).update(text)

    def action_move(self, lines: int) -> None:
        """Scroll by some lines."""
        self.query_one("#paper").scroll_relative(y=lines, animate=False)

    def action_leave(self) -> None:
        """Go back."""
        self.dismiss(None)
