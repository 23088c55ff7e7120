"""What one solved event returns: frozen results, hazards and the form that goes to JSON."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from typing import Any, Literal

import numpy as np
import numpy.typing as npt

Level = Literal["clear", "caution", "danger"]
Verdict = Literal["clear", "caution", "danger", "no verdict"]
Array = npt.NDArray[np.float64]

RANK: dict[str, int] = {"clear": 0, "caution": 1, "danger": 2}

FLOORS = frozenset({
    "coolant-boil", "leaking-cap", "after-boil", "flow-lost", "too-cold", "relief-size",
    "hydraulic-lock", "vacuum", "pick-up", "freeze", "cavitation", "air-lock", "intake-net",
})
"""Flags whose limit is the least that is wanted; the others' is the most that is allowed."""


FLOOR_UNITS = frozenset({("low-flow", "L/min")})
"""Flags whose limit is a least only when told in this unit: coolant flow itself, not its rise."""


@dataclass(frozen=True, slots=True)
class Flag:
    """One hazard looked at: clear ones too, so that a reader sees what was checked.

    Attributes
    ----------
    name : str
        As listed in the interface: ``coolant-boil``, ``tank-scald``, ...
    level : {'clear', 'caution', 'danger'}
    value, limit : float
        The figure and what it is held against, in `unit`; NaN where there is no number.
    unit : str
    at_s : float
        When in the event [s]; NaN when not tied to a moment.
    leg, where : str
        The leg and the place, in words.
    why, remedy : str
        Why it matters, and what would clear it.
    inputs : tuple of str
        Dotted keys of the inputs that drive it most, strongest first.
    """

    name: str
    level: Level
    value: float
    limit: float
    unit: str
    at_s: float
    leg: str
    where: str
    why: str
    remedy: str
    inputs: tuple[str, ...] = ()

    @property
    def is_floor(self) -> bool:
        """Whether the limit is the least that is wanted, not the most that is allowed."""
        return self.name in FLOORS or (self.name, self.unit) in FLOOR_UNITS


@dataclass(frozen=True, slots=True)
class History:
    """The cooling side over time; every array has one entry an output row.

    Attributes
    ----------
    time : ndarray
        [s].
    leg : ndarray of int
        Position of the leg in the event.
    speed : ndarray
        [m/s].
    brake_power, heat_to_metal, exchanger_heat : ndarray
        [W].
    coolant, metal, oil, tank_out, tank_mean, tank_hot, tank_cold, exchanger_in, tank_in : ndarray
        Temperatures [K]; `exchanger_in` and `tank_in` end the supply and the return line.
    effectiveness, ntu, ua : ndarray
        Of the exchanger; `ua` in [W/K].
    hot_flow, cold_flow : ndarray
        [m3/s].
    jacket_mass, tank_mass, ice : ndarray
        [kg].
    tank_pressure : ndarray
        Gauge [Pa].
    gas_volume : ndarray
        Headspace [m3]; zero or less is hydraulic lock.
    boil_temperature : ndarray
        Coolant saturation at the cap [K].
    """

    time: Array
    leg: npt.NDArray[np.int64]
    speed: Array
    brake_power: Array
    heat_to_metal: Array
    exchanger_heat: Array
    coolant: Array
    metal: Array
    oil: Array
    tank_out: Array
    tank_mean: Array
    tank_hot: Array
    tank_cold: Array
    exchanger_in: Array
    tank_in: Array
    effectiveness: Array
    ntu: Array
    ua: Array
    hot_flow: Array
    cold_flow: Array
    jacket_mass: Array
    tank_mass: Array
    ice: Array
    tank_pressure: Array
    gas_volume: Array
    boil_temperature: Array


