"""Start the UI in a pseudo-terminal, wait for the demo's verdict, leave it: the whole must work.

Standard library only, and run by the environment in which Soakbox is installed.
"""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import shutil
import struct
import sys
import termios
import time

PATIENCE = 120.0
"""Longest wait for the verdict, and for the end [s]; a slow machine builds tables first."""
WANTED = b"CLEAR"
LEAVE = b"\x11"
"""What a terminal sends for ctrl+q."""
CONTROL = re.compile(rb"\x1b\[[0-9;?]*[a-zA-Z]")


def main() -> int:
    """Return 0 when the verdict was shown and the program ended with status 0."""
    command = shutil.which("soakbox")
    if command is None:
        print("there is no command soakbox on PATH", file=sys.stderr)
        return 1
    child, handle = pty.fork()
    if child == 0:
        os.execv(command, [command])
    fcntl.ioctl(handle, termios.TIOCSWINSZ, struct.pack("HHHH", 30, 100, 0, 0))
    told, asked, end = b"", False, time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if select.select([handle], [], [], 0.2)[0]:
            try:
                told += os.read(handle, 65536)
            except OSError:  # the other end has been closed
                break
        if not asked and WANTED in CONTROL.sub(b"", told):
            os.write(handle, LEAVE)
            asked, end = True, time.monotonic() + PATIENCE
    else:
        os.kill(child, 9)
    status = os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])
    print(f"UI: {'showed the verdict' if asked else 'showed no verdict'}, ended with {status}")
    if not asked or status != 0:
        print(CONTROL.sub(b"", told)[-2000:].decode("utf-8", "replace"), file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
