"""Processes that solve blocks of variants.

They are started afresh (``spawn``), so that nothing of a user interface is in them: start them
before it takes over the terminal.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from multiprocessing import connection, resource_tracker
from types import TracebackType
from typing import Any

import numpy as np

from thermo.errors import SoakboxError
from thermo.variant_block import Block, solve_block, solve_singly
from thermo.variant_figures import Shared, share
from thermo.variant_steps import Grids, steps_of
from thermo.variants import Indices, VariantSet

ENDED = "a process that solves variants has ended by itself"


class WorkerError(SoakboxError):
    """A process that solved variants has ended by itself."""


@dataclass(frozen=True, slots=True)
class Task:
    """Some variants to be solved.

    Attributes
    ----------
    job, group : int
        The call that they belong to, and their group in it.
    rows : ndarray of int
        Their places among all.
    variants : VariantSet
        They alone.
    fineness : int
        How often the steps are halved; -1 is one by one.
    grids : list of list of float or None
        Steps to follow.
    still : bool
        Whether the car moves alike in all of the group.
    margins : bool
        Whether figure and limit of each hazard are wanted.
    """

    job: int
    group: int
    rows: Indices
    variants: VariantSet
    fineness: int
    grids: Grids | None
    still: bool
    margins: bool


_shared: dict[tuple[int, int], Shared] = {}
_given_up: Any = None


def carry_out(task: Task, stopped: Callable[[], bool]) -> Block:
    """Solve the variants of a task.

    Parameters
    ----------
    task : Task
    stopped : callable
        Asked between stages; when true the work is given up.

    Returns
    -------
    Block

    Raises
    ------
    StoppedError
        If `stopped` said so.
    """
    shared = _driven(task) if task.still else None
    if task.fineness < 0:
        return solve_singly(task.variants, shared, stopped, task.margins)
    return solve_block(
        task.variants, shared, task.grids, task.fineness, stopped, task.margins
    )


def find_steps(task: Task, stopped: Callable[[], bool]) -> list[Grids | None]:
    """Return the steps of each variant of a task, as a single event.

    Parameters
    ----------
    task : Task
    stopped : callable
        Asked before each; when true the rest is left out.

    Returns
    -------
    list of (list of list of float or None)
    """
    shared = _driven(task) if task.still else None
    driven = None if shared is None else (shared.air, shared.driving)
    out: list[Grids | None] = []
    for i in range(task.variants.size):
        if stopped():
            break
        out.append(steps_of(task.variants.at(np.array([i])), driven))
    return out


def _driven(task: Task) -> Shared | None:
    """Return the event of a task's group as driven, kept for the group's next task."""
    key = (task.job, task.group)
    if key not in _shared:
        if len(_shared) > 16 or any(job != task.job for job, _ in _shared):
            _shared.clear()
        try:
            _shared[key] = share(task.variants.at(np.array([0])))
        except SoakboxError:
            # Each variant then fails by itself, with its reason.
            return None
    return _shared[key]


@contextmanager
def _uninterrupted() -> Iterator[None]:
    """Let what is started here leave interrupts of the keyboard alone from its first moment."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _begin(given_up: Any) -> None:
    """Make a process ready: it leaves an interrupt of the keyboard to the one that started it."""
    global _given_up
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _given_up = given_up
    starter = multiprocessing.parent_process()
    if starter is not None:
        threading.Thread(target=_end_with, args=(starter.sentinel,), daemon=True).start()


def _end_with(sentinel: int) -> None:
    """End this process as soon as the one that started it has ended, however that was.

    Without, a process whose starter was killed waits for ever for somebody to take its result.
    """
    connection.wait([sentinel])
    os._exit(1)


def _work(task: Task) -> Block:
    return carry_out(task, lambda: bool(_given_up.value >= task.job))


def _find_steps(task: Task) -> list[Grids | None]:
    return find_steps(task, lambda: bool(_given_up.value >= task.job))


def _wake(number: int) -> int:
    """Do nothing, in a process that is thereby up."""
    from thermo.liquids import liquid

    liquid()
    return number


class Workers:
    """Processes that solve variants, kept between calls.

    Parameters
    ----------
    count : int
        How many.
    """

    def __init__(self, count: int) -> None:
        # Started now, the tracker inherits a plain terminal and no file of a later interface.
        resource_tracker.ensure_running()
        context = multiprocessing.get_context("spawn")
        self.count = count
        self._open = True
        self._given_up = context.Value("q", 0)
        others = multiprocessing.active_children()
        with _uninterrupted():
            self._pool = ProcessPoolExecutor(
                count, mp_context=context, initializer=_begin, initargs=(self._given_up,)
            )
            self._waking = [self._pool.submit(_wake, i) for i in range(count)]
        self._processes = [p for p in multiprocessing.active_children() if p not in others]

    @property
    def usable(self) -> bool:
        """Whether tasks are still taken."""
        return self._open and not getattr(self._pool, "_broken", False)

    def ready(self) -> None:
        """Wait until the processes are up."""
        for future in self._waking:
            self.result(future)

    @staticmethod
    def result(future: Future[Any]) -> Any:
        """Return what a process found.

        Raises
        ------
        WorkerError
            The process has ended by itself.
        """
        try:
            return future.result()
        except BrokenProcessPool as broken:
            raise WorkerError(ENDED) from broken

    def submit(self, task: Task) -> Future[Block]:
        """Give a task to the next free process; the future's result is by :func:`carry_out`."""
        return self._given(_work, task)

    def submit_steps(self, task: Task) -> Future[list[Grids | None]]:
        """Give a task to the next free process; the result is by :func:`find_steps`."""
        return self._given(_find_steps, task)

    def _given(self, work: Callable[[Task], Any], task: Task) -> Future[Any]:
        try:
            return self._pool.submit(work, task)
        except BrokenProcessPool as broken:
            raise WorkerError(ENDED) from broken

    def give_up(self, job: int) -> None:
        """Let the processes drop all tasks up to a job."""
        self._given_up.value = max(self._given_up.value, job)

    def close(self) -> None:
        """End the processes."""
        self._open = False
        self._given_up.value = 2**62
        self._pool.shutdown(wait=True, cancel_futures=True)

    def kill(self) -> None:
        """End the processes in the midst of what they do."""
        self._open = False
        for process in self._processes:
            process.terminate()

    def __enter__(self) -> Workers:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()


_kept: dict[int, Workers] = {}


def shared_workers(count: int) -> Workers:
    """Return the processes that all callers share, started at the first call.

    Parameters
    ----------
    count : int
        How many.

    Returns
    -------
    Workers
        Those that have broken or were closed are replaced.
    """
    if count not in _kept or not _kept[count].usable:
        _kept[count] = Workers(count)
    return _kept[count]


def kill_shared() -> None:
    """End the processes that all callers share in the midst of what they do."""
    for workers in _kept.values():
        workers.kill()
