"""Trends that outliers do not make and that wandering noise does not feign."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.stats import correlation_time

Array = NDArray[np.float64]

MOST: Final = 400
"""Longer series are averaged to so many blocks; all pairs of them are compared."""


@dataclass(frozen=True, slots=True)
class MannKendall:
    """Test for a monotone trend: statistic, its variance with ties, normal score, two-sided probability."""

    s: int
    variance: float
    z: float
    p: float


@dataclass(frozen=True, slots=True)
class Trend:
    """Slope in unit per second with its 95 % interval, two-sided probability of no trend, independent values."""

    slope: float
    low: float
    high: float
    p: float
    n_eff: float


def mann_kendall(y: Array, inflation: float = 1.0) -> MannKendall:
    """Mann-Kendall test with ties (Mann 1945, Kendall 1975); ``inflation`` multiplies the variance.

    Parameters
    ----------
    y : (n,) finite, in order of time
    """
    n = len(y)
    s = int(np.sign(y[None, :] - y[:, None])[np.triu_indices(n, 1)].sum())
    ties = np.unique(y, return_counts=True)[1].astype(float)
    variance = (n * (n - 1) * (2 * n + 5) - float(np.sum(ties * (ties - 1) * (2 * ties + 5)))) / 18.0 * inflation
    z = float(np.sign(s) * max(abs(s) - 1, 0) / np.sqrt(variance)) if variance > 0.0 else 0.0
    return MannKendall(s, variance, z, float(2.0 * scipy.special.ndtr(-abs(z))))


def theil_sen(t_s: Array, y: Array, variance: float | None = None) -> tuple[float, float, float]:
    """Median of all pairwise slopes with its 95 % interval (Sen 1968), unit per second.

    Parameters
    ----------
    t_s, y : (n,) finite; s and any unit
    variance : of Kendall's S; by default that of independent values
    """
    a, b = np.triu_indices(len(y), 1)
    run = t_s[b] - t_s[a]
    apart = run > 0
    slopes = np.sort((y[b] - y[a])[apart] / run[apart])
    if not len(slopes):
        return 0.0, -np.inf, np.inf
    spread = 1.959964 * np.sqrt(mann_kendall(y).variance if variance is None else variance)
    count = len(slopes)
    low, high = round((count - spread) / 2.0) - 1, round((count + spread) / 2.0)
    return (
        float(np.median(slopes)),
        float(slopes[low]) if low >= 0 else -np.inf,
        float(slopes[high]) if high < count else np.inf,
    )


def trend(t_s: Array, y: Array) -> Trend:
    """Theil-Sen slope and Mann-Kendall test for values that may depend on their neighbours.

    The variance of Kendall's statistic is inflated by the correlation time of the values freed of their trend: at an
    autocorrelation of 0.8 the plain test calls a trend in nearly every second series that has none.

    Parameters
    ----------
    t_s, y : (n,) finite, in order of time; s and any unit
    """
    if len(y) > MOST:
        edges = np.linspace(0, len(y), MOST + 1).astype(int)[:-1]
        size = np.diff(np.append(edges, len(y)))
        t_s, y = np.add.reduceat(t_s, edges) / size, np.add.reduceat(y, edges) / size
    if len(y) < 3:
        return Trend(0.0, -np.inf, np.inf, 1.0, float(len(y)))
    slope = theil_sen(t_s, y)[0]
    n = len(y)
    time = correlation_time(y - slope * t_s)
    # taking the trend away hides part of the correlation
    time *= 1.0 + 3.0 * time / n if time > 1.0 else 1.0
    test = mann_kendall(y, time)
    _, low, high = theil_sen(t_s, y, test.variance)
    return Trend(slope, low, high, test.p, n / time)
