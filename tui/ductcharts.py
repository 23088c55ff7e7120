"""Charts of the duct and of sizes as plain data."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from thermo.curves import DuctCurve, TankCurve
from thermo.intake_parts import SHARED
from thermo.results import EventResult
from thermo.units import System, convert
from tui.charts import Chart, Limit, Margin, Series, shown, thinned
from tui.sidemoment import named
from tui.words import over_air, over_air_unit


def duct_chart(result: EventResult, system: System = "si") -> Chart | None:
    """Return the pressure along the duct, station by station, over still air.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}

    Returns
    -------
    Chart or None
        None without a duct, and where it chokes. One pair of series a path.
    """
    duct = result.intake
    if duct is None or not duct.stations:
        return None
    unit, air = over_air_unit(system), result.site.station_pressure_Pa
    paths = [p for p in dict.fromkeys(s.path for s in duct.stations) if p != SHARED]
    series: list[Series] = []
    longest: tuple[tuple[str, float], ...] = ()
    for path in paths:
        along = [s for s in duct.stations if s.path in (path, SHARED)]
        xs = tuple(float(i) for i in range(len(along)))
        which = "" if len(paths) == 1 else f", {named(path)}"
        for name, values, role in (
            ("stagnation", [s.stagnation_pressure - air for s in along], "air"),
            ("static", [s.static_pressure - air for s in along], "dim"),
        ):
            ys = tuple(float(shown(v, "pressure_difference", unit)) for v in values)
            series.append(Series(f"{name}{which}", xs, ys, role))
        if len(along) > len(longest):
            longest = tuple((named(s.name), float(i)) for i, s in enumerate(along))
    return Chart(
        name="duct",
        title=f"pressure along the duct at {_speed(duct.speed_m_per_s, system)}",
        x_label="station, from the nose",
        y_label=f"pressure over still air [{unit}]",
        x_kind="station",
        series=tuple(series),
        limits=(Limit("still air", 0.0),),
        least=(Margin("net gain", f"{over_air(duct.net_Pa, system)} {unit}", duct.net_Pa),),
        marks=longest,
    )


def _speed(value: float, system: System) -> str:
    unit = "mph" if system == "us" else "m/s"
    return f"{convert(value, 'speed', unit):.1f} {unit}"


def net_speed_chart(result: EventResult, system: System = "si", width: int = 78) -> Chart | None:
    """Return the net gain of the duct against the car's speed.

    Parameters
    ----------
    result : EventResult
    system : {'si', 'us'}
    width : int
        Columns to draw on.

    Returns
    -------
    Chart or None
        None without a duct.
    """
    duct = result.intake
    if duct is None:
        return None
    unit, pace = over_air_unit(system), "mph" if system == "us" else "m/s"
    xs = np.asarray(shown(np.asarray(duct.speeds_m_per_s), "speed", pace))
    ys = np.asarray(shown(np.asarray(duct.net_against_speed_Pa), "pressure_difference", unit))
    kept = thinned(xs, ys, width)
    marks = [(f"timed, {_speed(duct.speed_m_per_s, system)}", duct.speed_m_per_s)]
    marks += [(f"no gain, {_speed(v, system)}", v) for v in duct.crossings_m_per_s]
    return Chart(
        name="net-speed",
        title="net gain of the duct against speed",
        x_label=f"speed [{pace}]",
        y_label=f"net over still air [{unit}]",
        x_kind="speed",
        series=(
            Series(
                "net gain",
                tuple(float(xs[i]) for i in kept),
                tuple(float(ys[i]) for i in kept),
                "air",
            ),
        ),
        limits=(Limit("no gain", 0.0),),
        least=(
            Margin("at the timed speed", f"{over_air(duct.net_Pa, system)} {unit}", duct.net_Pa),
        ),
        marks=tuple((n, float(shown(v, "speed", pace))) for n, v in marks),
    )


def _known(xs: Sequence[float], ys: Sequence[float]) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return the points that have a value."""
    pairs = [(x, y) for x, y in zip(xs, ys, strict=True) if math.isfinite(y)]
    return tuple(x for x, _ in pairs), tuple(y for _, y in pairs)


