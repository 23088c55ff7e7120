"""List ``[[leg]]`` and tables ``[limits]`` and ``[doubt]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermo.fields import Quantity
from thermo.inputs.table import Conflict, Table

KINDS = ("warm-up", "queue", "pushed", "full-power", "coast", "soak", "service")
ENGINE = {
    "warm-up": "idle",
    "queue": "off",
    "pushed": "idle",
    "full-power": "full",
    "coast": "off",
    "soak": "off",
    "service": "off",
}
"""What the engine does in each kind of leg unless told otherwise."""
PUMPS_ON = {
    "warm-up": True,
    "queue": False,
    "pushed": True,
    "full-power": True,
    "coast": True,
    "soak": False,
    "service": False,
}


class Leg(Table):
    """One leg of the event."""

    kind: Literal["warm-up", "queue", "pushed", "full-power", "coast", "soak", "service"]
    name: str = Field("", max_length=60, description="The kind when not given.")
    duration: Annotated[float, Quantity("time", "0.1 s", "24 h", help="Length in time.")] | None = (
        None
    )
    distance: (
        Annotated[
            float,
            Quantity(
                "length",
                "1 m",
                "100 km",
                help="Length along the course, for full-power and coast.",
            ),
        ]
        | None
    ) = None
    start_speed: (
        Annotated[
            float,
            Quantity(
                "speed",
                "0 m/s",
                "150 m/s",
                help="Speed at the start of the leg: push-off. As the leg before when not given.",
            ),
        ]
        | None
    ) = None
    until_speed: (
        Annotated[
            float, Quantity("speed", "0 m/s", "150 m/s", help="Where a coast or a push ends.")
        ]
        | None
    ) = None
    engine: Literal["off", "idle", "full"] | None = Field(
        None, description="By the kind of leg when not given."
    )
    power_share: Annotated[
        float,
        Quantity(
            "fraction",
            0.0,
            1.0,
            help="Of full power, for heat and drive, when engine = 'full'.",
        ),
    ] = 1.0
    tank_pump: bool | None = Field(
        None, strict=True, description="By the kind of leg when not given."
    )
    coolant_pump: bool | None = Field(
        None,
        strict=True,
        description="By the kind of leg when not given; a crank-driven pump follows the "
        "engine whatever is said here.",
    )
    tank_pump_fails_at: (
        Annotated[float, Quantity("time", "0 s", "24 h", help="Into the leg; it stays failed.")]
        | None
    ) = None
    coolant_pump_fails_at: (
        Annotated[float, Quantity("time", "0 s", "24 h", help="Into the leg; it stays failed.")]
        | None
    ) = None
    parachute_area: Annotated[
        float, Quantity("area", "0 m^2", "50 m^2", help="Drag area of the parachute, for a coast.")
    ] = 0.0
    timed_from: (
        Annotated[float, Quantity("length", "0 m", "100 km", help="Start of the timed stretch.")]
        | None
    ) = None
    timed_to: (
        Annotated[float, Quantity("length", "0 m", "100 km", help="End of the timed stretch.")]
        | None
    ) = None
    sun: bool | None = Field(
        None, strict=True, description="Sun on the tank; in a queue when not given."
    )
    swap_fraction: Annotated[
        float,
        Quantity("fraction", 0.0, 1.0, help="Share of the tank's water swapped in a service."),
    ] = 0.0
    swap_temperature: (
        Annotated[
            float,
            Quantity(
                "temperature",
                "0 degC",
                "99 degC",
                help="Of the fresh water. Air temperature when not given.",
            ),
        ]
        | None
    ) = None
    ice_mass: Annotated[
        float,
        Quantity(
            "mass", "0 kg", "500 kg", help="Ice put in during a service, in place of as much water."
        ),
    ] = 0.0
    reseal: bool = Field(
        True,
        strict=True,
        description="Whether a service with swap or ice opens the tank and seals it anew.",
    )

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of length, engine and service; see :class:`Table`. [poly]"""
        served = (self.swap_fraction > 0.0) | (self.ice_mass > 0.0)
        begins, ends = self.timed_from, self.timed_to
        found: list[Conflict] = [
            self._length_conflict(),
            (
                self.kind == "full-power" and self.engine not in (None, "full"),
                "a full-power leg runs the engine in full; use 'coast' or 'soak'",
            ),
            (
                self.kind != "full-power" and self.engine == "full",
                "engine = 'full' belongs to a leg of kind 'full-power'",
            ),
            (
                served & (self.kind != "service"),
                "swap_fraction and ice_mass belong to a leg of kind 'service'",
            ),
            (
                (self.parachute_area > 0.0) & (self.kind != "coast"),
                "parachute_area belongs to a leg of kind 'coast'",
            ),
            ((begins is None) != (ends is None), "give both timed_from and timed_to, or neither"),
        ]
        if begins is not None and ends is not None:
            found.append((ends <= begins, "timed_to must lie beyond timed_from"))
            if self.distance is not None:
                found.append((ends > self.distance, "timed_to must lie within distance"))
        return found

    def _length_conflict(self) -> Conflict:
        """Return whether the leg's length is not given in the one way of its kind, in words."""
        ways = (self.duration, self.distance, self.until_speed)
        given = sum(w is not None for w in ways)
        if self.kind == "full-power":
            return (
                self.until_speed is not None or given != 1,
                "a full-power leg takes exactly one of duration and distance",
            )
        if self.kind == "coast":
            return given != 1, "a coast takes exactly one of duration, distance and until_speed"
        if self.kind == "pushed":
            return (
                self.duration is None or self.distance is not None,
                "a push takes a duration, and until_speed where it ends",
            )
        return (
            given != 1 or self.duration is None,
            f"a leg of kind '{self.kind}' takes a duration",
        )

    @property
    def label(self) -> str:
        """The leg's name, or its kind when it has none."""
        return self.name or self.kind

    @property
    def engine_state(self) -> str:
        """What the engine does: off, idle or full."""
        return self.engine or ENGINE[self.kind]


