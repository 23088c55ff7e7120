"""Fluids, lines and pumps, table ``[loop]`` and table ``[exchanger]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, field_validator

from thermo.fields import Quantity
from thermo.fittings import FittingError, fitting_loss
from thermo.inputs.table import Conflict, Table

VolumeFlow = Annotated[float, Quantity("volume_flow", "0 L/min", "3000 L/min")]
Head = Annotated[float, Quantity("length", "0 m", "200 m")]


class Fluid(Table):
    """Water, or water with glycol: shared by coolant and tank."""

    glycol: Literal["none", "ethylene", "propylene"] = Field(
        "none", description="Which glycol, if any."
    )
    glycol_fraction: Annotated[
        float, Quantity("fraction", 0.0, 0.6, help="By volume: 0, or 0.10 to 0.60.")
    ] = 0.0
    glycol_mass_fraction: (
        Annotated[
            float, Quantity("fraction", 0.0, 0.63, help="By mass, in place of glycol_fraction.")
        ]
        | None
    ) = None

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of glycol and its share; see :class:`Table`. [poly]"""
        by_mass = self.glycol_mass_fraction
        share = self.glycol_fraction if by_mass is None else by_mass
        plain = self.glycol == "none"
        return [
            (
                plain & (share > 0.0),
                "glycol_fraction needs glycol = 'ethylene' or 'propylene'",
            ),
            (
                (not plain) & (share < 0.10),
                "glycol_fraction must be 0.10 to 0.60 where a glycol is named",
            ),
            (
                (by_mass is not None) & (self.glycol_fraction > 0.0),
                "give glycol_fraction or glycol_mass_fraction, not both",
            ),
        ]


class Pump(Table):
    """A pump by its catalogue curve."""

    curve: tuple[tuple[VolumeFlow, Head], ...] = Field(
        description='Points of flow and head at rated volts: [["0 L/min", "9 m"], ...].',
        min_length=2,
    )
    rated_voltage: Annotated[
        float, Quantity("voltage", "1 V", "100 V", help="At which the curve holds.")
    ] = 13.5
    efficiency: Annotated[
        float,
        Quantity(
            "fraction", 0.05, 0.95, help="Hydraulic over shaft power.", basis="common practice"
        ),
    ] = 0.35
    npsh_required: Annotated[
        float,
        Quantity(
            "length",
            "0 m",
            "30 m",
            help="Net positive suction head required, at the working flow.",
            basis="common practice",
        ),
    ] = 1.0
    below_surface: Annotated[
        float,
        Quantity(
            "length", "-2 m", "2 m", help="Pump inlet below the water surface; above is negative."
        ),
    ] = 0.1


class Line(Table):
    """A run of hose or tube."""

    length: Annotated[float, Quantity("length", "0 m", "50 m", help="Length of the run.")] = 3.5
    bore: Annotated[
        float,
        Quantity(
            "length",
            "4 mm",
            "200 mm",
            help="Inside diameter.",
            basis="common practice 19-38 mm",
        ),
    ] = 0.025
    roughness: Annotated[
        float,
        Quantity(
            "length",
            "0 mm",
            "2 mm",
            help="Absolute roughness of the wall.",
            basis="smooth hose, common practice",
        ),
    ] = 1e-5
    fittings: tuple[str, ...] = Field(
        (), description="Names of fittings, such as elbow-90, ball-valve, dry-break."
    )
    minor_k: Annotated[
        float, Quantity("number", 0.0, 1e4, help="Further loss coefficient on the bore.")
    ] = 1.5
    rise: Annotated[
        float, Quantity("length", "-3 m", "3 m", help="End over start, along the flow.")
    ] = 0.0
    high_point: Annotated[
        float,
        Quantity("length", "-3 m", "3 m", help="Highest point of the run above the tank's water."),
    ] = 0.0
    parallel: int = Field(1, ge=1, le=8, strict=True, description="Equal runs side by side.")
    barrier: Literal["none", "sleeve", "outside"] = Field(
        "none",
        description="Between the line and the driver: none; a sleeve that drains overboard "
        "with no joint on the driver's side; outside the cockpit altogether.",
    )
    air_conductance: Annotated[
        float,
        Quantity(
            "conductance", "0 W/K", "100 W/K", help="Heat loss to the air.", basis="common practice"
        ),
    ] = 1.0

    @field_validator("fittings")
    @classmethod
    def _known(cls, names: tuple[str, ...]) -> tuple[str, ...]:
        for name in names:
            try:
                fitting_loss(name)
            except FittingError as error:
                raise ValueError(str(error)) from None
        return names

    shut_both_ends: bool = Field(
        False,
        strict=True,
        description="Whether valves or dry-break couplings can trap liquid in the run.",
    )


