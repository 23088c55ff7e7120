"""Property tables built once from CoolProp and kept in the user's cache.

This is the only module that imports CoolProp, and only while it builds: a process that finds a
good table on disk never pays the second or more that the import takes. The table is one JSON
file, named by the CoolProp version and the table format and carrying the SHA-256 of its content;
a file that is damaged or of another version is built anew.

Sources: water from CoolProp's IAPWS-95 with its viscosity and conductivity; glycols from its
incompressible fits AEG and APG of the ASHRAE tables on volume fraction; dry air from its
pseudo-pure air. The mass-fraction fits MEG and MPG are not used: MEG's freezing point errs by up
to 3 K towards the unsafe side.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from thermo.errors import PropertyError
from thermo.tables import (
    AirTable,
    Curve,
    Floats,
    GlycolTable,
    Surface,
    Tables,
    WaterTable,
    fit_curve,
    tables_from_data,
    tables_to_data,
)
from thermo.whole_file import write_whole

FORMAT = 1
"""Number of the table format: raised whenever what is built or how it is stored changes."""

CACHE_VARIABLE = "SOAKBOX_CACHE"
"""Environment variable naming the directory of the cache in place of the user's own."""

ATMOSPHERE = 101325.0
"""Standard atmosphere [Pa]."""

WATER_LOW = 273.15
WATER_HIGH = 473.15
TRIPLE = 273.16
"""Ends of the liquid-water table and the triple point of water [K]."""

SATURATION_LOW = 238.15
"""Lowest temperature of the saturation curves, over supercooled water [K]."""

GLYCOL_V_LOW = 0.10
GLYCOL_V_HIGH = 0.60
GLYCOL_T_LOW = 238.15
GLYCOL_T_HIGH = 373.15
"""Ends of CoolProp's glycol fits: volume fraction [-] and temperature [K]."""

THIN = 200.0
"""Pressure at which a gas is taken as ideal [Pa]."""

AIR_LOW = 233.15
AIR_HIGH = 423.15
VAPOUR_START = 273.2
"""Ends of the air table, and where CoolProp's dilute vapour begins [K]; below it the fit of the
vapour is continued, where cold air holds next to none."""

_memo: dict[tuple[str, str], Tables] = {}


Progress = Callable[[int, int, str], object]
"""Is told how many steps are done, of how many, and what is being done now."""

STEPS = ("loading CoolProp", "water", "ethylene glycol", "propylene glycol", "air")
"""What building the tables goes through, in order: the import, then a table each."""


def _quietly(done: int, of: int, what: str) -> None:
    """Tell no one."""


def load_tables(progress: Progress = _quietly) -> Tables:
    """Return the property tables: from memory, else from the cache, else built and kept.

    Parameters
    ----------
    progress : callable
        As for :func:`build_tables`; not called where nothing has to be built.

    Returns
    -------
    Tables
        Its `origin` and `note` say where it came from; when the cache cannot be written the
        tables are still returned, with the reason in `note`.

    Raises
    ------
    PropertyError
        CoolProp is missing.
    """
    key = (os.environ.get(CACHE_VARIABLE, ""), str(FORMAT))
    if key not in _memo:
        path = table_path()
        found = _read(path) if path is not None else None
        _memo[key] = found if found is not None else _build_and_keep(path, progress)
    return _memo[key]


def tables_ready() -> bool:
    """Say whether good tables are at hand, so that :func:`load_tables` will be quick.

    Returns
    -------
    bool
    """
    key = (os.environ.get(CACHE_VARIABLE, ""), str(FORMAT))
    if key in _memo:
        return True
    path = table_path()
    found = _read(path) if path is not None else None
    if found is None:
        return False
    _memo[key] = found
    return True


