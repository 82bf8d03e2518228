"""Fewer points for a chart without losing an extreme."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

POINTS = 2000


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


def with_gaps(
    t_s: NDArray[np.float64], value: NDArray[np.float64], gap_s: float
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The same points with a NaN inside every gap longer than ``gap_s``, so that no line bridges it."""
    gaps = np.flatnonzero(np.diff(t_s) > gap_s)
    middle = (t_s[gaps] + t_s[gaps + 1]) / 2
    return np.insert(t_s, gaps + 1, middle), np.insert(value, gaps + 1, np.nan)
