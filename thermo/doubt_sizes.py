"""The tank and the duct that hold a chosen chance when inputs are ranges.

Every size is judged on the same samples (common random numbers): a few of them for a scan, all of
them for the answer, so that the answer put back into the scenario gives the chance told here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.answers import Answer, Setting, safer, setting_text
from thermo.doubt_ranges import FROM_FILE, Range
from thermo.doubt_sampling import Draws
from thermo.ensemble import HAZARDS, VariantTable, Workers, run_variants
from thermo.fields import quantity_of
from thermo.scenario import Scenario
from thermo.sizing_cooling import tank_range
from thermo.sizing_intake import HIGHEST_SCALE, LOWEST_SCALE, duct_settings, widest
from thermo.units import parse

Bools = npt.NDArray[np.bool_]
Settings = tuple[Setting, ...]
Crossed = Callable[[VariantTable], Mapping[str, Bools]]

DIGITS = 4
"""Digits of a size."""

POINTS = 7
"""Sizes of the scan."""

CROSSINGS = 20
"""Samples that cross where the chance is just the chosen one, in the scan."""

CLOSE = 1.004
"""Ratio of two sizes, one that holds and one that does not, that are close enough."""

ENOUGH = 0.9
"""Share of the chosen chance from which an answer need not be made smaller."""

TRIES = 6
"""Most sizes that all samples are solved for."""

BREATHING = ("intake-net", "intake-mach", "intake-choke", "intake-hot", "fuel-reference")
"""Hazards that are the duct's and not the tank's."""

FAILED = "variants without a verdict"


@dataclass(frozen=True, slots=True)
class Size:
    """A size to be sought.

    Attributes
    ----------
    name, title, group, kind, key : str
        Of the answer.
    now : float
        What the scenario has [SI].
    low, high : float
        Range looked at [SI].
    settings : callable
        From a size to the inputs that put it into the scenario.
    crossed : callable
        From what was found to which variants cross each limit.
    """

    name: str
    title: str
    group: str
    kind: str
    key: str
    now: float
    low: float
    high: float
    settings: Callable[[float], Settings]
    crossed: Crossed


@dataclass(slots=True)
class Search:
    """The samples on which sizes are judged.

    Attributes
    ----------
    scenario : Scenario
    ranges : sequence of Range
        None of them exact.
    draws : Draws
    chance : float
        Chosen.
    workers, progress, cancelled
        As in :func:`thermo.ensemble.run_variants`.
    """

    scenario: Scenario
    ranges: Sequence[Range]
    draws: Draws
    chance: float
    workers: Workers | int | None = None
    progress: Callable[[int, int], None] | None = None
    cancelled: Callable[[], bool] | None = None

    def crossings(self, size: Size, at: Sequence[float], rows: int) -> list[dict[str, Bools]]:
        """Return which of the first samples cross each limit, for each of some sizes."""
        parts = [self._columns(size, x, rows) for x in at]
        columns = {key: np.concatenate([part[key] for part in parts]) for key in parts[0]}
        table = run_variants(
            self.scenario, columns, workers=self.workers, progress=self.progress,
            cancelled=self.cancelled,
        )
        found = {**size.crossed(table), FAILED: ~table.ok}
        return [
            {name: hits[i * rows : (i + 1) * rows] for name, hits in found.items()}
            for i in range(len(at))
        ]

    def _columns(self, size: Size, at: float, rows: int) -> dict[str, Any]:
        """Return the inputs of a size: those that it sets, and the samples of the others."""
        columns = {key: values[:rows] for key, values in self.draws.columns.items()}
        for put in size.settings(at):
            if quantity_of(Scenario, put.key) is None:
                continue  # an end of a range: the samples of that input are moved along
            if put.key in columns:
                columns[put.key] = columns[put.key] * (at / size.now)
            else:
                columns[put.key] = np.full(rows, parse(put.text(), put.kind))
        return columns

    def moved(self, settings: Settings, ratio: float) -> Settings:
        """Return settings, and with them the ends of the ranges of inputs that they set."""
        keys = {put.key for put in settings}
        ends = [
            Setting(f'doubt."{r.key}".{name}', value * ratio, r.kind, "more")
            for r in self.ranges
            if r.source == FROM_FILE and r.key in keys
            for name, value in (("low", r.low), ("high", r.high))
        ]
        return (*settings, *ends)


def sizes_that_hold(search: Search) -> tuple[Answer, ...]:
    """Return the smallest tank and the smallest duct that hold the chosen chance.

    Parameters
    ----------
    search : Search

    Returns
    -------
    tuple of Answer
        The second only where there is a duct. ``best`` is the least chance found where no size
        holds it.
    """
    scenario, answers = search.scenario, [_seek(search, _tank(search))]
    if scenario.intake is not None and widest(scenario.intake)[1] > 0.0:
        answers.append(_seek(search, _duct(search)))
    return tuple(answers)


def _tank(search: Search) -> Size:
    now = search.scenario.tank.volume
    low, high = tank_range(search.scenario)

    def dangers(table: VariantTable) -> dict[str, Bools]:
        return {name: table.ranks[name] >= 2 for name in HAZARDS if name not in BREATHING}

    def settings(x: float) -> Settings:
        return search.moved((Setting("tank.volume", x, "volume", "more"),), x / now)

    return Size(
        "tank-by-chance", "smallest tank", "cooling", "volume", "tank.volume", now, low, high,
        settings, dangers,
    )


def _duct(search: Search) -> Size:
    intake, limits = search.scenario.intake, search.scenario.limits
    if intake is None:
        raise ValueError("a scenario without a duct")
    table, (key, now, _) = intake, widest(intake)
    kept = f"{100.0 * limits.ram_share:.0f} % of the nose gain kept"

    def short(found: VariantTable) -> dict[str, Bools]:
        f = found.figures
        return {
            kept: f["intake_net_Pa"] < limits.ram_share * f["intake_ram_gain_Pa"],
            "Mach number": f["intake_duct_mach_max"] > limits.mach,
            "choking": f["intake_choked"] > 0.0,
        }

    def settings(x: float) -> Settings:
        return search.moved(duct_settings(table, x / now), x / now)

    return Size(
        "duct-by-chance", "smallest duct", "intake", "length", key, now, LOWEST_SCALE * now,
        HIGHEST_SCALE * now, settings, short,
    )


def _any(crossed: Mapping[str, Bools], aside: Sequence[str]) -> Bools:
    kept = [hits for name, hits in crossed.items() if name not in aside]
    return np.asarray(np.any(kept, axis=0), dtype=np.bool_)


def _worst(crossed: Mapping[str, Bools], aside: Sequence[str]) -> str:
    """Return the limit that is crossed most often."""
    return max((n for n in crossed if n not in aside), key=lambda n: int(crossed[n].sum()))


def _unmoved(scan: Sequence[Mapping[str, Bools]]) -> list[str]:
    """Return the limits that some samples cross, and the same ones at every size."""
    return [
        name
        for name, hits in scan[0].items()
        if name != FAILED
        and bool(hits.any())
        and all(np.array_equal(hits, other[name]) for other in scan)
    ]


def _deviate(share: float, samples: int) -> float:
    """Return the standard normal deviate of a share, half a sample from its ends at least."""
    from scipy.special import ndtri

    edge = 0.5 / samples
    return float(ndtri(min(max(share, edge), 1.0 - edge)))


def _seek(search: Search, size: Size) -> Answer:
    """Seek the smallest size that holds the chosen chance."""
    draws, chance = search.draws, search.chance
    rows = min(draws.size, max(256, 1 << (math.ceil(CROSSINGS / chance) - 1).bit_length()))
    at = [float(x) for x in np.geomspace(size.low, size.high, POINTS)]
    scan = search.crossings(size, at, rows)
    aside = _unmoved(scan)
    shares = [float(_any(crossed, aside).mean()) for crossed in scan]
    note = ""
    if aside:
        often = {name: 100 * scan[0][name].mean() for name in aside}
        told = ", ".join(f"{name} ({share:.3g} % of samples)" for name, share in often.items())
        note = f"Left out, since the size changes nothing of it: {told}. "
    held = [i for i, share in enumerate(shares) if share <= chance]
    if not held:
        return _none(search, size, at[int(np.argmin(shares))], aside, note)
    first = held[0]
    low, high = (at[first - 1] if first else None), at[first]
    return _close_in(search, size, (low, high), (shares, first), aside, note)


def _close_in(
    search: Search,
    size: Size,
    ends: tuple[float | None, float],
    scan: tuple[list[float], int],
    aside: Sequence[str],
    note: str,
) -> Answer:
    """Bring a size that holds, and one that does not, together on all samples."""
    shares, first = scan
    chance, rows, (low, high) = search.chance, search.draws.size, ends
    below = shares[first - 1] if low is not None else math.nan
    best: tuple[float, dict[str, Bools]] | None = None
    above, tried = shares[first], high
    for _ in range(TRIES):
        if low is not None and (best is None or high / low > CLOSE):
            # On normal paper the chance is nearly straight over the logarithm of the size. Aimed a
            # little under; never at an end, which is known already.
            a, b, wanted = (_deviate(p, rows) for p in (below, above, 0.98 * chance))
            part = (a - wanted) / max(a - b, 1e-9)
            tried = low * (high / low) ** min(max(part, 0.03), 0.97)
        tried = safer(tried, DIGITS, "more")
        crossed = search.crossings(size, [tried], rows)[0]
        share = float(_any(crossed, aside).mean())
        if share <= chance:
            best, high, above = (tried, crossed), tried, share
            if low is None or share >= ENOUGH * chance or high / low <= CLOSE:
                break
        else:
            low, below = tried, share
            if best is None and low >= high * (1.0 - 1e-9):
                high = min(low * 1.05, size.high)
                if high <= low:
                    break
    if best is None:
        return _none(search, size, tried, aside, note)
    value, crossed = best
    share = float(_any(crossed, aside).mean())
    worst = _worst(crossed, aside) if share > 0.0 else ""
    if low is None:
        note += "No limit binds down to here. "
    return Answer(
        size.name, size.title, size.group, size.kind, size.key, value, size.now, worst,
        note=f"{note}The chance is then {100 * share:.3g} %",
        put=size.settings(value),
    )


def _none(search: Search, size: Size, at: float, aside: Sequence[str], note: str) -> Answer:
    """Return that no size holds, with the best that was found."""
    crossed = search.crossings(size, [at], search.draws.size)[0]
    share = float(_any(crossed, aside).mean())
    ends = f"{setting_text(size.low, size.kind)} to {setting_text(size.high, size.kind)}"
    return Answer(
        size.name, size.title, size.group, size.kind, size.key, None, size.now,
        _worst(crossed, aside),
        note=f"{note}None from {ends} holds it. The least chance found is {100 * share:.3g} %, at "
        + setting_text(at, size.kind, "more"),
        best=share,
    )