class HotLine(Line):
    """The hot lines between jacket and exchanger: shorter and wider than a tank line."""

    length: Annotated[
        float, Quantity("length", "0 m", "50 m", help="Length of both runs together.")
    ] = 2.0
    bore: Annotated[
        float,
        Quantity(
            "length", "4 mm", "200 mm", help="Inside diameter.", basis="common practice 25-44 mm"
        ),
    ] = 0.032


class Loop(Table):
    """The cold loop between tank and exchanger."""

    flow: (
        Annotated[
            float,
            Quantity(
                "volume_flow",
                "0 L/min",
                "2000 L/min",
                help="Installed flow, in place of a pump curve. 40 L/min when neither is given.",
                basis="common practice 20-80 L/min",
            ),
        ]
        | None
    ) = None
    flow_measured: bool = Field(
        False,
        strict=True,
        description="Whether flow was measured in the car, as with a bucket and a watch.",
    )
    voltage: Annotated[
        float,
        Quantity(
            "voltage",
            "1 V",
            "100 V",
            help="At the pumps, under way.",
            basis="common practice 11.5-14 V",
        ),
    ] = 12.0
    pump: Pump | None = None
    supply: Line = Line()
    return_: Line = Field(Line(), alias="return")
    bleed: bool = Field(
        True, strict=True, description="Whether high points can be bled before the pass."
    )
    drains: tuple[str, ...] = Field((), description="Where the loop can be drained, in words.")


class RatedPoint(Table):
    """A duty point from a maker's sheet or a bench test."""

    hot_flow: VolumeFlow
    cold_flow: VolumeFlow
    hot_inlet: Annotated[float, Quantity("temperature", "0 degC", "150 degC")]
    cold_inlet: Annotated[float, Quantity("temperature", "0 degC", "150 degC")]
    heat: Annotated[float, Quantity("power", "0.1 kW", "5000 kW")]
    hot_resistance_share: Annotated[
        float,
        Quantity(
            "fraction",
            0.05,
            0.95,
            help="Share of the film resistance on the hot side.",
            basis="common practice",
        ),
    ] = 0.5
    film_exponent: Annotated[
        float,
        Quantity(
            "number",
            0.3,
            1.0,
            help="Film coefficient against flow.",
            basis="turbulent tubes 0.8, plates 0.65-0.75; common practice",
        ),
    ] = 0.7
    hot_drop: Annotated[
        float, Quantity("pressure_difference", "0 kPa", "500 kPa", help="At hot_flow.")
    ] = 0.0
    cold_drop: Annotated[
        float, Quantity("pressure_difference", "0 kPa", "500 kPa", help="At cold_flow.")
    ] = 0.0


