"""Table ``[tank]``: the sealed tank at the nose."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import numpy as np
from pydantic import Field, field_validator

from thermo.fields import Quantity
from thermo.inputs.loops import Fluid
from thermo.inputs.table import Conflict
from thermo.ops import most

LEAST_WIDTH, MOST_WIDTH = 0.03, 3.0
"""Width that a box tank may have [m]."""

DRY_ICE = (
    "dry ice is refused: in a closed tank its gas has no way out and bursts the tank, and in a "
    "cockpit it suffocates; use water ice"
)


class Tank(Fluid):
    """Volume, closure, shape, mixing and ice."""

    volume: Annotated[float, Quantity("volume", "1 L", "2000 L", help="Inside volume of the tank.")]
    fill: Annotated[
        float,
        Quantity(
            "fraction",
            0.05,
            1.0,
            help="Share of the volume filled with water (and ice) at sealing.",
            basis="0.80-0.93; what expansion and vapour leave room for",
        ),
    ] = 0.88
    start_temperature: Annotated[
        float,
        Quantity(
            "temperature", "-30 degC", "99 degC", help="Tank water at the start of the event."
        ),
    ]
    closure: Literal["sealed-relief", "sealed", "overflow-bottle", "vented", "bladder"] = Field(
        "sealed-relief",
        description="sealed-relief: a relief valve. sealed: no relief at all. overflow-bottle: a "
        "pressure cap with a bottle to draw back from. vented: open to the air. bladder: gas "
        "behind a skin.",
    )
    relief_pressure: Annotated[
        float,
        Quantity(
            "pressure_gauge",
            "1 kPa",
            "500 kPa",
            help="At which the relief, or the cap, lifts.",
            basis="common practice on a flat-sided tank 20-70 kPa",
        ),
    ] = 35e3
    relief_bore: Annotated[
        float,
        Quantity(
            "length",
            "1 mm",
            "100 mm",
            help="Bore of the relief's seat, or of the vent of a vented tank.",
        ),
    ] = 0.012
    relief_faces_driver: bool = Field(
        False, strict=True, description="Whether the discharge points at the driver or a tyre."
    )
    relief_position: Literal["front", "middle", "rear"] = Field(
        "middle", description="Where the relief's port sits along the tank's roof."
    )
    sealing_temperature: (
        Annotated[
            float,
            Quantity(
                "temperature",
                "-30 degC",
                "99 degC",
                help="When the lid was shut. As start_temperature when not given.",
            ),
        ]
        | None
    ) = None
    sealing_pressure: (
        Annotated[
            float,
            Quantity(
                "pressure_absolute",
                "50 kPa",
                "200 kPa",
                help="Of the gas when the lid was shut. Ambient when not given.",
            ),
        ]
        | None
    ) = None
    precharge: Annotated[
        float, Quantity("pressure_gauge", "0 kPa", "400 kPa", help="Of the bladder, at sealing.")
    ] = 0.0
    bottle_volume: Annotated[
        float, Quantity("volume", "0 L", "100 L", help="Free volume of the overflow bottle.")
    ] = 0.0
    mixing: Literal["mixed", "plug", "adverse"] | None = Field(
        None,
        description="mixed: an open return jet. plug: baffles. adverse: dead water and a "
        "short circuit. mixed when not given, and the margins of all three are shown.",
    )
    cells: int = Field(12, ge=1, le=200, strict=True, description="Cells of a plug-flow tank.")
    active_fraction: Annotated[
        float,
        Quantity(
            "fraction",
            0.3,
            1.0,
            help="Share of the water that takes part, adverse.",
            basis="common practice 0.6-1",
        ),
    ] = 0.85
    short_circuit: Annotated[
        float,
        Quantity(
            "fraction",
            0.0,
            0.8,
            help="Share of the return that goes straight to the outlet, adverse.",
            basis="common practice 0-0.3",
        ),
    ] = 0.1
    wall_mass: Annotated[
        float, Quantity("mass", "0 kg", "300 kg", help="Metal of the tank that follows the water.")
    ] = 0.0
    wall_specific_heat: Annotated[
        float,
        Quantity(
            "specific_heat",
            "200 J/kg/K",
            "2500 J/kg/K",
            help="Of the wall.",
            basis="aluminium 900 J/kg K",
        ),
    ] = 900.0
    air_conductance: Annotated[
        float,
        Quantity(
            "conductance",
            "0 W/K",
            "200 W/K",
            help="Heat loss of the tank to the air.",
            basis="common practice",
        ),
    ] = 4.0
    sun_heat: Annotated[
        float,
        Quantity(
            "power",
            "0 W",
            "5000 W",
            help="Sun on the tank while it queues.",
            basis="common practice",
        ),
    ] = 150.0
    position: Annotated[
        float, Quantity("length", "0 m", "20 m", help="Middle of the tank behind the nose.")
    ] = 0.8
    length: (
        Annotated[
            float,
            Quantity(
                "length",
                "0.05 m",
                "4 m",
                help="Along the car. From the volume when not given.",
            ),
        ]
        | None
    ) = None
    height: (
        Annotated[
            float,
            Quantity("length", "0.05 m", "2 m", help="Upright. From the volume when not given."),
        ]
        | None
    ) = None
    wall_thickness: Annotated[
        float, Quantity("length", "0.5 mm", "20 mm", help="Of the flat panels.")
    ] = 3e-3
    panel_long: (
        Annotated[
            float,
            Quantity(
                "length",
                "0.03 m",
                "4 m",
                help="Longer side of the largest unstayed panel. From the box when not given.",
            ),
        ]
        | None
    ) = None
    panel_short: (
        Annotated[float, Quantity("length", "0.03 m", "4 m", help="Its shorter side.")] | None
    ) = None
    welded_yield: Annotated[
        float,
        Quantity(
            "stress",
            "20 MPa",
            "600 MPa",
            help="Yield strength beside the welds.",
            basis="5052: 65 MPa, 6061: 75-105 MPa; aluminium design handbook, from memory",
        ),
    ] = 65e6
    barrier: Literal["none", "bulkhead"] = Field(
        "none",
        description="Between tank and driver: none, or a sealed bulkhead with no joint, "
        "filler or relief on the driver's side.",
    )
    outlet: Literal["rear", "front", "middle"] = Field(
        "rear", description="Where the pick-up sits along the tank, at the bottom."
    )
    strainer: bool = Field(
        False, strict=True, description="Whether the pick-up has an ice strainer."
    )
    ice_mass: Annotated[
        float,
        Quantity("mass", "0 kg", "500 kg", help="Water ice in the tank at the start, within fill."),
    ] = 0.0
    ice_form: Literal["block", "cubes", "crushed"] = "cubes"
    ice_size: (
        Annotated[
            float,
            Quantity(
                "length",
                "2 mm",
                "100 mm",
                help="Edge of a piece; by the form when not given. A block has none.",
            ),
        ]
        | None
    ) = None
    ice_temperature: Annotated[
        float, Quantity("temperature", "-39 degC", "0 degC", help="Of the ice when added.")
    ] = 268.15

    @field_validator("ice_form", mode="before")
    @classmethod
    def _no_dry_ice(cls, value: object) -> object:
        if isinstance(value, str) and value.replace("-", " ").replace("_", " ").lower() in (
            "dry ice",
            "dry",
            "co2",
        ):
            raise ValueError(DRY_ICE)
        return value

    def conflicts(self) -> list[Conflict]:
        """Return contradictions of mixture, ice and box; see :class:`Table`. [poly]"""
        edge = self.volume ** (1.0 / 3.0)
        length = edge if self.length is None else self.length
        height = (self.volume / length) ** 0.5 if self.height is None else self.height
        width = self.volume / (length * height)
        longest = most((length, height, width))
        panel = 0.0 if self.panel_long is None else self.panel_long
        return [
            *super().conflicts(),
            (
                (self.ice_mass > 0.0) & (self.glycol != "none"),
                "ice in a tank with glycol is not modelled: the melt thins the mix; "
                "use plain water with ice",
            ),
            (
                self.ice_form == "block" and self.ice_size is not None,
                "a block of ice has no ice_size; leave it out",
            ),
            (
                self.ice_mass / 916.72 > 0.950001 * self.fill * self.volume,
                "ice_mass does not fit into fill times volume with any water left",
            ),
            (
                (width < LEAST_WIDTH) | (width > MOST_WIDTH),
                f"volume, length and height make a box {_millimetres(width)} mm wide: "
                "30 mm to 3 m",
            ),
            (
                panel > 1.001 * longest,
                f"panel_long must not exceed the longest side, {_millimetres(longest)} mm",
            ),
            (
                (self.panel_long is None) != (self.panel_short is None),
                "give both panel_long and panel_short, or neither",
            ),
        ]


def _millimetres(metres: Any) -> str:
    """Write a length, or the range of an array of lengths, in whole millimetres."""
    low, high = 1e3 * float(np.min(metres)), 1e3 * float(np.max(metres))
    return f"{low:.0f}" if low == high else f"{low:.0f} to {high:.0f}"
