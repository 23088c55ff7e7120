"""Our picture of the machine from the side, at one moment: nose at the left, tail at the right.

Water goes from the tank in the nose past the driver to the exchanger and back; engine coolant
goes round between exchanger and engine; engine air comes through the duct beneath. When room is
short decoration is dropped first: ground, canopy, nose and tail; then the car itself, and the
figures are listed. A figure or a hazard is never cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from thermo.hazards.burning import DRIVER_LINES
from thermo.results import RANK, EventResult
from thermo.scenario import Scenario
from thermo.units import System
from tui.callouts import GAP, laid_out, rows_needed, segment_of
from tui.canvas import Canvas, Line, Segment, width_of
from tui.sideframe import Frame, draw_body, draw_ground, frame_of
from tui.sidemoment import Moment, moment_of
from tui.sideparts import (
    draw_duct,
    draw_engine,
    draw_exchanger,
    draw_lines,
    draw_pipes,
    draw_tank,
    duct_titles,
)
from tui.tags import Tag, tags_at, worst_tags
from tui.words import (
    degrees,
    difference,
    gauge,
    mass,
    over_air,
    over_air_unit,
    percent,
    power,
    seconds,
    speed,
)

MOST_CALLOUTS = 4
MORE = " +{} more "


def header(m: Moment, result: EventResult, system: System, width: int) -> Line:
    """Return the moment in words: leg, time, speed, and what the duct gains at this speed.

    Parameters
    ----------
    m : Moment
    result : EventResult
    system : {'si', 'us'}
    width : int
        Columns; the leg's name gives way first, to its beginning.

    Returns
    -------
    Line
    """
    facts = [
        f"{seconds(m.time)} of {result.legs[-1][2]:.0f} s",
        speed(m.speed, system),
    ]
    net = ""
    if math.isfinite(m.net):
        net = f"duct now {over_air(m.net, system)} {over_air_unit(system)}"
    room = width - sum(len(f) + 3 for f in facts) - len(net) - 3
    name, place = m.leg, f" (leg {m.leg_number} of {len(result.legs)})"
    if len(name) + len(place) <= room:
        name += place
    elif len(name) > room:
        name = f"{name[: max(room - 3, 1)]}..."
    line: Line = [(f" {name}", "label")]
    for fact in facts:
        line += [("   ", "plain"), (fact, "figure")]
    space = width - width_of(line) - len(net) - 1
    if net and space > 0:
        line += [(" " * space, "plain"), (net, "air" if m.net >= 0.0 else "caution")]
    return line


def _scalding(m: Moment, scenario: Scenario) -> tuple[bool, bool]:
    """Say of return and supply line whether each, inside the cockpit, could scald now."""
    limit, loop = scenario.limits.scald, scenario.loop
    return (
        loop.return_.barrier in DRIVER_LINES and m.return_ > limit,
        loop.supply.barrier in DRIVER_LINES and m.supply > limit,
    )


def _draw_hazards(canvas: Canvas, frame: Frame, tags: Sequence[Tag], titles: Sequence[str]) -> None:
    """Write hazards beneath the header, those of the duct and what is left over at the floor.

    Of the duct's titles, the longest first, the first is taken that leaves room for what is
    left over; the last when none does.
    """
    inside = [t for t in tags if t.place != "duct"]
    pieces, left = laid_out(inside, frame.width - 2, frame.callouts)
    for row, column, line in pieces:
        canvas.put_all(1 + row, 1 + column, line)
    at_floor = sorted(
        [*(t for t in tags if t.place == "duct"), *left], key=lambda t: -RANK[t.level]
    )
    start, end = frame.left + 2, frame.right - 2
    needed = sum(len(t.text) + 2 + GAP for t in at_floor)
    room = end - start - 3
    title = next((t for t in titles if len(t) + needed <= room), titles[-1] if titles else "")
    if title:
        canvas.put(frame.floor, start, f" {title} ", "label")
        start += len(title) + 3
    unseen = 0
    for tag in at_floor:
        text, role = segment_of(tag)
        # What comes after the last one is nothing that would have to be counted.
        whole = tag is at_floor[-1] and not unseen
        if start + len(text) + 2 > end - (0 if whole else len(MORE.format(99))):
            unseen += 1
            continue
        canvas.put(frame.floor, start, f" {text} ", role)
        start += len(text) + 2 + GAP
    if unseen:
        canvas.put(frame.floor, start, MORE.format(unseen), "dim")


def side_view(
    result: EventResult,
    scenario: Scenario,
    row: int,
    width: int,
    height: int,
    *,
    system: System = "si",
    ascii_only: bool = False,
) -> list[Line]:
    """Draw the machine at one moment of the event.

    Parameters
    ----------
    result : EventResult
        The event, solved.
    scenario : Scenario
        What it was solved for.
    row : int
        Row of the history.
    width, height : int
        Columns and rows there are; the car is drawn from 73 columns and 8 rows on.
    system : {'si', 'us'}
        Units.
    ascii_only : bool
        Whether only ASCII may be used.

    Returns
    -------
    list of Line
        At most `height` lines of (text, role) segments, none wider than `width`.

    Raises
    ------
    IndexError
        If the history has no such row.
    """
    m = moment_of(result, scenario, row)
    tags = tags_at(result, scenario, row)
    wanted = rows_needed(worst_tags(result, scenario), width - 2, MOST_CALLOUTS)
    frame = frame_of(width, height, wanted)
    if frame is None:
        return _listed(m, result, tags, (width, height), system, ascii_only)
    canvas = Canvas(width, height)
    canvas.put_all(0, 0, header(m, result, system, width))
    draw_body(canvas, frame)
    draw_tank(canvas, frame, m, tags, system, ascii_only)
    draw_lines(canvas, frame, m, tags, _scalding(m, scenario), system, ascii_only)
    draw_exchanger(canvas, frame, m, tags, system)
    draw_pipes(canvas, frame, m, system, ascii_only)
    draw_engine(canvas, frame, m, tags, system, ascii_only)
    draw_duct(canvas, frame, result, system)
    _draw_hazards(canvas, frame, tags, duct_titles(result, system))
    draw_ground(canvas, frame, m.speed > 0.0)
    return canvas.lines(ascii_only)


def _listed(
    m: Moment,
    result: EventResult,
    tags: Sequence[Tag],
    room: tuple[int, int],
    system: System,
    ascii_only: bool,
) -> list[Line]:
    """Return hazards and figures as a list, as much of it as there is room for, whole."""
    width, height = room
    pieces: list[Segment] = [segment_of(t) for t in tags if t.active and t.level == "danger"]
    pieces += [
        (f"{seconds(m.time)}, {speed(m.speed, system)}", "label"),
        (f"boil margin {difference(m.margin, system, ascii_only)}", "figure"),
        (f"coolant {degrees(m.coolant_out, system, ascii_only)}", "figure"),
        (f"tank {degrees(m.tank, system, ascii_only)}", "figure"),
        (f"tank {gauge(m.pressure, system)}", "figure"),
        (f"return {degrees(m.return_, system, ascii_only)}", "figure"),
        (f"supply {degrees(m.supply, system, ascii_only)}", "figure"),
        (f"exchanger {power(m.heat, system)}, effective {percent(m.effectiveness)}", "figure"),
    ]
    if m.iced:
        pieces.append((f"ice {mass(m.ice, system)}", "cold"))
    if result.intake is not None:
        net = result.intake.net_Pa
        pieces.append((f"duct net {over_air(net, system)} {over_air_unit(system)}", "air"))
    pieces += [segment_of(t) for t in tags if not (t.active and t.level == "danger")]
    lines: list[Line] = [[]]
    for piece in pieces:
        if len(piece[0]) > width:
            continue
        if lines[-1] and width_of(lines[-1]) + GAP + len(piece[0]) > width:
            lines.append([])
        if lines[-1]:
            lines[-1].append((" " * GAP, "plain"))
        lines[-1].append(piece)
    return lines[:height]
