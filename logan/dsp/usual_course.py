"""The usual course of the speed within a turn, by which a lost edge is told from a deep swing."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]

RUNS: Final = 8  # to either side
TURNS: Final = 3  # of each
FEWEST_SEEN: Final = 3
SEEN_SHARE: Final = 0.75  # of the teeth that were met so often; between them the course is interpolated
STEPS: Final = 4
HELPS: Final = 0.5  # share of the unevenness of the speed that it leaves at most


def usual_course(t: Array, angles: Array, first: Index, last: Index, tooth: int, run: int) -> Array:
    """Angles of the teeth as the usual course of the speed within the turn moves them, degrees, (k,).

    A crank that is turned by its starter slows down and speeds up in nearly the same way turn after turn. On a wheel
    moved by that the speed looks steady, and only a damaged edge makes a kink. Where the turns around are few or
    differ, as with fires that alternate between turns, the wheel stays as it is.

    Parameters
    ----------
    t : (n,) edge times, s
    angles : (k,) angles of the wheel, ascending, degrees
    first, last : (r,) first and last edge of each run of clean edges, all of which begin at one ``tooth``
    run : number of the run around which it is looked at
    """
    k = len(angles)
    logs: list[Array] = []
    teeth: list[Index] = []
    of: list[Index] = []
    for r in range(max(run - RUNS, 0), min(run + RUNS, len(first))):
        a, b, begin = int(first[r]), int(last[r]), int(first[r])
        a, b = (max(a, b - TURNS * k), b) if r < run else (a, min(b, a + TURNS * k))
        logs.append(np.log(np.maximum(np.diff(t[a : b + 1]), 1e-9)))
        teeth.append((tooth + np.arange(a - begin, b - begin)) % k)
        of.append(np.full(b - a, len(of)))
    log_s, at, part = np.concatenate(logs), np.concatenate(teeth), np.concatenate(of)
    seen, size = np.bincount(at, minlength=k), np.bincount(part)
    often = np.flatnonzero(seen >= FEWEST_SEEN)
    if len(often) < SEEN_SHARE * k:
        return angles
    plain = np.log(np.diff(np.append(angles, angles[0] + 360.0)))
    course, rest = plain, log_s - plain[at]
    rough = float(np.std(rest - (np.bincount(part, rest) / size)[part]))
    for _ in range(STEPS):
        level = np.bincount(part, log_s - course[at]) / size
        found = np.bincount(at, log_s - level[part], k)[often] / seen[often] - plain[often]
        course = plain + np.interp(np.arange(k), often, found, period=k)
    left = log_s - course[at]
    if float(np.std(left - (np.bincount(part, left) / size)[part])) > HELPS * rough:
        return angles
    step = np.exp(course)
    out: Array = angles[0] + np.append(0.0, 360.0 * np.cumsum(step)[:-1] / step.sum())
    return out
