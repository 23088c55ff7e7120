"""A block of variants solved as one event whose inputs are arrays."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from thermo.errors import InfeasibleError, RangeError, ScenarioError, SoakboxError
from thermo.flags import RANKS
from thermo.hazards.margins import MARGINS
from thermo.ops import MixedError
from thermo.variant_figures import FIGURES, Found, Shared, StoppedError, find, never
from thermo.variant_steps import Grids, halved
from thermo.variants import Indices, VariantSet

MOST_ERROR = 4.5
"""Largest error of a step, over that allowed a single event, that variants may make."""

FINEST = 4
"""How often the shared steps are halved for variants that err more than is allowed; those that
still do are solved one by one."""


@dataclass(slots=True)
class Block:
    """Results of some variants.

    Attributes
    ----------
    size : int
    margins : bool
        Whether figure and limit of each hazard are wanted.
    figures, slacks, ranks, values, limits : dict of str to ndarray
        One entry a variant of the block; not a number (rank -1) where there is none. `values` and
        `limits` are of the hazards.
    status : list of str
        ``ok``, or ``no verdict: `` and why.
    again, singly : ndarray of bool
        Variants not settled: to be followed in halved steps, or to be solved as single events.
    """

    size: int
    margins: bool = False
    figures: dict[str, Any] = field(default_factory=dict)
    slacks: dict[str, Any] = field(default_factory=dict)
    ranks: dict[str, Any] = field(default_factory=dict)
    values: dict[str, Any] = field(default_factory=dict)
    limits: dict[str, Any] = field(default_factory=dict)
    status: list[str] = field(default_factory=list)
    again: Any = None
    singly: Any = None

    def __post_init__(self) -> None:
        n = self.size
        self.figures = {name: np.full(n, np.nan) for name in FIGURES}
        self.ranks = {name: np.full(n, -1, dtype=np.int8) for name in RANKS}
        for table in (self.values, self.limits) if self.margins else ():
            table.update({name: np.full(n, np.nan) for name in MARGINS})
        self.status = ["ok"] * n
        self.again, self.singly = np.zeros(n, dtype=np.bool_), np.zeros(n, dtype=np.bool_)

    def put(self, at: Indices, found: Found, chosen: Any) -> None:
        """Write what was found of some variants of the block.

        Parameters
        ----------
        at : ndarray of int
            Their places in the block, in the order of the arrays found.
        found : Found
        chosen : ndarray of int
            Which of `at` to write.
        """
        n = len(at)
        for name in found.slacks:
            if name not in self.slacks:
                self.slacks[name] = np.full(self.size, np.nan)
        for into, values in (
            (self.figures, found.figures), (self.slacks, found.slacks), (self.ranks, found.ranks),
            (self.values, {name: pair[0] for name, pair in found.margins.items()}),
            (self.limits, {name: pair[1] for name, pair in found.margins.items()}),
        ):
            for name, value in values.items():
                into[name][at[chosen]] = np.broadcast_to(value, n)[chosen]
        for wrong, words in found.doubts:
            for i in at[chosen][np.broadcast_to(wrong, n)[chosen]]:
                self.fail(int(i), words)

    def fail(self, place: int, words: str) -> None:
        """Say why there is no verdict on a variant, unless that was said before."""
        if self.status[place] == "ok":
            self.status[place] = f"no verdict: {words}"


def solve_block(
    variants: VariantSet,
    shared: Shared | None,
    grids: Grids | None,
    fineness: int = 0,
    stopped: Callable[[], bool] = never,
    margins: bool = False,
) -> Block:
    """Solve variants together.

    Parameters
    ----------
    variants : VariantSet
        They agree in every input that cannot be an array.
    shared : Shared or None
        The event as driven, when that does not differ.
    grids : list of list of float or None
        Steps to follow; see :func:`thermo.variant_steps.grids_of`.
    fineness : int, optional
        How often these steps are halved.
    stopped : callable
        Asked between stages.
    margins : bool, optional
        Whether figure and limit of each hazard are wanted too.

    Returns
    -------
    Block
        Variants that go different ways are taken apart. What is found of a variant does not hang
        on which others share the block, but where `grids` is None.

    Raises
    ------
    StoppedError
        If `stopped` said so.
    """
    block = Block(variants.size, margins)
    steps = halved(grids, fineness)
    todo: list[Indices] = [np.arange(variants.size)]
    while todo:
        at = todo.pop()
        try:
            found = _follow(variants, at, shared, steps, stopped, margins)
        except MixedError as mixed:
            todo += _parted(at, _spread(mixed.which, len(at)))
        except StoppedError:
            raise
        except SoakboxError as error:
            which = _spread(error.where, len(at))
            if which is None and len(at) > 1:
                todo += _parted(at, None)
                continue
            bad = np.ones(len(at), dtype=np.bool_) if which is None else which
            for i in at[bad]:
                block.fail(int(i), _words(error))
            if not bool(bad.all()):
                todo.append(at[~bad])
        else:
            _settle(block, at, found, fineness)
    return block


def solve_singly(
    variants: VariantSet,
    shared: Shared | None,
    stopped: Callable[[], bool] = never,
    margins: bool = False,
) -> Block:
    """Solve variants one after the other, each as a single event.

    Parameters
    ----------
    variants : VariantSet
    shared : Shared or None
        The event as driven, when that does not differ.
    stopped : callable
        Asked between stages.
    margins : bool, optional
        Whether figure and limit of each hazard are wanted too.

    Returns
    -------
    Block

    Raises
    ------
    StoppedError
        If `stopped` said so.
    """
    block = Block(variants.size, margins)
    for place in range(variants.size):
        at = np.array([place])
        try:
            found = find(variants.at(at), shared, None, stopped, margins)
        except StoppedError:
            raise
        except SoakboxError as error:
            block.fail(place, _words(error))
            continue
        block.put(at, found, np.array([0]))
    return block


def _follow(
    variants: VariantSet,
    at: Indices,
    shared: Shared | None,
    grids: Grids | None,
    stopped: Callable[[], bool],
    margins: bool,
) -> Found:
    """Return what is found of some variants, as arrays also of a single one."""
    scenario = variants.at(np.repeat(at, 2) if len(at) == 1 else at)
    with np.errstate(all="ignore"):
        return find(scenario, shared, grids, stopped, margins)


def _settle(block: Block, at: Indices, found: Found, fineness: int) -> None:
    """Write what can be trusted of some variants, and note what must be solved otherwise."""
    twice = np.repeat(at, 2) if len(at) == 1 else at
    error = np.broadcast_to(found.error, len(twice))[: len(at)]
    singly = np.broadcast_to(found.dry, len(twice))[: len(at)] | (found.stopped != "")
    coarse = ~(error <= MOST_ERROR) & ~singly
    block.put(twice, found, np.flatnonzero(~coarse & ~singly))
    if fineness >= FINEST:
        singly, coarse = singly | coarse, np.zeros(len(at), dtype=np.bool_)
    block.again[at[coarse]] = True
    block.singly[at[singly]] = True


def _spread(which: Any, count: int) -> Any:
    """Return a mask over the variants, or None where what is known is not about them."""
    if which is None or np.ndim(which) == 0 or which.shape[-1] != count:
        return None
    mask = which.reshape(-1, count).any(axis=0)
    return mask if bool(mask.any()) else None


def _parted(at: Indices, which: Any) -> list[Indices]:
    """Return two parts of some variants: by a mask, or two halves."""
    if which is None or bool(which.all()):
        middle = len(at) // 2
        return [at[:middle], at[middle:]]
    return [at[which], at[~which]]


def _words(error: SoakboxError) -> str:
    """Say why variants failed, without the value of the first of them."""
    if isinstance(error, ScenarioError):
        return "; ".join(f"{p.key}: {p.allowed}" for p in error.problems)
    if isinstance(error, RangeError):
        tail = f" {error.unit}" if error.unit else ""
        return f"{error.name} is outside the range {error.low:.6g} to {error.high:.6g}{tail}"
    if isinstance(error, InfeasibleError):
        return str(error)
    return " ".join(str(error).split())
