"""What is found of one event or of an array of variants: figures, slacks, ranks, doubts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermo.cooling_run import Solved, audit_of, range_checks, solve_cooling
from thermo.driving import Driving, drive_or_refuse
from thermo.errors import SoakboxError
from thermo.event import AUDIT_LIMIT
from thermo.figures import cooling_figures
from thermo.flags import RANKS, Context
from thermo.hazards.margins import Pair, figures_and_limits
from thermo.intake_figures import timed_figures
from thermo.loop_run import DRY, DRY_SHARE
from thermo.loop_state import JACKET_MASS
from thermo.results import Audit, CoolingFigures, IntakeFigures
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.site_air import site_air
from thermo.trial import slacks_of

COOLING = tuple(
    n for n, f in CoolingFigures.__dataclass_fields__.items() if f.type == "float"
)
INTAKE = (
    "speed_m_per_s", "ram_gain_Pa", "duct_loss_Pa", "net_Pa", "net_dirty_filter_Pa", "recovery",
    "air_flow_kg_per_s", "duct_mach_max", "duct_mach_timed", "density_ratio", "power_ratio",
    "power_ratio_to_bonnet_inlet", "heat_rise_K", "heat_rise_timed_K", "net_least_Pa",
    "losing_share", "momentum_drag_N", "pulsation_factor", "choked",
)
OTHER = ("gas_share_least", "gas_shut_peak_Pa", "pushed_out_m3", "audit_residual")
FIGURES = (*COOLING, *(f"intake_{n}" for n in INTAKE), *OTHER)
"""Figures of every variant; those of the intake are not a number without a duct."""


class StoppedError(SoakboxError):
    """The variants are no longer wanted."""


@dataclass(frozen=True, slots=True)
class Shared:
    """What variants share when nothing that moves the car differs among them.

    Attributes
    ----------
    air : Air
    driving : Driving
    intake : IntakeFigures or None
    """

    air: Air
    driving: Driving
    intake: IntakeFigures | None


@dataclass(frozen=True, slots=True)
class Found:
    """Figures of one event, or of an array of variants.

    Attributes
    ----------
    figures, slacks, ranks : dict of str to (float or ndarray)
    margins : dict of str to tuple
        Figure and limit of each hazard, where they were asked for.
    doubts : list of (bool or ndarray of bool, str)
        Why no verdict can be given, and of which.
    error : float or ndarray
        Largest error of a step over that allowed, where the steps were given.
    dry : bool or ndarray of bool
        Whether the jacket boiled dry.
    stopped : str
        Why the integration ended early, for all.
    """

    figures: dict[str, Any]
    slacks: dict[str, Any]
    ranks: dict[str, Any]
    margins: dict[str, Pair]
    doubts: list[tuple[Any, str]]
    error: Any
    dry: Any
    stopped: str


def share(scenario: Scenario) -> Shared:
    """Drive an event once for all variants.

    Parameters
    ----------
    scenario : Scenario

    Returns
    -------
    Shared

    Raises
    ------
    SoakboxError
        As :func:`thermo.event.solve`.
    """
    air = site_air(scenario)
    driving = drive_or_refuse(scenario, air)
    return Shared(air, driving, timed_figures(scenario, air, driving))


def never() -> bool:
    """Say that the work is wanted to its end."""
    return False


def find(
    scenario: Scenario,
    shared: Shared | None = None,
    grids: Sequence[Sequence[float]] | None = None,
    stopped: Callable[[], bool] = never,
    margins: bool = False,
) -> Found:
    """Solve one event, or an array of variants, for the figures that a verdict hangs on. [poly]

    Parameters
    ----------
    scenario : Scenario
        Its numbers may be arrays.
    shared : Shared, optional
        The event as driven, when that does not differ.
    grids : sequence of sequence of float, optional
        As in :func:`thermo.loop_run.run_loop`.
    stopped : callable
        Asked between the stages; when true the work is given up.
    margins : bool, optional
        Whether figure and limit of each hazard are wanted too.

    Returns
    -------
    Found

    Raises
    ------
    MixedError
        Variants must be run apart.
    SoakboxError
        As :func:`thermo.event.solve`; with ``where`` for those that it is about.
    StoppedError
        If `stopped` said so.
    """
    if shared is None:
        shared = share(scenario)
    _ask(stopped)
    air, driving = shared.air, shared.driving
    solved = solve_cooling(scenario, air, driving, grids=grids)
    _ask(stopped)
    audit = audit_of(solved)
    cooling = cooling_figures(scenario, air, driving, solved, {})
    context = Context(scenario, air, driving, solved, cooling, shared.intake, audit)
    mass = solved.told.history.jacket_mass
    return Found(
        figures=_figures(context, audit),
        slacks=slacks_of(scenario, solved),
        ranks={name: rank(context) for name, rank in RANKS.items()},
        margins=figures_and_limits(context) if margins else {},
        doubts=_doubts(audit, solved, cooling),
        error=solved.run.error,
        dry=mass[-1] <= DRY_SHARE * solved.run.pieces[0].states[0][JACKET_MASS] * (1.0 + 1e-9),
        stopped=solved.run.stopped,
    )


def _ask(stopped: Callable[[], bool]) -> None:
    if stopped():
        raise StoppedError("the variants are no longer wanted")


def _figures(c: Context, audit: Audit) -> dict[str, Any]:
    """Return every figure by its name in `FIGURES`."""
    out = {name: getattr(c.cooling, name) for name in COOLING}
    for name in INTAKE:
        out[f"intake_{name}"] = np.nan if c.intake is None else getattr(c.intake, name)
    pressure, history = c.solved.told.pressure, c.solved.told.history
    out["gas_share_least"] = np.min(history.gas_volume, axis=0) / c.scenario.tank.volume
    out["gas_shut_peak_Pa"] = pressure.shut_peak
    out["pushed_out_m3"] = pressure.pushed_out
    out["audit_residual"] = audit.residual_fraction
    return out


def _doubts(audit: Audit, solved: Solved, cooling: CoolingFigures) -> list[tuple[Any, str]]:
    residual = abs(np.asarray(audit.residual_fraction))
    out: list[tuple[Any, str]] = [
        (~(residual <= AUDIT_LIMIT), "the energy account does not close"),
    ]
    if solved.run.stopped and solved.run.stopped != DRY:
        out.append((True, solved.run.stopped))
    out += range_checks(solved)
    out.append((~np.isfinite(cooling.boil_margin_K), "the boil margin is not a number"))
    return out
