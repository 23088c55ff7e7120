"""The states of a run between its steps, by the cubic through states and slopes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from thermo.loop_state import METAL
from thermo.stepping import State

if TYPE_CHECKING:
    from thermo.loop_run import Piece

Array = npt.NDArray[np.float64]


def _columns(rows: Sequence[State], shape: tuple[int, ...]) -> Array:
    """Return rows of states as an array of shape (variables, rows, ...)."""
    if not shape:
        return np.asarray(rows, dtype=np.float64).T
    out = np.empty((len(rows[0]), len(rows), *shape))
    for i, row in enumerate(rows):
        for j, value in enumerate(row):
            out[j, i] = value
    return out


def _rows_of(piece: Piece, between: int) -> int:
    steps = len(piece.x) - 1
    return steps * (max(between, 0) + 1) + 1


def dense(piece: Piece, between: int) -> tuple[Array, Array]:
    """Return normalised times and states of a piece with points between the steps.

    Parameters
    ----------
    piece : Piece
    between : int
        Points put between two steps.

    Returns
    -------
    tuple of ndarray
        Times, shape (rows,), and states, shape (rows, variables), or (rows, variables, variants),
        by the cubic Hermite interpolant of states and slopes. It runs to each state as it arrived
        and is mended after, so that boiling begins between two steps where it did, and energy is
        kept.
    """
    times, states = dense_run([piece], between)
    return times[0], np.moveaxis(states, 0, 1)


def dense_run(pieces: Sequence[Piece], between: int) -> tuple[list[Array], Array]:
    """Return what :func:`dense` does for some pieces, one after the other.

    Parameters
    ----------
    pieces : sequence of Piece
        At least one.
    between : int
        Points put between two steps.

    Returns
    -------
    tuple of (list of ndarray, ndarray)
        The times of each piece, and all states, shape (variables, rows) or (variables, rows,
        variants).
    """
    shape = np.shape(pieces[0].states[-1][METAL])
    sizes = [_rows_of(piece, between) for piece in pieces]
    out = np.empty((len(pieces[0].states[0]), sum(sizes), *shape))
    times, begin = [], 0
    for piece, size in zip(pieces, sizes, strict=True):
        times.append(_fill(piece, between, out[:, begin : begin + size], shape))
        begin += size
    return times, out


def _fill(piece: Piece, between: int, out: Array, shape: tuple[int, ...]) -> Array:
    """Write the states of a piece, with points between the steps; return their times."""
    x = np.asarray(piece.x)
    y = _columns(piece.states, shape)
    if between <= 0 or len(x) < 2:
        out[:] = y
        return x
    k = _columns(piece.slopes, shape)
    arrived = y
    if any(a is not b for p, q in zip(piece.arrivals, piece.states, strict=True)
           for a, b in zip(p, q, strict=True)):
        arrived = _columns(piece.arrivals, shape)
    h, s = np.diff(x)[:, np.newaxis], np.arange(between + 1) / (between + 1)
    one = 0.0 * h
    weights = [
        w.reshape(*w.shape, *(1 for _ in shape))
        for w in (
            (1 + 2 * s) * (1 - s) ** 2 + one, s * (1 - s) ** 2 * h,
            s * s * (3 - 2 * s) + one, s * s * (s - 1) * h,
        )
    ]
    count = (len(x) - 1) * (between + 1)
    # Of variants one variable at a time: the arrays then stay in the cache.
    for some in [slice(i, i + 1) for i in range(len(y))] if shape else [slice(None)]:
        ends = (y[some, :-1, None], k[some, :-1, None], arrived[some, 1:, None], k[some, 1:, None])
        inner = weights[0] * ends[0]
        for weight, end in zip(weights[1:], ends[1:], strict=True):
            inner += weight * end
        out[some, :-1] = inner.reshape(-1, count, *shape)
        out[some, -1] = y[some, -1]
    columns: State = list(out[:, :-1])
    if piece.project(0.0, columns):
        out[:, :-1] = columns
    times: Array = np.append((x[:-1, None] + s * h).ravel(), x[-1])
    return times
