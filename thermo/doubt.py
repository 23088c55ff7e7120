"""How sure a verdict is: the chance of crossing each limit when inputs are ranges.

Inputs are drawn from their ranges (:mod:`thermo.doubt_ranges`, :mod:`thermo.doubt_sampling`), every
sample is solved as a variant of the scenario, and what is found is counted
(:mod:`thermo.doubt_chances`). The sizes that hold a chosen chance are in :mod:`thermo.doubt_sizes`.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.answers import Answer
from thermo.doubt_chances import SURE, Chance, Driver, chance_of, drivers_of, percentiles
from thermo.doubt_ranges import Range, ranges_of
from thermo.doubt_sampling import Draws, cut_off, draw, whole_samples
from thermo.doubt_sizes import Search, sizes_that_hold
from thermo.ensemble import HAZARDS, VariantTable, Workers, run_variants
from thermo.errors import Problem, ScenarioError
from thermo.event import solve
from thermo.results import EventResult
from thermo.scenario import Scenario
from thermo.variants import array_key

Floats = npt.NDArray[np.float64]

SAMPLES = 4096
"""Samples unless asked otherwise."""

USUAL_CHANCE = 0.05
"""Chance of a danger above which the exit status says so, unless another is chosen."""

SHARES = (0.05, 0.50, 0.95)
"""Percentiles told of each figure."""

MOST_GROUPS = 64
"""Most combinations of values of the inputs that cannot be arrays."""

FIGURES: dict[str, tuple[str, str, float]] = {
    "boil_margin_K": ("boil margin", "temperature_difference", 0.0),
    "after_boil_margin_K": ("after-boil margin", "temperature_difference", 0.0),
    "coolant_peak_degC": ("coolant, hottest", "temperature", 273.15),
    "tank_peak_degC": ("tank, hottest", "temperature", 273.15),
    "tank_pressure_peak_Pa": ("tank gauge pressure", "pressure_gauge", 0.0),
    "headspace_needed_m3": ("headspace needed", "volume", 0.0),
    "steam_lost_kg": ("steam lost", "mass", 0.0),
    "heat_total_J": ("heat into the coolant", "energy", 0.0),
    "pass_time_s": ("pass", "time", 0.0),
    "pass_top_speed_m_per_s": ("top speed", "speed", 0.0),
    "intake_net_Pa": ("intake, net gain", "pressure_difference", 0.0),
    "intake_duct_mach_max": ("intake, Mach number", "number", 0.0),
}
"""Figures told: name in words, kind of quantity, and what makes SI of it."""

LESS, MORE = -1.0, 1.0
NEARNESS: dict[str, tuple[str, float]] = {
    "coolant-boil": ("boil_margin_K", LESS),
    "leaking-cap": ("leaking_cap_margin_K", LESS),
    "after-boil": ("after_boil_margin_K", LESS),
    "flow-lost": ("flow_lost_boil_s", LESS),
    "too-cold": ("coolant_least_full_power_degC", LESS),
    "tank-scald": ("tank_peak_degC", MORE),
    "line-scald": ("return_line_peak_degC", MORE),
    "coolant-flash": ("coolant_peak_degC", MORE),
    "relief-lift": ("tank_pressure_peak_Pa", MORE),
    "hydraulic-lock": ("gas_share_least", LESS),
    "vacuum": ("tank_vacuum_Pa", LESS),
    "intake-net": ("intake_net_Pa", LESS),
    "intake-mach": ("intake_duct_mach_max", MORE),
    "intake-hot": ("intake_heat_rise_K", MORE),
}
"""By hazard, the figure that tells how near its limit is, and in which sense; the level itself
stands in for the others."""


@dataclass(frozen=True, slots=True)
class LimitChance:
    """The chance of crossing one limit.

    Attributes
    ----------
    name : str
        Of the hazard.
    danger, caution : Chance
        That it is a danger, and that it is a caution or worse.
    drivers : tuple of Driver
        Inputs that drive how near the limit is, strongest first.
    by : str
        Figure that the drivers are of; ``level`` where the hazard's level stands for it.
    """

    name: str
    danger: Chance
    caution: Chance
    drivers: tuple[Driver, ...]
    by: str


@dataclass(frozen=True, slots=True)
class Spread:
    """What a figure may be.

    Attributes
    ----------
    name : str
        As in the JSON of an event.
    planned : float
        In the scenario as it stands.
    values : tuple of float
        Its 5th, 50th and 95th percentile; not a number where no variant has the figure.
    """

    name: str
    planned: float
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Doubt:
    """How sure a verdict is.

    Attributes
    ----------
    title : str
    planned : EventResult
        The scenario as it stands.
    ranges : tuple of Range
        Every input in doubt, and those that are exact.
    samples, asked, seed, replicates : int
        Samples taken and asked for, seed, number of independent scrambles.
    any_danger, any_caution : Chance
        That some limit is a danger, and a caution or worse.
    limits : tuple of LimitChance
        Every hazard.
    spreads : tuple of Spread
    failures : mapping of str to int
        Why variants have no verdict, and how many; they are in no percentile and no correlation,
        and each chance is given with all of them counted for and against.
    chance : float
        Chance that was chosen.
    notes : tuple of str
    sizes : tuple of Answer
        Smallest tank and duct that hold the chosen chance, where one was chosen.
    """

    title: str
    planned: EventResult
    ranges: tuple[Range, ...]
    samples: int
    asked: int
    seed: int
    replicates: int
    any_danger: Chance
    any_caution: Chance
    limits: tuple[LimitChance, ...]
    spreads: tuple[Spread, ...]
    failures: Mapping[str, int]
    chance: float
    notes: tuple[str, ...]
    sizes: tuple[Answer, ...]

    @property
    def failed(self) -> int:
        """Number of variants without a verdict."""
        return sum(self.failures.values())

    @property
    def exit_status(self) -> int:
        """1 where the plan is a danger or a danger is likelier than chosen, 3 where failures hide
        whether it is, else 0."""
        if self.planned.exit_status == 1 or self.any_danger.least > self.chance:
            return 1
        return 3 if self.planned.exit_status or self.any_danger.most > self.chance else 0


def assess(
    scenario: Scenario,
    *,
    samples: int = SAMPLES,
    seed: int = 0,
    chance: float | None = None,
    workers: Workers | int | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
) -> Doubt:
    """Find how sure the verdict on a scenario is.

    Parameters
    ----------
    scenario : Scenario
    samples : int
        256 to 131,072; taken up to the next power of two.
    seed : int
        Of the samples, not negative; the same one gives the same answer on any number of cores.
    chance : float, optional
        Chance that is accepted, of a danger and for the sizes. When not given no sizes are
        sought, and the exit status is by 5 %.
    workers, progress, cancelled
        As in :func:`thermo.ensemble.run_variants`.

    Returns
    -------
    Doubt

    Raises
    ------
    ScenarioError
        If an entry of ``[doubt]`` cannot be used, nothing is in doubt, or the scenario itself is
        refused.
    RangeError
        If the number of samples is out of range.
    StoppedError
        If `cancelled` said so.
    """
    ranges = ranges_of(scenario)
    open_ = [r for r in ranges if r.shape != "exact"]
    if not open_:
        raise ScenarioError("scenario", [Problem("doubt", "", "no input is left in doubt")])
    steps = steps_of(scenario, open_)
    draws = draw(open_, whole_samples(samples), seed, steps)
    table = run_variants(
        scenario, draws.columns, workers=workers, progress=progress, cancelled=cancelled
    )
    planned = solve(scenario)
    failed = ~table.ok
    hits = [
        chance_of(table.level >= rank, failed, draws.replicates) for rank in (2, 1)
    ]
    inputs = {r.key: draws.uniforms[:, i] for i, r in enumerate(open_)}
    return Doubt(
        title=scenario.title,
        planned=planned,
        ranges=ranges,
        samples=draws.size,
        asked=samples,
        seed=seed,
        replicates=draws.replicates,
        any_danger=hits[0],
        any_caution=hits[1],
        limits=tuple(_limit(name, table, draws, inputs) for name in HAZARDS),
        spreads=_spreads(planned, table),
        failures=dict(Counter(words for words in table.status if words != "ok")),
        chance=USUAL_CHANCE if chance is None else chance,
        notes=_notes(ranges, steps),
        sizes=() if chance is None else sizes_that_hold(
            Search(scenario, open_, draws, chance, workers, progress, cancelled)
        ),
    )


def steps_of(scenario: Scenario, ranges: list[Range]) -> dict[str, int]:
    """Return into how many parts the range of each input that cannot be an array is cut.

    Parameters
    ----------
    scenario : Scenario
    ranges : list of Range

    Returns
    -------
    dict of str to int
        By key; their product is at most 64, and 2 is the least.
    """
    stiff = [r.key for r in ranges if not all(array_key(scenario, key) for key in r.keys)]
    if not stiff:
        return {}
    return dict.fromkeys(stiff, max(int(MOST_GROUPS ** (1.0 / len(stiff)) + 1e-9), 2))


def _limit(
    name: str, table: VariantTable, draws: Draws, inputs: Mapping[str, Floats]
) -> LimitChance:
    rank, failed = table.ranks[name], ~table.ok
    danger, caution = (chance_of(rank >= level, failed, draws.replicates) for level in (2, 1))
    by, sense = NEARNESS.get(name, ("", MORE))
    values = sense * table.figures[by] if by else np.asarray(rank, dtype=np.float64)
    near = np.where(failed, np.nan, values)
    return LimitChance(name, danger, caution, drivers_of(inputs, near), by or "level")


def _spreads(planned: EventResult, table: VariantTable) -> tuple[Spread, ...]:
    """Return percentiles of the main figures; those of a duct only where there is one."""
    found = []
    for name in FIGURES:
        inside = name.removeprefix("intake_")
        if inside == name:
            now = getattr(planned.cooling, name)
        elif planned.intake is None:
            continue
        else:
            now = getattr(planned.intake, inside)
        found.append(Spread(name, float(now), percentiles(table.figures[name], SHARES)))
    return tuple(found)


def _notes(ranges: tuple[Range, ...], steps: Mapping[str, int]) -> tuple[str, ...]:
    notes = [f"{r.key}: {r.note}" for r in ranges if r.note]
    for r in ranges:
        if len(r.keys) > 1:
            notes.append(f"{', '.join(r.keys)}: taken as equal to each other in every sample")
        beyond = cut_off(r)
        if beyond > 1e-4:
            notes.append(
                f"{r.key}: {100.0 * beyond:.2g} % of the normal curve lies beyond what the input "
                "may be and is cut off"
            )
    notes += [
        f"{key}: cannot be an array, so its range is stood for by {count} equally likely values"
        for key, count in steps.items()
    ]
    return tuple(notes)


def to_json(doubt: Doubt) -> dict[str, Any]:
    """Return the form of ``soakbox doubt --json``.

    Parameters
    ----------
    doubt : Doubt

    Returns
    -------
    dict
        JSON-ready; a number that does not exist is null.
    """
    return {
        "schema": 1,
        "scenario": doubt.title,
        "verdict_as_planned": doubt.planned.verdict,
        "samples": doubt.samples,
        "samples_asked": doubt.asked,
        "seed": doubt.seed,
        "scrambles": doubt.replicates,
        "chosen_chance": doubt.chance,
        "interval_share": SURE,
        "any_danger": _plain(doubt.any_danger),
        "any_caution": _plain(doubt.any_caution),
        "limits": [_plain(limit) for limit in doubt.limits],
        "figures": {
            s.name: _plain({"as_planned": s.planned, **dict(zip(("p5", "p50", "p95"), s.values,
                                                               strict=True))})
            for s in doubt.spreads
        },
        "inputs": [_plain(r) for r in doubt.ranges],
        "failed": doubt.failed,
        "failures": dict(doubt.failures),
        "notes": list(doubt.notes),
        "sizes": [_plain(answer) for answer in doubt.sizes],
    }


def _plain(value: Any) -> Any:
    """Return `value` ready for JSON: no NaN, no infinity."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {k: _plain(v) for k, v in value.items()}
    if isinstance(value, tuple):
        return [_plain(v) for v in value]
    if hasattr(value, "__dataclass_fields__"):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    return value
