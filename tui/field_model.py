"""What is known of each input without a file: label, range, default, from the scenario's models."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Literal, get_args, get_origin

import tomlkit
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from thermo.fields import Quantity, quantity_in
from thermo.keys import annotation_at, is_list, options_of
from thermo.scenario import Scenario
from thermo.units import kind_named
from tui.field_words import LABELS

RowKind = Literal["quantity", "choice", "yes-no", "text", "list", "table"]


@dataclass(frozen=True, slots=True)
class Field:
    """What is known of an input without a file.

    Attributes
    ----------
    name : str
        Last part of its key.
    place : tuple of str
        Its key without places in lists.
    kind : str
        "quantity" (also a bare or a whole number), "choice", "yes-no", "text", "list", or
        "table" for an optional table that the file does not have.
    label, help, basis : str
        In plain words; `basis` says where range or default come from.
    default : str
        The default as text; empty when there is none, or when it follows from other inputs.
    allowed : str
        What is accepted, in words.
    options : tuple of str
        Values of a choice.
    required : bool
        Whether the file must have it.
    quantity : Quantity or None
        Kind and range of a quantity.
    """

    name: str
    place: tuple[str, ...]
    kind: RowKind
    label: str
    help: str
    basis: str
    default: str
    allowed: str
    options: tuple[str, ...]
    required: bool
    quantity: Quantity | None


@lru_cache(maxsize=64)
def fields_at(place: tuple[str, ...], absent: bool) -> tuple[Field, ...]:
    """Return the inputs of one table of the model.

    Where the file does not have the table, what holds is the default of the table as a whole,
    which may differ from the defaults of its inputs.

    Parameters
    ----------
    place : tuple of str
        Key of the table without places in lists.
    absent : bool
        Whether the file does not have it.

    Returns
    -------
    tuple of Field
        In the order of the model; empty when this is no table.
    """
    model = model_at(place)
    if model is None:
        return ()
    whole = _whole_default(place) if absent else None
    names = ((info.alias or name, name, info) for name, info in model.model_fields.items())
    return tuple(
        _field((*place, written), info, _default(info) if whole is None else getattr(whole, name))
        for written, name, info in names
        if (*place, written) not in (("schema",), ("doubt",))
    )


def _field(place: tuple[str, ...], info: FieldInfo, default: Any) -> Field:
    annotation = annotation_at(Scenario, place)
    quantity = quantity_in(annotation)
    model = model_at(place)
    kind = _kind(annotation, quantity)
    return Field(
        name=place[-1],
        place=place,
        kind=kind,
        label=label_of(place),
        help=(quantity.help if quantity else "") or info.description or (
            _first_line(model.__doc__) if model else ""
        ),
        basis=quantity.basis if quantity else "",
        default="" if kind == "table" else _default_text(default, quantity),
        allowed=_allowed(annotation, info, kind, quantity),
        options=_options(annotation),
        required=info.is_required(),
        quantity=quantity,
    )


def _kind(annotation: Any, quantity: Quantity | None) -> RowKind:
    options = options_of(annotation)
    if _models(annotation):
        return "table"
    if is_list(annotation):
        return "list"
    if quantity is not None or options == [int]:
        return "quantity"
    if any(get_origin(option) is Literal for option in options):
        return "choice"
    return "yes-no" if options == [bool] else "text"


def _allowed(annotation: Any, info: FieldInfo, kind: RowKind, quantity: Quantity | None) -> str:
    """Say what is accepted."""
    bounds = {
        name: getattr(item, name)
        for item in info.metadata
        for name in ("ge", "le", "max_length", "min_length")
        if getattr(item, name, None) is not None
    }
    if kind == "choice":
        return "one of " + ", ".join(_options(annotation))
    if kind == "yes-no":
        return "yes or no"
    if kind == "text":
        return f"text of at most {bounds['max_length']} characters"
    if kind == "list":
        least = f", at least {bounds['min_length']}" if "min_length" in bounds else ""
        return f"a list of {_entries(annotation)}{least}"
    if kind == "quantity" and quantity is None:
        return f"a whole number from {bounds['ge']} to {bounds['le']}"
    return quantity.allowed if quantity is not None else ""


def _entries(annotation: Any) -> str:
    """Say what the entries of a list are."""
    entry = get_args(options_of(annotation)[0])[0]
    if entry is str:
        return "texts"
    if get_origin(entry) is tuple:
        return "pairs: " + " and ".join(_held(part) for part in get_args(entry))
    return "values: " + _held(entry)


def _held(annotation: Any) -> str:
    quantity = quantity_in(annotation)
    return f"{kind_named(quantity.kind).label} {quantity.allowed}" if quantity else "a value"


def _options(annotation: Any) -> tuple[str, ...]:
    return tuple(
        str(value)
        for option in options_of(annotation)
        if get_origin(option) is Literal
        for value in get_args(option)
    )


def _default(info: FieldInfo) -> Any:
    return None if info.is_required() else info.get_default(call_default_factory=True)


def _default_text(default: Any, quantity: Quantity | None) -> str:
    if default is None:
        return ""
    if isinstance(default, bool):
        return "yes" if default else "no"
    if isinstance(default, tuple):
        return str(tomlkit.item([_plain(entry) for entry in default]).as_string())
    if quantity is not None:
        return quantity.format(default)
    return str(default)


def _plain(entry: Any) -> Any:
    """Write 1.0 in a list as 1."""
    return int(entry) if isinstance(entry, float) and entry.is_integer() else entry


def label_of(place: tuple[str, ...]) -> str:
    """Return the name of an input or table in plain words.

    Parameters
    ----------
    place : tuple of str
        Key without places in lists.

    Returns
    -------
    str
        From the table of labels, or else made from the last name of the key.
    """
    known = LABELS.get(".".join(place)) or LABELS.get(place[-1])
    words = place[-1].replace("_", " ")
    return known or words[:1].upper() + words[1:]


@lru_cache(maxsize=64)
def model_at(place: tuple[str, ...]) -> type[BaseModel] | None:
    """Return the model of a table or of the entries of a list of tables.

    Parameters
    ----------
    place : tuple of str
        Key without places in lists; empty for the file as a whole.

    Returns
    -------
    type or None
        None when this is no table.
    """
    if not place:
        return Scenario
    models = _models(annotation_at(Scenario, place))
    return models[0] if models else None


def _models(annotation: Any) -> list[type[BaseModel]]:
    if annotation is None:
        return []
    found: list[type[BaseModel]] = []
    for option in options_of(annotation):
        inner = get_args(option)[0] if get_origin(option) is tuple else option
        if isinstance(inner, type) and issubclass(inner, BaseModel):
            found.append(inner)
    return found


def _whole_default(place: tuple[str, ...]) -> BaseModel | None:
    """Return what stands in for a table that the file does not have."""
    here: Any = None
    for end in range(1, len(place) + 1):
        model = model_at(place[: end - 1])
        if isinstance(here, BaseModel):
            here = getattr(here, _attribute(type(here), place[end - 1]))
        elif model is not None:
            here = _default(model.model_fields[_attribute(model, place[end - 1])])
    return here if isinstance(here, BaseModel) else None


def _attribute(model: type[BaseModel], written: str) -> str:
    fields = model.model_fields.items()
    return next(name for name, info in fields if written == (info.alias or name))


def is_optional(annotation: Any) -> bool:
    """Return whether an input or table may be left out without a default.

    Parameters
    ----------
    annotation : object
        Type as :func:`thermo.keys.annotation_at` returns it.

    Returns
    -------
    bool
        True where its being there switches something on.
    """
    return type(None) in get_args(annotation)


def _first_line(text: str | None) -> str:
    return (text or "").strip().split("\n")[0]
