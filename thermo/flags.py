"""All hazards in one list, and the verdict they add up to.

To add a hazard: write its function in the file of its subject under ``thermo/hazards`` and put
it into `HAZARDS`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

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
from thermo.hazards.flowing import catalogue_flow, catalogue_flow_rank, low_flow, low_flow_rank
from thermo.hazards.margins import AUDIT_PERCENT
from thermo.hazards.relieving import relief_lift, relief_lift_rank, relief_size, relief_size_rank
from thermo.hazards.standing import freeze, freeze_rank, pick_up, pick_up_rank
from thermo.hazards.suction import air_lock, air_lock_rank, cavitation, cavitation_rank
from thermo.hazards.vessel import (
    hydraulic_lock,
    hydraulic_lock_rank,
    panel_stress,
    panel_stress_rank,
    trapped_liquid,
    trapped_liquid_rank,
    vacuum,
    vacuum_rank,
)
from thermo.results import RANK, Flag, Verdict
from thermo.rough import duct_doubts, film_cautions, over_boiling, range_doubts


def out_of_range_rank(c: Context) -> Any:
    """Return the rank of `out_of_range`. [poly]"""
    steams = (over_boiling(c) > 0.0).any(axis=0)
    boils = ~np.isnan(c.cooling.boils_at_s)
    rough = (film_cautions(c) > 0.0) | (duct_doubts(c) > 0.0) | boils | steams
    return when(rough if np.ndim(rough) else bool(rough), CAUTION)


def audit_rank(c: Context) -> Any:
    """Return the rank of `audit`. [poly]"""
    percent = abs(100.0 * c.audit.residual_fraction)
    return when((percent > AUDIT_PERCENT) | (percent != percent), DANGER)


def out_of_range(c: Context) -> Flag:
    """Correlations used outside their range, and effectiveness-NTU past the first boiling."""
    found = range_doubts(c)
    rows = [d.row for d in found if d.row is not None]
    return flag(
        c,
        "range",
        level_of(out_of_range_rank(c)),
        (float(sum(not d.soft for d in found)), 0.0, ""),
        (
            "model",
            "; ".join(d.words for d in found)
            if found
            else "every correlation was used inside its range",
            "read the figures named here as rough" if found else "nothing",
        ),
        row=min(rows, default=None),
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
