"""What can be fitted: each parameter with its key, its range before the fit, and its bounds."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from thermo.cooling import COLD_FLOW, HOT_FLOW_PER_POWER, build_cooling
from thermo.cooling_exchanger import UA_PER_POWER
from thermo.doubt_ranges import ranges_of
from thermo.engine import COOLANT_HEAT_SHARE, METAL_EXCESS, METALS, WETTED_METAL
from thermo.engine_table import peak_power
from thermo.errors import Problem, ScenarioError
from thermo.fields import quantity_of
from thermo.scenario import Scenario, with_value
from thermo.scenario_problems import nearest
from thermo.site_air import site_air

NORMAL_90 = 1.644854
"""Standard errors to each side of a normal distribution that hold 90 % of it."""
NORMAL_95 = 1.959964
"""The same for 95 %."""


@dataclass(frozen=True, slots=True)
class Parameter:
    """One input to be fitted.

    Attributes
    ----------
    name : str
        As chosen on the command line.
    key : str
        Dotted key of the input.
    title : str
        In words.
    kind : str
        Kind of quantity.
    value : float
        As the scenario has it, or takes it [SI].
    low, high : float
        Its range before the fit, held to be the 5th and 95th percentile [SI].
    bounds : tuple of float
        What the input may be at all [SI].
    source : str
        What the range rests on.
    moves_car : bool
        Whether drive and intake must be solved anew.
    linear : bool
        Whether it is fitted as it is; its logarithm else.
    """

    name: str
    key: str
    title: str
    kind: str
    value: float
    low: float
    high: float
    bounds: tuple[float, float]
    source: str
    moves_car: bool = False
    linear: bool = False

    @property
    def centre(self) -> float:
        """Middle of the range before the fit, on the scale that is fitted."""
        return 0.5 * (self.inward(self.low) + self.inward(self.high))

    @property
    def spread(self) -> float:
        """Standard deviation before the fit, on the scale that is fitted."""
        return (self.inward(self.high) - self.inward(self.low)) / (2.0 * NORMAL_90)

    def inward(self, x: float) -> float:
        """Return an SI value on the scale that is fitted."""
        return x if self.linear else math.log(x)

    def outward(self, u: float) -> float:
        """Return an SI value from the scale that is fitted."""
        return u if self.linear else math.exp(u)

    def put(self, scenario: Scenario, x: Any) -> Scenario:
        """Return a scenario with this input at an SI value; not validated."""
        changed = with_value(scenario, self.key, x)
        if self.key in NEEDS:
            changed = with_value(changed, *NEEDS[self.key])
        return changed


NEEDS: dict[str, tuple[str, str]] = {
    "tank.active_fraction": ("tank.mixing", "adverse"),
    "tank.short_circuit": ("tank.mixing", "adverse"),
}
"""What else must be set for an input to have a say."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """An input as it comes out of a fit.

    Attributes
    ----------
    key, kind, title : str
    before, value : float
        [SI].
    low95, high95 : float
        Ends of the 95 % interval [SI].
    low90, high90 : float
        5th and 95th percentile [SI], as ``[doubt]`` takes them.
    """

    key: str
    kind: str
    title: str
    before: float
    value: float
    low95: float
    high95: float
    low90: float
    high90: float

    @classmethod
    def normal(
        cls, key: str, kind: str, title: str, before: float, value: float, error: float
    ) -> Fitted:
        """Return an input with a standard error on its own scale."""
        return cls(key, kind, title, before, value, value - NORMAL_95 * error,
                   value + NORMAL_95 * error, value - NORMAL_90 * error, value + NORMAL_90 * error)

    @classmethod
    def of(cls, parameter: Parameter, u: float, error: float) -> Fitted:
        """Return a parameter with a standard error on the scale that is fitted."""
        at = [parameter.outward(u + k * error) for k in (
            0.0, -NORMAL_95, NORMAL_95, -NORMAL_90, NORMAL_90)]
        return cls(parameter.key, parameter.kind, parameter.title, parameter.value, *at)


def heat_key(scenario: Scenario) -> str:
    """Return the key by which a scenario states the heat to the coolant."""
    if scenario.engine.heat_power is not None:
        return "engine.heat_power"
    if scenario.engine.fuel_heat_share is not None:
        return "engine.fuel_heat_share"
    return "engine.heat_share"


def heat_now(scenario: Scenario) -> float:
    """Return the value of that input [SI], as given or as taken."""
    engine = scenario.engine
    if engine.heat_power is not None:
        return float(engine.heat_power)
    if engine.fuel_heat_share is not None:
        return float(engine.fuel_heat_share)
    return COOLANT_HEAT_SHARE.value if engine.heat_share is None else float(engine.heat_share)


@dataclass(frozen=True, slots=True)
class _Told:
    """What a scenario says of one parameter: key, value, range as factors or ends, and why."""

    key: str
    value: float
    low: float
    high: float
    source: str


def _about(key: str, value: float, usual: Any, per: float = 1.0) -> _Told:
    """Return a range of practice; about the value in proportion where that lies outside it."""
    low, high = usual.low * per, usual.high * per
    if not low <= value <= high:
        low, high = value * usual.low / usual.value, value * usual.high / usual.value
    return _Told(key, value, low, high, usual.basis)


def _heat(s: Scenario) -> _Told:
    key, value = heat_key(s), heat_now(s)
    if key == "engine.heat_share":
        return _about(key, value, COOLANT_HEAT_SHARE)
    share = COOLANT_HEAT_SHARE
    return _Told(key, value, value * share.low / share.value, value * share.high / share.value,
                 share.basis)


def _ua(s: Scenario) -> _Told:
    e, power = s.exchanger, float(peak_power(s.engine))
    if e.rated is not None or e.double_pipe is not None or e.plate is not None:
        return _Told("exchanger.ua_scale", float(e.ua_scale), 0.6 * e.ua_scale, 1.3 * e.ua_scale,
                     "common practice: correlations within a quarter, fouling below")
    value = UA_PER_POWER.value * power if e.ua is None else float(e.ua)
    low, high = 15e-3 * power, 45e-3 * power
    if not low <= value <= high:
        low, high = value * 15.0 / 28.0, value * 45.0 / 28.0
    return _Told("exchanger.ua", value, low, high, "common practice, 15-45 W/K a kW")


def _metal(s: Scenario) -> _Told:
    power, engine = float(peak_power(s.engine)), s.engine
    if engine.metal_heat_capacity is not None:
        heat = power * METALS[engine.metal]
        return _about("engine.metal_heat_capacity", engine.metal_heat_capacity, WETTED_METAL, heat)
    value = WETTED_METAL.value * power if engine.metal_mass is None else float(engine.metal_mass)
    return _about("engine.metal_mass", value, WETTED_METAL, power)


def _excess(s: Scenario) -> _Told:
    return _about("engine.metal_excess", float(s.engine.metal_excess), METAL_EXCESS)


def _flow(s: Scenario) -> _Told:
    value = float(build_cooling(s, site_air(s)).cold_flow.flow)
    return _flowing("loop.flow", value or COLD_FLOW.value, s.loop.flow_measured)


def _hot_flow(s: Scenario) -> _Told:
    value = float(build_cooling(s, site_air(s)).full_hot_flow)
    usual = HOT_FLOW_PER_POWER.value * float(peak_power(s.engine))
    return _flowing("coolant.flow", value or usual, s.coolant.flow_measured)


def _flowing(key: str, value: float, measured: bool) -> _Told:
    if measured:
        return _Told(key, value, 0.9 * value, 1.1 * value, "measured in the car, within a tenth")
    return _Told(key, value, 0.5 * value, 2.0 * value,
                 "common practice: catalogue flow is not installed flow")


def _mixing(s: Scenario) -> _Told:
    value = float(s.tank.active_fraction) if s.tank.mixing == "adverse" else 0.85
    return _Told("tank.active_fraction", value, 0.6, 1.0, "common practice 0.6-1")


def _short(s: Scenario) -> _Told:
    value = float(s.tank.short_circuit) if s.tank.mixing == "adverse" else 0.1
    return _Told("tank.short_circuit", value, 0.0, 0.3, "common practice 0-0.3")


def _duct(s: Scenario) -> _Told:
    if s.intake is None:
        raise ScenarioError("fit", [Problem("duct", "", "this scenario has no [intake] to fit")])
    value = float(s.intake.loss_scale)
    return _Told("intake.loss_scale", value, 0.5 * value, 2.0 * value, "common practice")


def _drag(s: Scenario) -> _Told:
    value = float(s.car.drag_area)
    return _Told("car.drag_area", value, 0.7 * value, 1.4 * value,
                 "common practice of drag areas that were not measured")


def _rolling(s: Scenario) -> _Told:
    value = float(s.car.rolling_resistance) or 0.025
    low, high = (0.015, 0.06) if 0.015 <= value <= 0.06 else (0.6 * value, 2.4 * value)
    return _Told("car.rolling_resistance", value, low, high, "common practice 0.015-0.06")


@dataclass(frozen=True, slots=True)
class _Kind:
    """A parameter before it has been looked up in a scenario."""

    title: str
    told: Callable[[Scenario], _Told]
    moves_car: bool = False
    linear: bool = False


PARAMETERS: dict[str, _Kind] = {
    "heat": _Kind("heat to coolant", _heat),
    "ua": _Kind("exchanger conductance", _ua),
    "metal": _Kind("metal in contact with coolant", _metal),
    "excess": _Kind("metal over coolant, full power", _excess),
    "flow": _Kind("flow of the tank loop", _flow),
    "hot-flow": _Kind("flow of the coolant", _hot_flow),
    "mixing": _Kind("share of tank water in the flow", _mixing, linear=True),
    "short": _Kind("return straight to tank outlet", _short, linear=True),
    "duct": _Kind("losses of the duct", _duct, moves_car=True),
    "drag": _Kind("drag area", _drag, moves_car=True),
    "rolling": _Kind("rolling resistance", _rolling, moves_car=True),
}
"""What can be fitted, by the name on the command line."""


def parameters_of(scenario: Scenario, names: Sequence[str]) -> tuple[Parameter, ...]:
    """Look parameters up in a scenario.

    Parameters
    ----------
    scenario : Scenario
    names : sequence of str
        Keys of `PARAMETERS`.

    Returns
    -------
    tuple of Parameter
        A range in ``[doubt]`` goes before that of practice.

    Raises
    ------
    ScenarioError
        Naming each name that is not known, given twice, or does not apply.
    """
    problems = [
        Problem(name, "", f"parameters are {', '.join(PARAMETERS)}",
                suggestion=nearest(name, tuple(PARAMETERS)))
        for name in names if name not in PARAMETERS
    ]
    problems += [Problem(n, "", "named twice") for n in sorted({n for n in names
                                                                if list(names).count(n) > 1})]
    if problems:
        raise ScenarioError("fit", problems)
    return tuple(_looked_up(scenario, name, PARAMETERS[name]) for name in names)


def _looked_up(scenario: Scenario, name: str, kind: _Kind) -> Parameter:
    told = kind.told(scenario)
    quantity = quantity_of(Scenario, told.key)
    if quantity is None:
        raise KeyError(told.key)
    low, high = quantity.range_si
    made = Parameter(name, told.key, kind.title, quantity.kind, told.value, told.low, told.high,
                     (low, high), told.source, kind.moves_car, kind.linear)
    for known in ranges_of(scenario):
        # A measured flow has a narrower range here than practice gives to one that is guessed.
        if told.key in known.keys:
            return _within(replace(made, low=known.low, high=known.high, source=known.source))
    return _within(made)


def _within(parameter: Parameter) -> Parameter:
    """Return a parameter whose range lies in what the input may be, and has a width."""
    low, high = parameter.bounds
    floor = low if parameter.linear else max(low, 1e-6 * parameter.value)
    ends = max(parameter.low, floor), min(parameter.high, high)
    # An exact input has no ends at all: they are not numbers.
    if not ends[0] < ends[1]:
        raise ScenarioError("fit", [Problem(
            parameter.key, "", "its range has no width: an exact input cannot be fitted")])
    return replace(parameter, low=ends[0], high=ends[1], bounds=(floor, high))
