"""Fuzz ``--set`` and edits in place: ``python -m tests.fuzz.fuzz_set -runs=200000``."""

from __future__ import annotations

import atheris

with atheris.instrument_imports(include=["thermo", "tomllib"]):
    from thermo.errors import SoakboxError
    from thermo.scenario_io import from_text, set_value, to_toml
from tests.fuzz.watch import SCENARIOS, Watch, run, told

TEXT = (SCENARIOS / "base.toml").read_text(encoding="utf-8")
SEEDS = (
    "tank.volume=9 gal", "leg[0].distance=3 km", "leg[pass].name=x", "engine.gears=[1.0, 2.0]",
    'doubt."tank.volume".low=3 L', "exchanger.rated.heat=5 kW", "intake.part[0].bore=3 in",
    'loop.supply.fittings=["elbow-90"]', "coolant.flow_measured=true", "tank={volume='3 L'}",
    'coolant.pump.curve=[["0 L/min", "9 m"], ["40 L/min", "5 m"]]', "title=1979-05-27",
)
watch = Watch()


def one(data: bytes) -> None:
    """Change one input by a typed text, for one run and in the file: done, or refused in words."""
    feed = atheris.FuzzedDataProvider(data)
    in_place = feed.ConsumeBool()
    typed = feed.ConsumeBytes(feed.remaining_bytes()).decode("utf-8", "surrogateescape")
    try:
        with watch.over():
            if in_place:
                document = from_text(TEXT).document
                key, _, value = typed.partition("=")
                set_value(document, key, value)
                from_text(to_toml(document))
            else:
                from_text(TEXT, "base.toml", (typed,))
    except SoakboxError as error:
        told(error)


def main() -> None:
    """Fuzz, from well-formed settings on."""
    seeds = [text.encode() + flag for text in SEEDS for flag in (b"\x00", b"\x01")]
    run(one, seeds, ["tank.", "leg[", "doubt.", ".low", "=[", "={", "pass", "engine.power_curve",
                     "volume", '"""', "nan", "-1e400", "9" * 60])


if __name__ == "__main__":
    main()
