"""Difference of two intervals, false discoveries among many, tests of a trend in few values."""

from __future__ import annotations

from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.trend import mann_kendall
from logan.model.comparison import Value

Array = NDArray[np.float64]

Z95: Final = 1.959964
EXACT_UP_TO: Final = 30


def difference(before: Value, after: Value, correlation: float = 0.0) -> tuple[float, float, float]:
    """After minus before with its 95 % interval, from intervals that need not be symmetric.

    Each end joins the distances of the two values from the interval ends that bear on it (Zou 2007, Zou and Donner
    2008, from memory); for symmetric intervals that is the law of propagation with correlation (GUM 5.2.2).

    Parameters
    ----------
    correlation : of the errors of the two values, -1 to 1
    """
    down = (max(before.value - before.low, 0.0), max(after.value - after.low, 0.0))
    up = (max(before.high - before.value, 0.0), max(after.high - after.value, 0.0))

    def joined(a: float, b: float) -> float:
        return float(np.sqrt(max(a * a + b * b - 2.0 * correlation * a * b, 0.0)))

    change = after.value - before.value
    return change, change - joined(down[1], up[0]), change + joined(up[1], down[0])


def correlation_of(before: Value, after: Value, shared: float) -> float:
    """Correlation of two values whose systematic parts correlate by ``shared`` and whose chance does not at all.

    A part that was not told apart counts as chance.
    """
    out = shared
    for one in (before, after):
        if one.systematic is None:
            return 0.0
        # Against the whole interval, which may be wider than its two parts say.
        half = max(Z95 * float(np.hypot(one.statistical or 0.0, one.systematic)), 0.5 * (one.high - one.low))
        out *= Z95 * one.systematic / half if half > 0.0 else 0.0
    return out


def chance(change: float, low: float, high: float) -> float:
    """Two-sided probability of a difference this far from zero, from the side of its interval that faces zero."""
    if change == 0.0:
        return 1.0
    half = change - low if change > 0.0 else high - change
    return float(2.0 * scipy.special.ndtr(-abs(change) * Z95 / half)) if half > 0.0 else 0.0


def adjusted(p: Array) -> Array:
    """Probabilities adjusted so that those under a rate hold that rate of false discoveries (Benjamini-Hochberg 1995).

    Parameters
    ----------
    p : (n,) 0..1
    """
    n = len(p)
    order = np.argsort(p)[::-1]
    out = np.empty(n)
    out[order] = np.minimum.accumulate(p[order] * n / np.arange(n, 0, -1)) if n else p
    return np.minimum(out, 1.0)


def kendall(y: Array) -> float:
    """Two-sided probability of so monotone a series by chance; exact for few values without ties (Kendall 1938).

    Parameters
    ----------
    y : (n,) finite, in order of time
    """
    n = len(y)
    if n > EXACT_UP_TO or len(np.unique(y)) < n:
        return mann_kendall(y).p
    ways = np.ones(1)  # orders of k values by their number of inversions
    for k in range(2, n + 1):
        ways = np.convolve(ways, np.ones(k))
    inversions = int(np.count_nonzero(np.triu(y[:, None] > y[None, :], 1)))
    fewest = min(inversions, len(ways) - 1 - inversions)
    return float(min(2.0 * ways[: fewest + 1].sum() / ways.sum(), 1.0))


def rising(t: Array, y: Array, sd: Array) -> float:
    """Two-sided probability of so steep a line by chance: Student's test of the slope.

    The scatter is that about the line, and at least what the values are uncertain by: few values may lie on a line by
    luck, those of a measure with wide intervals too.

    Parameters
    ----------
    t, y, sd : (n,) time, value and standard uncertainty, n at least 3
    """
    at = t - t.mean()
    spread = float(at @ at)
    slope = float(at @ y) / spread if spread > 0.0 else 0.0
    if slope == 0.0:
        return 1.0
    rest = y - y.mean() - slope * at
    scatter = max(float(np.sqrt(rest @ rest / (len(y) - 2))), float(np.median(sd)))
    if scatter == 0.0:
        return 0.0
    return 2.0 * float(scipy.special.stdtr(len(y) - 2, -abs(slope) * np.sqrt(spread) / scatter))


def trend_chance(t: Array, y: Array, sd: Array) -> float:
    """Two-sided probability of a trend by chance, by its order (Kendall) or by its size (Student), whichever is less.

    Twice the lesser of the two, for two tests (Bonferroni). Order alone cannot say more of few values than how few
    there are: eight in one direction give 1 in 20,000 however far they move. An outlier harms the second alone.
    """
    return min(2.0 * min(kendall(y), rising(t, y, sd)), 1.0)
