"""A wheel without a mark: where its teeth were counted wrongly for a while, as the cam shows.

Nearly at rest, or where a compression throws the crank back, a tooth more or less is counted and nothing in the train
tells it. From then on all cam edges stand a whole number of teeth off: the train is cut there, so that each part finds
its own place in the cycle.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.sync import CYCLE_DEG, Sync
from logan.dsp.wheel import ToothTrain

Array = NDArray[np.float64]

FEWEST_EDGES: Final = 2  # cam edges in a row that stand off by the same number of teeth
NEAR: Final = 0.3  # of a pitch


def cut_at_slips(train: ToothTrain, sync: Sync, cam_s: Array, cam_deg: Array) -> ToothTrain:
    """The train with a new segment wherever the cam edges begin to stand another number of teeth off.

    Parameters
    ----------
    train : crank edges on their teeth
    sync : place of its segments in the cycle
    cam_s : (c,) times of the active cam edges, s, ascending
    cam_deg : (e,) angles of the cam target's active edges, 0..720 crank degrees
    """
    if not len(train) or train.symmetry < len(train.angles_deg):
        return train
    target, pitch = np.sort(np.asarray(cam_deg, float)), 360.0 / train.symmetry
    ends = np.append(target, target[:1] + CYCLE_DEG)
    cuts: list[int] = []
    for number in np.flatnonzero(np.isfinite(sync.either_deg)).tolist():
        first, last = train.span(number)
        t, angle = train.t_s[first:last], train.angle_deg[first:last]
        seen_s = cam_s[(cam_s >= t[0]) & (cam_s <= t[-1])]
        seen = np.interp(seen_s, t, angle) + sync.either_deg[number] - sync.shift_deg[number]
        off = (seen - target[0] + 0.5 * pitch) % CYCLE_DEG + target[0] - 0.5 * pitch
        off = off - ends[np.argmin(np.abs(off[:, None] - ends), axis=1)]
        teeth = np.round(off / pitch)
        sure = np.flatnonzero(np.abs(off - teeth * pitch) < NEAR * pitch)
        change = np.flatnonzero(np.diff(teeth[sure])) + 1
        runs = [run for run in np.split(sure, change) if len(run) >= FEWEST_EDGES]
        for before, after in itertools.pairwise(runs):
            if teeth[before[0]] != teeth[after[0]]:
                between = 0.5 * (seen_s[before[-1]] + seen_s[after[0]])
                cuts.append(first + int(np.searchsorted(t, between)))
    segment = train.segment.copy()
    for cut in cuts:
        segment[cut:] += 1
    return replace(train, segment=segment) if cuts else train
