"""Crank speed within the cycle from the times of teeth: a spline of time over angle, cut into whole cycles."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

Array = NDArray[np.float64]

CYCLE_DEG: Final = 720.0
STEP_DEG: Final = 3.0
SAMPLES: Final = int(CYCLE_DEG / STEP_DEG)


@dataclass(frozen=True, slots=True)
class Cycles:
    """Whole cycles of 720 degrees; sample 0 stands at angle 0.

    Parameters
    ----------
    start_s, end_s : (c,) s
    number : (c,) of the cycle in the record: followers differ by 1
    speed_rad_s : (c,) mean speed
    ripple : (c, 240) speed squared less its moving mean over one cycle, rad2/s2
    """

    start_s: Array
    end_s: Array
    number: NDArray[np.int64]
    speed_rad_s: Array
    ripple: Array

    def __len__(self) -> int:
        return len(self.start_s)

    @property
    def speed_rpm(self) -> Array:
        """Mean speed of each cycle, rpm."""
        return self.speed_rad_s * (30.0 / np.pi)

    def select(self, rows: NDArray[np.bool_] | NDArray[np.int64]) -> Cycles:
        """Some of the cycles."""
        return Cycles(
            self.start_s[rows], self.end_s[rows], self.number[rows], self.speed_rad_s[rows], self.ripple[rows]
        )


def cycles(t_s: Array, angle_deg: Array, segment: NDArray[np.int32], longest_gap_deg: float) -> Cycles:
    """Cut a tooth train into cycles; a cycle with a hole, or half a cycle from one, is left out.

    The moving mean over exactly one cycle takes a swing of the governor out and passes every half order unchanged.

    Parameters
    ----------
    t_s, angle_deg : (m,) tooth times, s, and angles, deg, in step with the cycle; both ascending within a segment
    segment : (m,) number of the run between losses of synchronism
    longest_gap_deg : the widest step between teeth that is no hole, deg
    """
    step = np.diff(angle_deg)
    cut = np.flatnonzero((np.diff(segment) != 0) | (step > longest_gap_deg) | (step <= 0)) + 1
    bounds = np.concatenate([[0], cut, [len(t_s)]])
    parts = [
        _run(t_s[a:b], angle_deg[a:b])
        for a, b in itertools.pairwise(bounds)
        if b - a > 4 and angle_deg[b - 1] - angle_deg[a] >= 2 * CYCLE_DEG
    ]
    none = np.empty(0)
    empty = Cycles(none, none, np.empty(0, np.int64), none, np.empty((0, SAMPLES)))
    parts = [empty, *parts]
    return Cycles(
        np.concatenate([p.start_s for p in parts]),
        np.concatenate([p.end_s for p in parts]),
        np.concatenate([p.number for p in parts]),
        np.concatenate([p.speed_rad_s for p in parts]),
        np.concatenate([p.ripple for p in parts]),
    )


def _run(t_s: Array, angle_deg: Array) -> Cycles:
    """Cycles of one unbroken run of teeth."""
    spline = scipy.interpolate.CubicSpline(angle_deg, t_s)
    first, last = int(np.ceil(angle_deg[0] / STEP_DEG)), int(np.floor(angle_deg[-1] / STEP_DEG))
    grid = np.arange(first, last + 1)
    square = (np.radians(1.0) / spline(grid * STEP_DEG, 1)) ** 2
    half = SAMPLES // 2
    total = np.concatenate([[0.0], np.cumsum(square)])
    # mean over one cycle with half weight at both ends, so that it lies in the middle
    whole = total[SAMPLES:] - total[:-SAMPLES]
    mean = 0.5 * (whole[:-1] + whole[1:]) / SAMPLES
    ripple = square[half : half + len(mean)] - mean
    begin = first + half
    skip = -begin % SAMPLES
    count = max((len(ripple) - skip) // SAMPLES, 0)
    rows = ripple[skip : skip + count * SAMPLES].reshape(count, SAMPLES)
    edge = (begin + skip) * STEP_DEG + CYCLE_DEG * np.arange(count + 1)
    t = spline(edge)
    return Cycles(t[:-1], t[1:], np.round(edge[:-1] / CYCLE_DEG).astype(np.int64), 4.0 * np.pi / np.diff(t), rows)
