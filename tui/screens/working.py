"""The working of one figure: the hand calculation, worked out for the scenario as it stands."""

from __future__ import annotations

from collections.abc import Callable
from typing import ClassVar

from rich.text import Text
from textual.binding import Binding, BindingType

from thermo.event import solve_whole
from thermo.workings import book
from thermo.workings.bench import Bench
from tui.screens.background import READING, Job, View, WorkPage
from tui.screens.dialogs import Page
from tui.text_working import working_text

WORKINGS = {
    "pass_time": "cooling.pass_time_s",
    "top_speed": "cooling.pass_top_speed_m_per_s",
    "timed_speed": "cooling.timed_speed_m_per_s",
    "heat": "cooling.heat_total_J",
    "boil_margin": "cooling.boil_margin_K",
    "after_boil": "cooling.after_boil_margin_K",
    "leaking_cap": "cooling.leaking_cap_margin_K",
    "flow_lost": "cooling.flow_lost_boil_s",
    "coolant_peak": "cooling.coolant_peak_degC",
    "boils": "cooling.boil_temperature_degC",
    "coolant_finish": "cooling.coolant_end_of_pass_degC",
    "coolant_least": "cooling.coolant_least_full_power_degC",
    "effectiveness": "cooling.effectiveness_at_peak",
    "ua": "cooling.ua_at_peak_W_per_K",
    "ntu": "cooling.ntu_at_peak",
    "hot_flow": "cooling.coolant_flow_m3_per_s",
    "steam": "cooling.steam_lost_kg",
    "mixing_mixed": "cooling.boil_margin_by_mixing_K",
    "mixing_plug": "cooling.boil_margin_by_mixing_K",
    "mixing_adverse": "cooling.boil_margin_by_mixing_K",
    "tank_peak": "cooling.tank_peak_degC",
    "tank_finish": "cooling.tank_end_of_pass_degC",
    "tank_end": "cooling.tank_end_degC",
    "line_peak": "cooling.return_line_peak_degC",
    "tank_pressure": "cooling.tank_pressure_peak_Pa",
    "vacuum": "cooling.tank_vacuum_Pa",
    "headspace": "cooling.headspace_needed_m3",
    "cold_flow": "cooling.tank_flow_m3_per_s",
    "water": "cooling.tank_water_kg",
    "balance": "cooling.centre_of_mass_shift_m",
    "ice": "cooling.ice_left_kg",
    "net_gain": "intake.net_Pa",
    "nose_gain": "intake.ram_gain_Pa",
    "duct_loss": "intake.duct_loss_Pa",
    "dirty_net": "intake.net_dirty_filter_Pa",
    "break_even": "intake.break_even_speed_m_per_s",
    "air_flow": "intake.air_flow_kg_per_s",
    "mach": "intake.duct_mach_max",
    "power_gain": "intake.power_ratio",
    "bonnet_gain": "intake.power_ratio_to_bonnet_inlet",
    "air_drag": "intake.momentum_drag_N",
    "air": "site.air_temperature_degC",
    "barometer": "site.station_pressure_Pa",
    "density": "site.density_kg_per_m3",
    "density_altitude": "site.density_altitude_m",
    "correction": "site.j1349_factor",
}
"""The working of each figure of the screen, by the figure's name."""


class WorkingPage(WorkPage):
    """Equation, source, range, numbers put in and answer, step by step.

    Parameters
    ----------
    view : callable
        Returns what the page is about now.
    name : str
        Of the working.
    """

    def __init__(self, view: Callable[[], View | None], name: str) -> None:
        super().__init__(view, "Working it out by hand", "There is no working of this figure.")
        self._figure = name

    def work(self, view: View, job: Job) -> str:
        """Return the working."""
        bench = Bench(solve_whole(view.scenario, job.stopped))
        return working_text(book.working_of(bench, self._figure), view.result.title, view.system)


class HazardPage(Page):
    """One hazard in full; its working is one key away.

    Parameters
    ----------
    text : str
        What there is to say of it.
    head : Text
        The verdict.
    view : callable
        Returns what the page is about now.
    name : str
        Of the hazard.
    """

    BINDINGS: ClassVar[list[BindingType]] = [Binding("w,enter", "working", "Its working")]

    def __init__(
        self, text: str, head: Text, view: Callable[[], View | None], name: str
    ) -> None:
        super().__init__(text, head, f"{READING}   w its working")
        self._view, self._hazard = view, name

    def action_working(self) -> None:
        """Show how the hazard's figure comes about."""
        if self._view() is not None:
            self.app.push_screen(WorkingPage(self._view, f"flags.{self._hazard}"))
