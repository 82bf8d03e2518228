"""Edge times from sampled sensor voltages: square waves by their middle, coils (VR) by their zero crossings.

A square wave that a recorder's high-pass has bent has its middle between what it was before and after each step.

A crossing counts once the signal has passed a threshold on the side before and on the side after. The threshold
follows the local amplitude, which grows with speed for a coil, and stays above the noise; where noise leaves too little
room for that, neighbours are averaged (``edge_noise``). A recording is looked at twice, a chunk at a time: first for
the kind of signal and its amplitude, then for the crossings.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from logan.dsp.droop import Centred, steps
from logan.dsp.edge_noise import (
    COIL_CLEAR,
    COIL_LEAST,
    NARROWEST,
    NOTABLE,
    QUIET,
    Smoothed,
    coil_sizes,
    coil_widths,
    evenly,
    two_levels,
    white_noise,
)
from logan.model.sensor import Column

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Volts = NDArray[np.floating]

CHUNK: Final = 1 << 18  # samples; what is done with them stays in the processor's cache
NEAR_LEVEL: Final = 0.15  # of the span: a sample this near to either level belongs to it
SQUARE_SHARE: Final = 0.75  # samples near a level; a sine has half of them there
DROOP_SHARE: Final = 0.8  # samples on levels that droop
DROOP_HYSTERESIS: Final = 0.3  # of a step, to either side
FEWEST_ASTRAY: Final = 3  # steps that a fixed level would hardly meet; a spike or two are no droop
SQUARE_HYSTERESIS: Final = 0.2  # of the span, to either side
COIL_THRESHOLD: Final = 0.25  # of the local peak
ENVELOPE_S: Final = 0.02
ENVELOPE_MEMORY_S: Final = 0.2
NOISE_FACTOR: Final = 6.0
NOISE_CAP: Final = 0.1  # of the largest peak
CLEAR_SHARE: Final = 0.9  # of the blocks of a noisy coil's signal that must stand clear of the noise
ONE_SIDED: Final = 0.15  # of the swing to one side, the least to the other of a coil
_TAIL: Final = 3.1  # deviations beyond which one sample in a thousand of normal noise lies
_NO_NUMBER: Final = 2  # the side of a sample that is no finite number: no edge goes past it


@dataclass(frozen=True, slots=True)
class Crossings:
    """Edge times of one signal.

    Parameters
    ----------
    rising_s, falling_s : (k,) s, ascending, between samples by linear interpolation
    kind : ``square`` or ``coil``
    level : voltage whose crossing is the edge; NaN where it follows levels that droop
    rounding : step to which the times are rounded as far as the voltages show, in sample steps: 1 where every crossing
        lies at the same place between its samples, as of steps that the recorder has not smoothed, 0 where anywhere
    noise : standard deviation of white noise as a share of the swing from peak to peak, 0 where it does not matter
    noise_s : standard deviation of an edge's time by that noise, s
    drowned : whether the noise is so large that edges may be lost or made by it, averaged or not
    """

    rising_s: Array
    falling_s: Array
    kind: Literal["square", "coil"]
    level: float
    rounding: float = 1.0
    noise: float = 0.0
    noise_s: float = 0.0
    drowned: bool = False


def crossings(t_s: Column, volts: Column, chunk: int = CHUNK) -> Crossings:
    """Rising and falling edges of a sampled signal.

    Parameters
    ----------
    t_s : (n,) float64, s, ascending
    volts : (n,) V; an edge during which a value is no finite number is none
    chunk : samples that are looked at together; the edges do not depend on it
    """
    sample = volts[:: max(1, len(volts) // 200_000)]
    sample = sample[np.isfinite(sample)]
    if len(sample) < 8 or np.ptp(sample) <= 0.0:
        none = np.empty(0)
        return Crossings(none, none, "square", float(sample[0]) if len(sample) else 0.0)
    low, high = (float(v) for v in np.percentile(sample, [0.1, 99.9]))
    span = high - low
    near = np.minimum(np.abs(sample - low), np.abs(sample - high)) < NEAR_LEVEL * span
    share = float(np.mean(near))
    step_s = max(float(t_s[-1] - t_s[0]) / (len(t_s) - 1), 1e-9)
    bent = steps(volts, low, high, step_s)
    fixed = share > SQUARE_SHARE and (bent is None or bent.astray < FEWEST_ASTRAY or bent.near_share < share)
    if fixed:
        level = 0.5 * (low + high)
        envelope = np.full(1, SQUARE_HYSTERESIS * span)
        return _armed(t_s, volts, level, envelope, len(volts), "square", chunk)
    block = max(4, round(ENVELOPE_S / step_s))
    noise, white = white_noise(volts)
    notable = noise > NOTABLE * span
    droops = bent is not None and bent.near_share > DROOP_SHARE
    hidden = two_levels(volts, noise if notable and white else 0.0) if notable or not droops else None
    if hidden is not None:
        level, reach = 0.5 * (hidden.low + hidden.high), np.full(1, SQUARE_HYSTERESIS * hidden.swing)
        found = _armed(t_s, evenly(volts, hidden.width, block), level, reach, len(volts), "square", chunk)
        share = hidden.noise / hidden.swing
        pulse = np.diff(np.sort(np.concatenate([found.rising_s, found.falling_s])))
        least_s = NARROWEST * hidden.width * step_s if hidden.width > 1 else 0.0
        narrow = len(pulse) > 0 and bool(np.percentile(pulse, 1.0) < least_s)
        return replace(
            found, noise=share, noise_s=share * float(np.sqrt(hidden.width)) * step_s, drowned=narrow
        )  # fmt: skip
    if bent is not None and droops:
        found = _armed(t_s, bent.centred, 0.0, np.full(1, DROOP_HYSTERESIS * bent.size), len(volts), "square", chunk)
        return replace(found, level=float("nan"))
    level = float(np.median(sample))
    peak = _every_peak(volts, level, block, chunk)
    signal = peak[peak > QUIET * noise]
    if not len(signal) or noise > 2.0 * NOTABLE * float(np.percentile(signal, 25.0)):
        sides = np.array([high - level, level - low]) - _TAIL * noise
        found = _noisy_coil(t_s, volts, level, noise, step_s, chunk)
        # a coil swings to both sides of where it rests; pulses to one side that are no square wave are neither
        return found if sides.min() > ONE_SIDED * sides.max() else replace(found, drowned=True)
    return _armed(t_s, volts, level, _thresholds(volts, peak, block), block, "coil", chunk)


def _noisy_coil(t_s: Column, volts: Column, level: float, noise: float, step_s: float, chunk: int) -> Crossings:
    """Crossings of a coil's signal under noise: averaged where its peaks do not stand clear of it."""
    block = max(4, round(ENVELOPE_S / step_s))
    plan = coil_widths(volts, level, noise, block)
    seen = Smoothed(volts, plan.width, block) if plan.width.max() > 1 else volts
    left = noise / np.sqrt(plan.width)
    own = _every_peak(seen, level, block, chunk)
    size = np.nan_to_num(coil_sizes(seen, level, left, block))
    # where noise alone reaches its usual peak a threshold clear of it holds; else it must leave as much to the peak
    quiet = own < QUIET * left
    clear = np.where(quiet, COIL_CLEAR * left, np.minimum(COIL_CLEAR * left, 0.5 * size))
    found = _armed(t_s, seen, level, np.maximum(_thresholds(seen, own, block), clear), block, "coil", chunk)
    if quiet.all():
        return replace(found, noise=1.0, drowned=True)
    whole = coil_sizes(volts, level, np.full(len(left), noise), block)[~quiet]
    share = 0.5 * noise / max(float(np.nanmedian(whole)), noise)
    size, left, quarter = (each[~quiet] for each in (np.maximum(size, 0.1 * left), left, plan.quarter))
    # a sine's steepness at zero is its height times pi / 2 in a quarter of its period
    error = left * quarter / (0.5 * np.pi * size)
    return replace(
        found, noise=share, noise_s=float(np.median(error)) * step_s,
        drowned=bool(np.mean(size >= COIL_LEAST * left) < CLEAR_SHARE),
    )  # fmt: skip


