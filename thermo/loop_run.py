"""March the loop through the pieces of an event, with services in between, and keep the account."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from thermo.errors import about
from thermo.loop import make_rates
from thermo.loop_design import IceCharge, LegDrive, LoopDesign
from thermo.loop_limits import make_projection
from thermo.loop_service import Service, serve
from thermo.loop_state import (
    CELLS,
    JACKET,
    JACKET_MASS,
    LINE_CELLS,
    METAL,
    PUMP_WORK,
    STEAM_HEAT,
    TANK_MASS,
    TANK_STEAM,
    TO_AIR,
    WAX,
    stored_energy,
)
from thermo.ops import FLOATS, Real, ops_of
from thermo.stepping import Project, State, advance, follow
from thermo.stiff import go_on

TEMPERATURE_TOLERANCE = 0.003
"""Error allowed a step [K]; the sum over an event stays well under 0.05 K (tested)."""

LINE_EASE = 6.0
"""Error allowed in a line's cell over that elsewhere, where the steps are given: a line is only a
delay, and what is off in it for a moment has passed it within seconds."""

DRY = "the jacket boiled dry"
"""How a run may end early and still be judged."""

DRY_SHARE = 0.3
"""Share of the coolant below which the run ends: the jacket has boiled dry."""

TANK_DRY_SHARE = 0.02
"""Share of the tank's active water at the start below which steam leaves it dry."""

LARGEST_STEP = 20.0
"""Longest step [s]."""

STIFF_AFTER = 400
"""Steps of a piece after which those that are left are implicit: three times as many as any
that ships takes."""

MOST_SHARED_STEPS = 4000
"""Most explicit steps of a piece, which only variants that share them come near."""

LARGEST_STIFF_STEP = 60.0
"""Longest implicit step [s]."""

SPARE = 1.0
"""How far beyond the range of its properties a liquid of one event is followed [K]; there is no
verdict from the range's end on."""


@dataclass(slots=True)
class Piece:
    """One stretch of an event without a step in its drive, as integrated.

    Attributes
    ----------
    leg : int
        Position of the leg in the event.
    start : float
        [s].
    drive : LegDrive
    dead_enthalpy : float
        Specific enthalpy of the water that takes no part [J/kg].
    seal : int
        How often the tank has been opened and sealed anew before this piece.
    project : callable
        Turns heat beyond saturation into steam, see :mod:`thermo.loop_limits`.
    x : list of float
        Normalised times of the steps, 0 to 1.
    states, slopes : list
        State and its rate of change at each.
    arrivals : list
        State at the end of each step before it was mended; the first is that of the start.
    """

    leg: int
    start: Real
    drive: LegDrive
    dead_enthalpy: Real
    seal: int
    project: Project
    x: list[float] = field(default_factory=list)
    states: list[State] = field(default_factory=list)
    slopes: list[State] = field(default_factory=list)
    arrivals: list[State] = field(default_factory=list)

    def mend(self, x: float, state: State) -> bool:
        """Keep a state as it arrives, then mend it in place; say whether that changed it."""
        self.arrivals.append(list(state))
        return self.project(x, state)

    def record(self, x: float, state: State, slopes: State) -> None:
        """Keep a step."""
        self.x.append(x)
        self.states.append(state)
        self.slopes.append(slopes)


@dataclass(slots=True)
class LoopRun:
    """The integrated event.

    Attributes
    ----------
    pieces : list of Piece
    dead_mass : float
        Tank water that takes no part [kg].
    added : float
        Enthalpy of water and ice put in, less that of water taken out [J].
    stored : float
        Energy stored at the end less that at the start [J].
    stopped : str
        Why the run ended before its time; empty when it did not.
    error : float or ndarray
        Where the steps were given: largest error of a step over that allowed.
    tank_dry : bool or ndarray of bool
        Whether the tank has boiled dry.
    """

    pieces: list[Piece]
    dead_mass: Real
    added: Real
    stored: Real
    stopped: str
    error: Any = 0.0
    tank_dry: Any = False


def _tolerances(design: LoopDesign, state: State, kelvin: float) -> list[float]:
    heat = kelvin * 4186.0
    none = float("inf")
    out = [
        kelvin,
        heat,
        10.0 * kelvin,
        kelvin,
        none,
        none,
        kelvin / 3.0,
        none,
        none,
        none,
        none,
    ]
    out += [heat] * (len(state) - CELLS)
    if design.thermostat is None:
        out[WAX] = none
    return out


