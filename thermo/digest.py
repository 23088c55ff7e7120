"""A short name for the content of a scenario, to tell a page apart from one of another plan."""

from __future__ import annotations

import hashlib
import json
from typing import Any

from thermo.scenario import Scenario

DIGITS = 12
"""Digits of the digest that are told: two plans out of a million share them once in 500 tries."""


def digest_of(scenario: Scenario) -> str:
    """Return the first digits of the SHA-256 of what a scenario says.

    Parameters
    ----------
    scenario : Scenario
        With its overrides and defaults: what the engine is told, title included. How a file is
        laid out, its comments and the units in which a value is typed change nothing.

    Returns
    -------
    str
        Twelve hexadecimal digits.
    """
    content = json.dumps(_plain(scenario.model_dump(by_alias=True)), sort_keys=True)
    return hashlib.sha256(content.encode("utf-8")).hexdigest()[:DIGITS]


def _plain(value: Any) -> Any:
    """Write floats with twelve digits, so that a change of units leaves them alike."""
    if isinstance(value, float):
        return f"{value + 0.0:.12g}"
    if isinstance(value, dict):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(v) for v in value]
    return value
