"""Means and spreads of samples that depend on their neighbours, with honest intervals.

A value recorded ten times a second does not count ten times: what counts is the number of independent samples that
would give the same scatter of the result (Bartlett 1946, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

Array = NDArray[np.float64]

BATCHES: Final = 12
FEWEST_A_BATCH: Final = 4
SWINGS: Final = -0.15
"""Autocorrelation below which samples swing; noise that remembers hardly turns negative."""
WIDEST: Final = 3.0
"""Half an interval of a mean is never wider than so many standard deviations of the samples."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A statistic with its standard uncertainty and 95 % interval; ``n_eff`` independent samples stand behind it."""

    value: float
    sd: float
    low: float
    high: float
    n_eff: float


def correlation_time(x: Array) -> float:
    """Integrated autocorrelation time in samples, at least 1: the number of samples worth one independent sample.

    Pairs of neighbouring lags are summed while they stay positive and falling (Geyer 1992, initial monotone sequence);
    each autocovariance is freed of the bias that the estimated mean brings.

    Parameters
    ----------
    x : (n,) finite samples, evenly spaced
    """
    n = len(x)
    if n < 4:
        return 1.0
    d = x - x.mean()
    if not np.any(d):
        return 1.0
    covariance = _autocovariance(d)
    time = 1.0
    for _ in range(3):  # the mean's own variance, time * covariance / n, is missing from every autocovariance
        lifted = covariance + time * covariance[0] / max(n - time, 1.0)
        rho = lifted / lifted[0]
        pairs = rho[: len(rho) // 2 * 2].reshape(-1, 2).sum(axis=1)
        stop = np.flatnonzero(pairs <= 0.0)
        pairs = np.minimum.accumulate(pairs[: stop[0]] if len(stop) else pairs)
        time = max(2.0 * float(pairs.sum()) - 1.0, 1.0)
    return min(time, n / 2.0)


def _autocovariance(d: Array) -> Array:
    """Autocovariance of deviations from the mean at lags up to half of them, (n // 2,)."""
    n = len(d)
    size = 1 << (2 * n - 1).bit_length()
    spectrum = np.fft.rfft(d, size)
    out: Array = np.fft.irfft(spectrum * spectrum.conj(), size)[: n // 2] / np.arange(n, n - n // 2, -1)
    return out


def effective_size(x: Array) -> float:
    """Number of independent samples that fix the mean as well as these do, 1..n."""
    return len(x) / correlation_time(x)


def mean(x: Array) -> Estimate:
    """Mean with Student's interval on the effective number of samples."""
    n_eff = effective_size(x)
    freedom = max(n_eff - 1.0, 1.0)
    batched, batches = _size_by_batches(x)
    if batched < n_eff:
        n_eff, freedom = batched, min(freedom, max(batches - 1.0, 1.0))
    sd = float(np.std(x)) * np.sqrt(len(x) / max(len(x) - len(x) / n_eff, 1.0) / n_eff)
    # on a handful of independent samples Student's factor leaves all sense: the mean of a record lies in its scatter
    half = min(float(scipy.special.stdtrit(freedom, 0.975)) * sd, WIDEST * float(np.std(x)))
    value = float(np.mean(x))
    return Estimate(value, sd, value - half, value + half, n_eff)


def end_factor(apart: float) -> float:
    """Factor on the standard uncertainty at both ends of a 95 % interval for a value known to lie between two bounds.

    1.96 where the bounds fall together, 1.645 where they are far apart: the value then can miss at one end only
    (Imbens and Manski 2004, from memory).

    Parameters
    ----------
    apart : distance of the bounds in standard uncertainties
    """

    def lacks(factor: float) -> float:
        return float(scipy.special.ndtr(factor + apart) - scipy.special.ndtr(-factor)) - 0.95

    return float(scipy.optimize.brentq(lacks, 1.6, 2.0))


def _size_by_batches(x: Array) -> tuple[float, float]:
    """Effective size from the means of equal batches, for samples that swing (else infinite), and that of the means.

    A swing turns the autocorrelation negative, which ends its sum before slower wandering shows; batches of one to two
    turns average the swing out, and what their means remember of each other is the wandering (batch means; Law and
    Kelton, from memory).
    """
    n = len(x)
    if n < FEWEST_A_BATCH * BATCHES:
        return np.inf, np.inf
    covariance = _autocovariance(x - x.mean())[: n // BATCHES]
    lowest = float(covariance.min())
    if lowest >= SWINGS * covariance[0]:
        return np.inf, np.inf
    turning = int(np.argmax(covariance < 0.5 * lowest))  # a third to half of a turn
    size = int(np.clip(4 * turning, FEWEST_A_BATCH, n // BATCHES))
    means = x[: n // size * size].reshape(-1, size).mean(axis=1)
    independent = effective_size(means)
    scatter = float(np.var(means)) / max(independent - 1.0, 0.5)
    return (max(float(np.var(x)) / scatter, 1.0) if scatter > 0.0 else np.inf), independent


def rounding(step: float, x: Array) -> float:
    """Standard uncertainty of a mean for the rounding of its values to steps.

    A value that stands still is off by up to half a step, however often it is read; one that scatters over several
    steps is rounded up as often as down, and its mean is not (Widrow and Kollar, Quantization Noise, 2008, first
    moment of a Gaussian; from memory).
    """
    if step <= 0.0:
        return 0.0
    # rounding itself adds step^2 / 12 to the variance of values that scatter
    scatter = max(float(np.var(x)) - step**2 / 12.0, 0.0)
    return float(step / np.sqrt(12.0) * np.exp(-2.0 * np.pi**2 * scatter / step**2))


def spread(x: Array) -> Estimate:
    """Standard deviation with its interval.

    The variance is the mean of the squared deviations, so their own autocorrelation and scatter tell how well it is
    known, for a regular swing as well as for noise; the interval is that of chi-square with the degrees of freedom
    that give the same scatter (Satterthwaite 1946, from memory).
    """
    n = len(x)
    square = (x - np.mean(x)) ** 2
    time = correlation_time(x)
    variance = float(square.mean()) * n / max(n - time, 1.0)
    if variance == 0.0 or n < 4:
        return Estimate(float(np.sqrt(variance)), 0.0, float(np.sqrt(variance)), float(np.sqrt(variance)), float(n))
    n_eff = n / correlation_time(square)
    relative = float(np.var(square)) / float(square.mean()) ** 2
    # slow wandering shows in the deviations before it shows in their squares: 1.5 holds for any AR(1)
    freedom = max(min(2.0 * n_eff / max(relative, 1e-9), 1.5 * n / time), 1.5)
    value = float(np.sqrt(variance))
    low = value * np.sqrt(freedom / float(scipy.special.chdtri(freedom, 0.025)))
    high = value * np.sqrt(freedom / float(scipy.special.chdtri(freedom, 0.975)))
    return Estimate(value, value / np.sqrt(2.0 * freedom), float(low), float(high), n_eff)
