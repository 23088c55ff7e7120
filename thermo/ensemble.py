"""Thousands of variants of a scenario at once, on all cores: the ensemble solver.

The variants of a block are one event whose inputs are arrays; see :mod:`thermo.variant_block`.
What is found of a variant does not hang on the size of the blocks or on how many cores work.
"""

from __future__ import annotations

import itertools
import os
from collections import deque
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from thermo.answer_scan import tightest
from thermo.ensemble_workers import Task, Workers, carry_out, find_steps, shared_workers
from thermo.flags import RANKS
from thermo.hazards.context import LEVELS
from thermo.loop_run import STIFF_AFTER
from thermo.scenario import Scenario
from thermo.variant_block import Block
from thermo.variant_figures import FIGURES, StoppedError
from thermo.variant_steps import Grids, common, pilots
from thermo.variants import Floats, Indices, VariantSet

__all__ = ["BLOCK", "StoppedError", "VariantTable", "Workers", "grid", "run_variants"]

BLOCK = 1000
"""Variants solved together: measured, fewer cost more a variant, more leave the cache."""

FEW = 3
"""Groups of up to so many variants are solved one by one."""

SINGLES = 8
"""Variants solved one by one in a task."""

SMALL = 250
"""Variants up to which one core is quicker than waking the others."""

FEWEST = 100
"""Variants below which a block is not cut for the sake of an idle core."""

POLL = 0.02
"""How often it is asked whether to stop [s]."""

HAZARDS = tuple(RANKS)
"""Names of the hazards looked at, in the order in which they bind."""

_jobs = itertools.count(1)


@dataclass(frozen=True, slots=True)
class VariantTable:
    """What was found of each variant.

    Attributes
    ----------
    columns : mapping of str to ndarray
        The inputs that vary [SI], by dotted key.
    figures : mapping of str to ndarray
        By the names of the JSON (``boil_margin_K``, ``tank_peak_degC``, ...); those of the duct
        at the timed speed begin with ``intake_``. Not a number where a variant failed.
    slacks : mapping of str to ndarray
        What is left of each limit that sizes are made by, weighted as in :mod:`thermo.trial`.
    ranks : mapping of str to ndarray of int
        Rank of each hazard: 0 clear, 1 caution, 2 danger; -1 where a variant failed.
    level : ndarray of int
        The worst of them; -1 where there is no verdict.
    binding : ndarray of int
        Which of `HAZARDS` decides: the first of the worst rank.
    values, limits : mapping of str to ndarray
        Figure and limit of each hazard in its unit, by the names of
        :data:`thermo.hazards.margins.MARGINS`; empty unless asked for.
    status : tuple of str
        ``ok``, or ``no verdict: `` and why. No variant is left out.
    refused : ndarray of bool
        Variants that were not solved, since a scenario that says so would be refused.
    singly : ndarray of bool
        Variants that were solved as single events: those that boil dry, and those that share an
        input that cannot be an array with too few others.
    """

    columns: Mapping[str, Floats]
    figures: Mapping[str, Floats]
    slacks: Mapping[str, Floats]
    ranks: Mapping[str, npt.NDArray[np.int8]]
    level: npt.NDArray[np.int8]
    binding: npt.NDArray[np.intp]
    values: Mapping[str, Floats]
    limits: Mapping[str, Floats]
    status: tuple[str, ...]
    refused: npt.NDArray[np.bool_]
    singly: npt.NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.status)

    @property
    def ok(self) -> npt.NDArray[np.bool_]:
        """Which variants have a verdict."""
        return np.array([words == "ok" for words in self.status], dtype=np.bool_)

    @property
    def counts(self) -> dict[str, int]:
        """How many variants are clear, a caution, a danger, and without a verdict."""
        found = {name: int(np.sum(self.level == rank)) for rank, name in enumerate(LEVELS)}
        return found | {"no verdict": int(np.sum(self.level < 0))}

    @property
    def binding_names(self) -> tuple[str, ...]:
        """Name of the hazard that decides each variant; empty where there is no verdict."""
        pairs = zip(self.binding, self.level, strict=True)
        return tuple(HAZARDS[i] if level >= 0 else "" for i, level in pairs)

    def tightest(self, row: int) -> tuple[str, float]:
        """Return the limit of which a variant leaves least, and that slack."""
        return tightest({name: float(values[row]) for name, values in self.slacks.items()})


