"""What is kept between runs beside the scenarios: recent files and settings; and what is shipped.

All of it lies in one folder of the user, or in the one that SOAKBOX_STATE names. Nothing here
stops the program: where the folder cannot be read or written, the functions say so in the message
they return and go on without.
"""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from thermo.errors import SoakboxError
from thermo.quantity_text import printable
from thermo.units import System
from thermo.whole_file import write_whole

STATE_VARIABLE = "SOAKBOX_STATE"
"""Environment variable that names another folder to keep things in."""
MOST_RECENT = 12
"""Recent files that are remembered."""
DEMO = "base.toml"
"""The shipped scenario that is opened when there is no other."""

_MOST_BYTES = 200_000


class PlaceError(SoakboxError):
    """There is no folder to keep things in, or a shipped file is missing."""


@dataclass(frozen=True, slots=True)
class Settings:
    """What the user chose last.

    Attributes
    ----------
    theme : str
        Name of the theme; empty for the program's own choice.
    units : {"si", "us"}
        Units shown.
    """

    theme: str = ""
    units: System = "si"


def state_folder() -> Path:
    """Return the folder in which recent files, settings and unsaved work are kept.

    Returns
    -------
    pathlib.Path
        Absolute; it need not exist yet.

    Raises
    ------
    PlaceError
        The user has no home folder and SOAKBOX_STATE names none.
    """
    named = os.environ.get(STATE_VARIABLE, "")
    if named:
        return Path(os.path.abspath(os.path.expanduser(named)))
    import platformdirs

    missing = PlaceError(f"there is no home folder; set {STATE_VARIABLE} to a folder")
    try:
        folder = Path(platformdirs.user_state_dir("soakbox", appauthor=False))
    except (KeyError, OSError, RuntimeError):  # as newer releases say it
        raise missing from None
    if not folder.is_absolute():  # as older ones do
        raise missing
    return folder


def recent_files() -> tuple[tuple[Path, ...], str]:
    """Return the scenarios opened or saved last, the latest first.

    Returns
    -------
    tuple of (tuple of pathlib.Path, str)
        The files, which may be gone by now; and why they are not known, or an empty text.
    """
    try:
        return _read_recent(state_folder() / "recent.json"), ""
    except FileNotFoundError:
        return (), ""
    except (OSError, ValueError, PlaceError) as error:
        return (), f"the recent files are not known: {reason_of(error)}"


def note_recent(path: str | os.PathLike[str]) -> str:
    """Put a file at the top of the recent ones.

    A list that cannot be read is kept beside the new one as ``recent.json.damaged``.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    str
        What went wrong, or an empty text.
    """
    return _change_recent(Path(os.path.abspath(path)), keep=True)


def forget_recent(path: str | os.PathLike[str]) -> str:
    """Take a file off the recent ones, such as one that is gone.

    Parameters
    ----------
    path : str or path-like
        The file.

    Returns
    -------
    str
        What went wrong, or an empty text.
    """
    return _change_recent(Path(os.path.abspath(path)), keep=False)


def read_settings() -> tuple[Settings, str]:
    """Return what the user chose last.

    Returns
    -------
    tuple of (Settings, str)
        The settings, at their defaults where they are not known; and what went wrong, or an
        empty text.
    """
    try:
        given = _read_json(state_folder() / "settings.json")
    except FileNotFoundError:
        return Settings(), ""
    except (OSError, ValueError, PlaceError) as error:
        return Settings(), f"the settings are not known: {reason_of(error)}"
    if not isinstance(given, dict):
        return Settings(), "the settings are not known: a table is expected"
    theme, units = given.get("theme"), given.get("units")
    return Settings(
        theme if isinstance(theme, str) and len(theme) <= 60 and theme.isprintable() else "",
        "us" if units == "us" else "si",
    ), ""


