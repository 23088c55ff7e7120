"""Table ``[intake]`` with its list ``[[intake.part]]``: the duct from nose to plenum."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermo.fields import Quantity
from thermo.inputs.table import Conflict, Table

NEEDS: dict[str, tuple[str, ...]] = {
    "tube": ("bore", "length"),
    "box-tube": ("width", "height", "length"),
    "flexible": ("bore", "length"),
    "bend": ("bore", "radius_ratio"),
    "mitre": ("bore",),
    "contraction": ("bore", "to_bore"),
    "expansion": ("bore", "to_bore"),
    "box-to-round": ("width", "height", "to_bore"),
    "wye": ("bore",),
    "tee": ("bore",),
    "screen": ("bore", "open_share"),
    "filter": (),
    "loss": ("bore", "k"),
}
"""Keys that each kind of part must have."""

Length = Annotated[float, Quantity("length", "0 m", "30 m")]
Bore = Annotated[float, Quantity("length", "5 mm", "1 m")]


class Part(Table):
    """One part of the duct, in order from the nose."""

    kind: Literal[
        "tube",
        "box-tube",
        "flexible",
        "bend",
        "mitre",
        "contraction",
        "expansion",
        "box-to-round",
        "wye",
        "tee",
        "screen",
        "filter",
        "loss",
    ]
    name: str = Field("", max_length=60, description="What to call the station behind this part.")
    path: str = Field(
        "duct",
        max_length=30,
        description="Parts of one name follow each other; different names "
        "run side by side and meet in the plenum. 'plenum' is what all the air goes through last.",
    )
    bore: Bore | None = None
    width: Bore | None = None
    height: Bore | None = None
    to_bore: Bore | None = None
    length: Length | None = None
    roughness: Annotated[
        float,
        Quantity(
            "length",
            "0 mm",
            "3 mm",
            help="Drawn tube 1.5 um, steel tube 45 um, rusty 150 um.",
        ),
    ] = 45e-6
    friction: (
        Annotated[
            float,
            Quantity(
                "number",
                0.005,
                0.5,
                help="Darcy friction factor, in place of roughness.",
                basis="flexible duct 0.05-0.12, common practice",
            ),
        ]
        | None
    ) = None
    k: Annotated[float, Quantity("number", 0.0, 1000.0, help="Loss coefficient.")] | None = None
    angle: Annotated[
        float,
        Quantity(
            "angle",
            "0 deg",
            "180 deg",
            help="Turn of a bend; full cone angle of a change.",
        ),
    ] = 1.5707963267948966
    radius_ratio: (
        Annotated[float, Quantity("number", 1.0, 20.0, help="Bend radius over bore.")] | None
    ) = None
    open_share: Annotated[float, Quantity("fraction", 0.05, 1.0)] | None = None
    drop: Annotated[
        float,
        Quantity(
            "pressure_difference",
            "0 Pa",
            "20 kPa",
            help="Loss of a filter at rated flow.",
            basis="common practice 0.2-1 kPa",
        ),
    ] = 300.0
    rated_flow: (
        Annotated[
            float,
            Quantity(
                "mass_flow",
                "0.001 kg/s",
                "20 kg/s",
                help="At which drop holds; it grows with flow to the 1.5. Constant when not given.",
            ),
        ]
        | None
    ) = None
    dirty_factor: Annotated[
        float,
        Quantity(
            "number",
            1.0,
            20.0,
            help="Drop of a dirty filter over that of a clean one.",
            basis="common practice",
        ),
    ] = 3.0

    def conflicts(self) -> list[Conflict]:
        """Return what is missing, and contradictions of bores; see :class:`Table`. [poly]"""
        missing = [key for key in NEEDS[self.kind] if getattr(self, key) is None]
        before = 0.0 if self.bore is None else self.bore
        after = 0.0 if self.to_bore is None else self.to_bore
        return [
            (bool(missing), f"a part of kind '{self.kind}' also needs {', '.join(missing)}"),
            (
                (self.kind == "contraction") & (after >= before),
                "a contraction's to_bore must be less than its bore",
            ),
            (
                (self.kind == "expansion") & (after <= before),
                "an expansion's to_bore must be more than its bore",
            ),
        ]


class Intake(Table):
    """How engine air gets from the nose to the plenum; leave the table out for no duct."""

    recovery: Annotated[
        float,
        Quantity(
            "fraction",
            0.3,
            1.0,
            help="Share of the stagnation gain that the opening catches.",
            basis="common practice 0.9-1",
        ),
    ] = 0.97
    loss_scale: Annotated[
        float,
        Quantity(
            "number",
            0.1,
            10.0,
            help="Losses of the duct in the car over those of its parts; 1 until fitted.",
        ),
    ] = 1.0
    pressure_coefficient: Annotated[
        float,
        Quantity(
            "number",
            -2.0,
            1.0,
            help="Of the outer flow at the opening: 1 at the stagnation point.",
        ),
    ] = 1.0
    lip: Literal["sharp", "re-entrant", "rounded", "bellmouth", "none"] = Field(
        "rounded",
        description="Shape of the opening's lip; it costs while the duct swallows air "
        "faster than the car moves.",
    )
    copies: int = Field(
        1,
        ge=1,
        le=8,
        strict=True,
        description="Equal ducts side by side, each with all parts but those of path 'plenum'.",
    )
    demand: Literal["power", "displacement"] = Field(
        "power",
        description="power: from power, specific consumption and air-fuel ratio. "
        "displacement: from displacement, rpm and volumetric efficiency.",
    )
    plenum_volume: (
        Annotated[
            float,
            Quantity(
                "volume",
                "0 L",
                "200 L",
                help="3 displacements when not given.",
                basis="common practice 1.5-10 displacements",
            ),
        ]
        | None
    ) = None
    wall_temperature: (
        Annotated[
            float,
            Quantity(
                "temperature",
                "-30 degC",
                "150 degC",
                help="Of the duct at the start: sun-soaked, or by hot lines. Air when not given.",
            ),
        ]
        | None
    ) = None
    wall_mass: (
        Annotated[
            float,
            Quantity(
                "mass",
                "0 kg",
                "200 kg",
                help="Of the duct. From its surface and 2 mm of steel when not given.",
                basis="common practice",
            ),
        ]
        | None
    ) = None
    wall_specific_heat: Annotated[
        float, Quantity("specific_heat", "200 J/kg/K", "2500 J/kg/K", basis="steel 480 J/kg K")
    ] = 480.0
    bonnet_excess: Annotated[
        float,
        Quantity(
            "temperature_difference",
            "0 K",
            "100 K",
            help="Air under the bonnet over outside air: what an inlet without duct would breathe.",
            basis="common practice 10-30 K",
        ),
    ] = 15.0
    frame_tubes: bool = Field(
        False, strict=True, description="Whether the ducts are tubes of the frame."
    )
    debris_screen: bool = Field(
        False, strict=True, description="Whether anything keeps salt and stones out."
    )
    part: tuple[Part, ...] = Field(description="Parts in order from the nose.", min_length=1)

    def conflicts(self) -> list[Conflict]:
        """Return whether there is no duct at all; see :class:`Table`. [poly]"""
        return [(
            all(p.path == "plenum" for p in self.part),
            "at least one part must belong to a duct, not to path 'plenum'",
        )]
