"""Periodic swings in unevenly sampled series: periodogram, false-alarm probability, folded frequencies."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

Array = NDArray[np.float64]
Complex = NDArray[np.complex128]

OVERSAMPLING: Final = 5.0
"""Frequency steps per natural resolution 1 / T."""
SAMPLES_AT_ONCE: Final = 8192


@dataclass(frozen=True, slots=True)
class Periodogram:
    """Share of the variance that a sinusoid of each frequency explains.

    Parameters
    ----------
    frequency_hz : (f,) ascending, Hz
    share : (f,) normalised power, 0..1
    amplitude : (f,) amplitude of that sinusoid, in the unit of the series
    """

    frequency_hz: Array
    share: Array
    amplitude: Array


def grid(t_s: Array, low_hz: float, high_hz: float) -> Array:
    """Frequencies from low to high in fifths of the natural resolution, Hz."""
    step = 1.0 / (OVERSAMPLING * max(float(t_s[-1] - t_s[0]), 1e-9))
    out: Array = low_hz + step * np.arange(max(int((high_hz - low_hz) / step) + 1, 1), dtype=np.float64)
    return out


def periodogram(t_s: Array, value: Array, frequency_hz: Array) -> Periodogram:
    """Least-squares periodogram with a floating mean (Zechmeister and Kuerster 2009, from memory).

    Parameters
    ----------
    t_s : (n,) s, ascending, not necessarily even
    value : (n,) finite
    frequency_hz : (f,) Hz, > 0
    """
    n = len(value)
    y = value - value.mean()
    total = float(y @ y)
    with_value, alone, squared = _sums(frequency_hz, t_s - 0.5 * (t_s[0] + t_s[-1]), y)
    c_mean, s_mean = alone.real / n, alone.imag / n
    yc, ys = with_value.real, with_value.imag
    cc = 0.5 * (n + squared.real) - n * c_mean**2
    ss = 0.5 * (n - squared.real) - n * s_mean**2
    cs = 0.5 * squared.imag - n * c_mean * s_mean
    determinant = cc * ss - cs**2
    good = determinant > 1e-9 * n * n
    safe = np.where(good, determinant, 1.0)
    p, q = (yc * ss - ys * cs) / safe, (ys * cc - yc * cs) / safe
    explained = np.where(good, p * yc + q * ys, 0.0)
    share = explained / total if total > 0.0 else np.zeros(len(frequency_hz))
    return Periodogram(frequency_hz, np.clip(share, 0.0, 1.0), np.where(good, np.hypot(p, q), 0.0))


def _sums(frequency_hz: Array, t_s: Array, value: Array) -> tuple[Complex, Complex, Complex]:
    """Sums of ``value e``, ``e`` and ``e^2`` over the samples, with ``e = exp(2 pi i f t)``, (f,) each.

    On an even grid every frequency is one of few coarse steps plus one of few fine ones: their product costs no sines
    and sums up as a product of matrices.
    """
    count = len(frequency_hz)
    step = np.diff(frequency_hz)
    even = count > 8 and float(np.ptp(step)) < 1e-9 * float(frequency_hz[-1])
    fine = int(np.ceil(np.sqrt(count))) if even else 1
    offset = float(step.mean()) * np.arange(fine) if even else np.zeros(1)
    out = np.zeros((3, len(frequency_hz[::fine]), fine), complex)
    for a in range(0, len(t_s), SAMPLES_AT_ONCE):
        t, y = t_s[a : a + SAMPLES_AT_ONCE], value[a : a + SAMPLES_AT_ONCE]
        coarse_turn, fine_turn = (np.exp(2j * np.pi * f[:, None] * t) for f in (frequency_hz[::fine], offset))
        out[0] += (coarse_turn * y) @ fine_turn.T
        out[1] += coarse_turn @ fine_turn.T
        out[2] += coarse_turn**2 @ (fine_turn**2).T
    with_value, alone, squared = out.reshape(3, -1)[:, :count]
    return with_value, alone, squared


def width(t_s: Array, band_hz: float) -> float:
    """Number of turns that tells how many chances a band gives to noise: ``band sqrt(4 pi var(t))`` (Baluev 2008)."""
    return float(band_hz * np.sqrt(4.0 * np.pi * np.var(t_s)))


def false_alarm(share: float, n: int, turns: float, pieces: int = 1) -> float:
    """Probability that white noise gives a peak at least so high anywhere in a band.

    Baluev 2008 (Monthly Notices of the Royal Astronomical Society 385), for the power normalised by the variance; over
    several pieces the explained sums of squares add up, each piece with a mean and a phase of its own.

    Parameters
    ----------
    share : explained part of all sums of squares, 0..1
    n : number of values
    turns : ``width`` of the band
    pieces : number of pieces
    """
    if n < 3 * pieces + 2:
        return 1.0
    share = min(share, 1.0 - 1e-12)
    single = float(scipy.special.betaincc(pieces, (n - 3 * pieces) / 2.0, share))
    crossings = turns * np.sqrt(n * share / 2.0) * single / np.sqrt(1.0 - share)
    return _any(single, crossings)


def false_alarm_above(ratio: float, turns: float, pieces: int = 1) -> float:
    """The same for noise of a known spectrum; ``ratio`` = summed power over the expected power of one piece."""
    single = float(scipy.special.gammaincc(pieces, ratio))
    return _any(single, turns * np.sqrt(ratio) * single)


def _any(single: float, crossings: float) -> float:
    return float(-np.expm1(np.log1p(-min(single, 1.0 - 1e-15)) - crossings))


def refine(t_s: Array, value: Array, frequency_hz: float) -> tuple[float, float, float]:
    """Peak between the steps of the grid: frequency in Hz, its standard uncertainty, amplitude there.

    The uncertainty is that of a tone in white noise, ``sqrt(6) s / (pi A T sqrt(n))`` (from memory).
    """
    span = max(float(t_s[-1] - t_s[0]), 1e-9)
    step = 1.0 / (OVERSAMPLING * span)
    fine = frequency_hz + step * np.linspace(-1.0, 1.0, 9)
    fine = fine[fine > 0.0]
    found = periodogram(t_s, value, fine)
    k = int(np.argmax(found.share))
    best = fine[k]
    if 0 < k < len(fine) - 1:
        left, top, right = found.share[k - 1 : k + 2]
        bend = left - 2.0 * top + right
        if bend < 0.0:
            best += 0.5 * (left - right) / bend * (fine[1] - fine[0])
    amplitude = float(periodogram(t_s, value, np.array([best])).amplitude[0])
    noise = float(np.std(value)) * np.sqrt(max(1.0 - float(found.share[k]), 0.0))
    sd = np.sqrt(6.0) * noise / (np.pi * max(amplitude, 1e-12) * span * np.sqrt(len(t_s)))
    return float(best), float(min(sd, 1.0 / span)), amplitude


def folded(frequency_hz: float, rate_hz: float) -> float:
    """Where a frequency appears once it is sampled evenly at a rate, Hz."""
    return float(abs(frequency_hz - round(frequency_hz / rate_hz) * rate_hz))


@dataclass(frozen=True, slots=True)
class Background:
    """Smooth spectrum of noise that remembers: ``floor + level / (1 + (f / corner)^2)``, as power."""

    floor: float
    level: float
    corner_hz: float

    def at(self, frequency_hz: Array) -> Array:
        """Expected noise power, (f,)."""
        return self.floor + self.level / (1.0 + (frequency_hz / self.corner_hz) ** 2)


def background(frequency_hz: Array, power: Array) -> Background:
    """Fit the noise under the peaks by Whittle's likelihood; peaks far above it are left out and the fit repeated.

    Parameters
    ----------
    frequency_hz : (f,) Hz, about one a natural resolution
    power : (f,) power there, exponentially distributed about the background
    """
    keep = np.ones(len(power), bool)
    found = Background(float(np.mean(power)), 0.0, 1.0)
    for _ in range(4):
        found = _whittle(frequency_hz[keep], power[keep])
        next_keep = power / found.at(frequency_hz) < np.log(20.0 * len(power))
        if next_keep.sum() < 6 or np.array_equal(next_keep, keep):
            break
        keep = next_keep
    return found


def _whittle(f: Array, power: Array) -> Background:
    """Largest likelihood over the ratio of level to floor and the corner, on ever finer grids; the size follows."""
    ratio = np.concatenate([[0.0], np.geomspace(0.05, 1e5, 20)])
    corner = np.geomspace(f[0] / 4.0, f[-1], 20)
    zoom_ratio, zoom_corner = ratio[2] / ratio[1], corner[1] / corner[0]
    found = Background(float(np.mean(power)), 0.0, 1.0)
    for _ in range(3):
        shape = 1.0 + ratio[:, None, None] / (1.0 + (f / corner[:, None]) ** 2)
        size = np.maximum(np.mean(power / shape, axis=2), 1e-300)
        loss = np.log(size) + np.mean(np.log(shape), axis=2)
        i, j = np.unravel_index(int(np.argmin(loss)), loss.shape)
        found = Background(float(size[i, j]), float(size[i, j] * ratio[i]), float(corner[j]))
        if ratio[i] == 0.0:
            break
        ratio = ratio[i] * np.geomspace(1.0 / zoom_ratio, zoom_ratio, 7)
        corner = corner[j] * np.geomspace(1.0 / zoom_corner, zoom_corner, 7)
        zoom_ratio, zoom_corner = zoom_ratio ** (1.0 / 3.0), zoom_corner ** (1.0 / 3.0)
    return found
