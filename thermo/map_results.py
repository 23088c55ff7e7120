"""What a map can show: figures by their JSON names, hazards, and the verdict."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from thermo.ensemble import VariantTable
from thermo.errors import Problem, ScenarioError
from thermo.flags import RANKS
from thermo.hazards.margins import MARGINS, slack_of
from thermo.quantity_text import quoted
from thermo.scenario_problems import nearest
from thermo.variant_figures import COOLING, FIGURES, INTAKE, OTHER

VERDICT = "verdict"

OWN_HAZARD = {
    "boil_margin_K": "coolant-boil",
    "coolant_peak_degC": "coolant-boil",
    "steam_lost_kg": "coolant-boil",
    "boils_at_s": "coolant-boil",
    "after_boil_margin_K": "after-boil",
    "leaking_cap_margin_K": "leaking-cap",
    "flow_lost_boil_s": "flow-lost",
    "tank_peak_degC": "tank-scald",
    "return_line_peak_degC": "line-scald",
    "tank_pressure_peak_Pa": "relief-lift",
    "pushed_out_m3": "relief-lift",
    "tank_vacuum_Pa": "vacuum",
    "gas_share_least": "hydraulic-lock",
    "intake_net_Pa": "intake-net",
    "intake_net_dirty_filter_Pa": "intake-net",
    "intake_duct_mach_max": "intake-mach",
    "intake_choked": "intake-choke",
    "intake_heat_rise_K": "intake-hot",
    "audit_residual": "audit",
}
"""Hazard whose limit is drawn over a figure; over any other it is the verdict's."""

UNITS = (
    ("_W_per_K", "W/K", "conductance"), ("_m3_per_s", "m3/s", "volume_flow"),
    ("_kg_per_s", "kg/s", "mass_flow"), ("_m_per_s", "m/s", "speed"), ("_degC", "degC", ""),
    ("_K", "K", "temperature_difference"), ("_Pa", "Pa", "pressure_difference"),
    ("_kg", "kg", "mass"), ("_m3", "m3", "volume"), ("_J", "J", "energy"), ("_N", "N", "force"),
    ("_m", "m", "length"), ("_s", "s", "time"),
)
"""Endings of the figures' names, the unit, and the kind of quantity."""

GAUGE = ("tank_pressure_peak_Pa", "tank_pressure_end_of_pass_Pa", "tank_vacuum_Pa",
         "gas_shut_peak_Pa")


@dataclass(frozen=True, slots=True)
class Shown:
    """What a map shows.

    Attributes
    ----------
    name : str
        As in the JSON: ``boil_margin_K``, ``intake.net_Pa``, ``coolant-boil.slack``, ``verdict``.
    form : {'verdict', 'figure', 'value', 'slack', 'level'}
    source : str
        The figure, or the hazard.
    unit : str
        Of the values; empty where there is none.
    kind : str
        Kind of quantity of a figure, for units; empty for hazards and plain numbers.
    hazard : str
        Whose limit is drawn; empty for the verdict's.
    """

    name: str
    form: Literal["verdict", "figure", "value", "slack", "level"]
    source: str
    unit: str
    kind: str
    hazard: str

    @property
    def is_level(self) -> bool:
        """Whether the values are levels: 0 clear, 1 caution, 2 danger."""
        return self.form in ("verdict", "level")


def known_results() -> tuple[str, ...]:
    """Return every name that a map can show."""
    hazards = [f"{name}{end}" for name in MARGINS for end in ("", ".slack")]
    levels = [f"{name}.level" for name in RANKS]
    return (
        VERDICT, *COOLING, *(f"intake.{name}" for name in INTAKE), *OTHER, *hazards, *levels,
    )


def shown_of(text: str, option: str = "--show") -> Shown:
    """Return what a name asks for.

    Parameters
    ----------
    text : str
        A figure by its JSON name, with or without ``cooling.`` or ``intake.``; a hazard (its
        figure), with ``.slack`` or ``.level``; or ``verdict``.
    option : str
        For messages.

    Returns
    -------
    Shown

    Raises
    ------
    ScenarioError
        With the nearest known name.
    """
    name = text.strip()
    if name == VERDICT:
        return Shown(VERDICT, "verdict", VERDICT, "", "", "")
    figure = name.removeprefix("cooling.")
    for source in (figure, f"intake_{name.removeprefix('intake.')}"):
        if source in FIGURES and not (source != figure and name in FIGURES):
            return _figure(source)
    hazard, _, end = name.partition(".")
    if hazard in RANKS and end == "level":
        return Shown(name, "level", hazard, "", "", hazard)
    if hazard in MARGINS and end in ("", "value", "slack"):
        unit = MARGINS[hazard][0]
        if end == "slack":
            return Shown(name, "slack", hazard, "K" if unit == "degC" else unit, "", hazard)
        return Shown(hazard, "value", hazard, unit, "", hazard)
    bare = hazard in RANKS and hazard not in MARGINS
    words = (
        f"{hazard} has no figure that is worked out for maps; {hazard}.level is shown"
        if bare else "no such result, or none that is worked out for maps"
    )
    near = "" if bare else nearest(name, known_results())
    raise ScenarioError(option, [Problem("", quoted(text), words, suggestion=near)])


def _figure(source: str) -> Shown:
    name = f"intake.{source[7:]}" if source.startswith("intake_") else source
    unit, kind = next(((u, k) for end, u, k in UNITS if source.endswith(end)), ("", ""))
    if source in GAUGE:
        kind = "pressure_gauge"
    return Shown(name, "figure", source, unit, kind or _point(unit), OWN_HAZARD.get(source, ""))


def _point(unit: str) -> str:
    return "temperature" if unit == "degC" else ""


def values_of(shown: Shown, table: VariantTable) -> Any:
    """Return what is shown of each variant.

    Parameters
    ----------
    shown : Shown
    table : VariantTable
        With the margins of the hazards.

    Returns
    -------
    ndarray
        In the unit of `shown`; not a number where a variant failed or has no such number.
    """
    if shown.form == "verdict":
        return np.where(table.level >= 0, table.level, np.nan)
    if shown.form == "level":
        ranks = table.ranks[shown.source]
        return np.where(table.ok, ranks, np.nan)
    if shown.form == "figure":
        return table.figures[shown.source]
    value, limit = table.values[shown.source], table.limits[shown.source]
    return value if shown.form == "value" else slack_of(shown.source, value, limit)


def ranks_of(shown: Shown, table: VariantTable) -> Any:
    """Return the rank of each variant by the hazard whose limit is drawn; -1 without a verdict."""
    ranks = table.ranks[shown.hazard] if shown.hazard else table.level
    return np.where(table.ok, ranks, -1)
