"""An answer of the build sheet, and the scan and bracket that find it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from thermo.roots import crossings
from thermo.units import convert, format_number, kind_named

Tight = Callable[[float], tuple[str, float]]
"""From a size to the limit with the least slack there, and that slack."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One size.

    Attributes
    ----------
    name, title, group, kind : str
        `kind` is the kind of quantity, for units.
    key : str
        Dotted key of the input that holds it; empty where there is none.
    value : float or None
        The size [SI]; None where none in range meets the limits.
    now : float or None
        What the scenario has [SI].
    binding : str
        The limit that binds it.
    note : str
        What else a reader must know.
    setting : str
        The value as text with a unit, for ``--set``.
    crossings : tuple of float
        Every size at which the tightest limit is just met [SI].
    best : float or None
        Best attainable slack where there is no answer.
    """

    name: str
    title: str
    group: str
    kind: str
    key: str
    value: float | None
    now: float | None
    binding: str
    note: str = ""
    setting: str = ""
    crossings: tuple[float, ...] = ()
    best: float | None = None


@dataclass(frozen=True, slots=True)
class Sheet:
    """The build sheet.

    Attributes
    ----------
    margin : float
        Boil and after-boil margin that the sizes keep [K].
    answers : tuple of Answer
    """

    margin: float
    answers: tuple[Answer, ...]


def setting_text(value: float, kind: str) -> str:
    """Return an SI value as text that a scenario accepts, with digits enough to come back."""
    unit = kind_named(kind).si_display
    number = convert(value, kind, unit) if unit not in ("", "%") else value
    text = f"{number:.8g}"
    plain = unit.replace(" gauge", "").replace(" abs", "")
    return f"{text} {plain}".strip() if unit not in ("", "%") else text


def scan_answer(
    tight: Tight, points: Sequence[float], *, name: str, title: str, kind: str, key: str,
    better: Literal["more", "less"], now: float | None, group: str,
) -> Answer:
    """Seek the least, or the most, size at which every limit holds.

    Parameters
    ----------
    tight : callable
        The tightest limit and its slack at a size.
    points : sequence of float
        Rising sizes of the scan.
    name, title, kind, key, group : str
        Of the answer.
    better : {'more', 'less'}
        Whether more is safer: the answer is then the least that holds, else the most.
    now : float or None
        What the scenario has.

    Returns
    -------
    Answer
        With every crossing that the scan brackets. Where all points hold, the end of the range
        is named; where none does, the best attainable.
    """
    found = [tight(x) for x in points]
    slack = [s for _, s in found]
    base = {"name": name, "title": title, "group": group, "kind": kind, "key": key, "now": now}
    if all(s >= 0.0 for s in slack):
        edge = points[0] if better == "more" else points[-1]
        limit = found[0 if better == "more" else -1][0]
        return Answer(**base, value=edge, binding=limit, setting=setting_text(edge, kind),
                      note="no limit binds within the range looked at, up to the "
                      f"{'lower' if better == 'more' else 'upper'} end given here")
    if all(s < 0.0 for s in slack):
        best = max(range(len(points)), key=lambda i: slack[i])
        limit = found[best][0]
        return Answer(**base, value=None, binding=limit, best=slack[best],
                      note=f"none from {setting_text(points[0], kind)} to "
                      f"{setting_text(points[-1], kind)}: {limit} is missed by "
                      f"{format_number(-slack[best], 3)} {_unit(limit)} at best, at "
                      f"{setting_text(points[best], kind)}")
    all_at = tuple(c.at for c in crossings(
        points, slack, lambda x: tight(x)[1], tolerance=1e-7) if c.direction != 0)
    value = _pick(all_at, points, slack, better)
    inside = value * (1.0 + 1e-9)
    limit = tight(inside)[0]
    others = [x for x in all_at if x != value]
    note = "" if not others else (
        "the limits are also just met at " + ", ".join(setting_text(x, kind) for x in others))
    return Answer(**base, value=value, binding=limit, note=note, crossings=all_at,
                  setting=setting_text(value, kind))


def _pick(at: tuple[float, ...], points: Sequence[float], slack: Sequence[float],
          better: str) -> float:
    """Return the crossing that bounds the good region on its safe side's far end."""
    good = [x for x, s in zip(points, slack, strict=True) if s >= 0.0]
    if better == "more":
        below = [x for x in at if x <= good[0]]
        return max(below) if below else points[0]
    over = [x for x in at if x >= good[-1]]
    return min(over) if over else points[-1]


def _unit(limit: str) -> str:
    if "margin" in limit or "scald" in limit or "boiling" in limit:
        return "K"
    return "%" if "gas" in limit else "kPa"
