"""Size of a periodic swing in several short stretches: frequency from all, size from a fit in correlated noise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.decompose import decompose

SLOWEST_HZ: Final = 0.15
FASTEST_HZ: Final = 5.0
FALSE_ALARM: Final = 0.001
VARIES: Final = 0.03  # share by which its size changes with speed and load unseen (assumption)
_CYCLES: Final = 2.5  # a swing must repeat that often within a stretch
_MOST_STRETCHES: Final = 8
_MOST_RATE_HZ: Final = 20.0
_HARMONICS: Final = 9

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Swing:
    """Half of peak to peak of the periodic part, with its 95 % interval.

    ``value`` is what stands above the largest peak that noise alone would show; 0 where nothing does.
    """

    value: float
    low: float
    high: float
    sd: float
    systematic: float
    frequency_hz: float
    significant: bool


def swing(stretches: list[tuple[Array, Array]], half_width_s: float = 0.0) -> Swing:
    """Strongest periodic swing common to some stretches.

    Parameters
    ----------
    stretches : of each its times, s, and its values, (k,) with k >= 12
    half_width_s : every value was true somewhere within this time of its stamp, s
    """
    longest = sorted(stretches, key=lambda s: s[0][0] - s[0][-1])[:_MOST_STRETCHES]
    parts = [_thin(t - t[0], x) for t, x in longest]
    step = max(float(np.median(np.diff(t))) for t, _ in parts)
    length = min(float(t[-1]) for t, _ in parts)
    lowest = max(SLOWEST_HZ, _CYCLES / length)
    # beyond half the sampling rate too: uneven sampling tells the frequency there, and the size is right anyhow
    grid = np.arange(lowest, FASTEST_HZ, 0.2 / length)
    grid = grid[np.abs(grid - np.round(grid * step) / step) > 0.9 * lowest]
    power = np.sum([_power(grid, t, x) for t, x in parts], axis=0)
    # red noise lifts the slow end: a peak is judged against its own surroundings
    floor = np.array([np.median(power[(grid > f / 1.8) & (grid < f * 1.8)]) for f in grid])
    peak = int(np.argmax(power / np.sqrt(floor * np.median(power))))
    best = float(grid[peak])
    fine = best + np.arange(-0.2, 0.201, 0.02 * length / max(float(t[-1]) for t, _ in parts)) / length
    best = float(fine[int(np.argmax(np.sum([_power(fine, t, x) for t, x in parts], axis=0)))])
    tries = max(1.0, (FASTEST_HZ - lowest) * length)
    squares, spreads, fisher = [], [], 0.0
    for t, x in parts:
        b, cov, df = _fit(t, x, best, 1)
        squares.append(float(b @ b))
        spreads.append(float(np.trace(cov)))
        # -ln p of F(2, df); the sum over stretches is Fisher's way to join tests (from memory)
        fisher += 0.5 * df * float(np.log1p(b @ np.linalg.pinv(cov) @ b / df))
    # power of noise summed over k stretches is a gamma of shape k, whose median is near k - 1/3
    above = float(power[peak] / floor[peak]) * (len(parts) - 1.0 / 3.0)
    chance = tries * max(float(scipy.special.gammaincc(len(parts), x)) for x in (fisher, above))
    significant = chance < FALSE_ALARM
    noise = float(np.mean(spreads))
    count = len(parts)
    square = float(np.mean(squares))
    # variance of the mean of |b|^2 about its true size, both components with variance noise / 2
    sd_square = float(np.sqrt((2.0 * max(square - noise, 0.0) * noise + noise**2) / count))
    sd_square = max(sd_square, float(np.std(squares) / np.sqrt(count)) if significant and count > 2 else 0.0)
    high = float(np.sqrt(max(square - noise, 0.0) + 2.0 * sd_square))
    if not significant:
        rest = square - noise * (1.0 + np.log(tries) / count)
        return Swing(float(np.sqrt(max(rest, 0.0))), 0.0, high, 0.5 * high, 0.0, best, False)
    halves = [_half_peak_to_peak(t, x, best) for t, x in parts]
    size = float(np.sqrt(max(square - noise, 0.0)))
    low = float(np.sqrt(max(square - noise - 1.96 * sd_square, 0.0)))
    shape = float(np.mean(halves)) / float(np.mean(np.sqrt(squares)))
    # a value that holds somewhere within +- half_width_s flattens a wave
    shape /= max(float(np.sinc(2.0 * best * half_width_s)), 0.5)
    value = size * shape
    # harmonics that were cut off would sharpen the corners; and a swing is not quite the same in all conditions
    cut_off = float(np.hypot(0.4 * (shape - 1.0), VARIES)) * size
    below, over = np.hypot(value - low * shape, 1.96 * cut_off), np.hypot(high * shape - value, 1.96 * cut_off)
    sd = shape * (high - low) / 3.92
    return Swing(value, max(value - float(below), 0.0), value + float(over), sd, cut_off, best, True)


def _thin(t: Array, x: Array) -> tuple[Array, Array]:
    """Block means of a fast record, so that 25 values a second stay."""
    block = int((len(t) - 1) / max(float(t[-1] - t[0]), 1e-9) / _MOST_RATE_HZ)
    if block < 2:
        return t, x
    n = len(t) // block * block
    return t[:n].reshape(-1, block).mean(axis=1), x[:n].reshape(-1, block).mean(axis=1)


def _power(grid_hz: Array, t: Array, x: Array) -> Array:
    """Normalised power at some frequencies of values less a parabola."""
    u = 2.0 * t / t[-1] - 1.0
    design = np.column_stack([np.ones(len(t)), u, u**2])
    rest = x - design @ np.linalg.lstsq(design, x, rcond=None)[0]
    wave = np.exp(-2j * np.pi * np.outer(grid_hz, t)) @ rest
    out: Array = np.abs(wave) ** 2 / (len(t) * max(float(np.mean(rest**2)), 1e-12))
    return out


def _fit(t: Array, x: Array, frequency_hz: float, harmonics: int) -> tuple[Array, Array, float]:
    """Cosine and sine of each harmonic with covariance and degrees of freedom, beside a trend in correlated noise."""
    u = 2.0 * t / t[-1] - 1.0
    phase = 2.0 * np.pi * frequency_hz * t
    waves = [f(k * phase) for k in range(1, harmonics + 1) for f in (np.cos, np.sin)]
    design = np.column_stack([np.ones(len(t)), u, u**2, *waves])
    fit = decompose(x, t, [(1.0, design)], np.full(3 + len(waves), np.inf), rounds=1)
    return fit.value[3:], fit.noise[3:, 3:], fit.df


def _half_peak_to_peak(t: Array, x: Array, frequency_hz: float) -> float:
    """Half of peak to peak of the folded waveform; harmonics count where they stand clear of the noise."""
    step = float(np.median(np.diff(t)))
    harmonics = max(1, min(_HARMONICS, int(0.45 / step / frequency_hz), len(t) // 10))
    b, cov, _ = _fit(t, x, frequency_hz, harmonics)
    phase = np.linspace(0.0, 2.0 * np.pi, 256)
    wave = b[0] * np.cos(phase) + b[1] * np.sin(phase)
    for k in range(1, harmonics):
        part = b[2 * k : 2 * k + 2]
        if part @ np.linalg.pinv(cov[2 * k : 2 * k + 2, 2 * k : 2 * k + 2]) @ part > 11.8:  # 3 sigma in two dimensions
            wave += part[0] * np.cos((k + 1) * phase) + part[1] * np.sin((k + 1) * phase)
    return 0.5 * float(np.ptp(wave))
