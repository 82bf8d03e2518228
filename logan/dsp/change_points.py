"""Where the level of a short series changes: exact penalised segmentation."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray


def change_points(y: NDArray[np.float64], penalty: float) -> list[int]:
    """First index of each segment after the first, for the segmentation of least cost.

    The cost is the sum of squared deviations from each segment's mean plus ``penalty`` for every change, minimised
    exactly by optimal partitioning with the pruning of Killick, Fearnhead and Eckley (2012, from memory).

    Parameters
    ----------
    y : (n,) finite
    penalty : price of a change, in the unit of y squared
    """
    n = len(y)
    centred = y - np.mean(y) if n else y  # or the sums of squares lose their digits
    total, square = (np.concatenate([[0.0], np.cumsum(part)]) for part in (centred, centred**2))
    best = np.zeros(n + 1)
    best[0] = -penalty
    last = np.zeros(n + 1, int)
    starts = np.array([0])
    for end in range(1, n + 1):
        cost = square[end] - square[starts] - (total[end] - total[starts]) ** 2 / (end - starts)
        through = best[starts] + cost
        k = int(np.argmin(through))
        best[end], last[end] = through[k] + penalty, starts[k]
        # a start that loses by more than a new change costs loses for ever
        starts = np.append(starts[through <= best[end]], end)
    out: list[int] = []
    end = int(last[n])
    while end > 0:
        out.append(end)
        end = int(last[end])
    return out[::-1]
