"""A field of a scenario that holds a quantity: its kind, its range, and why the range.

``Annotated[float, Quantity("volume", "0.5 L", "2 m^3")]`` in a pydantic model reads text with a
unit into an SI float and refuses what is outside the range, in the field's own units. The same
object drives the forms and the JSON Schema. Code that builds such a model passes text too, or a
number it vouches for: ``Line(length=SI(2.0))``; a plain number is refused, as from a file.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from thermo.keys import annotation_at, is_union, path_of
from thermo.quantity_text import QuantityTextError, show_object
from thermo.units import System, counterpart, format_value, kind_named, parse, unit_of

_TEXT_PATTERN = r"^\s*[+\-\u2212]?[0-9.][0-9./eE+\- ]*\s*[^0-9\s./eE+\-].*$"
_BARE_PATTERN = r"^\s*[+\-\u2212]?[0-9.][0-9./eE+\- ]*\s*%?\s*$"
Bound = str | float


class SI(float):
    """A float that is already in the SI unit of its field, for models built in code.

    A file cannot hold one, so a number without unit in a file is always refused where the
    field has a unit.
    """

    __slots__ = ()


@dataclass(frozen=True)
class Quantity:
    """What a field holds and the range it may have.

    Parameters
    ----------
    kind : str
        A key of :data:`thermo.units.KINDS`.
    low, high : str or float
        Range of accepted values: text with a unit, numbers where the kind has none. Both ends
        are accepted unless `open_low`.
    basis : str
        Where the range or the default comes from.
    help : str
        One sentence on the field.
    open_low : bool
        Whether `low` itself is refused.

    Raises
    ------
    UnitError
        The kind is unknown, a bound cannot be read, or the range is empty.
    """

    kind: str
    low: Bound
    high: Bound
    basis: str = ""
    help: str = ""
    open_low: bool = False

    def __post_init__(self) -> None:
        low, high = self.range_si
        if not low < high:
            raise QuantityTextError(f"{self.low} to {self.high}", "the range is empty")

    @cached_property
    def range_si(self) -> tuple[float, float]:
        """Ends of the range in the kind's SI unit."""
        return parse(self.low, self.kind), parse(self.high, self.kind)

    @property
    def unit(self) -> str:
        """The field's own unit, that of its range; empty for a bare number."""
        for bound in (self.low, self.high):
            if isinstance(bound, str):
                return unit_of(bound, self.kind)
        return ""

    @property
    def allowed(self) -> str:
        """The range in words, in the field's own units."""
        if self.open_low:
            return f"above {self.low} and at most {self.high}"
        return f"from {self.low} to {self.high}"

    def parse(self, given: object) -> float:
        """Read a value and check its range.

        A value that differs from an end of the range by no more than the rounding of a change
        of units (1 part in 1e12) is that end.

        Parameters
        ----------
        given : object
            Text with a unit, a number where the kind has no unit, or an :class:`SI` number.

        Returns
        -------
        float
            Value in the kind's SI unit.

        Raises
        ------
        QuantityTextError
            The text cannot be read or lies outside the range; carries what is allowed.
        """
        value = float(given) if isinstance(given, SI) else parse(given, self.kind)
        low, high = self.range_si
        rounding = 1e-12 * max(abs(low), abs(high))
        for end in (low, high):
            if abs(value - end) <= rounding:
                value = end
        if low < value <= high or (value == low and not self.open_low):
            return value
        raise QuantityTextError(
            show_object(given), f"{kind_named(self.kind).label} {self.allowed} is expected"
        )

    def format(self, si: float, system: System = "si", digits: int = 4) -> str:
        """Write an SI value in the field's own unit, or in the US unit of like size.

        Parameters
        ----------
        si : float
            Value in the kind's SI unit.
        system : {"si", "us"}
            "si" keeps the field's own unit.
        digits : int
            Significant digits.

        Returns
        -------
        str
            Text that :meth:`parse` reads back.
        """
        unit = self.unit if system == "si" else counterpart(self.unit, self.kind)
        return format_value(si, self.kind, system, digits, unit)

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            self._validate, metadata={"pydantic_js_input_core_schema": core_schema.float_schema()}
        )

    def _validate(self, given: object) -> float:
        try:
            return self.parse(given)
        except QuantityTextError as error:
            raise PydanticCustomError(
                "quantity",
                "{given}: {allowed}",
                {"given": error.given, "allowed": error.allowed, "range": self.allowed},
            ) from None

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        what = kind_named(self.kind)
        low, high = self.range_si
        numeric = {
            "type": "number", ("exclusiveMinimum" if self.open_low else "minimum"): low,
            "maximum": high,
        }
        described = {
            "description": " ".join(filter(None, (
                self.help, f"{what.label[0].upper()}{what.label[1:]} {self.allowed}.",
                f"Basis: {self.basis}." if self.basis else "",
            ))),
            "x-kind": self.kind, "x-low": self.low, "x-high": self.high, "x-basis": self.basis,
        }
        if not what.is_bare:
            return {
                "type": "string", "pattern": _TEXT_PATTERN, "examples": list(what.examples),
                **described,
            }
        return {"anyOf": [numeric, {"type": "string", "pattern": _BARE_PATTERN}], **described}


def quantity_of(model: type[BaseModel], key: str) -> Quantity | None:
    """Return the quantity that the field at a dotted key holds.

    Parameters
    ----------
    model : type
        The model to start from.
    key : str
        Such as ``tank.volume`` or ``leg[1].duration``; for a list of quantities the list itself
        may be named.

    Returns
    -------
    Quantity or None
        None when there is no such field or it holds no quantity.
    """
    try:
        path = path_of(key)
    except ValueError:
        return None
    return quantity_in(annotation_at(model, path))


def quantity_in(annotation: Any) -> Quantity | None:
    """Return the quantity that a field of this type holds.

    Parameters
    ----------
    annotation : object
        A type, such as :func:`annotation_at` returns.

    Returns
    -------
    Quantity or None
        The quantity, also that of each entry of a list; None when it holds none.
    """
    if get_origin(annotation) is Annotated:
        inner, *metadata = get_args(annotation)
        for item in metadata:
            if isinstance(item, Quantity):
                return item
        return quantity_in(inner)
    if is_union(annotation):
        return next(filter(None, map(quantity_in, get_args(annotation))), None)
    if get_origin(annotation) in (tuple, list):
        elements = {e for e in get_args(annotation) if e is not Ellipsis}
        return quantity_in(elements.pop()) if len(elements) == 1 else None
    return None
