"""What a reader of a result must know beside its figures, in words."""

from __future__ import annotations

import numpy as np

from thermo.cooling_run import Solved
from thermo.loop_flow import segment_of
from thermo.scenario import Scenario
from thermo.site import Air

FAST_WATER = 3.0
"""Speed of water in a line above which to be careful [m/s]: common practice."""

HOT_OIL = 140.0
"""Oil temperature above which a note is made [degC]: common practice."""


def stop_of(solved: Solved) -> tuple[str, ...]:
    """Say where the event is no longer followed.

    Parameters
    ----------
    solved : Solved

    Returns
    -------
    tuple of str
        Empty where it is followed to its end.
    """
    if not solved.run.stopped:
        return ()
    end = float(solved.told.history.time[-1])
    return (
        f"the event is followed to {end:.0f} s only: {solved.run.stopped}; what would come "
        "after is not looked at, and a flag that reads clear may not stay so",
    )


def notes_of(scenario: Scenario, air: Air, solved: Solved) -> tuple[str, ...]:
    """Return what was taken, what is not looked at, and what to look at beside the hazards.

    Parameters
    ----------
    scenario : Scenario
    air : Air
    solved : Solved

    Returns
    -------
    tuple of str
    """
    notes: list[str] = []
    oil = float(np.max(solved.told.history.oil)) - 273.15
    if oil > HOT_OIL:
        notes.append(
            f"the oil reaches {oil:.0f} degC: above {HOT_OIL:.0f} degC it loses its film; look at "
            "engine.oil_cooler_ua and engine.oil_mass"
        )
    if scenario.site.relative_humidity is None and scenario.site.dew_point is None:
        notes.append("site.relative_humidity: 0.2 taken (common practice for a dry lake)")
    if scenario.engine.power_basis == "corrected" and air.j1349_note:
        notes.append(f"power correction: {air.j1349_note}")
    if scenario.intake is not None and scenario.intake.frame_tubes:
        notes.append(
            "intake.frame_tubes: tubes that carry air must be clean, dry and tight at every "
            "weld, and the rule book may forbid it"
        )
    if scenario.intake is not None and not scenario.intake.debris_screen:
        notes.append("intake.debris_screen: nothing keeps salt and stones out of the opening")
    water = 1000.0 * scenario.tank.fill * scenario.tank.volume
    if water > scenario.car.mass:
        notes.append(
            f"car.mass: {scenario.car.mass:.0f} kg is to hold all water, and the tank alone holds "
            f"some {water:.0f} kg"
        )
    return (*notes, *_unused(scenario), *_fast_lines(scenario, solved))


def _unused(scenario: Scenario) -> list[str]:
    """Say which inputs that were given change nothing, so that nobody relies on them."""
    out: list[str] = []
    intake = scenario.intake
    if scenario.engine.boost_ratio > 1.0 and (intake is None or intake.demand != "displacement"):
        out.append(
            "engine.boost_ratio: not used, since the air is found from power and consumption; it "
            'counts with intake.demand = "displacement"'
        )
    if scenario.coolant.line.barrier != "none":
        out.append(
            "coolant.line.barrier: not looked at; the engine's hot lines are taken to run behind "
            "the driver's bulkhead"
        )
    return out


def _fast_lines(scenario: Scenario, solved: Solved) -> list[str]:
    """Say which tank line is so narrow that the water races through it."""
    flow = float(solved.cooling.cold_flow.flow)
    out: list[str] = []
    for name, line in (("supply", scenario.loop.supply), ("return", scenario.loop.return_)):
        speed = flow / segment_of(line, name).area
        if speed > FAST_WATER:
            out.append(
                f"loop.{name}.bore: the water runs at {speed:.1f} m/s; above {FAST_WATER:.0f} m/s "
                "hoses and bends wear and the pump hardly delivers it (common practice): a wider "
                "line"
            )
    return out
