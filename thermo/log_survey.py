"""The columns of a log before it is read: what a reader takes them for, and what it cannot tell."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass

from thermo.errors import Problem
from thermo.log_columns import Choice, choose, read_mapping
from thermo.log_layout import layout_of, regular
from thermo.quantity_text import printable


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a file.

    Attributes
    ----------
    place : int
        From 0.
    header, unit : str
        As written; the unit in a row beneath the headers, empty where there is none.
    sample : str
        First filled cell.
    """

    place: int
    header: str
    unit: str
    sample: str


@dataclass(frozen=True, slots=True)
class Survey:
    """The columns of a file.

    Attributes
    ----------
    source : str
        File name, safe to print.
    line : int
        Of the headers.
    columns : tuple of Column
    """

    source: str
    line: int
    columns: tuple[Column, ...]

    def choices(self, mapping: Sequence[str] = ()) -> tuple[list[Choice], list[Problem]]:
        """Return what columns are taken for, and what keeps others from being taken.

        Parameters
        ----------
        mapping : sequence of str
            As :func:`thermo.log_csv.read_log` takes them.

        Returns
        -------
        tuple of (list of Choice, list of Problem)
            The key of a problem is the channel that it is about.
        """
        chosen, problems = read_mapping(mapping)
        headers, units = [c.header for c in self.columns], [c.unit for c in self.columns]
        choices, more = choose(headers, units, chosen, self.line)
        return choices, problems + more


def survey(path: str | os.PathLike[str]) -> Survey:
    """Look at the columns of a log without reading it.

    Parameters
    ----------
    path : str or path-like

    Returns
    -------
    Survey

    Raises
    ------
    LogError
        The file cannot be opened, or holds no columns of numbers.
    """
    source = printable(os.fspath(path), 300)
    with regular(os.fspath(path), source):
        shape = layout_of(os.fspath(path), source)
    columns = zip(shape.header, shape.units, shape.sample, strict=True)
    return Survey(source, shape.header_line, tuple(
        Column(place, header.strip(), unit.strip(), sample)
        for place, (header, unit, sample) in enumerate(columns)))
