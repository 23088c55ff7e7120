"""The text of ``soakbox verify``: a table of published numbers, and what this machine makes."""

from __future__ import annotations

from itertools import groupby

from thermo.published.verification import Checked
from thermo.units import format_number
from tui.wording import wrap


def _number(value: float | None) -> str:
    return "none" if value is None else format_number(value, 7)


HEAD = f"       {'number':<29}{'expected':>12}{'got':>12}  tolerance"
LABEL = 28
"""Letters of a label that fit into the table's column; a longer one has a line to itself."""


def number_line(row: Checked) -> str:
    """Return one number: whether it holds, expected, got, tolerance."""
    mark = "ok  " if row.holds else "MISS"
    label = f"{row.label} [{row.unit}]" if row.unit else row.label
    if len(label) > LABEL:
        label = f"{label}\n{'':36}"
    line = f"  {mark} {label:<29}{_number(row.expected):>12}{_number(row.got):>12}"
    told = wrap(f"         {row.error}", 9) if row.error else ""
    return "\n".join(filter(None, (f"{line}  {row.tolerance}", told)))


def case_lines(rows: list[Checked]) -> list[str]:
    """Return one case: what, source, provenance, and its numbers."""
    first = rows[0]
    return [
        wrap(f"{first.id}  {first.what}", 8),
        wrap(f"        {first.source}; {first.provenance}", 8),
        *(number_line(r) for r in rows),
    ]


def summary(checked: list[Checked]) -> str:
    """Return the line that says whether the numbers can be trusted."""
    missed = [c for c in checked if not c.holds]
    cases = len({c.id for c in checked})
    if not missed:
        return wrap(
            f"ALL HOLD: {len(checked)} published numbers of {cases} cases, each within its "
            "tolerance."
        )
    ids = ", ".join(dict.fromkeys(c.id for c in missed))
    return wrap(
        f"MISSED: {len(missed)} of {len(checked)} published numbers ({ids}). What this machine "
        "computes cannot be trusted."
    )


def verify_text(checked: list[Checked], versions: dict[str, str], brief: bool = False) -> str:
    """Return the whole text of ``soakbox verify``.

    Parameters
    ----------
    checked : list of Checked
    versions : dict of str
        Of the libraries.
    brief : bool
        Whether to leave out cases that hold.

    Returns
    -------
    str
        Lines of at most 80 columns.
    """
    lines = [wrap(", ".join(f"{k} {v}" for k, v in versions.items())), "", HEAD, ""]
    for _, group in groupby(checked, key=lambda c: c.id):
        rows = list(group)
        if not brief or not all(r.holds for r in rows):
            lines += [*case_lines(rows), ""]
    return "\n".join([*lines, summary(checked)])
