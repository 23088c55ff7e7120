"""Words of the form: groups, labels where the key alone reads poorly, and which rows apply."""

from __future__ import annotations

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("The day", ("title", "shows", "site")),
    ("Car", ("car",)),
    ("Engine", ("engine",)),
    ("Coolant", ("coolant",)),
    ("Exchanger", ("exchanger",)),
    ("Tank", ("tank",)),
    ("Tank loop", ("loop",)),
    ("Intake", ("intake",)),
    ("Legs", ("leg",)),
    ("Limits", ("limits",)),
)
"""Groups of the form, in order, and what of the file is in each."""

LABELS: dict[str, str] = {
    "shows": "What it shows",
    "site.pressure": "Station pressure",
    "site.altimeter": "Altimeter setting",
    "car.grip": "Grip of the driven axle",
    "car.rolling_resistance_at_100mps": "Rolling resistance at 100 m/s",
    "car.rotating_factor": "Rotating mass factor",
    "engine.strokes": "Strokes a cycle",
    "engine.shift_speed": "Shift at",
    "engine.ram_to_power": "Ram counts in power",
    "engine.oil_cooler_ua": "Oil cooler UA",
    "engine.metal_excess": "Metal over coolant, full power",
    "engine.metal_start_excess": "Metal over coolant, at start",
    "engine.still_conductance": "Metal-to-coolant share, no flow",
    "engine.heat_share": "Heat to coolant over power",
    "engine.fuel_heat_share": "Heat to coolant over fuel energy",
    "engine.heat_power": "Heat to coolant",
    "engine.oil_share": "Heat to oil over power",
    "coolant.line": "Hot line",
    "exchanger.ua": "UA",
    "exchanger.ua_scale": "UA in the car over that described",
    "exchanger.cold_volume": "Tank water held in it",
    "exchanger.rated": "Rated point",
    "exchanger.plate": "Brazed plates",
    "tank.fill": "Fill",
    "tank.cells": "Cells, plug flow",
    "tank.position": "Middle behind the nose",
    "tank.panel_long": "Largest panel, long side",
    "tank.panel_short": "Largest panel, short side",
    "tank.strainer": "Ice strainer",
    "tank.relief_faces_driver": "Relief faces driver or tyre",
    "loop.supply": "Supply line",
    "loop.return": "Return line",
    "loop.bleed": "High points can be bled",
    "intake.copies": "Equal ducts side by side",
    "intake.frame_tubes": "Ducts are frame tubes",
    "intake.bonnet_excess": "Bonnet air over outside air",
    "intake.recovery": "Recovery at the opening",
    "intake.loss_scale": "Losses in the car over those described",
    "intake.part": "Part",
    "intake.part.k": "Loss coefficient",
    "intake.part.to_bore": "Bore after the change",
    "intake.part.drop": "Pressure drop",
    "leg": "Leg",
    "leg.tank_pump": "Tank pump runs",
    "leg.coolant_pump": "Coolant pump runs",
    "leg.sun": "Sun on the tank",
    "leg.reseal": "Tank opened and sealed anew",
    "limits.scald": "Water that could reach the driver",
    "limits.touch": "Metal near hands",
    "limits.mach": "Mach number in the duct",
    "limits.ram_share": "Share of ram gain to keep",
    "limits.yield_safety": "Yield over panel stress",
    "limits.intake_rise": "Warming of air in the duct",
    "limits.coolant_minimum": "Least coolant temperature",
    "limits.oil_minimum": "Least oil temperature",
    "npsh_required": "NPSH required",
    "minor_k": "Further loss coefficient",
    "restrictor_k": "Restrictor loss coefficient",
    "hot_drop": "Coolant-side loss",
    "cold_drop": "Tank-side loss",
    "parallel": "Equal runs side by side",
    "shut_both_ends": "Can be shut at both ends",
    "glycol_mass_fraction": "Glycol fraction by mass",
    "glycol_fraction": "Glycol fraction by volume",
}
"""Label by dotted key without places in lists, or by the last name of the key."""

US_UNITS: dict[str, str] = {
    "engine.displacement": "in^3",
    "leg.distance": "mi",
    "leg.timed_from": "mi",
    "leg.timed_to": "mi",
}
"""US unit of fields whose metric unit has another counterpart in general."""

_WALL = frozenset({"roughness", "friction"})
PART_USES: dict[str, frozenset[str]] = {
    "tube": _WALL | {"bore", "length"},
    "box-tube": _WALL | {"width", "height", "length"},
    "flexible": frozenset({"bore", "length", "friction"}),
    "bend": frozenset({"bore", "radius_ratio", "angle"}),
    "mitre": frozenset({"bore", "angle"}),
    "contraction": frozenset({"bore", "to_bore", "length", "angle", "roughness"}),
    "expansion": frozenset({"bore", "to_bore", "length", "angle", "roughness"}),
    "box-to-round": frozenset({"width", "height", "to_bore", "length", "angle", "roughness"}),
    "wye": frozenset({"bore"}),
    "tee": frozenset({"bore"}),
    "screen": frozenset({"bore", "open_share"}),
    "filter": frozenset({"drop", "rated_flow", "dirty_factor"}),
    "loss": frozenset({"bore", "k"}),
}
"""What each kind of duct part is made of, beside kind, name and path."""

_MOVING = frozenset({"start_speed", "timed_from", "timed_to"})
_FRESH = frozenset({"swap_fraction", "swap_temperature", "ice_mass", "reseal"})
_ANY_LEG = frozenset({
    "kind", "name", "duration", "engine", "tank_pump", "coolant_pump", "tank_pump_fails_at",
    "coolant_pump_fails_at", "sun",
})
LEG_USES: dict[str, frozenset[str]] = {
    "warm-up": _ANY_LEG,
    "queue": _ANY_LEG,
    "soak": _ANY_LEG,
    "service": _ANY_LEG | _FRESH,
    "pushed": _ANY_LEG | {"start_speed", "until_speed"},
    "full-power": _ANY_LEG | _MOVING | {"distance", "power_share"},
    "coast": _ANY_LEG | _MOVING | {"distance", "until_speed", "parachute_area"},
}
"""What each kind of leg takes."""

US_NAMES = frozenset({
    "in", "inch", "inches", "ft", "foot", "feet", "yd", "mi", "mile", "miles", "gal", "gallon",
    "gallons", "qt", "oz", "floz", "lb", "lbs", "lbm", "lbf", "degf", "f", "fahrenheit", "degr",
    "r", "rankine", "mph", "fps", "fpm", "gpm", "gph", "cfm", "psi", "psia", "psig", "psid",
    "ksi", "inhg", "inh2o", "fth2o", "btu", "hp", "bhp", "impgal",
})
"""Names of US units, in lower case."""

NEUTRAL_KINDS = frozenset({
    "time", "angle", "rotational_speed", "voltage", "fraction", "number",
})
"""Kinds that are shown as typed in either system."""
