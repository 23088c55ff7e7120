"""How a size answers to another: net gain against the duct's size, tank size against the run."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from thermo import ice
from thermo.answer_scan import tightest
from thermo.inputs.air import Intake
from thermo.intake_figures import timed_speed
from thermo.intake_parts import SHARED
from thermo.roots import crossings
from thermo.scenario import Scenario, with_value
from thermo.sizing_intake import resized
from thermo.trial import ICE_FITS, MOST_ICE, Trials

DUCT_SCALES = tuple(float(x) for x in np.geomspace(0.6, 1.0 / 0.6, 15))
"""Sizes of the duct usually looked at, as multiples of what it is; the middle one is that."""

RUN_SCALES = (0.5, 0.75, 1.0, 1.25, 1.5)
"""Lengths of the run usually looked at, as multiples of what it is."""

TANK_SPAN = 8.0
"""Smallest and largest tank looked at, as one part in, and multiple of, what it is."""

TANK_SCAN = 7
"""Tanks of the scan before bracketing."""

TANK_TOLERANCE = 1e-3
"""Width of the last bracket, as a share of the step of the scan."""

SIZES = ("bore", "width")


@dataclass(frozen=True, slots=True)
class DuctCurve:
    """Net gain at the timed speed against the size of the duct.

    Attributes
    ----------
    key : str
        Input that names the duct: the bore, or the width, of its first tube.
    now : float
        What the scenario has [m].
    speed : float
        Timed speed [m/s].
    gain : float
        Gain of the nose, which no duct exceeds [Pa].
    wanted : float
        Share of the gain that the scenario wants to keep [Pa].
    sizes : tuple of float
        Rising [m].
    net : tuple of float
        Plenum less still air [Pa]; NaN where choked.
    mach : tuple of float
        Largest Mach number in the duct; 1 where choked.
    """

    key: str
    now: float
    speed: float
    gain: float
    wanted: float
    sizes: tuple[float, ...]
    net: tuple[float, ...]
    mach: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class TankCurve:
    """Smallest tank that keeps every limit, against the length of the first pass.

    Attributes
    ----------
    key : str
        Input that holds the run: distance or duration of the leg.
    kind : {'length', 'time'}
    run_now, volume_now : float
        What the scenario has [m] or [s], and [m3].
    runs : tuple of float
        Rising [m] or [s].
    volumes : tuple of float
        [m3]; NaN where no tank within the span looked at holds.
    binding : tuple of str
        The limit that binds each, in words.
    """

    key: str
    kind: str
    run_now: float
    volume_now: float
    runs: tuple[float, ...]
    volumes: tuple[float, ...]
    binding: tuple[str, ...]


def _named_size(intake: Intake) -> tuple[str, float]:
    """Return key and size [m] of the part that names the duct: its first tube, else part."""
    ducts = [(i, p) for i, p in enumerate(intake.part) if p.path != SHARED]
    tubes = [(i, p) for i, p in ducts if p.kind in ("tube", "box-tube", "flexible")]
    number, part = (tubes or ducts)[0]
    name = next((k for k in SIZES if getattr(part, k) is not None), SIZES[0])
    return f"intake.part[{number}].{name}", float(getattr(part, name) or 0.0)


def net_against_size(
    scenario: Scenario, trials: Trials, scales: Sequence[float] = DUCT_SCALES
) -> DuctCurve | None:
    """Return the net gain at the timed speed for ducts of several sizes.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials
        Workbench; it drives the event once.
    scales : sequence of float, optional
        Rising multiples of every bore, width and height of the ducts [-].

    Returns
    -------
    DuctCurve or None
        None without a duct. The duct's wall is held at the temperature it has now, and the car
        at the speed it reaches now. Sizes below the first that chokes are not solved: they
        choke too.

    Raises
    ------
    RangeError
        If a scaled part has an impossible size.
    ScenarioError
        If a leg cannot be driven as asked.
    """
    _, driving = trials.driven(scenario)
    model = driving.intake
    if model is None:
        return None
    speed = timed_speed(scenario, driving)
    key, now = _named_size(model.table)
    gain = float(np.asarray(model.ram(np.array([speed])).ram)[0])
    net, mach = [math.nan] * len(scales), [1.0] * len(scales)
    for i in reversed(range(len(scales))):
        at = resized(model, scales[i]).solve([speed], driving.wall_temperature)
        if bool(at.choked[0]):
            break
        net[i], mach[i] = float(at.net[0]), float(at.mach[0])
    return DuctCurve(
        key=key,
        now=now,
        speed=speed,
        gain=gain,
        wanted=scenario.limits.ram_share * gain,
        sizes=tuple(now * x for x in scales),
        net=tuple(net),
        mach=tuple(mach),
    )


def _ice_volume(scenario: Scenario) -> float:
    """Return the volume of the smallest tank that holds the ice at its fill [m3]."""
    most = max(scenario.tank.ice_mass, *(leg.ice_mass for leg in scenario.leg))
    return most / ice.DENSITY / (MOST_ICE * scenario.tank.fill)


def smallest_tank(scenario: Scenario, trials: Trials) -> tuple[float, str]:
    """Return the smallest tank that keeps every limit of the build sheet.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials

    Returns
    -------
    tuple of (float, str)
        Volume [m3] and the limit that binds it. NaN, and the limit that is missed by least,
        when no tank from an eighth to eight times the present one holds; the smallest looked
        at, when that one holds already: the limit is then empty, or ``ICE_FITS`` when no
        smaller tank holds the ice.
    """
    trials.settle(scenario)
    now, room = scenario.tank.volume, _ice_volume(scenario)
    least = max(now / TANK_SPAN, room)
    volumes = np.geomspace(least, max(now, least) * TANK_SPAN, TANK_SCAN)

    def slack(volume: float) -> tuple[str, float]:
        return tightest(trials.slacks(with_value(scenario, "tank.volume", volume)))

    below: tuple[float, float] | None = None
    nearest = ("", -math.inf)
    for volume in (float(v) for v in volumes):
        limit, left = slack(volume)
        if left >= 0.0:
            if below is None:
                return volume, ICE_FITS if room >= least else ""
            ends = (below[0], volume)
            zero = crossings(ends, (below[1], left), lambda v: slack(v)[1], TANK_TOLERANCE)[0].at
            return zero, slack(zero)[0]
        below = (volume, left)
        nearest = max(nearest, (limit, left), key=lambda pair: pair[1])
    return math.nan, nearest[0]


def tank_against_run(
    scenario: Scenario, trials: Trials, points: Sequence[float] = RUN_SCALES
) -> TankCurve:
    """Return the smallest tank for several lengths of the first full-power leg.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials
        Workbench; it drives each length once.
    points : sequence of float, optional
        Rising multiples of the leg's distance, or duration [-].

    Returns
    -------
    TankCurve
        By the limits and margins of the build sheet; everything else as it is, the share of
        the tank that is filled too.
    """
    trials.settle(scenario)
    number = scenario.first_pass
    leg = scenario.leg[number]
    by = "distance" if leg.distance is not None else "duration"
    now = float(leg.distance or leg.duration or 0.0)
    found = [
        smallest_tank(with_value(scenario, f"leg.{number}.{by}", now * x), trials) for x in points
    ]
    return TankCurve(
        key=f"leg[{number}].{by}",
        kind="length" if by == "distance" else "time",
        run_now=now,
        volume_now=scenario.tank.volume,
        runs=tuple(now * x for x in points),
        volumes=tuple(v for v, _ in found),
        binding=tuple(b for _, b in found),
    )


__all__ = [
    "DUCT_SCALES",
    "ICE_FITS",
    "RUN_SCALES",
    "DuctCurve",
    "TankCurve",
    "net_against_size",
    "smallest_tank",
    "tank_against_run",
]