def _same(one: float, other: float) -> bool:
    return math.isclose(one, other, rel_tol=1e-9)


def net_size_chart(curve: DuctCurve, system: System = "si") -> Chart:
    """Return the net gain of the duct against its size.

    Parameters
    ----------
    curve : DuctCurve
        From :func:`thermo.curves.net_against_size`.
    system : {'si', 'us'}

    Returns
    -------
    Chart
        Sizes that choke have no point; the note says up to where.
    """
    unit, size = over_air_unit(system), "in" if system == "us" else "mm"
    xs, net = _known(curve.sizes, curve.net)
    choked = [x for x, y in zip(curve.sizes, curve.net, strict=True) if not math.isfinite(y)]
    here = next((y for x, y in zip(xs, net, strict=True) if _same(x, curve.now)), None)
    least: tuple[Margin, ...] = ()
    if here is not None:
        least = (Margin("as it is", f"{over_air(here, system)} {unit}", here),)
    largest = f"{shown(choked[-1], 'length', size):.3g} {size}" if choked else ""
    return Chart(
        name="net-size",
        title=f"net gain against the size of the duct at {_speed(curve.speed, system)}",
        x_label=f"bore of the first tube [{size}]" if "bore" in curve.key else f"width [{size}]",
        y_label=f"net over still air [{unit}]",
        x_kind="length",
        series=(
            Series(
                "net gain",
                tuple(float(shown(x, "length", size)) for x in xs),
                tuple(float(shown(y, "pressure_difference", unit)) for y in net),
                "air",
            ),
        ),
        limits=(
            Limit("no gain", 0.0),
            Limit("least wanted", float(shown(curve.wanted, "pressure_difference", unit))),
            Limit("gain of the nose", float(shown(curve.gain, "pressure_difference", unit))),
        ),
        least=least,
        marks=(("now", float(shown(curve.now, "length", size))),),
        note=f"it chokes up to {largest}" if choked else "",
    )


def tank_run_chart(curve: TankCurve, system: System = "si") -> Chart:
    """Return the smallest tank against the length of the run.

    Parameters
    ----------
    curve : TankCurve
        From :func:`thermo.curves.tank_against_run`.
    system : {'si', 'us'}

    Returns
    -------
    Chart
        Runs that no tank meets have no point; the note says which limit is missed.
    """
    volume = "gal" if system == "us" else "L"
    run = "s" if curve.kind == "time" else "mi" if system == "us" else "m"
    xs, ys = _known(curve.runs, curve.volumes)
    now = shown(curve.volume_now, "volume", volume)
    least: tuple[Margin, ...] = ()
    needed = next((y for x, y in zip(xs, ys, strict=True) if _same(x, curve.run_now)), None)
    if needed is not None:
        spare = curve.volume_now - needed
        told = f"{shown(abs(spare), 'volume', volume):.1f} {volume}"
        name = "for this run the tank is "
        name += "too small by" if spare < 0.0 else "larger than needed by"
        least = (Margin(name, told, spare),)
    missed = {b for v, b in zip(curve.volumes, curve.binding, strict=True) if math.isnan(v)}
    return Chart(
        name="tank-run",
        title="smallest tank against the length of the run",
        x_label=f"time of the run [{run}]" if curve.kind == "time" else f"run [{run}]",
        y_label=f"tank volume [{volume}]",
        x_kind="length",
        series=(
            Series(
                "smallest tank",
                tuple(float(shown(x, curve.kind, run)) for x in xs),
                tuple(float(shown(y, "volume", volume)) for y in ys),
                "water",
            ),
        ),
        limits=(Limit("tank now", float(now)),),
        least=least,
        marks=(("now", float(shown(curve.run_now, curve.kind, run))),),
        note=f"where no tank is shown none meets: {', '.join(sorted(missed))}" if missed else "",
    )
