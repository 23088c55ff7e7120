"""One thread that solves the latest scenario asked for and drops what it has overtaken."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from textual.message import Message

from thermo.errors import SoakboxError
from thermo.scenario import Scenario
from tui.messages import Solved, SolveFailed, TablesBuilt, TablesReady

if TYPE_CHECKING:
    from thermo.lasting import Lasting

Post = Callable[[Message], object]


class Solver:
    """Solves in the background; only the newest request counts.

    Edits that come faster than they can be solved never queue up: one request is being solved,
    one waits, and a newer one takes the waiting one's place.

    Parameters
    ----------
    post : callable
        Takes a message from any thread, such as ``App.post_message``.
    """

    def __init__(self, post: Post) -> None:
        self._post = post
        self._wake = threading.Condition()
        self._waiting: tuple[int, Scenario] | None = None
        self._run = 0
        self._stop = False
        self._lasting: Lasting | None = None
        self._thread = threading.Thread(target=self._loop, name="solver", daemon=True)
        self._thread.start()

    def ask(self, scenario: Scenario) -> int:
        """Ask for a scenario to be solved.

        Returns
        -------
        int
            Number of the request, rising; the answer carries it.
        """
        with self._wake:
            self._run += 1
            self._waiting = (self._run, scenario)
            self._wake.notify()
            return self._run

    def overtaken(self, run: int) -> bool:
        """Say whether a newer request than `run` has been made, or the solver is closing."""
        return self._stop or run != self._run

    def close(self) -> None:
        """Stop the thread after what it is doing."""
        with self._wake:
            self._stop = True
            self._wake.notify()
        self._thread.join(timeout=5.0)

    def _loop(self) -> None:
        while True:
            with self._wake:
                while self._waiting is None and not self._stop:
                    self._wake.wait()
                if self._stop:
                    return
                asked = self._waiting
                self._waiting = None
            if asked is not None:
                self._solve(*asked)

    def _solve(self, run: int, scenario: Scenario) -> None:
        from thermo.event import OvertakenError, solve
        from thermo.lasting import Lasting

        if self._lasting is None:
            self._lasting = Lasting()
        try:
            result = solve(scenario, lambda: self.overtaken(run), self._lasting)
        except OvertakenError:
            return
        except SoakboxError as error:
            answer: Message = SolveFailed(run, str(error))
        except (ArithmeticError, ValueError, IndexError, KeyError, TypeError) as error:
            answer = SolveFailed(run, f"a fault in Soakbox itself: {type(error).__name__}: {error}")
        else:
            answer = Solved(run, scenario, result)
        if not self.overtaken(run):
            self._post(answer)


BUILD = (
    "from thermo.properties import load_tables\n"
    "load_tables(lambda done, of, what: print('step', done, of, what, flush=True))"
)


def prepare_tables(post: Post) -> threading.Thread:
    """Build the property tables in a process of their own when the cache has none.

    Parameters
    ----------
    post : callable
        Gets a :class:`TablesBuilt` at each step, and a :class:`TablesReady` when they are there.

    Returns
    -------
    threading.Thread
        Waits for the process; importing what builds the tables here would hold up the screen.
    """

    # This very engine, whatever lies in the folder that the user is in.
    known = os.environ.get("PYTHONPATH", "")
    paths = os.pathsep.join([str(Path(__file__).resolve().parents[1]), *filter(None, [known])])

    def wait() -> None:
        with (
            tempfile.TemporaryFile("w+", encoding="utf-8", errors="replace") as errors,
            subprocess.Popen(
                [sys.executable, "-P", "-c", BUILD],
                env={**os.environ, "PYTHONPATH": paths},
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=errors,
                text=True,
                encoding="utf-8",
                errors="replace",
            ) as child,
        ):
            for line in child.stdout or ():
                kind, done, of, what = [*line.rstrip("\n").split(" ", 3), "", "", ""][:4]
                if kind == "step":
                    post(TablesBuilt(int(done), int(of), what))
            child.wait()
            errors.seek(0)
            told = errors.read().strip().splitlines() or ["it ended without a word"]
        post(TablesReady("" if child.returncode == 0 else told[-1]))

    thread = threading.Thread(target=wait, name="tables", daemon=True)
    thread.start()
    return thread