def grid(axes: Mapping[str, Sequence[float]]) -> tuple[dict[str, Floats], tuple[int, ...]]:
    """Return every combination of some values as changes for :func:`run_variants`.

    Parameters
    ----------
    axes : mapping of str to sequence of float
        By dotted key, the SI values along each axis.

    Returns
    -------
    tuple of (dict, tuple of int)
        The changes, and the shape in which a column of the table is a map: its first axis is the
        first key.
    """
    full = np.meshgrid(*(np.asarray(v, dtype=np.float64) for v in axes.values()), indexing="ij")
    changes = {key: values.ravel() for key, values in zip(axes, full, strict=True)}
    return changes, tuple(len(v) for v in axes.values())


def run_variants(
    scenario: Scenario,
    changes: Mapping[str, Any],
    *,
    workers: Workers | int | None = None,
    progress: Callable[[int, int], None] | None = None,
    cancelled: Callable[[], bool] | None = None,
    block: int = BLOCK,
    margins: bool = False,
) -> VariantTable:
    """Solve many variants of a scenario.

    Parameters
    ----------
    scenario : Scenario
        What the variants share.
    changes : mapping of str to array_like
        By dotted key, such as ``tank.volume`` or ``leg[0].distance``: one SI value a variant.
    workers : Workers or int, optional
        Processes to work in, or how many; 1 is this process alone. All cores when not given, or
        this process for a few variants.
    progress : callable, optional
        Told how many variants are settled, and of how many.
    cancelled : callable, optional
        Asked every few hundredths of a second; when true the work is given up.
    block : int, optional
        Variants solved together; it changes nothing but the time taken.
    margins : bool, optional
        Whether figure and limit of each hazard are wanted too.

    Returns
    -------
    VariantTable

    Raises
    ------
    ScenarioError
        If a key is no quantity of the scenario, or the lists are of unequal length.
    StoppedError
        If `cancelled` said so.
    """
    variants = VariantSet.of(scenario, changes)
    pool = _pool(workers, variants.size)
    cores = 1 if pool is None else pool.count
    run = _Run(variants, progress, cancelled, max(block, 1), cores, margins)
    return run.alone() if pool is None else run.together(pool)


def _pool(workers: Workers | int | None, size: int) -> Workers | None:
    if isinstance(workers, Workers):
        return workers
    count = (os.cpu_count() or 1) if workers is None else workers
    if count <= 1 or (workers is None and size <= SMALL):
        return None
    return shared_workers(count)


