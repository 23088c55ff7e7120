"""Fuzz the reader of quantities: ``python -m tests.fuzz.fuzz_units -runs=2000000``."""

from __future__ import annotations

import math

import atheris

with atheris.instrument_imports(include=["thermo"]):
    from thermo.unit_table import ATOMS, KINDS
    from thermo.units import QuantityTextError, format_value, parse
from tests.fuzz.watch import Watch, run, told

NAMES = sorted(KINDS)
watch = Watch()


def one(data: bytes) -> None:
    """Read one text as one kind of quantity: a finite number, or a refusal safe to print."""
    feed = atheris.FuzzedDataProvider(data)
    kind = NAMES[feed.ConsumeIntInRange(0, len(NAMES) - 1)]
    wide = feed.ConsumeBool()
    rest = feed.ConsumeBytes(feed.remaining_bytes())
    text = rest.decode("utf-16-le" if wide else "utf-8", "surrogateescape" if not wide else
                       "surrogatepass" if len(rest) % 2 == 0 else "replace")
    try:
        with watch.over():
            value = parse(text, kind)
    except QuantityTextError as error:
        told(error)
        return
    assert math.isfinite(value)
    assert not KINDS[kind].is_point or value >= 0.0
    if 1e-250 < abs(value) < 1e250:
        assert math.isclose(parse(format_value(value, kind, digits=17), kind), value, rel_tol=1e-9,
                            abs_tol=1e-6)


def main() -> None:
    """Warm up what is imported on demand, then fuzz."""
    for kind in NAMES:
        for name in ("furlong", "no_such_name"):
            try:
                parse(f"1 {name}", kind)
            except QuantityTextError as error:
                told(error)
    examples = [text for what in KINDS.values() for text in map(str, what.examples)]
    seeds = [bytes([0, 0]) + text.encode() for text in examples]
    run(one, seeds, [*sorted(ATOMS), "psi(a)", "psig", "1/2", "**-2", "\u00b2", "\u2212", "\u202e",
                     "1e999", "Δ", " abs"])


if __name__ == "__main__":
    main()
