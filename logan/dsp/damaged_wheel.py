"""A crank wheel with one tooth gone for good: every turn fits the wheel of the profile with that tooth taken out."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.wheel import ToothTrain, decode

Array = NDArray[np.float64]

SAMPLE_TURNS: Final = 30
FITS: Final = 0.8  # of the edges must find their place
AS_GOOD: Final = 0.98
FEWEST_TEETH: Final = 10  # a coarse wheel with a tooth less is any other wheel


def decode_damaged(edge_s: Array, angles_deg: Array) -> list[ToothTrain]:
    """The train on the wheel with a tooth missing, once for every tooth whose loss explains it.

    Where a gap of one tooth and a lost tooth look alike several teeth do, and the cam has to tell. The lost tooth
    counts as a missing edge of every turn.

    Parameters
    ----------
    edge_s : (n,) times of the active edges, s, ascending
    angles_deg : (k,) angles of the active edges of the sound wheel, crank degrees
    """
    angles = np.sort(np.asarray(angles_deg, float) % 360.0)
    if len(angles) < FEWEST_TEETH or len(edge_s) < 4 * len(angles):
        return []
    middle = len(edge_s) // 2
    reach = min(SAMPLE_TURNS * len(angles) // 2, middle)
    sample = edge_s[middle - reach : middle + reach]
    placed = np.array([len(_upright(sample, np.delete(angles, k))) for k in range(len(angles))])
    likely = np.flatnonzero(placed >= max(FITS * len(sample), AS_GOOD * placed.max()))
    trains = [_whole(_upright(edge_s, np.delete(angles, k)), angles, int(k)) for k in likely]
    return [train for train in trains if len(train) >= FITS * len(edge_s)]


def _upright(edge_s: Array, angles_deg: Array) -> ToothTrain:
    """The train by the pattern of the teeth; no edge where that of the slots fits better."""
    train = decode(edge_s, angles_deg, thorough=False)
    return decode(edge_s[:0], angles_deg) if train.inverted else train


def _whole(train: ToothTrain, angles: Array, lost: int) -> ToothTrain:
    """The same train on the wheel with all teeth."""
    if not len(train):
        return train
    sound = np.delete(np.arange(len(angles), dtype=np.int32), lost)
    gone = 360.0 * np.arange(train.turn[0], train.turn[-1] + 1) + angles[lost]
    after = np.clip(np.searchsorted(train.angle_deg, gone), 1, len(train) - 1)
    inside = (gone > train.angle_deg[after - 1]) & (gone < train.angle_deg[after])
    gone = gone[inside & (train.segment[after - 1] == train.segment[after])]
    missing_s = np.append(train.missing_s, np.interp(gone, train.angle_deg, train.t_s))
    order = np.argsort(missing_s)
    return replace(
        train, tooth=sound[train.tooth], missing_s=missing_s[order],
        missing_deg=np.append(train.missing_deg, gone)[order], angles_deg=angles, symmetry=1,
    )  # fmt: skip
