"""All hazards in one list, and the verdict they add up to.

To add a hazard: write its function in the file of its subject under ``thermo/hazards`` and put
it into `HAZARDS`.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np

from thermo.hazards.boiling import (
    after_boil,
    coolant_boil,
    coolant_flash,
    flow_lost,
    leaking_cap,
    too_cold,
)
from thermo.hazards.breathing import (
    fuel_reference,
    intake_choke,
    intake_hot,
    intake_mach,
    intake_net,
)
from thermo.hazards.burning import line_scald, tank_scald, touch
from thermo.hazards.context import Context, flag
from thermo.hazards.flowing import air_lock, catalogue_flow, cavitation, low_flow
from thermo.hazards.vessel import (
    freeze,
    hydraulic_lock,
    panel_stress,
    pick_up,
    relief_lift,
    relief_size,
    trapped_liquid,
    vacuum,
)
from thermo.results import RANK, Flag, Verdict

AUDIT_PERCENT = 0.5
"""Residual of the energy account above which no verdict is given [%]."""


def out_of_range(c: Context) -> Flag:
    """Correlations used outside their range, and effectiveness-NTU past the first boiling."""
    cooling, history = c.solved.cooling, c.solved.told.history
    design = cooling.design
    row = c.peak(history.exchanger_heat)
    moment: int | None = None
    m_hot = float(history.hot_flow[row]) * float(design.hot.density(history.coolant[row]))
    m_cold = float(history.cold_flow[row]) * float(design.cold.density(history.tank_out[row]))
    found = list(
        design.conductance.cautions(
            m_hot,
            design.hot,
            float(history.coolant[row]),
            m_cold,
            design.cold,
            float(history.exchanger_in[row]),
        )
    )
    if math.isfinite(c.cooling.boils_at_s):
        moment = int(np.searchsorted(history.time, c.cooling.boils_at_s))
        found.append(
            f"effectiveness-NTU does not hold from {c.cooling.boils_at_s:.0f} s on, when "
            "the coolant first boils"
        )
    pressure = c.air.pressure + history.tank_pressure
    boiling = design.cold.saturation_temperature(pressure.clip(5e3, 1.0e6))
    over = history.tank_in - boiling
    hot = np.flatnonzero(over > 0.0)
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
        "caution" if hard else "clear",
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
        "danger" if bad else "clear",
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


__all__ = ["HAZARDS", "Context", "all_flags", "decide"]
