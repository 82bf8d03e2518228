"""Which of its turns the crank is in: the cam edges against the cam target over all possible places.

A crank wheel leaves open by 360 degrees where in the cycle it stands (a wheel that repeats itself, by less). The cam
may be off by some tens of degrees; what decides is how many of its edges find their place under one common shift.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.wheel import ToothTrain

Array = NDArray[np.float64]
Index = NDArray[np.int64]

CYCLE_DEG: Final = 720.0
LARGEST_SHIFT_DEG: Final = 45.0
WIDEST_MATCH_DEG: Final = 6.0
CLEAR_SHARE: Final = 0.08  # of the edges by which the best place must lead
FEWEST_EDGES: Final = 2
SMEARED: Final = 0.8  # share of the edges below which a lateness is tried
DELAYS_S: Final = (0.0005, 0.001, 0.0015, 0.002)  # of a sensor, its cable and filter (judgement)
NEAR_SHIFT_DEG: Final = 20.0  # equal places: the one with the smaller shift, if they differ by more than this


@dataclass(frozen=True, slots=True)
class Sync:
    """Where a segment stands in the cycle.

    Parameters
    ----------
    offset_deg : (segments,) to add to the train's angle for the cycle angle; NaN where it is not known
    shift_deg : (segments,) common shift of the cam edges, degrees
    share : (segments,) share of cam edges that find their place
    either_deg : (segments,) the same as ``offset_deg``, or one of several places that a cam target which repeats
        itself within the cycle leaves open: enough for its own phase, and for nothing else
    """

    offset_deg: Array
    shift_deg: Array
    share: Array
    either_deg: Array


def wrap(angle_deg: Array, period_deg: float = CYCLE_DEG) -> Array:
    """Into -period/2 .. period/2."""
    out: Array = (angle_deg + 0.5 * period_deg) % period_deg - 0.5 * period_deg
    return out


def repetitions(cam_deg: Array) -> int:
    """How many times a cam target looks the same in a cycle."""
    target = np.sort(np.asarray(cam_deg, float))
    step = np.diff(np.append(target, target[0] + CYCLE_DEG)) if len(target) else target
    parts = (k for k in range(1, len(step)) if len(step) % k == 0 and np.allclose(step, np.roll(step, k), atol=1e-6))
    return len(step) // next(parts, max(len(step), 1)) if len(step) else 1


def synchronise(train: ToothTrain, cam_s: Array, cam_deg: Array) -> Sync:
    """Place in the cycle of each segment of a crank train.

    Parameters
    ----------
    train : crank edges on their teeth
    cam_s : (c,) times of the active cam edges, s, ascending
    cam_deg : (e,) angles of the cam target's active edges, 0..720 crank degrees
    """
    segments = int(train.segment[-1]) + 1 if len(train) else 0
    offset, shift, share = np.full(segments, np.nan), np.full(segments, np.nan), np.zeros(segments)
    either = np.full(segments, np.nan)
    target = np.sort(np.asarray(cam_deg, float))
    steps = 2 * train.symmetry
    pattern_deg = CYCLE_DEG / repetitions(target)
    for number in range(segments if len(target) else 0):
        first, last = train.span(number)
        t, angle = train.t_s[first:last], train.angle_deg[first:last]
        inside = (cam_s >= t[0]) & (cam_s <= t[-1])
        seen_s = cam_s[inside][:20_000]
        if len(seen_s) < FEWEST_EDGES:
            continue
        seen = np.interp(seen_s, t, angle)
        tries, late = _tries(seen, target, steps), False
        if tries[0][2] < SMEARED:
            # a fixed lateness is another angle at every speed: taken off, the edges stand together again
            for delay_s in DELAYS_S:
                other = _tries(np.interp(seen_s - delay_s, t, angle), target, steps)
                if other[0][2] > tries[0][2] + CLEAR_SHARE:
                    tries, late = other, True
        best = tries[0]
        equal = [
            entry
            for entry in tries[1:]
            if best[2] - entry[2] < max(min(CLEAR_SHARE, 0.5 / len(target)), 1.5 / len(seen))
        ]
        near = [entry for entry in equal if abs(entry[1]) < abs(best[1]) + NEAR_SHIFT_DEG]
        if train.symmetry == 1 and any((entry[0] - best[0] + 1e-6) % pattern_deg > 2e-6 for entry in near):
            continue
        either[number], shift[number], share[number] = best
        if late:
            shift[number] = _match(seen + best[0], target)[0]
        if train.symmetry > 1 or not near:
            offset[number] = best[0]
    return Sync(offset, shift, share, either)


def _tries(seen: Array, target: Array, steps: int) -> list[tuple[float, float, float]]:
    """Each place of the cycle with the shift and the share that ``_match`` finds there, best first."""
    tries = [(place * CYCLE_DEG / steps, *_match(seen + place * CYCLE_DEG / steps, target)) for place in range(steps)]
    return sorted(tries, key=lambda entry: (-entry[2], abs(entry[1])))


def _match(seen: Array, target: Array) -> tuple[float, float]:
    """Common shift under which most edges find a place on the target, and the share that does."""
    spacing = np.diff(np.append(target, target[0] + CYCLE_DEG))
    reach = min(WIDEST_MATCH_DEG, 0.2 * float(spacing.min()))
    every = wrap(seen[:, None] - target)
    near = np.sort(every[np.abs(every) <= LARGEST_SHIFT_DEG])
    if not len(near):
        return 0.0, 0.0
    count = np.searchsorted(near, near + 2.0 * reach, side="right") - np.arange(len(near))
    most = int(np.argmax(count))
    middle = float(np.median(near[most : most + count[most]]))
    return middle, float(count[most]) / len(seen)
