"""Logs as loggers write them, in several layouts, and what a log that was read must be."""

from __future__ import annotations

import numpy as np

from thermo.log_csv import Log


def _rows(clock: bool = False) -> list[list[str]]:
    out = []
    for i in range(40):
        t = 0.5 * i
        when = f"12:00:{t:05.2f}" if clock else f"{t:.2f}"
        out.append([when, f"{80 + 0.3 * i:.1f}", f"{25 + 0.1 * i:.1f}", f"{4.0 * i:.1f}", "4200"])
    return out


def _text(head: list[str], rows: list[list[str]], sign: str = ",", point: str = ".") -> bytes:
    lines = [*head, *(sign.join(cell.replace(".", point) for cell in row) for row in rows)]
    return ("\n".join(lines) + "\n").encode()


_HEAD = "Time [s],ECT [degC],Tank out [degC],Speed [km/h],RPM"
LOGS = (
    _text([_HEAD], _rows()),
    _text(["Logger,V2", "Run,3", "Time,Coolant,Tank,GPS Speed,RPM", "s,C,C,mph,rpm"], _rows(True)),
    _text([_HEAD.replace(",", ";")], _rows(), ";", ","),
    _text([_HEAD], _rows() * 3),
    b"\xff\xfe" + _text([_HEAD.replace(",", "\t")], _rows(), "\t").decode().encode("utf-16-le"),
)
"""Plain; lines before the header, a row of units and a clock; semicolons and decimal commas; three
recordings in one file; UTF-16 with tabs."""


def sound(log: Log) -> None:
    """Hold a log to what its readers rely on.

    Parameters
    ----------
    log : Log

    Raises
    ------
    AssertionError
        Naming what it is not.
    """
    size = len(log.time)
    assert size >= 10, f"{size} rows"
    assert np.isfinite(log.time).all(), "a time that is no number"
    assert (np.diff(log.time) > 0.0).all(), "time does not rise"
    assert len(log.line) == size, "lines"
    assert (np.diff(log.line) > 0).all(), "lines do not rise"
    for name, values in log.values.items():
        assert len(values) == size, f"{name}: {len(values)} of {size} rows"
        assert not np.isinf(values).any(), f"{name} is endless"
    assert all(0 <= first < size for first in log.sections), f"sections {log.sections}"
    words = [log.source, *log.unused, *(note.words for note in log.notes)]
    assert all(word.isprintable() for word in words), "control characters in a note"
    assert len(log.notes) <= 200, f"{len(log.notes)} notes"
