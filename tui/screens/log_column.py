"""What a column of a log is: asked for by channel, then by unit."""

from __future__ import annotations

from collections.abc import Callable

from textual.app import App

from thermo.log_columns import CHANNELS, measure
from thermo.quantity_text import QuantityTextError, printable
from tui.logsetup import ColumnRow, LogSetup
from tui.screens.dialogs import AskText, Choose
from tui.text_log import UNITS


class AskUnit(AskText):
    """Ask for the unit of a column."""

    OFFER = "Usual ones"


def ask_column(
    app: App[int], setup: LogSetup, row: ColumnRow, done: Callable[[], object]
) -> None:
    """Ask what a column is, and take it for that.

    Parameters
    ----------
    app : App
    setup : LogSetup
        Is told the answer.
    row : ColumnRow
    done : callable
        Called once something has been answered.
    """
    header = printable(row.header, 60)
    first = printable(row.sample, 20)

    def channel_chosen(channel: str | None) -> None:
        if channel is None:
            return
        if channel == "none":
            setup.assign(row.place, "")
            done()
        else:
            ask_unit(channel, "")

    def ask_unit(channel: str, refused: str) -> None:
        kind = CHANNELS[channel].kind
        stated = setup.unit_of(row.place)
        start = row.unit if row.channel == channel and row.unit else stated
        words = f'Unit of "{header}" as {channel}; the first reading is {first}'

        def unit_chosen(unit: str | None) -> None:
            if unit is None:
                return
            try:
                measure(unit, channel)
            except QuantityTextError as error:
                ask_unit(channel, f"XX {unit}: {error.allowed}\n")
                return
            setup.assign(row.place, channel, unit)
            done()

        start = start or CHANNELS[channel].unit or UNITS[kind][0]
        app.push_screen(AskUnit(refused + words, start, UNITS[kind]), unit_chosen)

    choices = (*((name, f"{name}: {about.means}") for name, about in CHANNELS.items()),
               ("none", "not used"))
    app.push_screen(
        Choose(f'What is the column "{header}"?', choices, row.channel or "none"), channel_chosen
    )
