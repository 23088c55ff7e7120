"""The legs of an event along the time axis, with the moment on it."""

from __future__ import annotations

from thermo.results import EventResult
from thermo.units import System
from tui.sidemoment import named
from tui.words import seconds, speed


def timeline(
    result: EventResult, row: int, width: int, system: System = "si", *, ascii_only: bool = False
) -> tuple[str, str]:
    """Return the legs along the time axis, and beneath them the moment.

    Parameters
    ----------
    result : EventResult
    row : int
        Row of the history.
    width : int
        Columns; time runs evenly over them from the start to the end of the event.
    system : {'si', 'us'}
    ascii_only : bool

    Returns
    -------
    tuple of (str, str)
        Two lines of the width. A leg's name stands where there is room for it.
    """
    corner, bar, point = ("|", "-", "^") if ascii_only else ("│", "─", "▲")
    end = float(result.legs[-1][2]) or 1.0
    axis = [bar] * width

    def column(time: float) -> int:
        return min(max(round(time / end * (width - 1)), 0), width - 1)

    starts = [column(start) for _, start, _ in result.legs] + [width]
    for (label, _, _), at, until in zip(result.legs, starts, starts[1:], strict=False):
        axis[at] = corner
        text = f" {named(label)} "
        if ascii_only:
            text = text.encode("ascii", "replace").decode("ascii")
        if len(text) + 1 <= until - at:
            axis[at + 1 : at + 1 + len(text)] = text
    h = result.history
    time, leg = float(h.time[row]), named(result.legs[int(h.leg[row])][0])
    if ascii_only:
        leg = leg.encode("ascii", "replace").decode("ascii")
    at = column(time)
    told = f"{seconds(time)}  {leg}  {speed(float(h.speed[row]), system)}"
    if len(told) + 2 > width:
        told = seconds(time)
    after = at + 2 + len(told) <= width
    beneath = f"{' ' * at}{point} {told}" if after else f"{told} {point}".rjust(at + 1)
    return "".join(axis), beneath.ljust(width)[:width]
