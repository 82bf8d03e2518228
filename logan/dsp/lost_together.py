"""Edges that were lost in one go: how many events they are, and which of them took all sensors of the recording.

A loose plug, a clip that was touched or a recorder that was busy takes every edge for a while. That is one event,
however many edges fell into it: only events are independent of each other, and only they obey a Poisson law.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.sync import CYCLE_DEG
from logan.dsp.wheel import ToothTrain

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]

NEAR: Final = 4  # good edges between two losses from which they are two events, and
NEAR_SHARE: Final = 0.125  # of the wheel's edges at most, lest one tooth that is gone be one event (judgement)
CYCLES: Final = (-2, -1, 1, 2)  # beside a loss, by which the edges that were due in it are known
FEWEST_CYCLES: Final = 2
NEAR_TOOTH_DEG: Final = 2.0  # an edge as near to the teeth beside a loss may have come before or after it


@dataclass(frozen=True, slots=True)
class Losses:
    """Missing edges of a train by event, one row an event.

    Parameters
    ----------
    before, after : (k,) the placed edges beside each event, by number
    first_deg, last_deg : (k,) angles of the first and the last missing edge
    count : (k,) missing edges
    """

    before: Index
    after: Index
    first_deg: Array
    last_deg: Array
    count: Index

    def __len__(self) -> int:
        return len(self.count)


def losses(train: ToothTrain) -> Losses:
    """The missing edges of a train in events: with hardly an edge between two of them they are one."""
    near = int(np.clip(NEAR_SHARE * len(train.angles_deg), 1, NEAR))
    order = np.argsort(train.missing_s, kind="stable")
    missing_deg = train.missing_deg[order]
    after = np.searchsorted(train.t_s, train.missing_s[order])
    inside = (after > 0) & (after < len(train))
    missing_deg, after = missing_deg[inside], after[inside]
    first = np.flatnonzero(np.diff(after, prepend=-near - 1) >= near)
    last = np.append(first[1:], len(after)) - 1 if len(first) else first
    return Losses(after[first] - 1, after[last], missing_deg[first], missing_deg[last], last - first + 1)


def runs(missing_s: Array, seen_s: Array) -> tuple[Index, Index]:
    """The first missing edge of each event of a sensor with few edges, and how many it took: none came between them.

    Parameters
    ----------
    missing_s, seen_s : times at which edges were missing, and those of the edges that came, s, both ascending
    """
    _, first, count = np.unique(np.searchsorted(seen_s, missing_s), return_index=True, return_counts=True)
    return first, count


def together(train: ToothTrain, lost: Losses, others: Collection[Array]) -> tuple[Mask, Mask]:
    """Which losses took all sensors, and in which another sensor went on, (k,) each; neither where no edge was due.

    What was due is what came at the same angles in the cycles beside it, whatever the target.

    Parameters
    ----------
    others : edge times of the other sensors, s, each ascending
    """
    begin, end = train.angle_deg[lost.before], train.angle_deg[lost.after]
    first = np.flatnonzero(np.diff(train.segment, prepend=-1))
    last = np.append(first[1:], len(train)) - 1
    mine = np.searchsorted(first, lost.before, "right") - 1
    low, high = train.angle_deg[first[mine]], train.angle_deg[last[mine]]
    lacks, alone = np.zeros(len(lost), np.bool_), np.zeros(len(lost), np.bool_)
    for edge_s in others:
        angle = _angles(train, edge_s)
        # a pause of the recorder lasted at least from the first missing edge to the last one
        alone |= _count(angle, lost.first_deg, lost.last_deg) > 0
        least, seen = np.full(len(lost), np.iinfo(np.int64).max), np.zeros(len(lost), np.int64)
        for turned in (CYCLE_DEG * cycles for cycles in CYCLES):
            usual = _count(angle, begin + turned + NEAR_TOOTH_DEG, end + turned - NEAR_TOOTH_DEG)
            recorded = (low <= begin + turned) & (end + turned <= high)
            least = np.where(recorded, np.minimum(least, usual), least)
            seen += recorded
        lacks |= (seen >= FEWEST_CYCLES) & (least > _count(angle, begin, end))
    return lacks & ~alone, alone


def _angles(train: ToothTrain, edge_s: Array) -> Array:
    """Angles of another sensor's edges within the segments of a train, ascending."""
    after = np.searchsorted(train.t_s, edge_s)
    inside = (after > 0) & (after < len(train))
    inside[inside] = train.segment[after[inside]] == train.segment[after[inside] - 1]
    out: Array = np.interp(edge_s[inside], train.t_s, train.angle_deg)
    return out


def _count(angle_deg: Array, begin_deg: Array, end_deg: Array) -> Index:
    """Edges between pairs of angles, (k,)."""
    out: Index = np.maximum(np.searchsorted(angle_deg, end_deg) - np.searchsorted(angle_deg, begin_deg), 0)
    return out
