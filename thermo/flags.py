"""All hazards in one list, and the verdict they add up to.

To add a hazard: write its function in the file of its subject under ``thermo/hazards`` and put
it into `HAZARDS`.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np

from thermo.conductance import GivenUA
from thermo.gas import FloatArray
from thermo.hazards.boiling import (
    after_boil,
    after_boil_rank,
    coolant_boil,
    coolant_boil_rank,
    coolant_flash,
    coolant_flash_rank,
    flow_lost,
    flow_lost_rank,
    leaking_cap,
    leaking_cap_rank,
    too_cold,
    too_cold_rank,
)
from thermo.hazards.breathing import (
    fuel_reference,
    fuel_reference_rank,
    intake_choke,
    intake_choke_rank,
    intake_hot,
    intake_hot_rank,
    intake_mach,
    intake_mach_rank,
    intake_net,
    intake_net_rank,
)
from thermo.hazards.burning import (
    line_scald,
    line_scald_rank,
    tank_scald,
    tank_scald_rank,
    touch,
    touch_rank,
)
from thermo.hazards.context import CAUTION, DANGER, Context, flag, level_of, when
from thermo.hazards.flowing import (
    air_lock,
    air_lock_rank,
    catalogue_flow,
    catalogue_flow_rank,
    cavitation,
    cavitation_rank,
    low_flow,
    low_flow_rank,
)
from thermo.hazards.margins import AUDIT_PERCENT
from thermo.hazards.standing import freeze, freeze_rank, pick_up, pick_up_rank
from thermo.hazards.vessel import (
    hydraulic_lock,
    hydraulic_lock_rank,
    panel_stress,
    panel_stress_rank,
    relief_lift,
    relief_lift_rank,
    relief_size,
    relief_size_rank,
    trapped_liquid,
    trapped_liquid_rank,
    vacuum,
    vacuum_rank,
)
from thermo.ops import each, ops_of, pick
from thermo.results import RANK, Flag, Verdict


def _at_peak(c: Context) -> tuple[Any, Any, Any, Any]:
    """Return hot flow [kg/s] and inlet [K], cold flow and inlet, at the largest heat. [poly]"""
    history, design = c.solved.told.history, c.solved.cooling.design
    row = np.argmax(history.exchanger_heat, axis=0)
    coolant, drawn = pick(history.coolant, row), pick(history.tank_out, row)
    m_hot = pick(history.hot_flow, row) * design.hot.density(coolant)
    m_cold = pick(history.cold_flow, row) * design.cold.density(drawn)
    return m_hot, coolant, m_cold, pick(history.exchanger_in, row)


def _cautions(c: Context) -> Any:
    """Return how many films of the exchanger are outside the range of their relations. [poly]"""
    design = c.solved.cooling.design
    model: Any = design.conductance
    if isinstance(model, GivenUA):
        return 0.0
    names = [n for n in model.__dataclass_fields__ if isinstance(getattr(model, n), np.ndarray)]

    def count(m_hot: float, t_hot: float, m_cold: float, t_cold: float, *own: float) -> float:
        one = replace(model, **dict(zip(names, own, strict=True))) if names else model
        return float(len(one.cautions(m_hot, design.hot, t_hot, m_cold, design.cold, t_cold)))

    return each(count, *_at_peak(c), *(getattr(model, n) for n in names))


def _over_boiling(c: Context) -> FloatArray:
    """Return how far the return line is over boiling at the tank's pressure [K]. [poly]"""
    history, cold = c.solved.told.history, c.solved.cooling.design.cold
    pressure = c.air.pressure + history.tank_pressure
    return np.asarray(history.tank_in - cold.saturation_temperature(pressure.clip(5e3, 1.0e6)))


def _duct_doubts(c: Context) -> Any:
    """Return how many things make the duct's figures rough. [poly]"""
    if c.driving.intake is None:
        return 0.0
    doubts: Any = c.driving.intake.jump_count
    if c.intake is not None and c.driving.table is not None:
        agreed = c.driving.table.converged.all(axis=0)
        doubts = doubts + ops_of(agreed).where(agreed, 0.0, 1.0)
    return doubts


def out_of_range_rank(c: Context) -> Any:
    """Return the rank of `out_of_range`. [poly]"""
    steams = (_over_boiling(c) > 0.0).any(axis=0)
    boils = ~np.isnan(c.cooling.boils_at_s)
    rough = (_cautions(c) > 0.0) | (_duct_doubts(c) > 0.0) | boils | steams
    return when(rough if np.ndim(rough) else bool(rough), CAUTION)


def audit_rank(c: Context) -> Any:
    """Return the rank of `audit`. [poly]"""
    percent = abs(100.0 * c.audit.residual_fraction)
    return when((percent > AUDIT_PERCENT) | (percent != percent), DANGER)


