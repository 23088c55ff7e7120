"""The hot-weather table as rows for CSV and as JSON."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.hazards.margins import MARGINS
from thermo.survival import AIR, Reach
from thermo.weather import TANK, Cell, WeatherTable


def rows_of(table: WeatherTable) -> list[list[str]]:
    """Return the table as rows for CSV, one a cell, header first.

    Parameters
    ----------
    table : WeatherTable

    Returns
    -------
    list of list of str
        Temperatures in degC; empty where there is no number.
    """
    tank = table.columns.key == TANK
    header = [
        "air_temperature_degC", "tank_start_degC" if tank else "queue_s", "verdict", "binding",
        "value", "limit", "unit", "boil_margin_K", "after_boil_margin_K", "reason",
    ]
    shift = 273.15 if tank else 0.0
    return [header, *(
        [
            f"{c.air - 273.15:.6g}", f"{c.column - shift:.6g}", c.verdict, c.binding,
            *(f"{x:.6g}" if math.isfinite(x) else "" for x in (c.value, c.limit)), c.unit,
            *(f"{x:.6g}" if math.isfinite(x) else "" for x in
              (c.boil_margin, c.after_boil_margin)), c.reason,
        ]
        for row in table.cells for c in row
    )]


def to_json(table: WeatherTable) -> dict[str, Any]:
    """Return the table in the form of ``soakbox weather --json``.

    Parameters
    ----------
    table : WeatherTable

    Returns
    -------
    dict
        JSON-ready; null where there is no number.
    """
    tank = table.columns.key == TANK
    own = "tank_start_degC" if tank else "queue_s"

    def plain(x: float, digits: int = 6) -> float | None:
        return float(np.round(x, digits)) if math.isfinite(x) else None

    def column(x: float) -> float | None:
        return plain(x - 273.15 if tank else x)

    def cell(c: Cell) -> dict[str, Any]:
        return {
            "air_temperature_degC": plain(c.air - 273.15),
            own: column(c.column),
            "verdict": c.verdict, "binding": c.binding or None, "value": plain(c.value),
            "limit": plain(c.limit), "unit": c.unit, "boil_margin_K": plain(c.boil_margin),
            "after_boil_margin_K": plain(c.after_boil_margin), "reason": c.reason or None,
        }

    def reach(r: Reach) -> dict[str, Any]:
        return {
            "state": r.state, "hottest_air_degC": plain(r.hottest - 273.15),
            "best_air_degC": plain(r.best_air - 273.15), "best_value": plain(r.best_value),
            "best_limit": plain(r.best_limit), "reason": r.reason or None,
        }

    return {
        "schema": 1,
        "scenario": table.title,
        "digest": table.digest,
        "verdict": table.planned.verdict,
        "rows": AIR,
        "columns": table.columns.key,
        "queue": table.queue or None,
        "planned": cell(table.planned),
        "cells": [cell(c) for row in table.cells for c in row],
        "counts": table.counts,
        "tank_above_air_K": plain(table.offset),
        "air_looked_at_degC": [plain(x - 273.15) for x in table.scanned],
        "hottest_air": [
            {
                "limit": s.hazard, "stays_clear_of": s.level,
                "unit": MARGINS[s.hazard][0] if s.hazard in MARGINS else "",
                "columns": [
                    {own: column(x), **reach(r)}
                    for x, r in zip(table.columns.values, s.reaches, strict=False)
                ],
                "tank_with_the_air": reach(s.reaches[-1]),
            }
            for s in table.survivals
        ],
        "assumed": list(table.assumed),
    }