def table_path() -> Path | None:
    """Return where the table file belongs.

    Returns
    -------
    pathlib.Path or None
        None when the user has no home directory to hold a cache.

    Raises
    ------
    PropertyError
        CoolProp is missing.
    """
    folder = os.environ.get(CACHE_VARIABLE, "")
    if not folder:
        import platformdirs

        try:
            folder = platformdirs.user_cache_dir("soakbox", appauthor=False)
        except (KeyError, OSError, RuntimeError):
            return None
        if not os.path.isabs(folder):
            return None
    return Path(folder) / f"properties-coolprop-{_version()}-format-{FORMAT}.json"


def _version() -> str:
    try:
        return importlib.metadata.version("CoolProp")
    except importlib.metadata.PackageNotFoundError as error:
        raise PropertyError("CoolProp is not installed; property tables need it") from error


def _digest(content: dict[str, Any]) -> str:
    text = json.dumps(content, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()


def _read(path: Path) -> Tables | None:
    """Return the tables in a file, or None when it is missing, damaged or of another version."""
    try:
        document = json.loads(path.read_text(encoding="utf-8"))
        same = (document["format"], document["coolprop"]) == (FORMAT, _version())
        if not same or document["sha256"] != _digest(document["content"]):
            return None
        return tables_from_data(document["content"], "cache")
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _write(path: Path, content: dict[str, Any]) -> None:
    """Write the file whole or not at all: other processes may be reading or writing it."""
    document = {
        "format": FORMAT, "coolprop": _version(), "sha256": _digest(content), "content": content,
    }
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, json.dumps(document).encode("utf-8"), private=True)


def _build_and_keep(path: Path | None, progress: Progress) -> Tables:
    content = tables_to_data(build_tables(progress))
    if path is None:
        return tables_from_data(content, "memory", "no home directory to keep the tables in")
    try:
        _write(path, content)
    except OSError as error:
        note = f"the property tables could not be kept: {error.strerror or error}"
        return tables_from_data(content, "memory", note)
    return tables_from_data(content, "built")


def build_tables(progress: Progress = _quietly) -> Tables:
    """Build all tables from CoolProp, without looking at the cache.

    Parameters
    ----------
    progress : callable
        Called before each of the `STEPS`, and once all are done.

    Returns
    -------
    Tables

    Raises
    ------
    PropertyError
        CoolProp cannot be imported or refuses a state within the ranges.
    """
    def begin(step: int) -> None:
        progress(step, len(STEPS), STEPS[step])

    begin(0)
    try:
        from CoolProp import CoolProp
    except ImportError as error:
        raise PropertyError(f"CoolProp cannot be imported: {error}") from error
    try:
        begin(1)
        water = _water(CoolProp)
        begin(2)
        ethylene = _glycol(CoolProp, "AEG", "ethylene")
        begin(3)
        propylene = _glycol(CoolProp, "APG", "propylene")
        begin(4)
        air = _air(CoolProp)
    except ValueError as error:
        raise PropertyError(f"CoolProp refused a state: {error}") from error
    progress(len(STEPS), len(STEPS), "")
    return Tables(water, ethylene, propylene, air)


def _each(point: Callable[[float], float]) -> Callable[[Floats], Floats]:
    """Turn a function of a float into one of an array."""
    return lambda x: np.array([point(float(v)) for v in x])


