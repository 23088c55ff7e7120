"""Tables ``[engine]`` and ``[coolant]``: where the heat comes from and what first carries it."""

from __future__ import annotations

from itertools import pairwise
from math import pi
from typing import Annotated, Literal

from pydantic import Field

from thermo.fields import Quantity
from thermo.inputs.loops import Fluid, HotLine, Pump
from thermo.inputs.table import Conflict, Table

Rpm = Annotated[float, Quantity("rotational_speed", "100 rpm", "25000 rpm")]


class Engine(Table):
    """Power, heat and appetite for air."""

    displacement: Annotated[
        float, Quantity("volume", "0.02 L", "60 L", help="Swept volume of all cylinders.")
    ]
    cylinders: int = Field(4, ge=1, le=24, strict=True, description="Number of cylinders.")
    strokes: Literal[2, 4] = Field(4, description="Strokes a cycle.")
    power: (
        Annotated[
            float,
            Quantity(
                "power",
                "1 kW",
                "5000 kW",
                help="Brake power at full throttle, constant over the pass; or give a curve.",
            ),
        ]
        | None
    ) = None
    power_curve: (
        tuple[tuple[Rpm, Annotated[float, Quantity("power", "0 kW", "5000 kW")]], ...] | None
    ) = Field(
        None, description='Pairs of engine speed and brake power: [["3000 rpm", "60 kW"], ...].'
    )
    torque_curve: (
        tuple[tuple[Rpm, Annotated[float, Quantity("torque", "0 N m", "20000 N m")]], ...] | None
    ) = Field(None, description='Pairs of engine speed and torque: [["3000 rpm", "180 N m"], ...].')
    gears: tuple[Annotated[float, Quantity("number", 0.1, 20.0)], ...] = Field(
        (1.0,), min_length=1, description="Gear ratios, highest number first; used with a curve."
    )
    final_drive: Annotated[
        float, Quantity("number", 0.1, 20.0, help="Final drive ratio; used with a curve.")
    ] = 1.0
    shift_speed: Rpm | None = None
    rated_speed: Rpm = 100.0
    power_basis: Literal["site", "corrected"] = Field(
        "site",
        description="site: the figure holds in this air without ram. corrected: it is "
        "corrected to the reference day of SAE J1349, and the day takes its share.",
    )
    ram_to_power: bool = Field(
        True,
        strict=True,
        description="Whether the pressure that the duct delivers changes power and heat.",
    )
    boost_ratio: Annotated[
        float,
        Quantity("number", 1.0, 6.0, help="Absolute pressure ratio of a charger at full power."),
    ] = 1.0
    volumetric_efficiency: Annotated[
        float,
        Quantity(
            "fraction",
            0.3,
            1.5,
            help="Against the density in the plenum.",
            basis="Heywood 2.10 for 0.80-0.90; tuned engines common practice",
        ),
    ] = 0.9
    fuel: Literal["petrol", "ethanol", "e85", "methanol"] = "petrol"
    specific_consumption: (
        Annotated[
            float,
            Quantity(
                "specific_consumption",
                "150 g/kWh",
                "1500 g/kWh",
                help="Fuel mass a unit of brake energy at full power.",
                basis="common practice",
            ),
        ]
        | None
    ) = None
    air_fuel_ratio: (
        Annotated[
            float,
            Quantity(
                "number",
                2.0,
                25.0,
                help="Air over fuel by mass at full power.",
                basis="common practice",
            ),
        ]
        | None
    ) = None
    heat_share: (
        Annotated[
            float,
            Quantity(
                "fraction",
                0.2,
                2.0,
                help="Heat to coolant over brake power; size at 0.95 until measured.",
                basis="Heywood heat balance (from memory): 0.60-1.05",
            ),
        ]
        | None
    ) = None
    heat_power: (
        Annotated[
            float,
            Quantity(
                "power",
                "0.5 kW",
                "5000 kW",
                help="Heat to coolant at full power, in place of heat_share.",
            ),
        ]
        | None
    ) = None
    fuel_heat_share: (
        Annotated[
            float,
            Quantity(
                "fraction",
                0.05,
                0.5,
                help="Heat to coolant over fuel energy, in place of heat_share.",
                basis="Heywood table 12.1 (from memory): 0.17-0.26",
            ),
        ]
        | None
    ) = None
    idle_heat: Annotated[
        float,
        Quantity(
            "power_per_volume",
            "0 kW/L",
            "10 kW/L",
            help="Heat to coolant at idle, a litre of displacement.",
            basis="common practice 1.5-4",
        ),
    ] = 2.5e6
    oil_share: Annotated[
        float,
        Quantity(
            "fraction",
            0.0,
            0.3,
            help="Heat to oil over brake power.",
            basis="common practice 0.04-0.12",
        ),
    ] = 0.07
    oil_mass: Annotated[float, Quantity("mass", "0.2 kg", "100 kg", help="Oil in the engine.")] = (
        4.0
    )
    oil_cooler_ua: Annotated[
        float,
        Quantity(
            "conductance",
            "0 W/K",
            "5000 W/K",
            help="Oil-to-water cooler on the coolant side; 0 for none.",
        ),
    ] = 0.0
    oil_air_conductance: Annotated[
        float,
        Quantity(
            "conductance",
            "0 W/K",
            "500 W/K",
            help="Heat loss of the oil through sump and block to the air.",
            basis="common practice",
        ),
    ] = 4.0
    oil_start_temperature: (
        Annotated[
            float,
            Quantity("temperature", "-30 degC", "160 degC", help="As the coolant when not given."),
        ]
        | None
    ) = None
    charge_cooler_heat: Annotated[
        float,
        Quantity(
            "power",
            "0 kW",
            "1000 kW",
            help="Heat of a charge cooler into the tank loop at full power.",
        ),
    ] = 0.0
    metal_mass: (
        Annotated[
            float,
            Quantity(
                "mass",
                "0.5 kg",
                "2000 kg",
                help="Metal in contact with the coolant. 0.4 kg a kW when not given.",
                basis="common practice 0.2-0.8 kg/kW",
            ),
        ]
        | None
    ) = None
    metal: Literal["aluminium", "iron"] = "aluminium"
    metal_heat_capacity: (
        Annotated[
            float,
            Quantity(
                "heat_capacity", "0.2 kJ/K", "1000 kJ/K", help="In place of metal_mass and metal."
            ),
        ]
        | None
    ) = None
    metal_excess: Annotated[
        float,
        Quantity(
            "temperature_difference",
            "5 K",
            "120 K",
            help="Mean excess of wetted metal over coolant at full power; drives the after-boil.",
            basis="common practice 20-60 K, low confidence",
        ),
    ] = 35.0
    metal_start_excess: Annotated[
        float,
        Quantity("temperature_difference", "0 K", "60 K", help="Metal over coolant at the start."),
    ] = 5.0
    still_conductance: Annotated[
        float,
        Quantity(
            "fraction",
            0.02,
            1.0,
            help="Metal-to-coolant conductance with no flow, over that with flow.",
            basis="common practice, low confidence",
        ),
    ] = 0.25
    air_conductance: Annotated[
        float,
        Quantity(
            "conductance",
            "0 W/K",
            "1000 W/K",
            help="Heat loss of the engine's metal to the air.",
            basis="common practice",
        ),
    ] = 15.0
    fuel_metering: Literal[
        "referenced", "mass-metered", "vented-bowl", "unreferenced-regulator"
    ] = Field("mass-metered", description="What the fuel system feels of the plenum pressure.")
    fuel_pressure: (
        Annotated[
            float,
            Quantity(
                "pressure_difference",
                "2 kPa",
                "30000 kPa",
                help="Pressure across the injector or jet. 300 kPa, or 10 kPa for a bowl, when not "
                "given.",
                basis="common practice",
            ),
        ]
        | None
    ) = None

    @property
    def curve(self) -> tuple[tuple[float, float], ...] | None:
        """Points of engine speed [rev/s] and torque [N m]; None for a constant power."""
        if self.power_curve is not None:
            return tuple((n, p / (2.0 * pi * n)) for n, p in self.power_curve)
        return self.torque_curve

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of power, heat and metal; see :class:`Table`. [poly]"""
        ways = (self.power, self.power_curve, self.torque_curve)
        heats = (self.heat_share, self.heat_power, self.fuel_heat_share)
        found: list[Conflict] = [
            (
                sum(way is not None for way in ways) != 1,
                "give exactly one of power, power_curve and torque_curve",
            ),
            (
                sum(h is not None for h in heats) > 1,
                "give at most one of heat_share, heat_power and fuel_heat_share",
            ),
            (
                self.metal_mass is not None and self.metal_heat_capacity is not None,
                "give metal_mass or metal_heat_capacity, not both",
            ),
            (
                any(b >= a for a, b in pairwise(self.gears)),
                "gears must fall from first to top, without two alike",
            ),
        ]
        for name, curve in (("power_curve", self.power_curve), ("torque_curve", self.torque_curve)):
            speeds = [point[0] for point in curve or ()]
            falls = len(speeds) < 2 or any(b <= a for a, b in pairwise(speeds))
            found.append((
                curve is not None and falls,
                f"{name} needs two or more points of rising engine speed",
            ))
            given = [point[1] for point in curve or ()]
            found.append((bool(given) and max(given) <= 0.0, f"{name} gives no power anywhere"))
        return found


class Thermostat(Table):
    """A wax thermostat between the jacket and the exchanger; leave the table out for none."""

    opens: Annotated[
        float, Quantity("temperature", "20 degC", "120 degC", help="Where it begins to open.")
    ] = 355.15
    full_open: Annotated[
        float, Quantity("temperature", "20 degC", "130 degC", help="Where it is fully open.")
    ] = 365.15
    bleed: Annotated[
        float,
        Quantity(
            "fraction",
            0.0,
            1.0,
            help="Share of the flow that passes when shut.",
            basis="common practice",
        ),
    ] = 0.03
    lag: Annotated[
        float,
        Quantity(
            "time",
            "0.5 s",
            "120 s",
            help="First-order lag of the wax.",
            basis="common practice 8-20 s",
        ),
    ] = 12.0
    stuck: Literal["no", "shut"] = Field("no", description="shut: it never opens.")

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of the temperatures; see :class:`Table`. [poly]"""
        return [(self.full_open <= self.opens, "full_open must lie above opens")]


