"""Unsaved edits kept beside the scenarios, so that a crash or a closed terminal loses none.

Each running session with unsaved edits has three files of its own in the state folder:
``NAME.json`` with where the scenario came from, ``NAME.toml`` with its text as last edited, and
``NAME.lock``, on which the program holds a lock that the system lets go when the program ends,
however it ends. Left-over files without a holder are what a killed program was working on.
"""

from __future__ import annotations

import contextlib
import datetime
import hashlib
import json
import os
import secrets
import sys
from dataclasses import dataclass
from pathlib import Path

from thermo.errors import SoakboxError
from thermo.quantity_text import printable
from thermo.toml_text import MAX_BYTES
from tui.places import PlaceError, reason_of, state_folder, write_atomically
from tui.session import Session

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


class RecoveryError(SoakboxError):
    """Kept edits cannot be read."""


@dataclass(frozen=True, slots=True)
class Recovery:
    """Unsaved edits that a program left behind when it was killed.

    Attributes
    ----------
    file : pathlib.Path
        The kept text, TOML as it would have been saved.
    path : pathlib.Path or None
        The scenario's file; None when it had none, or when that is not known any more.
    name : str
        What to call it; safe to print.
    time : datetime.datetime
        When it was edited last, local time.
    saved_text : str
        What the file held when it was opened.
    """

    file: Path
    path: Path | None
    name: str
    time: datetime.datetime
    saved_text: str


class RecoveryKeeper:
    """Keeps the unsaved edits of one session until they are saved or given up.

    Attributes
    ----------
    message : str
        Why the last edit could not be kept, or an empty text.
    """

    def __init__(self) -> None:
        self.message = ""
        self._base: Path | None = None
        self._lock: int | None = None
        self._about: tuple[Path | None, str] = (None, "")

    def watch(self, session: Session) -> None:
        """Keep every edit of a session from now on.

        Parameters
        ----------
        session : Session
            The session; :meth:`record` is called after each of its changes.
        """
        session.watchers.append(self.record)
        self.record(session)

    def unwatch(self, session: Session) -> None:
        """Give up a session's unsaved edits: on a clean end, or when another is opened.

        Parameters
        ----------
        session : Session
            The session that was watched.
        """
        if self.record in session.watchers:
            session.watchers.remove(self.record)
        self.close()

    def record(self, session: Session) -> None:
        """Write down what is unsaved now; once nothing is, what was kept is removed.

        Parameters
        ----------
        session : Session
            The session.
        """
        if not session.dirty:
            self.close()
            return
        try:
            about = (session.path, session.saved_text)
            if self._base is None or about != self._about:
                self._begin(session)
                self._about = about
            write_atomically(self._file(".toml"), session.text)
            self.message = ""
        except (OSError, ValueError, PlaceError) as error:
            self.message = f"unsaved edits are not kept for the case of a crash: {reason_of(error)}"

    def close(self) -> None:
        """Remove what was kept; nothing is offered at the next start."""
        self.message = ""
        if self._base is None:
            return
        try:
            # The text goes first: what is left of a half-done removal is not offered.
            for suffix in (".toml", ".json"):
                self._file(suffix).unlink(missing_ok=True)
            if self._lock is not None:
                os.close(self._lock)
                self._lock = None
            self._file(".lock").unlink(missing_ok=True)
        except OSError as error:
            self.message = f"edits that are saved or given up stay kept: {reason_of(error)}"
        self._base = self._lock = None

    def _file(self, suffix: str) -> Path:
        if self._base is None:
            raise PlaceError("nothing is kept yet")
        return self._base.with_name(self._base.name + suffix)

    def _begin(self, session: Session) -> None:
        """Take a name of this session's own, lock it, and write where the scenario is from."""
        if self._base is None:
            folder = _folder()
            folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            base = folder / _name_for(session.path)
            # Open until closed on purpose: the lock must outlive this object, not the program.
            lock = os.open(base.with_name(base.name + ".lock"), os.O_RDWR | os.O_CREAT, 0o600)
            _try_lock(lock)
            self._base, self._lock = base, lock
        write_atomically(self._file(".json"), json.dumps({
            "path": None if session.path is None else str(session.path),
            "name": session.name,
            "pid": os.getpid(),
            "saved_text": session.saved_text,
        }))