def _water(cp: Any) -> WaterTable:
    state = cp.AbstractState("HEOS", "Water")
    state.update(cp.PQ_INPUTS, ATMOSPHERE, 0.0)
    boiling = state.T()

    def liquid(get: Callable[[], float]) -> Callable[[Floats], Floats]:
        def point(T: float) -> float:
            if boiling > T:
                state.update(cp.PT_INPUTS, ATMOSPHERE, T)
            else:
                state.update(cp.QT_INPUTS, 0.0, T)
            return get()

        return _each(point)

    def saturated(quality: float, get: Callable[[], float]) -> Callable[[Floats], Floats]:
        def point(T: float) -> float:
            state.update(cp.QT_INPUTS, quality, T)
            return get()

        return _each(point)

    def latent(T: float) -> float:
        state.update(cp.QT_INPUTS, 0.0, T)
        h = float(state.hmass())
        state.update(cp.QT_INPUTS, 1.0, T)
        return float(state.hmass()) - h

    def boils_at(p: float) -> float:
        state.update(cp.PQ_INPUTS, p, 0.0)
        return float(state.T())

    def of_liquid(get: Callable[[], float], degree: int, what: str, unit: str,
                  log: bool = False) -> Curve:
        curve = fit_curve(liquid(get), TRIPLE, WATER_HIGH, degree,
                          name=f"{what} of water", unit=unit, log_value=log)
        return _from(curve, WATER_LOW)

    def of_steam(source: Callable[[Floats], Floats], degree: int, what: str, unit: str,
                 variable: str = "x", log: bool = False) -> Curve:
        curve = fit_curve(source, TRIPLE, WATER_HIGH, degree, name=what, unit=unit,
                          variable=variable, log_value=log)
        return _from(curve, WATER_LOW)

    pressure = fit_curve(saturated(1.0, state.p), TRIPLE, WATER_HIGH, 7, unit="Pa",
                         name="saturation pressure of water", variable="1/x", log_value=True)
    ends = saturated(1.0, state.p)(np.array([TRIPLE, WATER_HIGH]))
    temperature = fit_curve(_each(boils_at), float(ends[0]) * (1 + 1e-12), float(ends[1]), 7,
                            name="saturation temperature of water", unit="K", variable="ln x",
                            absolute=True, x_unit="Pa")
    return WaterTable(
        density=of_liquid(state.rhomass, 8, "density", "kg/m3"),
        specific_heat=of_liquid(state.cpmass, 10, "specific heat", "J/(kg K)"),
        viscosity=of_liquid(state.viscosity, 8, "viscosity", "Pa s", log=True),
        conductivity=of_liquid(state.conductivity, 6, "conductivity", "W/(m K)"),
        saturation_pressure=_from(pressure, SATURATION_LOW),
        saturation_temperature=_from(temperature, pressure(SATURATION_LOW)),
        latent_heat=of_steam(_each(latent), 7, "latent heat of water", "J/kg"),
        steam_density=of_steam(
            saturated(1.0, state.rhomass), 7, "density of saturated steam", "kg/m3",
            "1/x", log=True),
        steam_enthalpy=of_steam(
            saturated(1.0, state.hmass), 7, "enthalpy of saturated steam", "J/kg"),
    )


def _from(curve: Curve, low: float) -> Curve:
    """Return the curve with a lower start of its range, where its polynomial still holds.

    CoolProp gives no saturation below the triple point. The saturation pressure continued to
    238 K over supercooled water is within 0.1 % of Murphy and Koop (2005), eq. 10, and the
    temperature from it within 0.03 K; both are tested.
    """
    return replace(curve, low=low)


