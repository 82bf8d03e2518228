"""The speed at which an engine idles, of a record in which nothing tells the pedal's position."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

MEAN_S: Final = 10.0
"""A swing of 0.1 Hz and more is none of this mean's."""
LOWEST_SHARE: Final = 0.1
"""Share of the record's idle that may be slower than its level (judgement)."""

Array = NDArray[np.float64]


def mean_around(t_s: Array, value: Array) -> Array:
    """Mean over time of the ``MEAN_S`` around each instant, (n,); of what there is of it at the ends.

    Parameters
    ----------
    t_s, value : (n,) s, ascending, and finite values
    """
    area = np.concatenate([[0.0], np.cumsum(0.5 * (value[1:] + value[:-1]) * np.diff(t_s))])
    begin, end = np.maximum(t_s - 0.5 * MEAN_S, t_s[0]), np.minimum(t_s + 0.5 * MEAN_S, t_s[-1])
    width = end - begin
    whole = (np.interp(end, t_s, area) - np.interp(begin, t_s, area)) / np.maximum(width, 1e-9)
    return np.where(width > 0.0, whole, value)


def idle_level(means: Sequence[Array], wanted: float | None) -> float:
    """Speed that idle is measured by: the wanted one, or what the record's slow part is at where that is more.

    Parameters
    ----------
    means : ``mean_around`` of each stretch of idle, rpm
    wanted : idle speed of the profile, or learned; None or NaN where there is none
    """
    seen = float(np.quantile(np.concatenate(means), LOWEST_SHARE)) if means else np.nan
    return float(np.fmax(np.nan if wanted is None else wanted, seen))
