"""Idle hunting: the strongest periodic swing of idle speed, and whether it may be a faster one folded down.

An idle that only scatters has a strongest frequency too. It counts as a swing where it stands out of white noise and
out of noise that remembers. A swing found in sparse values may be a faster one folded down by the sampling: the half
order of a weak cylinder above all (science of sampling: ``|f - round(f / rate) rate|``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp import spectrum
from logan.measures.align import sources
from logan.measures.registry import Results, gives
from logan.measures.settled import Spans, Stretch, seconds, settled_spans, stretches, until_departure, why_no_idle
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record

FREQUENCY: Final = "idle_hunt_frequency_hz"
AMPLITUDE: Final = "idle_hunt_amplitude_rpm"
LOW_HZ: Final = 0.1
HIGH_HZ: Final = 3.0
SHORTEST_S: Final = 20.0
"""No verdict on less: at 2 values a second half of all swings would be missed (measured by simulation)."""
PIECE_S: Final = 60.0
"""A governor does not keep its beat for ever: longer stretches are cut and their powers added."""
SIGNIFICANT: Final = 0.01
RIVAL: Final = 0.5
"""Share of the peak's power from which another frequency may be the strongest just as well."""
ENOUGH_HZ: Final = 25.0
"""Values a second beyond which neighbours are averaged: eight a period of the fastest swing."""
AS_STRONG: Final = 0.8
"""Share of the peak's power at which a folded frequency explains the values as well."""
SPEED_RPM: Final = 0.3
"""By how much the mean of the recorded speed may be off, for its steps and its own averaging (assumed)."""
WINDOW_PERIODS: Final = 6.0
KEEPS_BEAT: Final = 0.2
"""Turns by which a governor's swing may wander over one stretch, standard uncertainty (assumed)."""
HARMONICS: Final = 5
GOVERNOR: Final = ("fuel_quantity", "fuel_rate", "torque_actual", "calculated_load", "intake_manifold_pressure")
"""What answers to a governor that hunts, best witness first."""

Array = NDArray[np.float64]


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


@gives(FREQUENCY, AMPLITUDE, needs=("engine_speed",))
def idle_hunting(record: Record) -> Results:
    """Strongest swing of idle speed in 0.1 to 3 Hz; an amplitude whose interval begins at 0 is not told from noise."""
    channel = record.channels.best["engine_speed"]
    spans = settled_spans(record, "idle_warm")
    pieces = _pieces([until_departure(part) for part in stretches(channel, spans)])
    total_s = seconds([(float(p.t_s[0]), float(p.t_s[-1])) for p in pieces])
    if total_s < SHORTEST_S:
        why = why_no_idle(record)
        if spans:
            why = (
                f"{seconds(spans):.0f} s of warm, settled idle in stretches; a swing needs {SHORTEST_S:.0f} s and more"
            )
        yield from (Missing(measure=name, why=why, capture_hint="") for name in (FREQUENCY, AMPLITUDE))
        return
    found = strongest_swing(pieces)
    n = sum(len(p.t_s) for p in pieces)
    origin = sources([channel], [(float(p.t_s[0]), float(p.t_s[-1])) for p in pieces])
    rate = _rate(pieces)
    if found.chance > SIGNIFICANT:
        high = found.as_one_sine + 1.96 * found.noise_amplitude
        notes = ["no periodic swing stands out of the scatter of the speed"]
        yield _measure(AMPLITUDE, "rpm", found.as_one_sine, 0.0, high, found.noise_amplitude, n, origin, notes)
        yield Missing(measure=FREQUENCY, why=notes[0], capture_hint="")
        return
    notes = [f"the speed comes {rate:.1f} times a second: a swing above {rate / 2:.1f} Hz shows at a lower frequency"]
    notes = notes if rate < 2.0 * HIGH_HZ else []
    low = min(found.amplitude - 1.96 * found.amplitude_sd, found.as_one_sine - 1.96 * found.noise_amplitude)
    low = max(low, 0.0)
    high = max(found.amplitude + 1.96 * found.amplitude_sd, found.as_one_sine_most)
    order = _folded_order(pieces, found, rate, record.profile.cylinders)
    witness = _witness(record, spans, found.frequency_hz) if order is not None else None
    if witness is not None:
        notes.append(f"{witness} swings with it")
    elif order is not None:
        name, true_hz = order
        why = (
            f"the swing at {found.frequency_hz:.2f} Hz may be {name} at {true_hz:.2f} Hz, folded down by "
            f"{rate:.1f} values a second"
        )
        yield _measure(AMPLITUDE, "rpm", found.amplitude, 0.0, high, found.amplitude_sd, n, origin, [why, *notes])
        yield Missing(measure=FREQUENCY, why=why, capture_hint="")
        return
    yield _measure(AMPLITUDE, "rpm", found.amplitude, low, high, found.amplitude_sd, n, origin, notes)
    half = 1.96 * found.frequency_sd
    bounds = [found.frequency_hz - half, found.frequency_hz + half, *found.images_hz, *found.rivals_hz]
    if found.images_hz:
        listed = ", ".join(f"{f:.2f}" for f in found.images_hz)
        notes = [*notes, f"with this sampling the frequency may as well be {listed} Hz"]
    yield _measure(
        FREQUENCY, "Hz", found.frequency_hz, max(min(bounds), 0.0), max(bounds), found.frequency_sd, n, origin, notes
    )