def pending_recoveries() -> tuple[tuple[Recovery, ...], str]:
    """Return the unsaved edits that killed programs left, the latest first.

    Those of a program that still runs are not among them.

    Returns
    -------
    tuple of (tuple of Recovery, str)
        What can be restored; and why that is not known, or an empty text.
    """
    try:
        folder = _folder()
        files = sorted(folder.glob("*.toml")) if folder.is_dir() else []
        found = [r for r in map(_left, files) if r is not None]
    except (OSError, PlaceError) as error:
        return (), f"unsaved edits of earlier runs are not known: {reason_of(error)}"
    return tuple(sorted(found, key=lambda r: r.time, reverse=True)), ""


def restore(recovery: Recovery) -> Session:
    """Open what was left unsaved; it stays kept until :func:`discard`.

    Call :meth:`RecoveryKeeper.watch` on the session first and :func:`discard` after it, so that
    the edits are kept at every moment.

    Parameters
    ----------
    recovery : Recovery
        From :func:`pending_recoveries`.

    Returns
    -------
    Session
        With unsaved edits against what the file held when it was opened then; if the file was
        changed since, saving is refused as for any other session.

    Raises
    ------
    RecoveryError
        The kept text cannot be read.
    ScenarioError
        The kept text does not hold a scenario.
    """
    try:
        text = recovery.file.read_bytes().decode("utf-8")
    except (OSError, ValueError) as error:
        raise RecoveryError(f"kept edits cannot be read: {reason_of(error)}") from None
    return Session(text, recovery.path, recovery.name, recovery.saved_text)


def discard(recovery: Recovery) -> str:
    """Remove what was left unsaved.

    Parameters
    ----------
    recovery : Recovery
        From :func:`pending_recoveries`.

    Returns
    -------
    str
        What went wrong, or an empty text.
    """
    stem = recovery.file.name.removesuffix(".toml")
    try:
        recovery.file.unlink(missing_ok=True)
        for file in recovery.file.parent.glob(f"{stem}.*"):
            file.unlink(missing_ok=True)
    except OSError as error:
        return f"edits that were given up stay kept: {reason_of(error)}"
    return ""


def _folder() -> Path:
    return state_folder() / "recovery"


def _name_for(path: Path | None) -> str:
    """Return a name that tells the file and is nobody else's."""
    what = "untitled"
    if path is not None:
        what = hashlib.sha256(os.fsencode(os.path.realpath(path))).hexdigest()[:16]
    return f"{what}-{secrets.token_hex(4)}"


def _left(file: Path) -> Recovery | None:
    """Return what a killed program left; None when its program runs or has just removed it."""
    try:
        return None if _is_held(file) else _described(file)
    except FileNotFoundError:
        return None


def _described(file: Path) -> Recovery:
    """Read where kept edits are from; damaged or missing, they are offered without a file."""
    time = datetime.datetime.fromtimestamp(file.stat().st_mtime).astimezone()
    unknown = Recovery(file, None, "recovered", time, "")
    try:
        with open(file.with_suffix(".json"), "rb") as opened:
            about = json.loads(opened.read(8 * MAX_BYTES).decode("utf-8"))
        path, name, saved = about["path"], about["name"], about["saved_text"]
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return unknown
    if not isinstance(name, str) or not isinstance(saved, str):
        return unknown
    if path is not None and (not isinstance(path, str) or not os.path.isabs(path)):
        return unknown
    return Recovery(file, None if path is None else Path(path), printable(name), time, saved)


def _is_held(file: Path) -> bool:
    """Return whether the program that wrote these files still runs.

    Where the system has no locks on files, no program counts as running: its edits are then
    offered too, and restoring them takes nothing from it.
    """
    try:
        with open(file.with_suffix(".lock"), "r+b") as lock:
            return not _try_lock(lock.fileno())
    except FileNotFoundError:
        return False


def _try_lock(lock: int) -> bool:
    """Lock an open file until it is closed; False when another program holds it."""
    if sys.platform == "win32":
        with contextlib.suppress(OSError):
            msvcrt.locking(lock, msvcrt.LK_NBLCK, 1)
            return True
        return False
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # the file system has no locks
        return True
    return True