@dataclass(frozen=True, slots=True)
class CoolingFigures:
    """Peaks and margins of the cooling side; names carry their units, as in the JSON."""

    coolant_peak_degC: float  # noqa: N815
    coolant_end_of_pass_degC: float  # noqa: N815
    coolant_least_full_power_degC: float  # noqa: N815
    tank_peak_degC: float  # noqa: N815
    tank_end_degC: float  # noqa: N815
    tank_end_of_pass_degC: float  # noqa: N815
    return_line_peak_degC: float  # noqa: N815
    boil_temperature_degC: float  # noqa: N815
    boil_margin_K: float  # noqa: N815
    boil_margin_by_mixing_K: Mapping[str, float]  # noqa: N815
    after_boil_margin_K: float  # noqa: N815
    shut_off_at_finish_margin_K: float  # noqa: N815
    leaking_cap_margin_K: float  # noqa: N815
    flow_lost_boil_s: float
    heat_total_J: float  # noqa: N815
    effectiveness_at_peak: float
    ntu_at_peak: float
    ua_at_peak_W_per_K: float  # noqa: N815
    tank_flow_m3_per_s: float
    coolant_flow_m3_per_s: float
    tank_pressure_peak_Pa: float  # noqa: N815
    tank_pressure_end_of_pass_Pa: float  # noqa: N815
    tank_vacuum_Pa: float  # noqa: N815
    headspace_needed_m3: float
    steam_lost_kg: float
    tank_water_kg: float
    centre_of_mass_shift_m: float
    ice_left_kg: float
    boils_at_s: float
    pass_time_s: float
    pass_top_speed_m_per_s: float
    timed_speed_m_per_s: float


@dataclass(frozen=True, slots=True)
class SiteFigures:
    """The day's air at the course; names carry their units, as in the JSON."""

    station_pressure_Pa: float  # noqa: N815
    air_temperature_degC: float  # noqa: N815
    relative_humidity: float
    density_kg_per_m3: float
    density_altitude_m: float
    speed_of_sound_m_per_s: float
    j1349_factor: float
    j1349_note: str


@dataclass(frozen=True, slots=True)
class Station:
    """The air behind one part of the duct, at the timed speed.

    Attributes
    ----------
    name : str
    path : str
    stagnation_pressure, static_pressure : float
        [Pa].
    stagnation_temperature : float
        [K].
    mach, speed : float
        Mach number and air speed [m/s].
    loss : float
        Stagnation pressure lost in the part [Pa].
    """

    name: str
    path: str
    stagnation_pressure: float
    static_pressure: float
    stagnation_temperature: float
    mach: float
    speed: float
    loss: float


@dataclass(frozen=True, slots=True)
class IntakeFigures:
    """The duct at the timed speed, and at its worst moments of full power.

    Names carry their units, as in the JSON. Of the whole of full power are `duct_mach_max`,
    `heat_rise_K`, `choked` and `net_least_Pa`, each with the car's speed and the moment of the
    event; the other figures, and those named `timed`, hold at the timed speed.
    """

    speed_m_per_s: float
    ram_gain_Pa: float  # noqa: N815
    duct_loss_Pa: float  # noqa: N815
    net_Pa: float  # noqa: N815
    net_dirty_filter_Pa: float  # noqa: N815
    recovery: float
    air_flow_kg_per_s: float
    duct_mach_max: float
    duct_mach_max_speed_m_per_s: float
    duct_mach_max_at_s: float
    duct_mach_timed: float
    air_flow_at_mach_max_kg_per_s: float
    density_ratio: float
    power_ratio: float
    power_ratio_to_bonnet_inlet: float
    break_even_speed_m_per_s: float
    crossings_m_per_s: tuple[float, ...]
    heat_rise_K: float  # noqa: N815
    heat_rise_speed_m_per_s: float
    heat_rise_at_s: float
    heat_rise_timed_K: float  # noqa: N815
    net_least_Pa: float  # noqa: N815
    net_least_speed_m_per_s: float
    net_least_at_s: float
    losing_share: float
    momentum_drag_N: float  # noqa: N815
    pulsation_factor: float
    choked: bool
    choked_timed: bool
    choke_flow_kg_per_s: float
    choke_flow_at_mach_max_kg_per_s: float
    stations: tuple[Station, ...]
    speeds_m_per_s: tuple[float, ...]
    net_against_speed_Pa: tuple[float, ...]  # noqa: N815


@dataclass(frozen=True, slots=True)
class Audit:
    """The energy account of the event.

    The residual is over the larger of heat in and 100 kJ.
    """

    heat_in_J: Any  # noqa: N815
    pump_work_J: Any  # noqa: N815
    added_J: Any  # noqa: N815
    stored_J: Any  # noqa: N815
    to_air_J: Any  # noqa: N815
    steam_J: Any  # noqa: N815
    residual_fraction: Any


