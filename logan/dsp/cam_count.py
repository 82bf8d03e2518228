"""How many edges a cam shows in each cycle of the crank, and where: told from the crank's turns alone.

No target is needed for it: a cam wheel that is another one than the expected shows its own number, cycle after cycle.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.sync import CYCLE_DEG, LARGEST_SHIFT_DEG, WIDEST_MATCH_DEG, wrap
from logan.dsp.wheel import ToothTrain

Array = NDArray[np.float64]

BEGIN_STEP_DEG: Final = 24.0  # a cycle that begins at an edge has now one more and now one less
BOUNCE_DEG: Final = 2.0  # edges closer than this are one that bounces (judgement)


@dataclass(frozen=True, slots=True)
class CamCount:
    """Edges a cycle that most cycles show.

    Parameters
    ----------
    edges : their number
    share : share of the cycles that show just so many
    cycles : how many were looked at
    places_deg : (edges,) where they stand, degrees of the train's angle, 0 .. 720, ascending; which turn is not known
    """

    edges: int
    share: float
    cycles: int
    places_deg: Array


def edges_a_cycle(train: ToothTrain, cam_s: Array, longest_s: float) -> CamCount | None:
    """Number and places of the cam's edges in a cycle; None where most whole cycles show none, or none is whole.

    The cycles begin where the number is steadiest.

    Parameters
    ----------
    train : crank edges on their teeth
    cam_s : (c,) times of one flank of the cam's signal, s, ascending
    longest_s : cycles that last longer, while the engine is cranked, do not count: a coil may be too weak there
    """
    segments = [_segment(train, cam_s, number) for number in range(int(train.segment[-1]) + 1 if len(train) else 0)]
    segments = [one for one in segments if len(one[2]) and one[1][-1] - one[1][0] >= CYCLE_DEG]
    best: tuple[float, int, int, float] | None = None
    for begin in np.arange(0.0, CYCLE_DEG, BEGIN_STEP_DEG).tolist():
        counts = [_counts(*segment, begin, longest_s)[0] for segment in segments]
        every = np.concatenate(counts) if counts else np.empty(0, np.int64)
        if not len(every):
            continue
        number = np.bincount(every)
        found = (float(number.max() / len(every)), int(np.argmax(number)), len(every), begin)
        if best is None or found[0] > best[0]:
            best = found
    if best is None or best[1] == 0:
        return None
    share, edges, cycles, begin = best

    def showing(segment: tuple[Array, Array, Array]) -> int:
        return int(np.count_nonzero(_counts(*segment, begin, longest_s)[0] == edges))

    return CamCount(edges, share, cycles, _places(*max(segments, key=showing), begin, longest_s, edges))


def fitting(places_deg: Array, target_deg: Array, turn_deg: float) -> int:
    """How many places of a cam's edges stand on the target under one common shift, each on one of its own.

    Parameters
    ----------
    places_deg, target_deg : (n,), (e,) degrees of the cycle
    turn_deg : the crank's angle is known but for multiples of it; the shift beyond them is small, as a cam's may be
    """
    target = np.sort(np.asarray(target_deg, float))
    if not len(places_deg) or not len(target):
        return 0
    spacing = np.diff(np.append(target, target[0] + CYCLE_DEG))
    reach = min(WIDEST_MATCH_DEG, 0.2 * float(spacing.min()))
    shifts = (places_deg[:, None] - target).ravel()
    shifts = shifts[np.abs(wrap(shifts, turn_deg)) <= LARGEST_SHIFT_DEG]
    most = 0
    for shift in shifts.tolist():
        off = np.abs(wrap(places_deg[:, None] - target - shift))
        nearest = np.argmin(off, axis=1)
        most = max(most, len(np.unique(nearest[off[np.arange(len(off)), nearest] <= reach])))
    return most


def _segment(train: ToothTrain, cam_s: Array, number: int) -> tuple[Array, Array, Array]:
    """Times and angles of a segment, and the angles of the cam's edges within it, bounces taken as one."""
    first, last = train.span(number)
    t, angle = train.t_s[first:last], train.angle_deg[first:last]
    if not len(t):
        return t, angle, np.empty(0)
    begin, end = np.searchsorted(cam_s, t[0]), np.searchsorted(cam_s, t[-1], side="right")
    seen = np.interp(cam_s[begin:end], t, angle)
    return t, angle, seen[np.diff(seen, prepend=-np.inf) > BOUNCE_DEG]


def _counts(t: Array, angle: Array, seen: Array, begin: float, longest_s: float) -> tuple[NDArray[np.int64], Array]:
    """Edges in each whole cycle of a segment that is short enough, and the angle at which each begins."""
    first = np.ceil((angle[0] - begin) / CYCLE_DEG)
    cuts = begin + CYCLE_DEG * np.arange(first, np.floor((angle[-1] - begin) / CYCLE_DEG) + 1)
    quick = np.diff(np.interp(cuts, angle, t)) <= longest_s
    return np.diff(np.searchsorted(seen, cuts))[quick], cuts[:-1][quick]


def _places(t: Array, angle: Array, seen: Array, begin: float, longest_s: float, edges: int) -> Array:
    """Where the edges of the cycles that show just so many stand, medians, degrees."""
    count, cuts = _counts(t, angle, seen, begin, longest_s)
    first = np.searchsorted(seen, cuts[count == edges])
    within = seen[first[:, None] + np.arange(edges)] - cuts[count == edges][:, None]
    return np.sort((np.median(within, axis=0) + begin) % CYCLE_DEG)