class Coolant(Fluid):
    """The engine side of the exchanger."""

    volume: Annotated[
        float,
        Quantity(
            "volume",
            "0.2 L",
            "100 L",
            help="Coolant in the jacket and the hot lines.",
            basis="common practice 3-10 L",
        ),
    ] = 5e-3
    start_temperature: Annotated[
        float, Quantity("temperature", "-30 degC", "125 degC", help="At the start of the event.")
    ]
    cap_pressure: Annotated[
        float,
        Quantity(
            "pressure_gauge",
            "0 kPa",
            "300 kPa",
            help="At which the cap opens.",
            basis="common practice 50-150 kPa",
        ),
    ] = 100e3
    leaking_cap_pressure: Annotated[
        float,
        Quantity(
            "pressure_gauge",
            "0 kPa",
            "300 kPa",
            help="What a leaking cap still holds, for the leaking-cap check.",
        ),
    ] = 0.0
    drive: Literal["electric", "crank"] = Field(
        "electric", description="crank: flow follows engine speed and stops with the engine."
    )
    flow: (
        Annotated[
            float,
            Quantity(
                "volume_flow",
                "0 L/min",
                "2000 L/min",
                help="Flow at full power. 1.0 L/min a kW when neither flow nor a pump is given.",
                basis="common practice 0.6-1.8 L/min a kW",
            ),
        ]
        | None
    ) = None
    flow_measured: bool = Field(
        False, strict=True, description="Whether flow was measured in the car."
    )
    idle_flow_share: Annotated[
        float,
        Quantity(
            "fraction",
            0.0,
            1.0,
            help="Crank-driven flow at idle over that at full power.",
            basis="common practice",
        ),
    ] = 0.25
    restrictor_k: Annotated[
        float,
        Quantity(
            "number", 0.0, 1e5, help="Loss coefficient of a restrictor on the hot line's bore."
        ),
    ] = 0.0
    pump: Pump | None = None
    line: HotLine = HotLine()
    thermostat: Thermostat | None = None
