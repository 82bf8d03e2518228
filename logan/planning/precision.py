"""The smallest error that planned rows would show, before anything is recorded.

The information of the rows about the terms of the joint regression (Cramer-Rao bound with weak priors about zero):
``C = (X' X / s^2 + P)^-1``, the covariance that ``dsp.decompose`` reports for rows of white noise ``s``.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.units import DEG_PER_RPM_S

DETECTS: Final = 1.959964 + 0.841621
"""Normal quantiles: false alarm in 5 % (two-sided), detection in 80 %."""
WANDER: Final = 1.5
"""What ``decompose`` costs since it allows for noise that wanders, the fewer the rows the more: with a factor of 1.2 it
still detected only 62 % on 60 rows of white noise. Longer drives show somewhat less than is stated."""
TERMS: Final = ("static", "delay", "drift", "load")

Array = NDArray[np.float64]


def rows(stretches: Sequence[tuple[float, float, float]], step_s: float) -> tuple[Array, Array]:
    """Times (n,) in s and columns (n, 4) of ``TERMS`` for stretches of (rpm, load %, seconds), a row a ``step_s``."""
    counts = [max(int(seconds / step_s), 0) for _, _, seconds in stretches]
    starts = np.cumsum([0.0, *(seconds for _, _, seconds in stretches)])[:-1]
    t_s = np.concatenate([start + step_s * np.arange(n) for start, n in zip(starts, counts, strict=True)])
    speed = np.repeat([speed for speed, _, _ in stretches], counts)
    load = np.repeat([load for _, load, _ in stretches], counts)
    ones = np.ones(len(t_s))
    return t_s, np.column_stack([ones, -DEG_PER_RPM_S * 1e-3 * speed, t_s / 60.0, load / 100.0])


def smallest(columns: Array, row_sd: float, prior_sd: Array) -> Array:
    """Smallest value of each term that is detected, (p,); inf where the rows tell less than half of it.

    A prior draws an estimate towards zero by the share ``C / prior^2``; the value must be larger by that.
    """
    prior = 1.0 / np.square(prior_sd)
    covariance = np.linalg.pinv(columns.T @ columns / row_sd**2 + np.diag(prior), hermitian=True)
    sd = np.sqrt(np.diag(covariance))
    drawn = np.diag(covariance) * prior
    out: Array = np.where(drawn < 0.5, DETECTS * WANDER * sd / np.maximum(1.0 - drawn, 0.5), np.inf)
    return out


def smallest_level(reading_sd: float, together_s: float, fixed: float, seconds: float, period_s: float) -> float:
    """Smallest shift of a mean level: readings closer than ``together_s`` count as one."""
    n = max(seconds / max(period_s, together_s), 1.0)
    return float(DETECTS * np.hypot(reading_sd / np.sqrt(n), fixed))
