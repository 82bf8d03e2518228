"""Which tooth each edge may be, with its probability: a hidden Markov model over the teeth of a whole cycle.

Each edge is one of the next few teeth after an edge shortly before it; edges between are extra. How likely a step is
tells its period against the time that the course of the speed allows for it. Forward and backward probabilities over
all edges (Rabiner, Proc. IEEE 77, 1989, from memory) say how sure a tooth is. Rows are computed side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

Array = NDArray[np.float64]
Single = NDArray[np.float32]
Index = NDArray[np.int64]

LONGEST_STEP: Final = 5  # teeth
LOST: Final = 0.08  # of the edges, where many are lost
EXTRA: Final = 0.02
CHANCE: Final = 1e-4  # a period that tells nothing, against the likeliest one
PACE_TURNS: Final = 2  # to either side
LARGEST: Final = 1e30  # single precision
AT_ONCE: Final = 1 << 15  # likelihoods; what a core keeps at hand

_STEPS: Final = np.arange(LONGEST_STEP, 0, -1)  # as the teeth before one stand in a row
_COST: Final[Array] = np.power(LOST, _STEPS - 1.0, dtype=np.float64)


def pace(t: Array, teeth: int) -> Array:
    """Log of the time for one degree as if no edge were lost or extra, over some turns around each edge, (n,)."""
    at, reach = np.arange(len(t)), PACE_TURNS * teeth
    first, last = np.maximum(at - reach, 0), np.minimum(at + reach, len(t) - 1)
    out: Array = np.log(np.maximum(t[last] - t[first], 1e-9) / np.maximum(last - first, 1) * teeth / 360.0)
    return out


def periods(t: Array, log_pace: Array, back: int) -> Array:
    """Log of the times since the edges before, in degrees at the pace, (back, rows, n); 0 where there is none.

    Parameters
    ----------
    t, log_pace : (rows, n) s, log of s per degree
    back : how many edges before are looked at: all but one of them may be extra
    """
    out = np.zeros((back, *t.shape))
    for k in range(back):
        out[k, :, k + 1 :] = np.log(np.maximum(t[:, k + 1 :] - t[:, : -k - 1], 1e-9)) - log_pace[:, k + 1 :]
    return out


def passages(angles_deg: Array) -> Array:
    """Log of the way to each tooth from those before it, the nearest last, (rows, teeth, steps).

    Parameters
    ----------
    angles_deg : (rows, teeth) angles within a cycle of 720 degrees
    """
    before = (np.arange(angles_deg.shape[1])[:, None] - _STEPS) % angles_deg.shape[1]
    out: Array = np.log((angles_deg[:, :, None] - angles_deg[:, before]) % 720.0)
    return out


def forward(log_period: Array, passage: Array, sd: Array, first: Array | None = None) -> tuple[Array, Single, Array]:
    """Log likelihood (rows,), probabilities by the edges so far (n, rows, teeth), and what scales them (n, rows).

    ``first`` (teeth,) is how likely each tooth is the first edge; without it all are alike.
    """
    back, rows, n = log_period.shape
    teeth = passage.shape[1]
    # the last teeth of the cycle stand before its first ones too
    around = np.empty((n, rows, LONGEST_STEP + teeth), np.float32)
    before, reached = sliding_window_view(around[:, :, :-1], LONGEST_STEP, 2), around[:, :, LONGEST_STEP:]
    scale = np.ones((n, rows))
    reached[0] = 1.0 / teeth if first is None else first / first.sum()
    around[0, :, :LONGEST_STEP] = reached[0, :, -LONGEST_STEP:]
    for edge, step in zip(range(1, n), _likelihoods(log_period, passage, sd, range(1, n)), strict=True):
        new = np.einsum("rts,rts->rt", before[edge - 1], step[0]).astype(np.float64)
        share = np.ones(rows)
        for k in range(1, min(back, edge)):
            share = share * EXTRA / scale[edge - k]
            new += share[:, None] * np.einsum("rts,rts->rt", before[edge - 1 - k], step[k])
        scale[edge] = new.sum(axis=1)
        reached[edge] = new / scale[edge][:, None]
        around[edge, :, :LONGEST_STEP] = reached[edge, :, -LONGEST_STEP:]
    return np.log(scale).sum(axis=0), reached, scale


def backward(
    log_period: Array, passage: Array, sd: Array, reached: Single, scale: Array
) -> Iterator[tuple[int, Array, Array]]:
    """From the last edge to the first: its number, how likely it is each tooth, and that the next edge is the next one.

    Both are (rows, teeth) by the tooth of this edge. What is left of the first is how likely the edge is extra.
    """
    back, rows, n = log_period.shape
    teeth = passage.shape[1]
    around = np.empty((n, rows, teeth + LONGEST_STEP), np.float32)
    after, onward = sliding_window_view(around[:, :, 1:], LONGEST_STEP, 2), around[:, :, :teeth]
    around[n - 1] = 1.0
    # the same periods and ways by where they begin
    to_come = np.zeros_like(log_period)
    for k in range(back):
        to_come[k, :, : n - 1 - k] = log_period[k, :, k + 1 :]
    following = (np.arange(teeth)[:, None] + _STEPS[::-1]) % teeth
    ahead: Array = passage[:, following, np.arange(LONGEST_STEP)[::-1]]
    yield n - 1, reached[n - 1].astype(np.float64), np.zeros((rows, teeth))
    edges = range(n - 2, -1, -1)
    for edge, step in zip(edges, _likelihoods(to_come, ahead, sd, edges, _COST[::-1]), strict=True):
        share = 1.0 / scale[edge + 1]
        new = share[:, None] * np.einsum("rts,rts->rt", after[edge + 1], step[0])
        single = share[:, None] * step[0, :, :, 0] * after[edge + 1, :, :, 0] * reached[edge]
        for k in range(1, min(back, n - 1 - edge)):
            share = share * EXTRA / scale[edge + 1 + k]
            new += share[:, None] * np.einsum("rts,rts->rt", after[edge + 1 + k], step[k])
        onward[edge] = np.minimum(new, LARGEST)  # where a tooth is next to impossible by the edges before
        around[edge, :, teeth:] = onward[edge, :, :LONGEST_STEP]
        yield edge, reached[edge] * np.minimum(new, LARGEST), single


def _likelihoods(
    log_period: Array, passage: Array, sd: Array, edges: Iterable[int], cost: Array = _COST
) -> Iterator[Single]:
    """Of the steps that end at each edge from the edges before it, (back, rows, teeth, steps)."""
    order = np.array(edges)
    scaled = np.ascontiguousarray(np.moveaxis(log_period / (np.sqrt(2.0) * sd)[:, None], 2, 0), np.float32)
    way = (passage / (np.sqrt(2.0) * sd)[:, None, None]).astype(np.float32)
    weight = np.broadcast_to((cost / sd[:, None])[:, None, :], passage.shape).astype(np.float32)
    size = max(AT_ONCE // (len(log_period) * passage.size), 1)
    for at in range(0, len(order), size):
        out = scaled[order[at : at + size]][:, :, :, None, None] - way
        np.multiply(out, out, out=out)
        np.exp(np.negative(out, out=out), out=out)
        out += np.float32(CHANCE)
        out *= weight
        yield from out
