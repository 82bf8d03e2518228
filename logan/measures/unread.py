"""Edges that are missing in the file, where rows were refused or all sensors paused: they tell nothing of a sensor."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from logan.dsp.wheel import ToothTrain

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Places:
    """Where a recording lacks what came: rows were refused, all sensors paused, or two recordings were joined.

    Parameters
    ----------
    begin_s, end_s : (r,) times of the rows or edges before and after each place, s, both ascending
    """

    begin_s: Array
    end_s: Array

    def hold(self, first_s: Array, last_s: Array) -> Mask:
        """Whether the time from one moment to another touches a place, (n,)."""
        return np.searchsorted(self.begin_s, last_s, "right") > np.searchsorted(self.end_s, first_s, "left")

    def seconds(self, first_s: float, last_s: float) -> float:
        """Time within places from one moment to another, s."""
        some = slice(*np.searchsorted(self.end_s, [first_s]), *np.searchsorted(self.begin_s, [last_s], "right"))
        inside = np.minimum(self.end_s[some], last_s) - np.maximum(self.begin_s[some], first_s)
        return float(inside.sum())


def places(*kinds_s: Array) -> Places:
    """Places of several kinds that may overlap, each (r, 2), as places that follow each other."""
    every = np.concatenate(kinds_s)
    if not len(every):
        return Places(np.empty(0), np.empty(0))
    every = every[np.argsort(every[:, 0], kind="stable")]
    begin, end = every[:, 0], np.maximum.accumulate(every[:, 1])
    first = np.append(True, begin[1:] > end[:-1])
    return Places(begin[first], end[np.append(np.flatnonzero(first)[1:] - 1, len(end) - 1)])


def without(train: ToothTrain, there: Places) -> tuple[ToothTrain, float]:
    """A train without the missing edges of such places, and the turns that they cover.

    The time of a missing edge is interpolated and may be off by up to half a pitch.
    """
    lost = in_file(train, there, train.missing_s)
    kept = replace(train, missing_s=train.missing_s[~lost], missing_deg=train.missing_deg[~lost])
    return kept, turns(train, there)


def in_file(train: ToothTrain, there: Places, missing_s: Array) -> Mask:
    """Which missing edges of any sensor fall into such places, (n,)."""
    if not len(there.begin_s) or len(train) < 3:
        return np.zeros(len(missing_s), np.bool_)
    half_s = 0.5 * _pitch_s(train, missing_s)
    return there.hold(missing_s - half_s, missing_s + half_s)


def turns(train: ToothTrain, there: Places) -> float:
    """Turns of a train that such places cover, a pitch beside each among them."""
    if not len(there.begin_s) or len(train) < 3:
        return 0.0
    inside = (there.end_s > train.t_s[0]) & (there.begin_s < train.t_s[-1])
    begin, end = there.begin_s[inside], there.end_s[inside]
    pitch_s = _pitch_s(train, begin)
    teeth = np.sum((end - begin) / pitch_s + 1.0)
    return min(float(teeth) / max(len(train.angles_deg), 1), train.revolutions)


def _pitch_s(train: ToothTrain, when_s: Array) -> Array:
    """Time from tooth to tooth about some moments, mean over the wheel, s."""
    after = np.clip(np.searchsorted(train.t_s, when_s), 2, len(train) - 1)
    before = after - 2
    speed = (train.angle_deg[after] - train.angle_deg[before]) / np.maximum(train.t_s[after] - train.t_s[before], 1e-12)
    out: Array = 360.0 / len(train.angles_deg) / np.maximum(speed, 1e-3)
    return out
