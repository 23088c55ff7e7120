"""Files and folders that go on from what has been typed, for boxes that ask for a path."""

from __future__ import annotations

import itertools
import os
from pathlib import Path

MOST_SEEN = 5000
"""Entries of a folder that are looked at: a folder of more is not held up for."""


def typed_path(text: str) -> Path:
    """Return a path as typed; a leading ``~`` is the home folder where there is such a user.

    pathlib's own way raises an error for a user who is not there.
    """
    return Path(os.path.expanduser(text))


def completions(typed: str, endings: tuple[str, ...], most: int) -> tuple[str, ...]:
    """Return what a typed path may go on to.

    Parameters
    ----------
    typed : str
        A folder with its slash lists what is in it; anything else what begins like it.
    endings : tuple of str
        Endings of files that are wanted, in small letters with their dot.
    most : int

    Returns
    -------
    tuple of str
        As they would be typed, folders with a slash behind them, files before folders; nothing
        where the folder cannot be read.
    """
    head, name = os.path.split(typed)
    folder = Path(os.path.expanduser(head)) if head else Path()
    try:
        with os.scandir(folder) as entries:
            seen = [
                (entry.is_dir(), entry.name)
                for entry in itertools.islice(entries, MOST_SEEN)
                if entry.name.casefold().startswith(name.casefold())
                and (name.startswith(".") or not entry.name.startswith("."))
            ]
    except (OSError, ValueError):
        return ()
    wanted = sorted(
        (is_folder, text) for is_folder, text in seen
        if text.isprintable() and (is_folder or text.lower().endswith(endings))
    )
    return tuple(
        os.path.join(head, text) + ("/" if is_folder else "") for is_folder, text in wanted[:most]
    )


def is_folder(typed: str) -> bool:
    """Say whether a typed path is a folder that is there."""
    try:
        return os.path.isdir(os.path.expanduser(typed))
    except ValueError:
        return False


def files_in(folders: tuple[Path, ...], endings: tuple[str, ...], most: int) -> tuple[str, ...]:
    """Return files with some endings that lie in folders, the latest of each folder first.

    Parameters
    ----------
    folders : tuple of pathlib.Path
    endings : tuple of str
    most : int

    Returns
    -------
    tuple of str
    """
    found: dict[str, None] = {}
    for folder in folders:
        dated = []
        for path in completions(os.path.join(folder, ""), endings, MOST_SEEN):
            if not path.endswith("/"):
                try:
                    dated.append((-os.stat(path).st_mtime, path))
                except OSError:
                    continue
        found |= dict.fromkeys(os.path.abspath(path) for _, path in sorted(dated))
    return tuple(found)[:most]
