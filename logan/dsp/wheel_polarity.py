"""Teeth or slots of a coarse wheel, by the swing of the speed that either would mean while the engine runs.

While cranking the speed may swing by half of itself, so that a coarse wheel's teeth look like its slots. A running
engine's swings by a few percent, a single cylinder's at idle by a fifth (common practice, no source): far less than
what turns the periods of one pattern into those of the other.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.dsp.wheel_pattern import pitches

Array = NDArray[np.float64]
Index = NDArray[np.int64]

RUNNING_RPM: Final = 400.0
"""Faster than any starter turns an engine, slower than any idles (common practice, no source)."""
FEWEST_TURNS: Final = 8
MOST_TURNS: Final = 2000
CALMER: Final = 0.25  # variance of the speed over a turn by the slots, against that by the teeth


def plainly_slots(t: Array, first: Index, last: Index, tooth: int, teeth: Array, slots: Array) -> bool:
    """Whether edges that run clean as slots would as teeth mean a swing that no running engine has.

    Parameters
    ----------
    t : (n,) edge times, s, ascending
    first, last : (r,) edges of the runs that are clean as slots, inclusive
    tooth : slot of every first one
    teeth, slots : (k,) angles, degrees, ascending
    """
    k = len(slots)
    rows = [np.arange(a, b - k + 1, k) for a, b in zip(first.tolist(), last.tolist(), strict=True)]
    start = np.concatenate([np.empty(0, np.int64), *rows])
    start = start[t[start + k] - t[start] < 60.0 / RUNNING_RPM]
    if len(start) < FEWEST_TURNS:
        return False
    start = start[:: -(-len(start) // MOST_TURNS)]
    log_period = np.log(np.maximum(np.diff(t[start[:, None] + np.arange(k + 1)]), 1e-9))
    by_slots = _swing(log_period, np.roll(pitches(slots), -tooth))
    by_teeth = min(_swing(log_period, np.roll(pitches(teeth), -turned)) for turned in range(k))
    return by_slots < CALMER * by_teeth


def _swing(log_period: Array, pitch: Array) -> float:
    """Variance of the logarithm of the speed over a turn, the middle one of many turns."""
    return median(np.var(np.log(pitch) - log_period, axis=1))
