"""The median of many numbers."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.native import kernels

_LONG: Final = 500
"""From so many numbers on the compiled loop is quicker, several times where they are very many."""


def median(x: NDArray[np.float64], low: float | None = None, high: float | None = None) -> float:
    """Median of some finite numbers, to the last bit as numpy gives it, whose own first imports ``numpy.ma``.

    Parameters
    ----------
    x : (n,) at least one number
    low, high : the least and the greatest of them, where they are known
    """
    pair = None
    if len(x) >= _LONG and kernels.pays(len(x)):
        pair = kernels.middle(x, float(x.min()) if low is None else low, float(x.max()) if high is None else high)
    if pair is None:
        middle = ((len(x) - 1) // 2, len(x) // 2)
        one, two = np.partition(x, middle)[[*middle]].tolist()
        pair = (one, two)
    return pair[0] if len(x) % 2 else (pair[0] + pair[1]) / 2.0
