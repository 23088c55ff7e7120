"""Between a notebook's readings, by the model: what is there before, what is lost, what melts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from thermo.cooling import Cooling
from thermo.cooling_run import march_cooling
from thermo.driving import Driving
from thermo.errors import Problem, ScenarioError
from thermo.fit_traces import TOLERANCE
from thermo.history import loop_history
from thermo.ice import LATENT_HEAT, T_MELT, mass_left
from thermo.inputs.event import Leg
from thermo.loop_design import IceCharge, LoopDesign
from thermo.loop_run import Piece
from thermo.loop_state import OIL, TO_AIR
from thermo.scenario import Scenario
from thermo.site import Air

AGREES = 3.0
"""How near the reading must be to the model's tank for the model's ice to be counted [K]: three
standard errors of a hand-held thermometer. In 30 kg of water it is what melts 1.1 kg of ice."""

NO_ICE = 0.02
"""Share of the ice put in below which none is left: it melts within a minute or is not seen."""


@dataclass(frozen=True, slots=True)
class Before:
    """What the model has at the start of the first pass, and loses from there.

    Attributes
    ----------
    tank : float
        Mean temperature of the tank's water [K].
    contents : float
        Water and ice in the tank [kg].
    ice, put_in : float
        Ice left, and all that was put in until then [kg].
    charge : IceCharge or None
        That ice as it was put in.
    excess : float
        Engine metal over coolant [K].
    oil : float or None
        Oil [K]; None where it is as warm as the coolant.
    supply, back : float
        Water in the supply and the return line [K].
    lost : float
        Lost to the air from there to the reading after, sun taken off, oil's apart [J].
    """

    tank: float
    contents: float
    ice: float
    put_in: float
    charge: IceCharge | None
    excess: float
    oil: float | None
    supply: float
    back: float
    lost: float


@dataclass(frozen=True, slots=True)
class Counted:
    """The ice that is in the balance.

    Attributes
    ----------
    before, after : float
        Ice in the tank at the reading before and at that after [kg].
    error : float
        Standard error of the ice that melted between them [kg].
    told_by : str
        What says so, in words.
    """

    before: float
    after: float
    error: float
    told_by: str

    @property
    def melted(self) -> float:
        """What melted between the two readings [kg]."""
        return self.before - self.after


def with_run_on(scenario: Scenario, circulated: float) -> Scenario:
    """Return a scenario that ends as the notebook does: standing after the pass, pumps on.

    Parameters
    ----------
    scenario : Scenario
    circulated : float
        How long the pumps ran on [s].

    Returns
    -------
    Scenario
    """
    number = scenario.first_pass
    legs = scenario.leg[: number + 1]
    if circulated >= 0.1:
        following = scenario.leg[number + 1 : number + 2]
        idles = bool(following) and following[0].engine_state == "idle"
        legs += (Leg.model_validate({
            "kind": "soak", "duration": f"{circulated} s", "engine": "idle" if idles else "off",
            "tank_pump": True, "coolant_pump": True}),)
    return scenario.model_copy(update={"leg": legs})


def before_pass(
    scenario: Scenario, air: Air, driving: Driving, pass_time: float, read: float
) -> Before:
    """Return what the model has at the start of the first pass, and loses from there.

    Parameters
    ----------
    scenario : Scenario
        From :func:`with_run_on`.
    air : Air
    driving : Driving
        That scenario as driven.
    pass_time : float
        By the watch [s].
    read : float
        Tank water as read [K].

    Returns
    -------
    Before

    Raises
    ------
    ScenarioError
        If the legs before the pass cannot be followed.
    RangeError
        If a property or part leaves its range.
    """
    number = scenario.first_pass
    over = math.fsum(float(leg.duration) for leg in driving.legs[: number + 1])
    cooling, plans, run = march_cooling(scenario, air, driving, tolerance=TOLERANCE)
    h = loop_history(cooling, plans, run)
    there = np.flatnonzero(h.leg == number)
    if not len(there):
        raise ScenarioError("notebook", [Problem(
            "leg", "", f"the model does not get to the pass: {run.stopped}")])
    at = int(there[0])
    mean, ice = float(h.tank_mean[at]), float(h.ice[at])
    start, end = float(h.time[at]), float(h.time[-1])
    lost = _lost(cooling.design, run.pieces, start, over) * pass_time / (over - start)
    if end > over:
        lost += _lost(cooling.design, run.pieces, over, end)
    # Lines that the pumps have filled are as far from the model's as the tank is.
    still = at > 0 and float(h.cold_flow[at - 1]) == 0.0
    shift = 0.0 if still else read - mean
    oil = scenario.engine.oil_start_temperature if number == 0 else float(h.oil[at])
    return Before(
        tank=mean, contents=float(h.tank_mass[at] + run.dead_mass) + ice, ice=ice,
        put_in=float(scenario.tank.ice_mass)
        + sum(float(leg.ice_mass) for leg in scenario.leg[:number]),
        charge=next(p.drive.ice for p in run.pieces if p.leg == number),
        excess=float(h.metal[at] - h.coolant[at]), oil=oil,
        supply=float(h.exchanger_in[at]) + shift, back=float(h.tank_in[at]) + shift, lost=lost)


def _lost(design: LoopDesign, pieces: Sequence[Piece], begin: float, end: float) -> float:
    """Return heat lost to the air between two moments [J], sun taken off, that of the oil apart."""
    time, loss = [], []
    for piece in pieces:
        span = float(piece.drive.duration)
        for x, state, slopes in zip(piece.x, piece.states, piece.slopes, strict=True):
            oil = float(design.oil_air * (state[OIL] - design.air_temperature))
            time.append(float(piece.start) + x * span)
            loss.append(float(slopes[TO_AIR]) / span - oil)
    at = np.asarray(time)
    rows = np.concatenate(([begin], at[(at > begin) & (at < end)], [end]))
    return float(np.trapezoid(np.interp(rows, at, loss), rows))


def counted_ice(
    cooling: Cooling,
    before: Before,
    tank: tuple[float, float],
    seconds: tuple[float, float],
    ice: tuple[float | None, float | None],
    reading_error: float,
) -> Counted:
    """Return the ice that is in the balance: what is still there at the reading before the pass.

    Parameters
    ----------
    cooling : Cooling
    before : Before
    tank : (float, float)
        Tank water as read before and after [K].
    seconds : (float, float)
        Time of the pass, and how long the pumps ran on [s].
    ice : (float or None, float or None)
        Ice as the crew saw it, before and after [kg].
    reading_error : float
        Standard error of a thermometer reading [K].

    Returns
    -------
    Counted

    Raises
    ------
    ScenarioError
        If the ice is not what was put in, or cannot be told from the readings.
    """
    given, left = ice
    _refuse_given(before, given, left)
    if before.charge is None or before.put_in <= 0.0:
        return Counted(0.0, 0.0, 0.0, "")
    there, error, told_by = given, 0.0, "as read"
    if there is None:
        there, error = _by_model(cooling, before, tank[0], reading_error)
        told_by = (f"as the model has it by then, its tank at {before.tank - 273.15:.1f} degC"
                   if there > 0.0 else "as the model has it by then")
    if left is None:
        left = _left_after(before.charge, there, tank, seconds)
        if left > NO_ICE * before.put_in:
            raise ScenarioError("notebook", [Problem(
                "ice-after", "", f"about {left:.2g} kg of ice may be left at this reading, by how "
                "fast such pieces melt: look, and give what is left, 0 kg for none; or let the "
                "pumps run on until it is gone")])
        left = 0.0
    if left > there:
        raise ScenarioError("notebook", [Problem(
            "ice-after", f"{left:.3g} kg", f"at most what was there before the pass, "
            f"{there:.3g} kg {told_by}, is expected")])
    return Counted(there, left, error, told_by)


def _refuse_given(before: Before, given: float | None, left: float | None) -> None:
    """Refuse ice that was not put in."""
    problems = []
    for name, mass in (("ice-before", given), ("ice-after", left)):
        # A fiftieth more: bags differ, and water freezes onto cold ice.
        if mass is not None and not 0.0 <= mass <= 1.02 * before.put_in:
            problems.append(Problem(
                name, f"{mass:.3g} kg", f"0 kg to the {before.put_in:.3g} kg that the scenario "
                "puts in before the pass (tank.ice_mass, and ice_mass of a service) is expected"))
    if problems:
        raise ScenarioError("notebook", problems)


def _by_model(
    cooling: Cooling, before: Before, tank: float, reading_error: float
) -> tuple[float, float]:
    """Return the model's ice at the reading before, and its standard error [kg].

    Where the tank is not as the model has it, heat or time or water before the pass were others,
    and the ice left with them.
    """
    apart = tank - before.tank
    none = before.ice <= NO_ICE * before.put_in
    if none and apart >= -AGREES:
        return 0.0, 0.0
    if abs(apart) > max(AGREES, 3.0 * reading_error):
        has = "no ice is left" if none else f"{before.ice:.2g} kg of ice is left"
        raise ScenarioError("notebook", [Problem(
            "ice-before", "", f"how much ice was left at tank-before cannot be told: in the model "
            f"{has} by then, its tank at {before.tank - 273.15:.1f} degC, and "
            f"{tank - 273.15:.1f} degC was read; give the ice that was left, 0 kg for none, or put "
            "right tank.start_temperature and the legs before the pass")])
    water = before.contents - before.ice
    doubt = water * float(cooling.design.cold.specific_heat(tank)) * abs(apart) / LATENT_HEAT
    return before.ice, min(doubt, before.ice)


def _left_after(
    charge: IceCharge, there: float, tank: tuple[float, float], seconds: tuple[float, float]
) -> float:
    """Return about how much ice is left at the reading after the pass [kg].

    The water's warmth rises evenly over the pass and stays.
    """
    first, last = (max(t - T_MELT, 0.0) for t in tank)
    warmth = 0.5 * (first + last) * seconds[0] + last * seconds[1]
    return mass_left(
        there, float(charge.mass), float(charge.area), float(charge.film), warmth)
