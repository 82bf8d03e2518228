"""Edge times from sampled sensor voltages: square waves by their middle, coils (VR) by their zero crossings.

A crossing counts once the signal has passed a threshold on the side before and on the side after. The threshold
follows the local amplitude, which grows with speed for a coil, and stays above the noise.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Volts = NDArray[np.floating]

CHUNK: Final = 1 << 20
NEAR_LEVEL: Final = 0.15  # of the span: a sample this near to either level belongs to it
SQUARE_SHARE: Final = 0.75  # samples near a level; a sine has half of them there
SQUARE_HYSTERESIS: Final = 0.2  # of the span, to either side
COIL_THRESHOLD: Final = 0.25  # of the local peak
ENVELOPE_S: Final = 0.02
ENVELOPE_MEMORY_S: Final = 0.2
NOISE_FACTOR: Final = 6.0
NOISE_CAP: Final = 0.1  # of the largest peak


@dataclass(frozen=True, slots=True)
class Crossings:
    """Edge times of one signal.

    Parameters
    ----------
    rising_s, falling_s : (k,) s, ascending, between samples by linear interpolation
    kind : ``square`` or ``coil``
    level : voltage whose crossing is the edge
    """

    rising_s: Array
    falling_s: Array
    kind: Literal["square", "coil"]
    level: float


def crossings(t_s: Array, volts: Volts) -> Crossings:
    """Rising and falling edges of a sampled signal.

    Parameters
    ----------
    t_s : (n,) float64, s, ascending
    volts : (n,) V; values that are no number end an edge and start none
    """
    sample = volts[:: max(1, len(volts) // 200_000)]
    sample = sample[np.isfinite(sample)]
    if len(sample) < 8 or np.ptp(sample) <= 0.0:
        none = np.empty(0)
        return Crossings(none, none, "square", float(sample[0]) if len(sample) else 0.0)
    low, high = (float(v) for v in np.percentile(sample, [0.1, 99.9]))
    span = high - low
    near = np.minimum(np.abs(sample - low), np.abs(sample - high)) < NEAR_LEVEL * span
    if np.mean(near) > SQUARE_SHARE:
        level = 0.5 * (low + high)
        envelope = np.full(1, SQUARE_HYSTERESIS * span)
        return _armed(t_s, volts, level, envelope, len(volts), "square")
    level = float(np.median(sample))
    block = max(4, round(ENVELOPE_S / max(float(t_s[-1] - t_s[0]) / (len(t_s) - 1), 1e-9)))
    return _armed(t_s, volts, level, _thresholds(volts, level, block), block, "coil")


def _thresholds(volts: Volts, level: float, block: int) -> Array:
    """Threshold of each block of samples: a share of the local peak, above the noise, (blocks,)."""
    start = np.arange(0, len(volts), block)
    peak = np.maximum(np.maximum.reduceat(volts, start) - level, level - np.minimum.reduceat(volts, start))
    peak = np.nan_to_num(peak.astype(float))
    quiet = [_noise(volts[k : k + block]) for k in start[:: max(1, len(start) // 400)]]
    noise = float(np.percentile(quiet, 5.0))
    # each peak fades to both sides: the largest of all faded peaks holds
    fade = np.arange(len(peak)) * ENVELOPE_S / ENVELOPE_MEMORY_S
    log_peak = np.log(np.maximum(peak, 1e-12))
    before = np.maximum.accumulate(log_peak + fade) - fade
    after = (np.maximum.accumulate((log_peak - fade)[::-1]))[::-1] + fade
    envelope = np.exp(np.maximum(before, after))
    out: Array = np.maximum(COIL_THRESHOLD * envelope, min(NOISE_FACTOR * noise, NOISE_CAP * float(peak.max())))
    return out


def _noise(volts: Volts) -> float:
    """Standard deviation of white noise with the second differences of these samples."""
    return float(np.std(np.diff(volts.astype(float), 2))) / np.sqrt(6.0) if len(volts) > 4 else np.inf


def _armed(
    t_s: Array, volts: Volts, level: float, threshold: Array, block: int, kind: Literal["square", "coil"]
) -> Crossings:
    """Crossing of the level after the signal was beyond the threshold, if it reaches the other side."""
    ends: list[Index] = []
    sides: list[NDArray[np.int8]] = []
    crossed: list[Index] = []
    for begin in range(0, len(volts), CHUNK):
        v = volts[begin : begin + CHUNK + 1] - level
        reach = threshold[(begin + np.arange(len(v))) // block]
        side = (v > reach).astype(np.int8) - (v < -reach).astype(np.int8)
        at = np.flatnonzero(side)
        turn = np.flatnonzero(np.diff(side[at]))
        keep = at[np.unique(np.concatenate([[0], turn, turn + 1, [len(at) - 1]]))] if len(at) else at
        ends.append(begin + keep)
        sides.append(side[keep])
        sign = np.sign(v).astype(np.int8)
        crossed.append(begin + np.flatnonzero(np.diff(sign)))
    at, side = np.concatenate(ends), np.concatenate(sides)
    cross = np.unique(np.concatenate(crossed))
    turn = np.flatnonzero(np.diff(side))
    if not len(turn) or not len(cross):
        return Crossings(np.empty(0), np.empty(0), kind, level)
    first = cross[np.searchsorted(cross, at[turn])]
    last = cross[np.searchsorted(cross, at[turn + 1]) - 1]
    # a coil rests near the level in a gap: the middle of all crossings, as of a slow crossing, tells the gap's middle
    edge = 0.5 * (_between(t_s, volts, level, first) + _between(t_s, volts, level, last))
    rising = side[turn + 1] > 0
    return Crossings(edge[rising], edge[~rising], kind, level)


def _between(t_s: Array, volts: Volts, level: float, i: Index) -> Array:
    """Time at which the straight line from sample ``i`` to the next one meets the level, s."""
    v_0, v_1 = volts[i].astype(float) - level, volts[i + 1].astype(float) - level
    out: Array = t_s[i] + (t_s[i + 1] - t_s[i]) * v_0 / (v_0 - v_1)
    return out