def _measure(
    name: str, unit: str, value: float, low: float, high: float, sd: float, n: int, origin: Provenance, notes: list[str]
) -> Measure:
    return Measure(
        name=name, unit=unit, value=value, low=low, high=high, n=n, provenance=origin, statistical=sd, notes=notes
    )


def strongest_swing(pieces: list[Stretch]) -> Swing:
    """Strongest periodic swing of some stretches of one series."""
    rate = _rate(pieces)
    length_s = max(float(p.t_s[-1] - p.t_s[0]) for p in pieces)
    n = sum(len(p.t_s) for p in pieces)
    lowest = max(LOW_HZ, 1.5 / length_s)
    highest = max(min(HIGH_HZ, 0.49 * rate), 1.5 * lowest)
    fine = np.arange(lowest, highest, 1.0 / (spectrum.OVERSAMPLING * length_s))
    power = _power(pieces, fine)
    count = len(pieces)
    coarse = np.arange(max(1.0 / length_s, 0.5 * LOW_HZ), min(0.49 * rate, 2.0 * HIGH_HZ), 1.0 / length_s)
    noise = spectrum.background(coarse, _power(pieces, coarse) / count) if len(coarse) > 5 else None
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
        as_one_sine_most=max(float(np.sqrt(4.0 * _power([p], fine[k : k + 1])[0] / len(p.t_s))) for p in pieces),
        noise_amplitude=float(np.sqrt(4.0 * level[k] * count / n)),
        chance=chance(k),
        images_hz=images,
        rivals_hz=(float(rivals[0]), float(rivals[-1])) if len(rivals) else (),
    )


def _pieces(parts: list[Stretch]) -> list[Stretch]:
    """Stretches of at most a minute, freed of their trend, long enough for one turn of the slowest swing."""
    out = []
    for part in map(_thinned, parts):
        length_s = float(part.t_s[-1] - part.t_s[0])
        count = max(int(np.ceil(length_s / PIECE_S - 1e-9)), 1)
        bounds = np.searchsorted(part.t_s, part.t_s[0] + length_s * np.arange(1, count) / count)
        for t_s, value in zip(np.split(part.t_s, bounds), np.split(part.value, bounds), strict=True):
            if len(t_s) >= 8 and t_s[-1] - t_s[0] >= 0.5 * SHORTEST_S:
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


def _rate(pieces: list[Stretch]) -> float:
    """Usual number of values a second; holes do not count."""
    steps = np.concatenate([np.diff(p.t_s) for p in pieces])
    steps = steps[steps > 0]
    return 1.0 / float(np.mean(steps[steps < 3.0 * np.median(steps)]))


def _power(pieces: list[Stretch], frequency_hz: Array) -> Array:
    """Half of the sum of squares that a sinusoid explains, over all pieces, (f,); Exp(variance) for white noise."""
    total = np.zeros(len(frequency_hz))
    for p in pieces:
        total += 0.5 * spectrum.periodogram(p.t_s, p.value, frequency_hz).share * float(np.var(p.value)) * len(p.value)
    return total


def _peak(pieces: list[Stretch], near_hz: float, length_s: float, reach: float = 0.2) -> float:
    """Highest power within so many natural resolutions."""
    close = near_hz + np.linspace(-reach, reach, 2 * int(50 * reach) + 1) / length_s
    close = close[close > 0.0]
    return float(close[np.argmax(_power(pieces, close))])