def out_of_range(c: Context) -> Flag:
    """Correlations used outside their range, and effectiveness-NTU past the first boiling."""
    cooling, history = c.solved.cooling, c.solved.told.history
    design = cooling.design
    moment: int | None = None
    m_hot, t_hot, m_cold, t_cold = _at_peak(c)
    found = list(
        design.conductance.cautions(m_hot, design.hot, t_hot, m_cold, design.cold, t_cold)
    )
    if math.isfinite(c.cooling.boils_at_s):
        moment = int(np.searchsorted(history.time, c.cooling.boils_at_s))
        found.append(
            f"effectiveness-NTU does not hold from {c.cooling.boils_at_s:.0f} s on, when "
            "the coolant first boils"
        )
    hot = np.flatnonzero(_over_boiling(c) > 0.0)
    if len(hot):
        moment = int(hot[0]) if moment is None else min(moment, int(hot[0]))
        found.append(
            f"the return line passes boiling from {c.time_at(int(hot[0])):.0f} s on at the "
            "tank's pressure: effectiveness-NTU does not hold there"
        )
    if float(history.coolant.max()) > design.hot.t_tabled and design.hot.glycol != "none":
        found.append(
            "glycol properties are continued past 100 degC (density 0.4 %, specific heat "
            "1.5 % at 135 degC)"
        )
        soft = len(found) == 1
    else:
        soft = False
    if c.driving.intake is not None:
        found.extend(c.driving.intake.jumps)
        if (
            c.intake is not None
            and c.driving.table is not None
            and not bool(c.driving.table.converged.all())
        ):
            found.append("duct and engine did not agree on a flow at every speed")
    hard = len(found) - (1 if soft else 0)
    return flag(
        c,
        "range",
        level_of(out_of_range_rank(c)),
        (float(hard), 0.0, ""),
        (
            "model",
            "; ".join(found) if found else "every correlation was used inside its range",
            "read the figures named here as rough" if found else "nothing",
        ),
        row=moment,
    )


def audit(c: Context) -> Flag:
    """Residual of the energy account."""
    percent = 100.0 * c.audit.residual_fraction
    bad = not abs(percent) <= AUDIT_PERCENT
    return flag(
        c,
        "audit",
        level_of(audit_rank(c)),
        (percent, AUDIT_PERCENT, "%"),
        (
            "energy account",
            "heat in, pump work and water added must equal what is stored, lost to "
            "air and carried off; otherwise no figure here can be trusted",
            "report the scenario as a fault" if bad else "nothing",
        ),
    )


HAZARDS: tuple[Callable[[Context], Flag], ...] = (
    coolant_boil,
    leaking_cap,
    after_boil,
    flow_lost,
    too_cold,
    tank_scald,
    line_scald,
    coolant_flash,
    touch,
    relief_lift,
    relief_size,
    hydraulic_lock,
    vacuum,
    trapped_liquid,
    panel_stress,
    pick_up,
    freeze,
    cavitation,
    air_lock,
    low_flow,
    catalogue_flow,
    intake_net,
    intake_mach,
    intake_choke,
    intake_hot,
    fuel_reference,
    out_of_range,
    audit,
)
"""Every hazard, in the order in which they are told."""


RANKS: dict[str, Callable[[Context], Any]] = {
    "coolant-boil": coolant_boil_rank,
    "leaking-cap": leaking_cap_rank,
    "after-boil": after_boil_rank,
    "flow-lost": flow_lost_rank,
    "too-cold": too_cold_rank,
    "tank-scald": tank_scald_rank,
    "line-scald": line_scald_rank,
    "coolant-flash": coolant_flash_rank,
    "touch": touch_rank,
    "relief-lift": relief_lift_rank,
    "relief-size": relief_size_rank,
    "hydraulic-lock": hydraulic_lock_rank,
    "vacuum": vacuum_rank,
    "trapped-liquid": trapped_liquid_rank,
    "panel-stress": panel_stress_rank,
    "pick-up": pick_up_rank,
    "freeze": freeze_rank,
    "cavitation": cavitation_rank,
    "air-lock": air_lock_rank,
    "low-flow": low_flow_rank,
    "catalogue-flow": catalogue_flow_rank,
    "intake-net": intake_net_rank,
    "intake-mach": intake_mach_rank,
    "intake-choke": intake_choke_rank,
    "intake-hot": intake_hot_rank,
    "fuel-reference": fuel_reference_rank,
    "range": out_of_range_rank,
    "audit": audit_rank,
}
"""Rank of each hazard, 0 to 2, without its words: also of an array of variants. In the order of
`HAZARDS`."""


def all_flags(context: Context) -> tuple[Flag, ...]:
    """Return every flag of an event, clear ones too.

    Parameters
    ----------
    context : Context

    Returns
    -------
    tuple of Flag
    """
    return tuple(hazard(context) for hazard in HAZARDS)


def decide(flags: tuple[Flag, ...], untrusted: tuple[str, ...]) -> tuple[Verdict, Flag]:
    """Return the verdict and the flag that decides it.

    Parameters
    ----------
    flags : tuple of Flag
    untrusted : tuple of str
        Reasons why no verdict can be given.

    Returns
    -------
    tuple of (str, Flag)
        The worst level; the first flag of that level in the list's order binds. When all are
        clear the boil margin binds: it is what sizes are made by.
    """
    worst = max(flags, key=lambda f: RANK[f.level])
    if untrusted:
        return "no verdict", worst
    return worst.level, worst


__all__ = ["HAZARDS", "RANKS", "Context", "all_flags", "decide"]
