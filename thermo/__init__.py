"""Soakbox's engine: one pass of a radiator-less speed car, cooling and intake, in SI units.

Nothing in this package imports the user interface. Units live at its edge, in
:mod:`thermo.units`; inside, every number is SI (kelvin, pascal, kilogram, metre, second, watt).
"""

SOAKBOX_ENGINE = True
"""Marks this package as ours: an unrelated distribution installs a package of the same name."""

__version__ = "0.1.0"
