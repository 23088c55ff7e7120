"""How long hot water and hot metal may touch skin: published tables, and their bounds.

None of these figures is safe for everybody: children and thin skin burn sooner. No damage
integral is used, because with its common constants it is off by orders of magnitude for
running water.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from thermo.errors import RangeError

ZERO_C = 273.15

WATER_TABLE = ((48.9, 300.0), (54.4, 30.0), (60.0, 6.0), (65.6, 2.0))
"""Water temperature [degC] and time to a third-degree burn of an adult [s]: US Consumer Product
Safety Commission, publication 5098, Avoiding Tap Water Scalds (120, 130, 140, 150 degF)."""

SCALD_LIMIT = 49.0 + ZERO_C
"""Water that reaches a person [K] should stay below this; just above the table's coolest row."""

TOUCH_LIMIT = 48.0 + ZERO_C
"""Parts that are handled [K] should stay below this (ten minutes' contact, ISO 13732-1)."""


@dataclass(frozen=True, slots=True)
class BurnTime:
    """Time to a burn, or the bound that the table gives for it.

    Attributes
    ----------
    seconds : float
        The time, or its bound [s].
    kind : str
        'about' inside the table, 'under' hotter than its last row, 'over' cooler than its first.
    """

    seconds: float
    kind: Literal["under", "about", "over"]

    def __str__(self) -> str:
        digits = 1 if self.kind == "about" and self.seconds < 10.0 else 0
        return f"{self.kind} {self.seconds:.{digits}f} s"


def scald_time(temperature: float) -> BurnTime:
    """Time to a full-thickness burn by hot water.

    Parameters
    ----------
    temperature : float
        Of the water that reaches the skin [K].

    Returns
    -------
    BurnTime
        Interpolated in the logarithm of time between the rows of ``WATER_TABLE``; 'under 2 s'
        above 65.6 degC, 'over 300 s' below 48.9 degC. Between rows it may be a third too long
        against the finer, unsigned tables of burn leaflets.
    """
    rows = [(celsius + ZERO_C, seconds) for celsius, seconds in WATER_TABLE]
    if temperature < rows[0][0]:
        return BurnTime(rows[0][1], "over")
    if temperature > rows[-1][0]:
        return BurnTime(rows[-1][1], "under")
    i = next(k for k in range(1, len(rows)) if temperature <= rows[k][0])
    (t0, s0), (t1, s1) = rows[i - 1], rows[i]
    share = (temperature - t0) / (t1 - t0)
    return BurnTime(s0 * (s1 / s0) ** share, "about")


CONTACT_CURVES = {
    "irreversible": (15.005, 0.51907, 352.97),
    "reversible": (39.468, -0.41352, 190.60),
}
"""Coefficients a, b, c of T = a + b ln(1000 t) + c/ln(1000 t), T [degC], t [s]: complete
transepidermal necrosis, and reversible injury. ASTM C1057, used with C1055 (from memory)."""

CONTACT_TIMES = (1.0, 28800.0)
"""Times over which the contact curves are used [s]; checked against published thresholds from
one second to eight hours."""


def contact_limit(time: float, injury: str = "irreversible") -> float:
    """Skin temperature that a contact may reach for a time before it injures.

    Parameters
    ----------
    time : float
        Time of contact [s], 1 to 28,800.
    injury : str
        A name in ``CONTACT_CURVES``.

    Returns
    -------
    float
        Temperature of skin in contact [K]; for bare metal, that of the metal.

    Raises
    ------
    RangeError
        If the time is out of range.

    Notes
    -----
    ASTM C1057 (from memory). Metal is so good a conductor that skin takes nearly its
    temperature; wood or plastic may be hotter.
    """
    low, high = CONTACT_TIMES
    if not low <= time <= high:
        raise RangeError("time of contact", time, low, high, "s")
    a, b, c = CONTACT_CURVES[injury]
    log = math.log(1000.0 * time)
    return a + b * log + c / log + ZERO_C


def contact_time(temperature: float, injury: str = "irreversible") -> BurnTime:
    """Time that bare hot metal may be touched before it injures.

    Parameters
    ----------
    temperature : float
        Of the metal [K].
    injury : str
        A name in ``CONTACT_CURVES``.

    Returns
    -------
    BurnTime
        Inverse of `contact_limit`; 'under 1 s' and 'over 28800 s' outside its times.
    """
    low, high = CONTACT_TIMES
    if temperature > contact_limit(low, injury):
        return BurnTime(low, "under")
    if temperature < contact_limit(high, injury):
        return BurnTime(high, "over")
    # b L^2 - (T - a) L + c = 0 with L = ln(1000 t); the root on the falling branch
    a, b, c = CONTACT_CURVES[injury]
    above = temperature - ZERO_C - a
    log = 2.0 * c / (above + math.sqrt(above * above - 4.0 * b * c))
    return BurnTime(math.exp(log) / 1000.0, "about")
