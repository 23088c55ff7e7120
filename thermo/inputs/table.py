"""The base of every table of a scenario file."""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Table(BaseModel):
    """A table of a scenario file: unknown keys are refused, values are frozen, numbers are SI."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)
