"""The notebook fit: heat share from what a crew can read without a logger, by one heat balance.

Tank before, tank after the pumps have run on, coolant before and after, and the time of the pass.
With the pumps run on, metal and coolant have given their heat and everything has one temperature
each, so that what the engine put into the water is what the water, the coolant, the metal and the
tank's wall have gained, and what went to the air meanwhile.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from thermo.cooling import OIL_SPECIFIC_HEAT, Cooling, build_cooling
from thermo.driving import Driving, drive_or_refuse
from thermo.engine_table import peak_power
from thermo.errors import Problem, ScenarioError
from thermo.fields import quantity_of
from thermo.fit_before import Before, Counted, before_pass, counted_ice, with_run_on
from thermo.fit_parameters import Fitted, heat_key, heat_now
from thermo.fit_plenum import duct_by_plenum
from thermo.loop_state import LINE_CELLS
from thermo.scenario import Scenario
from thermo.site_air import site_air

READING = 1.0
"""Standard error of a thermometer reading [K]: common practice for a hand-held one."""
WATCH = 1.0
"""Standard error of the time of the pass [s]: common practice for a watch."""
FILL = 0.02
"""Relative standard error of the water in the tank: common practice, filled by measure."""
JACKET = 0.08
"""Relative standard error of the coolant's volume: common practice."""
METAL = 0.25
"""Relative standard error of the metal's heat capacity: a third of the range of common practice."""
EXCESS = 3.0
"""Standard error of metal over coolant before the pass [K]: common practice."""
LOST = 0.5
"""Relative standard error of the heat lost to the air: common practice."""

KELVIN = "temperature_difference"
"""Kind of quantity of a rise."""

NORMAL_95 = 1.959964
NORMAL_90 = 1.644854
"""Standard errors to each side of a normal distribution that hold 95 % and 90 % of it."""


@dataclass(frozen=True, slots=True)
class Notebook:
    """What the crew wrote down.

    Attributes
    ----------
    tank_before, tank_after : float
        Tank water before the pass, and after the pumps have run on [K].
    coolant_before, coolant_after : float
        Coolant, likewise [K].
    pass_time : float
        At full power [s].
    circulated : float
        How long the pumps ran on before the second reading [s].
    plenum : float or None
        Pressure in the plenum at the timed speed [Pa], absolute.
    reading_error : float
        Standard error of a thermometer reading [K].
    ice_before, ice_after : float or None
        Ice in the tank at the readings before and after [kg]; by the model, and none, where it was
        not looked at and the tank's readings allow it.
    """

    tank_before: float
    tank_after: float
    coolant_before: float
    coolant_after: float
    pass_time: float
    circulated: float = 60.0
    plenum: float | None = None
    reading_error: float = READING
    ice_before: float | None = None
    ice_after: float | None = None


