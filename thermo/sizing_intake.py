"""Sizes of the intake: smallest duct and next stock tube, and the speeds at which it helps."""

from __future__ import annotations

import itertools
import math
from functools import partial

import numpy as np

from thermo.answers import Answer, Setting
from thermo.driving import Driving
from thermo.errors import InfeasibleError, SoakboxError
from thermo.inputs.air import Intake, Part
from thermo.intake import IntakeModel
from thermo.intake_build import build_intake
from thermo.intake_figures import timed_speed
from thermo.intake_parts import SHARED
from thermo.intake_pass import pass_air
from thermo.results import EventResult
from thermo.roots import crossings
from thermo.scenario import Scenario
from thermo.stock import STOCK, StockTube, next_stock_size
from thermo.trial import Trials

LOWEST_SCALE, HIGHEST_SCALE, SCALES = 0.35, 3.0, 9

ROUNDS, SETTLED = 6, 1e-5
"""Most rounds in which size and speed are brought together, and the share by which a size may
still move."""


def scaled(intake: Intake, scale: float) -> Intake:
    """Return an intake with every bore, width and height of its ducts scaled."""

    def grown(part: Part) -> Part:
        if part.path == SHARED:
            return part
        sizes = {
            k: getattr(part, k) * scale
            for k in ("bore", "width", "height", "to_bore")
            if getattr(part, k) is not None
        }
        return part.model_copy(update=sizes)

    return intake.model_copy(update={"part": tuple(grown(p) for p in intake.part)})


def _side(intake: Intake, now: float) -> float:
    """Bore of the first tube, or the side of the square of the same area [m]."""
    part = next((p for p in intake.part if p.kind == "box-tube" and p.width == now), None)
    if part is None or part.height is None:
        return now
    return math.sqrt(now * part.height)


def duct_settings(intake: Intake, scale: float) -> tuple[Setting, ...]:
    """Return the settings that scale every size of the ducts."""
    return tuple(
        Setting(f"intake.part[{i}].{k}", getattr(part, k) * scale, "length", "more")
        for i, part in enumerate(intake.part)
        if part.path != SHARED
        for k in ("bore", "width", "height", "to_bore")
        if getattr(part, k) is not None
    )


def resized(model: IntakeModel, scale: float) -> IntakeModel:
    """Return an intake model with every bore, width and height of its ducts scaled."""
    return build_intake(
        scaled(model.table, scale),
        model.engine,
        model.air,
        model.head_wind,
        (model.base_power, model.turns),
        (model.specific_consumption, model.air_fuel_ratio),
    )


def _slack(
    model: IntakeModel, speeds: tuple[float, ...], share: float, mach: float
) -> tuple[str, float]:
    """Tightest of kept ram [Pa] and Mach number, as a limit's name and slack [kPa, 10 x Mach].

    The ram kept is that at the first speed; the Mach number the largest of all.
    """
    at = model.solve(speeds)
    gain = float(np.asarray(at.ram.ram)[0])
    if bool(at.choked.any()):
        return "choking", -1e3
    kept = (float(at.net[0]) - share * gain) * 1e-3
    fast = 10.0 * (mach - float(at.mach.max()))
    return ("share of the nose gain kept", kept) if kept <= fast else ("Mach number", fast)


def widest(intake: Intake) -> tuple[str, float, str]:
    """Return key, size and shape of the part that names the duct: its first tube."""
    parts = [(i, p) for i, p in enumerate(intake.part) if p.path != SHARED]
    number, part = next(
        ((i, p) for i, p in parts if p.kind in ("tube", "box-tube", "flexible")), parts[0]
    )
    if part.width is not None and part.height is not None:
        return f"intake.part[{number}].width", part.width, "square"
    return f"intake.part[{number}].bore", float(part.bore or 0.0), "round"


def smallest_duct(
    scenario: Scenario,
    model: IntakeModel,
    speeds: tuple[float, ...],
    stock: tuple[StockTube, ...] = STOCK,
) -> Answer:
    """Return the smallest duct that keeps the chosen share of the nose gain.

    Parameters
    ----------
    scenario : Scenario
    model : IntakeModel
    speeds : tuple of float
        Timed speed, at which the share is kept, then others of the pass at which the Mach number
        is watched too [m/s].
    stock : tuple of StockTube
        Tubes to choose from.

    Returns
    -------
    Answer
        All sizes of the duct scale together; the answer names its first tube, and the next
        stock tube is in the note.
    """
    key, now, shape = widest(model.table)
    share, mach = scenario.limits.ram_share, scenario.limits.mach
    make = partial(
        Answer,
        name="duct-size",
        title="smallest duct",
        group="intake",
        kind="length",
        key=key,
        now=now,
    )
    scales = [float(x) for x in np.geomspace(LOWEST_SCALE, HIGHEST_SCALE, SCALES)]
    found = [_slack(resized(model, x), speeds, share, mach) for x in scales]
    slack = [s for _, s in found]
    if all(s < 0.0 for s in slack):
        best = int(np.argmax(slack))
        return make(
            value=None,
            binding=found[best][0],
            best=slack[best],
            note=f"no duct up to {HIGHEST_SCALE:g} times this one keeps "
            f"{100 * share:.0f} % of the nose gain: what does not scale with the bore "
            "(filter, what the opening misses) already takes more",
        )
    at = [
        c.at
        for c in crossings(
            scales, slack, lambda x: _slack(resized(model, x), speeds, share, mach)[1], 1e-8
        )
    ]
    scale = min(
        (x for x in at if x <= next(s for s, g in zip(scales, slack, strict=True) if g >= 0.0)),
        default=scales[0],
    )
    value = now * scale
    limit = _slack(resized(model, scale), speeds, share, mach)[0]
    try:
        tube = next_stock_size(scale * _side(model.table, now), shape, stock)
        note = f"next stock tube: {tube.name}, bore {tube.bore * 1e3:.1f} mm"
    except InfeasibleError as error:
        note = str(error)
    return make(
        value=value,
        binding=limit,
        crossings=tuple(now * x for x in at),
        put=duct_settings(model.table, scale),
        note=f"all parts of the duct scaled by {scale:.3f} from what they are; {note}",
    )