@dataclass(frozen=True, slots=True)
class EventResult:
    """One event solved.

    Attributes
    ----------
    title : str
    verdict : {'clear', 'caution', 'danger', 'no verdict'}
    binding : Flag
        The flag that decides the verdict, or the tightest clear one.
    flags : tuple of Flag
    cooling : CoolingFigures
    intake : IntakeFigures or None
        None when the scenario has no duct.
    site : SiteFigures
    audit : Audit
    history : History
    legs : tuple of (str, float, float)
        Label, start and end [s] of each leg.
    notes : tuple of str
        Assumptions, range notes and defaults that a reader must know.
    untrusted : tuple of str
        Reasons why no verdict can be given; empty when the numbers can be trusted.
    rough : mapping of str to tuple of str
        Figures that rest on something outside its range, by their names in the JSON such as
        ``cooling.boil_margin_K``, and why.
    """

    title: str
    verdict: Verdict
    binding: Flag
    flags: tuple[Flag, ...]
    cooling: CoolingFigures
    intake: IntakeFigures | None
    site: SiteFigures
    audit: Audit
    history: History
    legs: tuple[tuple[str, float, float], ...]
    notes: tuple[str, ...] = ()
    untrusted: tuple[str, ...] = field(default=())
    rough: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    @property
    def exit_status(self) -> int:
        """0 no danger, 1 a danger flag, 3 the numbers cannot be trusted."""
        return {"danger": 1, "no verdict": 3}.get(self.verdict, 0)


def _plain(value: Any) -> Any:
    """Return `value` ready for JSON: no NaN, no infinity, no numpy."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(k): _plain(v) for k, v in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(v) for v in value]
    if hasattr(value, "__dataclass_fields__"):
        return {f.name: _plain(getattr(value, f.name)) for f in fields(value)}
    return value


def to_json(result: EventResult) -> dict[str, Any]:
    """Return the result in the form of ``soakbox check --json``.

    Parameters
    ----------
    result : EventResult

    Returns
    -------
    dict
        JSON-ready; a number that does not exist (never boils, no duct) is null.
    """
    return {
        "schema": 1,
        "scenario": result.title,
        "verdict": result.verdict,
        "binding": result.binding.name,
        "flags": [_plain(flag) for flag in result.flags],
        "cooling": _plain(result.cooling),
        "intake": _plain(result.intake),
        "site": _plain(result.site),
        "audit": _plain(result.audit),
        "legs": [{"leg": n, "start_s": _plain(a), "end_s": _plain(b)} for n, a, b in result.legs],
        "notes": list(result.notes),
        "untrusted": list(result.untrusted),
        "outside_range": {name: list(why) for name, why in result.rough.items()},
    }


SERIES: dict[str, str] = {
    "time_s": "time",
    "leg": "leg",
    "speed_m_per_s": "speed",
    "brake_power_W": "brake_power",
    "heat_to_coolant_W": "heat_to_metal",
    "coolant_degC": "coolant",
    "metal_degC": "metal",
    "oil_degC": "oil",
    "tank_out_degC": "tank_out",
    "tank_mean_degC": "tank_mean",
    "tank_hottest_degC": "tank_hot",
    "exchanger_in_degC": "exchanger_in",
    "tank_in_degC": "tank_in",
    "exchanger_heat_W": "exchanger_heat",
    "effectiveness": "effectiveness",
    "ntu": "ntu",
    "ua_W_per_K": "ua",
    "coolant_flow_m3_per_s": "hot_flow",
    "tank_flow_m3_per_s": "cold_flow",
    "coolant_mass_kg": "jacket_mass",
    "tank_water_kg": "tank_mass",
    "ice_kg": "ice",
    "tank_pressure_Pa_gauge": "tank_pressure",
    "headspace_m3": "gas_volume",
    "boil_temperature_degC": "boil_temperature",
}
"""Columns of the time series and the history's arrays behind them."""


def series_rows(result: EventResult) -> list[list[str]]:
    """Return the time series as rows of text, header first.

    Parameters
    ----------
    result : EventResult

    Returns
    -------
    list of list of str
        One row an output step; temperatures in degC, the leg by its name.
    """
    history = result.history
    columns: list[list[str]] = []
    for header, name in SERIES.items():
        values = getattr(history, name)
        if name == "leg":
            columns.append([header, *(result.legs[int(i)][0] for i in values)])
            continue
        shift = 273.15 if header.endswith("_degC") else 0.0
        columns.append([header, *(f"{v - shift:.8g}" for v in values)])
    return [list(row) for row in zip(*columns, strict=True)]
