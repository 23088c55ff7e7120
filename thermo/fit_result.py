"""Results of a fit as JSON, and what they come to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from thermo.fields import quantity_of
from thermo.fit import Fit
from thermo.fit_next import Outlook
from thermo.fit_notebook import NotebookFit
from thermo.fit_parameters import Fitted
from thermo.log_checks import Finding
from thermo.log_csv import Log
from thermo.scenario import Scenario

HALF = 0.5
"""Share of the samples that decides whether the next pass counts as a danger."""


def plain(value: float) -> float | None:
    """Return a number for JSON, None where there is none."""
    return value if math.isfinite(value) else None


def bounds_of(fitted: Sequence[Fitted]) -> tuple[tuple[float, float], ...]:
    """Return what each fitted input may be at all [SI]."""
    found = []
    for one in fitted:
        quantity = quantity_of(Scenario, one.key)
        if quantity is None:
            raise KeyError(one.key)
        found.append(quantity.range_si)
    return tuple(found)


def level_of(outlook: Outlook) -> int:
    """Return the exit status of one outlook.

    Parameters
    ----------
    outlook : Outlook

    Returns
    -------
    int
        3 where most samples have no verdict, 1 where most end in danger, else 0.
    """
    if outlook.failed > HALF:
        return 3
    return 1 if outlook.danger > HALF else 0


def fitted_json(fitted: Sequence[Fitted]) -> list[dict[str, Any]]:
    """Return fitted inputs for JSON, SI."""
    return [
        {"key": one.key, "kind": one.kind, "before": plain(one.before), "value": plain(one.value),
         "low_95": plain(one.low95), "high_95": plain(one.high95),
         "low_90": plain(one.low90), "high_90": plain(one.high90)}
        for one in fitted
    ]


def outlooks_json(outlooks: Sequence[Outlook]) -> list[dict[str, Any]]:
    """Return what the next pass may bring for JSON, SI."""
    return [
        {
            "day": one.title, "danger_share": one.danger, "caution_share": one.caution,
            "no_verdict_share": one.failed,
            "figures": [
                {"name": row.name, "kind": row.kind, "before": plain(row.before),
                 "median": plain(row.middle), "low_95": plain(row.low),
                 "high_95": plain(row.high)}
                for row in one.rows
            ],
        }
        for one in outlooks
    ]


def fit_json(
    title: str, log: Log, found: Fit, findings: Sequence[Finding], outlooks: Sequence[Outlook]
) -> dict[str, Any]:
    """Return the fit of a log for JSON.

    Parameters
    ----------
    title : str
    log : Log
    found : Fit
    findings : sequence of Finding
    outlooks : sequence of Outlook

    Returns
    -------
    dict
        SI.
    """
    return {
        "schema": 1,
        "scenario": title,
        "fit": "log",
        "log": log.source,
        "log_sha256": log.sha256,
        "fitted": fitted_json(found.fitted),
        "sd_after_over_before": dict(
            zip((p.name for p in found.parameters), found.told, strict=True)),
        "correlation": [[float(x) for x in row] for row in found.correlation],
        "cannot_tell": list(found.words),
        "not_followed": list(found.poor),
        "misfit": {c: {"before": b, "after": a} for c, (b, a) in found.misfit.items()},
        "sensors": [
            {"what": n.title, "channel": n.channel, "kind": n.kind, "value": n.value,
             "standard_error": n.error} for n in found.nuisances
        ],
        "passes": [p.number for e in found.events for p in e.passes],
        "findings": findings_json(findings),
        "next": outlooks_json(outlooks),
    }


def findings_json(findings: Sequence[Finding]) -> list[dict[str, Any]]:
    """Return what was found about a log for JSON."""
    return [
        {"name": f.name, "channel": f.channel, "column": f.column, "lines": list(f.lines),
         "stops": f.stops, "why": f.why, "mend": [m.text for m in f.mend]} for f in findings
    ]


def notebook_json(
    title: str, found: NotebookFit, outlooks: Sequence[Outlook]
) -> dict[str, Any]:
    """Return a notebook fit for JSON.

    Parameters
    ----------
    title : str
    found : NotebookFit
    outlooks : sequence of Outlook

    Returns
    -------
    dict
        SI.
    """
    return {
        "schema": 1,
        "scenario": title,
        "fit": "notebook",
        "heat_J": found.heat,
        "heat_standard_error_J": found.heat_error,
        "brake_energy_J": found.brake_energy,
        "heat_share": found.share,
        "heat_share_standard_error": found.share_error,
        "balance": [
            {"term": t.name, "heat_J": t.heat, "of": [
                part if isinstance(part, str) else {"value": part[0], "kind": part[1]}
                for part in t.how]}
            for t in found.terms
        ],
        "standard_error_of_share_by_cause": dict(found.parts_of_error),
        "fitted": fitted_json(found.fitted),
        "next": outlooks_json(outlooks),
        "notes": list(found.notes),
    }
