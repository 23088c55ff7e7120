"""A field of a scenario that holds a quantity: its kind, its range, and why the range.

``Annotated[float, Quantity("volume", "0.5 L", "2 m^3")]`` in a pydantic model reads text with a
unit into an SI float and refuses what is outside the range, in the field's own units. The same
object drives the forms and the JSON Schema. Code that builds such a model passes text too, or a
number it vouches for: ``Line(length=SI(2.0))``; a plain number is refused, as from a file.
"""

from __future__ import annotations

import re
import types
from dataclasses import dataclass
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel, GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic.fields import FieldInfo
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from thermo.quantity_text import QuantityTextError, printable, show_object
from thermo.units import System, counterpart, format_value, kind_named, parse, unit_of

_TEXT_PATTERN = r"^\s*[+\-\u2212]?[0-9.][0-9./eE+\- ]*\s*[^0-9\s].*$"
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

    @property
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


def path_of(key: str) -> tuple[str | int, ...]:
    """Split a dotted key with indices into its parts.

    Parameters
    ----------
    key : str
        Such as ``tank.volume``, ``leg[1].duration``, ``leg.1.duration``, ``leg[pass].distance``.

    Returns
    -------
    tuple of (str or int)
        Names, and whole numbers from 0 for places in a list.

    Raises
    ------
    ValueError
        The text is not such a key.
    """
    if not re.fullmatch(r"[A-Za-z_][\w-]*(?:\.[\w-]+|\[[^\[\]\x00-\x1f]{1,80}\])*", key):
        raise ValueError(f"{printable(key)} is not a key such as tank.volume or leg[1].duration")
    parts = re.findall(r"\[([^\]]+)\]|([\w-]+)", key)
    texts = [(inner or name).strip() for inner, name in parts]
    return tuple(int(t) if re.fullmatch(r"[0-9]{1,6}", t) else t for t in texts)


def key_of(path: tuple[str | int, ...]) -> str:
    """Join the parts of a path into a dotted key.

    Parameters
    ----------
    path : tuple of (str or int)
        Names, and whole numbers for places in a list.

    Returns
    -------
    str
        Such as ``leg[1].duration``.
    """
    text = "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path)
    return text.removeprefix(".")


def known_names(annotation: object) -> tuple[str, ...]:
    """Return the names that the table described by `annotation` may hold.

    Parameters
    ----------
    annotation : object
        A model class, or a type that mentions one; places in lists are looked through.

    Returns
    -------
    tuple of str
        Names as written in a file; empty when it is no table.
    """
    return tuple(
        info.alias or name
        for model in _models(annotation)
        for name, info in model.model_fields.items()
    )


def annotation_at(model: type[BaseModel], path: tuple[str | int, ...]) -> Any:
    """Return the type of the field at `path`, metadata included, or None when there is none.

    Parameters
    ----------
    model : type
        The model to start from.
    path : tuple of (str or int)
        Names and places in lists; a place may be left out, or be any name of an entry.

    Returns
    -------
    object
        An annotation, ``Annotated`` where the field has metadata.
    """
    annotation: Any = model
    for part in path:
        annotation = _step(annotation, part)
        if annotation is None:
            return None
    return annotation


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
    return _quantity_in(annotation_at(model, path))


def _quantity_in(annotation: Any) -> Quantity | None:
    if get_origin(annotation) is Annotated:
        inner, *metadata = get_args(annotation)
        for item in metadata:
            if isinstance(item, Quantity):
                return item
        return _quantity_in(inner)
    if _is_union(annotation):
        return next(filter(None, map(_quantity_in, get_args(annotation))), None)
    if get_origin(annotation) in (tuple, list):
        elements = {e for e in get_args(annotation) if e is not Ellipsis}
        return _quantity_in(elements.pop()) if len(elements) == 1 else None
    return None


def _step(annotation: Any, part: str | int) -> Any:
    """Go one part down a path; None when there is nothing of that name."""
    if get_origin(annotation) is Annotated:
        return _step(get_args(annotation)[0], part)
    if _is_union(annotation):
        found = (_step(option, part) for option in get_args(annotation))
        return next((option for option in found if option is not None), None)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return _field_type(annotation, part) if isinstance(part, str) else None
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is dict:
        return arguments[1]
    if origin in (tuple, list):
        if isinstance(part, str):
            return _step(arguments[0], part) or arguments[0]
        if origin is list or Ellipsis in arguments:
            return arguments[0]
        return arguments[part] if part < len(arguments) else None
    return None


def _field_type(model: type[BaseModel], name: str) -> Any:
    for field, info in model.model_fields.items():
        if name == (info.alias or field):
            return _with_metadata(info)
    return None


def _with_metadata(info: FieldInfo) -> Any:
    return Annotated[info.annotation, *info.metadata] if info.metadata else info.annotation


def _is_union(annotation: Any) -> bool:
    return get_origin(annotation) in (Union, types.UnionType)


def _models(annotation: Any) -> list[type[BaseModel]]:
    """Return the models that an annotation mentions, without going into their fields."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for argument in get_args(annotation) for m in _models(argument)]
