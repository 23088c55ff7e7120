"""Text that is as high as it needs be, and lays the screen out anew only when that changes."""

from __future__ import annotations

from rich.text import Text
from textual.content import Content
from textual.widget import Widget


class Words(Widget):
    """Wrapped text. The least height is that of the style sheet.

    A text of the same height costs a repaint, not a layout of the whole screen.

    Parameters
    ----------
    keeps : bool
        Whether the height only grows while the width stays: for text that scrolls, where a few
        empty lines at the end do not show but a layout does.
    """

    ALLOW_SELECT = True

    def __init__(
        self,
        *,
        id: str | None = None,  # noqa: A002
        classes: str | None = None,
        keeps: bool = False,
    ) -> None:
        super().__init__(id=id, classes=classes)
        self._keeps = keeps
        self._width = 0
        self._told = Text()
        self._content = Content("")

    @property
    def text(self) -> str:
        """What is shown, without styles."""
        return self._told.plain

    def tell(self, text: Text | str) -> None:
        """Show a text, unless it is the one there."""
        told = Text(text) if isinstance(text, str) else text
        if told != self._told:
            self._told = told
            self._content = Content.from_rich_text(told.copy())
            self._fit()
            self.refresh()

    def render(self) -> Content:
        """Return the text."""
        return self._content

    def on_resize(self) -> None:
        """Fit the height to the new width."""
        self._fit()

    def _fit(self) -> None:
        width = self.content_size.width
        if width <= 0:
            return
        lines = self._content.get_height({}, width) if self._told.plain else 0
        lines += self.gutter.height if lines else 0
        least, now = self.styles.min_height, self.styles.height
        if least is not None and least.cells is not None:
            lines = max(lines, least.cells)
        if now is not None and now.cells is not None and self._keeps and width == self._width:
            lines = max(lines, now.cells)
        self._width = width
        if now is None or now.cells != lines:
            self.styles.height = lines
