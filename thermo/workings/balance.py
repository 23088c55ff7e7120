"""The lumped energy balance of the first pass, by which sizes are estimated by hand."""

from __future__ import annotations

import numpy as np

from thermo.loop_state import LINE_CELLS
from thermo.workings.bench import Bench
from thermo.workings.form import Step, Symbol, by_hand, of, pure
from thermo.workings.margins import boil_steps

LUMPED = "lumped energy balance: the heat passed in the pass, into the water of tank and lines"


class Balance:
    """Numbers of the lumped energy balance of the first pass."""

    def __init__(self, b: Bench) -> None:
        h, design, row = b.history, b.design, b.finish
        start = int(np.flatnonzero(h.leg == b.scenario.first_pass)[0])
        heat = float(np.trapezoid(h.exchanger_heat[start : row + 1], h.time[start : row + 1]))
        done = b.transfer(row)
        c_hot = float(done.hot_flow * design.hot.specific_heat(float(h.coolant[row])))
        c_cold = float(done.cold_flow * design.cold.specific_heat(float(h.exchanger_in[row])))
        self.rates = (c_hot, c_cold)
        self.heat = of("H", heat, "energy", "heat passed to the water in the pass")
        self.power = of("Q", h.exchanger_heat[row], "power", "heat that passes at the finish")
        self.start = of("T0", h.tank_mean[start], "temperature", "tank as the pass begins")
        self.water = of("T_w", h.exchanger_in[row], "temperature", "water at the finish")
        self.eps = pure("eps", done.effectiveness, "effectiveness at the finish")
        self.c_min = of("Cmin", min(self.rates), "conductance", "smaller heat capacity rate")
        self.c_r = pure("Cr", min(self.rates) / max(*self.rates, 1e-12), "ratio of the rates")
        self.cp = of("cp", design.cold.specific_heat(0.5 * (self.start.value + self.water.value)),
                     "specific_heat", "specific heat of the water")
        self.rho = of("rho", design.cold.density(b.cooling.sealing_temperature), "density",
                      "density of the water")
        self.tank = of("m_t", float(h.tank_mass[start]) + float(b.cooling.dead_mass), "mass",
                       "water in the tank")
        self.lines = of("m_l", LINE_CELLS * float(design.supply_mass + design.return_mass), "mass",
                        "water in the lines")
        boil = boil_steps(b)
        self.coolant = by_hand(
            "coolant allowed", "T_cm = T_b - dT - mg",
            [
                boil[-1].result,
                of("dT", b.scenario.limits.hot_spot_allowance, "temperature_difference",
                   "allowance for hot spots"),
                of("mg", b.scenario.limits.caution_margin, "temperature_difference",
                   "margin that sizes keep"),
            ],
            ("T_cm", "temperature", "hottest coolant allowed"), "definition of the margin",
        )
        self.allowed = [*boil, self.coolant]

    @property
    def flows(self) -> bool:
        """Whether heat gets into the water at all."""
        return self.c_min.value * self.eps.value > 0.0 and self.power.value > 0.0

    def water_allowed(self) -> list[Step]:
        """Return the hottest water that still takes the heat from the coolant allowed."""
        last = by_hand(
            "water allowed at the exchanger", "T_wm = T_cm - Q/(eps*Cmin)",
            [self.coolant.result, self.power, self.eps, self.c_min],
            ("T_wm", "temperature", "hottest tank water allowed"),
            "heat passed = eps*Cmin*(Th - Tc)",
        )
        return [*self.allowed, last]

    def lump(self, title: str, equation: str, put_in: list[Symbol],
             result: tuple[str, str, str]) -> list[Step]:
        """Return the water allowed, and a size from it."""
        first = self.water_allowed()
        return [*first, by_hand(title, equation, [first[-1].result, *put_in], result, LUMPED)]
