"""The crew's notebook as a form: what is asked for, and what is made of the answers."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from thermo.fields import Quantity
from thermo.fit_next import samples
from thermo.fit_notebook import NORMAL_95, Notebook, NotebookFit
from thermo.fit_result import bounds_of
from thermo.units import parse
from thermo.variants import Floats
from tui.field_model import Field
from tui.fieldlist import Row

WATER = ("temperature", "0 degC", "150 degC")
ASKED: Mapping[str, tuple[str, Quantity, bool]] = {
    "tank_before": ("Tank before the pass", Quantity(*WATER, help="Its water, stirred."), True),
    "tank_after": (
        "Tank after running on",
        Quantity(*WATER, help="Its water after the pumps have run on."),
        True,
    ),
    "coolant_before": ("Coolant before the pass", Quantity(*WATER, help="At engine out."), True),
    "coolant_after": (
        "Coolant after running on",
        Quantity(*WATER, help="At engine out, after the pumps have run on."),
        True,
    ),
    "pass_time": (
        "Time at full power", Quantity("time", "1 s", "2 h", help="From the clock."), True
    ),
    "circulated": (
        "Pumps ran on for",
        Quantity("time", "0 s", "2 h", help="Before the readings after; 60 s when empty."),
        False,
    ),
    "plenum": (
        "Plenum at top speed",
        Quantity(
            "pressure_absolute", "40 kPa", "130 kPa",
            help="Absolute pressure, for the duct's losses; may stay empty.",
        ),
        False,
    ),
    "ice_before": (
        "Ice at the reading before",
        Quantity("mass", "0 kg", "500 kg", help="Left in the tank; by the model when empty."),
        False,
    ),
    "ice_after": (
        "Ice at the reading after",
        Quantity("mass", "0 kg", "500 kg", help="Left in the tank; none when empty."),
        False,
    ),
}
"""What the notebook holds: name in words, kind and range, and whether it is needed."""


def notebook_rows() -> tuple[Row, ...]:
    """Return a row of a form for each reading."""
    return tuple(
        Row(
            name, "Notebook", "", "", "", False,
            Field(
                name, (name,), "quantity", label, quantity.help, "", "", "", (), needed, quantity
            ),
        )
        for name, (label, quantity, needed) in ASKED.items()
    )


def notebook_of(values: Mapping[str, str]) -> Notebook:
    """Return the notebook from what was typed.

    Parameters
    ----------
    values : mapping of str to str
        Texts that the rows of :func:`notebook_rows` take, those that were left empty not among
        them.

    Returns
    -------
    Notebook

    Raises
    ------
    QuantityTextError
        A text is no such quantity.
    """
    return Notebook(**{name: parse(text, ASKED[name][1].kind) for name, text in values.items()})


def samples_of(found: NotebookFit) -> dict[str, Floats]:
    """Return samples of the fitted inputs, as :func:`thermo.ensemble.run_variants` takes them."""
    errors = [(one.high95 - one.low95) / (2.0 * NORMAL_95) for one in found.fitted]
    return samples(
        tuple(one.key for one in found.fitted),
        np.array([one.value for one in found.fitted]),
        np.diag(np.square(errors)),
        lambda drawn: drawn,
        bounds_of(found.fitted),
    )