def speed_answers(model: IntakeModel, result: EventResult) -> list[Answer]:
    """Return the lowest and the highest speed at which the duct helps."""
    duct = result.intake
    if duct is None:
        return []
    speeds = np.asarray(duct.speeds_m_per_s)
    net = np.asarray(duct.net_against_speed_Pa)
    zeros = duct.crossings_m_per_s
    lowest = partial(
        Answer,
        name="lowest-useful-speed",
        title="lowest speed at which it helps",
        group="intake",
        kind="speed",
        key="",
        now=duct.speed_m_per_s,
    )
    highest = partial(
        Answer,
        name="highest-useful-speed",
        title="highest speed at which it helps",
        group="intake",
        kind="speed",
        key="",
        now=duct.speed_m_per_s,
    )
    if not np.any(net > 0.0):
        none = (
            f"none up to {speeds[-1]:.0f} m/s: the duct loses more than the nose gains; least loss "
            f"{-float(np.max(net)):.0f} Pa"
        )
        return [
            lowest(value=None, binding="net gain zero", crossings=zeros, note=none),
            highest(value=None, binding="net gain zero", note="it helps at no speed looked at"),
        ]
    falls = [z for z in zeros if _falls_at(model, z)]
    lost = _lost_between(zeros, falls)
    if zeros and zeros[0] not in falls:
        low = lowest(value=zeros[0], binding="net gain zero", crossings=zeros, note=lost)
    else:
        note = "; ".join(x for x in ("it helps from the lowest speed looked at", lost) if x)
        low = lowest(
            value=float(speeds[0]),
            binding="" if zeros else "net gain zero",
            crossings=zeros,
            note=note,
        )
    if zeros and zeros[-1] in falls:
        top = highest(value=zeros[-1], binding="net gain zero", crossings=zeros, note=lost)
    else:
        note = "; ".join(x for x in ("it helps up to the end of the speeds looked at", lost) if x)
        top = highest(value=float(speeds[-1]), binding="", note=note)
    return [low, top]


def _lost_between(zeros: tuple[float, ...], falls: list[float]) -> str:
    """Return between which speeds a duct that helps below and above them does not, in words."""
    spans = [
        f"{low:.1f} m/s and {high:.1f} m/s"
        for low, high in itertools.pairwise(zeros)
        if low in falls and high not in falls
    ]
    return f"it loses between {', and between '.join(spans)}" if spans else ""


def _falls_at(model: IntakeModel, speed: float) -> bool:
    pair = model.solve([max(speed - 0.5, 0.0), speed + 0.5]).net
    return float(pair[1]) < float(pair[0])


def intake_answers(
    scenario: Scenario, trials: Trials, result: EventResult, stock: tuple[StockTube, ...] = STOCK
) -> list[Answer]:
    """Return every size of the intake.

    Parameters
    ----------
    scenario : Scenario
    trials : Trials
    result : EventResult
    stock : tuple of StockTube
        Tubes to choose from.

    Returns
    -------
    list of Answer
    """
    _, driving = trials.driven(scenario)
    model = driving.intake
    if model is None:
        return []
    duct = smallest_duct(scenario, model, _watched(scenario, driving), stock)
    # A smaller duct makes the car slower, and it is at the speed it then has that it is to hold.
    for _ in range(ROUNDS):
        if duct.value is None or duct.now is None:
            break
        before = duct.value
        other = scenario.model_copy(update={"intake": scaled(model.table, before / duct.now)})
        try:
            speeds = _watched(other, trials.driven(other)[1])
        except SoakboxError:
            break
        duct = smallest_duct(scenario, model, speeds, stock)
        if duct.value is not None and abs(duct.value - before) < SETTLED * before:
            break
    return [duct, *speed_answers(model, result)]


def _watched(scenario: Scenario, driving: Driving) -> tuple[float, ...]:
    """Return the timed speed, and the speed at which the duct runs fastest in the pass [m/s]."""
    worst = pass_air(driving)
    timed = timed_speed(scenario, driving)
    return (timed,) if worst is None else (timed, worst.mach.speed)


__all__ = [
    "duct_settings",
    "intake_answers",
    "resized",
    "scaled",
    "smallest_duct",
    "speed_answers",
    "widest",
]