class Limits(Table):
    """What counts as enough."""

    hot_spot_allowance: Annotated[
        float,
        Quantity(
            "temperature_difference",
            "0 K",
            "50 K",
            help="Hottest coolant in the head over coolant at engine out.",
            basis="common practice",
        ),
    ] = 10.0
    caution_margin: Annotated[
        float,
        Quantity(
            "temperature_difference",
            "0 K",
            "60 K",
            help="Boil margin below which to be careful; sizes aim at it.",
        ),
    ] = 10.0
    coolant_minimum: Annotated[
        float,
        Quantity(
            "temperature",
            "0 degC",
            "110 degC",
            help="Least coolant before full throttle.",
            basis="common practice 60-80 degC",
        ),
    ] = 343.15
    oil_minimum: Annotated[
        float,
        Quantity(
            "temperature",
            "0 degC",
            "130 degC",
            help="Least oil before full throttle.",
            basis="common practice",
        ),
    ] = 333.15
    scald: Annotated[
        float,
        Quantity(
            "temperature",
            "40 degC",
            "60 degC",
            help="Water that could reach the driver.",
            basis="below US CPSC 5098's 5-minute third-degree point",
        ),
    ] = 322.15
    touch: Annotated[
        float,
        Quantity(
            "temperature",
            "40 degC",
            "80 degC",
            help="Bare metal near hands, 5 s contact.",
            basis="ASTM C1055 common practice 60 degC",
        ),
    ] = 333.15
    mach: Annotated[
        float, Quantity("number", 0.05, 0.9, help="In the duct.", basis="common practice")
    ] = 0.3
    ram_share: Annotated[
        float,
        Quantity(
            "fraction",
            0.05,
            0.99,
            help="Share of the ram gain that a duct should keep; sizes aim at it.",
        ),
    ] = 0.5
    yield_safety: Annotated[
        float,
        Quantity("number", 1.0, 10.0, help="Yield over panel stress.", basis="common practice"),
    ] = 1.5
    alarm_time: Annotated[
        float,
        Quantity(
            "time",
            "0 s",
            "600 s",
            help="Least time from a stopped pump to boiling that a driver can use.",
            basis="common practice",
        ),
    ] = 10.0
    intake_rise: Annotated[
        float,
        Quantity(
            "temperature_difference",
            "0 K",
            "80 K",
            help="Heat picked up by the air in the duct.",
            basis="common practice",
        ),
    ] = 10.0


class DoubtRange(Table):
    """The range of one uncertain input, in the input's own unit; or that it is exact."""

    low: str | float | None = Field(
        None, description="Least the input may be; for a normal shape its 5th percentile."
    )
    high: str | float | None = Field(
        None, description="Most the input may be; for a normal shape its 95th percentile."
    )
    shape: Literal["triangular", "uniform", "normal", "exact"] = Field(
        "triangular",
        description="triangular: the scenario's own value is likeliest, or the middle where it "
        "lies outside. uniform: all alike. normal: low and high are the 5th and 95th "
        "percentiles. exact: measured, with no doubt and no range; takes neither low nor high.",
    )

    def conflicts(self) -> list[Conflict]:
        """Return whether ends are missing, or given where there is none; see :class:`Table`."""
        exact, ends = self.shape == "exact", (self.low, self.high)
        return [
            (
                exact and any(e is not None for e in ends),
                "shape = 'exact' says that the input is measured: give neither low nor high",
            ),
            (
                not exact and any(e is None for e in ends),
                "give low and high, or shape = 'exact' for an input that is measured",
            ),
        ]
