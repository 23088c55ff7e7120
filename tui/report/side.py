"""The car from the side as a line drawing: what every part is doing at one moment."""

from __future__ import annotations

import math
from collections.abc import Sequence

from thermo.charting import cut_to, drawable, text_length
from thermo.intake_parts import SHARED
from thermo.picture import BLACK, Picture
from thermo.results import EventResult, IntakeFigures
from thermo.scenario import Scenario
from thermo.units import System
from tui.report.shapes import SEAT, Pen, body, engine_shape, water
from tui.sidemoment import Moment, moment_of
from tui.sideparts import duct_titles
from tui.tags import AT_BOILING, Tag, tags_at
from tui.words import (
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

WIDTH = 505.0
SIZE, LINE = 7.2, 9.3
"""Type and distance of lines of the words [pt]."""

BODY_HEIGHT = 96.0
COLUMNS: dict[str, tuple[float, float]] = {
    "tank": (4.0, 92.0),
    "line": (102.0, 118.0),
    "exchanger": (226.0, 84.0),
    "coolant": (316.0, 84.0),
    "engine": (406.0, 97.0),
}
"""Where the words of each part stand: left edge and width."""

LEADS = {
    "tank": (84.0, 28.0), "line": (222.0, 65.0), "exchanger": (268.0, 28.0),
    "coolant": (338.0, 30.0), "engine": (405.0, 28.0),
}
"""Where each part is pointed at, from the left and from the body's upper edge."""

HEADS = {
    "tank": "TANK", "line": "LINES AND DRIVER", "exchanger": "EXCHANGER", "coolant": "COOLANT",
    "engine": "ENGINE",
}
TITLE = "the car from the side"


def facts(m: Moment, system: System) -> dict[str, list[str]]:
    """Return what each part is doing, in short lines."""
    tank = [
        f"water {degrees(m.tank, system)}, {mass(m.water, system)}",
        f"pressure {gauge(m.pressure, system)}",
        f"gas {percent(m.gas_share)}" if m.gas_share > 0.0 else "no gas left",
    ]
    if m.iced:
        tank.append(f"ice {mass(m.ice, system)}" if m.ice > 0.005 else "ice gone")
    still = m.tank_still or m.coolant_still
    return {
        "tank": tank,
        "line": [
            f"return to the tank {degrees(m.return_, system)}",
            f"supply from it {degrees(m.supply, system)}",
            "water stands still" if m.tank_still else f"flow {flow(m.cold_flow, system)}",
        ],
        "exchanger": [
            f"heat {power(m.heat, system)}",
            "no flow" if still else f"effectiveness {percent(m.effectiveness)}",
        ],
        "coolant": [
            f"out {degrees(m.coolant_out, system)}",
            "stands still" if m.coolant_still else f"back in {degrees(m.coolant_in, system)}",
            *([] if m.coolant_still else [f"flow {flow(m.hot_flow, system)}"]),
        ],
        "engine": [
            f"power {power(m.brake_power, system)}" if m.engine == "on" else m.engine,
            f"boil margin {difference(m.margin, system)}",
            f"boils at {degrees(m.boils, system)}",
            f"metal {degrees(m.metal, system)}",
        ],
    }


def wrapped(text: str, room: float, bold: bool = False) -> list[str]:
    """Return text in lines that fit the room [pt]."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_length(longer, SIZE, bold) <= room:
            lines[-1] = longer
        else:
            lines.append(cut_to(word, room, SIZE, bold))
    return lines


def _blocks(
    m: Moment, tags: Sequence[Tag], system: System
) -> dict[str, list[tuple[str, bool]]]:
    """Return the lines over each part, and whether each is bold: heading, figures, hazards."""
    out: dict[str, list[tuple[str, bool]]] = {}
    for part, told in facts(m, system).items():
        room = COLUMNS[part][1]
        lines = [(HEADS[part], True)]
        lines += [(line, False) for text in told for line in wrapped(text, room)]
        for tag in tags:
            if tag.place == part:
                lines += [(line, True) for line in wrapped(tag.text, room, True)]
        out[part] = lines
    return out


def side_picture(result: EventResult, scenario: Scenario, row: int, system: System) -> Picture:
    """Draw the car at one moment of the event.

    Parameters
    ----------
    result : EventResult
    scenario : Scenario
    row : int
        Row of the history.
    system : {'si', 'us'}

    Returns
    -------
    Picture
        Not to scale. Every hazard that is there at that moment, or comes, is named at its part.

    Raises
    ------
    IndexError
        If the history has no such row.
    """
    m = moment_of(result, scenario, row)
    tags = tags_at(result, scenario, row)
    blocks = _blocks(m, tags, system)
    top = LINE * max(len(lines) for lines in blocks.values()) + 12.0
    pen = Pen()
    _write(pen, blocks, top)
    body(pen, top, BODY_HEIGHT, moving=m.speed > 0.0)
    _draw_parts(pen, m, top)
    duct_tags = [t for t in tags if t.place == "duct"]
    bottom = _draw_duct(pen, result, duct_tags, top + BODY_HEIGHT, system)
    return Picture(WIDTH, bottom, tuple(pen.items))


def _write(pen: Pen, blocks: dict[str, list[tuple[str, bool]]], top: float) -> None:
    """Write the words over the parts, each led to its part."""
    for part, lines in blocks.items():
        x, _ = COLUMNS[part]
        for i, (text, bold) in enumerate(lines):
            pen.write(x, LINE * (i + 1), text, SIZE, bold=bold)
        under = LINE * len(lines) + 3.5
        pen.line([(x, under), (x + 24.0, under)], 0.4)
        at, down = LEADS[part]
        pen.line([(x + 12.0, under), (x + 12.0, top - 4.0), (at, top + down)], 0.4)
        pen.circle(at, top + down, 1.3, 0.4, fill=BLACK)


def _draw_parts(pen: Pen, m: Moment, top: float) -> None:
    """Draw tank, lines, driver, exchanger and engine into the body."""
    upper, lower = top + 24.0, top + 74.0
    water(pen, (56.0, upper, 60.0, lower - upper), 1.0 - m.gas_share, ice=m.ice > 0.005)
    still = m.tank_still
    pen.pipe([(116.0, lower - 9.0), (250.0, lower - 9.0)], still, towards=-1)
    pen.pipe([(116.0, lower - 2.0), (250.0, lower - 2.0)], still, towards=1)
    for points, width in SEAT:
        pen.line([(x, y + top) for x, y in points], width)
    pen.circle(184.0, top + 18.0, 6.5, 1.1)
    pen.box(250.0, upper, 36.0, lower - upper, 1.3)
    zigzag = [(254.0 + (28.0 if i % 2 else 0.0), upper + 5.0 + 5.0 * i) for i in range(9)]
    pen.line(zigzag, 0.7)
    still = m.coolant_still
    pen.pipe([(286.0, upper + 6.0), (372.0, upper + 6.0)], still, towards=-1)
    pen.pipe([(286.0, lower - 6.0), (372.0, lower - 6.0)], still, towards=1)
    engine_shape(pen, (372.0, upper, 66.0, lower - upper), m.engine != "off",
                 m.coolant_out >= m.boils - AT_BOILING)


def _stations(duct: IntakeFigures) -> list[tuple[str, float]]:
    """Return name and stagnation pressure of the stations of the first path."""
    first = duct.stations[0].path
    return [(s.name, s.stagnation_pressure) for s in duct.stations if s.path in (first, SHARED)]


def _draw_duct(
    pen: Pen, result: EventResult, tags: Sequence[Tag], ground: float, system: System
) -> float:
    """Draw the duct beneath the car with its stations; return where the picture ends."""
    duct = result.intake
    if duct is None:
        pen.write(46.0, ground + 14.0, "no duct: the engine breathes still air", SIZE)
        return ground + 20.0
    y = ground + 16.0
    left, right = 20.0, WIDTH - 70.0
    # From the nose's opening down, along, and up into the engine.
    pen.line([(10.0, ground - 42.0), (14.0, y - 3.0), (right, y - 3.0), (right, ground - 26.0)],
             0.9)
    pen.line([(4.0, ground - 36.0), (8.0, y + 4.0), (right + 7.0, y + 4.0),
              (right + 7.0, ground - 26.0)], 0.9)
    pen.arrow(right - 14.0, y + 0.5, 1, 4.0)
    told = duct_titles(result, system)
    at = speed(duct.speed_m_per_s, system)
    title = told[0] if told else f"the duct chokes at {at}: no pressures"
    pen.write(left, y + 13.5, f"AIR: {title}", SIZE, bold=True)
    x = left + text_length(f"AIR: {title}", SIZE, bold=True) + 12.0
    y += 13.5
    for tag in tags:
        length = text_length(tag.text, SIZE, True)
        if x + length > WIDTH:
            x, y = left, y + LINE
        pen.write(x, y, tag.text, SIZE, bold=True)
        x += length + 12.0
    if not duct.stations:
        return y + 6.0
    return _write_stations(pen, result, duct, (left, y + 3.0, ground + 20.0), system)


def _write_stations(
    pen: Pen,
    result: EventResult,
    duct: IntakeFigures,
    place: tuple[float, float, float],
    system: System,
) -> float:
    """Write the pressures along the duct in rows; return where the last one ends."""
    left, y, _ = place
    along = _stations(duct)
    still = result.site.station_pressure_Pa
    pieces = [
        (
            f"{i} {cut_to(drawable(name), 120.0, SIZE)}",
            over_air(p - still, system) + (f" {over_air_unit(system)}" if i == 1 else ""),
        )
        for i, (name, p) in enumerate(along, 1)
    ]
    pieces.append(("net gain", f"{over_air(duct.net_Pa, system)} {over_air_unit(system)}"))
    room = [
        max(text_length(name, SIZE), text_length(figure, SIZE, True)) + 14.0
        for name, figure in pieces
    ]
    x = left
    right = WIDTH - 70.0
    ticks = len(along)
    for i, ((name, figure), wide) in enumerate(zip(pieces, room, strict=True)):
        if x + wide > WIDTH:
            x, y = left, y + 2.0 * LINE + 3.0
        pen.write(x, y + LINE, name, SIZE)
        pen.write(x, y + 2.0 * LINE, figure, SIZE, bold=True)
        if i < len(pieces) - 1:
            pen.write(x + wide - 9.0, y + 1.5 * LINE, "›", SIZE)
        x += wide
    tick = place[2] - 4.0
    for i in range(ticks):
        at = left + (right - left - 30.0) * i / max(ticks - 1, 1)
        pen.circle(at, tick + 0.5, 4.2, 0.6, fill="#ffffff")
        pen.write(at, tick + 2.6, str(i + 1), 5.8, anchor="middle")
    return y + 2.0 * LINE + 6.0


def worst_row(result: EventResult) -> int:
    """Return the row of the history at which what binds is worst; else that of most margin used."""
    h = result.history
    at = result.binding.at_s
    if math.isfinite(at):
        return int(abs(h.time - at).argmin())
    return int((h.coolant - h.boil_temperature).argmax())


__all__ = ["TITLE", "side_picture", "worst_row"]
