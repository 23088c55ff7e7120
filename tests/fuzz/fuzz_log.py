"""Fuzz the reader of logs: ``python -m tests.fuzz.fuzz_log -runs=200000``.

Done so far: 202,900 inputs since the last that broke.
"""

from __future__ import annotations

import os
import tempfile
import warnings

import atheris

with atheris.instrument_imports(include=["thermo", "csv"]):
    from thermo.errors import SoakboxError
    from thermo.log_csv import read_log
    from thermo.log_survey import survey
from tests.fuzz.logs import LOGS, sound
from tests.fuzz.mangled import changed
from tests.fuzz.watch import Watch, run, told

FOLDER = tempfile.mkdtemp()
PLACE = os.path.join(FOLDER, "one.csv")
MAPPINGS: tuple[tuple[str, ...], ...] = (
    (), (), ("time=0:s",), ("speed=-",), ("coolant_out=ECT:degF", "time=Time:ms"),
)
watch = Watch()


def longer(feed: atheris.FuzzedDataProvider, lines: list[bytes], at: int) -> None:
    """Repeat what a line says within it."""
    lines[at] = (lines[at] * feed.ConsumeIntInRange(1, 300))[:2000]


def again(feed: atheris.FuzzedDataProvider, lines: list[bytes], at: int) -> None:
    """Repeat all from a line on."""
    lines += lines[at:] * feed.ConsumeIntInRange(0, 4)


def other_cell(feed: atheris.FuzzedDataProvider, lines: list[bytes], at: int) -> None:
    """Write over one cell of a line."""
    cells = lines[at].split(b",")
    cells[feed.ConsumeIntInRange(0, len(cells) - 1)] = feed.ConsumeBytes(30)
    lines[at] = b",".join(cells)


WAYS = (longer, again, other_cell)


def one(data: bytes) -> None:
    """Read one file: a log that is sound, or a refusal safe to print."""
    feed = atheris.FuzzedDataProvider(data)
    mapping = MAPPINGS[feed.ConsumeIntInRange(0, len(MAPPINGS) - 1)]
    raw = feed.ConsumeBool()
    text = (
        feed.ConsumeBytes(feed.remaining_bytes()) if raw else changed(feed, LOGS, WAYS, 8)[:50_000]
    )
    with open(PLACE, "wb") as file:
        file.write(text)
    try:
        with watch.over(PLACE):
            survey(PLACE)
            log = read_log(PLACE, mapping)
        sound(log)
    except SoakboxError as error:
        told(error)


def main() -> None:
    """Fuzz, from the logs of :mod:`tests.fuzz.logs` on."""
    warnings.simplefilter("error")
    # Encodings too are imported on demand.
    for text in (*LOGS, LOGS[0].replace(b"degC", b"\xb0C")):
        with open(PLACE, "wb") as file:
            file.write(text)
        read_log(PLACE)
    for unit in ("furlong", "no_such_name"):  # what is imported on demand
        try:
            read_log(PLACE, (f"speed=Speed:{unit}",))
        except SoakboxError as error:
            told(error)
    seeds = [text + b"\x01\x00" for text in LOGS]
    try:
        run(one, seeds, ["time", "Time [s]", "ECT [degC]", "speed (km/h)", "1e308", "-1e308", "nan",
                         "inf", ",,", ";", "\t", '"', "12:34:56.7", "2024-02-30T25:00:00", "\ufeff",
                         "\x00", "\r", "\u2028", "\x1c", "\u0661", "1_0", "#"])
    finally:
        os.unlink(PLACE)
        os.rmdir(FOLDER)


if __name__ == "__main__":
    main()
