"""Another day of the next pass: air and tank, asked for in a form."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from textual.app import App

from thermo.fields import Quantity
from thermo.units import System, parse
from tui.field_model import Field
from tui.fieldlist import Row
from tui.screens.tables import TableForm


@dataclass(frozen=True, slots=True)
class Day:
    """Air and tank of another day [K]; None as the scenario has it."""

    air: float | None = None
    tank: float | None = None

    @property
    def airs(self) -> tuple[float, ...]:
        """Air temperatures asked about."""
        return () if self.air is None else (self.air,)


ASKED = {
    "air": ("Air", "Of the day asked about, in the shade."),
    "tank": ("Tank at the start", "Its water before the pass; as the scenario has it when empty."),
}


def ask_day(
    app: App[int], system: System, done: Callable[[Day], object]
) -> None:
    """Ask for another day.

    Parameters
    ----------
    app : App
    system : {'si', 'us'}
    done : callable
        Is told the day.
    """
    rows = tuple(
        Row(name, "Day", "", "", "", False, Field(
            name, (name,), "quantity", label, words, "", "", "", (), False, quantity))
        for name, (label, words) in ASKED.items()
        for quantity in (Quantity("temperature", "-20 degC", "95 degC", help=words),)
    )

    def commit(values: dict[str, str]) -> str:
        day = Day(**{name: parse(text, "temperature") for name, text in values.items()})
        app.call_after_refresh(done, day)
        return ""

    app.push_screen(TableForm("The next pass on another day", rows, system, commit,
                              "Enter works it out"))
