"""Fuzz the scenario reader: ``python -m tests.fuzz.fuzz_scenario -runs=200000``."""

from __future__ import annotations

import os
import tempfile

import atheris

with atheris.instrument_imports(include=["thermo", "tomllib"]):
    from thermo.errors import SoakboxError
    from thermo.scenario_io import read_scenario
from tests.fuzz.mangled import changed
from tests.fuzz.watch import SCENARIOS, Watch, run, told

TEXTS = [path.read_bytes() for path in sorted(SCENARIOS.glob("*.toml"))]
FOLDER = tempfile.mkdtemp()
PLACE = os.path.join(FOLDER, "one.toml")
watch = Watch()


def other_value(feed: atheris.FuzzedDataProvider, lines: list[bytes], at: int) -> None:
    """Write over what stands behind the sign."""
    lines[at] = lines[at].split(b"=")[0] + b"= " + feed.ConsumeBytes(40)


def other_text(feed: atheris.FuzzedDataProvider, lines: list[bytes], at: int) -> None:
    """Write over what stands in quotes."""
    lines[at] = lines[at].split(b'"')[0] + b'"' + feed.ConsumeBytes(30) + b'"'


WAYS = (other_value, other_text)


def one(data: bytes) -> None:
    """Read one file: a scenario, or a refusal safe to print."""
    feed = atheris.FuzzedDataProvider(data)
    raw = feed.ConsumeBool()
    text = feed.ConsumeBytes(feed.remaining_bytes()) if raw else changed(feed, TEXTS, WAYS, 6)
    with open(PLACE, "wb") as file:
        file.write(text)
    try:
        with watch.over(PLACE):
            read_scenario(PLACE)
    except SoakboxError as error:
        told(error)


def main() -> None:
    """Fuzz, from the shipped scenarios on."""
    read_scenario(SCENARIOS / "base.toml")
    seeds = [text + b"\x01" for text in TEXTS]
    try:
        run(one, seeds, ["[[leg]]", "[tank]", "[[", "]]", '"""', "'''", "= {", "schema = 1", "nan",
                         "inf", "1979-05-27", "0x", "1e400", "[" * 40, "a." * 40])
    finally:
        os.unlink(PLACE)
        os.rmdir(FOLDER)


if __name__ == "__main__":
    main()