@dataclass(frozen=True, slots=True)
class Term:
    """One term of the balance.

    Attributes
    ----------
    name : str
    heat : float
        [J]; what is to be taken off is negative.
    error : float
        Its own standard error by masses and losses, readings apart [J].
    how : tuple of (str or (float, str))
        What it is made of: words, and quantities as SI value and kind.
    """

    name: str
    heat: float
    error: float
    how: tuple[str | tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class NotebookFit:
    """What the notebook says of the car.

    Attributes
    ----------
    terms : tuple of Term
        The balance, line by line.
    heat, heat_error : float
        Heat from the engine into the coolant during the pass, and its standard error [J].
    brake_energy : float
        Brake power of the scenario over the time of the pass [J].
    share, share_error : float
        Heat over brake energy.
    share_before : float
        As the scenario had it.
    parts_of_error : tuple of (str, float)
        Standard error of the share by its causes, largest first.
    fitted : tuple of Fitted
        Inputs with value and interval, to be put into the scenario.
    notes : tuple of str
    """

    terms: tuple[Term, ...]
    heat: float
    heat_error: float
    brake_energy: float
    share: float
    share_error: float
    share_before: float
    parts_of_error: tuple[tuple[str, float], ...]
    fitted: tuple[Fitted, ...]
    notes: tuple[str, ...]


def fit_notebook(scenario: Scenario, book: Notebook) -> NotebookFit:
    """Find the heat share, and the duct's losses where the plenum was read.

    Parameters
    ----------
    scenario : Scenario
        Its masses and losses carry the balance.
    book : Notebook

    Returns
    -------
    NotebookFit

    Raises
    ------
    ScenarioError
        If the readings contradict one another, do not tell how much ice melted, or lead to a share
        that no engine has.

    Notes
    -----
    Q = m_w (h(T1) - h(T0)) + m_ice (L + h(T1)) + C_wall (T1 - T0) + m_c (h_c(Tc1) - h_c(Tc0))
    + C_metal (Tc1 - Tc0 - excess) + loss to the air - pump work - other heat;
    share = Q / (P t_pass), with m_ice what melted between the two readings. First law; errors add
    as squares. The loss, and what legs before the pass leave of ice, excess and oil, is
    the model's.
    """
    number = scenario.first_pass
    air = site_air(scenario)
    cooling = build_cooling(scenario, air)
    _refuse(cooling, book)
    short = with_run_on(scenario, book.circulated)
    driving = drive_or_refuse(short, air)
    start = before_pass(short, air, driving, book.pass_time, book.tank_before)
    ice = counted_ice(
        cooling, start, (book.tank_before, book.tank_after), (book.pass_time, book.circulated),
        (book.ice_before, book.ice_after), book.reading_error)
    _refuse_cooler(book, ice)
    energy = _brake_energy(driving, number, book.pass_time)
    terms = _balance(scenario, cooling, book, energy, start, ice)
    heat = math.fsum(term.heat for term in terms)
    share = heat / energy
    _refuse_share(share, heat)
    causes = _causes(cooling, book, terms, share, energy, start.contents - ice.after)
    error = math.sqrt(math.fsum(e * e for _, e in causes))
    before = heat_now(scenario)
    key = heat_key(scenario)
    scale = share / (cooling.full_heat / peak_power(scenario.engine))
    quantity = quantity_of(Scenario, key)
    fitted = [Fitted.normal(key, quantity.kind if quantity else "fraction", "heat share", before,
                            before * scale, before * scale * error / share)]
    notes = _notes(driving, number, book, start, ice)
    if book.plenum is not None:
        fitted.append(duct_by_plenum(scenario, driving, air, book.plenum, notes))
    return NotebookFit(
        terms, heat, error * energy, energy, share, error,
        float(cooling.full_heat / peak_power(scenario.engine)), causes, tuple(fitted), tuple(notes),
    )


def _refuse(cooling: Cooling, book: Notebook) -> None:
    """Refuse readings that leave the liquids' range, and times that no crew has."""
    problems: list[Problem] = []
    for name, value, liquid in (
        ("tank-before", book.tank_before, cooling.design.cold),
        ("tank-after", book.tank_after, cooling.design.cold),
        ("coolant-before", book.coolant_before, cooling.design.hot),
        ("coolant-after", book.coolant_after, cooling.design.hot),
    ):
        if not liquid.t_low <= value <= liquid.t_high:
            problems.append(Problem(
                name, f"{value - 273.15:.1f} degC", f"{liquid.t_low - 273.15:.0f} to "
                f"{liquid.t_high - 273.15:.0f} degC is expected of this liquid"))
    if not 1.0 <= book.pass_time <= 7200.0:
        problems.append(Problem("pass-time", f"{book.pass_time:.3g} s", "1 s to 2 h is expected"))
    if not 0.0 <= book.circulated <= 7200.0:
        problems.append(Problem("circulated", f"{book.circulated:.3g} s", "0 s to 2 h is expected"))
    if not 0.01 <= book.reading_error <= 10.0:
        problems.append(Problem(
            "reading-error", f"{book.reading_error:.3g} K", "0.01 K to 10 K is expected"))
    if problems:
        raise ScenarioError("notebook", problems)


def _refuse_cooler(book: Notebook, ice: Counted) -> None:
    """Refuse a tank that no ice has cooled and is not warmer after the pass."""
    if book.tank_after <= book.tank_before and ice.melted <= 0.0:
        raise ScenarioError("notebook", [Problem(
            "tank-after", f"{book.tank_after - 273.15:.1f} degC",
            f"more than tank-before ({book.tank_before - 273.15:.1f} degC) is expected: a pass "
            "warms the tank; were the two mixed up, or was the water swapped?")])


def _refuse_share(share: float, heat: float) -> None:
    if not 0.2 <= share <= 2.0:
        raise ScenarioError("notebook", [Problem(
            "", f"a heat share of {share:.2f} ({heat / 1e3:.0f} kJ)",
            "0.2 to 2.0 of brake power is what engines do: look at the units of the readings, "
            "at the water in the tank and at the power in the scenario")])


def _brake_energy(driving: Driving, number: int, seconds: float) -> float:
    """Return mean brake power of the driven pass times the time by the watch [J]."""
    trace = driving.legs[number].trace
    if trace is None:
        raise ScenarioError("notebook", [Problem("leg", "", "the pass must move the car")])
    mean = float(np.trapezoid(trace.power, trace.time) / (trace.time[-1] - trace.time[0]))
    return mean * seconds


def _balance(
    scenario: Scenario, cooling: Cooling, book: Notebook, energy: float,
    start: Before, ice: Counted,
) -> tuple[Term, ...]:
    """Return the terms of the balance."""
    design, engine = cooling.design, scenario.engine
    cold, hot = design.cold, design.hot
    rise = book.tank_after - book.tank_before
    mass = start.contents - ice.before
    gain = float(cold.enthalpy(book.tank_after) - cold.enthalpy(book.tank_before))
    terms = [
        Term("tank water", mass * gain, FILL * mass * gain,
             ((mass, "mass"), " x ", (gain / rise if rise else 0.0, "specific_heat"), " x ",
              (rise, KELVIN))),
        _lines(cooling, book, start),
    ]
    if design.wall_capacity is not None:
        wall = float(design.wall_capacity) * rise
        terms.append(Term("wall of the tank", wall, 0.1 * abs(wall),
                          ((float(design.wall_capacity), "heat_capacity"), " x ",
                           (rise, KELVIN))))
    if start.charge is not None and start.put_in > 0.0:
        melt = float(start.charge.heat) + float(cold.enthalpy(book.tank_after))
        terms.append(Term(
            "ice melted since then", ice.melted * melt,
            math.hypot(0.03 * ice.melted, ice.error) * melt,
            ((ice.before, "mass"), " of ", (start.put_in, "mass"), " there at the reading before, ",
             ice.told_by, *((", ", (ice.after, "mass"), " at that after") if ice.after else ()),
             *((", to water and up to the reading",) if ice.melted else ()))))
    cooled = book.coolant_after - book.coolant_before
    jacket = float(cooling.jacket_mass) * float(
        hot.enthalpy(book.coolant_after) - hot.enthalpy(book.coolant_before))
    terms.append(Term("coolant", jacket, JACKET * abs(jacket),
                      ((float(cooling.jacket_mass), "mass"), " x ", (cooled, KELVIN))))
    capacity, excess = float(design.metal_capacity), start.excess
    metal = capacity * (cooled - excess)
    terms.append(Term("engine metal", metal, math.hypot(METAL * metal, EXCESS * capacity),
                      ((capacity, "heat_capacity"), " x (", (cooled, KELVIN), " less ",
                       (excess, KELVIN), " that it was over the coolant at the start)")))
    span = book.pass_time + book.circulated
    terms.append(Term("lost to the air", start.lost, LOST * abs(start.lost),
                      ("as the model loses it over ", (span, "time"))))
    work = -span * float(cooling.cold_flow.power + cooling.hot_flow.power)
    if work != 0.0:
        terms.append(Term("work of the pumps", work, 0.3 * abs(work), ("over ", (span, "time"))))
    other = -energy / peak_power(engine) * engine.charge_cooler_heat
    if other != 0.0:
        terms.append(Term("charge cooler", other, 0.3 * abs(other), ("as in the scenario",)))
    if engine.oil_cooler_ua > 0.0:
        warmed = book.coolant_after - (book.coolant_before if start.oil is None else start.oil)
        oil = -(engine.oil_share * energy - engine.oil_mass * OIL_SPECIFIC_HEAT * warmed)
        terms.append(Term("oil through its cooler", oil, 0.5 * abs(oil),
                          ("as in the scenario, the oil as warm as the coolant at the end",)))
    idle = _idle_seconds(scenario, book.circulated)
    if idle > 0.0:
        heat = -idle * engine.idle_heat * engine.displacement
        terms.append(Term("engine idling after the pass", heat, 0.3 * abs(heat), ((idle, "time"),)))
    return tuple(terms)


def _lines(cooling: Cooling, book: Notebook, start: Before) -> Term:
    """Return what the water in the lines gained, from as warm as the model has it on."""
    design, cold = cooling.design, cooling.design.cold
    parts = [(LINE_CELLS * float(mass), max(t, cold.t_low)) for mass, t in (
        (design.supply_mass, start.supply), (design.return_mass, start.back))]
    whole = math.fsum(mass for mass, _ in parts)
    first = math.fsum(mass * t for mass, t in parts) / whole if whole else book.tank_before
    heat = whole * float(cold.enthalpy(book.tank_after) - cold.enthalpy(first))
    return Term("water in the lines", heat, 0.1 * abs(heat),
                ((whole, "mass"), " x ", (book.tank_after - first, KELVIN)))


def _idle_seconds(scenario: Scenario, circulated: float) -> float:
    """Return how long the engine idles after the first pass, by the scenario [s]."""
    number = scenario.first_pass
    following = scenario.leg[number + 1 : number + 2]
    if not following or following[0].engine_state != "idle":
        return 0.0
    return min(circulated, following[0].duration or circulated)


def _causes(
    cooling: Cooling,
    book: Notebook,
    terms: tuple[Term, ...],
    share: float,
    energy: float,
    mass: float,
) -> tuple[tuple[str, float], ...]:
    """Return standard errors of the share by cause, largest first; `mass` of tank water [kg]."""
    design = cooling.design
    r = book.reading_error
    cp = float(design.cold.specific_heat(book.tank_after))
    line = LINE_CELLS * float(design.supply_mass + design.return_mass)
    water = (mass + line) * cp
    if design.wall_capacity is not None:
        water += float(design.wall_capacity)
    coolant = float(cooling.jacket_mass) * float(design.hot.specific_heat(book.coolant_after))
    coolant += float(design.metal_capacity)
    found = [
        ("reading of the tank, twice", math.sqrt(2.0) * r * water / energy),
        ("reading of the coolant, twice", math.sqrt(2.0) * r * coolant / energy),
        ("time of the pass", share * WATCH / book.pass_time),
        *((f"{term.name}: amount", term.error / energy) for term in terms),
    ]
    return tuple(sorted(found, key=lambda cause: -cause[1]))


def _notes(
    driving: Driving, number: int, book: Notebook, start: Before, ice: Counted
) -> list[str]:
    notes = [
        "the share is over the brake power in the scenario: a wrong power is made good by the "
        "share, and the heat is right all the same",
        "steam or water lost through cap or relief is not in the balance: with any lost, the "
        "share is higher",
    ]
    planned = float(driving.legs[number].duration)
    if abs(book.pass_time - planned) > 0.1 * planned:
        notes.append(
            f"the pass took {book.pass_time:.1f} s, the scenario's takes {planned:.1f} s: look at "
            "power, drag and rolling resistance")
    if book.circulated < 30.0:
        notes.append("pumps run on for less than 30 s leave heat in the metal: the share is low")
    if start.put_in > 0.0:
        notes.append(
            f"of {start.put_in:.3g} kg of ice put in, {ice.before:.3g} kg is taken to be there at "
            f"the reading before ({ice.told_by}), and {ice.after:.3g} kg at that after: stir and "
            "look before each reading")
    return notes