class _Run:
    """One call of :func:`run_variants`: what is to be done, and what was found."""

    def __init__(
        self,
        variants: VariantSet,
        progress: Callable[[int, int], None] | None,
        cancelled: Callable[[], bool] | None,
        block: int,
        cores: int,
        margins: bool,
    ) -> None:
        self.variants = variants
        self.progress = progress
        self.cancelled = cancelled or (lambda: False)
        self.block = block
        self.cores = cores
        self.job = next(_jobs)
        self.margins = margins
        self.whole = Block(variants.size, margins)
        self.refused = np.zeros(variants.size, dtype=np.bool_)
        self.settled = 0
        self.singly = np.zeros(variants.size, dtype=np.bool_)
        self.todo: deque[Task] = deque()
        self.held: dict[tuple[int, int], list[Indices]] = {}
        self.grids: dict[int, Grids | None] = {}

    def prepare(self, pool: Workers | None) -> None:
        """Set aside what is refused, and plan the rest."""
        reasons = self.variants.refusals()
        for i, words in enumerate(reasons):
            if words:
                self.whole.fail(i, words)
                self.refused[i] = True
        kept = np.flatnonzero([not words for words in reasons])
        self.tell(self.variants.size - len(kept))
        if not len(kept):
            return
        for number, places in enumerate(self.variants.part(kept).groups()):
            rows = kept[places]
            if len(rows) <= FEW:
                self.plan(number, rows, -1)
                continue
            self.grids[number] = self.steps(number, rows, pool)
            # Implicit steps are of one event: what needs them is solved one by one.
            stiff = any(len(x) > STIFF_AFTER for x in self.grids[number] or ())
            self.plan(number, rows, -1 if stiff else 0)

    def steps(self, group: int, rows: Indices, pool: Workers | None) -> Grids | None:
        """Return the steps that a group follows."""
        chosen = pilots(self.variants, rows)
        tasks = [
            self.task(group, some, 0)
            for some in np.array_split(chosen, 1 if pool is None else pool.count)
            if len(some)
        ]
        if pool is None:
            return common(find_steps(tasks[0], self.cancelled))
        waiting = [pool.submit_steps(task) for task in tasks]
        while wait(waiting, timeout=POLL).not_done:
            self.ask()
        return common([steps for future in waiting for steps in pool.result(future)])

    def task(self, group: int, rows: Indices, fineness: int) -> Task:
        """Return some variants of a group as a task."""
        return Task(
            self.job, group, rows, self.variants.part(rows), fineness, self.grids.get(group),
            self.variants.still, self.margins,
        )

    def plan(self, group: int, rows: Indices, fineness: int) -> None:
        """Put variants of a group on the list of what is to be done; -1 is one by one."""
        size = SINGLES if fineness < 0 else self.block
        count = -(-len(rows) // size)
        if fineness == 0 and len(rows) > 2 * FEWEST:
            # No core is left idle; a block smaller than that costs more than it helps.
            count = max(count, min(self.cores, len(rows) // FEWEST))
        self.todo += [self.task(group, some, fineness) for some in np.array_split(rows, count)]

    def take(self, task: Task, block: Block) -> None:
        """Take in what a task found."""
        open_ = block.again | block.singly
        done = np.flatnonzero(~open_)
        into = task.rows[done]
        for name, values in block.slacks.items():
            if name not in self.whole.slacks:
                self.whole.slacks[name] = np.full(self.variants.size, np.nan)
            self.whole.slacks[name][into] = values[done]
        for whole, part in (
            (self.whole.figures, block.figures), (self.whole.ranks, block.ranks),
            (self.whole.values, block.values), (self.whole.limits, block.limits),
        ):
            for name, values in part.items():
                whole[name][into] = values[done]
        for i in done:
            self.whole.status[int(task.rows[i])] = block.status[int(i)]
        if task.fineness < 0:
            self.singly[into] = True
        if bool(block.again.any()):
            key = (task.group, task.fineness + 1)
            self.held.setdefault(key, []).append(task.rows[block.again])
        if bool(block.singly.any()):
            self.held.setdefault((task.group, -1), []).append(task.rows[block.singly])
        self.tell(len(done))

    def release(self) -> None:
        """Plan what was held back: variants to be solved otherwise than at first."""
        for (group, fineness), parts in self.held.items():
            self.plan(group, np.sort(np.concatenate(parts)), fineness)
        self.held.clear()

    def tell(self, more: int) -> None:
        """Report progress."""
        self.settled += more
        if self.progress is not None:
            self.progress(self.settled, self.variants.size)

    def ask(self) -> None:
        """Give up when that is wished."""
        if self.cancelled():
            raise StoppedError("the variants are no longer wanted")

    def alone(self) -> VariantTable:
        """Do the work in this process."""
        self.prepare(None)
        while self.todo or self.held:
            if not self.todo:
                self.release()
            self.ask()
            task = self.todo.popleft()
            self.take(task, carry_out(task, self.cancelled))
        return self.table()

    def together(self, pool: Workers) -> VariantTable:
        """Do the work in other processes."""
        running: dict[Future[Block], Task] = {}
        finished = False
        try:
            self.prepare(pool)
            while self.todo or running or self.held:
                self.ask()
                if not self.todo and self.held and len(running) < pool.count:
                    self.release()
                while self.todo and len(running) <= pool.count:
                    task = self.todo.popleft()
                    running[pool.submit(task)] = task
                done, _ = wait(running, timeout=POLL, return_when=FIRST_COMPLETED)
                for future in done:
                    self.take(running.pop(future), pool.result(future))
            finished = True
        finally:
            if not finished:
                pool.give_up(self.job)
                for future in running:
                    future.cancel()
        return self.table()

    def table(self) -> VariantTable:
        """Return everything in one table."""
        whole = self.whole
        ranks = np.stack([whole.ranks[name] for name in HAZARDS])
        ok = np.array([words == "ok" for words in whole.status])
        return VariantTable(
            columns=self.variants.columns,
            figures={name: whole.figures[name] for name in FIGURES},
            slacks=whole.slacks,
            ranks=whole.ranks,
            values=whole.values,
            limits=whole.limits,
            level=np.where(ok, ranks.max(axis=0), -1).astype(np.int8),
            binding=np.argmax(ranks, axis=0),
            status=tuple(whole.status),
            refused=self.refused,
            singly=self.singly,
        )
