"""The intake of a scenario: from the tables to the air that reaches the engine at any speed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from thermo.air_demand import (
    Demand,
    DisplacementDemand,
    PowerDemand,
    SteadyDemand,
    charge_density_ratio,
    power_ratio,
)
from thermo.delivered import Delivered
from thermo.duct import MarchResult, Supply, march
from thermo.duct_fittings import Filter
from thermo.duct_parallel import PathLimits, march_paths
from thermo.duct_parts import JUMP_TOLERANCE, Path, area_jumps
from thermo.errors import about
from thermo.estimate import COMMON_PRACTICE, Estimate
from thermo.gas import BoolArray, FloatArray, Gas
from thermo.induction import fixed_point
from thermo.inputs.air import Intake
from thermo.inputs.power import Engine
from thermo.intake_parts import SHARED
from thermo.ops import most, ops_of, same
from thermo.pulsation import plenum_frequency, pulsation_factor
from thermo.ram import RamState, ram_state
from thermo.site import Air

PLENUM_PER_DISPLACEMENT = 3.0
"""Common practice 1.5 to 10."""

RECOVERY = Estimate(0.97, 0.90, 1.0, "", COMMON_PRACTICE)
"""Share of the stagnation gain that the opening catches."""

FILTER_DROP = Estimate(300.0, 200.0, 1000.0, "Pa", COMMON_PRACTICE)
"""Loss of a clean filter [Pa]."""


@dataclass(frozen=True, slots=True)
class IntakeModel:
    """The intake of a scenario.

    Attributes
    ----------
    table : Intake
    engine : Engine
    air : Air
    gas : Gas
    head_wind : float or ndarray
        [m/s].
    ducts : tuple of Path
        Side by side, from the openings to the plenum.
    shared : Path or None
        What all the air goes through last.
    base_power, turns : callable
        Brake power at this site without ram [W], and engine speed [rev/s], at a car speed.
    specific_consumption, air_fuel_ratio : float or ndarray
        [kg/J], [-].
    wall_capacity : float or ndarray
        Heat capacity of the duct wall [J/K].
    spread : float or ndarray
        Zero; an array of zeros, one a variant, where any of the above differs by variant.
    """

    table: Intake
    engine: Engine
    air: Air
    gas: Gas
    head_wind: Any
    ducts: tuple[Path, ...]
    shared: Path | None
    base_power: Callable[[Any], Any]
    turns: Callable[[Any], Any]
    specific_consumption: Any
    air_fuel_ratio: Any
    wall_capacity: Any
    spread: Any = 0.0

    def dirty(self) -> IntakeModel:
        """Return the same intake with its filters dirty."""
        return replace(
            self,
            ducts=tuple(_dirty(p, self.table) for p in self.ducts),
            shared=None if self.shared is None else _dirty(self.shared, self.table),
        )

    def demand(self, speed: FloatArray) -> Demand:
        """Return the engine's demand at car speeds [m/s]."""
        power = np.asarray(self.base_power(speed), dtype=np.float64)
        if self.table.demand == "displacement":
            return DisplacementDemand(
                self.engine.displacement,
                60.0 * np.asarray(self.turns(speed)),
                self.gas.gas_constant,
                0.5 * self.engine.strokes,
                self.engine.volumetric_efficiency,
                charge_density_ratio(self.engine.boost_ratio),
            )
        if not self.engine.ram_to_power:
            return SteadyDemand(power * self.specific_consumption * self.air_fuel_ratio)
        return PowerDemand(
            power,
            self.specific_consumption,
            self.air_fuel_ratio,
            self.air.pressure,
            self.air.temperature,
        )

    def pulsation(self, speed: FloatArray) -> FloatArray:
        """Return the factor on every loss by the pulsating draw, at car speeds [m/s]."""
        volume = self.table.plenum_volume
        if volume is None:
            volume = PLENUM_PER_DISPLACEMENT * self.engine.displacement
        cylinders, turns = self.engine.cylinders, np.asarray(self.turns(speed), dtype=np.float64)
        revs = 0.5 * self.engine.strokes
        if same(volume <= 0.0):
            return np.broadcast_to(np.asarray(pulsation_factor(cylinders, 0.0, revs)), turns.shape)
        area = sum(p.count * p.least_area for p in self.ducts)
        length = most((*(p.length for p in self.ducts), 0.05))
        natural = plenum_frequency(self.air.speed_of_sound, area, length, volume)
        ratio = np.asarray(cylinders * turns / revs / natural)
        if len(ratio) > 1 and bool(np.all(ratio == ratio[:1])):
            # An engine held at one speed draws alike at every speed of the car.
            alike = np.asarray(pulsation_factor(cylinders, ratio[0], revs))
            return np.broadcast_to(alike, ratio.shape)
        return np.asarray(pulsation_factor(cylinders, ratio, revs))

    def loss_factor(self, speed: FloatArray) -> Any:
        """Return the factor on every loss, pulsation and fitted scale, at car speeds [m/s]."""
        return self.pulsation(speed) * self.table.loss_scale

    def supply(self, ram: RamState, factor: Any, wall: Any) -> Supply:
        """Return what the ducts draw from."""
        return Supply(
            ram.delivered_pressure,
            ram.stagnation_temperature,
            self.gas,
            ram.air_speed,
            wall,
            factor,
        )

    def ram(self, speed: Any) -> RamState:
        """Return the air at the opening at car speeds [m/s]."""
        with about("leg"):  # what is out of range here is the speed that the legs reach
            return ram_state(
                speed,
                self.head_wind,
                self.air.pressure,
                self.air.temperature,
                self.gas,
                self.table.recovery,
                self.table.pressure_coefficient,
            )

    def widened(self, speeds: Any) -> FloatArray:
        """Return speeds as an array, with one column a variant where the intake differs. [poly]

        Parameters
        ----------
        speeds : array_like, shape (n,) or (n, variants)

        Returns
        -------
        ndarray
        """
        v = np.atleast_1d(np.asarray(speeds, dtype=np.float64))
        if isinstance(self.spread, np.ndarray) and v.ndim == 1:
            v = v[:, np.newaxis] + self.spread
        return v

    def still_flow(self, speeds: FloatArray) -> FloatArray:
        """Return the air that the engine would draw from still ambient air [kg/s]. [poly]

        Parameters
        ----------
        speeds : ndarray, shape (n,) or (n, variants)
            Of the car [m/s].

        Returns
        -------
        ndarray
        """
        shape, air = speeds.shape, self.air
        drawn = self.demand(speeds).flow(
            np.full(shape, air.pressure), np.full(shape, air.temperature)
        )
        return np.broadcast_to(np.asarray(drawn), shape)

    def solve(self, speeds: Any, wall: Any = None) -> Delivered:
        """Find what the intake delivers, with the engine's demand at its fixed point.

        Parameters
        ----------
        speeds : array_like, shape (n,) or (n, variants)
            Car speeds [m/s].
        wall : float or ndarray, optional
            Temperature of the duct wall [K]; adiabatic when not given.

        Returns
        -------
        Delivered
        """
        v = self.widened(speeds)
        ram = self.ram(v)
        pulsation = self.pulsation(v)
        factor = pulsation * self.table.loss_scale
        supply = self.supply(ram, factor, wall)
        seen: dict[str, Any] = {}
        limits = PathLimits(self.ducts, supply)

        def deliver(flow: FloatArray) -> tuple[FloatArray, FloatArray, BoolArray]:
            through = march_paths(self.ducts, flow, supply, find_limit=False, limits=limits)
            pressure, temperature = through.outlet_pressure, through.outlet_temperature
            choked, mach, heat = through.choked, through.mach_peak, through.heat
            if self.shared is not None:
                ok = np.where(choked, self.air.pressure, pressure)
                last = march(
                    self.shared,
                    flow,
                    Supply(
                        ok,
                        np.where(choked, self.air.temperature, temperature),
                        self.gas,
                        0.0,
                        None,
                        factor,
                    ),
                    find_limit=False,
                )
                pressure, temperature = last.outlet_pressure, last.outlet_temperature
                choked = choked | last.choked
                mach = np.fmax(mach, last.mach_peak)
            seen["met"] = np.where(choked, seen.get("met", True), through.converged)
            seen["mach"] = np.where(choked, seen.get("mach", 1.0), mach)
            seen["heat"] = np.where(choked, seen.get("heat", 0.0), heat)
            return pressure, temperature, choked

        demand = self.demand(v)
        point = fixed_point(deliver, demand, ram.delivered_pressure, ram.stagnation_temperature)
        return self._delivered(v, ram, pulsation, point, seen)

    def _delivered(
        self,
        v: FloatArray,
        ram: RamState,
        factor: FloatArray,
        point: Any,
        seen: dict[str, Any],
    ) -> Delivered:
        air = self.air
        pressure = np.where(np.isfinite(point.pressure), point.pressure, air.pressure)
        temperature = np.where(np.isfinite(point.temperature), point.temperature, air.temperature)
        ratio: Any = power_ratio(pressure, temperature, air.pressure, air.temperature)
        still = self.still_flow(v)
        # A choked duct passes so much air and no more; power follows the air.
        starved = np.where(still > 0.0, point.flow / np.where(still > 0.0, still, 1.0), 1.0)
        ratio = np.where(point.choked, np.minimum(ratio, starved), ratio)
        if not self.engine.ram_to_power:
            ratio = np.where(point.choked, np.minimum(1.0, starved), 1.0)
        return Delivered(
            speed=v,
            ram=ram,
            flow=point.flow,
            pressure=pressure,
            temperature=temperature,
            net=pressure - air.pressure,
            power_ratio=np.maximum(ratio, 0.0),
            mach=seen["mach"],
            choked=point.choked,
            converged=(point.converged & seen["met"]) | point.choked,
            heat=seen["heat"],
            pulsation=np.broadcast_to(factor, v.shape),
        )

    def stations(
        self, speed: float, flow: float, wall: float | None
    ) -> tuple[tuple[str, MarchResult], ...]:
        """Return the march of each duct, and of the shared path, at one speed and flow.

        Parameters
        ----------
        speed : float
            [m/s].
        flow : float
            [kg/s].
        wall : float or None
            [K].

        Returns
        -------
        tuple of (str, MarchResult)
            Path name and its march.
        """
        v = np.array([speed])
        factor = self.loss_factor(v)
        ram = self.ram(v)
        through = march_paths(
            self.ducts, np.array([flow]), self.supply(ram, factor, wall), find_limit=False
        )
        marched = [(p.name, m) for p, m in zip(self.ducts, through.paths, strict=True)]
        if self.shared is not None and not bool(through.choked[0]):
            marched.append(
                (
                    SHARED,
                    march(
                        self.shared,
                        np.array([flow]),
                        Supply(
                            through.outlet_pressure,
                            through.outlet_temperature,
                            self.gas,
                            0.0,
                            None,
                            factor,
                        ),
                        find_limit=False,
                    ),
                )
            )
        return tuple(marched)

    @property
    def jump_count(self) -> Any:
        """How many joints change their section without a part for it; one a variant."""
        count: Any = 0.0
        for path in self.ducts:
            for _, _, ratio in area_jumps(path):
                jump = abs(ratio - 1.0) > JUMP_TOLERANCE
                count = count + ops_of(jump).where(jump, 1.0, 0.0)
        return count

    @property
    def jumps(self) -> tuple[str, ...]:
        """Joints whose section changes without a part for it, in words."""
        found = []
        for path in self.ducts:
            for before, after, ratio in area_jumps(path):
                found.append(
                    f"duct '{path.name}': the area changes {float(np.max(ratio)):.2f} times "
                    f"between '{before}' "
                    f"and '{after}' without a part for it; no loss is counted there"
                )
        return tuple(found)


def _dirty(path: Path, table: Intake) -> Path:
    factors = {p.name or p.kind: p.dirty_factor for p in table.part if p.kind == "filter"}
    parts = tuple(
        replace(p, dirty_factor=factors.get(p.name, 3.0)) if isinstance(p, Filter) else p
        for p in path.parts
    )
    return replace(path, parts=parts)
