"""The parts of the side view: tank, lines and driver, exchanger, engine, duct."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from thermo.intake_parts import SHARED
from thermo.results import EventResult, IntakeFigures
from thermo.units import System
from tui.canvas import Canvas, Line, Segment, width_of
from tui.sideframe import Frame
from tui.sidemoment import Moment, named
from tui.tags import AT_BOILING, Tag
from tui.words import (
    MARKS,
    degrees,
    difference,
    flow,
    gauge,
    mass,
    over_air,
    over_air_unit,
    percent,
    power,
    speed,
)

LEVELS = " ▁▂▃▄▅▆▇█"
NO_LOSS = 0.5
"""Loss below which a station is left out of the picture [Pa]."""

LITTLE_LOSS = 0.02
"""Share of the gain below which the loss of a station gives way to the names of the others."""

DRIVER_LOW = "▁▂▄▆●▌"
DRIVER_HIGH = ("     ●▌", "▁▂▃▅▇█▌")
"""The driver, feet to the nose: in one row and in two."""


def fitting(width: int, *candidates: str) -> str:
    """Return the first text that fits, the last when none does."""
    return next((c for c in candidates if len(c) <= width), candidates[-1])


def active(tags: Sequence[Tag], *names: str) -> Tag | None:
    """Return the first of the named hazards that is so now."""
    return next((t for t in tags if t.active and t.name in names), None)


def marked(text: str, tag: Tag | None, width: int) -> str:
    """Return text with the mark of a hazard before it, where there is room."""
    return text if tag is None else fitting(width, f"{MARKS[tag.level]} {text}", text)


def role_of(tag: Tag | None, usual: str) -> str:
    """Return the role of a figure under a hazard."""
    if tag is None:
        return usual
    return "danger" if tag.level == "danger" else "caution"


def draw_tank(
    canvas: Canvas, frame: Frame, m: Moment, tags: Sequence[Tag], system: System, ascii_only: bool
) -> None:
    """Draw the tank: level, temperature, headspace and its pressure, ice left."""
    start, width = frame.tank
    share = min(max(1.0 - m.gas_share, 0.0), 1.0)
    level = round(share * frame.rows * 8)
    for row in range(frame.rows):
        here = min(max(level - 8 * (frame.rows - 1 - row), 0), 8)
        canvas.put(frame.first + row, start, LEVELS[here] * width, "water")
    pressed = active(tags, "relief-lift", "hydraulic-lock", "relief-size", "vacuum")
    pressure = gauge(m.pressure, system)
    title = fitting(width, f" TANK {pressure} ", f"TANK {pressure}", pressure)
    canvas.put(frame.top, start + (width - len(title)) // 2, title, role_of(pressed, "label"))
    scald = active(tags, "tank-scald")
    warm = marked(degrees(m.tank, system, ascii_only), scald, width - 2)
    inside: list[tuple[int, str, str]] = [
        (frame.rows // 2, warm, role_of(scald, "figure")),
    ]
    room = active(tags, "hydraulic-lock")
    gas = f"gas {percent(m.gas_share)}" if m.gas_share > 0.0 else "no gas"
    inside.append((0, marked(gas, room, width - 2), role_of(room, "label")))
    if m.iced:
        left = f"ice {mass(m.ice, system)}" if m.ice > 0.005 else "ice gone"
        inside.append((frame.rows // 2 + 1, left, "cold"))
    if frame.rows >= 5:
        inside.append((frame.rows - 1, f"water {mass(m.water, system)}", "label"))
    for row, text, role in inside:
        shown = f" {text} "
        canvas.put(frame.first + row, start + (width - len(shown)) // 2, shown, role)


def run_of(width: int, text: Segment, pipe: str, towards: str, still: bool) -> Line:
    """Return a run of pipe of a width with its figure on it and an arrow along the flow."""
    bar = "╌" if still else "━"
    spaced = f" {text[0]} "
    label = spaced if len(spaced) + 2 <= width else text[0]
    rest = width - len(label)
    before = max(rest // 2, 1) if towards == "left" else rest // 2
    ahead, behind = bar * before, bar * (rest - before)
    if not still and towards == "left" and ahead:
        ahead = "◄" + ahead[1:]
    if not still and towards == "right" and behind:
        behind = behind[:-1] + "►"
    return [(ahead, pipe), (label, text[1]), (behind, pipe)]


def draw_lines(
    canvas: Canvas,
    frame: Frame,
    m: Moment,
    tags: Sequence[Tag],
    limits: tuple[bool, bool],
    system: System,
    ascii_only: bool,
) -> None:
    """Draw return and supply line past the driver, and the driver.

    `limits` says of the return and the supply line whether each could scald the driver now.
    """
    start, width = frame.line
    scald = active(tags, "line-scald")
    hot, cold = (scald if over else None for over in limits)
    back = marked(f"return {degrees(m.return_, system, ascii_only)}", hot, width - 2)
    there = f"supply {degrees(m.supply, system, ascii_only)}"
    moved = "still" if m.tank_still else flow(m.cold_flow, system)
    there = fitting(width - 4, f"{there}, {moved}", there)
    there = marked(there, cold, width - 2)
    canvas.put_all(
        frame.first,
        start,
        run_of(width, (back, role_of(hot, "figure")), "hot", "left", m.tank_still),
    )
    canvas.put_all(
        frame.last,
        start,
        run_of(width, (there, role_of(cold, "figure")), "cold", "right", m.tank_still),
    )
    _draw_driver(canvas, frame)


def _draw_driver(canvas: Canvas, frame: Frame) -> None:
    start, width = frame.line
    shape = DRIVER_HIGH if frame.rows >= 4 else (DRIVER_LOW,)
    row = frame.last - len(shape)
    column = start + (width - len(shape[-1])) // 2
    for i, text in enumerate(shape):
        canvas.put(row + i, column, text, "plain")
    if column - start >= 8:
        canvas.put(frame.last - 1, column - 8, "driver", "dim")


def draw_exchanger(
    canvas: Canvas, frame: Frame, m: Moment, tags: Sequence[Tag], system: System
) -> None:
    """Draw the exchanger: heat now, effectiveness."""
    start, width = frame.exchanger
    slow = active(tags, "low-flow")
    share = percent(m.effectiveness)
    told = fitting(width, f"effectiveness {share}", f"eff. {share}", f"eff {share}", share)
    if m.tank_still or m.coolant_still:
        told = "no flow"
    texts: list[Segment] = [
        ("EXCHANGER", "label"),
        (marked(power(m.heat, system), slow, width), role_of(slow, "figure")),
        (told, "figure"),
    ]
    _stack(canvas, frame, (start, width), texts)


def _stack(canvas: Canvas, frame: Frame, part: tuple[int, int], texts: Sequence[Segment]) -> None:
    """Write texts under each other in the middle of a part."""
    start, width = part
    row = frame.first + (frame.rows - len(texts)) // 2
    for i, (text, role) in enumerate(texts):
        canvas.put(row + i, start + (width - len(text)) // 2, text, role)


def draw_pipes(canvas: Canvas, frame: Frame, m: Moment, system: System, ascii_only: bool) -> None:
    """Draw the coolant between engine and exchanger: out at the top, back in at the bottom."""
    start, width = frame.pipe
    out = degrees(m.coolant_out, system, ascii_only)
    still = m.coolant_still
    back = "still" if still else degrees(m.coolant_in, system, ascii_only)
    canvas.put_all(frame.first, start, run_of(width, (out, "figure"), "hot", "left", still))
    canvas.put_all(frame.last, start, run_of(width, (back, "figure"), "cold", "right", still))
    texts: list[Segment] = [("coolant", "dim")]
    if frame.rows >= 4 and not still:
        texts.append((flow(m.hot_flow, system), "dim"))
    _stack(canvas, frame, frame.pipe, texts)


def draw_engine(
    canvas: Canvas, frame: Frame, m: Moment, tags: Sequence[Tag], system: System, ascii_only: bool
) -> None:
    """Draw the engine: power, margin to boiling, boiling point."""
    start, width = frame.engine
    state = power(m.brake_power, system) if m.engine == "on" else m.engine
    boil = active(tags, "coolant-boil")
    left = difference(m.margin, system, ascii_only)
    told = (f"boil margin {left}", f"margin {left}", f"{left} left", left)
    margin = fitting(width, *(marked(text, boil, len(text) + 3) for text in told), left)
    boils = degrees(m.boils, system, ascii_only)
    told_boils = fitting(width, f"boils at {boils}", f"boils {boils}", boils)
    boiling = m.coolant_out >= m.boils - AT_BOILING
    texts: list[Segment] = [
        (fitting(width, f"ENGINE {state}", state), "label"),
        (margin, role_of(boil, "figure")),
        (told_boils, "danger" if boiling else "figure"),
    ]
    if frame.rows >= 4:
        metal = degrees(m.metal, system, ascii_only)
        texts.append((fitting(width, f"metal {metal}", metal), "figure"))
    _stack(canvas, frame, (start, width), texts)


def _shown_stations(duct: IntakeFigures) -> list[tuple[str, float]]:
    """Return name and stagnation pressure of the stations of the first duct that lose."""
    first = duct.stations[0].path
    along = [s for s in duct.stations if s.path in (first, SHARED)]
    kept = [s for i, s in enumerate(along) if i in (0, len(along) - 1) or abs(s.loss) >= NO_LOSS]
    names = ["inlet", *(named(s.name) for s in kept[1:])]
    return [(n, s.stagnation_pressure) for n, s in zip(names, kept, strict=True)]


def duct_row(result: EventResult, system: System, width: int) -> Line:
    """Return the duct from the nose to the plenum as one row of a width.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}
    width : int
        Columns.

    Returns
    -------
    Line
        Pressures over still air, by station. When room is short the names give way to their
        last words, stations that lose little are left out, then the names, then the stations
        that lose least; the gain at the inlet and the net are always told.
    """
    duct = result.intake
    if duct is None:
        text = fitting(width, "no duct: the engine breathes still air", "no duct")
        return [(text, "dim")]
    at = speed(duct.speed_m_per_s, system)
    if not duct.stations:
        text = fitting(width, f"XX duct chokes at {at}: no pressures", "XX duct chokes")
        return [(text, "danger")]
    ambient = result.site.station_pressure_Pa
    stations = [(n, p - ambient) for n, p in _shown_stations(duct)]
    net = f"net {over_air(stations[-1][1], system)} {over_air_unit(system)}"
    while True:
        loss = [a[1] - b[1] for a, b in pairwise(stations[:-1])]
        little = bool(loss) and min(loss) < LITTLE_LOSS * abs(stations[0][1])
        for pieces in _duct_pieces(stations, net, system, with_bare=not little):
            for space in (" ", ""):
                line = _joined(pieces, [p for _, p in stations], width, space)
                if line is not None:
                    return line
        if not loss:
            return [(net, "air")]
        del stations[1 + loss.index(min(loss))]


def _duct_pieces(
    stations: Sequence[tuple[str, float]], net: str, system: System, with_bare: bool
) -> list[list[str]]:
    """Return the texts along the duct in forms that grow shorter; at last without names."""
    figures = [over_air(p, system) for _, p in stations[:-1]]
    names = [n for n, _ in stations]
    words = [(n.split() or [""])[-1] for n in names]
    forms = [
        [*(f"{n} {p}" for n, p in zip(names, figures, strict=False)), f"{names[-1]}, {net}"],
        [*(f"{n} {p}" for n, p in zip(words, figures, strict=False)), f"{words[-1]}, {net}"],
        [*(f"{n} {p}" for n, p in zip(words, figures, strict=False)), net],
    ]
    return [*forms, [*figures, net]] if with_bare else forms


def _joined(
    pieces: Sequence[str], pressures: Sequence[float], width: int, space: str
) -> Line | None:
    """Return pieces with lengths of duct between them that fill a width; None when too long."""
    gaps = len(pieces)
    room = width - sum(len(p) + 2 * len(space) for p in pieces) - 2
    if room < gaps:
        return None
    line: Line = [("►", "air")]
    for i, (piece, pressure) in enumerate(zip(pieces, pressures, strict=True)):
        bar = "═" * (room * (i + 1) // gaps - room * i // gaps)
        role: str = "figure" if pressure >= 0.0 else "caution"
        line += [(f"{bar}{space}", "air"), (piece, role), (space, "air")]
    return [*(s for s in line if s[0]), ("╝", "air")]


def duct_titles(result: EventResult, system: System) -> tuple[str, ...]:
    """Return what the pressures along the duct are, in words, the longest form first.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    tuple of str
        Empty without a duct, and where it chokes.
    """
    duct = result.intake
    if duct is None or not duct.stations:
        return ()
    paths = list(dict.fromkeys(s.path for s in duct.stations if s.path != SHARED))
    which = "duct" if len(paths) == 1 else f"duct 1 of {len(paths)}"
    at = speed(duct.speed_m_per_s, system)
    return (f"{which} at {at}, {over_air_unit(system)} over still air", f"{which} at {at}")


def draw_duct(canvas: Canvas, frame: Frame, result: EventResult, system: System) -> None:
    """Draw the duct beneath the floor, from the nose up into the engine."""
    end = frame.right - 1
    line = duct_row(result, system, end)
    canvas.put_all(frame.duct, 1, line)
    if width_of(line) == end:
        canvas.put(frame.floor, end, "╥", "air")
