"""Single firings that failed, from the change of speed squared over each firing interval."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from logan.dsp.crank_speed import SAMPLES, Cycles

Array = NDArray[np.float64]


def firing_work(cycles: Cycles, beyond: Array) -> tuple[Array, Array]:
    """Work of every firing interval beyond the mean, rad2/s2, (n,), in order of time, and its firing position, (n,).

    What a wheel's teeth feign is the same in every cycle: the mean of each position is set to what is known of it. The
    interval that ends with a cycle after which the record breaks is left out.

    Parameters
    ----------
    cycles : c whole cycles
    beyond : (z,) mean work of each firing position beyond that of all, rad2/s2
    """
    z = len(beyond)
    at = cycles.ripple[:, :: SAMPLES // z]
    follows = np.append(np.diff(cycles.number) == 1, False)
    after = np.where(follows, np.append(at[1:, 0], 0.0), np.nan)
    change = np.diff(np.column_stack([at, after]), axis=1)
    own = change - np.nanmean(change, axis=0) + beyond
    known = np.isfinite(own)
    return own[known], np.broadcast_to(np.arange(z), own.shape)[known]


def failed(work: Array, position: Array, limit: float) -> Array:
    """Firings below minus a limit that also lie below both neighbours, counted by position, (z,).

    A firing is judged once the next one is known (an on-board monitor's published rule): a lost fire is followed by
    a usual one, a change of load is not.
    """
    lowest = np.concatenate([[False], (work[1:-1] < work[:-2]) & (work[1:-1] < work[2:]), [False]])
    return np.bincount(position[lowest & (work < -limit)], minlength=int(position.max(initial=0)) + 1).astype(float)


def scatter(work: Array, position: Array) -> float:
    """Usual scatter of a position's firings from cycle to cycle, rad2/s2; by the median, so lost fires do not count."""
    middle = np.array([np.median(work[position == k]) for k in range(int(position.max()) + 1)])
    return float(np.median(np.abs(work - middle[position]))) / 0.6745
