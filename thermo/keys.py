"""Dotted keys of a scenario, and the types of the inputs they name."""

from __future__ import annotations

import re
import types
from typing import Annotated, Any, Union, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from thermo.quantity_text import printable, quoted

_NAME, _QUOTED, _PLACE = r"([\w-]+)", r'"([^"\x00-\x1f]{1,80})"', r"\[([^\[\]\x00-\x1f]{1,80})\]"
_KEY_PART = re.compile(f"{_PLACE}|{_QUOTED}|{_NAME}", re.ASCII)
_KEY = re.compile(
    rf"(?:{_NAME}|{_QUOTED})(?:\.(?:{_NAME}|{_QUOTED})|{_PLACE})*", re.ASCII
)


def path_of(key: str) -> tuple[str | int, ...]:
    """Split a dotted key with places in lists into its parts.

    Parameters
    ----------
    key : str
        Such as ``tank.volume``, ``leg[1].duration``, ``leg.1.duration``, ``leg[pass].distance``,
        ``doubt."tank.volume".low``.

    Returns
    -------
    tuple of (str or int)
        Names, and whole numbers from 0 for places in a list.

    Raises
    ------
    ValueError
        The text is not such a key.
    """
    if len(key) > 200 or not _KEY.fullmatch(key):
        raise ValueError(f"{quoted(key)} is not a key such as tank.volume or leg[1].duration")
    texts = ["".join(groups).strip() for groups in _KEY_PART.findall(key)]
    return tuple(int(t) if re.fullmatch(r"[0-9]{1,6}", t) else t for t in texts)


def key_of(path: tuple[str | int, ...]) -> str:
    """Join the parts of a path into a dotted key that is safe to print.

    Parameters
    ----------
    path : tuple of (str or int)
        Names, and whole numbers for places in a list.

    Returns
    -------
    str
        Such as ``leg[1].duration``; a name that is not a plain word is put in quotes.
    """
    text = ""
    for part in path:
        if isinstance(part, int):
            text += f"[{part}]"
        elif re.fullmatch(r"[A-Za-z0-9_-]{1,60}", part):
            text += f".{part}"
        else:
            text += f'."{printable(part)}"'
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


def is_union(annotation: Any) -> bool:
    """Return whether a type is a union of others.

    Parameters
    ----------
    annotation : object
        Any type.

    Returns
    -------
    bool
        True for ``A | B``, also when B is None.
    """
    return get_origin(annotation) in (Union, types.UnionType)


def options_of(annotation: Any) -> list[Any]:
    """Return the types an input may have, without its metadata and without 'not given'.

    Parameters
    ----------
    annotation : object
        A type, such as :func:`annotation_at` returns.

    Returns
    -------
    list
        One type or more.
    """
    if get_origin(annotation) is Annotated:
        return options_of(get_args(annotation)[0])
    if is_union(annotation):
        found = (o for part in get_args(annotation) for o in options_of(part))
        return [option for option in found if option is not types.NoneType]
    return [annotation]


def is_list(annotation: Any) -> bool:
    """Return whether an input may be a list.

    Parameters
    ----------
    annotation : object
        A type, such as :func:`annotation_at` returns.

    Returns
    -------
    bool
        True for a tuple or list.
    """
    return any(get_origin(option) in (tuple, list) for option in options_of(annotation))


def _step(annotation: Any, part: str | int) -> Any:
    """Go one part down a path; None when there is nothing of that name."""
    if get_origin(annotation) is Annotated:
        return _step(get_args(annotation)[0], part)
    if is_union(annotation):
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


def _models(annotation: Any) -> list[type[BaseModel]]:
    """Return the models that an annotation mentions, without going into their fields."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [m for argument in get_args(annotation) for m in _models(argument)]