def write_settings(settings: Settings) -> str:
    """Keep the settings for the next run.

    Parameters
    ----------
    settings : Settings
        What to keep.

    Returns
    -------
    str
        What went wrong, or an empty text.
    """
    kept = {"theme": settings.theme, "units": settings.units}
    try:
        write_atomically(state_folder() / "settings.json", json.dumps(kept, indent=1) + "\n")
    except (OSError, ValueError, PlaceError) as error:
        return f"the settings are not kept: {reason_of(error)}"
    return ""


def shipped_scenarios() -> tuple[Path, ...]:
    """Return the scenarios that come with the program, by name.

    Returns
    -------
    tuple of pathlib.Path
        Installed, they lie in the package; in a checkout, beside it.

    Raises
    ------
    PlaceError
        They are missing.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "scenarios", package.parent / "scenarios"):
        if (folder / DEMO).is_file():
            return tuple(sorted(folder.glob("*.toml")))
    raise PlaceError("the shipped scenarios are missing: install soakbox again")


def demo_path() -> Path:
    """Return the shipped scenario that is opened when there is no other.

    Returns
    -------
    pathlib.Path

    Raises
    ------
    PlaceError
        It is missing.
    """
    return next(path for path in shipped_scenarios() if path.name == DEMO)


def demo_text() -> str:
    """Return the text of the shipped demo, to be opened without a file of its own.

    Returns
    -------
    str

    Raises
    ------
    PlaceError
        It is missing or cannot be read.
    """
    try:
        return demo_path().read_text(encoding="utf-8")
    except OSError as error:
        raise PlaceError(f"the shipped demo cannot be read: {reason_of(error)}") from None


def write_atomically(path: Path, text: str) -> None:
    """Write a small file of the user's own so that it is either the old or the whole new one.

    It is not forced to the disk: it outlives the program, not a power cut in that moment.

    Parameters
    ----------
    path : pathlib.Path
        The file; its folder is made when missing.
    text : str
        What it shall hold.

    Raises
    ------
    OSError
        It cannot be written; what was there stays.
    ValueError
        The text cannot be written as UTF-8.
    """
    data = text.encode("utf-8")
    path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    write_whole(path, data, private=True)


def reason_of(error: Exception) -> str:
    """Put an error into a few words that are safe to print.

    Parameters
    ----------
    error : Exception
        Any error.

    Returns
    -------
    str
        For an error of a file, what is wrong and with which.
    """
    if isinstance(error, OSError) and error.strerror:
        return printable(f"{error.filename}: {error.strerror}" if error.filename
                         else error.strerror, 300)
    return printable(str(error), 300)


def _change_recent(path: Path, keep: bool) -> str:
    try:
        file = state_folder() / "recent.json"
        message = ""
        try:
            known = _read_recent(file)
        except FileNotFoundError:
            known = ()
        except ValueError as error:
            known = ()
            os.replace(file, file.with_name("recent.json.damaged"))
            message = f"the list of recent files was damaged and set aside: {reason_of(error)}"
        others = [other for other in known if other != path]
        listed = [path, *others] if keep else others
        text = json.dumps({"recent": [str(p) for p in listed[:MOST_RECENT]]}, indent=1)
        write_atomically(file, text + "\n")
    except (OSError, ValueError, PlaceError) as error:
        return f"the recent files are not kept: {reason_of(error)}"
    return message


def _read_recent(file: Path) -> tuple[Path, ...]:
    """Read the list; raises ValueError when it is no such list."""
    given = _read_json(file)
    listed = given.get("recent") if isinstance(given, dict) else None
    if not isinstance(listed, list) or not all(isinstance(item, str) for item in listed):
        raise ValueError(f"{file.name}: a list of file names is expected")
    return tuple(Path(item) for item in listed[:MOST_RECENT] if item and "\0" not in item)


def _read_json(file: Path) -> Any:
    with open(file, "rb") as opened:
        data = opened.read(_MOST_BYTES + 1)
    if len(data) > _MOST_BYTES:
        raise ValueError(f"{file.name}: at most {_MOST_BYTES // 1000} kB are expected")
    try:
        return json.loads(data.decode("utf-8"))
    except RecursionError:
        raise ValueError(f"{file.name}: nested too deep") from None
