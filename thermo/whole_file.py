"""A file written whole or not at all: what stands there is the old content or the new."""

from __future__ import annotations

import contextlib
import os
import secrets

PRIVATE = 0o600
"""Permissions of a file that is for its owner only."""


def write_whole(
    path: str | os.PathLike[str],
    data: bytes,
    *,
    mode: int | None = None,
    private: bool = False,
    forced: bool = False,
) -> None:
    """Write a new file beside the target and put it in its place in one step.

    Parameters
    ----------
    path : str or path-like
        The file; its folder must be there.
    data : bytes
        What it shall hold.
    mode : int, optional
        Permissions that it shall have; those of any new file when not given.
    private : bool, optional
        Whether only its owner may read it from the first moment on.
    forced : bool, optional
        Whether to wait until the disk has it, so that it outlives a power cut too.

    Raises
    ------
    OSError
        It cannot be written; what was there stays, and nothing is left beside it.
    """
    # A name of its own: another run may be writing the same file.
    part = os.path.join(os.path.dirname(os.fspath(path)), f".{secrets.token_hex(8)}.part")
    as_it_is = getattr(os, "O_BINARY", 0)  # where line ends would be changed otherwise
    handle = os.open(
        part, os.O_WRONLY | os.O_CREAT | os.O_EXCL | as_it_is, PRIVATE if private else 0o666
    )
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            if forced:
                file.flush()
                os.fsync(file.fileno())
        if mode is not None:
            os.chmod(part, mode)
        os.replace(part, path)
    finally:
        with contextlib.suppress(FileNotFoundError):  # gone once it took the target's place
            os.unlink(part)