def _images(pieces: list[Stretch], frequency: float, rate: float, length_s: float) -> tuple[float, tuple[float, ...]]:
    """Frequencies of the band that the sampling folds onto this one: the best of all, and those as strong as it."""
    candidates = [abs(m * rate + sign * frequency) for m in (1, 2, 3) for sign in (-1, 1)]
    images = [frequency] + [_peak(pieces, f, length_s, 1.0) for f in candidates if LOW_HZ <= f <= HIGH_HZ]
    strength = _power(pieces, np.array(images))
    # the slowest explanation stands unless the uneven sampling speaks clearly for another
    best = 0 if strength[0] >= 0.95 * strength.max() else int(np.argmax(strength))
    strong = sorted(
        {round(f, 4) for k, f in enumerate(images) if k != best and strength[k] > AS_STRONG * strength[best]}
    )
    return images[best], tuple(strong)


def _amplitude(pieces: list[Stretch], frequency: float, level: float, rate: float) -> tuple[float, float]:
    """Half of peak to peak and its standard uncertainty, from short windows in which the beat is kept."""
    squares: list[float] = []
    weights: list[int] = []
    angle: list[Array] = []
    rest: list[Array] = []
    for p in pieces:
        length_s = float(p.t_s[-1] - p.t_s[0])
        window_s = max(WINDOW_PERIODS / frequency, 12.0 / rate)
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
    fundamental = np.sqrt(max(power, 0.0))
    noise_sd = np.sqrt(2.0 * level / size.sum())
    scatter_sd = np.std(corrected) / np.sqrt(max(len(size) - 1, 1)) / max(2.0 * fundamental, 1e-9)
    factor, tail = _shape(np.concatenate(angle), np.concatenate(rest), frequency, rate)
    sd = np.sqrt(noise_sd**2 + min(scatter_sd, fundamental) ** 2 + (fundamental * tail) ** 2)
    return float(fundamental * factor), float(sd * factor)


def _shape(angle: Array, rest: Array, frequency: float, rate: float) -> tuple[float, float]:
    """Half of peak to peak of the wave over the amplitude of its fundamental, and what unseen harmonics may add.

    1 and 0 for a sine; the harmonics beyond the last clear one add about as much as that one (a triangle's do).
    """
    orders = [k for k in range(1, HARMONICS + 1) if k == 1 or k * frequency < 0.4 * rate]
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
            last = float(np.hypot(c, s)) if k > 1 else 0.0
    first = max(float(np.hypot(fit[0], fit[1])), 1e-12)
    return float(0.5 * np.ptp(wave) / first), last / first


def _witness(record: Record, spans: Spans, frequency: float) -> str | None:
    """A channel of the governor that swings at the same frequency: a folded cylinder order would not show there."""
    for name in GOVERNOR:
        channel = record.channels.get(name)
        pieces = _pieces(stretches(channel, spans)) if channel is not None else []
        if not pieces or not any(np.ptp(p.value) for p in pieces):
            continue
        found = strongest_swing(pieces)
        near = abs(found.frequency_hz - frequency) < 2.0 / max(float(p.t_s[-1] - p.t_s[0]) for p in pieces)
        if near and found.chance < SIGNIFICANT:
            return name
    return None


def _folded_order(pieces: list[Stretch], found: Swing, rate: float, cylinders: int | None) -> tuple[str, float] | None:
    """The engine order that the sampling would fold onto the swing, with its true frequency; None where none does."""
    length_s = max(float(p.t_s[-1] - p.t_s[0]) for p in pieces)
    speed = np.concatenate([p.value for p in pieces])
    orders = {"the half order of a weak cylinder": 0.5, "once a turn of the crank": 1.0}
    if cylinders:
        orders["the firing frequency"] = cylinders / 2.0
    swing = float(_power(pieces, np.array([found.frequency_hz]))[0])
    for name, order in orders.items():
        true_hz = order * float(speed.mean()) / 60.0
        tolerance = 1.0 / length_s + order / 60.0 * (SPEED_RPM + float(np.std(speed)) / np.sqrt(len(speed)))
        if true_hz < 0.5 * rate or abs(spectrum.folded(true_hz, rate) - found.frequency_hz) > tolerance:
            continue
        near = np.arange(true_hz - tolerance, true_hz + tolerance, 1.0 / (spectrum.OVERSAMPLING * length_s))
        if float(_power(pieces, near[near > 0]).max()) > AS_STRONG * swing:
            return name, true_hz
    return None
