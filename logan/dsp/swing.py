"""The strongest periodic swing of a series: its frequency, its size, and what noise or the sampling may feign.

A series that only scatters has a strongest frequency too. A swing stands where it stands out of white noise and out of
noise that remembers.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp import spectrum

LOW_HZ: Final = 0.1
HIGH_HZ: Final = 3.0
SHORTEST_S: Final = 20.0
"""No verdict on less by itself: at 2 values a second half of all swings would be missed (measured by simulation)."""
SHORTEST_PIECE_S: Final = 10.0
PIECE_S: Final = 60.0
"""A governor does not keep its beat for ever: longer stretches are cut and their powers added."""
SIGNIFICANT: Final = 0.01
RIVAL: Final = 0.5
"""Share of the peak's power from which another frequency may be the strongest just as well."""
ENOUGH_HZ: Final = 25.0
"""Values a second beyond which neighbours are averaged: eight a period of the fastest swing."""
AS_STRONG: Final = 0.8
"""Share of the peak's power at which a folded frequency explains the values as well."""
WINDOW_PERIODS: Final = 6.0
WINDOW_VALUES: Final = 12.0
KEEPS_BEAT: Final = 0.2
"""Turns by which a governor's swing may wander over one stretch, standard uncertainty (assumed)."""
HARMONICS: Final = 5
SHOWN: Final = 0.4
"""Up to which share of the values a second a harmonic shows."""
UNSEEN: Final = 0.04
"""What a second harmonic too fast to be seen may add to half of peak to peak, standard uncertainty (assumed)."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Stretch:
    """Samples of one unbroken span, (n,) each, s and the unit of the series."""

    t_s: Array
    value: Array


@dataclass(frozen=True, slots=True)
class Swing:
    """The strongest periodic swing.

    Parameters
    ----------
    frequency_hz, frequency_sd : Hz
    amplitude, amplitude_sd : half of peak to peak, unit of the series
    as_one_sine : amplitude of the sine that fits whole pieces; smaller where the beat is not kept
    as_one_sine_most : the same, largest of the pieces
    noise_amplitude : amplitude that noise alone has at a single frequency, root mean square
    chance : probability that noise gives such a peak
    images_hz : other frequencies in the band that the sampling cannot tell from it
    rivals_hz : lowest and highest other frequency with half of its power and more
    """

    frequency_hz: float
    frequency_sd: float
    amplitude: float
    amplitude_sd: float
    as_one_sine: float
    as_one_sine_most: float
    noise_amplitude: float
    chance: float
    images_hz: tuple[float, ...]
    rivals_hz: tuple[float, ...]


def strongest_swing(pieces: list[Stretch]) -> Swing:
    """Strongest periodic swing of some stretches of one series."""
    pieces = [_thinned(piece) for piece in pieces]
    rate = rate_of(pieces)
    length_s = max(float(p.t_s[-1] - p.t_s[0]) for p in pieces)
    n = sum(len(p.t_s) for p in pieces)
    lowest = max(LOW_HZ, 1.5 / length_s)
    highest = max(min(HIGH_HZ, 0.49 * rate), 1.5 * lowest)
    fine = np.arange(lowest, highest, 1.0 / (spectrum.OVERSAMPLING * length_s))
    power = power_of(pieces, fine)
    count = len(pieces)
    coarse = np.arange(max(1.0 / length_s, 0.5 * LOW_HZ), min(0.49 * rate, 2.0 * HIGH_HZ), 1.0 / length_s)
    noise = spectrum.background(coarse, power_of(pieces, coarse) / count) if len(coarse) > 5 else None
    level = noise.at(fine) if noise else np.full(len(fine), np.mean(power) / count)
    turns = max(spectrum.width(p.t_s, highest - lowest) for p in pieces)
    squares = sum(float(np.var(p.value)) * len(p.value) for p in pieces)

    def chance(k: int) -> float:
        share = 2.0 * float(power[k]) / squares if squares > 0.0 else 0.0
        in_white = spectrum.false_alarm(share, n, turns, count)
        return max(in_white, spectrum.false_alarm_above(float(power[k]) / max(float(level[k]), 1e-12), turns, count))

    k, clearest = int(np.argmax(power)), int(np.argmax(power / level))
    # slow wandering may be the strongest, but it is no beat: a clear beat of about its power goes before it
    if power[clearest] > RIVAL * power[k] and chance(clearest) <= SIGNIFICANT:
        k = clearest
    rivals = fine[(power > RIVAL * power[k]) & (np.abs(fine - fine[k]) > 1.0 / length_s)]
    frequency = _peak(pieces, float(fine[k]), length_s)
    frequency, images = _images(pieces, frequency, rate, length_s)
    amplitude, amplitude_sd = _amplitude(pieces, frequency, float(level[k]), rate)
    own = [spectrum.refine(p.t_s, p.value, frequency)[:2] for p in pieces]
    drift = KEEPS_BEAT / (length_s * np.sqrt(count))
    if count > 2:  # as a normal standard uncertainty, though few pieces tell it
        student = float(scipy.special.stdtrit(count - 1.0, 0.975)) / 1.96
        drift = max(float(np.std([f for f, _ in own], ddof=1)) / np.sqrt(count) * student, 0.2 * drift)
    return Swing(
        frequency_hz=frequency,
        frequency_sd=float(np.hypot(drift, np.sqrt(np.mean([sd**2 for _, sd in own]) / count))),
        amplitude=amplitude,
        amplitude_sd=amplitude_sd,
        as_one_sine=float(np.sqrt(4.0 * power[k] / n)),
        as_one_sine_most=max(float(np.sqrt(4.0 * power_of([p], fine[k : k + 1])[0] / len(p.t_s))) for p in pieces),
        noise_amplitude=float(np.sqrt(4.0 * level[k] * count / n)),
        chance=chance(k),
        images_hz=images,
        rivals_hz=(float(rivals[0]), float(rivals[-1])) if len(rivals) else (),
    )


def third_harmonic_shows(frequency_hz: float, rate_hz: float) -> bool:
    """Whether values so fast tell a triangular swing from a sine."""
    return 3.0 * frequency_hz < SHOWN * rate_hz


def pieces_of(parts: list[Stretch]) -> list[Stretch]:
    """Stretches of at most a minute, freed of their trend, long enough for one turn of the slowest swing."""
    out = []
    for part in map(_thinned, parts):
        length_s = float(part.t_s[-1] - part.t_s[0])
        count = max(int(np.ceil(length_s / PIECE_S - 1e-9)), 1)
        bounds = np.searchsorted(part.t_s, part.t_s[0] + length_s * np.arange(1, count) / count)
        for t_s, value in zip(np.split(part.t_s, bounds), np.split(part.value, bounds), strict=True):
            if len(t_s) >= 8 and t_s[-1] - t_s[0] >= SHORTEST_PIECE_S:
                time = t_s - t_s.mean()
                out.append(Stretch(t_s, value - time * float(time @ value) / float(time @ time)))
    return out


def _thinned(part: Stretch) -> Stretch:
    """Means of neighbours where the values come much faster than any swing looked for; the loss below 3 Hz is 2 %."""
    size = int((len(part.t_s) - 1) / max(float(part.t_s[-1] - part.t_s[0]), 1e-9) / ENOUGH_HZ)
    if size < 2 or len(part.t_s) < 2 * size:
        return part
    starts = np.arange(0, len(part.t_s) - size + 1, size)
    end = int(starts[-1]) + size
    t_s, value = (np.add.reduceat(x[:end], starts) / size for x in (part.t_s, part.value))
    return Stretch(t_s, value)


def rate_of(pieces: list[Stretch]) -> float:
    """Usual number of values a second; holes do not count."""
    steps = np.concatenate([np.diff(p.t_s) for p in pieces])
    steps = steps[steps > 0]
    return 1.0 / float(np.mean(steps[steps < 3.0 * np.median(steps)]))


def power_of(pieces: list[Stretch], frequency_hz: Array) -> Array:
    """Half of the sum of squares that a sinusoid explains, over all pieces, (f,); Exp(variance) for white noise."""
    total = np.zeros(len(frequency_hz))
    for p in pieces:
        total += 0.5 * spectrum.periodogram(p.t_s, p.value, frequency_hz).share * float(np.var(p.value)) * len(p.value)
    return total


def _peak(pieces: list[Stretch], near_hz: float, length_s: float, reach: float = 0.2) -> float:
    """Highest power within so many natural resolutions."""
    close = near_hz + np.linspace(-reach, reach, 2 * int(50 * reach) + 1) / length_s
    close = close[close > 0.0]
    return float(close[np.argmax(power_of(pieces, close))])


def _images(pieces: list[Stretch], frequency: float, rate: float, length_s: float) -> tuple[float, tuple[float, ...]]:
    """Frequencies of the band that the sampling folds onto this one: the best of all, and those as strong as it."""
    candidates = [abs(m * rate + sign * frequency) for m in (1, 2, 3) for sign in (-1, 1)]
    images = [frequency] + [_peak(pieces, f, length_s, 1.0) for f in candidates if LOW_HZ <= f <= HIGH_HZ]
    strength = power_of(pieces, np.array(images))
    # the slowest explanation stands unless the uneven sampling speaks clearly for another
    best = 0 if strength[0] >= 0.95 * strength.max() else int(np.argmax(strength))
    strong = sorted(
        {round(f, 4) for k, f in enumerate(images) if k != best and strength[k] > AS_STRONG * strength[best]}
    )
    return images[best], tuple(strong)


def _amplitude(pieces: list[Stretch], frequency: float, level: float, rate: float) -> tuple[float, float]:
    """Half of peak to peak and its standard uncertainty, from short windows in which the beat is kept.

    A beat that wanders is lost in proportion to the length of the window: windows of half the length tell how much.
    """
    window_s = max(WINDOW_PERIODS / frequency, WINDOW_VALUES / rate)
    _, _, power, scatter, count = _windowed(pieces, frequency, level, window_s)
    angle, rest, half_power, half_scatter, _ = _windowed(pieces, frequency, level, 0.5 * window_s)
    lost = float(np.clip(half_power - power, 0.0, power))
    if lost > half_scatter:
        power += 2.0 * lost
    fundamental = np.sqrt(max(power, 0.0))
    noise_sd = np.sqrt(2.0 * level / count)
    scatter_sd = scatter / max(2.0 * fundamental, 1e-9)
    lost_sd = 0.5 * lost / max(fundamental, 1e-9)
    factor, tail = _shape(angle, rest, frequency, rate)
    parts = [noise_sd, min(scatter_sd, fundamental), lost_sd, fundamental * tail]
    return float(fundamental * factor), float(np.linalg.norm(parts) * factor)


def _windowed(
    pieces: list[Stretch], frequency: float, level: float, window_s: float
) -> tuple[Array, Array, float, float, float]:
    """Angle of the swing, values without mean and slope, (n,) each; its mean square, the scatter of that, count."""
    squares: list[float] = []
    weights: list[int] = []
    angle: list[Array] = []
    rest: list[Array] = []
    for p in pieces:
        length_s = float(p.t_s[-1] - p.t_s[0])
        count = max(int(length_s / window_s), 1)
        bounds = np.searchsorted(p.t_s, p.t_s[0] + length_s * np.arange(1, count) / count)
        for t_s, value in zip(np.split(p.t_s, bounds), np.split(p.value, bounds), strict=True):
            if len(t_s) < 6:
                continue
            phase = 2.0 * np.pi * frequency * (t_s - t_s.mean())
            basis = np.column_stack([np.cos(phase), np.sin(phase), np.ones(len(t_s)), t_s - t_s.mean()])
            c, s, mean, slope = np.linalg.lstsq(basis, value, rcond=None)[0]
            squares.append(float(c * c + s * s))
            weights.append(len(t_s))
            angle.append(phase - np.arctan2(s, c))
            rest.append(value - mean - slope * (t_s - t_s.mean()))
    size = np.array(weights, float)
    corrected = np.array(squares) - 4.0 * level / size
    power = float(np.average(corrected, weights=size))
    scatter = float(np.std(corrected)) / np.sqrt(max(len(size) - 1, 1))
    return np.concatenate(angle), np.concatenate(rest), power, scatter, float(size.sum())


def _shape(angle: Array, rest: Array, frequency: float, rate: float) -> tuple[float, float]:
    """Half of peak to peak of the wave over the amplitude of its fundamental, and what unseen harmonics may add.

    1 and 0 for a sine; where the fastest that can be seen is clear, those beyond add about as much (a triangle's do,
    whose odd orders k fall off as 1 / k^2; as 5 and 7 drown in noise long before 3, a clear third is followed by more).
    """
    orders = [k for k in range(1, HARMONICS + 1) if k == 1 or k * frequency < SHOWN * rate]
    basis = np.column_stack([f(k * angle) for k in orders for f in (np.cos, np.sin)])
    fit = np.linalg.lstsq(basis, rest, rcond=None)[0]
    noise = float(np.var(rest - basis @ fit))
    turn = np.linspace(0.0, 2.0 * np.pi, 181)
    wave = np.zeros(len(turn))
    last = 0.0
    for j, k in enumerate(orders):
        c, s = fit[2 * j : 2 * j + 2]
        if k == 1 or (c * c + s * s) * len(rest) / 4.0 > 7.0 * noise:
            wave += c * np.cos(k * turn) + s * np.sin(k * turn)
            if k > 1 and (k == orders[-1] or k % 2):
                last = float(np.hypot(c, s))
    first = max(float(np.hypot(fit[0], fit[1])), 1e-12)
    return float(0.5 * np.ptp(wave) / first), last / first if len(orders) > 1 else UNSEEN
