"""Tables ``[site]`` and ``[car]``: the day and the vehicle."""

from __future__ import annotations

from typing import Annotated

from pydantic import model_validator

from thermo.fields import Quantity
from thermo.inputs.table import Table


class Site(Table):
    """Where and in what weather the pass is made."""

    elevation: Annotated[
        float,
        Quantity(
            "length",
            "-430 m",
            "4500 m",
            help="Height of the course above sea level (geopotential).",
        ),
    ] = 0.0
    air_temperature: Annotated[
        float,
        Quantity("temperature", "-30 degC", "60 degC", help="Shade air temperature on the day."),
    ]
    relative_humidity: (
        Annotated[
            float,
            Quantity(
                "fraction",
                0.0,
                1.0,
                help="Give this or dew_point; with neither 0.2 is taken.",
                basis="common practice for a dry lake",
            ),
        ]
        | None
    ) = None
    dew_point: (
        Annotated[
            float,
            Quantity(
                "temperature",
                "-35 degC",
                "40 degC",
                help="Dew point, in place of relative_humidity.",
            ),
        ]
        | None
    ) = None
    pressure: (
        Annotated[
            float,
            Quantity(
                "pressure_absolute",
                "50 kPa",
                "110 kPa",
                help="Station pressure, as a barometer at the course reads it.",
            ),
        ]
        | None
    ) = None
    altimeter: (
        Annotated[
            float,
            Quantity(
                "pressure_absolute",
                "90 kPa",
                "108 kPa",
                help="Altimeter setting of the nearest airfield, in place of pressure.",
            ),
        ]
        | None
    ) = None
    head_wind: Annotated[
        float,
        Quantity(
            "speed",
            "-20 m/s",
            "20 m/s",
            help="Wind against the car along the course; a tail wind is negative.",
        ),
    ] = 0.0

    @model_validator(mode="after")
    def _one_of_each(self) -> Site:
        if self.relative_humidity is not None and self.dew_point is not None:
            raise ValueError("give relative_humidity or dew_point, not both")
        if self.pressure is not None and self.altimeter is not None:
            raise ValueError("give pressure or altimeter, not both")
        if self.dew_point is not None and self.dew_point > self.air_temperature:
            raise ValueError("dew_point must not exceed air_temperature")
        return self


class Car(Table):
    """The vehicle as a point mass on a straight course."""

    mass: Annotated[
        float,
        Quantity(
            "mass", "100 kg", "10000 kg", help="Mass at the start, with driver, fuel and all water."
        ),
    ]
    rotating_factor: Annotated[
        float,
        Quantity(
            "number",
            1.0,
            1.5,
            help="Effective over real mass: the inertia of wheels and driveline.",
            basis="common practice",
        ),
    ] = 1.06
    drag_area: Annotated[
        float, Quantity("area", "0.02 m^2", "3 m^2", help="Drag coefficient times frontal area.")
    ]
    rolling_resistance: Annotated[
        float,
        Quantity(
            "number",
            0.0,
            0.4,
            help="Rolling resistance over weight, at low speed.",
            basis="common practice: hard dry lake 0.015-0.03, damp salt 0.03-0.06",
        ),
    ] = 0.025
    rolling_resistance_at_100mps: (
        Annotated[
            float,
            Quantity(
                "number",
                0.0,
                0.8,
                help="The same at 100 m/s; grows with speed squared. As slow when not given.",
                basis="common practice",
            ),
        ]
        | None
    ) = None
    grip: Annotated[
        float,
        Quantity(
            "number",
            0.05,
            2.0,
            help="Largest drive force over the load on the driven axle.",
            basis="common practice for salt: 0.4-0.6",
        ),
    ] = 0.5
    driven_mass: (
        Annotated[
            float,
            Quantity(
                "mass",
                "20 kg",
                "10000 kg",
                help="Mass carried by the driven axle. 0.6 of mass when not given.",
                basis="common practice",
            ),
        ]
        | None
    ) = None
    driveline_efficiency: Annotated[
        float,
        Quantity(
            "fraction",
            0.3,
            1.0,
            help="Power at the wheels over brake power.",
            basis="common practice",
        ),
    ] = 0.88
    wheel_slip: Annotated[
        float,
        Quantity(
            "fraction",
            0.0,
            0.5,
            help="Slip of the driven wheels at speed; rpm and power at the wheel follow it.",
            basis="common practice 0.03-0.15",
        ),
    ] = 0.08
    grade: Annotated[
        float, Quantity("number", -0.05, 0.05, help="Rise over run of the course.")
    ] = 0.0
    rolling_radius: (
        Annotated[
            float,
            Quantity(
                "length",
                "0.1 m",
                "1 m",
                help="Rolling radius of the driven tyres; needed with gears.",
            ),
        ]
        | None
    ) = None
    length: Annotated[float, Quantity("length", "1 m", "20 m", help="Overall length.")] = 6.0
    centre_of_mass: (
        Annotated[
            float,
            Quantity(
                "length",
                "0 m",
                "20 m",
                help="Centre of mass behind the nose, tank empty. 0.55 of length when not given.",
                basis="common practice",
            ),
        ]
        | None
    ) = None

    @model_validator(mode="after")
    def _loads(self) -> Car:
        if self.driven_mass is not None and self.driven_mass > self.mass:
            raise ValueError("driven_mass must not exceed mass")
        if self.centre_of_mass is not None and self.centre_of_mass > self.length:
            raise ValueError("centre_of_mass must lie within length")
        return self
