"""White noise in a sampled sensor voltage: how large it is, and a mean over neighbours that leaves the edges in place.

A level that is held against noise is crossed now and then by noise alone, the more seldom the further away it is: by
Rice's formula the rate falls with ``exp(-a^2 / 2)`` for a level ``a`` standard deviations away (S. O. Rice,
Mathematical Analysis of Random Noise, Bell System Technical Journal 1944/45, section 3.3; from memory). So thresholds
stay some deviations away from where the signal rests. Where noise leaves no room for that, neighbours are averaged:
noise falls with the root of their number, and the middle of a step or a straight passage stays where it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.model.sensor import Column

Array = NDArray[np.float64]
Index = NDArray[np.int64]

PIECE: Final = 1 << 13  # samples that are looked at together for noise and levels
MOST_PIECES: Final = 16
ORDERS: Final = (2, 4, 6)  # of differences: the higher, the less a smooth signal adds
ALIKE: Final = 1.25  # they agree on noise that is white, and not on a signal of few samples a period
LAGS: Final = 65  # samples after which a signal may be like itself
QUIET_PIECES: Final = 25.0  # per cent: where edges are rare or slow, noise shows best
NOTABLE: Final = 0.03  # of the swing from peak to peak; with less, thresholds are far beyond noise anyhow
SQUARE_APART: Final = 8.0  # noise deviations between two levels: 5.6 then lie before a level and the far threshold
NEAR_LEVEL: Final = 0.15  # of the way between the levels
NEAR_NOISE: Final = 2.0  # deviations: 95 % of normal noise
TWO_LEVELS: Final = 0.9  # share of the samples on either side that are there
COIL_CLEAR: Final = 4.5  # deviations that a coil's threshold keeps from its rest: one sample in 300,000 is beyond both
COIL_APART: Final = 18.0  # and its peak, of which the threshold is a quarter
COIL_LEAST: Final = 8.0  # height of which half still keeps 4 of them from the rest: one sample in 30,000 is beyond
QUIET: Final = 5.0  # deviations that noise alone hardly reaches
MOST_RAMPS: Final = 0.2  # share of samples on the ramps of averaged steps; with more a sine would pass
NARROWEST: Final = 2.0  # means' widths that the narrowest pulses have; narrower ones may be lost
STILL_THERE: Final = 0.7  # of the signal's power that a mean must leave
AVERAGED: Final = (1, 3, 5, 9, 17, 33)  # samples that are averaged
WIDEST: Final = 1.2  # quarters of a period to average a coil over; beyond 1.5 a sine loses more than its noise


def white_noise(volts: Column) -> tuple[float, bool]:
    """Standard deviation of white noise in a sampled signal, V, and whether differences of several orders agree on it.

    The median of differences does not see the few that an edge makes. A signal of few samples a period, whose
    differences are large, is like itself some samples later; noise is not.
    """
    pieces = _pieces(volts)
    if not pieces:
        return 0.0, False
    each = np.array([[_by_differences(piece, order) for order in ORDERS] for piece in pieces])
    usual = np.percentile(each, QUIET_PIECES, axis=0)
    white = bool(usual[0] < ALIKE * usual[-1])
    most = float(np.percentile([_at_most(piece) for piece in pieces], QUIET_PIECES))
    return min(float(usual.min() if white else each.min()), most), white


def _pieces(volts: Column) -> list[Array]:
    """Stretches of a signal that hold finite numbers only."""
    count = max(1, len(volts) // PIECE)
    chosen = np.unique(np.linspace(0, count - 1, min(count, MOST_PIECES)).astype(int)) * PIECE
    pieces = [np.asarray(volts[at : at + PIECE], float) for at in chosen.tolist()]
    return [piece for piece in pieces if len(piece) > 4 * ORDERS[-1] and np.isfinite(piece).all()]


def _by_differences(piece: Array, order: int) -> float:
    """Deviation of white noise with the usual difference of this order: its variance is that times ``2n over n``."""
    usual = median(np.abs(np.diff(piece, order))) / 0.6745
    return float(usual / np.sqrt(scipy.special.comb(2 * order, order)))


def _at_most(piece: Array) -> float:
    """Deviation that white noise has at most: its variance is what no lag of the autocorrelation gives back."""
    seen = np.abs(np.fft.rfft(piece - np.mean(piece), 2 * len(piece))) ** 2
    lags = min(LAGS, len(piece) // 2)
    alike = np.fft.irfft(seen)[:lags] / (len(piece) - np.arange(lags))
    return float(np.sqrt(max(alike[0] - alike[1:].max(), 0.0)))


@dataclass(frozen=True, slots=True)
class Smoothed:
    """Voltages averaged over neighbours, made where they are looked at; a ``Column`` of slices only.

    Parameters
    ----------
    volts : (n,) V
    width : (blocks,) samples that are averaged, odd
    block : samples in a block
    """

    volts: Column
    width: Index
    block: int

    def __len__(self) -> int:
        return len(self.volts)

    def __getitem__(self, at: slice) -> Array:
        begin, end, _ = at.indices(len(self.volts))
        first = begin // self.block
        parts = [self._one(k) for k in range(first, -(-end // self.block))]
        whole = np.concatenate(parts) if parts else np.empty(0)
        return whole[begin - first * self.block : end - first * self.block]

    def __array__(self, dtype: Any = None, /) -> NDArray[Any]:
        return np.asarray(self[:], dtype)

    def _one(self, number: int) -> Array:
        """A whole block: so that it does not depend on how it is asked for."""
        begin, end = number * self.block, min((number + 1) * self.block, len(self.volts))
        half = int(self.width[number]) // 2
        before, after = min(half, begin), min(half, len(self.volts) - end)
        seen = np.asarray(self.volts[begin - before : end + after], float)
        if not half:
            return seen
        seen = np.pad(seen, (half - before, half - after), mode="edge")
        return np.convolve(seen, np.full(2 * half + 1, 1.0 / (2 * half + 1)), mode="valid")


def evenly(volts: Column, width: int, block: int) -> Column:
    """The mean over the same number of samples everywhere; the signal itself where that is one."""
    return volts if width <= 1 else Smoothed(volts, np.full(-(-len(volts) // block), width), block)


@dataclass(frozen=True, slots=True)
class Levels:
    """The two levels of a square wave under noise, V, its scatter about them, and the samples to be averaged."""

    low: float
    high: float
    noise: float
    width: int

    @property
    def swing(self) -> float:
        """From one level to the other, V."""
        return self.high - self.low


def two_levels(volts: Column, white: float = 0.0) -> Levels | None:
    """The levels of a square wave that hides in noise; None for any other signal.

    Its samples scatter tightly about two levels, those nearer to either one; a coil's are anywhere between.

    Parameters
    ----------
    white : standard deviation of the noise where it is white, so that averaging helps against it; 0 where it is not
    """
    pieces = _pieces(volts)
    most = 0.0
    for width in AVERAGED if pieces and white > 0.0 else AVERAGED[: len(pieces[:1])]:
        kernel = np.full(width, 1.0 / width)
        values = np.concatenate([np.convolve(piece, kernel, mode="valid") for piece in pieces])
        low, high = _two_means(values)
        up = values > 0.5 * (low + high)
        off = np.abs(values - np.where(up, high, low))
        left = white / float(np.sqrt(width)) if white > 0.0 else 1.4826 * median(off)
        power = float(np.var(values)) - left**2
        if power < STILL_THERE * most:
            return None  # the mean is wider than the pulses
        most = max(most, power)
        swing = high - low
        if swing <= 0.0 or swing < SQUARE_APART * left:
            continue
        near = off < max(NEAR_LEVEL * swing, NEAR_NOISE * left)
        # a mean makes a ramp of each step, of which the middle part is near no level, half of it on either side
        ramps = (0.5 - NEAR_LEVEL) * width * np.count_nonzero(np.diff(up))
        tight = all(
            np.mean(near[side]) + min(ramps / np.count_nonzero(side), MOST_RAMPS) >= TWO_LEVELS for side in (up, ~up)
        )
        return Levels(low, high, left * float(np.sqrt(width)), width) if tight else None
    return None


def _two_means(values: Array) -> tuple[float, float]:
    """Medians of the values below and above their middle."""
    low, high = (float(v) for v in np.percentile(values, [0.1, 99.9]))
    for _ in range(10):
        up = values > 0.5 * (low + high)
        if up.all() or not up.any():
            return low, low
        now = median(values[~up]), median(values[up])
        if now == (low, high):
            break
        low, high = now
    return low, high


@dataclass(frozen=True, slots=True)
class CoilNoise:
    """What noise asks of a coil's signal, block by block.

    Parameters
    ----------
    width : (blocks,) samples that are averaged, odd
    quarter : (blocks,) quarter of a period, samples
    """

    width: Index
    quarter: Array


def coil_sizes(volts: Column, level: float, noise: Array, block: int) -> Array:
    """Height of a coil's swing in each block, V, freed of noise: of a sine's power the root times that of two.

    Of a coil whose lobes are narrow it is less than their peak. NaN where a sample is no finite number.

    Parameters
    ----------
    noise : (blocks,) its standard deviation, V
    """
    at = range(0, len(volts), block)
    power = np.array([float(np.mean(np.square(np.asarray(volts[k : k + block], float) - level))) for k in at])
    out: Array = np.sqrt(2.0 * np.maximum(power - np.square(noise), 0.0))
    return out


def coil_widths(volts: Column, level: float, noise: float, block: int) -> CoilNoise:
    """Over how many samples a coil's signal must be averaged for its peaks to stand clear of the noise.

    At most over a third of a period. A signal's autocorrelation falls through zero after a quarter, and white noise
    shows at no lag but zero. Blocks without a signal go by those beside them.
    """
    count = -(-len(volts) // block)
    size = coil_sizes(volts, level, np.full(count, noise), block)
    signal = np.flatnonzero(size > noise)
    quarter = np.array([_quarter(np.asarray(volts[k * block : (k + 1) * block], float) - level) for k in signal])
    known = np.isfinite(quarter)
    signal, quarter = signal[known], quarter[known]
    if not len(signal):
        return CoilNoise(np.ones(count, np.int64), np.ones(count))
    wanted = np.square(COIL_APART * noise / size[signal])
    width = np.clip(wanted, 1.0, np.maximum(WIDEST * quarter, 1.0))
    every = np.arange(count)
    wide = np.interp(every, signal, width)
    odd = 2 * np.floor(0.5 * wide).astype(np.int64) + 1
    return CoilNoise(odd, np.interp(every, signal, quarter))


def _quarter(away: Array) -> float:
    """Lag at which the autocorrelation of a stretch falls through zero, samples; NaN where it does not."""
    if len(away) < 8 or not np.isfinite(away).all():
        return np.nan
    seen = np.abs(np.fft.rfft(away, 2 * len(away))) ** 2
    alike = np.fft.irfft(seen)[: len(away) // 2]
    below = np.flatnonzero(alike <= 0.0)
    if not len(below):
        return np.nan
    k = int(below[0])
    return k - 1 + float(alike[k - 1] / (alike[k - 1] - alike[k])) if k > 1 else 1.0