def run_loop(
    design: LoopDesign,
    state: State,
    ice: IceCharge | None,
    dead_mass: Real,
    plan: Sequence[tuple[int, LegDrive | Service]],
    *,
    grids: Sequence[Sequence[float]] | None = None,
    tolerance: float | None = None,
    bounded: bool = False,
) -> LoopRun:
    """Integrate an event.

    Parameters
    ----------
    design : LoopDesign
    state : list
        From :func:`start_state`.
    ice : IceCharge or None
        In the tank at the start.
    dead_mass : float
        Tank water that takes no part [kg], at the active water's temperature.
    plan : sequence of (int, LegDrive or Service)
        In order, each with the position of its leg. Heat must not step inside a LegDrive.
    grids : sequence of sequence of float, optional
        The steps of each LegDrive in normalised time, 0 to 1; chosen by the error when not given.
    tolerance : float, optional
        Error allowed a step [K]; ``TEMPERATURE_TOLERANCE`` when not given.
    bounded : bool, optional
        Whether one event ends where a liquid leaves the range of its properties by ``SPARE``.

    Returns
    -------
    LoopRun
        With `stopped` set where the jacket boiled dry or the integration failed. Of several
        variants, one that boils dry keeps its last coolant at saturation, ``DRY_SHARE`` of the
        first, and the others go on.

    Raises
    ------
    ScenarioError
        If the ice of a service takes the place of more than ``MOST_ICE`` of the tank's water.
    """
    dead_enthalpy: Real = state[CELLS + 2 * LINE_CELLS]
    dry = DRY_SHARE * state[JACKET_MASS], TANK_DRY_SHARE * state[TANK_MASS]
    first = stored_energy(design, state, ice, dead_mass, dead_enthalpy)
    added: Real = 0.0
    clock: Real = 0.0
    seal = 0
    stopped = ""
    pieces: list[Piece] = []
    worst: Any = 0.0
    kelvin = TEMPERATURE_TOLERANCE if tolerance is None else tolerance
    tolerances = _tolerances(design, state, kelvin)
    y = list(state)
    leaves = _end_of(design, dry[1], bounded)
    for leg, step in plan:
        if isinstance(step, Service):
            with about(f"leg[{leg}].ice_mass"):
                y, ice, dead_enthalpy, more = serve(design, y, step, ice, dead_mass, dead_enthalpy)
            added = added + more
            seal += int(step.reseal)
            continue
        drive = replace(step, ice=ice)
        project = make_projection(design, ice, *dry)
        piece = Piece(leg, clock, drive, dead_enthalpy, seal, project, arrivals=[y])
        grid = None if grids is None else grids[len(pieces)]
        pieces.append(piece)
        stopped, error = _march(design, piece, tolerances, (dry, leaves), grid)
        worst = ops_of(worst, error).maximum(worst, error)
        y = piece.states[-1]
        if stopped:
            break
        clock = clock + step.duration
    stored = stored_energy(design, y, ice, dead_mass, dead_enthalpy) - first
    return LoopRun(pieces, dead_mass, added, stored, stopped, worst, tank_dry(y, dry[1]))