def _every_peak(volts: Column, level: float, block: int, chunk: int) -> Array:
    """Largest distance from the level in each block of samples, (blocks,) V."""
    whole = block * max(1, chunk // block)  # blocks are not cut
    return np.concatenate([_peaks(volts[at : at + whole], level, block) for at in range(0, len(volts), whole)])


def _thresholds(volts: Column, peak: Array, block: int) -> Array:
    """Threshold of each block of samples: a share of the local peak, above the noise, (blocks,)."""
    start = np.arange(0, len(volts), block)
    quiet = [_noise(volts[k : k + block]) for k in start[:: max(1, len(start) // 400)].tolist()]
    quiet = [noise for noise in quiet if np.isfinite(noise)]
    floor = min(NOISE_FACTOR * float(np.percentile(quiet, 5.0)), NOISE_CAP * float(peak.max())) if quiet else 0.0
    # each peak fades to both sides: the largest of all faded peaks holds
    fade = np.arange(len(peak)) * ENVELOPE_S / ENVELOPE_MEMORY_S
    log_peak = np.log(np.maximum(peak, 1e-12))
    before = np.maximum.accumulate(log_peak + fade) - fade
    after = (np.maximum.accumulate((log_peak - fade)[::-1]))[::-1] + fade
    out: Array = np.maximum(COIL_THRESHOLD * np.exp(np.maximum(before, after)), floor)
    return out


def _peaks(volts: Volts, level: float, block: int) -> Array:
    """Largest distance from the level in each block of samples, 0 where there is no finite one."""
    away = np.abs(volts - level)
    away[~np.isfinite(away)] = 0.0
    out: Array = np.maximum.reduceat(away, np.arange(0, len(away), block)).astype(float)
    return out


def _noise(volts: Volts) -> float:
    """Standard deviation of white noise with the second differences of these samples; infinite where unknown."""
    if len(volts) <= 4 or not np.isfinite(volts).all():
        return np.inf
    return float(np.std(np.diff(volts.astype(float), 2)) / np.sqrt(6.0))


def _armed(
    t_s: Column, volts: Column | Centred, level: float, threshold: Array, block: int,
    kind: Literal["square", "coil"], chunk: int,
) -> Crossings:  # fmt: skip
    """Crossing of the level after the signal was beyond the threshold, if it reaches the other side.

    From chunk to chunk go the last sample that was beyond the threshold, and the first and last crossing since.
    """
    at, side = np.empty(0, np.int64), np.empty(0, np.int8)
    cross, place = np.empty(0, np.int64), np.empty(0)
    places: list[Array] = [np.empty(0)]
    edges: list[Array] = [np.empty(0)]
    rising: list[NDArray[np.bool_]] = [np.empty(0, np.bool_)]
    for begin in range(0, len(volts), chunk):
        part = volts[begin : begin + chunk + 1]  # one sample more: a crossing may lie between two chunks
        v = part - level
        beyond = _beyond(v, threshold, begin, block)
        found = np.flatnonzero(np.diff(beyond, prepend=beyond[0]) | np.diff(beyond, append=beyond[-1]))
        found = np.concatenate([[0], found, [len(v) - 1]])  # the first and last of equal ones are enough
        found = found[beyond[found] != 0]
        crossed = np.flatnonzero(np.diff(np.sign(v)))
        at, side = np.concatenate([at, begin + found]), np.concatenate([side, beyond[found]])
        cross = np.concatenate([cross, begin + crossed])
        place = np.concatenate([place, _between(part, level, crossed)])
        turn = np.flatnonzero(side[1:] * side[:-1] == -1)
        # a coil rests near the level in a gap: the middle of all crossings, as of a slow crossing, tells its middle
        first = np.searchsorted(cross, at[turn])
        last = np.searchsorted(cross, at[turn + 1]) - 1
        edges.append(0.5 * (_time(t_s, cross[first], place[first]) + _time(t_s, cross[last], place[last])))
        places.append(place[first])
        rising.append(side[turn + 1] > 0)
        at, side = at[-1:], side[-1:]
        since = np.searchsorted(cross, at[0]) if len(at) else len(cross)
        keep = [since, -1] if since < len(cross) else []
        cross, place = cross[keep], place[keep]
    edge, up = np.concatenate(edges), np.concatenate(rising)
    return Crossings(edge[up], edge[~up], kind, level, _rounding(np.concatenate(places)))


def _rounding(place: Array) -> float:
    """Step, in sample steps, whose uniform errors have the variance of those that the places between samples have.

    An edge is anywhere between two samples, and where it is later, so is the place found: the true place is the rank.
    """
    if not len(place):
        return 1.0
    true = (np.arange(len(place)) + 0.5) / len(place)
    return min(1.0, float(np.sqrt(12.0 * np.mean(np.square(np.sort(place) - true)))))


def _beyond(v: Volts, threshold: Array, begin: int, block: int) -> NDArray[np.int8]:
    """Side on which each sample is beyond its block's threshold: 1, -1, 0 for neither, _NO_NUMBER, (n,)."""
    first, last = begin // block, (begin + len(v) - 1) // block
    ends: Index = np.clip(np.arange(first, last + 2) * block, begin, begin + len(v))
    reach = np.repeat(threshold[first : last + 1].astype(v.dtype), ends[1:] - ends[:-1])
    out = (v > reach).astype(np.int8) - (v < -reach).astype(np.int8)
    out[~np.isfinite(v)] = _NO_NUMBER
    return out


def _between(part: Volts, level: float, i: Index) -> Array:
    """Place, 0 to 1, at which the straight line from sample ``i`` of a part to the next one meets the level."""
    v_0, v_1 = part[i].astype(float) - level, part[i + 1].astype(float) - level
    with np.errstate(invalid="ignore"):  # beside a value that is no number
        out: Array = v_0 / (v_0 - v_1)
    return out


def _time(t_s: Column, i: Index, place: Array) -> Array:
    """Time at a place between sample ``i`` and the next one, s."""
    out: Array = t_s[i] + (t_s[i + 1] - t_s[i]) * place
    return out
