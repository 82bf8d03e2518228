"""Fewer points for a chart without losing an extreme."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

POINTS = 2000
GAP_S = 5.0
GAP_STEPS = 8.0
"""A gap is longer than ``GAP_S`` and than this many usual steps."""


def min_max(value: NDArray[np.float64], points: int = POINTS) -> NDArray[np.int64]:
    """Rows to keep so that a line through them looks like the whole, (k,) int64, ascending, k <= ``points``.

    The record is cut into ``points // 2 - 1`` parts of equal count; the lowest and highest sample of each stay, and so
    do the first and the last one.

    Parameters
    ----------
    value : (n,) float64, finite
    points : at least 4
    """
    n = len(value)
    if n <= points:
        return np.arange(n)
    parts = points // 2 - 1
    starts = np.arange(parts + 1) * n // parts
    width = int(np.diff(starts).max())
    at = np.minimum(starts[:-1, None] + np.arange(width), starts[1:, None] - 1)
    block = value[at]
    rows = np.arange(parts)
    low, high = at[rows, block.argmin(1)], at[rows, block.argmax(1)]
    return np.unique(np.concatenate([[0], low, high, [n - 1]]))


def thinned(
    t_s: NDArray[np.float64], value: NDArray[np.float64], points: int = POINTS
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The points to draw, with a NaN inside every gap of the record, so that no line bridges it.

    Parameters
    ----------
    t_s, value : (n,) float64, finite, times ascending
    points : at least 4; the NaN come on top
    """
    keep = min_max(value, points)
    step_s = np.diff(t_s)
    gaps = np.flatnonzero(step_s > max(GAP_S, GAP_STEPS * float(np.median(step_s)))) if len(step_s) else keep[:0]
    after = np.unique(np.searchsorted(keep, gaps, side="right"))
    middle = (t_s[keep[after - 1]] + t_s[keep[after]]) / 2
    return np.insert(t_s[keep], after, middle), np.insert(value[keep], after, np.nan)
