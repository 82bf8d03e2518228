"""The median of many numbers."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.native import kernels

FEW: Final = 1_500
"""More numbers than these are not sorted before those are left out that cannot be in the middle."""
_SAMPLE: Final = 512
_EACH_WAY: Final = 34
"""Three times the scatter of a sample's middle, counted in places."""


def median(x: NDArray[np.float64]) -> float:
    """Median of some finite numbers, to the last bit as numpy gives it, whose own first imports ``numpy.ma``.

    Parameters
    ----------
    x : (n,) at least one number
    """
    return _middle(x, (len(x) - 1) // 2, len(x) // 2)


def sampled(n: int) -> slice:
    """Which of n numbers, more than a few, ``bracket`` is to be given."""
    return slice(None, None, n // _SAMPLE)


def bracket(sample: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Two numbers that the median of a long column most likely lies between, by a sample of it; of several columns.

    Parameters
    ----------
    sample : (..., samples)

    Returns
    -------
    (...,) each
    """
    ordered = np.sort(sample)
    middle = sample.shape[-1] // 2
    return ordered[..., middle - _EACH_WAY], ordered[..., middle + _EACH_WAY]


def median_within(n: int, below: int, some: NDArray[np.float64]) -> float | None:
    """The median of n numbers, if it is among these, which come next to so many below in order of size, else None."""
    first, second = (n - 1) // 2 - below, n // 2 - below
    return _middle(some, first, second) if 0 <= first <= second < len(some) else None


def _middle(x: NDArray[np.float64], first: int, second: int) -> float:
    """The one in a place of the order of size, or the mean of two in places one after the other."""
    while len(x) > FEW and kernels.pays(len(x)):
        low, high = map(float, bracket(x[sampled(len(x))]))
        found = kernels.between(x, low, high)
        if found is None or not found[0] <= first <= second < found[0] + len(found[1]):
            break
        if low == high:
            return low
        first, second, before, x = first - found[0], second - found[0], len(x), found[1]
        if 2 * len(x) > before:
            break
    ordered = np.partition(x, (first, second)) if len(x) > FEW else np.sort(x)
    one, two = ordered[[first, second]].tolist()
    return float(one) if first == second else (one + two) / 2.0
