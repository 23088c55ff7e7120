"""Boiling of the coolant: under way, with a leaking cap, after the flow stops; and too cold."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from thermo.boil_times import seconds_to_boil
from thermo.figures import coolant_steam, equalised, moments, peak_of
from thermo.flash import flash_to_ambient
from thermo.gas import FloatArray
from thermo.hazards.context import CELSIUS, Context, above, below, flag, level_of, worst
from thermo.ops import pick
from thermo.results import Flag
from thermo.units import format_number


def coolant_boil_rank(c: Context) -> Any:
    """Return the rank of `coolant_boil`. [poly]"""
    return below(c.cooling.boil_margin_K, c.scenario.limits.caution_margin, 0.0)


def leaking_cap_rank(c: Context) -> Any:
    """Return the rank of `leaking_cap`. [poly]"""
    return below(c.cooling.leaking_cap_margin_K, 0.0)


def after_boil_rank(c: Context) -> Any:
    """Return the rank of `after_boil`. [poly]"""
    return below(c.cooling.after_boil_margin_K, c.scenario.limits.caution_margin, 0.0)


def flow_lost_rank(c: Context) -> Any:
    """Return the rank of `flow_lost`. [poly]"""
    return below(c.cooling.flow_lost_boil_s, c.scenario.limits.alarm_time)


def too_cold_rank(c: Context) -> Any:
    """Return the rank of `too_cold`. [poly]"""
    history, limits = c.solved.told.history, c.scenario.limits
    return worst(*(
        worst(
            below(pick(history.coolant, i), limits.coolant_minimum),
            below(pick(history.oil, i), limits.oil_minimum),
        )
        for i in throttle_opens(c)
    ))


def coolant_flash_rank(c: Context) -> Any:
    """Return the rank of `coolant_flash`. [poly]"""
    hot = c.solved.cooling.design.hot
    peak = peak_of(c.solved.told.history.coolant)
    return above(flash_to_ambient(hot, peak, c.air.pressure), 0.0)


def throttle_opens(c: Context) -> list[int]:
    """Return the rows at which full throttle is opened."""
    history = c.solved.told.history
    full = moments(c.scenario, history).full
    return [
        int(i)
        for i in np.flatnonzero(full)
        if i == 0 or not full[i - 1] or history.leg[i - 1] != history.leg[i]
    ]


def coolant_boil(c: Context) -> Flag:
    """Margin of saturation over engine-out temperature and the hot-spot allowance."""
    history = c.solved.told.history
    when = moments(c.scenario, history)
    margin = np.where(when.working, history.boil_temperature - history.coolant, np.inf)
    row = int(np.argmin(margin))
    value, wanted = c.cooling.boil_margin_K, c.scenario.limits.caution_margin
    boils = math.isfinite(c.cooling.boils_at_s)
    still = "" if history.cold_flow[row] > 0.0 else "the tank pump on while the coolant is hot; "
    why = (
        f"the coolant boils from {c.cooling.boils_at_s:.0f} s on and "
        f"{coolant_steam(c.solved):.2f} kg of it leaves as steam: the head overheats, and steam "
        "scalds"
        if boils
        else "coolant that boils in the head leaves hot metal dry: the head cracks or the engine "
        "seizes; the margin is what is left under the cap's boiling point after "
        f"{c.scenario.limits.hot_spot_allowance:g} K for hot spots"
    )
    return flag(
        c,
        "coolant-boil",
        level_of(coolant_boil_rank(c)),
        (value, wanted, "K"),
        (
            "coolant at engine out",
            why,
            f"{still}more tank water, tank flow or exchanger conductance; colder or iced tank "
            "water; a higher cap; a shorter pass",
        ),
        row=row,
        inputs=(
            "tank.volume",
            "exchanger.ua",
            "loop.flow",
            "tank.start_temperature",
            "engine.heat_share",
        ),
    )


def leaking_cap(c: Context) -> Flag:
    """The same margin with a cap that no longer holds its pressure."""
    value = c.cooling.leaking_cap_margin_K
    history = c.solved.told.history
    working = moments(c.scenario, history).working
    row = c.peak(np.where(working, history.coolant, 0.0))
    return flag(
        c,
        "leaking-cap",
        level_of(leaking_cap_rank(c)),
        (value, 0.0, "K"),
        (
            "coolant at engine out",
            "with a cap or hose that leaks the coolant boils at a lower temperature; below 0 the "
            "plan leans on the cap alone",
            "test the cap before the pass, carry a spare; or lower the coolant's peak",
        ),
        row=row,
        inputs=("coolant.cap_pressure", "tank.volume"),
    )


def after_boil(c: Context) -> Flag:
    """Margin when metal and jacket equalise after the flow stops."""
    history, design = c.solved.told.history, c.solved.cooling.design
    when = moments(c.scenario, history)
    shared = equalised(design, history)
    row = max(when.stops, key=lambda i: float(shared[i]))
    value = c.cooling.after_boil_margin_K
    wanted = c.scenario.limits.caution_margin
    finish = c.cooling.shut_off_at_finish_margin_K
    who = "the engine idling" if c.scenario.coolant.drive == "crank" else "both pumps running"
    begun = max((i for i in when.finishes if i <= row), default=row)
    held = _first_clear(history.hot_flow[begun:], design.boil_temperature - shared[begun:] - wanted)
    if held is not None:
        seconds = float(history.time[begun + held] - history.time[begun])
        advice = f"keep {who} {seconds:.0f} s after the finish"
    else:
        advice = f"keep {who} after the finish, longer than this plan does"
    return flag(
        c,
        "after-boil",
        level_of(after_boil_rank(c)),
        (value, wanted, "K"),
        (
            "jacket, when the flow stops",
            "hot metal goes on heating the coolant when the pumps stop; stopped at the finish the "
            f"margin would be {format_number(finish, 3)} K. Metal mass and excess are guesses "
            "until measured",
            f"{advice}; a cooler finish; a higher cap",
        ),
        row=row,
        inputs=("engine.metal_excess", "engine.metal_heat_capacity", "coolant.cap_pressure"),
    )


def _first_clear(flow: FloatArray, left: FloatArray) -> int | None:
    """Return the first row with flow from which something is left, before the flow stops."""
    stopped = np.flatnonzero(flow <= 0.0)
    clear = np.flatnonzero(left[: stopped[0] if len(stopped) else None] >= 0.0)
    return int(clear[0]) if len(clear) else None


def flow_lost(c: Context) -> Flag:
    """Seconds from a stopped coolant pump to boiling at the worst moment of full power."""
    history, design = c.solved.told.history, c.solved.cooling.design
    full = moments(c.scenario, history).full
    rows = np.flatnonzero(full)
    times = seconds_to_boil(design, history, full)
    row = int(rows[int(np.argmin(times))])
    value, wanted = c.cooling.flow_lost_boil_s, c.scenario.limits.alarm_time
    return flag(
        c,
        "flow-lost",
        level_of(flow_lost_rank(c)),
        (value, wanted, "s"),
        (
            "jacket, if the coolant pump stops",
            "this is how long a driver has to lift after the pump or its fuse fails, before the "
            "head boils dry; the figure errs early",
            "a flow or pressure alarm the driver cannot "
            "miss, two pumps, or more coolant in the jacket",
        ),
        row=row,
        inputs=("coolant.volume", "limits.alarm_time"),
    )


def too_cold(c: Context) -> Flag:
    """Least coolant and oil temperature when full throttle is opened."""
    history, limits = c.solved.told.history, c.scenario.limits
    at = min(
        throttle_opens(c),
        key=lambda i: min(
            history.coolant[i] - limits.coolant_minimum, history.oil[i] - limits.oil_minimum
        ),
    )
    coolant = float(history.coolant[at]) - limits.coolant_minimum
    oil = float(history.oil[at]) - limits.oil_minimum
    cold_oil = oil < coolant
    value = float((history.oil if cold_oil else history.coolant)[at]) - CELSIUS
    limit = (limits.oil_minimum if cold_oil else limits.coolant_minimum) - CELSIUS
    least = c.cooling.coolant_least_full_power_degC
    return flag(
        c,
        "too-cold",
        level_of(too_cold_rank(c)),
        (value, limit, "degC"),
        (
            "oil before full throttle" if cold_oil else "coolant before full throttle",
            "cold oil and cold pistons at full power score bores; in the pass itself the coolant "
            f"falls to {least:.0f} degC at the least",
            "warm up longer, shut the tank pump off until the start, or fit a thermostat",
        ),
        row=at,
        inputs=("coolant.start_temperature", "limits.coolant_minimum"),
    )


def coolant_flash(c: Context) -> Flag:
    """Share of the coolant that turns to steam when it is let out."""
    history, hot = c.solved.told.history, c.solved.cooling.design.hot
    row = c.peak(history.coolant)
    share = float(flash_to_ambient(hot, float(history.coolant[row]), c.air.pressure))
    boils = float(hot.saturation_temperature(c.air.pressure)) - CELSIUS
    return flag(
        c,
        "coolant-flash",
        level_of(coolant_flash_rank(c)),
        (100.0 * share, 0.0, "%"),
        (
            "engine coolant, if the cap or a hose opens",
            f"above {boils:.0f} degC coolant that is let out here flashes to steam and throws "
            "scalding liquid far",
            "never open the cap hot; shield hoses from the driver; let it "
            "cool below that temperature first",
        ),
        row=row,
        inputs=("tank.volume", "exchanger.ua"),
    )
