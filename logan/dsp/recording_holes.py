"""Pauses of all sensors of a recording at once: the recorder, its plug or a common supply, not one sensor."""

from __future__ import annotations

from collections.abc import Collection
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.median import median

Array = NDArray[np.float64]

BLOCK: Final = 1 << 18  # edges
SHORTEST_S: Final = 0.15
PERIODS: Final = 8.0  # of the edges beside it: no gap of a wheel is as long
BESIDE: Final = 12  # edges on either side
FAR: Final = 72  # edges on either side
SLOWS: Final = 1.25  # periods next to a stop against those further away: speed falls as the root of the way left
SAME_SPEED: Final = 1.5  # at most, of the periods on both sides
LACKS: Final = 1.5  # times the widest usual spacing from which a sensor must have missed an edge
FEWEST: Final = 4  # edges by which the usual spacing of a sensor is known


def fell_silent_too(begin_s: float, end_s: float, others: Collection[Array]) -> bool | None:
    """Whether all other sensors paused with one; None where their edges lie too far apart to say, or there are none.

    Parameters
    ----------
    begin_s, end_s : last edge of the one sensor before its pause and first one after it, s
    others : (k,) edge times of each other sensor, s, ascending
    """
    said = [_paused(begin_s, end_s, edge_s) for edge_s in others if len(edge_s) >= FEWEST]
    if False in said:
        return False
    return True if True in said else None


def _paused(begin_s: float, end_s: float, edge_s: Array) -> bool | None:
    """Whether a sensor paused at the same time, to within the distance of its edges."""
    first, last = np.searchsorted(edge_s, [begin_s, end_s])
    if last > first and _well_inside(begin_s, end_s, edge_s[first:last]):
        return False
    before, after = edge_s[max(first - BESIDE, 0) : first], edge_s[last : last + BESIDE]
    spacing = np.concatenate([np.diff(before), np.diff(after)])
    if len(spacing) < FEWEST - 1 or not len(before) or not len(after):
        return None
    widest_s = LACKS * float(spacing.max())
    if begin_s - float(before[-1]) > widest_s or float(after[0]) - end_s > widest_s:
        return False  # it was silent before, or long after
    return True if float(after[0]) - float(before[-1]) > widest_s else None


def _well_inside(begin_s: float, end_s: float, edge_s: Array) -> bool:
    """Whether edges came within a pause; one at its very ends belongs to what was recorded before or after."""
    share = (edge_s - begin_s) / max(end_s - begin_s, 1e-12)
    return bool(np.any((share > 0.1) & (share < 0.9)))


def holes(edge_s: Array, others: Collection[Array]) -> Array:
    """Pauses of a whole recording with the same speed before and after, (h, 2), s.

    Parameters
    ----------
    edge_s : (n,) edges of the sensor with the most of them, s, ascending
    others : those of the other sensors
    """
    out = []
    blocks = range(0, len(edge_s) - 1, BLOCK)
    long = (at + np.flatnonzero(np.diff(edge_s[at : at + BLOCK + 1]) > SHORTEST_S) for at in blocks)
    for k in np.concatenate([np.empty(0, np.int64), *long]).tolist():
        before, after = np.diff(edge_s[max(k - FAR, 0) : k + 1])[::-1], np.diff(edge_s[k + 1 : k + 2 + FAR])
        if min(len(before), len(after)) < FAR:
            continue
        usual = sorted((median(before[:BESIDE]), median(after[:BESIDE])))
        slows = any(median(side[:BESIDE]) > SLOWS * median(side) for side in (before, after))
        if slows or edge_s[k + 1] - edge_s[k] < PERIODS * usual[1] or usual[1] > SAME_SPEED * usual[0]:
            continue
        if fell_silent_too(float(edge_s[k]), float(edge_s[k + 1]), others):
            out.append((edge_s[k], edge_s[k + 1]))
    return np.array(out).reshape(-1, 2)
