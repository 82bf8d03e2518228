"""The median of many numbers."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.native import kernels

_LONG: Final = 500
"""From so many numbers on the compiled loop is quicker, several times where they are very many."""


def median(x: NDArray[np.float64], low: float, high: float) -> float:
    """Median of some finite numbers, to the last bit as numpy gives it.

    Parameters
    ----------
    x : (n,) at least one number
    low, high : the least and the greatest of them
    """
    pair = kernels.middle(x, low, high) if len(x) >= _LONG and kernels.pays(len(x)) else None
    return float(np.median(x)) if pair is None else (pair[0] + pair[1]) / 2.0