def _glycol(cp: Any, fluid: str, name: str) -> GlycolTable:
    """Recover CoolProp's own polynomials in volume fraction and temperature.

    AEG and APG are polynomials of degree 5 and 3; least squares on points inside their range
    finds them to rounding, which the measured error shows.
    """
    state = cp.AbstractState("INCOMP", fluid)

    def freezing(v: float) -> float:
        return float(cp.PropsSI("T_freeze", "T", 353.15, "P", 3e5, f"INCOMP::{fluid}[{v}]"))

    def sample(fractions: Floats, count: int) -> Floats:
        rows = []
        for v in fractions:
            state.set_volu_fractions([float(v)])
            start = max(freezing(float(v)), GLYCOL_T_LOW) + 1e-6
            for T in np.linspace(start, GLYCOL_T_HIGH, count):
                state.update(cp.PT_INPUTS, 3e5, float(T))
                rows.append((float(v), float(T), state.rhomass(), state.cpmass(),
                             state.viscosity(), state.conductivity()))
        return np.array(rows)

    fitted = sample(np.linspace(GLYCOL_V_LOW, GLYCOL_V_HIGH, 11), 16)
    dense = sample(np.linspace(GLYCOL_V_LOW, GLYCOL_V_HIGH, 21), 41)

    def surface(column: int, what: str, unit: str, log: bool = False) -> Surface:
        return _fit_surface(fitted, dense, column, f"{what} of {name} glycol in water", unit, log)

    return GlycolTable(
        name=name, v_low=GLYCOL_V_LOW, v_high=GLYCOL_V_HIGH,
        t_low=GLYCOL_T_LOW, t_high=GLYCOL_T_HIGH,
        freezing_point=fit_curve(
            _each(freezing), GLYCOL_V_LOW, GLYCOL_V_HIGH, 6, unit="K", x_unit="by volume",
            name=f"freezing point of {name} glycol in water", absolute=True),
        density=surface(2, "density", "kg/m3"),
        specific_heat=surface(3, "specific heat", "J/(kg K)"),
        viscosity=surface(4, "viscosity", "Pa s", log=True),
        conductivity=surface(5, "conductivity", "W/(m K)"),
    )


def _fit_surface(
    fitted: Floats, dense: Floats, column: int, name: str, unit: str, log: bool
) -> Surface:
    v_centre, v_scale = 0.35, 4.0
    t_centre = (GLYCOL_T_LOW + GLYCOL_T_HIGH) / 2.0
    t_scale = 2.0 / (GLYCOL_T_HIGH - GLYCOL_T_LOW)

    def basis(rows: Floats) -> Floats:
        z, w = (rows[:, 0] - v_centre) * v_scale, (rows[:, 1] - t_centre) * t_scale
        powers = np.vander(z, 6)[:, :, None] * np.vander(w, 4)[:, None, :]
        return np.asarray(powers.reshape(len(rows), -1))

    values = fitted[:, column]
    solution = np.linalg.lstsq(basis(fitted), np.log(values) if log else values, rcond=None)[0]
    got = basis(dense) @ solution
    if log:
        got = np.exp(got)
    coefs = tuple(tuple(float(c) for c in row) for row in solution.reshape(6, 4))
    error = float(np.max(np.abs(got / dense[:, column] - 1.0)))
    return Surface(name, unit, v_centre, v_scale, t_centre, t_scale, coefs, log, error)


def _air(cp: Any) -> AirTable:
    """Fit dry air and dilute water vapour.

    Transport of dry air is at 1 atm. Its specific heat, and all of the vapour, is at a pressure
    so low that it is that of an ideal gas: 0.15 % below air at 1 atm, but true to cp - cv = R.
    """

    def source(fluid: str, p: float, get: str) -> Callable[[Floats], Floats]:
        state = cp.AbstractState("HEOS", fluid)

        def point(T: float) -> float:
            state.update(cp.PT_INPUTS, p, T)
            return float(getattr(state, get)())

        return _each(point)

    def dry(get: str, what: str, unit: str, p: float = ATMOSPHERE) -> Curve:
        return fit_curve(source("Air", p, get), AIR_LOW, AIR_HIGH, 4,
                         name=f"{what} of dry air", unit=unit)

    def vapour(get: str, what: str, unit: str) -> Curve:
        curve = fit_curve(source("Water", THIN, get), VAPOUR_START, AIR_HIGH, 3,
                          name=f"{what} of water vapour", unit=unit)
        return _from(curve, AIR_LOW)

    return AirTable(
        dry("viscosity", "viscosity", "Pa s"), dry("conductivity", "conductivity", "W/(m K)"),
        dry("cpmass", "specific heat", "J/(kg K)", THIN),
        vapour("viscosity", "viscosity", "Pa s"),
        vapour("conductivity", "conductivity", "W/(m K)"),
        vapour("cpmass", "specific heat", "J/(kg K)"),
    )
