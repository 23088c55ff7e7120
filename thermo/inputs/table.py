"""The base of every table of a scenario file."""

from __future__ import annotations

from typing import Any, Self

from pydantic import BaseModel, ConfigDict, model_validator

Conflict = tuple[Any, str]
"""Whether inputs contradict one another, of variants one truth each, and that in words."""


class Table(BaseModel):
    """A table of a scenario file: unknown keys are refused, values are frozen, numbers are SI."""

    model_config = ConfigDict(extra="forbid", frozen=True, str_strip_whitespace=True)

    def conflicts(self) -> list[Conflict]:
        """Return what inputs of this table may contradict one another in. [poly]

        Returns
        -------
        list of (bool or ndarray of bool, str)
            In the order in which they are told; a table with none that holds may be used.
        """
        return []

    @model_validator(mode="after")
    def _consistent(self) -> Self:
        for wrong, words in self.conflicts():
            if wrong:
                raise ValueError(words)
        return self
