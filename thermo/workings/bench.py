"""What a working is made from: one solved event, and short ways to what it holds."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from thermo.answers import Answer, Sheet
from thermo.cooling import Cooling
from thermo.cooling_run import Solved
from thermo.driving import Driving
from thermo.event import Whole
from thermo.figures import Moments, moments
from thermo.gas import FloatArray
from thermo.hazards.context import Context
from thermo.headspace import water_volumes
from thermo.history import BETWEEN
from thermo.inputs.tank import Tank
from thermo.loop import Transfer, exchange
from thermo.loop_dense import dense_run
from thermo.loop_design import LoopDesign
from thermo.loop_state import WAX
from thermo.results import CoolingFigures, EventResult, History, IntakeFigures
from thermo.scenario import Scenario
from thermo.site import Air
from thermo.sizing import build_sheet
from thermo.stock import STOCK, StockTube
from thermo.trial import Trials


@dataclass
class Bench:
    """One solved event.

    Attributes
    ----------
    whole : Whole
    stock : tuple of StockTube
        Tubes from which the build sheet chooses the duct.
    trials : Trials
        Variants of the event, for the sizes.
    """

    whole: Whole
    stock: tuple[StockTube, ...] = STOCK
    trials: Trials = field(default_factory=Trials)

    @property
    def result(self) -> EventResult:
        """The event as ``check`` tells it."""
        return self.whole.result

    @property
    def context(self) -> Context:
        """The event as the hazards see it."""
        return self.whole.context

    @property
    def scenario(self) -> Scenario:
        """The scenario."""
        return self.context.scenario

    @property
    def tank(self) -> Tank:
        """The scenario's tank."""
        return self.scenario.tank

    @property
    def air(self) -> Air:
        """The day's air."""
        return self.context.air

    @property
    def driving(self) -> Driving:
        """The event as driven."""
        return self.context.driving

    @property
    def solved(self) -> Solved:
        """The cooling side, integrated."""
        return self.context.solved

    @property
    def cooling(self) -> Cooling:
        """The cooling side, as designed."""
        return self.solved.cooling

    @property
    def design(self) -> LoopDesign:
        """The loop's design."""
        return self.cooling.design

    @property
    def history(self) -> History:
        """The cooling side over time."""
        return self.solved.told.history

    @property
    def figures(self) -> CoolingFigures:
        """The cooling figures."""
        return self.result.cooling

    @property
    def duct(self) -> IntakeFigures | None:
        """The intake figures."""
        return self.result.intake

    @cached_property
    def moments(self) -> Moments:
        """Which rows of the history are what."""
        return moments(self.scenario, self.history)

    @cached_property
    def _dense(self) -> tuple[list[FloatArray], FloatArray]:
        return dense_run(self.solved.run.pieces, BETWEEN)

    @property
    def states(self) -> FloatArray:
        """State variables of the loop, one column a row of the history."""
        return self._dense[1]

    @cached_property
    def seals(self) -> FloatArray:
        """How often the tank has been opened before each row."""
        pieces = self.solved.run.pieces
        parts = zip(self._dense[0], pieces, strict=True)
        return np.concatenate([np.full(len(x), float(piece.seal)) for x, piece in parts])

    @cached_property
    def water_volume(self) -> FloatArray:
        """Water and ice in the tank, row by row [m3]."""
        return water_volumes(self.cooling, self.solved.told.water)[0]

    @cached_property
    def best_row(self) -> int:
        """Row at which the exchanger passes the most heat."""
        return int(np.argmax(self.history.exchanger_heat))

    def transfer(self, row: int) -> Transfer:
        """Return what the exchanger does at a row of the history."""
        h = self.history
        return exchange(
            self.design,
            float(h.coolant[row]),
            float(self.states[WAX][row]),
            float(h.exchanger_in[row]),
            float(h.tank_out[row]),
            float(h.hot_flow[row]),
            float(h.cold_flow[row]),
        )

    @cached_property
    def sheet(self) -> Sheet:
        """The build sheet; takes some seconds when first asked for."""
        return build_sheet(self.scenario, self.result, self.stock)

    def answer(self, name: str) -> Answer:
        """Return one answer of the build sheet."""
        return next(a for a in self.sheet.answers if a.name == name)

    @property
    def finish(self) -> int:
        """Row at which the first pass ends."""
        when = self.moments
        return when.finishes[0] if when.finishes else len(self.history.time) - 1

    def when(self, row: int) -> str:
        """Return time and leg of a row, in words."""
        return f"at {self.context.time_at(row):.1f} s ({self.context.leg_at(row)})"
