"""Tables ``[site]`` and ``[car]``: the day and the vehicle."""

from __future__ import annotations

from typing import Annotated

from thermo.fields import Quantity
from thermo.inputs.table import Conflict, Table


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

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of humidity and pressure; see :class:`Table`. [poly]"""
        dew, air = self.dew_point, self.air_temperature
        return [
            (
                self.relative_humidity is not None and dew is not None,
                "give relative_humidity or dew_point, not both",
            ),
            (
                self.pressure is not None and self.altimeter is not None,
                "give pressure or altimeter, not both",
            ),
            (dew is not None and dew > air, "dew_point must not exceed air_temperature"),
        ]


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

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of the loads; see :class:`Table`. [poly]"""
        driven, centre = self.driven_mass, self.centre_of_mass
        return [
            (driven is not None and driven > self.mass, "driven_mass must not exceed mass"),
            (
                centre is not None and centre > self.length,
                "centre_of_mass must lie within length",
            ),
        ]
