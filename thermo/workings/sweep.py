"""Working of the net gain against speed: where it is zero, and the scan."""

from __future__ import annotations

import math
from functools import partial

from thermo.intake import IntakeModel
from thermo.workings.bench import Bench
from thermo.workings.duct import MARCH, absolute, ambient, drop, parts_of, plenum_of, ram_steps
from thermo.workings.form import Symbol, Working, by_hand, of, pure, read, step


def break_even(b: Bench) -> Working | None:
    """Working of the speed above which the duct helps."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, _ = found
    v = of("V", duct.break_even_speed_m_per_s, "speed", "break-even speed")
    if not math.isfinite(v.value):
        none = read("no zero of the net gain in the speeds looked at", v, MARCH)
        return Working("", "break-even speed", (none,), v)
    return _zero(b, model, v, "break-even speed")


def _zero(b: Bench, model: IntakeModel, v: Symbol, title: str) -> Working:
    at = model.solve([v.value])
    gain = ram_steps(b, v.value)
    value = float(at.net[0])
    last = step("net at that speed", "net = p_pl - p", [plenum_of(at), ambient(b)],
                drop("net", value, "net gain there: zero"), "definition",
                note="Found by halving an interval of the scan over speed.")
    duct = b.duct
    assert duct is not None
    if duct.ram_gain_Pa <= 0.0 or duct.duct_loss_Pa <= 0.0:
        return Working("", title, (*gain, last), v)
    hand = by_hand(
        "ram grows with the square of speed, the loss stays",
        "V_hand = V_t*sqrt(loss/gain)",
        [
            of("V_t", duct.speed_m_per_s, "speed", "timed speed"),
            drop("loss", duct.duct_loss_Pa, "loss there"),
            drop("gain", duct.ram_gain_Pa, "full ram there"),
        ],
        ("V_hand", "speed", "break-even speed by hand"),
        "ram ~ V^2",
    )
    return Working("", title, (*gain, last), v, (hand,),
                   "The loss is not the same at both speeds: the lip separates at low speed, the "
                   "engine draws a little less, and what the opening misses goes with the ram.")


def crossings(b: Bench) -> Working | None:
    """Working of every speed at which the net gain is zero."""
    found = parts_of(b)
    if found is None:
        return None
    duct, model, _ = found
    count = pure("N", len(duct.crossings_m_per_s), "zeros of the net gain")
    steps = []
    for i, speed in enumerate(duct.crossings_m_per_s, start=1):
        at = model.solve([speed])
        steps.append(
            step(f"zero {i}, at {speed:.3f} m/s", f"net{i} = p_pl - p",
                 [plenum_of(at), ambient(b)], drop(f"net{i}", at.net[0], "net gain there: zero"),
                 "definition")
        )
    last = read("zeros of the net gain", count, "scan over speed, each zero bracketed")
    return Working("", "zeros of the net gain", (*steps, last), count)


def _listed(b: Bench, which: str) -> Working | None:
    duct, table = b.duct, b.driving.table
    if duct is None or table is None:
        return None
    speeds, nets = duct.speeds_m_per_s, duct.net_against_speed_Pa
    steps = [
        step(
            f"net at {speeds[i]:.1f} m/s", f"net{i} = p_pl{i} - p",
            [absolute(f"p_pl{i}", table.pressure[i], "pressure in the plenum"), ambient(b)],
            drop(f"net{i}", nets[i], f"net gain at {speeds[i]:.1f} m/s"), MARCH,
        )
        for i in range(0, len(speeds), max(len(speeds) // 6, 1))
        if math.isfinite(nets[i])
    ]
    count = pure("N", len(speeds), "speeds of the scan")
    last = read("speeds of the scan", count, "even steps from rest to above the top speed", [
        of("V_0", speeds[0], "speed", "first"), of("V_1", speeds[-1], "speed", "last")])
    return Working("", which, (*steps, last), count)


WORKINGS = {
    "intake.break_even_speed_m_per_s": break_even,
    "intake.crossings_m_per_s": crossings,
    "intake.speeds_m_per_s": partial(_listed, which="speeds of the scan"),
    "intake.net_against_speed_Pa": partial(_listed, which="net gain against speed"),
}
"""Workings of the duct against speed, by the name of the figure."""