class PipeGeometry(Table):
    """A double pipe: hot coolant inside, tank water in the annulus, or the reverse."""

    inner_bore: Annotated[float, Quantity("length", "3 mm", "150 mm")]
    inner_wall: Annotated[float, Quantity("length", "0.2 mm", "10 mm")] = 1e-3
    outer_bore: Annotated[float, Quantity("length", "5 mm", "300 mm")]
    length: Annotated[float, Quantity("length", "0.1 m", "50 m")]
    parallel: int = Field(
        1, ge=1, le=50, strict=True, description="Equal double pipes side by side."
    )
    wall_conductivity: Annotated[float, Quantity("conductivity", "0.1 W/m/K", "450 W/m/K")] = 160.0
    roughness: Annotated[float, Quantity("length", "0 mm", "1 mm")] = 1.5e-6
    hot_inside: bool = Field(True, strict=True, description="Whether the coolant runs inside.")
    fouling: Annotated[float, Quantity("thermal_resistance", "0 m^2 K/W", "1e-2 m^2 K/W")] = 0.0


class PlateGeometry(Table):
    """A brazed plate exchanger; the chevron angle is measured from the main flow direction."""

    plates: int = Field(ge=3, le=400, strict=True, description="All plates, end plates included.")
    width: Annotated[float, Quantity("length", "20 mm", "1 m")]
    length: Annotated[float, Quantity("length", "50 mm", "3 m", help="Between port centres.")]
    channel_depth: Annotated[float, Quantity("length", "0.8 mm", "8 mm")] = 2e-3
    plate_thickness: Annotated[float, Quantity("length", "0.2 mm", "2 mm")] = 4e-4
    chevron_angle: Annotated[float, Quantity("angle", "15 deg", "75 deg")] = 1.0471975511965976
    enlargement: Annotated[float, Quantity("number", 1.0, 1.6)] = 1.2
    port_diameter: Annotated[float, Quantity("length", "5 mm", "200 mm")] = 0.025
    wall_conductivity: Annotated[float, Quantity("conductivity", "1 W/m/K", "450 W/m/K")] = 16.0
    fouling: Annotated[float, Quantity("thermal_resistance", "0 m^2 K/W", "1e-2 m^2 K/W")] = 0.0


class Exchanger(Table):
    """The water-to-water exchanger."""

    arrangement: Literal[
        "counterflow",
        "parallel",
        "crossflow-unmixed",
        "crossflow-hot-mixed",
        "crossflow-cold-mixed",
        "shell-and-tube",
    ] = "counterflow"
    shells: int = Field(
        1, ge=1, le=10, strict=True, description="Shells in series, for shell-and-tube."
    )
    ua: (
        Annotated[
            float,
            Quantity(
                "conductance",
                "0 W/K",
                "200000 W/K",
                help="Conductance at any flow. 28 W/K a kW of brake power when nothing is given.",
                basis="common practice 15-45 W/K a kW",
            ),
        ]
        | None
    ) = None
    hot_drop: Annotated[
        float,
        Quantity(
            "pressure_difference",
            "0 kPa",
            "500 kPa",
            help="Coolant-side loss at the working flow, with ua.",
        ),
    ] = 0.0
    cold_drop: Annotated[
        float,
        Quantity(
            "pressure_difference",
            "0 kPa",
            "500 kPa",
            help="Tank-side loss at the working flow, with ua.",
        ),
    ] = 0.0
    cold_volume: Annotated[
        float, Quantity("volume", "0 L", "50 L", help="Tank water held in the exchanger.")
    ] = 0.0
    ua_scale: Annotated[
        float,
        Quantity(
            "number",
            0.1,
            10.0,
            help="Conductance in the car over that described here; 1 until it has been fitted.",
        ),
    ] = 1.0
    rated: RatedPoint | None = None
    double_pipe: PipeGeometry | None = None
    plate: PlateGeometry | None = None

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of how the exchanger is described; see :class:`Table`. [poly]"""
        ways = (self.ua, self.rated, self.double_pipe, self.plate)
        return [
            (
                sum(w is not None for w in ways) > 1,
                "give only one of ua, rated, double_pipe and plate",
            ),
            (
                self.shells > 1 and self.arrangement != "shell-and-tube",
                "shells above 1 needs arrangement = 'shell-and-tube'",
            ),
        ]