def _march(
    design: LoopDesign,
    piece: Piece,
    tolerances: Sequence[float],
    ends: tuple[tuple[Real, Real], Callable[[State], bool]],
    grid: Sequence[float] | None,
) -> tuple[str, Any]:
    """Integrate a piece from its one arrival on.

    Return why it stopped early, or nothing, and the largest error of given steps.
    """

    dry, leaves = ends

    def is_dry(state: State) -> bool:
        return bool(ops_of(state[METAL]).all_(state[JACKET_MASS] <= dry[0] * (1.0 + 1e-9)))

    def record(x: float, state: State, slopes: State) -> bool:
        piece.record(x, state, slopes)
        return is_dry(state) or leaves(state)

    def slow(x: float, state: State, slopes: State) -> bool:
        stop = record(x, state, slopes)
        return stop or (len(piece.x) > STIFF_AFTER and ops_of(state[METAL]) is FLOATS)

    rates = make_rates(design, piece.drive)
    error: Any = 0.0
    longest = float(np.max(piece.drive.duration))
    try:
        # One event's steps beyond those are implicit: taken by the explicit pair they run away.
        implicit = grid is not None and len(grid) > STIFF_AFTER
        if grid is not None and not (implicit and ops_of(piece.arrivals[0][METAL]) is FLOATS):
            t0 = CELLS + 2 * LINE_CELLS
            eased = [t * LINE_EASE if CELLS <= i < t0 else t for i, t in enumerate(tolerances)]
            error = follow(
                rates, piece.arrivals[0], grid, eased, project=piece.mend, record=record
            )
            return (DRY if is_dry(piece.states[-1]) else ""), error
        y = advance(
            rates,
            piece.arrivals[0],
            1.0,
            tolerances,
            first=min(1.0, 0.2 / longest),
            largest=min(0.25, LARGEST_STEP / longest),
            project=piece.mend,
            record=slow,
            most=MOST_SHARED_STEPS,
        )
        if piece.x[-1] < 1.0 and not (is_dry(y) or leaves(y)):
            y = go_on(
                rates,
                piece.x[-1],
                y,
                1.0,
                tolerances,
                first=piece.x[-1] - piece.x[-2],
                largest=min(0.25, LARGEST_STIFF_STEP / longest),
                project=piece.mend,
                record=record,
            )
    except (ArithmeticError, ValueError) as failed:
        if not piece.x:
            piece.record(0.0, list(piece.arrivals[0]), [0.0 * v for v in piece.arrivals[0]])
        # A step too small, or a state so far out that a power or logarithm has no value.
        return f"the integration stopped in leg {piece.leg + 1}: {failed}", error
    if leaves(y):
        what = "the tank boiled dry" if tank_dry(y, dry[1]) else "a liquid leaves its range"
        return f"{what} in leg {piece.leg + 1}", error
    return (DRY if is_dry(y) else ""), error


def tank_dry(state: State, dry: Real) -> Any:
    """Say whether the tank has boiled down to `dry` [kg] of active water. [poly]"""
    return (state[TANK_MASS] <= dry * (1.0 + 1e-9)) & (state[TANK_STEAM] > 0.0)


def _end_of(design: LoopDesign, dry: Real, bounded: bool) -> Callable[[State], bool]:
    """Return the function that says of one event's state that no verdict can come of it."""
    hot, cold = (
        (liquid.enthalpy(liquid.t_low - SPARE), liquid.enthalpy(liquid.t_high + SPARE))
        for liquid in (design.hot, design.cold)
    )
    inlet = CELLS + 2 * LINE_CELLS - 1

    def leaves(state: State) -> bool:
        if ops_of(state[METAL]) is not FLOATS:
            return False
        if bounded:
            cells = state[inlet:]
            inside = hot[0] < state[JACKET] < hot[1] and cold[0] < min(cells)
            if not (inside and max(cells) < cold[1]):
                return True
        return bool(tank_dry(state, dry))

    return leaves


def spread_of(design: LoopDesign, plan: Sequence[tuple[int, LegDrive | Service]]) -> Real:
    """Return zero, or zeros with one entry a variant where design or plan has one.

    Parameters
    ----------
    design : LoopDesign
    plan : sequence of (int, LegDrive or Service)

    Returns
    -------
    float or ndarray
        To be added to the state at the start.
    """
    found: list[Any] = []
    for _, step in plan:
        if isinstance(step, LegDrive):
            tables = (step.metal_heat, step.oil_heat, step.charge_heat, step.hot_flow)
            found += [step.cold_flow(300.0), *(table[-1] for table in tables)]
    held = (design, design.conductance, design.thermostat, *(step for _, step in plan))
    charges = [step.ice for _, step in plan if isinstance(step, Service)]
    for thing in (*held, *charges):
        if thing is not None:
            found += [getattr(thing, name) for name in getattr(thing, "__slots__", ())]
    zero = 0.0
    for value in found:
        if isinstance(value, np.ndarray):
            return 0.0 * np.where(np.isfinite(value), value, 0.0)
    return zero


def totals(run: LoopRun) -> dict[str, Real]:
    """Return heat to air, pump work, steam heat [J] and tank steam [kg] at the end of a run."""
    last = run.pieces[-1].states[-1]
    return {
        "to_air": last[TO_AIR],
        "pump": last[PUMP_WORK],
        "steam_heat": last[STEAM_HEAT],
        "tank_steam": last[TANK_STEAM],
    }
