"""Teeth of a recording that was joined from several: each part by itself, since the crank stood anywhere between."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.wheel import ToothTrain, decode

Array = NDArray[np.float64]

FEWEST_TURNS: Final = 4  # of a part; a clock that jumps all the time would leave nothing whole


def decode_parts(edge_s: Array, angles_deg: Array, cut_s: Array) -> ToothTrain:
    """One train with a new segment after each cut; no edge is missing between two parts.

    Parameters
    ----------
    edge_s, angles_deg : see ``decode``
    cut_s : (c,) times of the last rows before each cut, s, ascending
    """
    least, cuts = FEWEST_TURNS * len(angles_deg), [0]
    for cut in np.searchsorted(edge_s, cut_s, "right").tolist():
        if cut - cuts[-1] >= least and len(edge_s) - cut >= least:
            cuts.append(cut)
    if len(cuts) == 1:
        return decode(edge_s, angles_deg)
    trains = [decode(part, angles_deg) for part in np.split(edge_s, cuts[1:])]
    inverted = max(trains, key=len).inverted
    kept = [train for train in trains if train.inverted == inverted and len(train)]
    if not kept:
        return trains[0]
    left_out = len(edge_s) - sum(len(train) + len(train.extra_s) + train.unplaced for train in kept)
    moved, turns, segments = [], 0, 0
    for train in kept:
        moved.append(
            replace(
                train, turn=train.turn + np.int32(turns), angle_deg=train.angle_deg + 360.0 * turns,
                missing_deg=train.missing_deg + 360.0 * turns, segment=train.segment + np.int32(segments),
            )
        )  # fmt: skip
        turns, segments = int(moved[-1].turn[-1]) + 2, int(moved[-1].segment[-1]) + 1
    return replace(
        moved[0],
        t_s=np.concatenate([train.t_s for train in moved]),
        angle_deg=np.concatenate([train.angle_deg for train in moved]),
        tooth=np.concatenate([train.tooth for train in moved]),
        turn=np.concatenate([train.turn for train in moved]),
        segment=np.concatenate([train.segment for train in moved]),
        missing_s=np.concatenate([train.missing_s for train in moved]),
        missing_deg=np.concatenate([train.missing_deg for train in moved]),
        extra_s=np.concatenate([train.extra_s for train in moved]),
        unplaced=sum(train.unplaced for train in kept) + left_out,
    )
