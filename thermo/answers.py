"""An answer of the build sheet, and how it is put into the scenario."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from thermo.units import System, convert, kind_named

SET_DIGITS = 5
"""Digits of a size as it is put into the scenario, the last one rounded to the safe side."""


SMALL = 0.5
"""Lengths below this are told in millimetres or inches [m]."""

Better = Literal["more", "less"]
"""Whether more of a size is safer, or less."""


def safer(value: float, digits: int, better: Better) -> float:
    """Return a number with so many digits, rounded to the safe side.

    Parameters
    ----------
    value : float
    digits : int
        Significant digits.
    better : {'more', 'less'}
        'more' rounds up, 'less' down.

    Returns
    -------
    float
        A value that has no more digits already, within rounding, stays as it is.
    """
    if value == 0.0 or not math.isfinite(value):
        return value
    step = 10.0 ** (math.floor(math.log10(abs(value))) + 1 - digits)
    count = value / step
    near = round(count)
    if abs(count - near) > 1e-6:
        near = math.ceil(count) if better == "more" else math.floor(count)
    return near * step


@dataclass(frozen=True, slots=True)
class Setting:
    """One input that puts a size into the scenario.

    Attributes
    ----------
    key : str
        Dotted key.
    value : float
        [SI].
    kind : str
        Kind of quantity.
    better : {'more', 'less'}
        To which side it may be rounded.
    """

    key: str
    value: float
    kind: str
    better: Better

    def text(self, system: System = "si") -> str:
        """Return the value as text that a scenario accepts, rounded to the safe side.

        Parameters
        ----------
        system : {'si', 'us'}

        Returns
        -------
        str
        """
        return setting_text(self.value, self.kind, self.better, system)


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
    put : tuple of Setting
        Inputs that put the size into the scenario, for ``--set``.
    crossings : tuple of float
        Every size at which the tightest limit is just met [SI].
    holds : tuple of (float, float)
        Ranges in which every limit holds, rising [SI]; infinite towards an end of the range
        looked at at which they still hold.
    better : {'more', 'less'}
        Whether more of it is safer; the figure may be rounded to that side.
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
    put: tuple[Setting, ...] = ()
    crossings: tuple[float, ...] = ()
    holds: tuple[tuple[float, float], ...] = ()
    better: Better = "more"
    best: float | None = None

    @property
    def settings(self) -> tuple[tuple[str, str], ...]:
        """Dotted keys and texts in SI units that put the size into the scenario."""
        return tuple((s.key, s.text()) for s in self.put)


@dataclass(frozen=True, slots=True)
class Sheet:
    """The build sheet.

    Attributes
    ----------
    margin : float
        Boil and after-boil margin that the sizes keep [K].
    answers : tuple of Answer
    mixing : str
        Where the scenario does not choose ``tank.mixing``: the way of mixing that leaves least
        in the plan as it stands. Sizes hold for every way.
    not_kept : tuple of str
        Hazards up in the plan as it stands that no size aims to clear.
    pressure : str
        Under what the tank's pressure is kept, in words; empty where nothing is asked of it.
    """

    margin: float
    answers: tuple[Answer, ...]
    mixing: str = ""
    not_kept: tuple[str, ...] = ()
    pressure: str = ""


def setting_text(
    value: float, kind: str, better: Better | None = None, system: System = "si"
) -> str:
    """Return an SI value as text that a scenario accepts.

    Parameters
    ----------
    value : float
        [SI].
    kind : str
    better : {'more', 'less'}, optional
        The side to which it is rounded to ``SET_DIGITS`` digits; as it is when not given.
    system : {'si', 'us'}

    Returns
    -------
    str
    """
    unit = unit_told(value, kind, system)
    bare = unit in ("", "%")
    shown = value if bare else convert(value, kind, unit)
    if better is not None:
        shown = safer(shown, SET_DIGITS, better)
    number = f"{shown:.8g}"
    return number if bare else f"{number} {bare_unit(unit)}"


def settings_of(keys: str, value: float, kind: str, better: Better) -> tuple[Setting, ...]:
    """Return the settings that put one value behind keys given as a list with commas.

    Parameters
    ----------
    keys : str
    value : float
        [SI].
    kind : str
    better : {'more', 'less'}
        To which side it may be rounded.

    Returns
    -------
    tuple of Setting
    """
    return tuple(Setting(k.strip(), value, kind, better) for k in keys.split(",") if k.strip())


def bare_unit(unit: str) -> str:
    """Return a unit without the word that tells which kind of pressure it is."""
    return unit.replace(" gauge", "").replace(" abs", "")


def unit_told(value: float, kind: str, system: System = "si") -> str:
    """Return the unit in which a figure is told: of a short length the small one."""
    if kind == "length" and abs(value) < SMALL:
        return "mm" if system == "si" else "in"
    what = kind_named(kind)
    return what.si_display if system == "si" else what.us_display
